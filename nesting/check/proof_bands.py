"""Re-proves a bound on layouts cut across first from weights of parts, with nothing taken from the engine.

In a band of length h each column holds parts whose lengths add up to at most h, and the columns lie side by
side. Let F(h) be the largest weight that a band of length h can hold, worked out here anew, and T the weight
of all parts. A layout of length L is a row of bands with lengths that add up to L or less, so T is at most
the sum of F over its bands; where F(h) / h stays below T / L for every h up to L, that cannot be.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from fractions import Fraction

import numpy as np
import numpy.typing as npt

#: Tables of more entries are not worked out again.
LARGEST = 8_000_000
#: More sums of widths, or of lengths, are not gone through.
MOST_SUMS = 4_000


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
    total = _least_weight(parts)
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


def _least_weight(parts: Iterable[Stacked]) -> int:
    """Of all parts together, each laid the way that weighs least."""
    least: dict[int, int] = {}
    for part in parts:
        mine = part.weight * part.copies
        least[part.part] = min(least.get(part.part, mine), mine)
    return sum(least.values())


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


def proven_sums_of_bands(parts: Sequence[Stacked], width: int, longest: int) -> int:
    """The same, at the sums only that widths and lengths of parts add up to; 0 for none.

    Push the parts of a layout together, in columns, the columns in bands, and the bands along: then a band is
    as long as the parts of some column, and bands together as long as some parts. With G(L) the largest
    weight of bands that are L long together, one after another, no layout is as short as an L for which G(L)
    is less than the weight of all parts.
    """
    across = _sums_up_to(((part.width, part.copies) for part in parts), width)
    along = _sums_up_to(((part.length, part.copies) for part in parts), longest)
    if not parts or across is None or along is None or len(across) * len(along) > LARGEST:
        return 0
    total = _least_weight(parts)
    if sum(part.weight * part.copies for part in parts) * len(across) * len(along) >= 2**62 or total <= 0:
        return 0
    bands = _bands_at_sums(parts, across, along)
    held = [0] * len(along)
    for at in range(1, len(along)):
        # The last band is as long as some sum; before it lies what is no longer than the rest.
        rest = np.searchsorted(along, along[at] - along[1 : at + 1], side="right") - 1
        held[at] = max(held[at - 1], *(int(bands[n]) + held[before] for n, before in enumerate(rest, 1)))
        if held[at] >= total:
            return int(along[at])
    return longest + 1


def _bands_at_sums(
    parts: Sequence[Stacked], across: npt.NDArray[np.int64], along: npt.NDArray[np.int64]
) -> npt.NDArray[np.int64]:
    """The largest weight of a band of each length."""
    columns: dict[int, npt.NDArray[np.int64]] = {}
    for wide in sorted({part.width for part in parts}):
        best = np.zeros(len(along), dtype=np.int64)
        for part in (part for part in parts if part.width <= wide and part.weight):
            before = np.searchsorted(along, along - part.length, side="right") - 1
            for _ in range(min(part.copies, int(along[-1]) // part.length)):
                more = np.where(before < 0, 0, best[before] + part.weight)
                best = np.maximum(best, more)
        columns[wide] = best
    bands = [np.zeros(len(along), dtype=np.int64)]
    for used in range(1, len(across)):
        found = [bands[used - 1]]
        for wide, column in columns.items():
            if wide <= across[used]:
                found.append(
                    bands[int(np.searchsorted(across, across[used] - wide, side="right")) - 1] + column
                )
        bands.append(np.maximum.reduce(found))
    return bands[-1]


def _sums_up_to(sizes: Iterable[tuple[int, int]], most: int) -> npt.NDArray[np.int64] | None:
    """All that some of so many copies of these sizes add up to, from 0 to a limit; None where too many."""
    copies: dict[int, int] = {}
    for size, count in sizes:
        copies[size] = copies.get(size, 0) + count
    found = {0}
    for size, count in copies.items():
        grown = set(found)
        for start in found:
            grown.update(range(start, min(most, start + count * size) + 1, size))
            if len(grown) > MOST_SUMS:
                return None
        found = grown
    return np.array(sorted(found), dtype=np.int64)
