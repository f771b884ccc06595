"""Weights of parts, and of the heaviest band of each length: of layouts cut across first only."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np
import numpy.typing as npt

from nesting.packing.certificates.weighing import WeighedBar, Weighing
from nesting.packing.reduce import Core

Table = npt.NDArray[Any]
"""Values by length, or by width and length."""
#: Tables of more entries are not worked out again.
MOST_CELLS_OF_BANDS = 8_000_000


@dataclass(frozen=True, slots=True)
class BandWeights(Weighing):
    """Bands that follow one another hold less than all parts weigh, up to some length.

    With F(h) the heaviest band of length h and T the weight of all parts, no layout in bands is shorter than
    B if ``F(h) (B - 1) < h T`` for every h below B. ``longest`` (in the problem's units) tells how far bands
    are weighed. It says nothing of layouts that are cut freely.
    """

    rule: ClassVar[str] = "band weights"
    longest: int = 0

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        return {**Weighing.told(self), "longest": self.longest}

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        longest = self.longest // core.step_y
        if core.bordered or not core.plain or core.width * longest > MOST_CELLS_OF_BANDS:
            return 0
        fitting = sorted((bar for bar in bars if bar.length <= longest), key=lambda bar: bar.width)
        items = [(bar.width, bar.length, bar.copies, bar.weight) for bar in fitting]
        _, bands = band_tables(items, core.width, longest, int)
        least: dict[int, int] = {}
        for bar in bars:
            mine = bar.weight * bar.copies
            least[bar.part] = min(least.get(bar.part, mine), mine)
        return least_of(bands[-1].tolist(), sum(least.values()))


def band_tables(
    items: Sequence[tuple[int, int, int, float]], width: int, longest: int, kind: type
) -> tuple[dict[int, Table], Table]:
    """The best stack for each width and length, and the best band for each width and length.

    ``items`` are ``(width, length, copies, value)``, narrowest first; values are of that ``kind``, float or
    int. Copies are counted in each column by itself, which can only make a band better than it is.
    """
    number = np.float64 if kind is float else np.int64
    best: Table = np.zeros(longest + 1, dtype=number)
    stacks = dict[int, Table]()
    for wide, long, copies, value in items:
        left, block = min(copies, longest // long), 1
        while left > 0 and value > 0:
            taken = min(block, left)
            size = taken * long
            best = best.copy()
            best[size:] = np.maximum(best[size:], best[: len(best) - size] + taken * value)
            left, block = left - taken, block * 2
        stacks[wide] = best
    bands = np.zeros((width + 1, longest + 1), dtype=number)
    for across in range(1, width + 1):
        row = bands[across - 1]
        for wide, stack in stacks.items():
            if wide <= across:
                row = np.maximum(row, bands[across - wide] + stack)
        bands[across] = row
    return stacks, bands


def least_of(heaviest: Sequence[int], total: int) -> int:
    """The greatest B with F(h) * (B - 1) < h * T for all h below B; ``heaviest`` is F from 0 on."""
    over, under, bound = 0, 1, 1
    for length in range(1, len(heaviest)):
        # The steepest band so far, as a fraction; B grows to length + 1 only while it stays below T / length.
        if heaviest[length] * under > over * length:
            over, under = heaviest[length], length
        if over * length >= under * total:
            return bound
        bound = length + 1
    return bound
