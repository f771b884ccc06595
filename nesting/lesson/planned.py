"""The windows of a lesson, planned by the program itself, so that every number of it is the program's."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import lru_cache
from typing import Final

from nesting.headings import HEADINGS, heading
from nesting.lesson.scenario import job_for
from nesting.packet.facts import WindowFacts, window_facts
from nesting.packet.practice import practice
from nesting.plan.plan import Plan
from nesting.planning.planner import Effort
from nesting.planning.planner import plan as make_plan
from nesting.units import Unit

#: How much smaller the sample is.
SCALE: Final = Fraction(1, 3)
#: A budget that does not depend on the clock: the same handout on every machine.
_EFFORT: Final = Effort(60.0, work=0.2, workers=1)


@dataclass(frozen=True, slots=True)
class Planned:
    """What a lesson on one heading is about: the worked example, the exercise, and the practice sample."""

    heading: str
    units: Unit
    example: Plan
    exercise: Plan
    sample: Plan

    def facts(self, plan: Plan) -> WindowFacts:
        """The one window of such a plan."""
        return window_facts(plan)[0]


@lru_cache(maxsize=4 * len(HEADINGS))
def planned(name: str, units: Unit) -> Planned:
    """The windows of the lesson on a heading.

    Parameters
    ----------
    name
        Of the heading.
    units
        ``in`` or ``cm``.

    Raises
    ------
    NestingError
        There is no such heading.
    """
    heading(name)
    example = make_plan(job_for(name, units, "worked example"), effort=_EFFORT)
    exercise = make_plan(job_for(name, units, "exercise"), effort=_EFFORT)
    sample = practice(example, SCALE, effort=_EFFORT)
    return Planned(name, units, example, exercise, sample.plan)
