"""A bolt of a width nobody has offered yet, for comparison."""

from __future__ import annotations

from nesting.defaults import defaults_for
from nesting.job import Bolt, Cloth
from nesting.units import Unit, grid, round_down


def bolt_of_width(unit: Unit, cloth: Cloth, width: int) -> Bolt:
    """A bolt of that full width, everything else as is usual: no price is known.

    Parameters
    ----------
    unit
        Of the job; decides the usual selvage and selling step.
    cloth
        Prints are taken to match over the most whole repeat widths that leave both seam allowances.
    width
        Selvage to selvage, in ticks.
    """
    usual = defaults_for(unit)
    match = None
    if cloth.repeat is not None and cloth.repeat.width is not None:
        match = (width - 2 * usual.seam) // cloth.repeat.width * cloth.repeat.width
    usable = max(1, round_down(width - 2 * usual.selvage, grid(unit)))
    return Bolt(width=width, usable=usable, match=match or None, match_said=False, sold_by=usual.sold_by)
