"""Random whole numbers that are the same everywhere."""

from __future__ import annotations

from typing import Any

Ints = Any
"""A list of whole numbers, or a numpy array of them: any indexable of integers."""


def draw(state: Ints, most: int) -> int:
    """A pseudo-random number from 0 to ``most`` - 1; ``state[0]`` is 1 to 2**31 - 2.

    References
    ----------
    Park, Miller, Communications of the ACM 31 (1988) 1192-1201 (multiplier 48271 after their 1993 note).
    """
    state[0] = state[0] * 48271 % 2147483647
    return int(state[0] % most)
