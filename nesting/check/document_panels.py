"""Whether the widths that a plan document lists make up its panels, judged from its figures alone.

Widths joined lose their seam allowances and must give what the panel needs; the pieces are those widths, sewn
in that order; from one to the next a print moves on by its cut width less two allowances; the two panels of a
pair are cut in the mirror, or the print runs on from one to the other; no seam lies in a side hem, and what
shows of the outermost widths is no sliver.
"""

from __future__ import annotations

import itertools
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import ceil, floor
from typing import Any, Final

from nesting.check.document import PlanDocument, TableReader
from nesting.check.violation import Breach, Violation
from nesting.units import Unit, centimeters, grid, inches


@dataclass(frozen=True, slots=True)
class _Panel:
    """A panel as the document says it is made up; ``cuts`` from left to right."""

    place: str
    window: str
    key: str
    cuts: tuple[int, ...]
    needed: int
    seam: int
    hems: tuple[int, int] | None = None
    overlap: int = 0

    @property
    def name(self) -> str:
        return f'"{self.window}", {self.key} panel'


@dataclass(frozen=True, slots=True)
class _PanelPiece:
    """A width of a panel; ``beside`` names the pieces it is sewn to, ``x`` its place in the pattern.

    ``at`` says at which of its edges each is sewn on; empty where the document does not.
    """

    id: str
    width: int
    beside: tuple[str, ...]
    x: int | None
    at: tuple[str, ...] = ()


def check_panels(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with the widths of the panels; a document need not say how they are made up."""
    top = TableReader(document, "", plan.units)
    panels = [panel for entry in top.tables("panels", ()) if (panel := _panel(entry))]
    pieces, ordered = _faces(top), _ordered(top, plan.units)
    for panel in panels:
        yield from _check_width(panel)
        yield from _check_edges(panel, ordered.get(panel.window))
        for widths in pieces.get((panel.window, panel.key), []):
            yield from _check_pieces(panel, widths)
    running = {window for window, order in ordered.items() if order.runs_on}
    yield from _check_mirror([panel for panel in panels if panel.window not in running], grid(plan.units))
    for window in sorted(running):
        yield from _check_runs_on(
            [panel for panel in panels if panel.window == window], pieces, ordered[window]
        )


def _panel(entry: TableReader) -> _Panel | None:
    needed, seam = (entry.length_or_none(key, None) for key in ("cut_width", "seam_allowance"))
    if needed is None or seam is None:
        return None
    cuts = tuple(cut.length_of("cut") for cut in _lengths(entry, "cuts"))
    left, right = (entry.length_or_none(key, None) for key in ("left_hem", "right_hem"))
    hems = None if left is None or right is None else (left, right)
    overlap = entry.length_or_none("overlap", None) or 0
    return _Panel(entry.place, entry.text("window"), entry.text("key"), cuts, needed, seam, hems, overlap)


@dataclass(frozen=True, slots=True)
class _Ordered:
    """What the order says of a window.

    ``least``: what shows of a part-width at least; ``kept``: what washing leaves of a width; ``runs_on``: the
    print is to run on from panel to panel.
    """

    least: int
    kept: Fraction
    runs_on: bool


#: What shows of a part-width at least, where the order says nothing (common practice, no source).
_LEAST_INCHES: Final = inches(6)
_LEAST_METRIC: Final = centimeters(15)


def _ordered(top: TableReader, unit: Unit) -> dict[str, _Ordered]:
    """By the name of each window; lengths of the order are in ticks."""
    order = top.table_or_none("order")
    if order is None:
        return {}
    prints, kept = dict[str, bool](), dict[str, Fraction]()
    for fabric in order.tables("fabrics", ()):
        key, shrinkage = fabric.text("key"), fabric.table_or_none("shrinkage")
        prints[key] = fabric.table_or_none("repeat") is not None
        after = shrinkage is not None and shrinkage.value("washed", "after") == "after"
        percent = shrinkage.value("width", 0) if shrinkage is not None and after else 0
        kept[key] = 1 - Fraction(str(percent)) / 100
    found = dict[str, _Ordered]()
    for window in order.tables("windows", ()):
        usual = _LEAST_INCHES if unit == "in" else _LEAST_METRIC
        said = None if window.value("least_part_width", None) is None else window.whole("least_part_width")
        key = window.text("fabric")
        found[window.text("name")] = _Ordered(
            usual if said is None else said,
            kept.get(key, Fraction(1)),
            window.value("pair", "alike") == "continuous" and prints.get(key, False),
        )
    return found


def _lengths(entry: TableReader, key: str) -> Iterator[TableReader]:
    """A list of numbers as tables of one key each, so that each is read as a length."""
    listed = entry.value(key)
    wrapped = {key: [{"cut": each} for each in listed] if isinstance(listed, list | tuple) else listed}
    yield from entry.like(wrapped).tables(key)


def _faces(top: TableReader) -> dict[tuple[str, str], list[list[_PanelPiece]]]:
    """The widths of each panel of each window, one list for each set of pieces that stands for it."""
    sets = defaultdict[tuple[str, str, str], list[_PanelPiece]](list)
    for entry in top.tables("pieces"):
        if entry.text_or_none("role", None) != "panel" or entry.text_or_none("window", None) is None:
            continue
        base, _, _ = entry.text("id").rpartition("/")
        match = entry.table("match")
        beside, edges = entry.value("joined_to", ()), entry.value("joined_at", ())
        sets[entry.text("window"), base.rpartition("/")[2], base].append(
            _PanelPiece(
                entry.text("id"),
                entry.size("width"),
                tuple(str(each) for each in beside) if isinstance(beside, list | tuple) else (),
                None if match is None else match.length_of("x"),
                tuple(str(each) for each in edges) if isinstance(edges, list | tuple) else (),
            )
        )
    found = defaultdict[tuple[str, str], list[list[_PanelPiece]]](list)
    for (window, key, _), widths in sets.items():
        found[window, key].append(widths)
    return found


def _check_width(panel: _Panel) -> Iterator[Violation]:
    """Joined, the widths give at least what the panel needs."""
    joined = sum(panel.cuts) - 2 * panel.seam * (len(panel.cuts) - 1)
    if joined < panel.needed:
        short = panel.needed - joined
        yield Violation(
            Breach.PANEL, f"{panel.name}: widths joined {joined}", f"{panel.needed}", short, panel.place
        )


def _check_edges(panel: _Panel, order: _Ordered | None) -> Iterator[Violation]:
    """No seam lies in a side hem, and an outermost width shows as much as was asked of a part-width.

    Narrower than that it may be where the panel has no width left to take from: one not twice as wide as the
    least there would be a sliver in its turn.
    """
    if panel.hems is None or order is None or len(panel.cuts) < 2:
        return
    for side, cut, hem in zip(("left", "right"), (panel.cuts[0], panel.cuts[-1]), panel.hems, strict=True):
        shows = floor((cut - panel.seam) * order.kept) - hem
        if shows < 0:
            yield Violation(
                Breach.PANEL, f"{panel.name}: a seam", f"its {side} side hem", -shows, panel.place
            )
        least = ceil((order.least + hem) / order.kept) + panel.seam
        if order.least > shows and max(panel.cuts) >= 2 * least:
            what = f"{panel.name}: its {side} width shows {shows}"
            yield Violation(
                Breach.PANEL, what, f"{order.least}, the least that may", order.least - shows, panel.place
            )


def _check_runs_on(
    panels: Sequence[_Panel], pieces: Mapping[tuple[str, str], list[list[_PanelPiece]]], order: _Ordered
) -> Iterator[Violation]:
    """Closed, the right panel goes on in the pattern where the left one ends, less what is hidden."""
    by_key = {panel.key: panel for panel in panels}
    if not {"left", "right"} <= by_key.keys() or any(panel.hems is None for panel in panels):
        return
    left, right = by_key["left"], by_key["right"]
    assert left.hems is not None
    assert right.hems is not None
    hidden = ceil((left.hems[1] + right.hems[0] + 2 * min(left.overlap, right.overlap)) / order.kept)
    for one, other in zip(pieces.get((left.window, "left"), []), pieces.get((right.window, "right"), []),
                          strict=False):  # fmt: skip
        ends = [piece.x + piece.width for piece in one if piece.x is not None]
        begins = [piece.x for piece in other if piece.x is not None]
        if ends and begins and min(begins) != max(ends) - hidden:
            off = abs(min(begins) - max(ends) + hidden)
            yield Violation(Breach.PANEL, f"{right.name}: where it goes on", left.name, off, right.place)


def _check_pieces(panel: _Panel, widths: Sequence[_PanelPiece]) -> Iterator[Violation]:
    """The pieces are the widths of the panel, in the order they are sewn, and meet in the pattern."""
    chain = _chain(widths)
    if chain is not None and tuple(piece.width for piece in chain) != panel.cuts:
        chain = chain[::-1]
    if chain is None or tuple(piece.width for piece in chain) != panel.cuts:
        listed = ", ".join(f'"{piece.id}"' for piece in widths)
        yield Violation(
            Breach.PANEL, f"{panel.name}: {listed}", "the widths it is made up of", at=panel.place
        )
        return
    if not any(
        _edges_hold(way) for way in ([chain, chain[::-1]] if panel.cuts == panel.cuts[::-1] else [chain])
    ):
        yield Violation(
            Breach.PANEL, f"{panel.name}: edges of its seams", "its widths in order", at=panel.place
        )
    placed = [piece.x for piece in chain if piece.x is not None]
    # Widths that read the same from either end may have been followed from the wrong one.
    ways = [placed, placed[::-1]] if panel.cuts == panel.cuts[::-1] else [placed]
    off = min(max(_steps_off(panel, way), default=0) for way in ways)
    if off:
        yield Violation(Breach.PANEL, f"{panel.name}: places in the pattern", "its seams", off, panel.place)


def _edges_hold(chain: Sequence[_PanelPiece]) -> bool:
    """Whether each width is sewn with its right edge to the left edge of the next, as far as that is told."""
    told = {
        (piece.id, other): edge
        for piece in chain
        for other, edge in zip(piece.beside, piece.at, strict=False)
    }
    return all(
        told.get((one.id, other.id), "right") == "right" and told.get((other.id, one.id), "left") == "left"
        for one, other in itertools.pairwise(chain)
    )


def _steps_off(panel: _Panel, placed: Sequence[int]) -> Iterator[int]:
    """How far each step from width to width is from cut width less two allowances."""
    for cut, (one, other) in zip(panel.cuts, itertools.pairwise(placed), strict=False):
        yield abs(other - one - (cut - 2 * panel.seam))


def _chain(widths: Sequence[_PanelPiece]) -> list[_PanelPiece] | None:
    """The pieces from one edge to the other as they are sewn; None where they are no single row."""
    by_id = {piece.id: piece for piece in widths}
    ends = [piece for piece in widths if len(piece.beside) <= 1]
    if not ends:
        return None
    chain, seen = [ends[0]], {ends[0].id}
    while len(chain) < len(widths):
        further = [each for each in chain[-1].beside if each not in seen]
        if len(further) != 1 or further[0] not in by_id or chain[-1].id not in by_id[further[0]].beside:
            return None
        chain.append(by_id[further[0]])
        seen.add(further[0])
    return chain if all(each in seen for piece in chain for each in piece.beside) else None


def _check_mirror(panels: Sequence[_Panel], step: int) -> Iterator[Violation]:
    """Left and right panel of a pair are cut in the mirror, to a step of the tape."""
    by_key = {(panel.window, panel.key): panel for panel in panels}
    for (window, key), panel in by_key.items():
        side, _, number = key.partition("-")
        other = by_key.get((window, f"right-{number}" if number else "right"))
        if side != "left" or other is None:
            continue
        mirrored = other.cuts[::-1]
        alike = len(mirrored) == len(panel.cuts)
        off = max((abs(a - b) for a, b in zip(panel.cuts, mirrored, strict=False)), default=0)
        if not alike or off > step:
            yield Violation(
                Breach.PANEL,
                f"{panel.name}: its widths",
                f"mirror of {other.name}",
                off,
                panel.place,
            )
