"""Random whole numbers that are the same everywhere."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol


class Ints(Protocol):
    """Whole numbers by their place: a list of them, or a numpy array of 64 bits each."""

    def __len__(self) -> int: ...

    def __iter__(self) -> Iterator[int]: ...

    def __getitem__(self, at: int, /) -> int: ...

    def __setitem__(self, at: int, value: int, /) -> None: ...


def draw(state: Ints, most: int) -> int:
    """A pseudo-random number from 0 to ``most`` - 1; ``state[0]`` is 1 to 2**31 - 2.

    References
    ----------
    Park, Miller, Communications of the ACM 31 (1988) 1192-1201 (multiplier 48271 after their 1993 note).
    """
    state[0] = state[0] * 48271 % 2147483647
    return state[0] % most
