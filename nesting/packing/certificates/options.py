"""Certificates over all options of choices: weights of the lightest options, and a proof for each option."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Hashable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from nesting.packing.certificates.knapsack import Item, best_choice
from nesting.packing.certificates.weighing import HEAVIEST, MOST_CAPACITY, MOST_WEIGHT, PartWeight
from nesting.packing.problem import Choice, Part, Problem
from nesting.packing.reduce import Core, Kind, reduce
from nesting.packing.result import Certificate

#: The rule of a certificate that has one for each way to cut.
WAYS = "ways to cut"

Counts = tuple[int, ...]
"""How many copies of each kind."""
Met = dict[Hashable, int]
"""What was proven of problems by their `likeness`."""


@dataclass(frozen=True, slots=True)
class LightestOptions(Certificate):
    """Row weights of a problem with choices: of each choice the option counts that weighs least.

    A row holds no more copies of a kind than any options together lay. Parts of arrow groups turn one by
    one, which is a wider choice.

    Attributes
    ----------
    weights
        Of the parts that weigh anything, those of options too.
    """

    rule: ClassVar[str] = "lightest options"

    weights: tuple[PartWeight, ...]

    def proven(self, problem: Problem) -> int:
        """The length that no layout of any selection can undercut by this argument."""
        asked = asked_of(problem)
        return 0 if asked is None else self.of(asked)

    def of(self, asked: Demanded) -> int:
        """The same of what is asked for, in the problem's units."""
        known = {asked.kind_of[each.part]: each for each in self.weights if each.part in asked.kind_of}
        ways, least, total = list[list[Item]](), list[int](), 0
        most = asked.most
        for number, (kind, copies) in enumerate(zip(asked.core.kinds, most, strict=True)):
            said = known.get(number, PartWeight(0))
            weights = [(said.turned if turned else said.upright) or 0 for _, _, turned in kind.ways]
            if any(not 0 <= weight <= HEAVIEST for weight in weights):
                return 0
            pairs = list(zip(kind.ways, weights, strict=True))
            ways.append([(width, weight, copies) for (width, _, _), weight in pairs if weight])
            least.append(min(weight * length for (_, length, _), weight in pairs))
            total += sum(weights) * copies
        if total >= MOST_WEIGHT or not 0 <= asked.core.width <= MOST_CAPACITY:
            return 0
        heaviest = best_choice(asked.core.width, [each for each in ways if each])
        return asked.core.ticks(-(-asked.least(least) // heaviest)) if heaviest else 0

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        return {"rule": self.rule, "weights": [weight.told() for weight in self.weights]}


@dataclass(frozen=True, slots=True)
class MetBefore(Certificate):
    """A case that is another one but for names, which was proven before it."""

    rule: ClassVar[str] = "met before"

    def proven(self, problem: Problem) -> int:
        """By itself nothing."""
        return 0

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        return {"rule": self.rule}


@dataclass(frozen=True, slots=True)
class Options(Certificate):
    """Whichever option of one choice is laid, no layout is shorter.

    Attributes
    ----------
    choice
        Its number in the problem.
    cases
        Of each option, of the problem with that option settled (`with_option`); None where it cannot be laid.
    """

    rule: ClassVar[str] = "options"

    choice: int
    cases: tuple[Certificate | None, ...]

    def proven(self, problem: Problem) -> int:
        """The least of what the cases prove."""
        return self._proven(problem, {})

    def _proven(self, problem: Problem, met: Met) -> int:
        found = list[int]()
        for option, said in enumerate(self.cases):
            case = with_option(problem, self.choice, option)
            if said is None:
                if asked_of(case) is not None and (case.choices or reduce(case) is not None):
                    return 0
                continue
            sign = likeness(case)
            if isinstance(said, MetBefore):
                found.append(met.get(sign, 0))
                continue
            found.append(said._proven(case, met) if isinstance(said, Options) else said.proven(case))
            met[sign] = max(met.get(sign, 0), found[-1])
        return min(found, default=0)

    def told(self) -> dict[str, Any]:
        """As a document holds it."""
        cases = [None if said is None else dict(said) for said in self.cases]
        return {"rule": self.rule, "choice": self.choice, "cases": cases}


@dataclass(frozen=True, slots=True)
class Demanded:
    """What may be laid as one core, and how many copies of each kind each option asks for.

    Attributes
    ----------
    core
        All parts that may be laid, turning one by one; nothing set apart.
    kind_of
        Of each part that may be laid, by its number in the problem: the kind.
    always
        Copies laid in any case.
    offers
        Copies of each option that can be laid, by choices.
    """

    core: Core
    kind_of: Mapping[int, int]
    always: Counts
    offers: tuple[tuple[Counts, ...], ...]

    @property
    def most(self) -> Counts:
        """Copies of each kind that any selection lays."""
        return tuple(
            own + sum(max(each[kind] for each in choice) for choice in self.offers)
            for kind, own in enumerate(self.always)
        )

    def least(self, weights: Sequence[int]) -> int:
        """The weight of the lightest selection; ``weights`` of one copy of each kind."""
        offers = (min(_weight(counts, weights) for counts in choice) for choice in self.offers)
        return _weight(self.always, weights) + sum(offers)


def over_ways(cases: Sequence[Mapping[str, Any] | None]) -> Mapping[str, Any] | None:
    """The certificates of all ways to cut as one; of a way that cannot be laid None."""
    if len(cases) == 1:
        return cases[0]
    return {"rule": WAYS, "cases": [None if said is None else dict(said) for said in cases]}


def _weight(counts: Counts, weights: Sequence[int]) -> int:
    return sum(count * weight for count, weight in zip(counts, weights, strict=True))


def asked_of(problem: Problem) -> Demanded | None:
    """What the selections of a problem on one open strip have in common; None where there is none."""
    if not problem.plain_purchase:
        return None
    width = problem.strips[0].width
    loose = [replace(part, arrow=None) if part.turnable else part for part in problem.parts]
    fits = [_fits(part, width) for part in loose]
    named = {part for choice in problem.choices for option in choice.options for part in option}
    always = [number for number in range(len(loose)) if number not in named]
    offers = [
        [option for option in choice.options if all(fits[part] for part in option)]
        for choice in problem.choices
    ]
    if not all(fits[part] for part in always) or not all(offers):
        return None
    numbers = tuple(sorted({*always, *(part for each in offers for option in each for part in option)}))
    parts = tuple(loose[number] for number in numbers)
    core = reduce(replace(problem, parts=parts, choices=()), set_apart=False)
    if core is None:
        return None
    kind_of = {numbers[part]: kind for kind, each in enumerate(core.kinds) for part, _ in each.members}

    def counts(listed: Iterable[int]) -> Counts:
        found = [0] * len(core.kinds)
        for number in listed:
            found[kind_of[number]] += problem.parts[number].copies
        return tuple(found)

    asked = Demanded(core, kind_of, counts(always), tuple(tuple(map(counts, each)) for each in offers))
    kinds = (_few(kind, most) for kind, most in zip(core.kinds, asked.most, strict=True))
    return replace(asked, core=replace(core, kinds=tuple(kinds)))


def _few(kind: Kind, copies: int) -> Kind:
    return replace(kind, members=kind.members[:copies])


def _fits(part: Part, width: int) -> bool:
    room = width - sum(part.clear)
    return part.width <= room or (part.turnable and part.length <= room)


def with_option(problem: Problem, choice: int, option: int) -> Problem:
    """The problem with one option of a choice laid in any case; its parts keep their order."""
    named = {part for each in problem.choices[choice].options for part in each}
    gone = named.difference(problem.choices[choice].options[option])
    kept = [number for number in range(len(problem.parts)) if number not in gone]
    now = {number: at for at, number in enumerate(kept)}
    others = [each for number, each in enumerate(problem.choices) if number != choice]
    choices = tuple(
        Choice(each.name, tuple(tuple(now[part] for part in parts) for parts in each.options))
        for each in others
    )
    return replace(problem, parts=tuple(problem.parts[number] for number in kept), choices=choices)


def likeness(problem: Problem) -> Hashable:
    """Equal for problems that differ in nothing but names of parts and of seam groups, and their order."""
    homes: list[frozenset[tuple[int, int]]] = [frozenset()] * len(problem.parts)
    for at, choice in enumerate(problem.choices):
        for number, option in enumerate(choice.options):
            for mine in option:
                homes[mine] |= {(at, number)}
    keys = [
        (replace(part, name="", match=None), part.match and replace(part.match, seam=None), home)
        for part, home in zip(problem.parts, homes, strict=True)
    ]
    named = [None if part.match is None else part.match.seam for part in problem.parts]
    seams = defaultdict[str | None, Counter[Hashable]](Counter)
    for seam, key in zip(named, keys, strict=True):
        seams[seam][key] += 1
    told = Counter[Hashable]()
    for seam, key in zip(named, keys, strict=True):
        told[key, None if seam is None else frozenset(seams[seam].items())] += 1
    return problem.strips, frozenset(told.items()), tuple(len(each.options) for each in problem.choices)
