"""Weights of parts, and of the heaviest row of bands of each length that parts can add up to."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from nesting.packing.certificates.weighing import MOST_WEIGHT, WeighedBar, Weighing
from nesting.packing.reduce import Core

#: More sums along the strip, and more entries of a table, are not gone through.
MOST_SUMS, MOST_ENTRIES = 4_000, 4_000_000
Numbers = npt.NDArray[np.int64]


@dataclass(frozen=True, slots=True)
class BandSums(Weighing):
    """Bands that follow one another, each of a length that parts add up to, hold less than all parts weigh.

    With F(h) the heaviest band of length h, ``G(L) = max F(h) + G(L - h)`` is the heaviest row of bands of
    length L together. Where G(L) is less than all parts weigh no layout cut across first is L long, or
    shorter. It says nothing of layouts that are cut freely.
    """

    rule: ClassVar[str] = "band sums"
    longest: int = 0

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        return {**Weighing.told(self), "longest": self.longest}

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        longest = self.longest // core.step_y
        if core.bordered or not core.plain:
            return 0
        items = [
            BandPart(bar.width, bar.length, bar.copies, bar.weight) for bar in bars if bar.length <= longest
        ]
        grid = grid_of(items, core.width, longest)
        if grid is None:
            return 0
        least: dict[int, int] = {}
        for bar in bars:
            mine = bar.weight * bar.copies
            least[bar.part] = min(least.get(bar.part, mine), mine)
        columns = len(grid.across)
        if sum(item.copies * int(item.value) for item in items) * columns * len(grid.along) >= MOST_WEIGHT:
            return 0
        _, bands = grid.tables(items, np.int64)
        return grid.least(bands[-1], sum(least.values()), longest)


@dataclass(frozen=True, slots=True)
class BandPart:
    """One way of a part: sizes in steps, copies, and what one is worth."""

    width: int
    length: int
    copies: int
    value: float


@dataclass(frozen=True, slots=True)
class BandGrid:
    """The places that matter: sums of widths of columns, and sums of lengths of parts; both begin with 0."""

    across: Numbers
    along: Numbers

    def tables(
        self, items: Sequence[BandPart], kind: type[np.int64] | type[np.float64]
    ) -> tuple[dict[int, npt.NDArray[Any]], npt.NDArray[Any]]:
        """The best stack by width, and the best band for each place across, over all lengths at once.

        Copies are counted in each column by itself, which can only make a band better than it is.
        """
        best = np.zeros(len(self.along), dtype=kind)
        stacks = dict[int, npt.NDArray[Any]]()
        for item in sorted(items, key=lambda item: item.width):
            left, block = min(item.copies, int(self.along[-1]) // item.length), 1
            while left > 0 and item.value > 0:
                taken = min(block, left)
                at = below(self.along, self.along - taken * item.length)
                best = np.where(at >= 0, np.maximum(best, best[at] + kind(taken * item.value)), best)
                left, block = left - taken, block * 2
            stacks[item.width] = best
        bands = np.zeros((len(self.across), len(self.along)), dtype=kind)
        for number in range(1, len(self.across)):
            row = bands[number - 1]
            for wide, stack in stacks.items():
                if wide <= self.across[number]:
                    row = np.maximum(row, bands[int(self.before(number, wide))] + stack)
            bands[number] = row
        return stacks, bands

    def before(self, number: int, wide: int) -> int:
        """The place from which a column of that width ends at or before a place."""
        return int(np.searchsorted(self.across, self.across[number] - wide, side="right")) - 1

    def least(self, heaviest: Numbers, total: int, longest: int) -> int:
        """The least length at which bands can hold the weight of all parts; ``heaviest`` band by length.

        One more than ``longest`` where none up to it can.
        """
        if total <= 0:
            return 0
        held = np.zeros(len(self.along), dtype=np.int64)
        for number in range(1, len(self.along)):
            rest = below(self.along, self.along[number] - self.along[1 : number + 1])
            held[number] = int((heaviest[1 : number + 1] + held[rest]).max())
            if held[number] >= total:
                return int(self.along[number])
        return longest + 1


def below(places: Numbers, wanted: Numbers) -> Numbers:
    """The number of the last place at or before each one that is wanted; -1 where there is none."""
    found: Numbers = np.searchsorted(places, wanted, side="right") - 1
    return found


def grid_of(items: Sequence[BandPart], width: int, longest: int) -> BandGrid | None:
    """The places of some parts; None where they are too many.

    In a layout pushed together columns begin where others end, and bands too, so every length is one that
    parts add up to.
    """
    if not items:
        return None
    across = _sums(((item.width, item.copies) for item in items), width)
    along = None if across is None else _sums(((item.length, item.copies) for item in items), longest)
    if across is None or along is None or len(across) * len(along) > MOST_ENTRIES:
        return None
    return BandGrid(across, along)


def _sums(sizes: Iterable[tuple[int, int]], most: int) -> Numbers | None:
    """What some of so many copies of these sizes add up to, up to a limit."""
    copies: dict[int, int] = {}
    for size, count in sizes:
        copies[size] = copies.get(size, 0) + count
    found = np.zeros(1, dtype=np.int64)
    for size, count in copies.items():
        for _ in range(min(count, most // size)):
            more = np.union1d(found, found + size)
            more = more[more <= most]
            if len(more) > MOST_SUMS:
                return None
            if len(more) == len(found):
                break
            found = more
    return found
