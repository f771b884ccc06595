"""Dual feasible functions: sizes exchanged for weights of which no more fits in than before.

A function f of sizes is dual feasible for a capacity W when sizes that add up to at most W have weights
that add up to at most f(W). Three families are enough in practice; of each only the breakpoints matter, so
they are taken from the sizes themselves. All weights are whole numbers.

With f on the widths and g on the lengths, a layout of length L obeys

    sum of f(width) g(length) over all parts <= f(W) g(L)

for a packing keeps its order along each axis when its sizes are exchanged for such weights. A length for
which some pair breaks this is refuted, and every shorter one with it. What counts of f is only that it gives
the parts weights of which no row holds more than f(W), so weights of the bar relaxation serve as well. Beside
a given g the best f are the weights of the bars when parts count g for their lengths, so where no pair
suffices the best ones are sharpened: each of the two in turn gives way to the best beside the other.

References
----------
Fekete, Schepers, "New classes of fast lower bounds for bin packing problems", Mathematical Programming 91
(2001) 11-31 (the families u and U); "A general framework for bounds for higher-dimensional orthogonal packing
problems", Mathematical Methods of Operations Research 60 (2004) 311-329 (conservative scales, and pairs).
Belov, Kartak, Rohling, Scheithauer, "Conservative scales in packing problems", OR Spectrum 35 (2013) 505-542.
Carlier, Clautiaux, Moukrim, Computers & Operations Research 34 (2007) 2223-2250 (the staircase).
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, ClassVar

import numpy as np

from nesting.packing.bounds.bars import WIDEST, Bar, prove
from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.certificates import ScaleProducts
from nesting.packing.certificates.weighing import KindWeight
from nesting.packing.reduce import Core
from nesting.packing.result import Bound, Certificate
from nesting.packing.turn import Turn, Weights

#: Fekete and Schepers' u is taken up to this number of parts of the capacity.
MOST_SHARES = 10
#: No more functions of one family than this.
MOST_OF_A_FAMILY = 120
#: So many pairs are sharpened, each so many times.
PAIRS, ROUNDS = 4, 4
#: With more ways than this, or longer, none is.
MOST_SHARPENED, LONGEST_SHARPENED = 80, 30_000
#: Lengths are given to the linear program of the bars in so many parts of the greatest.
FINE = 1000
#: Units of work of one pair, per kind and way.
WORK_PER_PAIR = 2e-9


@dataclass(frozen=True, slots=True)
class ConservativeScale:
    """Weights of sizes, and how much of them fits in where the sizes fit in the capacity."""

    weights: tuple[int, ...]
    capacity: int


def scales(sizes: Sequence[int], capacity: int) -> tuple[ConservativeScale, ...]:
    """Dual feasible functions of all three families, the sizes themselves first.

    Parameters
    ----------
    sizes
        1 to ``capacity``.
    capacity
        1 and upwards.
    """
    found = [ConservativeScale(tuple(sizes), capacity)]
    breaks = sorted({*sizes, *(capacity - size + 1 for size in sizes)})
    breaks = [k for k in breaks if k > 1 and 2 * k <= capacity][:MOST_OF_A_FAMILY]
    found += [
        ConservativeScale(tuple(_without_small(s, k, capacity) for s in sizes), capacity) for k in breaks
    ]
    found += [
        ConservativeScale(tuple(_staircase(s, k, capacity) for s in sizes), 2 * (capacity // k))
        for k in breaks
    ]
    found += [
        ConservativeScale(tuple(_in_shares(s, p, capacity) for s in sizes), capacity * p)
        for p in range(1, MOST_SHARES + 1)
    ]
    return tuple(dict.fromkeys(found))


def _without_small(size: int, k: int, capacity: int) -> int:
    """Sizes below ``k`` count nothing, so what leaves less than that beside it counts all."""
    if size < k:
        return 0
    return capacity if size > capacity - k else size


def _staircase(size: int, k: int, capacity: int) -> int:
    """How many steps of ``k`` a size takes up, twice; above the half, what it does not leave."""
    if 2 * size > capacity:
        return 2 * (capacity // k - (capacity - size) // k)
    return capacity // k if 2 * size == capacity else 2 * (size // k)


def _in_shares(size: int, shares: int, capacity: int) -> int:
    """Whole shares of one in ``shares`` + 1, rounded down; a size that is exactly such counts as it is."""
    scaled = (shares + 1) * size
    return size * shares if scaled % capacity == 0 else scaled // capacity * capacity


class PairBound:
    """Refutes lengths by pairs of scales.

    Parameters
    ----------
    core
        What is to be laid.
    rows
        Row weights of linear bounds, as further scales across.
    """

    def __init__(self, core: Core, rows: Sequence[Weights] = ()) -> None:
        self._core = core
        self._ways = [(i, w, h, t) for i, kind in enumerate(core.kinds) for w, h, t in kind.ways]
        across = [*scales([w for _, w, _, _ in self._ways], core.width)]
        across += [
            ConservativeScale(tuple(weights.get((i, t), 0) for i, _, _, t in self._ways), most)
            for weights, most in rows
            if most
        ]
        self._across = across
        self._weights = np.array([scale.weights for scale in across], dtype=np.float64)
        self._most = np.array([scale.capacity for scale in across], dtype=np.float64)
        #: Units of work to try one length.
        self.work = WORK_PER_PAIR * len(across) ** 2 * len(self._ways)

    def raised(self, least: int, most: int, stop: Callable[[], bool]) -> Bound:
        """The least length from ``least`` to ``most`` that no pair refutes, as far as found by ``stop()``."""
        low, stride, certificate = max(least, 1 if self._ways else 0), 1, None
        while self._ways and low < most and not stop():
            trial = min(low + stride - 1, most - 1)
            said = self._refuted(trial, stop)
            if said is not None:
                low, stride, certificate = trial + 1, 2 * stride, said
            elif stride == 1:
                break
            else:
                stride = max(1, stride // 4)
        # Rows of parts that keep margins or places hold less than their widths alone tell: then the weights
        # refute, and what re-proves them from widths does not.
        strict = self._core.bordered or any(kind.match is not None for kind in self._core.kinds)
        if certificate is not None and strict and certificate.in_core(self._core) < low:
            certificate = None
        return Bound(low, "scaled widths and lengths", certificate)

    def _refuted(self, length: int, stop: Callable[[], bool]) -> ScaleProducts | None:
        """The pair that refutes a length, as a certificate; None where no pair does."""
        lengths = [h for _, _, h, _ in self._ways]
        if max(lengths) > length and all(len(kind.ways) == 1 for kind in self._core.kinds):
            return None
        along = scales([min(h, length) for h in lengths], length)
        totals = self._totals(np.array([scale.weights for scale in along], dtype=np.float64))
        room = np.outer(self._most, [scale.capacity for scale in along])
        order = np.argsort(-totals / room, axis=None)[: 50 * PAIRS]
        pairs = [(self._across[i // len(along)], along[i % len(along)]) for i in order.tolist()]
        said = self._proven(*pairs[0], length)
        few = len(self._ways) <= MOST_SHARPENED
        if said is None and few and length <= LONGEST_SHARPENED and self._core.width <= WIDEST:
            apart = list(dict(reversed([(f, (f, g)) for f, g in pairs])).values())[::-1][:PAIRS]
            said = next((s for f, g in apart if (s := self._sharpened(f, g, length, stop))), None)
        return said

    def _sharpened(
        self, across: ConservativeScale, along: ConservativeScale, length: int, stop: Callable[[], bool]
    ) -> ScaleProducts | None:
        """The pair after each has given way to the best beside the other, where that refutes."""
        for turn in range(ROUNDS):
            if stop():
                return None
            if turn % 2 == 0:
                along = self._best([way[2] for way in self._ways], length, across, stop)
            else:
                across = self._best([way[1] for way in self._ways], self._core.width, along, stop)
            said = self._proven(across, along, length)
            if said is not None:
                return said
        return None

    def _best(
        self, sizes: Sequence[int], capacity: int, other: ConservativeScale, stop: Callable[[], bool]
    ) -> ConservativeScale:
        """The weights of bars that are as many as the other scale says."""
        least: dict[int, int] = {}
        for (kind, *_), weight in zip(self._ways, other.weights, strict=True):
            least[kind] = min(least.get(kind, weight), weight)
        top = max(1, *other.weights)
        counted = [
            number
            for number, (kind, *_) in enumerate(self._ways)
            if least[kind] > 0 and sizes[number] <= capacity
        ]
        bars = tuple(
            Bar(kind, turned, sizes[number], max(1, other.weights[number] * FINE // top), copies)
            for number in counted
            for kind, _, _, turned in [self._ways[number]]
            for copies in [self._core.kinds[kind].copies]
        )
        proof = prove(bars, capacity, stop)
        weights = dict(zip(counted, proof.weights, strict=True))
        # A way that has no room at all is in no row, so it may weigh anything.
        free = (proof.most if size > capacity else 0 for size in sizes)
        return ConservativeScale(
            tuple(weights.get(number, weight) for number, weight in enumerate(free)), proof.most
        )

    def _totals(self, along: Any) -> Any:
        """What all parts weigh by each pair of scales, each part laid the way that weighs least."""
        total = np.zeros((len(self._across), len(along)))
        for index, kind in enumerate(self._core.kinds):
            ways = [number for number, way in enumerate(self._ways) if way[0] == index]
            products = [np.outer(self._weights[:, way], along[:, way]) for way in ways]
            total += kind.copies * np.minimum.reduce(products)
        return total

    def _proven(
        self, across: ConservativeScale, along: ConservativeScale, length: int
    ) -> ScaleProducts | None:
        """The same in whole numbers, with the knapsacks that make it a proof."""
        total, lines = 0, list[KindWeight]()
        for index, kind in enumerate(self._core.kinds):
            ways = [number for number, way in enumerate(self._ways) if way[0] == index]
            total += kind.copies * min(across.weights[way] * along.weights[way] for way in ways)
            for way in ways:
                turned = self._ways[way][3]
                lines.append(KindWeight(index, turned, across.weights[way], along=along.weights[way]))
        if total <= across.capacity * along.capacity:
            return None
        return ScaleProducts.of(self._core, lines, refuted=length * self._core.step_y)


class PairsOfScales(LowerBound):
    """By `PairBound`, with the best row weights there are."""

    name: ClassVar[str] = "pairs of scales"
    certificate: ClassVar[type[Certificate] | None] = ScaleProducts

    def raised(self, turn: Turn) -> Bound | None:
        """From the least length on that may exist."""
        if turn.longest is None:
            return None
        weights = turn.goal.best_weights
        pairs = PairBound(self.core, () if weights is None else (weights,))
        return pairs.raised(turn.least, turn.longest + 1, turn.charging(pairs.work).over)


def strongest(core: Core, count: int, kinds: Sequence[int]) -> tuple[tuple[tuple[int, ...], int], ...]:
    """Row weights of some kinds (each lying one way) by dual feasible functions, the strongest few first."""
    ways = [core.kinds[i].ways[0] for i in kinds]
    total = [core.kinds[i].copies * way[1] for i, way in zip(kinds, ways, strict=True)]

    def strength(scale: ConservativeScale) -> float:
        return sum(w * t for w, t in zip(scale.weights, total, strict=True)) / scale.capacity

    every = sorted(scales([way[0] for way in ways], core.width), key=strength, reverse=True)
    return tuple((scale.weights, scale.capacity) for scale in every[:count])
