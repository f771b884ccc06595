"""Re-proves a bound on layouts cut across first from weights of parts, with nothing taken from the engine.

In a band of length h each column holds parts whose lengths add up to at most h, and the columns lie side by
side. Let F(h) be the largest weight that a band of length h can hold, worked out here anew, and T the weight
of all parts. A layout of length L is a row of bands with lengths that add up to L or less, so T is at most
the sum of F over its bands; where F(h) / h stays below T / L for every h up to L, that cannot be.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

#: Tables of more entries are not worked out again.
LARGEST = 8_000_000


@dataclass(frozen=True, slots=True)
class Stacked:
    """One part, one way: sizes in steps, its weight, and how many there are."""

    part: int
    width: int
    length: int
    weight: int
    copies: int


def proven_bands(parts: Sequence[Stacked], width: int, longest: int) -> int:
    """The greatest length, up to ``longest`` and one more, that no layout in bands undercuts; 0 for none."""
    if not parts or width * longest > LARGEST:
        return 0
    least: dict[int, int] = {}
    for part in parts:
        mine = part.weight * part.copies
        least[part.part] = min(least.get(part.part, mine), mine)
    total = sum(least.values())
    # In a band every column may hold all parts: what is added up must stay within 64 bits.
    columns = width // min(part.width for part in parts) + 1
    if sum(part.weight * part.copies for part in parts) * columns >= 2**62:
        return 0
    steepest = Fraction(0)
    for length, weight in enumerate(heaviest_bands(parts, width, longest)[1:], 1):
        steepest = max(steepest, Fraction(weight, length))
        if steepest * length >= total:
            return length
    return longest + 1


def heaviest_bands(parts: Sequence[Stacked], width: int, longest: int) -> list[int]:
    """The largest weight of a band of each length from 0 to ``longest``."""
    columns = _heaviest_columns(parts, longest)
    # By how much of the width is used: a band of that width, over all lengths at once.
    bands = [np.zeros(longest + 1, dtype=np.int64)]
    for used in range(1, width + 1):
        choices = [bands[used - 1]]
        choices += [bands[used - wide] + column for wide, column in columns.items() if wide <= used]
        bands.append(np.maximum.reduce(choices))
    return [int(weight) for weight in bands[width]]


def _heaviest_columns(parts: Sequence[Stacked], longest: int) -> Mapping[int, npt.NDArray[np.int64]]:
    """For each width of a part: the largest weight of a column of parts no wider, of each length."""
    found: dict[int, npt.NDArray[np.int64]] = {}
    for wide in sorted({part.width for part in parts}):
        best = np.zeros(longest + 1, dtype=np.int64)
        for part in (part for part in parts if part.width <= wide and part.weight):
            room, taken = min(part.copies, longest // part.length), 1
            while room > 0:
                number = min(taken, room)
                size = number * part.length
                more = np.zeros_like(best)
                more[size:] = best[: longest + 1 - size] + number * part.weight
                best = np.maximum(best, more)
                room, taken = room - number, 2 * taken
        found[wide] = best
    return found
