"""The bounded knapsack, in whole numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

import numpy as np
import numpy.typing as npt

#: Copies of several ways are taken one by one up to this many.
SINGLY = 64
Item = tuple[int, int, int]
"""``(size, value, copies)``."""


def lots(copies: int) -> Iterator[int]:
    """1, 2, 4, ... and the rest: any number up to ``copies`` is a sum of some of them."""
    block = 1
    while copies > 0:
        taken = min(block, copies)
        yield taken
        copies -= taken
        block *= 2


def best_value(capacity: int, items: Sequence[Item]) -> int:
    """The largest value of items whose sizes add up to at most ``capacity``; exact for values below 2**53.

    Parameters
    ----------
    capacity
        0 and upwards.
    items
        ``(size, value, copies)``; whole numbers, sizes above 0, values 0 and upwards.
    """
    best = np.zeros(capacity + 1, dtype=np.int64)
    for size, value, copies in items:
        for block in lots(min(copies, capacity // size)):
            taken = size * block
            if taken <= capacity:
                best[taken:] = np.maximum(best[taken:], best[: capacity + 1 - taken] + value * block)
    return int(best[capacity])


def best_choice(capacity: int, groups: Sequence[Sequence[Item]]) -> int:
    """As `best_value`, where the items of a group are ways to take the same copies: each is taken in one.

    With many copies each way is counted by itself, which is never less.
    """
    best = np.zeros(capacity + 1, dtype=np.int64)
    for ways in groups:
        singly = len(ways) > 1 and ways[0][2] <= SINGLY
        blocks = [
            [(size * block, value * block) for block in lots(min(copies, capacity // size))]
            for size, value, copies in ways
        ]
        together = (
            [[way[:2] for way in ways]] * ways[0][2] if singly else [[x] for each in blocks for x in each]
        )
        for taken in together:
            grown = best.copy()
            for size, value in taken:
                if size <= capacity:
                    grown[size:] = np.maximum(grown[size:], best[: capacity + 1 - size] + value)
            best = grown
    return int(best[capacity])


def best_pattern(
    capacity: int, sizes: Sequence[int], values: Sequence[float], copies: Sequence[int]
) -> tuple[float, list[int]]:
    """The most valuable set of items that fits, for pricing (values may be fractions).

    Returns
    -------
    tuple
        The value, and how many of each item.

    References
    ----------
    Martello, Toth, "Knapsack Problems" (1990), section 3.2 (bounded to 0-1 by binary blocks).
    """
    blocks = [
        (index, block, sizes[index] * block, values[index] * block)
        for index in range(len(sizes))
        if values[index] > 0
        for block in lots(min(copies[index], capacity // sizes[index]))
    ]
    best = np.zeros(capacity + 1)
    chosen: list[npt.NDArray[np.bool_]] = []
    for _, _, size, value in blocks:
        took = np.zeros(capacity + 1, dtype=np.bool_)
        if size <= capacity:
            tried = best[: capacity + 1 - size] + value
            took[size:] = tried > best[size:]
            best[size:] = np.maximum(best[size:], tried)
        chosen.append(took)
    counts, room = [0] * len(sizes), capacity
    for (index, block, size, _), took in zip(reversed(blocks), reversed(chosen), strict=True):
        if took[room]:
            counts[index] += block
            room -= size
    return float(best[capacity]), counts
