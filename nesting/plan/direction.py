"""Which way the fabric lies and where its end is squared: what a wrong first cut would turn upside down.

Stroke test and motif's head are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.pieces.piece import LAYERS
from nesting.plan.numbering import Numbering
from nesting.plan.pattern import column_of, start_line
from nesting.plan.plan import FabricLayout, Laid
from nesting.repeat import Repeat
from nesting.units import Unit, format_exact, format_length

#: Where TOP lies, seen by one who stands at the table with the free end at the left.
_SIDES: Final = {
    "up": "away from the free end, to your right",
    "down": "toward the free end, to your left",
    "left": "to the left selvage, the far edge",
    "right": "to the right selvage, the near edge",
}
#: From where to where that side is stroked.
_STROKES: Final = {
    "up": "from the free end along the fabric",
    "down": "along the fabric toward the free end",
    "left": "across, toward the far edge",
    "right": "across, toward the near edge",
}
_LAID: Final = (
    "Direction: unroll the first {} right side up, the free end at your left, the left selvage at the far "
    "edge."
)


def direction_words(layout: FabricLayout, unit: Unit) -> str:
    """The first check of all: how the fabric lies, which way its nap or print must run, what to do if not."""
    laid = _LAID.format("yard" if unit == "in" else "meter")
    fabric, tops = layout.fabric, _tops(layout)
    if tops is None:
        return f"{laid} {_plain(layout)}"
    if _bound(layout) and fabric.repeat is None:
        feels, wrong = ("smooth", "rough") if fabric.arrow == "up" else ("rough", "smooth")
        test = (
            f"Stroke the pile {_STROKES[tops]}: it must feel {feels}, for all tops point {_SIDES[tops]}. If "
            f"it feels {wrong}, do not cut"
        )
        else_ = "or the drapes hang with the pile the wrong way"
    elif fabric.nap == "one-way":
        test = (
            f"The heads of the motifs must point {_SIDES[tops]}, as all tops do. If they point the other "
            "way, do not cut"
        )
        else_ = "or the drapes hang upside down"
    else:
        test = (
            f"If the print has a right way up, the heads of its motifs must point {_SIDES[tops]}, as all "
            "tops do. If they point the other way, do not cut"
        )
        else_ = "or the drapes hang upside down"
    return f"{laid} {test}: square the other end instead and measure from there, {else_}.{_again(layout)}"


def _bound(layout: FabricLayout) -> bool:
    return layout.fabric.nap == "one-way"


def _tops(layout: FabricLayout) -> str | None:
    """Where the tops of all pieces lie that a nap or a print binds; None where nothing does."""
    bound = (
        laid
        for laid in layout.placements
        if laid.piece.nap == "one-way" or (layout.fabric.repeat is not None and laid.piece.match is not None)
    )
    return next((laid.arrow for laid in bound), None)


def _plain(layout: FabricLayout) -> str:
    """What of a fabric without direction is looked at all the same."""
    if layout.fabric.nap == "two-way":
        return "Either end will do; the panels of a room must then lie as the arrows say, for the shade."
    return (
        "Either end will do. Stroke the fabric both ways and look at it from both ends: if it feels or looks "
        "different, it has a nap, so plan again with a one-way nap."
    )


def _again(layout: FabricLayout) -> str:
    """What was measured from the end that is now the other one."""
    measured = [
        words
        for words, there in (
            ("the flaws", bool(layout.flaws)),
            (
                "where the pattern starts",
                layout.fabric.repeat is not None and layout.fabric.start is not None,
            ),
        )
        if there
    ]
    if not measured:
        return ""
    return f" Then measure {' and '.join(measured)} from that end and plan again before you cut."


def square_words(layout: FabricLayout, numbers: Numbering, unit: Unit) -> str:
    """Where the end is squared; on a print, at which line of the pattern."""
    squaring = f"; {format_length(layout.squaring, unit)} is included for it" if layout.squaring else ""
    zero = f"This cut is 0 of the ruler and of all distances{squaring}."
    repeat, laid = layout.fabric.repeat, _first_matched(layout)
    across = "across from selvage to selvage"
    if repeat is None or laid is None:
        return f"Square the end {across}. {zero}"
    line = start_line(layout, laid)
    before = (line or 0) % repeat.length
    where = "at" if not before else f"{format_exact(before, unit)} before"
    there = _there(layout, laid, numbers, repeat)
    motif = layout.fabric.motif is not None
    if layout.fabric.start is not None:
        called = (
            "the foot of a motif" if motif else f"the line of the pattern that stands {_level(layout, laid)}"
        )
        return (
            f"Square the end {across} at the place in the pattern that was measured: {where} "
            f"{called}{there}. {zero}"
        )
    most = f"at most one repeat, {format_exact(repeat.length, unit)}, from the free end{_paid(layout)}"
    if motif:
        return f"Square the end {across}, {where} the foot of a motif{there}: {most}. {zero}"
    return (
        f"Choose the line of the pattern that is to stand {_level(layout, laid)}{_room(layout, laid)}. "
        f"Square the end {across}, {where} this line{there}: {most}. {zero}"
    )


def _first_matched(layout: FabricLayout) -> Laid | None:
    """The matched cut nearest to the squared end that shows the line, panels before all else.

    Where a pattern drops, one that shows it at the height it has at the leading edge.
    """
    repeat = layout.fabric.repeat
    found = [laid for laid in layout.placements if start_line(layout, laid) is not None]

    def rank(laid: Laid) -> tuple[bool, bool, int, int]:
        stepped = repeat is not None and column_of(laid.piece, repeat) * repeat.step % repeat.length != 0
        return laid.piece.role not in LAYERS, stepped, laid.y, laid.x

    return min(found, key=rank, default=None)


def _level(layout: FabricLayout, laid: Laid) -> str:
    if laid.piece.role not in LAYERS:
        return f"at the lower edge of {laid.piece.name}"
    return {"hem": "at the finished hem", "top": "at the top edge", "floor": "at the floor"}[
        layout.fabric.level
    ]


def _there(layout: FabricLayout, laid: Laid, numbers: Numbering, repeat: Repeat) -> str:
    """Where across, for in a drop the line steps from column to column."""
    return f" where cut {numbers.of(laid)} will lie" if repeat.step else ""


def _room(layout: FabricLayout, laid: Laid) -> str:
    """For which room the line is chosen, where another then follows from it."""
    levels = set(_levels(layout))
    if len(levels) < 2 or not laid.piece.room:
        return ""
    return f" in {laid.piece.room} (elsewhere it follows: see the start lines of the cut list)"


def _levels(layout: FabricLayout) -> Iterator[str]:
    for laid in layout.placements:
        if laid.piece.match is not None and laid.piece.role in LAYERS:
            yield laid.piece.match.level


def _paid(layout: FabricLayout) -> str:
    """What the search for the line is done with."""
    if layout.there is not None:
        return " (kept for it)" if layout.reserve else ""
    bought = layout.buy.allowances if layout.buy is not None else ()
    return " (included)" if any("start of the print" in one.name for one in bought) else ""
