"""The use cases: lay each fabric, share out the time, compare, ask, and plan many."""
