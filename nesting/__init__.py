"""Cutting plans for drapes."""
