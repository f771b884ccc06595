"""Weights across and along of which a strip of one length cannot hold the products."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from nesting.packing.certificates.weighing import Refuting, WeighedBar, heaviest, least_total
from nesting.packing.reduce import Core


@dataclass(frozen=True, slots=True)
class ScaleProducts(Refuting):
    """A layout stays one when each part takes its weights for sizes; so their products fit.

    In a strip as wide as the heaviest row by the first weights, and as long as the heaviest column of the
    refuted length (in the problem's units) by the second.

    Fekete, Schepers, Mathematical Methods of Operations Research 60 (2004) 311-329.
    """

    rule: ClassVar[str] = "scale products"

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        length = self.refuted // core.step_y
        wide = heaviest(bars, "width", "weight", core.width)
        long = heaviest(bars, "length", "along", length)
        if wide is None or long is None:
            return 0
        return length + 1 if least_total(bars, "along") > wide * long else 0
