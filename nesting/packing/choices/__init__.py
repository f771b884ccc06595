"""Choices between sets of parts: menus, linear bounds over all options, exchange of options."""
