"""Bands as patterns: a bound on all layouts cut across first, and layouts put together from the best bands.

On plain fabric a layout in bands is as long as its bands together, in any order. A band of length h is a set
of columns side by side, each holding pieces whose lengths add up to at most h. Leaving out that bands are
whole gives a linear program over patterns, solved by column generation: two knapsacks, one along a column,
one across the band.

What is returned does not rest on the program's arithmetic. Its prices are rounded down to whole weights; let
F(h) be the heaviest band of length h, worked out exactly, and T the weight of all pieces. If
F(h) * (B - 1) < h * T for every h below B, no layout is shorter than B: the bands of a shorter one, each
below B, would together weigh less than the pieces in them.

References
----------
Gilmore, Gomory, "Multistage cutting stock problems of two and more dimensions", Operations Research 13 (1965)
94-120. Puchinger, Raidl, European J. of Operational Research 183 (2007) 1304-1327 (three stages).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

import numpy as np

from nesting.packing.certificates.band_weights import BandWeights, Table, band_tables, least_of
from nesting.packing.certificates.knapsack import best_pattern
from nesting.packing.certificates.weighing import KindWeight
from nesting.packing.models import sat
from nesting.packing.models.glop import linear_program, solved
from nesting.packing.models.solver import Watcher, set_parameters, watched
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.result import Bound

#: Weights are whole numbers of about this size.
SCALE = 100_000
#: Tables of more entries (width times length) are too large to be worth it.
LARGEST = 4_000_000


@dataclass(frozen=True, slots=True)
class BandItem:
    """One way a kind may lie."""

    kind: int
    width: int
    length: int
    turned: bool
    copies: int


@dataclass(frozen=True, slots=True)
class Pattern:
    """A band: its length and, for each column, the items stacked in it with their numbers."""

    length: int
    columns: tuple[tuple[tuple[BandItem, int], ...], ...]

    def counts(self) -> dict[int, int]:
        """How many pieces of each kind it holds."""
        found = dict[int, int]()
        for column in self.columns:
            for item, count in column:
                found[item.kind] = found.get(item.kind, 0) + count
        return found


def fits(core: Core, longest: int) -> bool:
    """Whether patterns say all there is to say of the core, and their tables are not too large."""
    return core.plain and not core.open_arrows and 0 < core.width * longest <= LARGEST


class BandProgram:
    """The linear program over bands up to a length, growing by the bands its prices like best.

    Parameters
    ----------
    core
        One that `fits`.
    longest
        No band is longer.
    """

    def __init__(self, core: Core, longest: int) -> None:
        self._core, self._longest = core, longest
        self._items = sorted(
            (
                BandItem(index, width, length, turned, kind.copies)
                for index, kind in enumerate(core.kinds)
                for width, length, turned in kind.ways
                if length <= longest
            ),
            key=lambda item: item.width,
        )
        self.patterns = list[Pattern]()
        self._solver = linear_program()
        self._rows = [self._solver.Constraint(kind.copies, self._solver.infinity()) for kind in core.kinds]
        self._solver.Objective().SetMinimization()
        for item in self._items:
            beside = min(item.copies, core.width // item.width)
            self._add(Pattern(item.length, (((item, 1),),) * beside))
        self._solver.Solve()

    def _add(self, pattern: Pattern) -> None:
        self.patterns.append(pattern)
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(column, pattern.length)
        for kind, count in pattern.counts().items():
            self._rows[kind].SetCoefficient(column, count)

    def _prices(self) -> list[float]:
        return [max(0.0, row.dual_value()) for row in self._rows]

    def improve(self) -> bool:
        """Add the band that is worth most beyond its length; False when none is."""
        prices = self._prices()
        stacks, bands = self._tables([prices[item.kind] for item in self._items], float)
        gain = bands[-1] - np.arange(self._longest + 1)
        length = int(gain.argmax())
        if gain[length] <= 1e-6:
            return False
        self._add(self._pattern(length, prices, stacks, bands))
        return solved(self._solver)

    def _tables(self, values: Sequence[float], kind: type) -> tuple[dict[int, Table], Table]:
        """The best stack for each width and length, and the best band for each width and length.

        Copies are counted in each column by itself, which can only make a band better than it is.
        """
        items = [(i.width, i.length, i.copies, value) for i, value in zip(self._items, values, strict=True)]
        return band_tables(items, self._core.width, self._longest, kind)

    def _pattern(
        self, length: int, prices: Sequence[float], stacks: dict[int, Table], bands: Table
    ) -> Pattern:
        """The best band of a length, read back from the tables."""
        columns, across = list[tuple[tuple[BandItem, int], ...]](), self._core.width
        while across > 0 and bands[across][length] > 1e-9:
            if bands[across][length] <= bands[across - 1][length] + 1e-9:
                across -= 1
                continue
            width = next(
                width
                for width, stack in stacks.items()
                if width <= across
                and bands[across - width][length] + stack[length] >= bands[across][length] - 1e-9
            )
            columns.append(self._stack(width, length, prices))
            across -= width
        return Pattern(length, tuple(columns))

    def _stack(self, width: int, length: int, prices: Sequence[float]) -> tuple[tuple[BandItem, int], ...]:
        within = [item for item in self._items if item.width <= width]
        _, counts = best_pattern(
            length,
            [item.length for item in within],
            [prices[item.kind] for item in within],
            [item.copies for item in within],
        )
        return tuple((item, count) for item, count in zip(within, counts, strict=True) if count)

    def bound(self) -> Bound:
        """The prices as whole weights, with the exact tables that make them a proof; in core steps."""
        prices = self._prices()
        top = max(prices, default=0.0)
        weights = [int(price / top * SCALE + 1e-6) if top > 0 else 0 for price in prices]
        _, bands = self._tables([weights[item.kind] for item in self._items], int)
        total = sum(w * kind.copies for w, kind in zip(weights, self._core.kinds, strict=True))
        certificate = BandWeights.of(
            self._core,
            (KindWeight(item.kind, item.turned, weights[item.kind]) for item in self._items),
            longest=self._longest * self._core.step_y,
        )
        return Bound(least_of(bands[-1].tolist(), total), "band relaxation", certificate)

    def layout(self, watch: Watcher, seconds: float) -> Layout | None:
        """The shortest layout of whole bands among those known, by so many seconds or units of work."""
        model = sat.CpModel()
        most = sum(kind.copies for kind in self._core.kinds)
        times = [model.new_int_var(0, most, "") for _ in self.patterns]
        for index, kind in enumerate(self._core.kinds):
            held = [(p.counts().get(index, 0), x) for p, x in zip(self.patterns, times, strict=True)]
            model.add(sum(count * x for count, x in held if count) >= kind.copies)
        model.minimize(sum(p.length * x for p, x in zip(self.patterns, times, strict=True)))
        solver = sat.CpSolver()
        set_parameters(solver, watch, seconds, 1, 0, weak=True)
        status = watched(solver, model, watch, None)
        watch.budget.charge(solver.response_proto.deterministic_time)
        if status not in (sat.OPTIMAL, sat.FEASIBLE):
            return None
        return self._laid([solver.value(x) for x in times])

    def _laid(self, times: Sequence[int]) -> Layout:
        """The bands one after the other, with no more pieces than there are."""
        left, spots, base = [kind.copies for kind in self._core.kinds], list[Spot](), 0
        for pattern, count in zip(self.patterns, times, strict=True):
            for _ in range(count):
                x, end = 0, base
                for column in pattern.columns:
                    y, wide = base, 0
                    for item, number in column:
                        for _ in range(min(number, left[item.kind])):
                            spots.append(Spot(item.kind, x, y, item.turned))
                            left[item.kind] -= 1
                            y, wide = y + item.length, max(wide, item.width)
                    x, end = x + wide, max(end, y)
                base = end
        return tuple(spots)


def relax(core: Core, longest: int, stop: Callable[[], bool]) -> tuple[Bound, BandProgram]:
    """The bound that column generation finds until ``stop()``, and the program with its bands."""
    program = BandProgram(core, longest)
    while not stop() and program.improve():
        continue
    return program.bound(), program
