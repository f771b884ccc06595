"""Re-proves a length of a problem with choices: whichever option of each choice is laid, nothing is shorter.

``rule = "lightest options"`` is row weights with choices. In a layout the parts that share a row weigh no
more than the heaviest row, K. Which option of a choice is laid is not known, so of each the one counts that
weighs least, and all rows together carry at least that. A row is made of parts of one selection, which has of
equal parts (of one width and weight each way) no more copies than are laid in any case and by those options
together that have most of them; so many of each the knapsack may take. Arrow groups are forgotten: parts that
turn one by one have more ways to lie.

``rule = "options"`` names one choice and has a certificate for each of its options, of the problem in which
that option's parts are laid in any case and those of the others are gone; what is left keeps its order and is
counted anew. Each layout is one of some option, so the least of what they prove holds. A case may be null
where some part of it fits in no direction, so that no layout takes that option. ``rule = "met before"``
stands for a case that differs from one before it in nothing but names: two windows that are equal, with their
plans exchanged. Then what was proved of that one holds.

The options are those of the problem: that there are no others must be known from elsewhere, see
`nesting.planning.open_to`.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Hashable, Iterator, Mapping, Sequence
from dataclasses import replace
from typing import Any

from nesting.check.proof_premises import AnyWay, steps_of, ways_of, whole_number, width_left
from nesting.check.row_weighing import WeighedSlices, heaviest_of
from nesting.packing.problem import Choice, Part, Problem

#: Heavier weights are not believed.
HEAVIEST = 2**48
#: More cases than these, all told, are not gone through.
MOST_CASES = 20_000

Proven = Callable[[Problem, Mapping[str, Any]], int]
_Numbers = Sequence[int]
"""Of parts."""
_Line = tuple[tuple[int, int, int], ...]
"""Of each way of a part: its width, its length and what it weighs."""


def proven_by_options(problem: Problem, certificate: Mapping[str, Any], proven: Proven) -> int:
    """The length that no layout of any selection undercuts; 0 where the certificate proves none.

    Parameters
    ----------
    problem
        One open strip, with choices.
    certificate
        Of the rule ``lightest options``: ``weights``, entries with ``part``, ``upright`` and ``turned``. Of
        ``options``: the number of a ``choice``, and ``cases``.
    proven
        What a certificate of a problem without choices proves.

    Raises
    ------
    TypeError, ValueError, KeyError
        It has not the form of one, or a number in it is no whole number.
    """
    return _OptionCases(proven).least(problem, certificate)


def proven_over_ways(problems: Sequence[Problem], certificate: Mapping[str, Any], proven: Proven) -> int:
    """The same of several ways to cut, each a problem of its own, of which one is taken.

    Parameters
    ----------
    problems
        Every way there is.
    certificate
        Of the rule ``ways to cut``: a certificate for each in ``cases``, null where it cannot be laid; of one
        way its own.
    proven
        What a certificate of one way proves.
    """
    if certificate.get("rule") != "ways to cut":
        return proven(problems[0], certificate) if len(problems) == 1 else 0
    cases = list(certificate["cases"])
    if len(cases) != len(problems):
        return 0
    found = []
    for problem, case in zip(problems, cases, strict=True):
        if case is not None:
            found.append(proven(problem, case))
        elif _can_be_laid(problem):
            return 0
    return min(found, default=0)


class _OptionCases:
    """The cases of one certificate, gone through one after another."""

    def __init__(self, proven: Proven) -> None:
        self._proven, self._left = proven, MOST_CASES
        self._met = dict[Hashable, int]()

    def least(self, problem: Problem, said: Mapping[str, Any]) -> int:
        """What is proved of every selection."""
        self._left -= 1
        if self._left < 0 or not within_reach(problem):
            return 0
        if said.get("rule") == "lightest options":
            return _by_lightest(problem, said)
        if said.get("rule") == "options":
            return self._by_options(problem, said)
        return 0 if problem.choices else self._proven(problem, said)

    def _by_options(self, problem: Problem, said: Mapping[str, Any]) -> int:
        choice, cases = whole_number(said["choice"]), list(said["cases"])
        if choice not in range(len(problem.choices)) or len(cases) != len(problem.choices[choice].options):
            return 0
        found = []
        for option, case in enumerate(cases):
            settled = _settled(problem, choice, option)
            if case is None:
                if _can_be_laid(settled):
                    return 0
                continue
            sign = _likeness(settled)
            if case.get("rule") == "met before":
                found.append(self._met.get(sign, 0))
                continue
            found.append(self.least(settled, case))
            self._met[sign] = max(self._met.get(sign, 0), found[-1])
        return min(found, default=0)


def within_reach(problem: Problem) -> bool:
    """One open strip, every part laid that is taken, and choices that name parts of their own."""
    known, taken = range(len(problem.parts)), set[int]()
    for choice in problem.choices:
        mine = {part for option in choice.options for part in option}
        apart = all(len(set(option)) == len(option) for option in choice.options)
        if not choice.options or not apart or not mine.issubset(known) or mine & taken:
            return False
        taken |= mine
    matched = any(part.match is not None for part in problem.parts)
    return problem.plain_purchase and (problem.strips[0].repeat is not None or not matched)


def _settled(problem: Problem, choice: int, option: int) -> Problem:
    """The problem with one option of a choice laid in any case."""
    taken = set(problem.choices[choice].options[option])
    gone = {part for each in problem.choices[choice].options for part in each} - taken
    number, parts = dict[int, int](), list[Part]()
    for at, part in enumerate(problem.parts):
        if at not in gone:
            number[at] = len(parts)
            parts.append(part)
    choices = tuple(
        Choice(each.name, tuple(tuple(number[part] for part in listed) for listed in each.options))
        for at, each in enumerate(problem.choices)
        if at != choice
    )
    return Problem(problem.strips, tuple(parts), choices)


def _can_be_laid(problem: Problem) -> bool:
    """Whether a layout may exist, as far as widths tell."""
    if not problem.choices:
        return all(ways_of(problem))
    return _open_to(problem, _ways_one_by_one(problem)) is not None


def _open_to(problem: Problem, ways: AnyWay) -> tuple[_Numbers, Sequence[Sequence[_Numbers]]] | None:
    """The parts laid in any case and, by choices, the options that fit; None where no selection does."""
    named = {part for choice in problem.choices for option in choice.options for part in option}
    always = [at for at in range(len(problem.parts)) if at not in named]
    offers = [[each for each in choice.options if all(ways[at] for at in each)] for choice in problem.choices]
    return (always, offers) if all(ways[at] for at in always) and all(offers) else None


def _ways_one_by_one(problem: Problem) -> AnyWay:
    """The ways of each part by itself: which parts of its arrow group are laid with it is not known."""
    alone = (replace(part, arrow=None) for part in problem.parts)
    return ways_of(Problem(problem.strips, tuple(alone)))


def _by_lightest(problem: Problem, said: Mapping[str, Any]) -> int:
    """By row weights, of each choice the option that weighs least."""
    lines = _lines(problem, said)
    if lines is None:
        return 0
    ways = _ways_one_by_one(problem)
    known = _open_to(problem, ways)
    if known is None:
        return 0
    always, offers = known

    def weight(numbers: _Numbers) -> int:
        return sum(
            problem.parts[at].copies * min(length * heavy for _, length, heavy in lines[at]) for at in numbers
        )

    total = weight(always) + sum(min(map(weight, each)) for each in offers)
    heaviest = heaviest_of(_slices(problem, lines, always, offers), width_left(problem, range(len(lines))))
    _, along = steps_of(problem, ways)
    return -(-total // (heaviest * along)) * along if heaviest else 0


def _lines(problem: Problem, said: Mapping[str, Any]) -> list[_Line] | None:
    """The ways of each part with what they weigh; None where a number is out of its range."""
    weights = dict[int, Mapping[str, Any]]()
    for entry in said.get("weights", ()):
        part = whole_number(entry["part"])
        if part not in range(len(problem.parts)) or part in weights:
            return None
        weights[part] = entry
    lines = list[_Line]()
    for at, each in enumerate(_ways_one_by_one(problem)):
        entry = weights.get(at, {})
        line = tuple(
            (width, length, whole_number(entry.get("turned" if turned else "upright", 0)))
            for width, length, turned in each
        )
        if any(not 0 <= heavy <= HEAVIEST for _, _, heavy in line):
            return None
        lines.append(line)
    return lines


def _slices(
    problem: Problem, lines: Sequence[_Line], always: _Numbers, offers: Sequence[Sequence[_Numbers]]
) -> Iterator[WeighedSlices]:
    """What may share a row: of parts that are equal there the most copies that any selection lays."""

    def counted(numbers: _Numbers) -> Counter[Hashable]:
        found = Counter[Hashable]()
        for at in numbers:
            found[tuple((width, heavy) for width, _, heavy in lines[at])] += problem.parts[at].copies
        return found

    most = counted(always)
    for each in offers:
        larger = Counter[Hashable]()
        for option in each:
            larger |= counted(option)
        most += larger
    for number, (line, copies) in enumerate(most.items()):
        for width, heavy in line:  # type: ignore[attr-defined]
            yield WeighedSlices(number, width, 1, heavy, copies)


def _likeness(problem: Problem) -> Hashable:
    """Equal for problems between which parts and seam groups can be matched one to one.

    A part is told by all that it has but its name, by the options in which it stands, and by all members of
    its seam group, told likewise. So what is told of parts alike can be exchanged, and of groups too.
    """
    places = defaultdict[int, set[tuple[int, int]]](set)
    for at, choice in enumerate(problem.choices):
        for number, option in enumerate(choice.options):
            for part in option:
                places[part].add((at, number))

    def told(at: int) -> Hashable:
        part = problem.parts[at]
        match = None if part.match is None else (part.match.level, part.match.x, part.match.y)
        return (
            part.width, part.length, part.copies, part.turnable, match, part.arrow, part.clear,
            frozenset(places[at]),
        )  # fmt: skip

    groups = defaultdict[str, list[int]](list)
    for at, one in enumerate(problem.parts):
        if one.match is not None and one.match.seam is not None:
            groups[one.match.seam].append(at)
    group_of = {at: frozenset(Counter(map(told, each)).items()) for each in groups.values() for at in each}
    every = Counter((told(at), group_of.get(at)) for at in range(len(problem.parts)))
    return problem.strips, frozenset(every.items()), tuple(len(choice.options) for choice in problem.choices)
