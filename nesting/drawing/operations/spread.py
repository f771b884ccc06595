"""Sizes on paper: in proportion to each other, none too small to be seen."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from nesting.units import INCH


def spread(sizes: Sequence[Fraction], room: float, least: float = 5.0, most: float = 1e9) -> list[float]:
    """Points for each size, together ``room`` where none has to be more, in proportion but for the smallest.

    Parameters
    ----------
    sizes
        In ticks, none below 0.
    room
        Points for all of them.
    least, most
        What each is given at least and at most, in points.
    """
    given = [0.0] * len(sizes)
    free = list(range(len(sizes)))
    left = room
    while free:
        total = float(sum((sizes[at] for at in free), Fraction(0))) or 1.0
        small = [at for at in free if float(sizes[at]) / total * left < least]
        if not small or len(small) == len(free):
            for at in free:
                given[at] = min(most, max(least, float(sizes[at]) / total * left))
            break
        for at in small:
            given[at] = least
            left -= least
        free = [at for at in free if at not in small]
    return given


def shown(size: Fraction, most: float = 22.0) -> float:
    """Points for one allowance, turn or distance: more for a deeper one, never too little to be seen."""
    return min(most, 5.0 + 2.1 * float(abs(size) / INCH))


def inset(size: Fraction, largest: Fraction, room: float, least: float = 5.0) -> float:
    """Points for one size where the largest of its kind takes ``room``."""
    if largest <= 0:
        return least
    return max(least, min(room, float(size / largest) * room))
