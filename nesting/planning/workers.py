"""Searches handed out to workers: the cores shared out among them, and an end that reaches each."""

from __future__ import annotations

import operator
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Executor
from dataclasses import replace
from functools import partial
from typing import TypeVar

from nesting.packing import Incumbent
from nesting.planning.effort import Effort
from nesting.planning.workroom import Delivered, each_once, end_wanted, shares

Item = TypeVar("Item")
Made = TypeVar("Made")


def searches(
    task: Callable[[Effort, Item], Made],
    items: Iterable[Item],
    *,
    effort: Effort,
    executor: Executor | None = None,
    at_once: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> Iterator[Delivered[Made]]:
    """The outcome of a search for each item, in the order in which they are done.

    Parameters
    ----------
    task
        Searches within an effort (see `as_worker`); can be pickled as `each_once` says.
    items
        Taken one by one as there is room for them.
    effort
        For each item. Its listener is not told, since the search may run elsewhere; its workers give way
        where together they would be more than the cores, see `shares`.
    executor, at_once, stop
        As in `each_once`, but that pools of this machine are handed no more than there are cores.
    """
    count = operator.length_hint(items) or None
    at_once, workers = shares(executor, count, at_once=at_once, workers=effort.workers)
    alone = partial(task, replace(effort, workers=workers, listener=None, display=None))
    yield from each_once(alone, items, executor=executor, at_once=at_once, stop=stop)


def as_worker(effort: Effort) -> Effort:
    """An effort of a worker's own, which ends early once its work was stopped."""
    # A pool of threads, or a cluster that keeps what it was sent, hands the same one to every task.
    return replace(effort, listener=_going_on)


def _going_on(fabric: str, now: Incumbent) -> bool:
    return not end_wanted()
