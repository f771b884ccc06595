"""Weights that do not fit in the columns of a strip of one length."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

from nesting.packing.certificates.weighing import Refuting, WeighedBar, heaviest, least_total
from nesting.packing.reduce import Core


@dataclass(frozen=True, slots=True)
class ColumnWeights(Refuting):
    """Columns of the refuted length (in the problem's units) would have to be more than the strip is wide.

    Belov, Kartak, Rohling, Scheithauer, Int. Trans. Operational Research 16 (2009) 745-766.
    """

    rule: ClassVar[str] = "column weights"

    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        length = self.refuted // core.step_y
        most = heaviest(bars, "length", "weight", length)
        if most is None:
            return 0
        return length + 1 if least_total(bars, "width") > most * core.width else 0
