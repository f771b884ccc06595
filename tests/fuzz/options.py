"""Proofs over all options of choices of tiny problems, and the same forged, against the optimum.

Each problem is asked for the proof that no selection is shorter than brute force's least over all of them. A
proof that comes must replay and prove no more; so must what becomes of it when numbers in it are changed, a
case is exchanged, said to be impossible or met before; the proof of the problem with an option left out, or
of another problem; and weights that are random, negative or huge.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator
from copy import deepcopy
from dataclasses import replace
from typing import Any

from nesting.packing import Choice, Problem
from nesting.packing.choices.option_proof import proof_over_options
from nesting.packing.turn import Budget
from tests.fuzz.proofs import counted, forged, proves
from tests.test_choosing import least_of_all, tiny_choices

#: Forged ones of each kind for each problem.
CHANGES = 3
#: Ranges of weights: random, negative, huge.
WEIGHTS = ((0, 9), (-9, 9), (2**40, 2**70))


def problem_of(rng: random.Random) -> Problem:
    """Few parts, so that trying every selection takes a moment."""
    while True:
        problem = tiny_choices(
            rng,
            repeat=rng.random() < 0.4,
            turns=rng.random() < 0.3,
            arrows=rng.random() < 0.2,
            start=rng.random() < 0.2,
        )
        if problem.choices:
            return problem


def written(problem: Problem, length: int) -> dict[str, Any] | None:
    """The proof of a length, as a document holds it."""
    bound = proof_over_options(problem, length, Budget(0, 5.0))
    return (
        None
        if bound is None or bound.certificate is None
        else json.loads(json.dumps(dict(bound.certificate)))
    )


def with_less(rng: random.Random, problem: Problem) -> Problem | None:
    """The problem without one of its options."""
    open_to = [at for at, choice in enumerate(problem.choices) if len(choice.options) > 1]
    if not open_to:
        return None
    at = rng.choice(open_to)
    options = list(problem.choices[at].options)
    options.pop(rng.randrange(len(options)))
    choices = list(problem.choices)
    choices[at] = Choice(choices[at].name, tuple(options))
    return replace(problem, choices=tuple(choices))


def spoiled(rng: random.Random, said: dict[str, Any]) -> dict[str, Any]:
    """The proof with something in it that is not so."""
    changed = deepcopy(said)
    if changed["rule"] == "options" and rng.random() < 0.85:
        cases = changed["cases"]
        at = rng.randrange(len(cases))
        lie = rng.choice(("exchanged", "impossible", "met", "less", "more", "choice", "within", "within"))
        if lie == "exchanged":
            cases[at] = deepcopy(rng.choice(cases))
        elif lie == "impossible":
            cases[at] = None
        elif lie == "met":
            cases[at] = {"rule": "met before"}
        elif lie == "less":
            del cases[at]
        elif lie == "more":
            cases.insert(at, deepcopy(rng.choice(cases)))
        elif lie == "choice":
            changed["choice"] = rng.choice((-1, 0, 1, 2, 2**70, True, "0"))
        elif cases[at] is not None:
            cases[at] = spoiled(rng, cases[at])
        return changed
    if changed["rule"] in ("directions", "rows in one piece"):
        return forged(rng, changed)
    if entries := changed.get("weights"):
        entry = rng.choice(entries)
        key = rng.choice(sorted(entry))
        entry[key] = rng.choice((-1, 0, 1, 2, 1000, 2**50)) * (entry[key] or 1)
    if "refuted" in changed and rng.random() < 0.5:
        changed["refuted"] += rng.randint(1, 5)
    return changed


def made_up(rng: random.Random, problem: Problem, depth: int = 0) -> dict[str, Any]:
    """Weights of no meaning, in cases or not."""
    if problem.choices and depth < 3 and rng.random() < 0.5:
        choice = rng.randrange(len(problem.choices))
        many = len(problem.choices[choice].options)
        cases = [rng.choice((None, made_up(rng, problem, depth + 1))) for _ in range(many)]
        return {"rule": "options", "choice": choice, "cases": cases}
    low, high = rng.choice(WEIGHTS)
    entries = [
        {"part": part, "upright": rng.randint(low, high), "turned": rng.randint(low, high)}
        for part in range(len(problem.parts))
    ]
    rule = rng.choice(("lightest options", "lightest options", "row weights"))
    return {"rule": rule, "weights": entries}


def trial(seed: int) -> tuple[int, int, list[str]]:
    """How many proofs came and how many forged ones were tried of one problem, and what went wrong."""
    rng, wrong = random.Random(seed), list[str]()
    problem = problem_of(rng)
    optimum = least_of_all(problem)
    if optimum is None:
        return 0, 0, wrong
    if written(problem, optimum + 1) is not None:
        wrong.append("a proof above the optimum was written")
    said, tried = written(problem, optimum), 0
    if said is not None and proves(problem, said) != optimum:
        wrong.append(f"proves {proves(problem, said)}, not {optimum}: {said}")
    for kind, false in _forged(rng, problem, said):
        tried += 1
        if proves(problem, false) > optimum:
            wrong.append(f"{kind}: {false}")
    if said is not None:
        other = problem_of(rng)
        best = least_of_all(other)
        tried += 1
        if best is not None and proves(other, said) > best:
            wrong.append("of another problem")
    return int(said is not None), tried, wrong


def _forged(
    rng: random.Random, problem: Problem, said: dict[str, Any] | None
) -> Iterator[tuple[str, dict[str, Any]]]:
    for _ in range(CHANGES):
        if said is not None:
            yield "changed", spoiled(rng, said)
        yield "made up", made_up(rng, problem)
        # What is true of fewer options may be more than is true of all.
        less = with_less(rng, problem)
        most = None if less is None else least_of_all(less)
        false = None if less is None or most is None else written(less, most)
        if false is not None:
            yield "an option dropped", false
        if false is not None and false["rule"] == "options":
            longer = deepcopy(false)
            cases = longer["cases"]
            cases.insert(rng.randrange(len(cases) + 1), rng.choice(cases))
            yield "an option dropped, a case made twice", longer


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many certificates were put to the check, and the seeds of problems with a wrong one."""
    return counted(trial, cases, seed)
