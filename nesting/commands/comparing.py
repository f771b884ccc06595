"""Bolts compared by workers: a line as each comes back, and what there is when they are stopped."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from nesting.commands.cluster import crew_for
from nesting.commands.ending import ending_once
from nesting.commands.streams import BAD_USAGE, INTERRUPTED, say
from nesting.order.job import Job
from nesting.plan.comparison import Comparison, Option
from nesting.planning.compare import compare
from nesting.planning.effort import Effort
from nesting.planning.workroom import Delivered
from nesting.units import Unit, format_length


def compared_by_workers(
    job: Job, widths: Sequence[int], effort: Effort, at_once: int | None, cluster: str | None, patience: float
) -> tuple[Comparison, int, str]:
    """The comparison; beyond that, where it was stopped, the exit code and why."""
    with crew_for(cluster, effort.workers) as crew, ending_once(crew.present, patience) as ending:

        def told(outcome: Delivered[Option]) -> None:
            say(_line(outcome, job.units))
            ending.came_back()

        made = compare(
            job,
            widths=widths,
            effort=replace(effort, workers=crew.workers),
            executor=crew.executor,
            at_once=at_once,
            stop=ending.wanted,
            told=told,
        )
    if ending.interrupted:
        return made, INTERRUPTED, "interrupted: what was finished is given"
    if ending.deserted:
        return made, BAD_USAGE, str(crew.deserted(patience))
    return made, 0, ""


def _line(outcome: Delivered[Option], unit: Unit) -> str:
    """One line as a bolt comes back."""
    option = outcome.made
    assert option is not None
    bolt = f"{option.fabric.title}, {format_length(option.bolt.width, unit)}"
    if option.layout is None:
        return f"{bolt}: none: {option.reason.splitlines()[0] if option.reason else ''}"
    return f"{bolt}: laid in {outcome.seconds:.1f} s"
