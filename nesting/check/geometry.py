"""Rectangles inside a strip and apart from one another: in whole numbers, and by a geometry library."""

from __future__ import annotations

import heapq
from bisect import bisect_left, bisect_right, insort
from collections.abc import Iterable, Sequence
from typing import Any, Final

import numpy as np
import shapely

from nesting.packing.problem import Strip

#: After this many overlaps the verdict is clear, and no further ones are looked for.
ENOUGH_OVERLAPS: Final = 10_000

Rectangle = tuple[int, int, int, int]
"""Left, lower, right and upper edge."""


def far_out(strip: Strip, rectangle: Rectangle) -> int:
    """How far a rectangle reaches out of the strip; 0 where it lies inside."""
    left, lower, right, upper = rectangle
    over = 0 if strip.length is None else upper - strip.length
    if left >= 0 and lower >= 0 and right <= strip.width and over <= 0:
        return 0
    return max(0, -left, -lower, right - strip.width, over)


def overlaps_by_sweep(rectangles: Sequence[Rectangle], pieces: int) -> dict[tuple[int, int], int]:
    """Pairs that overlap, with the shortest way apart; of two flaws (from ``pieces`` on) nothing is said.

    A line sweeps along the strip and keeps the rectangles it crosses in order of their left edges. In
    a sound layout these are side by side, so that few are looked at for each one that begins.
    """
    found: dict[tuple[int, int], int] = {}
    crossed: list[tuple[int, int]] = []
    ends: list[tuple[int, int]] = []
    widest = max(right - left for left, _, right, _ in rectangles)
    for new in sorted(range(len(rectangles)), key=lambda at: rectangles[at][1]):
        left, lower, right, upper = rectangles[new]
        while ends and ends[0][0] <= lower:
            _, done = heapq.heappop(ends)
            del crossed[bisect_left(crossed, (rectangles[done][0], done))]
        first = bisect_right(crossed, (left - widest, len(rectangles)))
        last = bisect_left(crossed, (right, -1))
        for _, old in crossed[first:last]:
            if rectangles[old][2] > left and min(old, new) < pieces:
                found[min(old, new), max(old, new)] = _way_apart(rectangles[old], rectangles[new])
        if len(found) >= ENOUGH_OVERLAPS:
            return found
        insort(crossed, (left, new))
        heapq.heappush(ends, (upper, new))
    return found


def _way_apart(one: Rectangle, two: Rectangle) -> int:
    return min(one[2] - two[0], two[2] - one[0], one[3] - two[1], two[3] - one[1])


def _boxes(rectangles: Sequence[Rectangle], drawn_in: float = 0.0) -> Any:
    left, lower, right, upper = np.array(rectangles, dtype=float).T
    return shapely.box(left + drawn_in, lower + drawn_in, right - drawn_in, upper - drawn_in)


def overlaps_by_geometry(
    rectangles: Sequence[Rectangle], pieces: int, named: Iterable[tuple[int, int]]
) -> set[tuple[int, int]]:
    """The same pairs by shared area; beyond `ENOUGH_OVERLAPS` only the pairs ``named`` are judged."""
    boxes, pairs = _boxes(rectangles), list(named)
    ones, twos = np.array(pairs or [(0, 0)]).T
    if len(pairs) < ENOUGH_OVERLAPS:
        # Edges are whole numbers: drawn in by a quarter, those that only touch do not meet any more.
        inner = _boxes(rectangles, drawn_in=0.25)
        found = shapely.STRtree(inner).query(inner)
        ones, twos = found[:, (found[0] < found[1]) & (found[0] < pieces)]
    pairs = list(zip(ones.tolist(), twos.tolist(), strict=True))
    # Two that overlap at all share at least one square tick.
    shared = shapely.area(shapely.intersection(boxes[ones], boxes[twos])) > 0.5
    return {pair for pair, overlap in zip(pairs, shared, strict=True) if overlap}


def outside_by_geometry(strip: Strip, rectangles: Sequence[Rectangle]) -> set[int]:
    """Numbers of those that the strip does not cover."""
    top = max(1, *(upper for _, _, _, upper in rectangles)) if strip.length is None else strip.length
    whole = shapely.box(0, 0, strip.width, top)
    shapely.prepare(whole)
    inside = shapely.covers(whole, _boxes(rectangles))
    return set(np.flatnonzero(~inside).tolist())
