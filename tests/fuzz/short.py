"""Searches of 1 to 500 ms: no layout lost, nothing claimed that is not so.

    python -m tests.fuzz short --cases 2000 --seed 1

All run in this process. Every problem is searched four times with other limits, seeds and threads: jobs by
the planner (with the check of the finished plan), and by the engine alone plain fabric, prints, lengths on
hand, choices, and layouts cut across first. Wrong is

- an error of any kind, but for a job that no bolt holds, or nothing found where no layout was shown;
- a layout that breaks a rule, or is worse than one that was shown while it was searched for;
- a claim that another search of the same problem refutes, or trying everything where it is tiny: each fifth
  problem is searched for 5 s more;
- anything logged as a warning or worse.
"""

from __future__ import annotations

import logging
import math
import random
import traceback
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nesting.check import check_layout, check_plan_document
from nesting.errors import DoesNotFitError, JobError, NothingFoundError
from nesting.files import plan_document, read_job_text
from nesting.packing import Placement, Problem, Result, pack, pack_across
from nesting.planning.planner import Effort, plan
from tests.brute_force import optimal_length
from tests.fuzz.job_texts import job_text
from tests.fuzz.jobs import contradictions
from tests.instances import cut_pattern, guillotine_cutting, tiny_problem
from tests.stock_brute_force import best_stages
from tests.stock_instances import remnants, tiny_stock
from tests.test_choosing import least_of_all, tiny_choices

#: Searches of one problem.
RUNS = 4
#: One problem in so many is searched for longer.
SAMPLE, LONGER = 5, 5.0
#: Seconds of a search.
SHORTEST, LONGEST = 0.001, 0.5
#: What problems are of, in turn.
KINDS = ("job", "plain", "stock", "job", "choices", "across", "job", "print", "remnants")


@dataclass(frozen=True, slots=True)
class Aim:
    """One objective: what a layout reaches, and what none betters that is as good in the aims before."""

    name: str
    value: int
    bound: int
    most: bool = False

    def refutes(self, bound: int) -> bool:
        """Whether what was reached is better than that bound."""
        return self.value > bound if self.most else self.value < bound


Claim = tuple[Aim, ...]
"""The objectives in their order; empty: no layout can be."""


class WrongError(AssertionError):
    """Something that must not be."""


@dataclass(frozen=True)
class Search:
    """One way to search: seconds, seed, threads."""

    seconds: float
    seed: int
    workers: int

    @classmethod
    def drawn(cls, dice: random.Random) -> Search:
        """Of any length within the limits, short ones as often as long ones."""
        seconds = math.exp(dice.uniform(math.log(SHORTEST), math.log(LONGEST)))
        return cls(seconds, dice.randrange(1000), dice.choice((1, 1, 2, 3)))

    @property
    def limits(self) -> dict[str, Any]:
        """As the engine takes them."""
        return {"time_limit": self.seconds, "seed": self.seed, "workers": self.workers}


def packed(problem: Problem, search: Search) -> Claim | None:
    """What the engine claims of a problem; None where it found no layout.

    Raises
    ------
    WrongError
        The layout breaks a rule, or a better one was lost.
    """
    shown = list[tuple[int, tuple[Placement, ...]]]()
    result = pack(problem, on_layout=lambda length, placed: shown.append((length, placed)), **search.limits)
    if shown and result.length is None:
        raise WrongError(f"a layout of {shown[-1][0]} was lost")
    for length, placed in shown[-1:]:
        # Each is shown because it is better than all before.
        if (result.length, set(result.placements)) != (length, set(placed)):
            raise WrongError(f"the last of {len(shown)} layouts, {length}, became {result.length}")
    return _claim(problem, result)


def packed_across(problem: Problem, search: Search) -> Claim | None:
    """The same of layouts cut across first."""
    told = list[int]()
    free = pack(problem, **search.limits)
    result = pack_across(
        problem,
        free=free.bound,
        on_progress=lambda now: told.append(now.length) if now.length is not None else None,
        **search.limits,
    )
    if told and (result.length is None or result.length > min(told)):
        raise WrongError(f"a layout of {min(told)} became {result.length}")
    if free.length is not None and result.length is not None and result.length < free.bound.length:
        raise WrongError(f"across {result.length}, below the bound {free.bound.length} of all ways")
    return _claim(problem, result)


def _claim(problem: Problem, result: Result) -> Claim | None:
    if result.infeasible:
        return ()
    if result.length is None:
        return None
    broken = check_layout(problem, result.placements, result.length, result.bound.length)
    if broken:
        raise WrongError("; ".join(map(str, broken)))
    if result.stages:
        return tuple(Aim(stage.name, stage.value, stage.bound, stage.most) for stage in result.stages)
    return (Aim("length", result.length, result.bound.length),)


def refuted(one: Claim, other: Claim) -> Iterator[str]:
    """Bounds of one claim that the other betters, as far as both reach the same in all aims before."""
    if not one and other:
        yield f"said to be impossible, but {other} is known"
    for mine, theirs in zip(one, other, strict=False):
        if mine.name != theirs.name:
            return
        if theirs.refutes(mine.bound):
            yield f"{mine.name}: bound {mine.bound}, but {theirs.value} is known"
        if mine.value != theirs.value:
            return


def planned(text: str, search: Search) -> dict[str, Any] | None:
    """The plan of a job as a document; None where nothing was found, or it cannot be laid."""
    shown = set[str]()
    effort = Effort(
        search.seconds,
        seed=search.seed,
        workers=search.workers,
        display=lambda title, made: shown.add(title),
    )
    try:
        made = plan(read_job_text(text), effort=effort)
    except (DoesNotFitError, JobError):
        return None
    except NothingFoundError as error:
        if shown:
            raise WrongError(f"nothing found ({error}) after {shown}") from error
        return None
    document = plan_document(made)
    violations = check_plan_document(document)
    if violations:
        raise WrongError("; ".join(map(str, violations)))
    return document


class _Log(logging.Handler):
    """Keeps what is logged."""

    def __init__(self) -> None:
        super().__init__(logging.WARNING)
        self.lines = list[str]()

    def emit(self, record: logging.LogRecord) -> None:
        """Keep it."""
        self.lines.append(self.format(record))

    def require_silence(self) -> None:
        """Nothing was logged since."""
        lines, self.lines = self.lines, []
        if lines:
            raise WrongError(f"logged: {'; '.join(lines)}")


def problem_of(kind: str, dice: random.Random) -> tuple[Problem, Claim | None]:
    """A problem, and the best there is where trying everything tells it."""
    if kind == "stock":
        problem = tiny_stock(dice)
        stages = best_stages(problem)
        return problem, None if stages is None else tuple(
            Aim(name, worth, worth, name in ("value", "extras")) for name, worth in stages.items()
        )
    if kind == "choices":
        problem = tiny_choices(dice, repeat=dice.random() < 0.5)
        return problem, _of_length(least_of_all(problem))
    if kind == "remnants":
        return remnants(dice), None
    if dice.random() < 0.5:
        flaws = 0 if kind == "across" else dice.choice((0, 0, 1))
        problem = tiny_problem(dice, kind == "print", turns=dice.random() < 0.3, arrows=dice.random() < 0.2,
                               flaws=flaws, start=dice.random() < 0.3)  # fmt: skip
        return problem, None if kind == "across" else _of_length(optimal_length(problem))
    width, length, parts = dice.randint(8, 60), dice.randint(12, 90), dice.randint(6, 30)
    if kind == "print":
        problem = cut_pattern(dice, width, length, min(parts, 18), dice.randint(3, 12))
    else:
        problem = guillotine_cutting(dice, width, length, parts)
    # As it was cut is one layout of no waste; it need not be one that is cut across first.
    return problem, None if kind == "across" else _of_length(length)


def _of_length(length: int | None) -> Claim:
    return () if length is None else (Aim("length", length, length),)


def cross_examined(claims: Sequence[Any], rivals: Callable[[Any, Any], Iterator[str]]) -> Iterator[str]:
    """What any of the claims says against any other."""
    for number, one in enumerate(claims):
        for other in claims[number + 1 :]:
            yield from rivals(one, other)


def _both_ways(one: Claim, other: Claim) -> Iterator[str]:
    yield from refuted(one, other)
    yield from refuted(other, one)


def examine(number: int, seed: int, log: _Log) -> tuple[int, list[str]]:
    """How many searches of that problem gave a layout or a proof, and what is wrong with them."""
    dice, kind = random.Random(f"{seed}/{number}"), KINDS[number % len(KINDS)]
    searches = [Search.drawn(dice) for _ in range(RUNS)]
    if (number // len(KINDS)) % SAMPLE == 0:
        searches.append(Search(LONGER, seed, 2))
    wrong, claims = list[str](), list[Any]()
    rivals: Callable[[Any, Any], Iterator[str]] = _both_ways
    if kind == "job":
        text, rivals = job_text(1000 * seed + number), contradictions

        def run(search: Search) -> Mapping[str, Any] | Claim | None:
            return planned(text, search)
    else:
        problem, exact = problem_of(kind, dice)
        claims += [] if exact is None else [exact]

        def run(search: Search) -> Mapping[str, Any] | Claim | None:
            return (packed_across if kind == "across" else packed)(problem, search)

    known = len(claims)
    for search in searches:
        try:
            claim = run(search)
            log.require_silence()
        except Exception as error:
            said = str(error) if isinstance(error, WrongError) else traceback.format_exc()
            wrong.append(f"{search}: {said}")
            continue
        claims += [] if claim is None else [claim]
    wrong += cross_examined(claims, rivals)
    return len(claims) - known, wrong


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many searches gave a layout or a proof, and the numbers of problems with something wrong."""
    log, told, wrong = _Log(), 0, list[int]()
    logging.getLogger("nesting").addHandler(log)
    for number in range(-(-cases // RUNS)):
        some, faults = examine(number, seed, log)
        told += some
        for fault in faults:
            print(f"    WRONG {number} ({KINDS[number % len(KINDS)]}) {fault}", flush=True)
        wrong += [number] if faults else []
        if number % 50 == 0:
            print(f"{number} problems", flush=True)
    return told, wrong
