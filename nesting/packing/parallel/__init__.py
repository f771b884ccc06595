"""Searches beside the solver."""
