"""What has its rows to itself because nothing fits beside it, found in one pass over the widths."""

from __future__ import annotations

from collections import deque
from collections.abc import Sequence
from typing import NamedTuple


class LoneWay(NamedTuple):
    """What a kind of parts takes of a row.

    Attributes
    ----------
    width
        The least it takes across.
    clear
        What it keeps clear of at the left and the right edge.
    several
        Whether a copy of its own may stand beside it.
    single
        Whether it lies one way only, so that it may be laid apart.
    """

    width: int
    clear: tuple[int, int]
    several: bool
    single: bool


class _Narrowest:
    """The two least of some sizes, while more and more of them are taken out."""

    def __init__(self, sizes: Sequence[int]) -> None:
        self._sizes, self._gone = sizes, set[int]()
        self._order = sorted(range(len(sizes)), key=sizes.__getitem__)
        self._two, self._next = self._order[:2], 2

    def but(self, at: int | None) -> int | None:
        """The least that is left, but for that one; None where nothing is."""
        return next((self._sizes[one] for one in self._two if one != at), None)

    def remove(self, at: int) -> bool:
        """Take one out; whether it was one of the two."""
        self._gone.add(at)
        if at not in self._two:
            return False
        self._two.remove(at)
        while self._next < len(self._order) and self._order[self._next] in self._gone:
            self._next += 1
        self._two += self._order[self._next : self._next + 1]
        self._next += 1
        return True


def lone_in_turn(kinds: Sequence[LoneWay], width: int) -> list[int]:
    """Numbers of those beside which nothing fits, where each time the first such one is taken out.

    Of what may stand to the right of one, and to its left, only the narrowest with its margin can tell. So
    those that were passed over are looked at again only when the narrowest have changed.

    Parameters
    ----------
    kinds
        In the order in which they are looked at.
    width
        Of the strip.
    """
    right, left = (_Narrowest([kind.width + kind.clear[side] for kind in kinds]) for side in (1, 0))
    waiting = deque(at for at, kind in enumerate(kinds) if kind.single)
    passed, lone = list[int](), list[int]()
    while waiting:
        at = waiting.popleft()
        kind = kinds[at]
        but, room = None if kind.several else at, width - kind.width
        beside = ((right.but(but), kind.clear[0]), (left.but(but), kind.clear[1]))
        if any(other is not None and other + margin <= room for other, margin in beside):
            passed.append(at)
            continue
        lone.append(at)
        if any([right.remove(at), left.remove(at)]):
            waiting.extendleft(reversed(passed))
            passed = []
    return lone
