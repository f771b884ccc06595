"""Nap and print of the sewn panels: one way, in register at every seam, level in the room.

Judged from where each piece lies on its fabric and from the print that was ordered; what the document says
of groups, places and phases is not read.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Any, Final

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, TableReader
from nesting.check.sewing_bench import PieceCut, nap_of
from nesting.check.sewing_ordered import (
    PanelOrdered,
    WindowOrdered,
    fraction_or_none,
    percent_kept,
    whole,
)
from nesting.check.sewing_tops import TOPS
from nesting.check.violation import Breach, Violation
from nesting.repeat import Repeat
from nesting.sewing import Work
from nesting.units import round_nearest

#: Ticks by which a repeat may be rounded, once as it is read and once as it is washed.
_ROUNDED: Final = 3


@dataclass(frozen=True, slots=True)
class SewnPanel:
    """A panel as it was sewn of a window: which one of several alike, and where its hem hangs.

    ``hem`` is its hem edge above the level of the room in the pattern: 0 where that is the hem itself;
    ``match`` is that of the fabric where none of the widths is a full one.
    """

    window: WindowOrdered
    ordered: PanelOrdered
    number: int
    work: Work
    hem: Fraction
    pieces: Mapping[str, PieceCut]
    match: int | None = None

    @property
    def runs_on(self) -> bool:
        """Whether the print was ordered to run on from panel to panel."""
        printed = self.window.fabric.table_or_none("repeat") is not None
        return printed and self.window.word("pair", "alike") == "continuous"

    def lies(self, piece: str) -> tuple[LaidEntry, LayoutEntry] | None:
        """How that piece of the panel lies; None where it is left out."""
        cut = self.pieces.get(piece)
        if cut is None or not cut.lies:
            return None
        at = self.number - 1 if cut.number is None and cut.copies == self.window.count else 0
        return cut.lies[at] if at < len(cut.lies) else None

    @property
    def name(self) -> str:
        """The panel, for messages."""
        number = f" {self.number}" if self.window.count > 1 else ""
        return f'"{self.window.name}"{number}, {self.ordered.key} panel'

    def before_wash(self, point: tuple[Fraction, Fraction]) -> tuple[Fraction, Fraction]:
        """A point of the print as it was when its fabric was cut."""
        fabric = self.window.fabric
        across, along = percent_kept(fabric, "width", "after"), percent_kept(fabric, "length", "after")
        return point[0] / across, point[1] / along


def prints_ordered(
    plan: PlanDocument, document: Mapping[str, Any], fabrics: Mapping[str, TableReader]
) -> tuple[dict[str, Repeat | None], tuple[Violation, ...]]:
    """The print of each layout by its place, as ordered, and where a layout says otherwise."""
    found, wrong = dict[str, Repeat | None](), list[Violation]()
    faces = {
        entry.text("fabric")
        for entry in TableReader(document, "", plan.units).tables("pieces")
        if entry.text_or_none("role", None) == "panel"
    }
    for layout, table in zip(
        plan.layouts, TableReader(document, "", plan.units).tables("layouts"), strict=True
    ):
        fabric = fabrics.get(layout.fabric)
        ordered = None if fabric is None else _ordered(fabric, layout, table)
        stated = layout.strip.repeat
        found[layout.place] = ordered
        if ordered is None or (stated is None and layout.fabric not in faces):
            continue
        if stated is None or not _agree(ordered, stated):
            what = "no print" if stated is None else f"print {stated.length} x {stated.width}"
            ours = f"{ordered.length} x {ordered.width} ordered"
            wrong.append(Violation(Breach.PHASE_ALONG, what, ours, at=layout.place))
        else:
            found[layout.place] = stated
    return found, tuple(wrong)


def _agree(ordered: Repeat, stated: Repeat) -> bool:
    off = abs(ordered.length - stated.length)
    across = abs((ordered.width or 0) - (stated.width or 0)) if ordered.width else 0
    step = abs(ordered.step - stated.step)
    return max(off, across, min(step, ordered.length - step)) <= _ROUNDED


def _ordered(fabric: TableReader, layout: LayoutEntry, table: TableReader) -> Repeat | None:
    """The print as it was ordered, on the table: its match for a repeat width that nobody knows."""
    said = fabric.table_or_none("repeat")
    if said is None:
        return None
    bolts, number = list(fabric.tables("bolts", ())), table.value("bolt", None)
    bolt = bolts[number] if type(number) is int and 0 <= number < len(bolts) else None
    length, drop = whole(said, "length", 1), fraction_or_none(said, "drop") or Fraction(0)
    for piece in () if bolt is None else bolt.tables("on_hand", ()):
        if piece.value("name", None) == layout.on_hand and piece.value("repeat", None) is not None:
            length = whole(piece, "repeat", 1)
    width = None if said.value("width", None) is None else whole(said, "width", 1)
    match = None if bolt is None or bolt.value("match", None) is None else whole(bolt, "match", 1)
    if match is not None and (width is None or (drop and fabric.value("drop_from", None) == "selvage")):
        width = match
    along, across = (percent_kept(fabric, way, "before") for way in ("length", "width"))
    return Repeat(
        max(1, round_nearest(length * along, drop.denominator)),
        None if width is None else max(1, round_nearest(width * across)),
        drop if width is not None else Fraction(0),
    )


def check_nap(panel: SewnPanel) -> Iterator[Violation]:
    """All widths of a panel with a nap have it run as ordered; not of what is left out."""
    fabric = panel.window.fabric
    asked = "none"
    if fabric.value("nap", "none") == "one-way":
        asked = "down" if fabric.value("arrow", "up") == "down" else "up"
    for strip in panel.work.strips:
        cut = panel.pieces.get(strip.piece)
        if strip.nap != asked and (cut is None or cut.lies):
            what = f"{panel.name}: nap of {strip.piece} {strip.nap}"
            yield Violation(Breach.ARROW, what, f"{asked} ordered")


def check_naps(
    windows: Sequence[WindowOrdered], pieces: Mapping[str, Sequence[PieceCut]]
) -> Iterator[Violation]:
    """Every piece with a nap runs as ordered, but for hidden ones that were released from it."""
    for window in windows:
        for piece in pieces.get(window.name, ()):
            fabric = window.fabrics.get(piece.fabric)
            if fabric is None or piece.role in ("panel", "extra") or fabric.value("nap", "none") != "one-way":
                continue
            asked = "down" if fabric.value("arrow", "up") == "down" else "up"
            rules = TOPS.get(window.heading)
            hidden = piece.role == "facing" or (piece.role == "tab" and not (rules and rules.shown))
            free = hidden and fabric.value("hidden_nap", "keep") == "free"
            for entry, _ in () if free else piece.lies:
                if nap_of(fabric, entry) != asked:
                    what = f"nap of {entry.name} {nap_of(fabric, entry)}"
                    yield Violation(Breach.ARROW, what, f"{asked} ordered", at=piece.place)


def check_register(panel: SewnPanel) -> Iterator[Violation]:
    """At every seam of a print both widths show the same point of it, to a step of the tape."""
    strips = panel.work.strips
    for one, other in itertools.pairwise(strips):
        if one.repeat is None or other.repeat is None or one.at is None or other.at is None:
            continue
        if not _same_cloth(panel, one.piece, other.piece):
            continue
        ends = (one.at[0] + one.end - one.start, one.at[1])
        points = panel.before_wash(ends), panel.before_wash(other.at)
        off = out_of_register(one.repeat, *points, other.repeat)
        # On lengths whose repeats were measured otherwise, a seam that is right at the hem drifts by so much.
        if off > panel.window.step + abs(one.repeat.length - other.repeat.length):
            what = f"{panel.name}: print of {one.piece}"
            yield Violation(Breach.PHASE_ACROSS, what, other.piece, int(off), "at their seam")


def out_of_register(
    repeat: Repeat,
    one: tuple[Fraction, Fraction],
    other: tuple[Fraction, Fraction],
    others: Repeat | None = None,
) -> int:
    """How far two points of a print are from showing the same, the larger of across and along; in ticks.

    ``others`` is the repeat of the second point, where it lies on a length with a repeat of its own.
    """
    others = others or repeat
    across = other[0] - one[0]
    column = 0
    if repeat.width is not None:
        column = round_nearest(across / repeat.width)
        across -= column * repeat.width
    else:
        across = Fraction(0)
    along = _apart(one[1], repeat.length, other[1] - column * others.step, others.length)
    return round_nearest(max(abs(across), along))


def _apart(one: Fraction, period: int, other: Fraction, others: int) -> Fraction:
    """How far two heights are from the same place in a print, each by the repeat of its own length."""
    first, second = (at - period * round(at / period) for at, period in ((one, period), (other, others)))
    off = abs(first - second)
    return min(off, abs(off - period), abs(off - others))


def _same_cloth(panel: SewnPanel, *pieces: str) -> bool:
    """Whether heights on the cloth can be compared: on one length, or on lengths whose starts are known."""
    layouts = {
        layout.place: layout.strip.start is not None
        for id in pieces
        for _, layout in (panel.pieces[id].lies if id in panel.pieces else ())
    }
    return len(layouts) <= 1 or all(layouts.values())


def check_level(panels: Sequence[SewnPanel]) -> Iterator[Violation]:
    """All panels of a room show the print at one height, the same at every leading edge."""
    rooms = defaultdict[tuple[str, str, str], list[tuple[SewnPanel, Repeat, list[Fraction]]]](list)
    for panel in panels:
        # Where the print runs on from panel to panel, the first one leads and `check_runs_on` tells the rest.
        found = None if panel.runs_on and panel.ordered.leading == "left" else _heights(panel)
        if found is None:
            continue
        repeat, height, cloth = found
        fabric = panel.window.fabric
        room = "" if fabric.table_or_none("motif") is not None else panel.window.word("room", "")
        rooms[fabric.text("key"), room, cloth].append((panel, repeat, height))
    for members in rooms.values():
        model, first, usual = members[0]
        for panel, repeat, height in members[1:]:
            off = min(_apart(one, repeat.length, other, first.length) for one in height for other in usual)
            if off > panel.window.step:
                what = f"{panel.name}: its print"
                yield Violation(Breach.PHASE_ALONG, what, f"that of {model.name}", int(off))


def _heights(panel: SewnPanel) -> tuple[Repeat, list[Fraction], str] | None:
    """The print at the level line of a panel's leading width, and on which cloth that can be compared.

    Columns are counted from the left edge of the leading width as it was cut, as letters are. Where no width
    of a panel is a full one, they may be counted from where the left edge of that full one was of which its
    widest one is left, trimmed at either side.
    """
    strips = panel.work.strips
    if not strips:
        return None
    lead, found = strips[_leading(panel)], list[Fraction]()
    widest = max(strips, key=lambda strip: strip.end - strip.start)
    for strip in (lead, widest) if panel.match is not None and len(strips) > 1 else (lead,):
        lies = panel.lies(strip.piece)
        if strip.repeat is None or strip.at is None or lies is None:
            return None
        entry = lies[0]
        _, up = panel.before_wash((strip.at[0], strip.at[1] - panel.hem))
        lefts = [entry.x]
        if panel.match is not None and strip is widest:
            lefts.append(entry.x + entry.width - panel.match - 2 * panel.window.seam)
        across = strip.repeat.width if entry.arrow in ("up", "down") else None
        found += [up if across is None else up - left // across * strip.repeat.step for left in lefts]
    lies = panel.lies(lead.piece)
    assert lead.repeat is not None
    assert lies is not None
    return lead.repeat, found, "" if lies[1].strip.start is not None else lies[1].place


def _leading(panel: SewnPanel) -> int:
    """The width at the leading edge; of a panel that does not move the one in the middle."""
    strips = panel.work.strips
    if panel.ordered.leading is None:
        return len(strips) // 2
    return len(strips) - 1 if panel.ordered.leading == "right" else 0


def check_runs_on(left: SewnPanel, right: SewnPanel) -> Iterator[Violation]:
    """Closed, the right panel of a continuous pair goes on in the print where the left one ends."""
    if not left.work.strips or not right.work.strips:
        return
    one, other = left.work.strips[-1], right.work.strips[0]
    if one.repeat is None or one.at is None or other.at is None:
        return
    if not _same_cloth(replace_pieces(left, right), one.piece, other.piece):
        return
    lap = 2 * min(left.ordered.overlap, right.ordered.overlap)
    ends = (one.at[0] + one.end - one.start - lap, one.at[1])
    points = left.before_wash(ends), left.before_wash(other.at)
    off = out_of_register(one.repeat, *points, other.repeat)
    if off > left.window.step:
        yield Violation(Breach.PHASE_ACROSS, f"{right.name}: its print", f"the end of {left.name}", off)


def replace_pieces(left: SewnPanel, right: SewnPanel) -> SewnPanel:
    """The left panel, with the pieces of both."""
    return replace(left, pieces={**left.pieces, **right.pieces})
