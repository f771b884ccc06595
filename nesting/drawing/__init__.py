"""Drawings on a matplotlib Axes."""
