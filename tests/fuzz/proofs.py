"""Logs of searches and certificates by directions of tiny problems, and the same forged, against the optimum.

Each problem is asked for the proof that nothing is shorter than brute force's optimum, by rows or columns in
one piece. A proof that comes must replay and prove no more than the optimum; so must what becomes of it when
numbers, words and names in it are changed at random, or when it is put to another problem.
"""

from __future__ import annotations

import base64
import json
import random
import zlib
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from typing import Any

from nesting.check.proof import proven_length
from nesting.packing import Choice, Part, Problem
from nesting.packing.bounds.row_proof import RowsAsked, questions, written_of
from nesting.packing.branch import branches_of
from nesting.packing.certifying import proof_of
from nesting.packing.race import Race
from nesting.packing.reduce import reduce
from nesting.packing.turn import Budget, Goal, Turn
from tests.brute_force import optimal_length
from tests.instances import tiny_problem

#: Changes of one certificate.
CHANGES = 4
#: What a certificate may raise that is none.
NO_FORM = (AttributeError, KeyError, TypeError, ValueError, IndexError, OverflowError)


def problem_of(rng: random.Random) -> Problem:
    """Few parts, so that trying everything takes a moment."""
    return tiny_problem(
        rng, rng.random() < 0.6, parts=rng.randint(2, 5), width=rng.randint(4, 8), turns=rng.random() < 0.3,
        arrows=rng.random() < 0.2, flaws=int(rng.random() < 0.1), start=rng.random() < 0.3,
        margins=rng.random() < 0.3,
    )  # fmt: skip


def proofs_of(problem: Problem, length: int) -> Iterator[dict[str, Any]]:
    """Every proof that is found of a length that no layout undercuts."""
    core = reduce(problem)
    if core is None:
        return
    if len(branches_of(core)) > 1:
        bound = proof_of(problem, length, Budget(0, 5.0))
        if bound is not None and bound.certificate is not None:
            yield dict(bound.certificate)
        return
    least = -(-length // core.step_y) - core.lone_length
    if least > 0 and core.kinds and not core.open_arrows:
        for question in questions(core, least - 1):
            log = written(core_question=question, core=core, length=least - 1)
            if log is not None:
                yield log


def written(core: Any, core_question: RowsAsked, length: int) -> dict[str, Any] | None:
    """The log of one question, as a document holds it."""
    turn = Turn(Race(Budget(0, 5.0)), Goal(core), 5.0)
    log = written_of(core, core_question, length, turn)
    return None if log is None else json.loads(json.dumps(dict(log)))


def _cases_of(said: dict[str, Any]) -> list[Any]:
    cases: list[Any] = json.loads(zlib.decompress(base64.b85decode(said["cases"])))
    return cases


def forged(rng: random.Random, said: dict[str, Any]) -> dict[str, Any]:
    """The certificate with some things in it changed."""
    changed = deepcopy(said)
    if changed["rule"] == "directions":
        at = rng.randrange(len(changed["cases"]))
        if rng.random() < 0.3 or changed["cases"][at] is None:
            changed["cases"][at] = rng.choice(changed["cases"])
        elif "cases" in changed["cases"][at]:
            changed["cases"][at] = forged(rng, changed["cases"][at])
        else:
            _change(rng, changed["cases"][at])
        return changed
    changed["cases"] = _cases_of(changed)
    for _ in range(rng.choice((1, 1, 2, 5))):
        _change(rng, changed)
    if isinstance(changed.get("cases"), list):
        text = json.dumps(changed["cases"]).encode()
        changed["cases"] = base64.b85encode(zlib.compress(text)).decode()
    return changed


def _change(rng: random.Random, whole: Any) -> None:
    """Go down to some place and change what is there."""
    places = list(whole) if isinstance(whole, dict) else list(range(len(whole)))
    if not places:
        return
    at = rng.choice(places)
    inner = whole[at]
    if isinstance(inner, dict | list) and inner and rng.random() < 0.85:
        _change(rng, inner)
    elif isinstance(whole, list) and rng.random() < 0.4:
        if rng.random() < 0.5:
            del whole[at]
        else:
            whole.insert(at, deepcopy(rng.choice(whole)))
    elif isinstance(inner, bool):
        whole[at] = not inner
    elif isinstance(inner, int):
        near = (inner + 1, inner - 1, 0, 1, 2, -1, -inner, 2 * inner, 2**40, 2**70, rng.randint(-3, 12))
        whole[at] = rng.choice(near)
    elif isinstance(inner, str) and at == "axis":
        whole[at] = "columns" if inner == "rows" else "rows"
    elif isinstance(whole, dict) and rng.random() < 0.3:
        del whole[at]


def beyond(problem: Problem) -> Iterator[Problem]:
    """The same with something of which no certificate speaks."""
    strip, first = problem.strips[0], problem.parts[0]
    yield replace(problem, strips=(replace(strip, length=2000),))
    yield replace(problem, strips=(strip, replace(strip, length=2000)))
    yield replace(problem, parts=(replace(first, value=3), *problem.parts[1:]))
    yield replace(problem, choices=(Choice("seams", ((0,), (len(problem.parts) - 1,))),))
    if any(part.match is not None for part in problem.parts):
        yield Problem((replace(strip, repeat=strip.repeat),), (*problem.parts, Part("more", 1, 1, value=1)))


def proves(problem: Problem, said: dict[str, Any]) -> int:
    """What the check makes of it; 0 of what is no certificate."""
    try:
        return proven_length(problem, said)
    except NO_FORM:
        return 0


def trial(seed: int) -> tuple[int, int, list[str]]:
    """How many proofs came and how many forged ones were tried of one problem, and what went wrong."""
    rng, wrong = random.Random(seed), list[str]()
    problem = problem_of(rng)
    optimum = optimal_length(problem)
    if optimum is None:
        return 0, 0, wrong
    count = tried = 0
    if any(True for _ in proofs_of(problem, optimum + 1)):
        wrong.append("a proof above the optimum was written")
    for said in proofs_of(problem, optimum):
        count += 1
        if proves(problem, said) != optimum:
            wrong.append(f"{said['rule']} proves {proves(problem, said)}, not {optimum}")
        for _ in range(CHANGES):
            tried += 1
            changed = forged(rng, said)
            if proves(problem, changed) > optimum:
                wrong.append(f"forged: {changed}")
        other = problem_of(rng)
        best = optimal_length(other)
        tried += 1
        if best is not None and proves(other, said) > best:
            wrong.append("of another problem")
        for past in beyond(problem):
            tried += 1
            if proves(past, said):
                wrong.append("beyond its premises")
    return count, tried, wrong


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many certificates were put to the check, and the seeds of problems with a wrong one."""
    tried, wrong = 0, list[int]()
    for number in range(seed, seed + cases):
        proofs, forgeries, faults = trial(number)
        tried += proofs + forgeries
        if faults:
            wrong.append(number)
    return tried, wrong
