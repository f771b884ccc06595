"""How easily a layout is cut: how many lines, the longest of them, and what is left in one piece.

Whole numbers only, in any unit; rectangles of a strip, x across and y along. No more is known here of what
they are, so that a search and a finished plan are measured by the same rule.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

Rectangle = tuple[int, int, int, int]
"""Left, lower, right and upper edge."""


@dataclass(frozen=True, slots=True)
class Ease:
    """Figures that need no order of cuts; those that do, `nesting.packing.cut_order` counts.

    Attributes
    ----------
    cut_lines
        Straight lines along which pieces are cut; edges in one line that touch count once, and the squared
        end and both edges of the strip are no cuts.
    across
        Of these, the places where one cut across from edge to edge meets no piece.
    longest
        The longest line.
    offcut
        The largest rectangle that no piece uses; None where every spot is used.
    end_offcut
        The largest of those that reach the end of the layout, where the rest of the bolt hangs on.
    """

    cut_lines: int
    across: int
    longest: int
    offcut: Rectangle | None
    end_offcut: Rectangle | None


def area_of(box: Rectangle | None) -> int:
    """Of a rectangle; 0 of none."""
    return 0 if box is None else (box[2] - box[0]) * (box[3] - box[1])


def ease_of(boxes: Sequence[Rectangle], width: int, length: int, spoiled: Sequence[Rectangle] = ()) -> Ease:
    """The figures of a layout on a strip of that width and length.

    Parameters
    ----------
    boxes
        The pieces as they lie, none over another.
    width, length
        Of the strip, and of the layout.
    spoiled
        Flaws inside the layout, apart from all pieces: no offcut holds any of them.
    """
    lines = cut_lines(boxes, width)
    rooms = list(largest_rooms((*boxes, *spoiled), width, length))
    at_end = [room for room in rooms if room[3] == length]
    return Ease(
        cut_lines=len(lines),
        across=len(across_lines((low, high) for _, low, _, high in boxes)),
        longest=max((end - start for _, _, start, end in lines), default=0),
        offcut=max(rooms, key=area_of, default=None),
        end_offcut=max(at_end, key=area_of, default=None),
    )


def across_lines(spans: Iterable[tuple[int, int]]) -> tuple[int, ...]:
    """Where the strip can be cut from edge to edge without meeting a piece, the end of the layout last.

    Of a stretch without pieces only the first line counts. ``spans`` are where pieces begin and end.
    """
    found, reached = list[int](), 0
    for start, end in sorted(spans):
        if start >= reached > 0:
            found.append(reached)
        reached = max(reached, end)
    return (*found, reached) if reached else ()


def cut_lines(boxes: Iterable[Rectangle], width: int) -> list[tuple[bool, int, int, int]]:
    """Every line to cut: whether it runs across, where it lies, from where to where it runs."""
    edges = defaultdict[tuple[bool, int], list[tuple[int, int]]](list)
    for left, low, right, high in boxes:
        for y in (low, high):
            if y:
                edges[True, y].append((left, right))
        for x in (left, right):
            if 0 < x < width:
                edges[False, x].append((low, high))
    return [(*place, *run) for place, spans in sorted(edges.items()) for run in _joined(spans)]


def _joined(spans: list[tuple[int, int]]) -> Iterator[tuple[int, int]]:
    """Spans that touch or overlap, as one."""
    spans.sort()
    start, reached = spans[0]
    for low, high in spans[1:]:
        if low > reached:
            yield start, reached
            start = low
        reached = max(reached, high)
    yield start, reached


def largest_rooms(boxes: Sequence[Rectangle], width: int, length: int) -> Iterator[Rectangle]:
    """Free rectangles that cannot grow along the strip or across it, every largest one among them.

    A line sweeps along the strip over the ends of pieces. Over each stretch between two edges of pieces
    across it knows how far back the fabric is free; the largest rectangles below such a skyline are found
    with a stack. Each line costs as many steps as there are stretches.
    """
    if not length:
        return
    xs = sorted({0, width} | {x for left, _, right, _ in boxes for x in (left, right)})
    column = {x: at for at, x in enumerate(xs)}
    free_from = [0] * (len(xs) - 1)
    starts, ends = defaultdict[int, list[Rectangle]](list), defaultdict[int, list[Rectangle]](list)
    for box in boxes:
        starts[box[1]].append(box)
        ends[box[3]].append(box)
    covered = [False] * (len(xs) - 1)
    for y in sorted({length, *starts, *ends}):
        if y == length or y in starts:
            yield from _below(xs, [y if c else f for c, f in zip(covered, free_from, strict=True)], y)
        for box in ends[y]:
            for at in range(column[box[0]], column[box[2]]):
                covered[at], free_from[at] = False, y
        for box in starts[y]:
            for at in range(column[box[0]], column[box[2]]):
                covered[at] = True


def _below(xs: Sequence[int], floors: Sequence[int], top: int) -> Iterator[Rectangle]:
    """The largest rectangles between a stepped floor and a straight top."""
    stack = list[tuple[int, int]]()
    for at, floor in enumerate((*floors, top)):
        left = xs[at]
        while stack and stack[-1][1] < floor:
            left, below = stack.pop()
            yield left, below, xs[at], top
        if floor < top and (not stack or stack[-1][1] > floor):
            stack.append((left, floor))


def in_bands(boxes: Sequence[Rectangle]) -> bool:
    """Whether the boxes lie in bands across, columns within a band, and rows within a column."""
    bands = _stretches(boxes, 1)
    columns = (column for band in bands for column in _stretches(band, 0))
    return all(len(row) == 1 for column in columns for row in _stretches(column, 1))


def _stretches(boxes: Sequence[Rectangle], side: int) -> list[list[Rectangle]]:
    """The boxes parted wherever a line meets none of them."""
    found, reached = list[list[Rectangle]](), 0
    for box in sorted(boxes, key=lambda box: box[side]):
        if not found or box[side] >= reached:
            found.append([])
        found[-1].append(box)
        reached = max(reached, box[side + 2])
    return found
