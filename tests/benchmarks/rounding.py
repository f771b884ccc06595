"""How a packer that knows no repeat is used on a print.

A maker with a general packer gives it every matched cut in whole repeats and lays what comes out on the
pattern. The same is done here, in two steps, for straight matches and drops alike:

1. `roundings`: each matched part takes its length rounded up to whole repeats; its width stays as it is. The
   other parts are given once as they are and once rounded up like the matched ones, so that all cuts above
   them stay on the repeat; each way gets half of the time, and the shorter outcome counts. No part is
   turned, but one that does not fit upright.
2. `on_the_pattern`: the packer's layout is laid on the true fabric with the true sizes, its order kept.
   Across, every part is slid to the left up to the parts beside it, then on to the next column of the pattern
   where it must meet its neighbors in a panel (the widest of a panel settles the columns, if all of it has
   room so). Along, the parts are taken from the squared end on, as the packer laid them, and each is brought
   down onto those that lie in its way, then up to the next place where the pattern is right. Nothing is laid
   into gaps, for the packer did not. That is what keeps drops valid: where the columns of two cuts differ,
   the upper one rises by the D-ths of a repeat that its column needs, and by no more.

So the length is that of a valid layout, which the check confirms. It may be less than the packer's own, for
the last cuts lose their rounding, and it may be more, where drops or plain parts lie below cuts: then the
packer's own length, told "as packed", is of a layout in which the pattern does not meet.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.packing import Part, Placement, Problem, Strip
from nesting.repeat import Repeat


@dataclass(frozen=True, slots=True)
class Box:
    """``copies`` plain rectangles that stand for a part, ``turned`` where it is laid turned."""

    width: int
    length: int
    copies: int
    turned: bool = False


@dataclass(frozen=True, slots=True)
class Spot:
    """Where a packer laid one copy of a box."""

    box: int
    x: int
    y: int


def roundings(problem: Problem) -> tuple[tuple[Box, ...], ...]:
    """The boxes that stand for the parts, one for each part in the same order, in each way to round them."""
    if problem.strips[0].repeat is None:
        return (_boxes(problem, 1, 1),)
    repeat = problem.strips[0].repeat.length
    ways = (_boxes(problem, repeat, 1), _boxes(problem, repeat, repeat))
    return ways if ways[0] != ways[1] else ways[:1]


def _boxes(problem: Problem, matched: int, others: int) -> tuple[Box, ...]:
    """Boxes with lengths in whole steps, of one size for matched parts and one for the others."""
    boxes = []
    for part in problem.parts:
        turned = part.turnable and part.width > problem.strips[0].width
        width, length = part.size(turned)
        step = others if part.match is None else matched
        boxes.append(Box(width, -(-length // step) * step, part.copies, turned))
    return tuple(boxes)


def as_laid(boxes: Sequence[Box], width: int, spots: Sequence[Spot]) -> tuple[Problem, tuple[Placement, ...]]:
    """The plain problem that a packer was given and its layout, to be checked."""
    parts = tuple(Part(f"box {at}", box.width, box.length, box.copies) for at, box in enumerate(boxes))
    problem = Problem((Strip(width),), parts)
    upright = [replace(box, turned=False) for box in boxes]
    return problem, on_the_pattern(problem, upright, spots)


def on_the_pattern(problem: Problem, boxes: Sequence[Box], spots: Sequence[Spot]) -> tuple[Placement, ...]:
    """The packer's layout on the true fabric; without a repeat just as the packer laid it."""
    repeat = problem.strips[0].repeat
    counts = [0] * len(boxes)
    if repeat is None:
        laid = [(spot, spot.x, spot.y) for spot in spots]
    else:
        laid = _Pattern(problem, repeat, boxes).lay(spots)
    placements = []
    for spot, x, y in laid:
        counts[spot.box] += 1
        placements.append(Placement(spot.box, counts[spot.box], x, y, turned=boxes[spot.box].turned))
    return tuple(placements)


class _Pattern:
    """Lays a packer's layout on a print, its order kept."""

    def __init__(self, problem: Problem, repeat: Repeat, boxes: Sequence[Box]) -> None:
        self._parts, self._strip = problem.parts, problem.strips[0]
        self._repeat, self._boxes = repeat, boxes
        self._columns = dict[str, int]()
        self._levels = dict[str, int]()

    def lay(self, spots: Sequence[Spot]) -> list[tuple[Spot, int, int]]:
        self._settle_columns(spots)
        across = self._across(spots)
        laid, tops = [], list[tuple[int, int, int]]()
        for spot in sorted(spots, key=lambda spot: (spot.y, spot.x)):
            part, x = self._parts[spot.box], across[spot]
            width, length = part.size(self._boxes[spot.box].turned)
            below = [top for left, right, top in tops if left < x + width and x < right]
            y = self._up(part, x, max(below, default=0))
            tops.append((x, x + width, y + length))
            laid.append((spot, x, y))
        return laid

    def _settle_columns(self, spots: Sequence[Spot]) -> None:
        """The phase across of each panel: as its widest lies, or the next that has room for all of it."""
        panels = dict[str, list[Spot]]()
        for spot in sorted(spots, key=lambda spot: -self._boxes[spot.box].width):
            match = self._parts[spot.box].match
            if match is not None and match.seam is not None:
                panels.setdefault(match.seam, []).append(spot)
        for seam, widths in panels.items():
            # Where all have room for a phase, they have it for one that puts some width at an edge.
            edges = [(spot.box, x) for spot in widths for x in (0, self._room(spot.box))]
            phases = [self._phase(box, x) for box, x in [(widths[0].box, widths[0].x), *edges]]
            fitting = (phase for phase in phases if all(self._fits(spot.box, phase) for spot in widths))
            self._columns[seam] = next(fitting, phases[0])

    def _room(self, box: int) -> int:
        return self._strip.width - self._boxes[box].width

    def _phase(self, box: int, x: int) -> int:
        match = self._parts[box].match
        return 0 if match is None else self._repeat.columns(x, match.x)[1]

    def _fits(self, box: int, phase: int) -> bool:
        match = self._parts[box].match
        return match is None or self._repeat.first_x(0, match.x, phase) <= self._room(box)

    def _across(self, spots: Sequence[Spot]) -> dict[Spot, int]:
        """Each part slid to the left up to those that the packer laid beside it, then to its columns."""
        across, beside = dict[Spot, int](), list[tuple[int, int, int, int]]()
        for spot in sorted(spots, key=lambda spot: (spot.x, spot.y)):
            box = self._boxes[spot.box]
            low, high = spot.y, spot.y + box.length
            least = [
                right for end, start, stop, right in beside if end <= spot.x and start < high and low < stop
            ]
            x = self._right(self._parts[spot.box], box.width, max(least, default=0))
            beside.append((spot.x + box.width, low, high, x + box.width))
            across[spot] = x
        return across

    def _right(self, part: Part, width: int, least: int) -> int:
        """The next place across from ``least`` on, or the last one there is."""
        room, across = self._strip.width - width, self._repeat.width
        if part.match is None or part.match.seam is None or across is None:
            return min(least, room)
        x = self._repeat.first_x(least, part.match.x, self._columns[part.match.seam])
        return x if x <= room else x - -(-(x - room) // across) * across

    def _up(self, part: Part, x: int, least: int) -> int:
        """The next place along where the pattern is right; the first of a level settles it."""
        match = part.match
        if match is None:
            return least
        start = self._strip.start
        first = self._repeat.phase_y(x, least, match.x, match.y) if start is None else -start
        phase = self._levels.setdefault(match.level, first)
        return self._repeat.first_y(least, x, match.x, match.y, phase)
