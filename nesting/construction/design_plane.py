"""The print of a hung window, from where its pieces lie on the bolt and from the steps that sew them.

Every width brings the point of the print that lies under its lower left corner on the bolt, and what is
trimmed, folded and sewn away moves it. So a width laid an inch too high shows the print an inch too low,
whatever was planned. Lengths in ticks.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from math import ceil, floor
from typing import Final, Literal

from nesting.construction.bench_of import bench_of
from nesting.construction.windows_made import WindowFacts, window_facts
from nesting.cutting.measures import Hanging
from nesting.packing.problem import Match
from nesting.pieces.piece import Piece
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.repeat import Repeat
from nesting.sewing import Sewing, Work, sewn

Vector = tuple[Fraction, Fraction]
"""Across to the right and up, as the drape hangs."""

NOWHERE: Final[Vector] = (Fraction(0), Fraction(0))


@dataclass(frozen=True, slots=True)
class Lattice:
    """How a print repeats as it hangs.

    Attributes
    ----------
    across
        From one column to the next, with what a drop steps; None where the print has no width.
    along
        From one repeat to the next in a column.
    """

    across: Vector | None
    along: Vector

    @property
    def cell(self) -> Vector:
        """How wide and how high one repeat is as it hangs; of a print without a width 0 wide."""
        if self.across is None:
            return Fraction(0), abs(self.along[1])
        wide, high = (self.across, self.along) if self.along[1] else (self.along, self.across)
        return abs(wide[0]), abs(high[1])

    def rest(self, apart: Vector) -> Vector:
        """How far two spots ``apart`` are from being the same spot of the print; 0, 0 where they are."""
        if self.across is None:
            high = self.along[1]
            return Fraction(0), apart[1] - high * floor(apart[1] / high + Fraction(1, 2))
        columns, rows = self._counts(apart)
        near = (
            self._less(apart, column, row)
            for column in (floor(columns), ceil(columns))
            for row in (floor(rows), ceil(rows))
        )
        return min(near, key=lambda one: abs(one[0]) + abs(one[1]))

    def spots(self, low: Vector, high: Vector) -> Iterator[Vector]:
        """The places of the spot at 0, 0 from the corner ``low`` to the corner ``high``."""
        if self.across is None:
            return
        corners = [self._counts((x, y)) for x in (low[0], high[0]) for y in (low[1], high[1])]
        columns, rows = ([one[at] for one in corners] for at in (0, 1))
        for column in range(floor(min(columns)), ceil(max(columns)) + 1):
            for row in range(floor(min(rows)), ceil(max(rows)) + 1):
                x, y = (-part for part in self._less((Fraction(0), Fraction(0)), column, row))
                if low[0] <= x <= high[0] and low[1] <= y <= high[1]:
                    yield x, y

    def _counts(self, apart: Vector) -> Vector:
        """``apart`` in steps across and along."""
        across, along = self.across or (Fraction(1), Fraction(0)), self.along
        area = across[0] * along[1] - across[1] * along[0]
        columns = (apart[0] * along[1] - apart[1] * along[0]) / area
        return columns, (across[0] * apart[1] - across[1] * apart[0]) / area

    def _less(self, apart: Vector, columns: int, rows: int) -> Vector:
        across, along = self.across or (Fraction(0), Fraction(0)), self.along
        return (
            apart[0] - columns * across[0] - rows * along[0],
            apart[1] - columns * across[1] - rows * along[1],
        )


@dataclass(frozen=True, slots=True)
class HungWidth:
    """One width of a sewn panel: where it shows, from the panel's left edge, and the print on it.

    ``at`` is the point of the print at ``start`` and the hem edge, from the spot that is marked.
    """

    piece: str
    start: Fraction
    end: Fraction
    at: Vector


@dataclass(frozen=True, slots=True)
class HungPrint:
    """One panel as sewn, spread flat, seen from the room."""

    hanging: Hanging
    width: Fraction
    length: Fraction
    widths: tuple[HungWidth, ...]

    @property
    def seams(self) -> tuple[Fraction, ...]:
        """Where its widths meet, from its left edge."""
        return tuple(width.start for width in self.widths[1:])

    @property
    def told(self) -> Literal["left", "right"]:
        """The edge from which its pattern is told: the leading one; the left one where it does not move."""
        return self.hanging.leading or "left"

    def edge(self, side: str) -> Vector:
        """The point of the print at the hem edge on its left or right edge."""
        if side == "left":
            return self.widths[0].at
        last = self.widths[-1]
        return last.at[0] + last.end - last.start, last.at[1]


@dataclass(frozen=True, slots=True)
class DesignPlane:
    """A window of a print, its panels from left to right."""

    facts: WindowFacts
    lattice: Lattice
    panels: tuple[HungPrint, ...]

    def misses(self, panel: HungPrint) -> tuple[Vector, ...]:
        """How far the print is from running on at each seam: 0, 0 where it does."""
        found = []
        for left, right in itertools.pairwise(panel.widths):
            there = left.at[0] + left.end - left.start, left.at[1]
            found.append(self.lattice.rest((right.at[0] - there[0], right.at[1] - there[1])))
        return tuple(found)

    def spots(self, panel: HungPrint) -> Iterator[Vector]:
        """Where the marked spot shows on a panel: from its left edge and above its hem edge."""
        for width in panel.widths:
            yield from self.spots_of(panel, width)

    def spots_of(self, panel: HungPrint, width: HungWidth, beyond: Vector = NOWHERE) -> Iterator[Vector]:
        """Where it shows on one width, or as far ``beyond`` its edges."""
        x, y = width.at
        low = x - beyond[0], y - beyond[1]
        high = x + width.end - width.start + beyond[0], y + panel.length + beyond[1]
        for spot in self.lattice.spots(low, high):
            yield width.start + spot[0] - x, spot[1] - y

    def above_hem(self, panel: HungPrint) -> tuple[Fraction, ...]:
        """How high above its hem edge the lowest spots of a panel are, those of each column, lowest first."""
        if self.lattice.across is None:
            high = self.lattice.along[1]
            return (-panel.widths[0].at[1] % high,)
        columns = dict[Fraction, Fraction]()
        for x, y in self.spots(panel):
            columns[x] = min(y, columns.get(x, y))
        return tuple(sorted(set(columns.values())))

    def first_spot(self, panel: HungPrint) -> Vector | None:
        """The spot nearest to the edge it is told from, and how high it is; the lowest of its column."""
        found = [(x if panel.told == "left" else panel.width - x, y) for x, y in self.spots(panel)]
        return min(found, default=None)

    def between(self) -> Vector | None:
        """How far the print is from running on over a closed pair; None where there is none."""
        if len(self.panels) != 2 or self.facts.window.draw != "pair":
            return None
        left, right = self.panels
        hidden = 2 * min(left.hanging.overlap, right.hanging.overlap)
        there, here = left.edge("right"), right.edge("left")
        return self.lattice.rest((here[0] - there[0] + hidden, here[1] - there[1]))


def design_planes(plan: Plan) -> Iterator[DesignPlane]:
    """Every window of a print of a plan, sewn.

    Raises
    ------
    SewingError
        A step cannot be sewn.
    """
    orders = {sewing.window: sewing for sewing in plan.sewing}
    for facts in window_facts(plan):
        sewing = orders.get(facts.window.name)
        if sewing is not None:
            yield from _design_of(plan, facts, sewing)


def _design_of(plan: Plan, facts: WindowFacts, sewing: Sewing) -> Iterator[DesignPlane]:
    """The window, where it is of a print whose pieces are laid."""
    mine = {piece.id: piece for piece in facts.pieces_of("panel") if piece.match is not None}
    laid = dict[str, tuple[FabricLayout, Laid]]()
    for layout in plan.layouts:
        for one in layout.placements:
            if one.piece.id in mine:
                laid.setdefault(one.piece.id, (layout, one))
    if not laid:
        return
    bench = bench_of(facts)
    first = next(iter(laid.values()))
    kept = _kept(bench.shrinkage.get(facts.window.fabric))
    for work in tuple(bench):
        if work.name in laid:
            layout, one = laid[work.name]
            (strip,) = work.strips
            at = _minus(_corner(one), _origin(layout, one, laid, facts))
            bench = bench.put(replace(work, strips=(replace(strip, at=at),)))
    done = sewn(bench, sewing)
    panels = tuple(_panel(done.work(hanging.key), hanging) for hanging in facts.hangings)
    if all(width.at is not None for panel in panels for width in panel.widths):
        yield DesignPlane(facts, _lattice(first[0], first[1], kept), panels)


def _panel(work: Work, hanging: Hanging) -> HungPrint:
    widths = tuple(
        HungWidth(strip.piece, strip.start, strip.end, strip.at)
        for strip in work.strips
        if strip.at is not None
    )
    return HungPrint(hanging, work.width, work.length, widths)


def _kept(lost: tuple[Fraction, Fraction] | None) -> Vector:
    """What a wash of the pieces leaves of their width and length."""
    return (Fraction(1), Fraction(1)) if lost is None else (1 - lost[0], 1 - lost[1])


def _lattice(layout: FabricLayout, laid: Laid, kept: Vector) -> Lattice:
    repeat = _repeat(layout)
    along = _as_it_hangs(laid, (Fraction(0), Fraction(repeat.length)))
    across = None
    if repeat.width is not None:
        across = _as_it_hangs(laid, (Fraction(repeat.width), Fraction(repeat.step)))
    return Lattice(
        None if across is None else (across[0] * kept[0], across[1] * kept[1]),
        (along[0] * kept[0], along[1] * kept[1]),
    )


def _as_it_hangs(laid: Laid, on_fabric: Vector) -> Vector:
    """A direction on the bolt as it is seen on the hung piece, whose top points along ``laid.arrow``."""
    x, y = on_fabric
    return {"up": (x, y), "left": (y, -x), "right": (-y, x), "down": (-x, -y)}[laid.arrow]


def _corner(laid: Laid) -> Vector:
    """The lower left corner of a piece, as it hangs, in the plane of its bolt."""
    x, y = laid.x, laid.y
    at = {
        "up": (x, y),
        "left": (x + laid.width, y),
        "right": (x, y + laid.length),
        "down": (x + laid.width, y + laid.length),
    }[laid.arrow]
    return _as_it_hangs(laid, (Fraction(at[0]), Fraction(at[1])))


def _origin(
    layout: FabricLayout, one: Laid, laid: dict[str, tuple[FabricLayout, Laid]], facts: WindowFacts
) -> Vector:
    """The spot that is marked, on that bolt: the pattern's line, in the middle of the first width's column.

    How high it stands is told by the first piece on the bolt that is to hang level with this one.
    """
    own = next(other for sheet, other in laid.values() if sheet is layout)
    group = _match(one.piece).level
    head = next(
        other
        for other in layout.placements
        if other.piece.match is not None and other.piece.match.level == group
    )
    repeat = _repeat(layout)
    start, level = (_minus(_corner(each), _place(each.piece)) for each in (own, head))
    line = level[1]
    if repeat.step and one.arrow == "up":
        columns = [repeat.columns(each.x, _match(each.piece).x)[0] for each in (own, head)]
        line += (columns[0] - columns[1]) * repeat.step
    middle = Fraction(repeat.width or 0) / 2 if one.arrow == "up" else Fraction(repeat.length) / 2
    return start[0] + facts.making.seam + middle, line


def _place(piece: Piece) -> Vector:
    match = _match(piece)
    return Fraction(match.x), Fraction(match.y)


def _match(piece: Piece) -> Match:
    if piece.match is None:
        raise AssertionError(f"{piece.id}: not matched")
    return piece.match


def _repeat(layout: FabricLayout) -> Repeat:
    if layout.fabric.repeat is None:
        raise AssertionError(f"{layout.fabric.key}: not printed")
    return layout.fabric.repeat


def _minus(one: Vector, other: Vector) -> Vector:
    return one[0] - other[0], one[1] - other[1]
