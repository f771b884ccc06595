"""What all certificates are made of: whole weights of parts, for each way they may lie."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Any, NamedTuple, Self

from nesting.packing.certificates.knapsack import Item, best_choice
from nesting.packing.problem import Problem
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Certificate

#: Heavier weights are not believed.
HEAVIEST = 2**40
#: What all parts weigh together is below this, so that their sums stay within 64 bits; no row or column
#: has more steps than that, for each step has a place in a table.
MOST_WEIGHT, MOST_CAPACITY = 2**62, 20_000_000


class KindWeight(NamedTuple):
    """What one way of a kind weighs for each unit of its length as laid.

    Attributes
    ----------
    kind, turned
        Which kind of the core, and which of its ways.
    weight
        Across, 0 and upwards.
    along
        A second weight, for the length; None: none is needed.
    copies
        Only so many copies of one part weigh anything; None: all of all parts.
    """

    kind: int
    turned: bool
    weight: int
    along: int | None = None
    copies: int | None = None


@dataclass(frozen=True, slots=True)
class PartWeight:
    """The weights of one part, by its number in the problem; None: the part does not lie so."""

    part: int
    upright: int | None = None
    turned: int | None = None
    upright_along: int | None = None
    turned_along: int | None = None
    copies: int | None = None

    def told(self) -> dict[str, int]:
        """As a document holds it."""
        names = ("part", "upright", "turned", "upright_along", "turned_along", "copies")
        return {name: value for name in names if (value := getattr(self, name)) is not None}


class WeighedBar(NamedTuple):
    """One way of one part: its size across and along in steps, its weights, and how many copies weigh."""

    part: int
    kind: int
    width: int
    length: int
    weight: int
    along: int
    copies: int


@dataclass(frozen=True, slots=True)
class Weighing(Certificate):
    """A certificate by weights of parts.

    Attributes
    ----------
    weights
        Of the parts that weigh anything.
    lone
        Parts that have their rows to themselves, which come on top.
    """

    weights: tuple[PartWeight, ...]
    lone: tuple[int, ...] = ()

    @classmethod
    def of(cls, core: Core, lines: Iterable[KindWeight], **more: int) -> Self:
        """By parts of the original problem, from weights of the kinds of a core."""
        found: dict[int, dict[str, int]] = {}
        for line in lines:
            kind = core.kinds[line.kind]
            parts = list(dict.fromkeys(part for part, _ in kind.members))
            few = line.copies is not None and line.copies < kind.copies
            for part in parts[:1] if few else parts:
                entry = found.setdefault(part, {"part": part})
                way = "turned" if line.turned else "upright"
                entry[way] = line.weight
                if line.along is not None:
                    entry[f"{way}_along"] = line.along
                if few and line.copies is not None:
                    entry["copies"] = line.copies
        lone = tuple(dict.fromkeys(part for kind in core.lone for part, _ in kind.members))
        return cls(tuple(PartWeight(**found[part]) for part in sorted(found)), lone, **more)

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        weights = [weight.told() for weight in self.weights]
        return {"rule": self.rule, "weights": weights, "lone": list(self.lone)}

    def proven(self, problem: Problem) -> int:
        """The length that no layout of the problem can undercut by this argument; 0 where it says nothing.

        It speaks of one open strip on which every copy of every part is laid.
        """
        if not problem.plain_purchase or problem.choices:
            return 0
        core = reduce(problem)
        if core is None or {part for kind in core.lone for part, _ in kind.members} != set(self.lone):
            return 0
        bars = list(self._bars(core))
        if any(not 0 <= weight <= HEAVIEST for bar in bars for weight in (bar.weight, bar.along)):
            return 0
        return core.ticks(self._least(core, bars))

    def in_core(self, core: Core) -> int:
        """The bound in steps that it proves of a core by itself, whatever the search knew besides."""
        return self._least(core, list(self._bars(core)))

    @abstractmethod
    def _least(self, core: Core, bars: list[WeighedBar]) -> int:
        """The bound in steps of the core."""

    def _bars(self, core: Core) -> Iterator[WeighedBar]:
        known = {weight.part: weight for weight in self.weights}
        for number, kind in enumerate(core.kinds):
            copies = dict[int, int]()
            for part, _ in kind.members:
                copies[part] = copies.get(part, 0) + 1
            for part, count in copies.items():
                said = known.get(part, PartWeight(part))
                many = count if said.copies is None else max(0, min(count, said.copies))
                for width, length, turned in kind.ways:
                    weight = said.turned if turned else said.upright
                    along = said.turned_along if turned else said.upright_along
                    yield WeighedBar(part, number, width, length, weight or 0, along or 0, many)


def least_total(bars: Iterable[WeighedBar], axis: str) -> int:
    """What all parts weigh, each the way that weighs least, times its size along that ``axis`` of the bars.

    ``axis`` "along" multiplies the two weights of a way instead.
    """
    least: dict[int, int] = {}
    for bar in bars:
        mine = bar.weight * getattr(bar, axis) * bar.copies
        least[bar.part] = min(least.get(bar.part, mine), mine)
    return sum(least.values())


def heaviest(bars: Iterable[WeighedBar], axis: str, weight: str, capacity: int) -> int | None:
    """The largest weight of parts whose sizes along an ``axis`` of the bars fit in a capacity, exactly.

    None where sums would not stay within 64 bits, or the capacity has too many steps: then nothing is proven.
    """
    ways, total = dict[int, list[Item]](), 0
    for bar in bars:
        if getattr(bar, weight):
            ways.setdefault(bar.part, []).append((getattr(bar, axis), getattr(bar, weight), bar.copies))
            total += getattr(bar, weight) * bar.copies
    if total >= MOST_WEIGHT or not 0 <= capacity <= MOST_CAPACITY:
        return None
    return best_choice(capacity, list(ways.values()))


@dataclass(frozen=True, slots=True)
class Refuting(Weighing):
    """Weights by which no layout is as short as a length.

    Attributes
    ----------
    refuted
        The length, in the problem's units.
    """

    refuted: int = 0

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        return {**Weighing.told(self), "refuted": self.refuted}
