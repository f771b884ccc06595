"""The bar relaxation with places across: rows with the widths of a panel where the pattern wants them.

The widths joined in a panel share their place in the pattern across the fabric. Where one of them is as wide
as the strip, or nearly, the others have no more places than the pattern has columns, and some that are narrow
enough to lie side by side never can. A row is then a set of bars at places allowed, no two over the same
step; the heaviest is found by going along the row. The bound is that of the bars otherwise, and never below
theirs by more than this: a bar may be used again at another place, which only makes rows heavier.

References
----------
As for `nesting.packing.bounds.bars`; the row as a longest path: Valerio de Carvalho, Annals of Operations
Research 86 (1999) 629-659 (patterns as paths).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, ClassVar

import numpy as np

from nesting.packing.bounds.bars import SCALE, Bar, bars_across, lines_of, prove
from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.certificates import PlacedRowWeights
from nesting.packing.certificates.room_across import places
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.reduce import Core
from nesting.packing.result import Bound, Certificate
from nesting.packing.turn import Turn, Weights

#: Rows of more steps times bars than this are too slow to be worth it.
MOST_CELLS = 2_000_000
#: Units of work of one step of one bar.
WORK_PER_CELL = 2e-9


class PlacedRow:
    """The most valuable row, bars at their places.

    Parameters
    ----------
    width, bars
        Of the strip; what may lie in a row.
    may
        Where each bar may begin, as `nesting.packing.certificates.room_across.places` has it.
    """

    def __init__(self, width: int, bars: Sequence[Bar], may: Sequence[Any | None]) -> None:
        self._width = width
        flags = [np.ones(width + 1, dtype=np.bool_) if each is None else each for each in may]
        #: Whether places bind anything.
        self.bound_to_places = any(
            not flag[: width + 1 - bar.size].all() for flag, bar in zip(flags, bars, strict=True)
        )
        self._form = KERNELS.form
        self._may = self._form.array(np.concatenate(flags).astype(np.int64).tolist())
        self._wide = self._form.array(bar.size for bar in bars)

    def beside_itself(self, index: int) -> int:
        """One, in a row to begin with."""
        return 1

    def best(self, prices: Sequence[float]) -> tuple[float, list[int]]:
        """The value of the most valuable row, and how many of each bar are in it."""
        worth = [int(price * SCALE) for price in prices]
        value, took = self._run(worth)
        counts, x = [0] * len(worth), self._width
        while x > 0:
            bar = int(took[x])
            if bar < 0:
                x -= 1
            else:
                counts[bar] += 1
                x -= int(self._wide[bar])
        return value / SCALE, counts

    def most(self, weights: Sequence[int]) -> int:
        """The weight of the heaviest row, exactly."""
        return self._run(weights)[0]

    def _run(self, worth: Sequence[int]) -> tuple[int, Any]:
        best, took = self._form.zeros(self._width + 1), self._form.zeros(self._width + 1)
        value = self._form.functions["heaviest_row"](
            self._width, self._wide, self._form.array(worth), self._may, best, took
        )
        return int(value), took


def placed_rows(core: Core, stop: Callable[[], bool]) -> tuple[Bound, Weights | None]:
    """The bar relaxation with places, and its weights; no weights where places bind nothing."""
    method = "bar relaxation with places across"
    bars = bars_across(core)
    if not bars or len(bars) * core.width > MOST_CELLS:
        return Bound(0, method), None
    rooms: dict[str, Any] = {}
    flags = [places(core, core.kinds[bar.kind], bar.size, rooms) for bar in bars]
    row = PlacedRow(core.width, bars, flags)
    if not row.bound_to_places:
        return Bound(0, method), None
    proof = prove(bars, core.width, stop, row)
    certificate = PlacedRowWeights.of(core, lines_of(bars, proof))
    weights = {(bar.kind, bar.turned): w for bar, w in zip(bars, proof.weights, strict=True)}
    return Bound(proof.rows, method, certificate), (weights, proof.most)


class BarsInPlace(LowerBound):
    """By `placed_rows`; its weights are handed to whoever needs some."""

    name: ClassVar[str] = "bars in place"
    certificate: ClassVar[type[Certificate] | None] = PlacedRowWeights

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Under a repeat."""
        return any(kind.match is not None for kind in core.kinds) and not core.open_arrows

    def raised(self, turn: Turn) -> Bound:
        """As far as column generation comes."""
        work = WORK_PER_CELL * self.core.width * len(self.core.kinds)
        bound, weights = placed_rows(self.core, turn.charging(work).over)
        best = turn.take(bound)
        if weights is not None:
            turn.goal.weights[self.name] = weights
            if best:
                turn.goal.weights["best"] = weights
        return bound
