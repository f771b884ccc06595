"""Whether a plan document cuts no wider than its bolt is, judged from its figures and its order alone.

Widths of a print may be cut wider than the stated width where that is the width of the print: whole repeats
fill it, as exactly as labels state widths, and that is worth more than the ordinary match. Everything but
the widths of panels keeps to the usable width.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final

from nesting.check.document import LayoutEntry, PieceEntry, PlanDocument, TableReader, table_of
from nesting.check.violation import Breach, Violation
from nesting.units import Unit, unit_ticks

#: By how much whole repeats may be over and under a stated width, what they must gain, what is left off at
#: each selvage where nothing was measured, and the widest seam that a selvage holds beside a print as wide
#: as its bolt (common practice, no source): inches, or centimeters.
_LABELS: Final[Mapping[str, tuple[Fraction, ...]]] = {
    "in": (Fraction(1, 4), Fraction(1), Fraction(4), Fraction(1, 2), Fraction(1)),
    "cm": (Fraction(3, 5), Fraction(3), Fraction(10), Fraction(3, 2), Fraction(5, 2)),
}


@dataclass(frozen=True, slots=True)
class _BoltSaid:
    """What a layout and its order say of the bolt; ``kept`` is the part of a width left after washing.

    ``measured``: its usable width is no default. ``seams`` are those of the panels cut from it.
    """

    stated: int
    match: int | None
    fit: int | None
    printed: bool
    kept: Fraction
    measured: bool
    seams: frozenset[int]
    panels: frozenset[str]


def check_widths(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wider than it may be, or lies further out."""
    top = TableReader(document, "", plan.units)
    seams, panels = _seams(top), frozenset(_panels(top))
    for layout, entry in zip(plan.layouts, top.tables("layouts"), strict=True):
        bolt = _bolt(document, plan, layout, entry, seams, panels)
        on_table = int(bolt.stated * bolt.kept)
        over = layout.strip.width - on_table
        if over > 0 and not bolt.printed:
            yield Violation(Breach.OUTSIDE, "usable width", "bolt width", over, layout.place)
        elif bolt.printed:
            yield from _check_printed(plan.units, layout, bolt)
        fit = _fit(bolt, layout, plan.units)
        if fit is not None:
            yield from _check_kept_clear(layout, bolt, fit)


def kept_clear(plan: PlanDocument, document: Mapping[str, Any], number: int) -> dict[str, tuple[int, int]]:
    """How far the pieces of a layout keep from its edges, by id; not those that may reach any of them."""
    top, layout = TableReader(document, "", plan.units), plan.layouts[number]
    entry = table_of(document, "layouts", number, plan.units)
    bolt = _bolt(document, plan, layout, entry, _seams(top), frozenset(_panels(top)))
    fit = _fit(bolt, layout, plan.units)
    beyond = 0 if fit is None else max(0, layout.strip.width - fit)
    found = dict[str, tuple[int, int]]()
    for piece in (piece for piece in plan.pieces if piece.fabric == layout.fabric):
        if piece.hem_edge is not None:
            room = layout.strip.width - (piece.length if piece.sideways else piece.width)
            found[piece.id] = (room, 0) if piece.hem_edge == "right" else (0, room)
        elif fit is not None and (
            piece.sideways or not _may_reach_out(piece, piece.width, bolt, fit, layout)
        ):
            found[piece.id] = (beyond // 2, beyond - beyond // 2)
    return found


def _bolt(
    document: Mapping[str, Any],
    plan: PlanDocument,
    layout: LayoutEntry,
    entry: TableReader,
    seams: Mapping[str, frozenset[int]],
    panels: frozenset[str],
) -> _BoltSaid:
    kept, measured = _ordered(document, layout, entry.value("bolt", None))
    return _BoltSaid(
        stated=layout.bolt_width,
        match=entry.length_or_none("match_width", None),
        fit=entry.length_or_none("fit_width", None),
        printed=entry.flag("printed", False),
        kept=kept,
        measured=measured,
        seams=seams.get(layout.fabric, frozenset()),
        panels=panels,
    )


def _ordered(document: Mapping[str, Any], layout: LayoutEntry, number: object) -> tuple[Fraction, bool]:
    """What washing before cutting leaves of a width, and whether the order has a measured usable width."""
    order = document.get("order")
    fabrics = order.get("fabrics", ()) if isinstance(order, Mapping) else ()
    mine: Mapping[str, Any] = next((each for each in fabrics if each.get("key") == layout.fabric), {})
    washing = mine.get("shrinkage") or {}
    lost = Fraction(str(washing.get("width", 0))) if washing.get("washed") == "before" else Fraction(0)
    bolts = mine.get("bolts", ())
    bolt = bolts[number] if isinstance(number, int) and 0 <= number < len(bolts) else {"usable_said": False}
    return 1 - lost / 100, bool(bolt.get("usable_said", True))


def _seams(top: TableReader) -> dict[str, frozenset[int]]:
    """By fabric: the seam allowances of the panels cut from it."""
    allowed = dict[str, int]()
    for entry in top.tables("panels", ()):
        seam = entry.length_or_none("seam_allowance", None)
        if seam is not None:
            allowed[entry.text("window")] = seam
    found = dict[str, frozenset[int]]()
    for entry in top.tables("pieces"):
        window = entry.text_or_none("window", None)
        if entry.text_or_none("role", None) == "panel" and window in allowed:
            fabric = entry.text("fabric")
            found[fabric] = found.get(fabric, frozenset()) | {allowed[window]}
    return found


def _panels(top: TableReader) -> Iterator[str]:
    """Ids of the widths of panels, those joined with a mark behind."""
    for entry in top.tables("pieces"):
        if entry.text_or_none("role", None) == "panel":
            yield entry.text("id")
            if entry.value("joined_to", ()):
                yield f"{entry.text('id')} joined"


def _label(unit: Unit) -> tuple[int, ...]:
    lengths, ticks = ("in", unit_ticks("in")) if unit == "in" else ("cm", unit_ticks("cm"))
    return tuple(int(each * ticks) for each in _LABELS[lengths])


def _fit(bolt: _BoltSaid, layout: LayoutEntry, unit: Unit) -> int | None:
    """What all but the widths of panels keep to; None where the document says nothing of it."""
    if not bolt.printed:
        return bolt.fit
    usual = int((bolt.stated - 2 * _label(unit)[3]) * bolt.kept)
    return usual if bolt.fit is None else min(bolt.fit, usual, layout.strip.width)


def _check_printed(unit: Unit, layout: LayoutEntry, bolt: _BoltSaid) -> Iterator[Violation]:
    """The stated width is one of a print: the case is given, and nothing is wider than its match allows."""
    over, under, worth, _, most = _label(unit)
    repeat = layout.strip.repeat
    if bolt.match is None or repeat is None or repeat.width is None or bolt.measured:
        why = "a measured usable width" if bolt.measured else "no match and repeat across"
        yield Violation(Breach.OUTSIDE, "stated width taken as the print's", why, at=layout.place)
        return
    match, across = bolt.match * bolt.kept, Fraction(repeat.width)
    number = max(1, round(match / across))
    off = abs(match - number * across)
    # A repeat is rounded to the tick, once as it is and once as it is washed.
    if off > number + 1:
        yield Violation(Breach.OUTSIDE, "match", "whole repeats across", int(off), layout.place)
    if not bolt.stated - under <= bolt.match <= bolt.stated + over:
        far = abs(bolt.match - bolt.stated)
        yield Violation(Breach.OUTSIDE, "match", "the width stated", far, layout.place)
    seam, each = max(bolt.seams, default=0), Fraction(bolt.match, number)
    gain = bolt.match - (bolt.stated - 2 * seam) // each * each
    if gain <= worth:
        yield Violation(Breach.OUTSIDE, "match", f"ordinary, {int(gain)} less", at=layout.place)
    if seam > most:
        yield Violation(Breach.OUTSIDE, "seam allowance", "selvage", seam - most, layout.place)
    widest = int(number * across) + 2 * seam
    if layout.strip.width > max(widest, int(bolt.stated * bolt.kept)):
        far = layout.strip.width - widest
        yield Violation(Breach.OUTSIDE, "usable width", "match and two seams", far, layout.place)


def _check_kept_clear(layout: LayoutEntry, bolt: _BoltSaid, fit: int) -> Iterator[Violation]:
    """Only the widths of panels lie on the selvage, and alone only those cut as wide as a full width."""
    beyond = max(0, layout.strip.width - fit)
    left, right = beyond // 2, layout.strip.width - (beyond - beyond // 2)
    for entry in layout.entries:
        hem = entry.piece.hem_edge
        # The selvage that is a hem is part of its panel; the other one is left off.
        out = max(
            left - entry.x if hem != "left" else -entry.x,
            entry.x + entry.width - right if hem != "right" else entry.x + entry.width - layout.strip.width,
        )
        if out > 0 and (entry.turn or not _may_reach_out(entry.piece, entry.width, bolt, fit, layout)):
            at = f"{layout.place}, x {entry.x}, y {entry.y}"
            yield Violation(Breach.OUTSIDE, entry.name, "selvage", out, at)


def _may_reach_out(piece: PieceEntry, width: int, bolt: _BoltSaid, fit: int, layout: LayoutEntry) -> bool:
    """Whether a piece that lies upright and so wide may lie on the selvage."""
    if piece.match is None:
        return False
    if not bolt.printed:
        return f"{piece.id} joined" in bolt.panels or width > fit
    if piece.id not in bolt.panels or layout.strip.repeat is None or bolt.match is None:
        return False
    across = layout.strip.repeat.width or 1
    match = max(1, round(bolt.match * bolt.kept / across)) * across
    full = {match + 2 * seam for seam in bolt.seams}
    return width in full or (f"{piece.id} joined" in bolt.panels and width <= max(full, default=0))
