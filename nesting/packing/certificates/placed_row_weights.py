"""Weights of which no row holds more, parts at the places across that the pattern allows."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from nesting.packing.certificates.room_across import places
from nesting.packing.certificates.weighing import WeighedBar, Weighing, least_total
from nesting.packing.reduce import Core

#: Rows of more steps are not gone along.
MOST_STEPS = 200_000


@dataclass(frozen=True, slots=True)
class PlacedRowWeights(Weighing):
    """As `RowWeights`, with the heaviest row at places allowed, in which a part may come again and again.

    Valerio de Carvalho, Annals of Operations Research 86 (1999) 629-659 (rows as longest paths).
    """

    rule: ClassVar[str] = "placed row weights"

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        if core.lone or core.width > MOST_STEPS:
            return 0
        rooms: dict[str, Any] = {}
        starts = list[tuple[int, int, Any]]()
        for bar in bars:
            found = places(core, core.kinds[bar.kind], bar.width, rooms)
            if bar.weight:
                starts.append((bar.width, bar.weight, np.ones(core.width + 1) if found is None else found))
        best = [0] * (core.width + 1)
        for end in range(1, core.width + 1):
            lying = (
                best[end - width] + weight
                for width, weight, free in starts
                if width <= end and free[end - width]
            )
            best[end] = max(best[end - 1], max(lying, default=0))
        return -(-least_total(bars, "length") // best[-1]) if best[-1] else 0
