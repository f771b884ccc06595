"""Bounds over all selections of a problem with choices.

A linear bound gives every part a weight, and says that a layout is at least as long as the weight of its
parts over a capacity. Of each choice one option is laid, which one is not known; so it counts with the
weight of its lightest option, and the bound holds whatever is chosen. With one option held fast the same sum
bounds all selections that take it: where that is no shorter than the best layout, the option may be dropped.

The weights of the bar relaxation come from a linear program in which the options are variables too, each
choice a mixture of its options, which can only shorten the answer. What is returned does not rest on the
program's arithmetic; see `nesting.packing.bounds.bars`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace

from nesting.packing.bounds import BOUNDS
from nesting.packing.bounds.bars import WIDEST, BarProgram, Row, bars_across
from nesting.packing.choices.menu import Menu, Selection
from nesting.packing.problem import Part
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Bound
from nesting.packing.schedule import PARAMS, When

Counts = tuple[int, ...]
"""How many copies of each kind."""


@dataclass(frozen=True, slots=True)
class Demand:
    """All that may be laid as one core, and how many copies each offer asks for.

    Arrow groups are dissolved, so that parts turn one by one: a wider choice of places. ``kind_of`` has the
    kind of each part that may be laid, by its number in the problem.
    """

    core: Core
    always: Counts
    offers: tuple[tuple[Counts, ...], ...]
    kind_of: Mapping[int, int] = field(default_factory=dict)

    def least(self, weights: Sequence[int]) -> int:
        """The weight of the lightest selection; ``weights`` of one copy of each kind."""
        return _weight(self.always, weights) + sum(
            min(_weight(counts, weights) for counts in offers) for offers in self.offers
        )

    def excess(self, weights: Sequence[int]) -> tuple[tuple[int, ...], ...]:
        """By how much each offer is heavier than the lightest of its choice."""
        found = []
        for offers in self.offers:
            sums = [_weight(counts, weights) for counts in offers]
            found.append(tuple(total - min(sums) for total in sums))
        return tuple(found)


def _weight(counts: Counts, weights: Sequence[int]) -> int:
    return sum(count * weight for count, weight in zip(counts, weights, strict=True))


def demand_of(menu: Menu) -> Demand | None:
    """What the selections of a menu have in common; None where nothing can be laid."""
    used = sorted(
        {*menu.always, *(part for offers in menu.offers for offer in offers for part in offer.parts)}
    )
    parts = tuple(_loose(menu.problem.parts[number]) for number in used)
    core = reduce(replace(menu.problem, parts=parts, choices=()), set_apart=False)
    if core is None:
        return None
    kind_of = {used[part]: kind for kind, each in enumerate(core.kinds) for part, _ in each.members}

    def counts(numbers: Iterable[int]) -> Counts:
        found = [0] * len(core.kinds)
        for number in numbers:
            found[kind_of[number]] += menu.problem.parts[number].copies
        return tuple(found)

    always = counts(menu.always)
    offers = tuple(tuple(counts(offer.parts) for offer in offers) for offers in menu.offers)
    most = [
        own + sum(max(each[kind] for each in choice) for choice in offers) for kind, own in enumerate(always)
    ]
    kinds = tuple(
        replace(kind, members=kind.members[:count]) for kind, count in zip(core.kinds, most, strict=True)
    )
    return Demand(replace(core, kinds=kinds), always, offers, kind_of)


def _loose(part: Part) -> Part:
    return replace(part, arrow=None) if part.turnable else part


@dataclass(frozen=True, slots=True)
class LinearBound:
    """Weights of one copy of each kind that prove ``length * capacity >= weight of what is laid``."""

    method: str
    weights: tuple[int, ...]
    capacity: int

    def bound(self, demand: Demand) -> Bound:
        """In core steps, over all selections."""
        least = _length(demand.least(self.weights), self.capacity)
        return Bound(least, f"{self.method}, over all choices")

    def on(self, demand: Demand) -> WeighedDemand:
        """The same held to a demand, for asking after many selections."""
        return WeighedDemand(demand.least(self.weights), demand.excess(self.weights), self.capacity)

    def lightest(self, demand: Demand) -> Selection:
        """The selection that weighs least, of equal ones the first."""
        return tuple(each.index(0) for each in demand.excess(self.weights))

    def lasting(self, demand: Demand, length: int) -> tuple[tuple[int, ...], ...]:
        """For each choice the offers that some selection shorter than ``length`` core steps may take."""
        spare = (length - 1) * self.capacity - demand.least(self.weights)
        return tuple(
            tuple(at for at, extra in enumerate(each) if extra <= spare)
            for each in demand.excess(self.weights)
        )


@dataclass(frozen=True, slots=True)
class WeighedDemand:
    """A linear bound with what all selections share summed up once: neighbors are asked after by hundreds.

    Attributes
    ----------
    least
        The weight of the lightest selection.
    excess
        By how much each offer is heavier than the lightest of its choice.
    capacity
        That of the bound.
    """

    least: int
    excess: tuple[tuple[int, ...], ...]
    capacity: int

    def over(self, selection: Selection) -> int:
        """In core steps, of one selection."""
        extra = sum(each[at] for each, at in zip(self.excess, selection, strict=True))
        return _length(self.least + extra, self.capacity)


def _length(weight: int, capacity: int) -> int:
    return -(-weight // capacity) if capacity else 0


def tallest_over_all(demand: Demand) -> Bound:
    """The longest part that every selection lays."""

    def longest(counts: Counts) -> int:
        kinds = zip(demand.core.kinds, counts, strict=True)
        return max((kind.least_length for kind, count in kinds if count), default=0)

    needed = [longest(demand.always), *(min(longest(c) for c in each) for each in demand.offers)]
    return Bound(max(needed), "tallest part, over all choices")


def counting(demand: Demand) -> tuple[LinearBound, ...]:
    """The bounds whose row weights the sizes alone tell: area, and parts that cannot stand side by side."""
    found = list[LinearBound]()
    for stage in PARAMS.at(When.AT_ONCE):
        known = BOUNDS[stage.search].weights(demand.core) if stage.search in BOUNDS else None
        if known is not None:
            weights = tuple(
                min(known[0].get((number, turned), 0) * length for _, length, turned in kind.ways)
                for number, kind in enumerate(demand.core.kinds)
            )
            found.append(LinearBound(stage.search, weights, known[1]))
    return tuple(found)


def bars_over_all(demand: Demand, stop: Callable[[], bool]) -> LinearBound | None:
    """The bar relaxation with the options as variables; None where it is too large."""
    core = demand.core
    if core.width > WIDEST or not any(kind.copies for kind in core.kinds):
        return None
    return priced(demand, "bar relaxation", stop)


def priced(demand: Demand, method: str, stop: Callable[[], bool], row: Row | None = None) -> LinearBound:
    """The best weights that the linear program finds; ``row`` as for `nesting.packing.bounds.bars.prove`."""
    program = MenuProgram(demand, method, row)
    best = program.linear()
    while not stop() and program.improve():
        pass
    return max(best, program.linear(), key=lambda bound: bound.bound(demand).length)


class MenuProgram(BarProgram):
    """The linear program over patterns and options."""

    def __init__(self, demand: Demand, method: str = "bar relaxation", row: Row | None = None) -> None:
        self._demand, self._method = demand, method
        super().__init__(bars_across(demand.core), demand.core.width, row)
        for kind, laid in self._rows.items():
            laid.SetLb(demand.always[kind])
        infinity = self._solver.infinity()
        for offers in demand.offers:
            one = self._solver.Constraint(1, infinity)
            for counts in offers:
                taken = self._solver.NumVar(0, infinity, "")
                one.SetCoefficient(taken, 1)
                for kind, count in enumerate(counts):
                    if count:
                        self._rows[kind].SetCoefficient(taken, -count)
        self._solver.Solve()

    def linear(self) -> LinearBound:
        """The prices as whole weights of parts."""
        proof = self.proof()
        weights: dict[int, int] = {}
        for bar, weight in zip(self._bars, proof.weights, strict=True):
            mine = weight * bar.bars
            weights[bar.kind] = min(weights.get(bar.kind, mine), mine)
        kinds = range(len(self._demand.core.kinds))
        return LinearBound(self._method, tuple(weights.get(kind, 0) for kind in kinds), proof.most)
