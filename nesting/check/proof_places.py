"""Tries out whether some rectangles have places in a stretch with its flaws where they are.

Whatever layout there is, each rectangle can be pushed to the left and toward the beginning, one after
another, until none can be moved, for each push makes a whole number smaller. Each touches something then:
to its left the edge of its margin, a flaw, or a rectangle that likewise touches something; and so along. So
its place across is a margin or the far edge of a flaw, and widths of others added to it; and along
likewise. All such places are tried, equal rectangles in order. The pattern is forgotten, so what has no
place without it has none with it.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from nesting.check.stock_steps import require
from nesting.packing.problem import Flaw, Part

#: More places than this are not tried, nor so many rectangles.
MOST_TRIED, MOST_COPIES = 200_000, 60
Rectangle = tuple[int, int, int, int]
"""Across and along where it begins, width and length."""


def require_no_places(width: int, longest: int, parts: Sequence[Part], flaws: Iterable[Flaw]) -> None:
    """No layout of all copies of these parts, as they stand, goes in a width up to a length.

    Raises
    ------
    UnfoundedError
        One does, or too many places would have to be tried.
    """
    require(sum(part.copies for part in parts) <= MOST_COPIES)
    fixed = [(flaw.x, flaw.y, flaw.width, flaw.length) for flaw in flaws]
    ordered = sorted(parts, key=lambda part: (-part.width * part.length, part.width, part.clear))
    copies = [part for part in ordered for _ in range(part.copies)]
    across = _places(
        {0, *(part.clear[0] for part in copies), *(x + wide for x, _, wide, _ in fixed)},
        [part.width for part in copies],
        width,
    )
    along = _places({0, *(y + long for _, y, _, long in fixed)}, [part.length for part in copies], longest)
    tried = 0

    def go(number: int, laid: list[Rectangle]) -> None:
        nonlocal tried
        require(number < len(copies))
        part = copies[number]
        after = (-1, -1)
        if number and copies[number - 1] is part:
            after = laid[-1][1], laid[-1][0]
        for y in along:
            for x in across:
                if (y, x) <= after or y + part.length > longest:
                    continue
                if not part.clear[0] <= x <= width - part.clear[1] - part.width:
                    continue
                tried += 1
                require(tried <= MOST_TRIED)
                if all(
                    x >= a + w or a >= x + part.width or y >= b + h or b >= y + part.length
                    for a, b, w, h in laid
                ):
                    go(number + 1, [*laid, (x, y, part.width, part.length)])

    go(0, fixed)


def _places(begins: set[int], sizes: Sequence[int], room: int) -> list[int]:
    """Where something may begin: at an edge, or after others that follow it."""
    found = {begin for begin in begins if 0 <= begin < room}
    for size in sizes:
        found |= {begin + size for begin in found if begin + size < room}
        require(len(found) <= MOST_TRIED)
    return sorted(found)
