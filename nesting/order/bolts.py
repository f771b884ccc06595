"""A bolt of a width nobody has offered yet, for comparison."""

from __future__ import annotations

from fractions import Fraction

from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric, Job
from nesting.order.print_width import PrintWidth, print_width
from nesting.units import grid, round_down, round_nearest


def bolt_of_width(job: Job, fabric: Fabric, width: int) -> Bolt:
    """A bolt of that stated width, everything else as is usual: no price is known.

    Parameters
    ----------
    job
        Its unit decides the usual selvage and selling step, its windows the seams.
    fabric
        Prints match over what `print_width` makes of that width and their repeat.
    width
        As it would be stated, in ticks.
    """
    usual, across = defaults_for(job.units), None if fabric.repeat is None else fabric.repeat.width
    found = None
    if across is not None:
        found = print_width(Fraction(width), Fraction(across), Fraction(seam_of(job, fabric)), job.units)
    made = found or PrintWidth(Fraction(0))
    return Bolt(
        width=width,
        usable=max(1, round_down(width - 2 * usual.selvage, grid(job.units))),
        match=round_nearest(made.match) or None,
        match_said=False,
        usable_said=False,
        printed=made.printed,
        sold_by=usual.sold_by,
    )


def seam_of(job: Job, fabric: Fabric) -> int:
    """The widest seam allowance that a window of this fabric asks for; the usual one where none does."""
    usual = defaults_for(job.units).seam
    said = (usual if window.seam is None else window.seam for window in job.windows_of(fabric.key))
    return max(said, default=usual)
