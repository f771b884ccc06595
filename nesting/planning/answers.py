"""What each answer to a question about a print would cost, worked out as the plan itself is."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Final

from nesting.errors import NestingError
from nesting.order.job import Bolt, Job
from nesting.plan.plan import FabricLayout
from nesting.plan.purchase import Buy
from nesting.plan.question import Question
from nesting.planning.doubts import OpenQuestion, open_questions
from nesting.planning.effort import Effort
from nesting.planning.laying import layout_of
from nesting.planning.ways import best_of, cases_of

#: Each answer is searched for with so much of what there is for the plan, and no more seconds.
PART: Final = 0.05
MOST: Final = 1.0


def set_aside(effort: Effort, questions: int) -> tuple[Effort, Effort]:
    """What is left for the plan itself, and what each of so many answers may take."""
    seconds = min(MOST, PART * effort.seconds)
    work = None if effort.work is None else PART * effort.work
    each = replace(effort, seconds=seconds, work=work, listener=None, display=None)
    rest = replace(
        effort,
        seconds=effort.seconds - questions * seconds,
        work=None if effort.work is None or work is None else effort.work - questions * work,
    )
    return rest, each


def with_costs(
    job: Job,
    bolts: Mapping[str, Bolt],
    questions: Iterable[OpenQuestion],
    layouts: Iterable[FabricLayout],
    each: Effort,
    *,
    interrupted: bool = False,
) -> tuple[Question, ...]:
    """The questions with what each answer costs; without amounts where fabric on hand is cut.

    Parameters
    ----------
    job, bolts
        As they are planned.
    questions
        By `open_questions`.
    layouts
        The plan.
    each
        For each answer; a first layout comes in any case.
    interrupted
        An end was asked for already.
    """
    planned = {layout.fabric.key: layout.buy for layout in layouts if layout.buy is not None}
    return tuple(
        one.question
        if bolts[one.fabric.key].on_hand
        else with_amounts(
            one, planned.get(one.fabric.key), cost_of(job, bolts, one, each, interrupted=interrupted)
        )
        for one in questions
    )


def answered(job: Job, each: Effort) -> tuple[Question, ...]:
    """The questions of a job that is not planned yet, each answer searched for by itself."""
    bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    found = list[Question]()
    for one in open_questions(job, bolts):
        as_it_is = replace(one, fabric=job.fabric(one.fabric.key), bolt=bolts[one.fabric.key])
        if as_it_is.bolt.on_hand:
            found.append(one.question)
            continue
        planned = cost_of(job, bolts, as_it_is, each)
        found.append(with_amounts(one, planned, cost_of(job, bolts, one, each)))
    return tuple(found)


def with_amounts(one: OpenQuestion, planned: Buy | None, otherwise: Buy | None) -> Question:
    """The question with what is planned and what its other answer takes."""
    answers = (
        replace(answer, buy=planned if answer.planned else otherwise) for answer in one.question.answers
    )
    return replace(one.question, answers=tuple(answers))


def cost_of(
    job: Job, bolts: Mapping[str, Bolt], one: OpenQuestion, each: Effort, *, interrupted: bool = False
) -> Buy | None:
    """What the fabric takes if the other answer holds; None where it cannot be cut so."""
    key = one.fabric.key
    changed = replace(
        job, fabrics=tuple(one.fabric if fabric.key == key else fabric for fabric in job.fabrics)
    )
    try:
        cases = cases_of(changed, one.fabric, {**bolts, key: one.bolt})
        if not cases:
            return None
        solved = best_of(cases, each.begin(len(cases), interrupted=interrupted))
        layout, _ = layout_of(solved.case.lay, solved.result, solved.bound, None)
    except NestingError:
        return None
    return layout.buy
