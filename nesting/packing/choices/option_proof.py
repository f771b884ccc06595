"""Writes down why no selection of options is shorter than a length, so that it can be replayed.

Whichever search closed a problem with choices, only the length is needed. Where row weights with the lightest
option of each choice do not tell it, one choice after another is settled, each option a case of its own; with
all settled what proves an ordinary problem is asked (`nesting.packing.certifying`).
"""

from __future__ import annotations

from collections.abc import Hashable, Mapping, Sequence
from functools import partial
from typing import Any

from nesting.packing.bounds.bars import WIDEST, WORK_PER_PRICE, bars_across
from nesting.packing.certificates.options import (
    Demanded,
    LightestOptions,
    MetBefore,
    Options,
    asked_of,
    likeness,
    over_ways,
    with_option,
)
from nesting.packing.certificates.weighing import PartWeight
from nesting.packing.certifying import proof_of
from nesting.packing.choices.linear_bounds import Demand, MenuProgram
from nesting.packing.problem import Problem
from nesting.packing.reduce import reduce
from nesting.packing.result import Bound, Certificate, Observer
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.turn import Budget

#: So many cases are written at most.
CASES = 2_000
#: Words of the logs of one case, and of all together, where nothing else is said.
WORDS = 100_000
#: Prices that are asked for of one case.
ROUNDS = 400

Weighed = Mapping[int, tuple[int, int]]
"""Of parts by their numbers in the whole problem: what they weigh upright and turned."""


class _NotProven(Exception):  # noqa: N818 - caught where it is asked for
    """The length is not proven in the time, or not at all."""


def proof_over_options(
    problem: Problem,
    length: int,
    budget: Budget,
    params: Params = PARAMS,
    words: int = WORDS,
    observer: Observer | None = None,
) -> Bound | None:
    """A bound of that length, in the problem's units, on every selection; None where none is found.

    Parameters
    ----------
    problem
        One open strip, with choices.
    length, budget
        What is to be proven, and how long to look.
    params, observer
        As for `nesting.packing.certifying.proof_of`.
    words
        Of the logs of all cases together.
    """
    if length <= 0 or not problem.plain_purchase:
        return None
    writing = _OptionWriting(length, budget, params, words, observer)
    try:
        said = writing.case(problem, tuple(range(len(problem.parts))), ())
    except _NotProven:
        return None
    if said is None or said.proven(problem) < length:
        return None
    method = "each option by itself" if isinstance(said, Options) else "bar relaxation"
    return Bound(length, f"{method}, over all choices", said)


def proof_over_ways(
    problems: Sequence[Problem], length: int, budget: Budget, words: int = WORDS
) -> Mapping[str, Any] | None:
    """A certificate of that length over several ways to cut, each a problem; None where none is found."""
    cases = list[Mapping[str, Any] | None]()
    for problem in problems:
        if asked_of(problem) is None:
            cases.append(None)
            continue
        look = proof_over_options if problem.choices else partial(proof_of, weighed=True)
        bound = look(problem, length, budget, words=words)
        if bound is None or bound.certificate is None:
            return None
        cases.append(dict(bound.certificate))
    return over_ways(cases)


class _OptionWriting:
    """The cases of one length, one after another."""

    def __init__(
        self, length: int, budget: Budget, params: Params, words: int, observer: Observer | None
    ) -> None:
        self._length, self._budget, self._params, self._observer = length, budget, params, observer
        self._words, self._cases = words, 0
        self._met = set[Hashable]()

    def case(
        self, problem: Problem, numbers: tuple[int, ...], known: tuple[Weighed, ...]
    ) -> Certificate | None:
        """Why none of the problem's selections is shorter; None where none can be laid.

        ``numbers`` are those of its parts in the whole problem; ``known`` weights that came before.
        """
        self._cases += 1
        if self._cases > CASES or self._budget.left <= 0:
            raise _NotProven
        asked = asked_of(problem)
        if asked is None:
            return None
        for weighed in known:
            said = _certificate(weighed, numbers)
            if said.of(asked) >= self._length:
                return said
        weights = self._weights(asked)
        if weights is not None and weights.of(asked) >= self._length:
            return weights
        if not problem.choices:
            return self._settled(problem)
        choice = _most_telling(problem, asked, weights)
        more = known if weights is None else (_by_whole(weights, numbers), *known)
        return self._options(problem, numbers, choice, more)

    def _settled(self, problem: Problem) -> Certificate | None:
        """Of a problem whose options are all settled."""
        if reduce(problem) is None:
            return None
        bound = proof_of(
            problem, self._length, self._budget, self._params, self._words, self._observer, weighed=True
        )
        if bound is None or not isinstance(bound.certificate, Certificate):
            raise _NotProven
        return bound.certificate

    def _options(
        self, problem: Problem, numbers: tuple[int, ...], choice: int, known: tuple[Weighed, ...]
    ) -> Certificate:
        """Each option of one choice by itself."""
        cases = list[Certificate | None]()
        gone = problem.choices[choice]
        for option in range(len(gone.options)):
            case = with_option(problem, choice, option)
            sign = likeness(case)
            if sign in self._met:
                cases.append(MetBefore())
                continue
            left_out = {part for each in gone.options for part in each}.difference(gone.options[option])
            kept = tuple(number for at, number in enumerate(numbers) if at not in left_out)
            cases.append(self.case(case, kept, known))
            if cases[-1] is not None:
                self._met.add(sign)
        return Options(choice, tuple(cases))

    def _weights(self, asked: Demanded) -> LightestOptions | None:
        """The best row weights that a linear program over patterns and options finds."""
        if asked.core.width > WIDEST or not asked.core.kinds:
            return None
        program = MenuProgram(Demand(asked.core, asked.always, asked.offers))
        for _ in range(ROUNDS):
            self._budget.charge(WORK_PER_PRICE * asked.core.width * asked.core.copies)
            if self._budget.left <= 0:
                raise _NotProven
            if not program.improve():
                break
        proof = program.proof()
        weights = dict[int, dict[str, int]]()
        for bar, weight in zip(bars_across(asked.core), proof.weights, strict=True):
            if weight:
                weights.setdefault(bar.kind, {})["turned" if bar.turned else "upright"] = weight
        return LightestOptions(
            tuple(
                PartWeight(number, **weights[kind])
                for number, kind in sorted(asked.kind_of.items())
                if kind in weights
            )
        )


def _certificate(weighed: Weighed, numbers: tuple[int, ...]) -> LightestOptions:
    """Weights of the whole problem, told of some of its parts."""
    lines = ((at, *weighed[number]) for at, number in enumerate(numbers) if number in weighed)
    return LightestOptions(
        tuple(PartWeight(at, upright or None, turned or None) for at, upright, turned in lines)
    )


def _by_whole(said: LightestOptions, numbers: tuple[int, ...]) -> Weighed:
    return {numbers[each.part]: (each.upright or 0, each.turned or 0) for each in said.weights}


def _most_telling(problem: Problem, asked: Demanded, said: LightestOptions | None) -> int:
    """The choice of whose options the weights leave the fewest open; of equal ones that which adds most."""
    if said is None:
        return 0
    return max(range(len(problem.choices)), key=lambda at: (_extra(problem, said, at), -at))


def _extra(problem: Problem, said: LightestOptions, choice: int) -> float:
    """How much more the options of a choice weigh than its lightest, on the average."""
    weight = {each.part: each for each in said.weights}

    def heavy(part: int) -> int:
        one, mine = problem.parts[part], weight.get(part)
        if mine is None:
            return 0
        ways = [(mine.upright, one.length), (mine.turned, one.width)]
        return one.copies * min((each * along for each, along in ways if each is not None), default=0)

    sums = [sum(map(heavy, option)) for option in problem.choices[choice].options]
    return sum(sums) / len(sums) - min(sums)
