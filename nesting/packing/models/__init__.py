"""Models for CP-SAT, and the run of the solver."""
