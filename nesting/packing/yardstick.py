"""How easily layouts of one length are cut, told apart quickly: most of a layout was counted before."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import NamedTuple

from nesting.packing.cut_order import CutCount, CutRule, Region, Shape, bands_of, count_of, freed_in
from nesting.packing.ease import Rectangle, area_of, cut_lines, largest_rooms
from nesting.packing.problem import Problem
from nesting.packing.result import Placement

#: Units of work per piece: to find the bands of a layout, the cuts of one that is new, and offcuts.
WORK_PER_BANDS, WORK_PER_CUTS, WORK_PER_ROOMS = 3e-6, 2.2e-5, 3e-5
#: So many bands are remembered.
MOST_KNOWN = 20_000

Order = tuple[int, ...]
"""Cuts, changes of size, minus the largest offcut, grids, minus the largest offcut at the end, lines."""


class _KnownBand(NamedTuple):
    """What is known of a band wherever it lies: its figures, and the sizes freed first and last."""

    figures: CutCount
    first: tuple[int, int]
    last: tuple[int, int]


class Yardstick:
    """Counts cuts, changes of size and offcuts of layouts of one problem.

    Parameters
    ----------
    problem, length
        One strip, and how long its layouts are.
    cut_rules
        Of each part, how it is cut; without it all are cut like any.
    """

    def __init__(self, problem: Problem, length: int, cut_rules: Sequence[CutRule] = ()) -> None:
        self.problem, self.length = problem, length
        self._cut_rules = cut_rules or (CutRule(),) * len(problem.parts)
        self._known = dict[tuple[object, ...], _KnownBand]()
        self.spent = 0.0
        """Units of work, until whoever asks sets it to 0."""

    def shapes(self, placements: Iterable[Placement]) -> list[Shape]:
        """The pieces as they lie, each with its number among them."""
        parts, found = self.problem.parts, list[Shape]()
        for number, at in enumerate(placements):
            width, length = parts[at.part].size(at.turned)
            kind, cut_rules = (at.part, at.turned), self._cut_rules[at.part]
            found.append(Shape(at.x, at.y, at.x + width, at.y + length, kind, *cut_rules, number))
        return found

    def count(self, shapes: Sequence[Shape]) -> CutCount:
        """How much there is to cut; each band is counted once, wherever it lies."""
        cuts = changes = grids = reached = 0
        before: tuple[int, int] | None = None
        self.spent += WORK_PER_BANDS * len(shapes)
        for band in bands_of(shapes):
            low = band[0].low
            known = self._band(band)
            cuts += known.figures.cuts + 1 + (low > reached)
            changes += known.figures.changes + (before is not None and before != known.first)
            grids += known.figures.grids
            before, reached = known.last, max(shape.high for shape in band)
        return CutCount(cuts, changes, grids)

    def _band(self, band: list[Shape]) -> _KnownBand:
        low = band[0].low
        key = tuple((s[0], s[1] - low, s[2], s[3] - low, s[4]) for s in band)
        known = self._known.get(key)
        if known is None:
            if len(self._known) >= MOST_KNOWN:
                self._known.clear()
            self.spent += WORK_PER_CUTS * len(band)
            high = max(shape.high for shape in band)
            steps = list(freed_in(Region(0, low, self.problem.strips[0].width, high), band))
            known = _KnownBand(count_of(steps), steps[0].grid.first.size, steps[-1].grid.first.size)
            self._known[key] = known
        return known

    def order(self, shapes: Sequence[Shape], count: CutCount) -> Order:
        """All by which a layout is told from others of its length; less is easier."""
        boxes = [shape[:4] for shape in shapes]
        largest, at_end = self.offcuts(boxes)
        lines = len(cut_lines(boxes, self.problem.strips[0].width))
        return count.cuts, count.changes, -largest, count.grids, -at_end, lines

    def offcuts(self, boxes: Sequence[Rectangle]) -> tuple[int, int]:
        """The areas of the largest free rectangle, and of the largest that reaches the end."""
        self.spent += WORK_PER_ROOMS * len(boxes)
        largest = at_end = 0
        for room in largest_rooms(boxes, self.problem.strips[0].width, self.length):
            area = area_of(room)
            largest = max(largest, area)
            if room[3] == self.length:
                at_end = max(at_end, area)
        return largest, at_end
