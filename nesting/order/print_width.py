"""How wide a print is matched on a bolt: from the width its label states and the repeat across.

A full width of a print is cut its match and two seams wide. A label may state the whole width, selvages and
all, or that of the print alone, with selvages beyond it; which one is told from the repeat (common practice,
no source). Lengths in ticks, exact.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric
from nesting.repeat import Repeat
from nesting.units import Unit

#: No more than this part of the stated width is left unused without a question.
UNUSED = Fraction(1, 5)


@dataclass(frozen=True, slots=True)
class PrintWidth:
    """How far apart the seam lines of a full width lie, as worked out from what is stated.

    Attributes
    ----------
    match
        A whole number of repeats across.
    printed
        The stated width is that of the print: the seam allowances of full widths lie in selvages beyond it.
    """

    match: Fraction
    printed: bool = False


def print_width(
    width: Fraction, across: Fraction, seam: Fraction, unit: Unit, *, usable_said: bool = False
) -> PrintWidth | None:
    """What a full width of a print is matched over where nobody said; None where no whole repeat fits.

    Parameters
    ----------
    width
        As stated.
    across
        The repeat across the bolt.
    seam
        The widest seam allowance that is asked of this fabric.
    unit
        In which the job is measured; decides how exact labels are.
    usable_said
        The usable width was measured: then the stated width is never taken as the printed one.
    """
    ordinary = ordinary_match(width, across, seam)
    filled = filled_width(width, across, unit)
    if filled is not None and not usable_said and is_print_wide(filled, width, across, seam, unit):
        return PrintWidth(filled, printed=True)
    return PrintWidth(ordinary) if ordinary else None


def ordinary_match(width: Fraction, across: Fraction, seam: Fraction) -> Fraction:
    """The most whole repeats in the stated width less two seams; 0 where none fits."""
    return max(Fraction(0), (width - 2 * seam) // across * across)


def filled_width(width: Fraction, across: Fraction, unit: Unit) -> Fraction | None:
    """The whole repeats that fill the stated width, as exactly as labels state it; None where none do."""
    usual = defaults_for(unit)
    whole = (width + usual.label_over) // across * across
    return whole if whole > 0 and whole >= width - usual.label_under else None


def is_print_wide(match: Fraction, width: Fraction, across: Fraction, seam: Fraction, unit: Unit) -> bool:
    """Whether a match is that of a print as wide as its bolt, and worth more than the ordinary one.

    No selvage holds the seam allowance of a wide seam.
    """
    gain, usual = match - ordinary_match(width, across, seam), defaults_for(unit)
    fills = match == filled_width(width, across, unit) and seam <= usual.label_seam
    return fills and gain > usual.label_worth


def leaves_much(match: Fraction, width: Fraction) -> bool:
    """Whether more than a fifth of the stated width would be left unused."""
    return match < width * (1 - UNUSED)


def lattice(fabric: Fabric, bolt: Bolt) -> Repeat | None:
    """The repeat by which the widths of a fabric meet on a bolt; both as they lie on the table.

    The match stands for a repeat width that is not known, so that cut widths meet in the pattern. So it does
    where a drop steps at the selvage: inside a width the columns then come straight, and all of it is one.
    """
    repeat = fabric.repeat
    if repeat is None or bolt.match is None:
        return repeat
    at_selvage = bool(repeat.drop) and fabric.drop_from == "selvage"
    return replace(repeat, width=bolt.match) if repeat.width is None or at_selvage else repeat


def room_across(bolt: Bolt, fit: int, seam: int, widest: int) -> int:
    """How far across the widths of a panel may lie; in ticks.

    Widths that are joined but all cut narrower than a full one still have its room, seam allowances in both
    selvages; on a bolt that cannot give a full width, as much as the widest of them takes.

    Parameters
    ----------
    bolt
        As it lies on the table.
    fit
        Its usable width on the tape.
    seam
        Allowance on each side of a join.
    widest
        The widest width of the panel.
    """
    full = 0 if bolt.match is None else bolt.match + 2 * seam
    if bolt.printed:
        return max(fit, full)
    return max(fit, *(cut for cut in (widest, full) if cut <= bolt.width))
