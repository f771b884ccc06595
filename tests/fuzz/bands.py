"""Proofs by sums of bands, and the same forged, against all layouts in bands there are.

Each tiny problem is asked for the proof that nothing cut across first is shorter than the least of all. One
that comes must replay and prove no more; so must weights that are random, negative, huge, changed, or of
another problem, and lengths up to which bands are said to be weighed that are not so.
"""

from __future__ import annotations

import itertools
import json
import random
from copy import deepcopy
from dataclasses import replace
from typing import Any

from nesting.check.proof import proven_length
from nesting.check.verdict import NO_FORM
from nesting.packing import Part, Problem, Strip
from nesting.packing.guillotine.band_proof import proof_in_bands
from nesting.packing.turn import Budget
from tests.fuzz.proofs import counted
from tests.test_across import shortest

#: Forged ones of each kind for each problem.
CHANGES = 3
WEIGHTS = ((0, 9), (-9, 9), (2**40, 2**70))
RULES = ("band sums", "band sums", "band weights")


def problem_of(rng: random.Random) -> Problem:
    """Up to five parts of plain fabric, some of which may turn."""
    width = rng.randint(5, 11)
    step = rng.choice((1, 1, 3))
    parts = tuple(
        Part(
            f"p{at}", rng.randint(1, width), step * rng.randint(1, 9),
            copies=rng.choice((1, 1, 2)), turnable=rng.random() < 0.2,
        )
        for at in range(rng.randint(1, 3))
    )  # fmt: skip
    return Problem((Strip(width),), parts)


def least_of(problem: Problem) -> int:
    """The least length of a layout cut across first, by trying all."""
    width = problem.strips[0].width
    single = [part for part in problem.parts for _ in range(part.copies)]
    ways = [
        [part, replace(part, width=part.length, length=part.width)]
        if part.turnable and part.length <= width
        else [part]
        for part in single
    ]
    return min(shortest(laid, width) for laid in itertools.product(*ways))


def written(problem: Problem, length: int) -> dict[str, Any] | None:
    """The proof of a length, as a document holds it."""
    bound = proof_in_bands(problem, length, Budget(0, 5.0))
    said = None if bound is None else bound.certificate
    return None if said is None else json.loads(json.dumps(dict(said)))


def proves(problem: Problem, said: dict[str, Any]) -> int:
    """What the check makes of it, of layouts cut across first; 0 of what is no certificate."""
    try:
        return proven_length(problem, said, across=True)
    except NO_FORM:
        return 0


def made_up(rng: random.Random, problem: Problem) -> dict[str, Any]:
    """Weights of no meaning."""
    low, high = rng.choice(WEIGHTS)
    entries = [
        {"part": part, "upright": rng.randint(low, high), "turned": rng.randint(low, high)}
        for part in range(len(problem.parts))
    ]
    return {"rule": rng.choice(RULES), "weights": entries, "lone": [], "longest": rng.randint(-3, 90)}


def spoiled(rng: random.Random, said: dict[str, Any]) -> dict[str, Any]:
    """The proof with something in it that is not so."""
    changed = deepcopy(said)
    if changed["weights"] and rng.random() < 0.6:
        entry = rng.choice(changed["weights"])
        key = rng.choice(sorted(entry))
        entry[key] = rng.choice((-1, 0, 1, 2, 1000, 2**50)) * (entry[key] or 1)
    elif rng.random() < 0.5:
        changed["longest"] += rng.choice((-2, -1, 1, 2, 10, 2**60))
    else:
        changed["lone"] = rng.choice(([], [0], [0, 0], [-1]))
    return changed | {"rule": rng.choice((said["rule"], *RULES))}


def trial(seed: int) -> tuple[int, int, list[str]]:
    """How many proofs came and how many forged ones were tried of one problem, and what went wrong."""
    rng, wrong, tried = random.Random(seed), list[str](), 0
    problem = problem_of(rng)
    while sum(part.copies for part in problem.parts) > 5:
        problem = problem_of(rng)
    best = least_of(problem)
    if written(problem, best + 1) is not None:
        wrong.append("a proof above the least was written")
    said = written(problem, best)
    if said is not None and proves(problem, said) != best:
        wrong.append(f"proves {proves(problem, said)}, not {best}: {said}")
    other = written(mixed := problem_of(rng), rng.randint(1, 9 * len(mixed.parts)))
    false = [made_up(rng, problem) for _ in range(CHANGES)]
    false += [spoiled(rng, each) for each in (said, other) if each is not None for _ in range(CHANGES)]
    for one in (*false, *([] if other is None else [other])):
        tried += 1
        if proves(problem, one) > best:
            wrong.append(f"forged: {one}")
    if said is not None and proven_length(problem, said):
        wrong.append("of layouts that are cut freely")
    return int(said is not None), tried, wrong


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many certificates were put to the check, and the seeds of problems with a wrong one."""
    return counted(trial, cases, seed)
