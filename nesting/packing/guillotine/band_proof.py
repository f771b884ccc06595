"""Weights by which no layout cut across first is as short as a length, at the sums that lengths add up to.

The linear program of `nesting.packing.guillotine.patterns` over a grid of sums in place of every step: there
are few of them where parts are few, however fine the steps. What its prices prove is more than its value, for
bands are as long as parts add up to, and so are rows of bands (`nesting.packing.certificates.band_sums`).
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt

from nesting.packing.certificates.band_sums import BandGrid, BandPart, BandSums, below, grid_of
from nesting.packing.certificates.weighing import KindWeight
from nesting.packing.certifying import proof_of
from nesting.packing.models.glop import linear_program, solved
from nesting.packing.problem import Problem
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Bound, Observer
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.turn import Budget

#: Weights are whole numbers of about this size.
SCALE = 100_000
#: Units of work for one entry of a table and one part.
WORK_PER_ENTRY = 4e-9
#: Columns of the program, at most.
ROUNDS = 400

_Way = tuple[int, bool]
"""A kind, and whether it is turned."""


def proof_across(
    problem: Problem,
    length: int,
    budget: Budget,
    params: Params = PARAMS,
    *,
    observer: Observer | None = None,
) -> Bound | None:
    """A bound of that length on layouts cut across first: one on bands, or one on all layouts.

    Parameters as for `nesting.packing.certifying.proof_of`.
    """
    found = proof_in_bands(problem, length, budget)
    return found or proof_of(problem, length, budget, params, observer=observer, weighed=True)


def proof_in_bands(problem: Problem, length: int, budget: Budget) -> Bound | None:
    """A bound of that length, in the problem's units, on layouts cut across first; None where none is found.

    Parameters
    ----------
    problem
        One open strip of plain fabric, without choices.
    length, budget
        What is to be proven, and how long to look.
    """
    core = reduce(problem)
    if core is None or not core.plain or core.bordered or core.open_arrows or not core.kinds:
        return None
    longest = -(-length // core.step_y) - core.lone_length
    if longest <= 0:
        return None
    program = _GridProgram.of(core, longest)
    if program is None:
        return None
    for _ in range(ROUNDS):
        said = program.certificate()
        if said.proven(problem) >= length:
            return Bound(length, "sums of bands", said)
        budget.charge(program.work)
        if budget.left <= 0 or not program.improve():
            return None
    return None


class _GridProgram:
    """The linear program over bands on a grid of sums."""

    def __init__(
        self, core: Core, longest: int, ways: Sequence[_Way], items: Sequence[BandPart], grid: BandGrid
    ):
        self._core, self._longest, self._grid = core, longest, grid
        self._ways, self._items = ways, items
        self.work = WORK_PER_ENTRY * len(grid.across) * len(grid.along) * len(items)
        self._solver = linear_program()
        self._rows = [self._solver.Constraint(kind.copies, self._solver.infinity()) for kind in core.kinds]
        self._solver.Objective().SetMinimization()
        for number, item in enumerate(items):
            beside = min(item.copies, core.width // item.width)
            self._add(item.length, {ways[number][0]: beside})
        self._solver.Solve()

    @classmethod
    def of(cls, core: Core, longest: int) -> _GridProgram | None:
        """The program of a core; None where its grid is too large."""
        found = [
            ((number, turned), BandPart(width, length, kind.copies, 0.0))
            for number, kind in enumerate(core.kinds)
            for width, length, turned in kind.ways
            if length <= longest
        ]
        found.sort(key=lambda pair: pair[1].width)
        ways, items = [way for way, _ in found], [item for _, item in found]
        grid = grid_of(items, core.width, longest)
        if grid is None or len({kind for kind, _ in ways}) < len(core.kinds):
            return None
        return cls(core, longest, ways, items, grid)

    def _add(self, length: int, counts: dict[int, int]) -> None:
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(column, length)
        for kind, count in counts.items():
            self._rows[kind].SetCoefficient(column, count)

    def _prices(self) -> list[float]:
        return [max(0.0, row.dual_value()) for row in self._rows]

    def improve(self) -> bool:
        """Add the band that is worth most beyond its length; False when none is."""
        prices = self._prices()
        items = [
            BandPart(item.width, item.length, item.copies, prices[kind])
            for (kind, _), item in zip(self._ways, self._items, strict=True)
        ]
        stacks, bands = self._grid.tables(items, np.float64)
        gain = bands[-1] - self._grid.along
        at = int(gain.argmax())
        if gain[at] <= 1e-6:
            return False
        self._add(int(self._grid.along[at]), self._counts(at, items, stacks, bands))
        return solved(self._solver)

    def _counts(
        self,
        at: int,
        items: Sequence[BandPart],
        stacks: dict[int, npt.NDArray[Any]],
        bands: npt.NDArray[Any],
    ) -> dict[int, int]:
        """How many of each kind the best band of a length holds, read back from the tables."""
        counts, place = dict[int, int](), len(self._grid.across) - 1
        while place > 0 and bands[place][at] > 1e-9:
            if bands[place][at] <= bands[place - 1][at] + 1e-9:
                place -= 1
                continue
            for wide, stack in stacks.items():
                if wide > self._grid.across[place]:
                    continue
                before = self._grid.before(place, wide)
                if bands[before][at] + stack[at] >= bands[place][at] - 1e-9:
                    self._stacked(at, wide, items, counts)
                    place = before
                    break
        return counts

    def _stacked(self, at: int, wide: int, items: Sequence[BandPart], counts: dict[int, int]) -> None:
        """Add the best stack of parts no wider, of one length."""
        along = self._grid.along
        within = [number for number, item in enumerate(items) if item.width <= wide and item.value > 0]
        best, taken = np.zeros(len(along)), list[tuple[int, npt.NDArray[np.bool_], Any]]()
        for number in within:
            item = items[number]
            for _ in range(min(item.copies, int(along[-1]) // item.length)):
                rest = below(along, along - item.length)
                tried = np.where(rest >= 0, best[rest] + item.value, -1.0)
                taken.append((number, tried > best + 1e-12, rest))
                best = np.maximum(best, tried)
        for number, took, rest in reversed(taken):
            if took[at]:
                kind = self._ways[number][0]
                counts[kind] = counts.get(kind, 0) + 1
                at = int(rest[at])

    def certificate(self) -> BandSums:
        """The prices as whole weights."""
        prices = self._prices()
        top = max(prices, default=0.0)
        weights = [int(price / top * SCALE + 1e-6) if top > 0 else 0 for price in prices]
        return BandSums.of(
            self._core,
            (KindWeight(kind, turned, weights[kind]) for kind, turned in self._ways),
            longest=self._longest * self._core.step_y,
        )
