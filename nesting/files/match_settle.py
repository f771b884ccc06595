"""Settles what a full width of a print is matched over: as typed, or worked out from label and repeat."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from nesting.files.order import BoltEntry, FabricEntry
from nesting.order.print_width import PrintWidth, is_print_wide, leaves_much, print_width
from nesting.units import Unit, format_decimal, format_exact, grid


@dataclass(frozen=True, slots=True)
class SettledMatch:
    """The match of a bolt, whether its stated width is that of the print, and what wants measuring."""

    match: Fraction | None
    printed: bool = False
    doubts: tuple[str, ...] = ()


def worked_out_match(fabric: FabricEntry, bolt: BoltEntry, seam: Fraction, unit: Unit) -> PrintWidth | None:
    """What a full width matches over where nobody said; None without a repeat width, or one that fits."""
    if fabric.repeat is None or fabric.repeat.width is None or bolt.width is None:
        return None
    said = bolt.usable is not None
    return print_width(bolt.width, fabric.repeat.width, seam, unit, usable_said=said)


def typed_print(fabric: FabricEntry, bolt: BoltEntry, seam: Fraction, unit: Unit) -> bool:
    """Whether the match that was typed is that of a print as wide as its bolt."""
    if fabric.repeat is None or bolt.match is None or bolt.width is None or bolt.usable is not None:
        return False
    across = fabric.repeat.width or bolt.match
    match, _ = _whole_repeats(bolt.match, across, unit)
    return match > bolt.width - 2 * seam and is_print_wide(match, bolt.width, across, seam, unit)


def settled_match(fabric: FabricEntry, bolt: BoltEntry, seam: Fraction, unit: Unit) -> SettledMatch:
    """From seam line to seam line of a full width, and what of it wants measuring."""
    width = bolt.width
    if fabric.repeat is None or width is None:
        return SettledMatch(bolt.match)
    if bolt.match is None:
        found = worked_out_match(fabric, bolt, seam, unit)
        if found is None:
            return SettledMatch(None)
        return SettledMatch(
            found.match, found.printed, (_worked_out(found, width, seam, unit, washed=_shrinks(fabric)),)
        )
    doubts, match = list[str](), bolt.match
    if leaves_much(match, width):
        share = round(float(100 * match / width))
        doubts.append(
            f"match {format_exact(match, unit)} is only {share} % of the width: measure it before you buy"
        )
    across = fabric.repeat.width
    if across is not None:
        match, doubt = _whole_repeats(match, across, unit)
        doubts += [doubt] if doubt else []
    printed = typed_print(fabric, bolt, seam, unit)
    if printed:
        doubts.append(_as_wide_as(match, width, seam, unit, washed=_shrinks(fabric)))
    return SettledMatch(match, printed, tuple(doubts))


def _shrinks(fabric: FabricEntry) -> bool:
    """Whether it is narrower on the table than in the shop."""
    washing = fabric.shrinkage
    return washing is not None and washing.washed == "before" and bool(washing.width)


def _worked_out(found: PrintWidth, width: Fraction, seam: Fraction, unit: Unit, *, washed: bool) -> str:
    """How a match came about that nobody said."""
    if found.printed:
        return _as_wide_as(found.match, width, seam, unit, washed=washed)
    return (
        f"match {format_exact(found.match, unit)} was worked out from the width: measure it on the "
        "fabric, from seam line to seam line"
    )


def _as_wide_as(match: Fraction, width: Fraction, seam: Fraction, unit: Unit, *, washed: bool) -> str:
    """What is taken for granted of a print as wide as its bolt; all of it before washing."""
    apart, allowance = format_exact(match, unit), format_exact(seam, unit)
    cut = "once washed" if washed else format_exact(match + 2 * seam, unit)
    return (
        f"{format_exact(width, unit)} is taken as the width of the print, with selvages beyond it: match "
        f"{apart}{' before washing' if washed else ''}, full widths cut {cut} with the selvage in the seam. "
        f"Measure before you {'wash' if washed else 'cut'}: the same motif is {apart} apart at the two "
        f"selvages, and each selvage is at least {allowance} wide"
    )


def _whole_repeats(match: Fraction, across: Fraction, unit: Unit) -> tuple[Fraction, str]:
    """A match as whole repeats where it is as good as that, and what there is to say of it."""
    number = max(1, round(match / across))
    whole = number * across
    if whole == match:
        return match, ""
    if abs(whole - match) > 2 * grid(unit):
        return match, (
            f"match {format_exact(match, unit)} is no whole number of repeat widths of "
            f"{format_exact(across, unit)}: measure both on the fabric"
        )
    change = "more" if whole > match else "less"
    return whole, (
        f"match {format_exact(match, unit)} is taken as {number} x repeat width "
        f"{format_exact(across, unit)} = {format_exact(whole, unit)}, which is "
        f"{format_decimal(abs(whole - match), unit)} {unit} {change}"
    )
