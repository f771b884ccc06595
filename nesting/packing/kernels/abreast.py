"""Places across for parts whose rows are settled."""

from __future__ import annotations

from typing import NamedTuple

from nesting.packing.kernels.numbers import Ints, draw


class Settled(NamedTuple):
    """Parts by their begin: how wide they are, from where to where they may lie, and their rows."""

    wide: Ints
    near: Ints
    far: Ints
    begin: Ints
    end: Ints


class Places(NamedTuple):
    """Scratch: parts side by side, and for each part places not tried yet, with their rank.

    ``beside`` and ``tried`` have room for all parts, ``first`` for one more, ``place`` and ``rank`` for twice
    as many and two for each part.
    """

    beside: Ints
    first: Ints
    place: Ints
    rank: Ints
    tried: Ints


def abreast_search(W: int, parts: Settled, most: int, state: Ints, px: Ints, places: Places) -> int:
    """1: each part has a place ``px`` across, from ``near`` to ``far``, in its rows ``begin`` to ``end``.

    0: not found in ``most`` steps.
    Parts are laid by their begin, in which order they must be given: each into a gap between those still
    beside it, as far to the left or right in the gap as it may lie, the narrowest gap first with some luck;
    with no gap wide enough the last choice is mended. That leaves out places in the middle of a gap, so 0
    proves nothing.

    References
    ----------
    Gergov, "Algorithms for compile-time memory optimization", SODA 1999, 907-908 (the problem, as dynamic
    storage allocation).
    """
    wide, near, far, begin, end = parts
    beside, first, place, rank, tried = places
    n = len(wide)
    i, steps = 0, 0
    first[0] = 0
    fresh = True
    while i < n:
        if fresh:
            steps += 1
            if steps > most:
                return 0
            running = 0
            for j in range(i):
                if end[j] > begin[i]:
                    at = running
                    while at > 0 and px[beside[at - 1]] > px[j]:
                        beside[at] = beside[at - 1]
                        at -= 1
                    beside[at] = j
                    running += 1
            count, left = first[i], 0
            for g in range(running + 1):
                right = px[beside[g]] if g < running else W
                low, high = max(left, near[i]), min(right - wide[i], far[i])
                if low <= high:
                    for side in range(2 if low < high else 1):
                        value = right - left - wide[i] + draw(state, W // 4 + 1)
                        at = count
                        while at > first[i] and rank[at - 1] > value:
                            rank[at], place[at] = rank[at - 1], place[at - 1]
                            at -= 1
                        rank[at], place[at] = value, low + side * (high - low)
                        count += 1
                if g < running:
                    left = px[beside[g]] + wide[beside[g]]
            first[i + 1], tried[i] = count, first[i]
        if tried[i] < first[i + 1]:
            px[i] = place[tried[i]]
            tried[i] += 1
            i += 1
            fresh = True
        else:
            if i == 0:
                return 0
            i -= 1
            fresh = False
    return 1
