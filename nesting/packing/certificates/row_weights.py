"""Weights of which no row of the strip holds more than so much."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from nesting.packing.certificates.weighing import WeighedBar, Weighing, heaviest, least_total
from nesting.packing.reduce import Core


@dataclass(frozen=True, slots=True)
class RowWeights(Weighing):
    """All rows together carry the weight of all parts; no row carries more than the heaviest set that fits.

    Gilmore, Gomory, Operations Research 9 (1961) 849-859 (weak duality).
    """

    rule: ClassVar[str] = "row weights"

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        most = heaviest(bars, "width", "weight", core.width)
        return -(-least_total(bars, "length") // most) if most else 0
