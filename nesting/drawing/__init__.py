"""Drawings on a matplotlib Axes: the marker, one panel's heading, comparison and progress."""
