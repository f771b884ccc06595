"""Work shared out among workers: every task comes back once, and none of them ends the others.

Whoever does the work is a `concurrent.futures.Executor`: processes of our own, or one that is handed in,
such as that of a cluster. This module only hands out, collects, and tries again what a worker took down
with it; it knows nothing of jobs and plans.
"""

from __future__ import annotations

import contextlib
import logging
import multiprocessing
import os
import pickle
import signal
import time
from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import (
    FIRST_COMPLETED,
    BrokenExecutor,
    CancelledError,
    Executor,
    Future,
    ProcessPoolExecutor,
    ThreadPoolExecutor,
    wait,
)
from dataclasses import dataclass, replace
from multiprocessing.synchronize import Event
from typing import Any, Generic, TypeVar

_LOG = logging.getLogger(__name__)

#: A task whose worker is lost is tried so often in all; the further times with no other beside it.
ATTEMPTS = 3
#: Seconds between two looks at whether an end was asked for.
BREATH = 0.1

Item = TypeVar("Item")
Made = TypeVar("Made")


@dataclass(frozen=True, slots=True)
class Delivered(Generic[Made]):
    """What became of one task: something made, or the error that prevented it.

    Attributes
    ----------
    number
        Place of its item among those handed in, from 0.
    made
        The result; None where there is an error.
    error
        What prevented it; None where there is a result.
    seconds
        Of the attempt that came back.
    attempts
        How often it was started: more than once where a worker was lost.
    """

    number: int
    made: Made | None
    error: BaseException | None = None
    seconds: float = 0.0
    attempts: int = 1


def cores() -> int:
    """How many cores this process may use."""
    if hasattr(os, "sched_getaffinity"):
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def share_cores(
    available: int, jobs: int, *, at_once: int | None = None, workers: int | None = None
) -> tuple[int, int]:
    """How many jobs to run at a time, and on how many threads each: together never more than the cores.

    What is asked for is kept as far as that allows, jobs before threads. Else as many jobs as there are
    cores, and what cores are over go to the threads of each.
    """
    available, jobs = max(1, available), max(1, jobs)
    if at_once is None:
        at_once = available if workers is None else available // workers
    at_once = max(1, min(at_once, jobs, available))
    threads = available // at_once
    return at_once, threads if workers is None else max(1, min(workers, threads))


def shares(
    executor: Executor | None, count: int | None, *, at_once: int | None = None, workers: int | None = None
) -> tuple[int | None, int]:
    """How many jobs to hand to an executor at a time, and on how many threads each.

    None and the pools of the standard library work on this machine, whose cores are shared out by
    `share_cores`. Any other executor knows its machines itself: it gets all jobs at once unless
    ``at_once`` says otherwise, and each has one thread unless ``workers`` says more.

    Parameters
    ----------
    executor
        Who works.
    count
        How many jobs there are; None where that is not known.
    at_once, workers
        What was asked for.
    """
    if executor is None or isinstance(executor, ProcessPoolExecutor | ThreadPoolExecutor):
        available = cores()
        return share_cores(available, count or available, at_once=at_once, workers=workers)
    return at_once, workers or 1


def each_once(
    task: Callable[[Item], Made],
    items: Iterable[Item],
    *,
    executor: Executor | None = None,
    at_once: int | None = None,
    stop: Callable[[], bool] | None = None,
) -> Iterator[Delivered[Made]]:
    """The outcome of a task for each item, in the order in which they are done.

    An error of the task is an outcome. Whatever else comes out of the executor (a worker that died, a pool
    that broke) says nothing of the item: it is tried again once all others are done, with none beside it,
    so that one which takes every worker down takes no other with it. An executor handed in that stays
    broken gives its items back with that error; one of our own is opened anew.

    Parameters
    ----------
    task
        Run in a worker; can be pickled unless the executor stays in the process, like items and results.
    items
        Taken one by one as there is room for them.
    executor
        Runs the tasks; stays open. Default: processes of our own, closed at the end.
    at_once
        Tasks handed out at a time; default: all, of our own processes as many as there are cores.
    stop
        Asked ten times a second. When it is True, nothing more is handed out; processes of our own end
        their searches with the best they have; what is finished is still given; the rest is dropped.

    Yields
    ------
    Outcome
        One for each item.
    """
    batch = _Batch(task, items, executor, at_once, stop or (lambda: False))
    try:
        yield from batch.run()
    finally:
        batch.close()


@dataclass(slots=True)
class _Task(Generic[Item]):
    """One item on its way."""

    number: int
    item: Item
    attempts: int = 0


class _Batch(Generic[Item, Made]):
    """What is still to be handed out, what is out, and what was lost."""

    def __init__(
        self,
        task: Callable[[Item], Made],
        items: Iterable[Item],
        executor: Executor | None,
        at_once: int | None,
        stop: Callable[[], bool],
    ) -> None:
        self._task = task
        self._fresh = (_Task(number, item) for number, item in enumerate(items))
        self._executor: Executor | _OwnPool = executor or _OwnPool(at_once or cores())
        self._at_once = at_once or (None if executor else cores())
        self._stop = stop
        self._out: dict[Future[Delivered[Made]], _Task[Item]] = {}
        self._lost: deque[_Task[Item]] = deque()

    def run(self) -> Iterator[Delivered[Made]]:
        """Hand out and collect until nothing is left, or a stop is asked for."""
        while not self._stop():
            self._hand_out()
            if not self._out:
                return
            for future in wait(self._out, timeout=BREATH, return_when=FIRST_COMPLETED).done:
                yield from self._collect(future)
        yield from self._wind_up()

    def close(self) -> None:
        """Leave nothing running that could be stopped."""
        for future in self._out:
            future.cancel()
        if isinstance(self._executor, _OwnPool):
            self._executor.close()

    def _hand_out(self) -> None:
        while self._at_once is None or len(self._out) < self._at_once:
            case = next(self._fresh, None)
            if case is None:
                break
            self._start(case)
        if not self._out and self._lost:
            self._start(self._lost.popleft())

    def _start(self, case: _Task[Item]) -> None:
        case.attempts += 1
        try:
            future = self._executor.submit(_attempt, self._task, case.item)
        except Exception as error:  # broken or shut down: as good as lost on the way
            future = Future()
            future.set_exception(error)
        self._out[future] = case

    def _collect(self, future: Future[Delivered[Made]]) -> Iterator[Delivered[Made]]:
        case = self._out.pop(future)
        error = CancelledError() if future.cancelled() else future.exception()
        if error is None:
            yield replace(future.result(), number=case.number, attempts=case.attempts)
        elif case.attempts < ATTEMPTS:
            _LOG.info("item %d lost its worker: %s", case.number, error)
            self._lost.append(case)
        else:
            yield Delivered(case.number, None, error, attempts=case.attempts)

    def _wind_up(self) -> Iterator[Delivered[Made]]:
        """What is finished, and of our own processes what they had found."""
        for future in self._out:
            future.cancel()
        if isinstance(self._executor, _OwnPool):
            self._executor.end_searches()
            wait(self._out)
        for future in [future for future in self._out if future.done() and not future.cancelled()]:
            yield from self._collect(future)


class _OwnPool:
    """A process pool that is opened when first used, and anew when it broke."""

    def __init__(self, size: int) -> None:
        self._size = size
        # Forking a process that has threads, as the solver has, is not safe.
        self._context = multiprocessing.get_context("spawn")
        self._ending = self._context.Event()
        self._pool: ProcessPoolExecutor | None = None

    def submit(self, *call: Any) -> Future[Any]:
        """As `Executor.submit`."""
        with contextlib.suppress(BrokenExecutor):
            return self._opened().submit(*call)
        self._shut()
        return self._opened().submit(*call)

    def end_searches(self) -> None:
        """Ask the searches under way for what they have."""
        self._ending.set()

    def close(self) -> None:
        """End all; processes still at work go as soon as their search is through."""
        self.end_searches()
        self._shut()

    def _opened(self) -> ProcessPoolExecutor:
        if self._pool is None:
            self._pool = ProcessPoolExecutor(
                self._size, mp_context=self._context, initializer=_enter_pool, initargs=(self._ending,)
            )
        return self._pool

    def _shut(self) -> None:
        if self._pool is not None:
            self._pool.shutdown(wait=False, cancel_futures=True)
            self._pool = None


_ending: Event | None = None
"""In a process of our own pool: set once the batch was stopped."""


def _enter_pool(ending: Event) -> None:
    """First call in a process of our own: Ctrl-C is for the parent, which tells by the event."""
    global _ending
    _ending = ending
    signal.signal(signal.SIGINT, signal.SIG_IGN)


def end_wanted() -> bool:
    """In a worker: whether the work under way should end with the best it has."""
    return _ending is not None and _ending.is_set()


def _attempt(task: Callable[[Item], Made], item: Item) -> Delivered[Made]:
    """Runs in the worker: an error of the task is a result like any other."""
    started = time.monotonic()
    made, failed = None, None
    try:
        made = task(item)
    except Exception as error:
        failed = _portable(error)
    return Delivered(0, made, failed, round(time.monotonic() - started, 3))


def _portable(error: Exception) -> Exception:
    """The error if it comes through a pickle as it is, else one that says the same."""
    try:
        back = pickle.loads(pickle.dumps(error))
        same = type(back) is type(error) and str(back) == str(error)
    except Exception:  # whatever a foreign error does when it is taken apart
        same = False
    return error if same else RuntimeError(f"{type(error).__name__}: {error}")
