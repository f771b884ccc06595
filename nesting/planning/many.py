"""Many jobs planned at once, each for itself."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor

from nesting.order.job import Job
from nesting.plan.plan import Plan
from nesting.planning.effort import Effort
from nesting.planning.planner import plan
from nesting.planning.workers import as_worker, searches
from nesting.planning.workroom import Delivered


def plan_many(
    jobs: Iterable[Job],
    *,
    executor: Executor | None = None,
    effort: Effort | None = None,
    at_once: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> Iterator[Delivered[Plan]]:
    """Each job planned once, in the order in which they are done.

    A work budget and ``workers=1`` give the plans that `nesting.planning.planner.plan` gives one by one.

    Parameters
    ----------
    jobs
        What was ordered; taken one by one as there is room for them.
    executor
        Runs the jobs; stays open. Default: processes of our own, closed at the end. See `shares` for how
        many jobs and threads there are at a time.
    effort
        For each job. Its listener is not told, since the search may run elsewhere.
    at_once
        Jobs handed out at a time. Default: as many as there are cores; to an executor elsewhere, all.
    stop
        Asked ten times a second; True ends the batch as in `each_once`.

    Yields
    ------
    Outcome
        For each job exactly one; after a stop, for those that were finished.
    """
    effort = effort or Effort()
    yield from searches(plan_one, jobs, effort=effort, executor=executor, at_once=at_once, stop=stop)


def plan_one(effort: Effort, job: Job) -> Plan:
    """The plan of one job of a batch; its search ends early once the batch was stopped."""
    return plan(job, effort=as_worker(effort))
