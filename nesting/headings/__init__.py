"""Heading styles."""
