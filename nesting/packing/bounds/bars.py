"""The bar relaxation: parts sliced into bars, bars laid in any row.

Slice every part crosswise into rows one unit long. In a layout each row is a set of bars that fit side
by side, and a part of length l has l bars. The least number of rows that holds all bars is therefore
never above the optimum. Leaving out that rows are whole gives a linear program over sets ("patterns"),
solved by column generation with a bounded knapsack.

What is returned does not rest on the linear program's arithmetic: its dual prices are rounded down to
whole weights u, an exact knapsack finds the largest weight K that fits in one row, and

    rows >= sum(u * bars) / K

holds for any whole weights u. The same is done across the strip for a trial length: slices along the
strip, at most ``trial`` in a column, must need no more columns than the strip is wide.

References
----------
Scheithauer, "Equivalence and dominance for problems of optimal packing of rectangles", Ricerca Operativa
83 (1997) 3-34. Gilmore, Gomory, Operations Research 9 (1961) 849-859 (column generation). Belov, Kartak,
Rohling, Scheithauer, Int. Trans. Operational Research 16 (2009) 745-766 (bars in both axes).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import ClassVar, Protocol

from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.certificates import ColumnWeights, RowWeights
from nesting.packing.certificates.knapsack import best_pattern, best_value
from nesting.packing.certificates.weighing import KindWeight
from nesting.packing.models.glop import linear_program, solved
from nesting.packing.reduce import Core
from nesting.packing.result import Bound, Certificate
from nesting.packing.turn import Turn, Weights

#: Weights are whole numbers of about this size.
SCALE = 1_000_000
#: Knapsacks over more units than this are too slow to be worth it.
WIDEST = 400_000
#: Units of work that a price is taken to cost, per unit of capacity and part.
WORK_PER_PRICE = 4e-9


@dataclass(frozen=True, slots=True)
class Bar:
    """One way a kind may lie: ``size`` counts against the capacity, ``bars`` slices are needed."""

    kind: int
    turned: bool
    size: int
    bars: int
    copies: int


@dataclass(frozen=True, slots=True)
class BarProof:
    """Whole weights that prove a bound on the number of rows (or columns).

    Attributes
    ----------
    weights
        Of each bar, in the order of the bars.
    most
        The largest weight that fits in one row, by an exact knapsack.
    total
        The weight of all parts, each laid the way that weighs least.
    """

    weights: tuple[int, ...]
    most: int
    total: int

    @property
    def rows(self) -> int:
        """No fewer rows hold all bars."""
        return -(-self.total // self.most) if self.most else 0


def bars_across(core: Core) -> tuple[Bar, ...]:
    """The bars of rows: sizes across the strip."""
    return tuple(
        Bar(index, turned, width, length, kind.copies)
        for index, kind in enumerate(core.kinds)
        for width, length, turned in kind.ways
    )


def bars_along(core: Core) -> tuple[Bar, ...]:
    """The bars of columns: sizes along the strip."""
    return tuple(Bar(b.kind, b.turned, b.bars, b.size, b.copies) for b in bars_across(core))


class Row(Protocol):
    """What fits in one row."""

    def beside_itself(self, index: int) -> int:
        """How many of one bar fit, to begin with."""

    def best(self, prices: Sequence[float]) -> tuple[float, list[int]]:
        """The value of the most valuable row, and how many of each bar are in it."""

    def most(self, weights: Sequence[int]) -> int:
        """The weight of the heaviest row, exactly."""


class _Knapsack:
    """Bars side by side in any order, as often as there are copies."""

    def __init__(self, bars: tuple[Bar, ...], capacity: int) -> None:
        self._bars, self._capacity = bars, capacity

    def beside_itself(self, index: int) -> int:
        bar = self._bars[index]
        return min(bar.copies, self._capacity // bar.size)

    def best(self, prices: Sequence[float]) -> tuple[float, list[int]]:
        sizes, copies = [bar.size for bar in self._bars], [bar.copies for bar in self._bars]
        return best_pattern(self._capacity, sizes, prices, copies)

    def most(self, weights: Sequence[int]) -> int:
        items = [(b.size, w, b.copies) for b, w in zip(self._bars, weights, strict=True) if w]
        return best_value(self._capacity, items)


def prove(bars: tuple[Bar, ...], capacity: int, stop: Callable[[], bool], row: Row | None = None) -> BarProof:
    """The strongest weights that column generation finds until ``stop()``; any time gives a valid proof.

    ``row`` None: a row holds what adds up to the capacity.
    """
    program = BarProgram(bars, capacity, row)
    best = program.proof()
    while not stop():
        if not program.improve():
            return max(best, program.proof(), key=lambda proof: proof.rows)
    return max(best, program.proof(), key=lambda proof: proof.rows)


class BarProgram:
    """The linear program over patterns, growing by the pattern its prices like best."""

    def __init__(self, bars: tuple[Bar, ...], capacity: int, row: Row | None = None) -> None:
        self._bars = bars
        self._row = row or _Knapsack(bars, capacity)
        self._kinds = sorted({bar.kind for bar in bars})
        self._solver = linear_program()
        copies = {bar.kind: bar.copies for bar in bars}
        infinity = self._solver.infinity()
        self._rows = {kind: self._solver.Constraint(copies[kind], infinity) for kind in self._kinds}
        self._solver.Objective().SetMinimization()
        for index, bar in enumerate(bars):
            if bar.size <= capacity:
                fit = self._row.beside_itself(index)
                self._add([fit if i == index else 0 for i in range(len(bars))])
        self._solver.Solve()

    def _add(self, counts: list[int]) -> None:
        column = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(column, 1)
        shares: dict[int, float] = {}
        for bar, count in zip(self._bars, counts, strict=True):
            if count:
                shares[bar.kind] = shares.get(bar.kind, 0.0) + count / bar.bars
        for kind, share in shares.items():
            self._rows[kind].SetCoefficient(column, share)

    def _prices(self) -> list[float]:
        """What one bar is worth."""
        return [max(0.0, self._rows[bar.kind].dual_value()) / bar.bars for bar in self._bars]

    def improve(self) -> bool:
        """Add the pattern of the highest price; False when none is worth adding."""
        value, counts = self._row.best(self._prices())
        if value <= 1 + 1e-9:
            return False
        self._add(counts)
        return solved(self._solver)

    def proof(self) -> BarProof:
        """The prices as whole weights, with the exact knapsack that makes them a proof."""
        prices = self._prices()
        top = max(prices, default=0.0)
        if top <= 0:
            return BarProof((0,) * len(prices), 0, 0)
        weights = tuple(int(price / top * SCALE + 1e-6) for price in prices)
        most = self._row.most(weights)
        least: dict[int, int] = {}
        for bar, weight in zip(self._bars, weights, strict=True):
            least[bar.kind] = min(least.get(bar.kind, weight * bar.bars), weight * bar.bars)
        total = sum(least[bar.kind] * bar.copies for bar in {b.kind: b for b in self._bars}.values())
        return BarProof(weights, most, total)


def lines_of(bars: Sequence[Bar], proof: BarProof) -> Iterator[KindWeight]:
    """The weights of a proof, for its certificate."""
    for bar, weight in zip(bars, proof.weights, strict=True):
        yield KindWeight(bar.kind, bar.turned, weight)


def rows(core: Core, stop: Callable[[], bool]) -> tuple[Bound, Weights | None]:
    """The bar relaxation across the strip, and its weights for use as a redundant rule."""
    if not core.kinds or core.width > WIDEST:
        return Bound(0, "bar relaxation"), None
    bars = bars_across(core)
    proof = prove(bars, core.width, stop)
    certificate = RowWeights.of(core, lines_of(bars, proof))
    weights = {(bar.kind, bar.turned): w for bar, w in zip(bars, proof.weights, strict=True)}
    return Bound(proof.rows, "bar relaxation", certificate), (weights, proof.most)


def columns(core: Core, least: int, most: int, stop: Callable[[], bool]) -> Bound:
    """The least length from ``least`` on that the bar relaxation along the strip cannot refute.

    A trial length is refuted when its columns, each holding slices up to the trial length, cannot hold
    all parts in the strip's width. A shorter length has no more room, so refutation is monotone and the
    length is found by halving.
    """
    bars = bars_along(core)
    low, high, certificate = least, most, None
    while low < high and not stop():
        trial = (low + high) // 2
        if trial > WIDEST:
            break
        proof = prove(bars, trial, stop)
        if proof.rows > core.width:
            low = trial + 1
            certificate = ColumnWeights.of(core, lines_of(bars, proof), refuted=trial * core.step_y)
        else:
            high = trial
    return Bound(low, "bar relaxation along the strip", certificate)


class BarRelaxation(LowerBound):
    """By `rows`; its weights are handed to whoever needs some."""

    name: ClassVar[str] = "bars"
    certificate: ClassVar[type[Certificate] | None] = RowWeights

    def raised(self, turn: Turn) -> Bound:
        """As far as column generation comes."""
        work = WORK_PER_PRICE * self.core.width * self.core.copies
        bound, weights = rows(self.core, turn.charging(work).over)
        if weights is not None:
            turn.goal.weights[self.name] = weights
        return bound


class BarsAlong(LowerBound):
    """By `columns`, up to the best layout."""

    name: ClassVar[str] = "bars along the strip"
    certificate: ClassVar[type[Certificate] | None] = ColumnWeights

    def raised(self, turn: Turn) -> Bound | None:
        """As many trial lengths as there is time for."""
        if turn.longest is None:
            return None
        work = WORK_PER_PRICE * max(0, turn.longest) * self.core.copies
        return columns(self.core, turn.least, turn.longest + 1, turn.charging(work).over)
