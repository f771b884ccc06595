"""Looks for a proof of a stage of lengths on hand, by cases that sums of whole numbers close.

A linear program over `nesting.packing.on_hand.relaxation` asks by how much all sums must be missed at
least. Where that is more than nothing its prices, as whole numbers, are a proof, looked at exactly before
it is taken. Where nothing need be missed, a number that is no whole one parts the case in two; and where
all are whole, a section is looked for in which what is said to lie there does not go
(`nesting.packing.certifying`). What comes out is replayed by `nesting.check.proof_stock`.

References
----------
Land, Doig, Econometrica 28 (1960) 497-520 (cases by a number). Neumaier, Shcherbina, Mathematical
Programming 99 (2004) 283-296 (whole proofs from prices that are none).
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from nesting.packing.certifying import proof_of
from nesting.packing.models.glop import linear_program, solved
from nesting.packing.on_hand.relaxation import Limits, Name, Relaxation, StockSum
from nesting.packing.on_hand.stock_core import stock_of
from nesting.packing.on_hand.tried_places import without_places
from nesting.packing.problem import Problem
from nesting.packing.result import Aim
from nesting.packing.turn import Budget

RULE: Final = "stock cases"
TRIED: Final = "places tried out"
#: Units of work of trying places.
WORK_TO_TRY: Final = 0.02
#: More cases are none that a plan should carry.
MOST_CASES: Final = 3_000
#: With more ways to lie, or more flaws, nothing is looked for.
MOST_WAYS: Final = 1_200
MOST_FLAWS: Final = 100
#: Larger programs are not set up.
MOST_ENTRIES: Final = 400_000
#: Units of work of a program, per entry; and the most that one section may take.
WORK_PER_ENTRY: Final = 2e-7
SECTION: Final = 0.5
#: What is missed by less is not taken for missed, a number this near a whole one for whole.
NEAR: Final = 1e-7
WHOLE: Final = 1e-5
#: Which numbers part a case first.
_ORDER: Final = ("option", "bundle", "of lot", "turned", "started", "used", "lies")


@dataclass(frozen=True, slots=True)
class Overfull:
    """Copies in a section that take more than a length, with the proof of it."""

    section: int
    laid: tuple[tuple[int, int], ...]
    longest: int
    told: dict[str, Any]


def stage_proof(
    problem: Problem,
    stages: Sequence[Aim],
    budget: Budget,
    pulse: Callable[[], object] = lambda: None,
    cases: int = MOST_CASES,
) -> dict[str, Any] | None:
    """A certificate that nothing as good before is better in the last stage; None where none is found.

    Parameters
    ----------
    problem
        With lengths on hand.
    stages
        As in a result, up to the one that is asked of: no layout is to be better than its bound.
    budget
        Ends the search.
    pulse
        Called now and then; what it raises ends the search too.
    cases
        How many at most.
    """
    if len(problem.parts) * len(problem.strips) > MOST_WAYS or budget.left <= 0:
        return None
    stock = stock_of(problem)
    ways = {(item.part, way) for item in stock.items for way in item.ways}
    flaws = sum(len(strip.flaws) for strip in problem.strips)
    if len(ways) > MOST_WAYS or flaws > MOST_FLAWS:
        return None
    relaxation = Relaxation(problem, stock, stages)
    return _TreeOfCases(relaxation, budget, pulse, cases).told()


class _TreeOfCases:
    """Cases on their way to be closed."""

    def __init__(
        self, relaxation: Relaxation, budget: Budget, pulse: Callable[[], object], cases: int
    ) -> None:
        self._relaxation, self._budget, self._pulse, self._most = relaxation, budget, pulse, cases
        self._program: _MissedSums | None = None
        self._found = list[dict[str, Any]]()
        self._overfull = list[Overfull]()
        self._asked: dict[tuple[Any, ...], Overfull | None] = {}

    def told(self) -> dict[str, Any] | None:
        """The certificate; None where a case stays open."""
        left = [self._relaxation.narrowed(self._relaxation.limits)]
        while left:
            limits = left.pop()
            self._pulse()
            if limits is None:
                self._found.append({"sums": []})
                continue
            if len(self._found) >= self._most or self._budget.left <= 0:
                return None
            case = self._closed(limits)
            if case is None:
                return None
            self._found.append(case)
            if "most" in case:
                at, most = self._relaxation.at[tuple(case["of"])], case["most"]
                low, high = limits[at]
                for each in ((max(low, most + 1), high), (low, min(high, most))):
                    left.append(self._relaxation.narrowed([*limits[:at], each, *limits[at + 1 :]]))
        return self._written()

    def _written(self) -> dict[str, Any]:
        """With those weights only that are named."""
        said = [key for case in self._found for key, _ in case.get("sums", ())]
        used = sorted({key[1] for key in said if key[0] == "weighed"})
        number = {old: new for new, old in enumerate(used)}
        for key in said:
            if key[0] == "weighed":
                key[1] = number[key[1]]
        written: dict[str, Any] = _as_read(
            {
                "rule": RULE,
                "weights": [self._relaxation.dual[at] for at in used],
                "filled": [each.told for each in self._overfull],
                "cases": self._found,
            }
        )
        return written

    def _closed(self, limits: Limits) -> dict[str, Any] | None:
        """What closes or parts a case; None where nothing does."""
        for number, each in enumerate(self._overfull):
            if self._meets(each, limits):
                return {"filled": number}
        if self._program is None:
            entries = sum(len(row.weights) for row in self._relaxation.sums)
            if entries > MOST_ENTRIES:
                return None
            self._program = _MissedSums(self._relaxation)
        program = self._program
        self._budget.charge(WORK_PER_ENTRY * program.entries)
        if not program.solve(limits):
            return None
        sums = program.refuted(limits)
        if sums is not None:
            return {"sums": sums}
        if program.missed > NEAR:
            # The prices prove nothing in whole numbers: any number parts the case.
            wide = [at for at, (low, high) in enumerate(limits) if low < high]
            return None if not wide else self._parted(min(wide, key=self._rank), limits, program)
        broken = [
            at
            for at, name in enumerate(self._relaxation.names)
            if name[0] in _ORDER and abs(program.value(at) - round(program.value(at))) > WHOLE
        ]
        if broken:
            return self._parted(min(broken, key=lambda at: self._rank_broken(at, program)), limits, program)
        return self._by_section(limits, program)

    def _rank(self, at: int) -> tuple[int, int]:
        kind = self._relaxation.names[at][0]
        return _ORDER.index(kind) if kind in _ORDER else len(_ORDER), at

    def _rank_broken(self, at: int, program: _MissedSums) -> tuple[int, float, int]:
        value = program.value(at)
        return self._rank(at)[0], round(abs(value - int(value) - 0.5), 6), at

    def _parted(self, at: int, limits: Limits, program: _MissedSums) -> dict[str, Any]:
        low, high = limits[at]
        most = min(max(int(program.value(at) + WHOLE), low), high - 1)
        return {"of": list(self._relaxation.names[at]), "most": most}

    def _by_section(self, limits: Limits, program: _MissedSums) -> dict[str, Any] | None:
        """A section that does not hold what is said to lie in it, as a case or on the way to one."""
        relaxation = self._relaxation
        counts = {at: round(program.value(at)) for at in relaxation.lying}
        for number in range(len(relaxation.sections)):
            laid = tuple(
                (at, copies)
                for at, copies in counts.items()
                if copies and relaxation.lying[at].section == number
            )
            end = relaxation.at["end", number]
            ended = min(int(program.value(end) + WHOLE), limits[end][1])
            if not laid:
                continue
            found = self._overfilled(number, laid, ended, limits[end][1])
            if found is not None:
                return self._towards(found, limits)
        return None

    def _towards(self, found: Overfull, limits: Limits) -> dict[str, Any]:
        """The next number that parts the case, until all is so that the section is overfull."""
        for at, copies in found.laid:
            if limits[at][0] < copies:
                return {"of": list(self._relaxation.names[at]), "most": copies - 1}
        end = self._relaxation.at["end", found.section]
        if limits[end][1] > found.longest:
            return {"of": list(self._relaxation.names[end]), "most": found.longest}
        return {"filled": self._overfull.index(found)}

    def _meets(self, each: Overfull, limits: Limits) -> bool:
        end = self._relaxation.at["end", each.section]
        return limits[end][1] <= each.longest and all(limits[at][0] >= copies for at, copies in each.laid)

    def _overfilled(
        self, section: int, laid: tuple[tuple[int, int], ...], ended: int, most: int
    ) -> Overfull | None:
        """A proof that these take more than what a section is said to end at, at best more than it may."""
        for each in self._overfull:
            held = dict(laid)
            if (
                each.section == section
                and ended <= each.longest
                and all(held.get(at, 0) >= copies for at, copies in each.laid)
            ):
                return each
        low, high = ended, most
        best = None
        for longest in dict.fromkeys((most, ended)):
            best = self._proof(section, laid, longest)
            if best is not None:
                low = longest
                break
        # As far as can be proven, so that fewer cases are left.
        while best is not None and low < high:
            middle = (low + high + 1) // 2
            further = self._proof(section, laid, middle)
            if further is None:
                high = middle - 1
            else:
                best, low = further, middle
        if best is not None:
            self._overfull.append(best)
        return best

    def _proof(self, section: int, laid: tuple[tuple[int, int], ...], longest: int) -> Overfull | None:
        key = section, laid, longest
        if key not in self._asked:
            self._asked[key] = self._looked_for(section, laid, longest)
        return self._asked[key]

    def _looked_for(self, section: int, laid: tuple[tuple[int, int], ...], longest: int) -> Overfull | None:
        ways = [(self._relaxation.lying[at], copies) for at, copies in laid]
        parts = [(way.part, way.turned, copies) for way, copies in ways]
        alone = self._relaxation.alone(section, parts, longest)
        mine = self._relaxation.sections[section]
        self._budget.charge(WORK_TO_TRY)
        if without_places(mine.berth.width, longest, alone.parts[: len(parts)], mine.flaws):
            return self._told(section, laid, longest, parts, {"rule": TRIED})
        budget, own = self._budget, None
        share = min(SECTION, budget.left)
        own = Budget(share) if budget.work is None else Budget(share, share)
        bound = proof_of(alone, longest + 1, own, weighed=True)
        if budget.work is not None:
            budget.charge(own.spent)
        if bound is None or bound.certificate is None:
            return None
        return self._told(section, laid, longest, parts, dict(bound.certificate))

    def _told(
        self,
        section: int,
        laid: tuple[tuple[int, int], ...],
        longest: int,
        parts: Sequence[tuple[int, bool, int]],
        proof: dict[str, Any],
    ) -> Overfull:
        told = {
            "stretch": section,
            "parts": [(part, int(turned), copies) for part, turned, copies in parts],
            "longest": longest,
            "certificate": proof,
        }
        return Overfull(section, laid, longest, told)


class _MissedSums:
    """By how much all sums must be missed at least, within limits."""

    def __init__(self, relaxation: Relaxation) -> None:
        self._relaxation = relaxation
        self._solver = linear_program()
        top = self._solver.infinity()
        self._unit = [max(1, high) if name[0] in ("end", "cut") else 1 for name, (_, high) in self._named()]
        self._numbers = [self._solver.NumVar(0, 1, "") for _ in relaxation.names]
        self._missed = self._solver.NumVar(0, top, "")
        self._solver.Objective().SetCoefficient(self._missed, 1)
        self._solver.Objective().SetMinimization()
        self._rows: list[tuple[StockSum, int, float, Any]] = []
        self.entries = 0
        for row in relaxation.sums:
            for sign in (1, -1) if row.exact else (1,):
                size = max([1.0, *(abs(w) * self._unit[at] for at, w in row.weights.items())])
                entry = self._solver.Constraint(-top, top)
                for at, weight in row.weights.items():
                    entry.SetCoefficient(self._numbers[at], sign * weight * self._unit[at] / size)
                entry.SetCoefficient(self._missed, -1)
                self._rows.append((row, sign, size, entry))
                self.entries += len(row.weights)

    def _named(self) -> Iterable[tuple[Name, tuple[int, int]]]:
        return zip(self._relaxation.names, self._relaxation.limits, strict=True)

    def solve(self, limits: Limits) -> bool:
        """Within limits; False where the program cannot be solved."""
        for variable, unit, (low, high) in zip(self._numbers, self._unit, limits, strict=True):
            variable.SetBounds(low / unit, high / unit)
        for row, sign, size, entry in self._rows:
            entry.SetUb(sign * self._relaxation.most(row, limits) / size)
        return solved(self._solver)

    @property
    def missed(self) -> float:
        """By how much, where the largest number of a sum is 1."""
        return float(self._missed.solution_value())

    def value(self, at: int) -> float:
        """Of a number."""
        return float(self._numbers[at].solution_value()) * self._unit[at]

    def refuted(self, limits: Limits) -> list[tuple[list[Any], int]] | None:
        """Sums times whole numbers that prove there is nothing within limits; None where none do."""
        if self.missed <= NEAR / 10:
            return None
        prices: dict[int, float] = {}
        for number, (_, sign, size, entry) in enumerate(self._rows):
            price = -entry.dual_value()
            if price > 1e-9:
                prices[number] = sign * price / size
        if not prices:
            return None
        least = min(map(abs, prices.values()))
        for digits in (1, 10, 1_000, 1_000_000):
            whole: dict[int, int] = {}
            for number, price in prices.items():
                times = round(price / least * digits)
                if times:
                    whole[number] = times
            if self._contradicts(whole, limits):
                return [(list(self._rows[number][0].key), times) for number, times in self._merged(whole)]
        return None

    def _merged(self, whole: dict[int, int]) -> Iterator[tuple[int, int]]:
        by_key: dict[Name, tuple[int, int]] = {}
        for number, times in whole.items():
            key = self._rows[number][0].key
            by_key[key] = number, by_key.get(key, (0, 0))[1] + times
        yield from (pair for pair in by_key.values() if pair[1])

    def _contradicts(self, whole: dict[int, int], limits: Limits) -> bool:
        weights, most = dict[int, int](), 0
        for number, times in whole.items():
            row = self._rows[number][0]
            most += times * self._relaxation.most(row, limits)
            for at, weight in row.weights.items():
                weights[at] = weights.get(at, 0) + times * weight
        return sum(weight * limits[at][weight < 0] for at, weight in weights.items()) > most


def _as_read(said: Any) -> Any:
    """The same as a document gives it back: lists for tuples."""
    if isinstance(said, Mapping):
        return {key: _as_read(each) for key, each in said.items()}
    return [_as_read(each) for each in said] if isinstance(said, list | tuple) else said
