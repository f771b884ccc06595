"""Whether rectangles have places in a section with its flaws where they are, by trying all that matter.

Pushed left and toward the beginning every rectangle begins at an edge (its margin, a flaw) or behind others
that do, so sums of widths across and of lengths along are tried. `nesting.check.proof_places` tries them
anew.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Final

from nesting.packing.problem import Flaw, Part

#: More places than this are not tried, so that the check, which counts a little otherwise, has enough.
MOST_TRIED: Final = 60_000
MOST_COPIES: Final = 40
Box = tuple[int, int, int, int]


class _TooManyError(Exception):
    """More places than may be tried."""


def without_places(width: int, longest: int, parts: Sequence[Part], flaws: Sequence[Flaw]) -> bool:
    """Whether no layout of all copies goes there; False too where too many places would be tried."""
    if sum(part.copies for part in parts) > MOST_COPIES:
        return False
    copies = [part for part in parts for _ in range(part.copies)]
    copies.sort(key=lambda part: (-part.width * part.length, part.width, part.clear))
    left = {part.clear[0] for part in copies} | {flaw.x + flaw.width for flaw in flaws} | {0}
    low = {flaw.y + flaw.length for flaw in flaws} | {0}
    columns = _sums(left, [part.width for part in copies], width)
    rows = _sums(low, [part.length for part in copies], longest)
    if len(columns) * len(rows) > MOST_TRIED:
        return False
    boxes = [(flaw.x, flaw.y, flaw.x + flaw.width, flaw.y + flaw.length) for flaw in flaws]
    count = [0]

    def laid(number: int) -> bool:
        if number == len(copies):
            return True
        part = copies[number]
        same = number > 0 and copies[number - 1] is part
        last = boxes[-1][1::-1] if same else (-1, -1)
        for box in _free(part, columns, rows, width, longest, boxes, count):
            if box[1::-1] > last:
                boxes.append(box)
                if laid(number + 1):
                    return True
                boxes.pop()
        return False

    try:
        return not laid(0)
    except _TooManyError:
        return False


def _free(
    part: Part,
    columns: Sequence[int],
    rows: Sequence[int],
    width: int,
    longest: int,
    boxes: Sequence[Box],
    count: list[int],
) -> Iterator[Box]:
    taken = tuple(boxes)
    for low in rows:
        high = low + part.length
        if high > longest:
            return
        beside = [box for box in taken if box[1] < high and low < box[3]]
        for left in columns:
            right = left + part.width
            if left < part.clear[0] or right > width - part.clear[1]:
                continue
            count[0] += 1
            if count[0] > MOST_TRIED:
                raise _TooManyError
            if not any(box[0] < right and left < box[2] for box in beside):
                yield left, low, right, high


def _sums(begins: set[int], sizes: Sequence[int], room: int) -> list[int]:
    found = {begin for begin in begins if begin < room}
    for size in sizes:
        if len(found) > MOST_TRIED:
            break
        found |= {begin + size for begin in found if begin + size < room}
    return sorted(found)
