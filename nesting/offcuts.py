"""What is left of the cloth beside and behind the pieces: free rectangles, the largest first. In ticks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from nesting.ease import Rectangle, largest_rooms
from nesting.headings.heading import measure
from nesting.plan import ClothLayout
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


def end_of_cloth(layout: ClothLayout) -> int:
    """How far the cloth reaches from the squared end: of the purchase, or of the length at hand."""
    there = layout.there
    if there is not None:
        return there.length - layout.reserve
    rest = 0 if layout.buy is None else layout.buy.total - layout.buy.needed
    return (layout.length or 0) + rest


def offcuts_of(layout: ClothLayout, unit: Unit) -> tuple[Offcut, ...]:
    """The offcuts worth keeping, the largest first, none over another, clear of flaws and selvages.

    The largest free rectangle is taken, then the largest of what is left beside it, and so on.
    """
    found = list[Offcut]()
    left = (layout.usable - layout.fit_to_cut) // 2
    width, end = layout.fit_to_cut, end_of_cloth(layout)
    boxes = _taken(layout, left, width, end)
    while len(found) < MOST:
        rooms = [box for box in largest_rooms(boxes, width, end) if _least_side(box) >= LEAST.of(unit)]
        if not rooms:
            break
        x, y, right, far = max(rooms, key=lambda box: ((box[2] - box[0]) * (box[3] - box[1]), box))
        found.append(Offcut(x + left, y, right - x, far - y))
        boxes.append((x, y, right, far))
    return tuple(sorted(found, key=lambda one: (-one.width * one.length, one.start, one.x)))


def _taken(layout: ClothLayout, left: int, width: int, end: int) -> list[Rectangle]:
    """Pieces and flaws within what is fit to cut."""
    boxes = [(laid.x, laid.y, laid.x + laid.width, laid.y + laid.length) for laid in layout.placements]
    boxes += [(flaw.x, flaw.y, flaw.x + flaw.width, flaw.y + flaw.length) for flaw in layout.flaws]
    clipped = [
        (max(0, x - left), y, min(width, right - left), min(end, far))
        for x, y, right, far in boxes
        if y < end
    ]
    return [box for box in clipped if box[0] < box[2] and box[1] < box[3]]


def _least_side(box: Rectangle) -> int:
    return min(box[2] - box[0], box[3] - box[1])
