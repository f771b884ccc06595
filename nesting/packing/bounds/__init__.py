"""Lower bounds."""
