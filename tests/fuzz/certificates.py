"""Forged certificates against the true optimum: none may prove a length above it.

Weights are random, negative, huge (up to 2**70), of another problem, or the engine's own with something
changed; counts and lengths are out of their ranges now and then; and some problems are beyond what
certificates speak of at all (a length on hand, an optional part, choices), where nothing may be proved.
"""

from __future__ import annotations

import random
from dataclasses import replace
from typing import Any

from nesting.check import check_bound
from nesting.check.proof import proven_length
from nesting.errors import NestingError
from nesting.packing import Bound, Choice, Problem, pack
from tests.brute_force import optimal_length
from tests.instances import tiny_problem

RULES = ("row weights", "placed row weights", "column weights", "scale products", "band weights", "band sums")
WAYS = ("upright", "turned", "upright_along", "turned_along")
KINDS = ("random", "negative", "huge", "of another problem", "changed", "beyond the premises")


def problem_of(rng: random.Random) -> Problem:
    """Few parts, so that trying everything takes a moment."""
    return tiny_problem(
        rng, rng.random() < 0.5, parts=rng.randint(2, 3), turns=rng.random() < 0.3, arrows=False,
        flaws=int(rng.random() < 0.2), start=rng.random() < 0.3, margins=rng.random() < 0.3,
    )  # fmt: skip


def forged(rng: random.Random, problem: Problem, kind: str) -> dict[str, Any]:
    """A certificate of that kind for a problem."""
    if kind in ("of another problem", "changed"):
        source = problem if kind == "changed" else problem_of(rng)
        said = pack(source, workers=1, work_limit=0.02).bound.certificate
        if said is not None:
            return _changed(rng, dict(said)) if kind == "changed" else dict(said)
    low, high = {"negative": (-9, 9), "huge": (2**40, 2**70)}.get(kind, (0, 9))
    entries = [
        {"part": part} | {way: rng.randint(low, high) for way in WAYS} for part in range(len(problem.parts))
    ]
    for entry in entries:
        if rng.random() < 0.3:
            entry["copies"] = rng.choice((-3, 0, 1, 2, 2**62, -(2**61)))
    if rng.random() < 0.2:
        entries.append(dict(rng.choice(entries)))
    most = 30 if rng.random() < 0.8 else 2**65
    return {
        "rule": rng.choice(RULES),
        "weights": entries,
        "lone": rng.sample(range(len(problem.parts)), rng.choice((0, 0, 0, 1))),
        "refuted": rng.randint(-5, most),
        "longest": rng.randint(-5, 60),
    }


def _changed(rng: random.Random, said: dict[str, Any]) -> dict[str, Any]:
    """The engine's own certificate with one thing changed."""
    entries = [dict(entry) for entry in said["weights"]]
    if entries and rng.random() < 0.7:
        entry = rng.choice(entries)
        key = rng.choice(sorted(entry.keys() - {"part"}) or ["upright"])
        entry[key] = rng.choice((-1, 1, 2, 1000)) * (entry.get(key) or 1)
    elif "refuted" in said:
        said["refuted"] += rng.randint(1, 9)
    return said | {"weights": entries, "rule": rng.choice((said["rule"], *RULES))}


def beyond(rng: random.Random, problem: Problem) -> Problem:
    """The same with something of which no certificate speaks."""
    first = problem.parts[0]
    strip = problem.strips[0]
    return rng.choice(
        (
            replace(problem, strips=(replace(strip, length=200),)),
            replace(problem, strips=(strip, replace(strip, length=200))),
            replace(problem, parts=(replace(first, value=3), *problem.parts[1:])),
            replace(problem, choices=(Choice("seams", ((0,), (1,))),)),
        )
    )


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many forged certificates were put to the check, and the seeds of those accepted wrongly."""
    tried, accepted = 0, list[int]()
    for number in range(seed, seed + cases):
        rng = random.Random(number)
        problem, kind = problem_of(rng), KINDS[number % len(KINDS)]
        optimum = optimal_length(problem)
        if optimum is None:
            continue
        tried += 1
        said, claim = forged(rng, problem, kind), optimum + 1
        if kind == "beyond the premises":
            problem, claim = beyond(rng, problem), 1
        if _accepted(problem, said, claim):
            accepted.append(number)
    return tried, accepted


def _accepted(problem: Problem, said: dict[str, Any], claim: int) -> bool:
    """Whether the check takes a bound of ``claim``, which is false, or the proof reaches as far."""
    try:
        broken = check_bound(problem, Bound(claim, "forged", said))
    except NestingError:
        return False
    return not broken or proven_length(problem, said) >= claim
