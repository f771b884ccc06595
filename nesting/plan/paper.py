"""On which paper a plan is printed: one rule for terminal, page and library."""

from __future__ import annotations

from typing import Literal

from nesting.units import Unit

Paper = Literal["a4", "letter"]


def paper_for(units: Unit) -> Paper:
    """Letter where people measure in inches, else A4."""
    return "letter" if units == "in" else "a4"
