"""Proofs of the stages of tiny problems with lengths on hand, and the same forged, against every layout.

Each problem is packed; of each stage that is closed a proof is asked for. One that comes must replay, and
must prove nothing of a bound that brute force knows a better layout than: not as it is, not with numbers,
names and cases in it changed at random, not under other values of the stages before, not put to another
problem; nor may weights and cases that were made up.
"""

from __future__ import annotations

import json
import random
from collections.abc import Iterator, Sequence
from copy import deepcopy
from dataclasses import replace
from typing import Any

from nesting.check.proof_stock import proven_stage
from nesting.packing import Aim, Problem, pack
from nesting.packing.on_hand.stock_cases import stage_proof
from nesting.packing.turn import Budget
from tests.fuzz.proofs import change_within, counted
from tests.stock_brute_force import Stages, every_outcome
from tests.stock_instances import tiny_stock
from tests.test_stock import grouped

#: Changes of one certificate.
CHANGES = 6


def problem_of(rng: random.Random) -> Problem:
    """Few copies, so that trying everything takes a moment."""
    return grouped(rng) if rng.random() < 0.4 else tiny_stock(rng)


def written(problem: Problem, stages: Sequence[Aim], work: float = 2.0) -> dict[str, Any] | None:
    """The proof of the last stage, as a document holds it."""
    said = stage_proof(problem, stages, Budget(0, work))
    return None if said is None else json.loads(json.dumps(said))


def proves(problem: Problem, stages: Sequence[Aim], said: dict[str, Any]) -> bool:
    """What the check makes of it."""
    return proven_stage(problem, [*stages[:-1], replace(stages[-1], certificate=said)])


def bettered(outcomes: Sequence[Stages], stages: Sequence[Aim]) -> bool:
    """Whether a layout that is as good in all stages but the last is better than the last one's bound."""

    def as_good(outcome: Stages) -> bool:
        held = stages[:-1]
        return all(
            outcome[stage.name] >= stage.value if stage.most else outcome[stage.name] <= stage.value
            for stage in held
        )

    last = stages[-1]
    reached = [outcome[last.name] for outcome in outcomes if as_good(outcome)]
    return any(worth > last.bound if last.most else worth < last.bound for worth in reached)


def nearer(rng: random.Random, stages: Sequence[Aim]) -> list[Aim]:
    """The same with a bound of the last stage that says more, or with other values held."""
    last, step = stages[-1], rng.choice((0, 1, 1, 1, 2, 5))
    bound = last.bound - step if last.most else last.bound + step
    held = [replace(stage, value=stage.value + rng.choice((0, 0, 0, -1, 1, 3))) for stage in stages[:-1]]
    return [*held, replace(last, bound=bound, certificate=None)]


def forged(rng: random.Random, said: dict[str, Any]) -> dict[str, Any]:
    """The certificate with something in it that is not so."""
    changed = deepcopy(said)
    for _ in range(rng.choice((1, 1, 2, 4))):
        lie = rng.choice(("anything", "anything", "case", "number", "filled"))
        cases = changed.get("cases")
        if lie == "case" and isinstance(cases, list) and cases:
            at = rng.randrange(len(cases))
            if rng.random() < 0.5:
                del cases[at:]
            else:
                cases[at] = rng.choice(({"sums": []}, deepcopy(rng.choice(cases)), {"filled": 0}))
        elif lie == "number" and _last_sums(cases):
            entry = rng.randrange(len(cases[-1]["sums"]))
            times = rng.choice((-1, 0, 1, 2, rng.randint(-99, 99), 2**40, 2**120))
            cases[-1]["sums"][entry] = [rng.choice((["better"], ["area", 0], ["cut", 0])), times]
        elif lie == "filled" and isinstance(changed.get("filled"), list) and changed["filled"]:
            held = rng.choice(changed["filled"])
            if isinstance(held, dict):
                held["longest"] = rng.randint(-1, 12)
        else:
            change_within(rng, changed)
    return changed


def _last_sums(cases: Any) -> bool:
    """Whether the last case still has sums after all that was changed."""
    last = cases[-1] if isinstance(cases, list) and cases else None
    return isinstance(last, dict) and isinstance(last.get("sums"), list) and bool(last["sums"])


def made_up(rng: random.Random, problem: Problem) -> dict[str, Any]:
    """Rows of any kind times any number."""

    def number() -> int:
        return rng.choice((rng.randint(-3, 9), rng.randint(0, 2), 2**40, -(2**60), 2**110))

    ways = [(part, turned) for part in range(len(problem.parts)) for turned in (0, 1)]
    weights = [
        {
            "stretch": rng.randrange(len(problem.strips)),
            "across": rng.choice((None, [(*way, number()) for way in ways])),
            "along": rng.choice((None, [(*way, number()) for way in ways])),
        }
    ]
    kinds = ("laid", "picked", "one", "used", "reaches", "ends", "starts", "cut", "area", "room", "weighed")
    rows: list[list[Any]] = [["better"]]
    for _ in range(rng.randint(0, 6)):
        kind = rng.choice(kinds)
        many = 3 if kind in ("used", "reaches") else 1
        rows.append([kind, *(rng.randrange(4) for _ in range(many))])
    sums = [(row, number()) for row in rows]
    return {"rule": "stock cases", "weights": weights, "filled": [], "cases": [{"sums": sums}]}


def trial(seed: int) -> tuple[int, int, list[str]]:
    """How many proofs came and how many forged ones were tried of one problem, and what went wrong."""
    rng, wrong = random.Random(seed), list[str]()
    problem = problem_of(rng)
    outcomes = list(every_outcome(problem))
    result = pack(problem, workers=1, work_limit=2)
    if not outcomes or not result.stages:
        return 0, 0, wrong
    count = tried = 0
    for at in range(len(result.stages)):
        stages = [replace(stage, bound=stage.value) for stage in result.stages[: at + 1]]
        said = None if bettered(outcomes, stages) else written(problem, stages)
        count += said is not None
        if said is not None and not proves(problem, stages, said):
            wrong.append(f"does not replay: {stages[-1].name}")
        for kind, claim, false in _forged(rng, problem, stages, said):
            tried += 1
            if bettered(outcomes, claim) and proves(problem, claim, false):
                wrong.append(f"{kind}: {claim[-1].name} {false}")
        if said is not None:
            other = problem_of(rng)
            elsewhere = list(every_outcome(other))
            tried += 1
            names = {name for outcome in elsewhere[:1] for name in outcome}
            if {stage.name for stage in stages} <= names and bettered(elsewhere, stages):
                wrong += ["of another problem"] if proves(other, stages, said) else []
    return count, tried, wrong


def _forged(
    rng: random.Random, problem: Problem, stages: Sequence[Aim], said: dict[str, Any] | None
) -> Iterator[tuple[str, list[Aim], dict[str, Any]]]:
    for _ in range(CHANGES):
        claim = nearer(rng, stages)
        yield "made up", claim, made_up(rng, problem)
        more = written(problem, claim, 0.5)
        if more is not None:
            yield "written", claim, more
        for true in (said, more):
            if true is not None:
                yield "as it is", claim, true
                yield "changed", nearer(rng, stages), forged(rng, true)


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many certificates were put to the check, and the seeds of problems with a wrong one."""
    return counted(trial, cases, seed)
