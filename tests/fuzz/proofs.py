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
from collections.abc import Callable, Iterator
from copy import deepcopy
from dataclasses import replace
from typing import Any

from nesting.check.proof import proven_length
from nesting.check.verdict import NO_FORM
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
            change_within(rng, changed["cases"][at])
        return changed
    changed["cases"] = _cases_of(changed)
    if rng.random() < 0.5:
        # What fits together otherwise, with a claim that is too long now and then.
        for lie in rng.sample(LIES, rng.choice((1, 1, 2, 3))):
            lie(rng, changed)
        if rng.random() < 0.5:
            changed["refuted"] += rng.randint(1, 3)
    else:
        for _ in range(rng.choice((1, 1, 2, 5))):
            change_within(rng, changed)
    if isinstance(changed.get("cases"), list):
        text = json.dumps(changed["cases"]).encode()
        changed["cases"] = base64.b85encode(zlib.compress(text)).decode()
    return changed


def change_within(rng: random.Random, whole: Any) -> None:
    """Go down to some place and change what is there."""
    places = list(whole) if isinstance(whole, dict) else list(range(len(whole)))
    if not places:
        return
    at = rng.choice(places)
    inner = whole[at]
    if isinstance(inner, dict | list) and inner and rng.random() < 0.85:
        change_within(rng, inner)
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


def _drop_a_range(rng: random.Random, said: dict[str, Any]) -> None:
    """A range gives way to another of its kind that is not as good."""
    if len(said["stands"]) < 2:
        return
    gone, instead = rng.sample(range(len(said["stands"])), 2)
    said["dropped"].append([gone, instead])
    _forget(said, gone)


def _forget(said: dict[str, Any], gone: int) -> None:
    """No way to stand is in that range any more."""
    ways = [[group, [[at for at in each if at != gone] for each in ranges]] for group, ranges in said["ways"]]
    said["ways"] = [way for way in ways if all(way[1])]


def _leave_a_range_out(rng: random.Random, said: dict[str, Any]) -> None:
    """A range is not named at all."""
    if not said["stands"]:
        return
    gone = rng.randrange(len(said["stands"]))
    _forget(said, gone)

    def moved(at: int) -> int:
        return at - (at > gone)

    del said["stands"][gone]
    said["dropped"] = [[moved(a), moved(b)] for a, b in said["dropped"] if gone not in (a, b)]
    said["ways"] = [
        [group, [[moved(at) for at in each] for each in ranges]] for group, ranges in said["ways"]
    ]


def _narrow_a_range(rng: random.Random, said: dict[str, Any]) -> None:
    """Some of its places are left out."""
    if said["stands"]:
        one, by = rng.choice(said["stands"]), rng.randint(1, 2)
        one[1], one[2] = rng.choice(((one[1] + by, one[2]), (one[1], one[2] - by)))


def _raise_a_price(rng: random.Random, said: dict[str, Any]) -> None:
    """Waiting costs more than the pattern makes wait."""
    priced = [rule for case in said["cases"] for rule in case.get("rules", ())]
    if priced:
        rule, groups = rng.choice(priced), len(said["groups"])
        for key in rng.sample(("before", "after"), rng.choice((1, 2))):
            rule.setdefault(key, [0] * groups)[rng.randrange(groups)] += rng.choice((-1, 1, 1, 5))
        rule.setdefault("before", [0] * groups)
        rule.setdefault("after", [0] * groups)
        rule[rng.choice(("first", "last"))] = rng.randint(-2, 3)


def _raise_a_weight(rng: random.Random, said: dict[str, Any]) -> None:
    """A rule that rows do not keep."""
    if said["rules"]:
        rule = rng.choice(said["rules"])
        if rng.random() < 0.5:
            rule["most"] = max(1, rule["most"] - rng.randint(1, max(1, rule["most"] // 3)))
        else:
            at = rng.randrange(len(rule["weights"]))
            rule["weights"][at] += rng.randint(1, max(1, rule["most"] // 2))
        rule["placed"] = rng.choice((rule["placed"], True))


def _settle_otherwise(rng: random.Random, said: dict[str, Any]) -> None:
    """Phases that were not gone through, or less than all of them."""
    case = rng.choice(said["cases"] or [{"phases": {}}])
    if case["phases"] and rng.random() < 0.5:
        level = rng.choice(sorted(case["phases"]))
        case["phases"][level] += rng.choice((-1, 1))
    elif len(said["cases"]) > 1:
        said["cases"].remove(case)
    if rng.random() < 0.3:
        case.setdefault("log", [])


def _name_another_case(rng: random.Random, said: dict[str, Any]) -> None:
    """A row is given up as a case that was met, or was not."""
    logs = [case["log"] for case in said["cases"] if case.get("log")]
    if logs:
        log = rng.choice(logs)
        at = rng.randrange(len(log))
        log[at:] = [rng.choice((-1, -2, -rng.randint(1, 9), 1, 2, 3))]


LIES = (
    _drop_a_range, _leave_a_range_out, _narrow_a_range, _raise_a_price, _raise_a_weight, _settle_otherwise,
    _name_another_case,
)  # fmt: skip


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
    return counted(trial, cases, seed)


def counted(
    trial: Callable[[int], tuple[int, int, list[str]]], cases: int, seed: int
) -> tuple[int, list[int]]:
    """The same of any trial, which tells of a seed its proofs, its forgeries and what went wrong."""
    tried, wrong = 0, list[int]()
    for number in range(seed, seed + cases):
        proofs, forgeries, faults = trial(number)
        tried += proofs + forgeries
        if faults:
            wrong.append(number)
    return tried, wrong
