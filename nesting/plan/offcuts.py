"""What is left of the fabric beside and behind the pieces: free rectangles, the largest first. In ticks."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

from nesting.headings.making import measure
from nesting.packing.ease import Rectangle
from nesting.plan.cuts import cutting_steps
from nesting.plan.plan import FabricLayout
from nesting.units import Unit

#: Strips narrower than this are no use to anybody.
LEAST: Final = measure("4", "10")
#: No more are listed than anybody would keep.
MOST: Final = 12


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle that no piece uses: ``x`` from the left of the width to cut, ``start`` from the end."""

    x: int
    start: int
    width: int
    length: int


def end_of_fabric(layout: FabricLayout) -> int:
    """How far the fabric reaches from the squared end: of the purchase, or of the length on hand."""
    there = layout.there
    if there is not None:
        return there.length - layout.reserve
    rest = 0 if layout.buy is None else layout.buy.total - layout.buy.needed
    return (layout.length or 0) + rest


def offcuts_of(layout: FabricLayout, unit: Unit) -> tuple[Offcut, ...]:
    """The offcuts worth keeping, the largest first, none over another, clear of flaws and selvages.

    The largest free rectangle is taken, then the largest of what is left beside it, and so on. No cut of the
    sequence runs through one: they are what lies on the table when the last piece is freed.
    """
    found, least = list[Offcut](), LEAST.of(unit)
    left = (layout.usable - layout.fit_to_cut) // 2
    # From the squared end on: what a box parts reaches up to it, so rooms that end before it are done with.
    rooms, done = [(left, 0, left + layout.fit_to_cut, end_of_fabric(layout))], list[Rectangle]()
    for box in sorted(_in_the_way(layout), key=lambda one: one[1]):
        if any(room[3] < box[1] for room in rooms):
            done += (room for room in rooms if room[3] < box[1])
            rooms = [room for room in rooms if room[3] >= box[1]]
        rooms = _beside(rooms, box, least)
    rooms += done
    while rooms and len(found) < MOST:
        box = max(rooms, key=lambda one: ((one[2] - one[0]) * (one[3] - one[1]), one))
        found.append(Offcut(box[0], box[1], box[2] - box[0], box[3] - box[1]))
        rooms = _beside(rooms, box, least)
    return tuple(sorted(found, key=lambda one: (-one.width * one.length, one.start, one.x)))


def _in_the_way(layout: FabricLayout) -> Iterator[Rectangle]:
    """Pieces, those of one grid as one; flaws, and the cuts beside them, rectangles without a width."""
    for flaw in layout.flaws:
        yield flaw.x, flaw.y, flaw.x + flaw.width, flaw.y + flaw.length
    for step in cutting_steps(layout):
        first, block = step.frees.first, step.frees
        right = first.x + block.across * first.width
        yield first.x, first.y, right, block.end
        for cut in step.cuts:
            across = cut.way == "across"
            line = (cut.start, cut.at, cut.end, cut.at) if across else (cut.at, cut.start, cut.at, cut.end)
            if line[0] < first.x or line[1] < first.y or line[2] > right or line[3] > block.end:
                yield line


def _beside(rooms: Iterable[Rectangle], box: Rectangle, least: int) -> list[Rectangle]:
    """The largest rectangles free of ``box`` too, of those free of all before it."""
    left, low, right, high = box
    whole, parts = list[Rectangle](), list[Rectangle]()
    for room in rooms:
        x, y, end, far = room
        if left < end and x < right and low < far and y < high:
            parts += ((x, y, left, far), (right, y, end, far), (x, y, end, low), (x, high, end, far))
        else:
            whole.append(room)
    parts = [one for one in dict.fromkeys(parts) if min(one[2] - one[0], one[3] - one[1]) >= least]
    return [*whole, *(one for one in parts if not any(_holds(other, one) for other in (*whole, *parts)))]


def _holds(room: Rectangle, one: Rectangle) -> bool:
    inside = room[0] <= one[0] and room[1] <= one[1] and one[2] <= room[2] and one[3] <= room[3]
    return inside and room != one
