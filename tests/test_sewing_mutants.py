"""No operation holds a finished size, and no distance of one can be wrong without being seen."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction

import pytest
from orders import inch
from test_construction import CASES, Case, cut_only, job_of

from nesting.construction import bench_of, window_facts
from nesting.cutting.measures import lying_length
from nesting.errors import DoesNotFitError, JobError
from nesting.order.job import Job
from nesting.sewing import OPERATIONS, Operation, Sewing, SewingError, sewn
from nesting.sewing.folding import SAME
from tests.drapes import drawn_job
from tests.seeds import seeds, some

#: What a hand is told of lengths: how far from an edge, how deep, how much is cut off, turned or drawn out.
TOLD = {
    "trim.off", "join.allowance", "chalk.inward", "fold.turns", "tube.allowance", "insert.at", "attach.at",
    "attach.upper", "attach.lower", "set.at", "set.down", "set.size", "stitch.below", "pleat.lines",
    "draw.tape", "draw.by", "face.allowance", "lay.up", "lay.inside", "line round.allowance",
    "line round.left", "line round.right", "line round.up",
}  # fmt: skip
EIGHTH = Fraction(inch("1/8"))


def test_the_lengths_of_operations_are_those_a_hand_is_told() -> None:
    found = {
        f"{word}.{each.name}"
        for word, kind in OPERATIONS.items()
        for each in fields(kind)
        if "Fraction" in str(each.type)
    }
    assert found == TOLD


def lengths(operation: Operation) -> Iterator[Fraction]:
    """Every length an operation holds."""
    for each in fields(operation):  # type: ignore[arg-type]
        yield from _flat(getattr(operation, each.name))


def _flat(value: object) -> Iterator[Fraction]:
    if isinstance(value, Fraction):
        yield value
    elif isinstance(value, tuple):
        for one in value:
            yield from _flat(one)


@pytest.mark.parametrize("case", some(CASES, 60), ids=str)
def test_no_operation_holds_a_finished_size(case: Case) -> None:
    plan = cut_only(job_of(case))
    (facts,) = window_facts(plan)
    sizes = {lying_length(facts.making).total}
    sizes |= {size for panel in facts.panels for size in (panel.flat, panel.finished, panel.length)}
    held = [
        (operation, length)
        for step in plan.sewing[0].steps
        for operation in step.operations
        for length in lengths(operation)
        if any(abs(length - size) <= SAME for size in sizes)
    ]
    assert held == []


def mutants(operation: Operation) -> Iterator[tuple[str, Operation]]:
    """The operation with each of its lengths an eighth of an inch more, and less."""
    for each in fields(operation):  # type: ignore[arg-type]
        for wrong in _wrong(getattr(operation, each.name)):
            made: Operation = replace(operation, **{each.name: wrong})  # type: ignore[type-var]
            yield f"{operation.word}.{each.name}", made


def _wrong(value: object) -> Iterator[object]:
    if isinstance(value, Fraction):
        yield from (value + EIGHTH, value - EIGHTH)
    elif isinstance(value, tuple):
        for at, one in enumerate(value):
            yield from ((*value[:at], wrong, *value[at + 1 :]) for wrong in _wrong(one))


def mutated(sewing: Sewing) -> Iterator[tuple[str, Sewing]]:
    """The sewing order with one length of one operation wrong."""
    for number, step in enumerate(sewing.steps):
        for at, operation in enumerate(step.operations):
            for name, wrong in mutants(operation):
                changed = replace(step, operations=(*step.operations[:at], wrong, *step.operations[at + 1 :]))
                steps = (*sewing.steps[:number], changed, *sewing.steps[number + 1 :])
                yield f"{name} in {step.key}", replace(sewing, steps=steps)


def survivors(job: Job) -> Counter[str]:
    """Wrong lengths that neither stop the sewing nor change what comes out."""
    plan = cut_only(job)
    (facts,), (sewing,) = window_facts(plan), plan.sewing
    bench, found = bench_of(facts), Counter[str]()
    good = sewn(bench, sewing)
    for name, wrong in mutated(sewing):
        try:
            found[name] += sewn(bench, wrong).works == good.works
        except SewingError:
            found[name] += 0
    assert found
    return +found


@pytest.mark.parametrize("case", some(CASES, 14, 120), ids=str)
def test_a_wrong_length_of_any_operation_is_seen(case: Case) -> None:
    assert survivors(job_of(case)) == {}


@pytest.mark.parametrize("seed", seeds(10, 60))
def test_a_wrong_length_of_any_operation_of_any_drape_is_seen(seed: int) -> None:
    job = drawn_job(seed)
    try:
        cut_only(job)
    except (DoesNotFitError, JobError):
        return
    assert survivors(job) == {}
