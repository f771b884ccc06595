"""Whether what a file says holds: layouts by two judges, bounds by their certificates."""

from __future__ import annotations

import json
from collections.abc import Iterator

from nesting.check import check_bound, check_layout
from nesting.check.proof import proven_length
from nesting.check.proof_stock import proven_stages
from nesting.errors import NestingError
from nesting.packing import Bound
from nesting.packing.result import Aim
from tests.benchmarks import plain_check
from tests.benchmarks.set_entries import Claim, Entry, Family
from tests.benchmarks.set_writing import written

REPLAYED = "re-proved from its certificate"


def faults(entry: Entry) -> list[str]:
    """What does not hold of an instance; empty where all does."""
    return [*_of_layout(entry), *_of_bounds(entry)]


def _of_layout(entry: Entry) -> Iterator[str]:
    """The check of the program and the plain one; neither is told what the other found."""
    known = entry.known
    if known is None:
        if entry.closed or entry.runs:
            yield "no layout, though it was searched"
        return
    for broken in check_layout(entry.problem, known.layout, known.length):
        yield f"layout: {broken}"
    # As the file has it, for the plain judge reads nothing else.
    (form,) = json.loads(written(Family(entry.family, "-", (entry,))))["instances"]
    for fault in plain_check.faults(form, entry.across):
        yield f"layout: {fault}"
    on_hand = any(strip.length is not None for strip in entry.problem.strips)
    if on_hand != bool(known.goals):
        yield "goals: expected where there are lengths on hand, and only there"
    for goal in known.goals:
        least = goal.name not in ("value", "extras")
        if (goal.bound > goal.value) if least else (goal.bound < goal.value):
            yield f"{goal.name}: bound {goal.bound} contradicts {goal.value}"
    stages = [
        Aim(goal.name, goal.value, goal.bound, goal.name in ("value", "extras"), goal.by, goal.certificate)
        for goal in known.goals
    ]
    for goal, proven in zip(known.goals, proven_stages(entry.problem, stages), strict=True):
        if goal.certificate is not None and not proven:
            yield f"{goal.name}: its certificate does not prove {goal.bound}"
    if known.goals and (known.goals[0].name, known.goals[0].value) != ("to buy", known.length):
        yield "goals: the first is what is to buy, which is the length"


def _of_bounds(entry: Entry) -> Iterator[str]:
    for at, claim in enumerate(entry.bounds):
        place = f"bounds[{at}]"
        if entry.known is not None and claim.length > entry.known.length:
            yield f"{place}: {claim.length} is above the layout of {entry.known.length}"
        if (claim.certificate is not None or bool(claim.left_out)) != (claim.rests_on == REPLAYED):
            yield f'{place}: rests on "{claim.rests_on}", which its certificate does not bear out'
        yield from _of_certificate(entry, claim, place)
    if len(entry.bounds) == 2:
        first, second = entry.bounds
        if first.certificate is not None or second.certificate is None or second.length > first.length:
            yield "bounds: a second one is lower, and has the certificate that the first lacks"


def _of_certificate(entry: Entry, claim: Claim, place: str) -> Iterator[str]:
    if claim.certificate is None:
        return
    said = Bound(claim.length, claim.by, dict(claim.certificate))
    try:
        for broken in check_bound(entry.problem, said, across=entry.across):
            yield f"{place}: {broken}"
    except NestingError as error:
        yield f"{place}: {error}"


def replays(entry: Entry, claim: Claim) -> int:
    """The length that the certificate of a bound proves; 0 where it has none."""
    if claim.certificate is None:
        return 0
    return proven_length(entry.problem, dict(claim.certificate), across=entry.across)
