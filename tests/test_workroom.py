"""Tasks shared out among workers: each comes back once, whatever happens to a worker."""

from __future__ import annotations

import os
import signal
import threading
import time
from collections.abc import Iterator
from concurrent.futures import BrokenExecutor, Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from multiprocessing import get_context
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from nesting.errors import DoesNotFitError, Fault, JobError
from nesting.planning.workroom import ATTEMPTS, Delivered, cores, each_once, end_wanted, share_cores, shares


def square(number: int) -> int:
    return number * number


def square_or_fail(number: int) -> int:
    if number == 2:
        raise DoesNotFitError("two does not fit")
    if number == 3:
        raise JobError([Fault('window "East": rod', "-3", "a length above 0")], Path("east.toml"))
    return number * number


class StubbornError(Exception):
    """Cannot be made again from what its pickle keeps."""

    def __init__(self, one: str, other: str) -> None:
        super().__init__(f"{one} and {other}")


def fail_stubbornly(number: int) -> int:
    raise StubbornError("this", "that")


def die_once(marked: tuple[str, int]) -> int:
    """The first time it comes to 3, its process is killed."""
    folder, number = marked
    mark = Path(folder) / "died"
    if number == 3 and not mark.exists():
        mark.touch()
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def die_always(number: int) -> int:
    if number == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return number


def wait_for_the_end(marked: tuple[str, int]) -> str:
    """Number 0 is done at once; the others, as a search would, go on until they are asked to end."""
    folder, number = marked
    if number == 0:
        return "done"
    (Path(folder) / f"at-work-{number}").touch()
    until = time.monotonic() + 900
    while not end_wanted() and time.monotonic() < until:
        time.sleep(0.02)
    return "the best so far" if end_wanted() else "never asked"


def by_number(outcomes: Iterator[Delivered[int]], count: int) -> list[Delivered[int]]:
    """All outcomes in order, each number there once."""
    found = sorted(outcomes, key=lambda outcome: outcome.number)
    assert [outcome.number for outcome in found] == list(range(count))
    assert all((outcome.made is None) is (outcome.error is not None) for outcome in found)
    return found


def test_every_item_comes_back_once_from_our_own_processes() -> None:
    found = by_number(each_once(square, range(9), at_once=2), 9)
    assert [outcome.made for outcome in found] == [n * n for n in range(9)]
    assert {outcome.attempts for outcome in found} == {1}


def test_any_executor_will_do_and_stays_open() -> None:
    with ThreadPoolExecutor(2) as threads:
        for at_once in (None, 1, 3):
            found = by_number(each_once(square, range(7), executor=threads, at_once=at_once), 7)
            assert [outcome.made for outcome in found] == [n * n for n in range(7)]
        assert threads.submit(square, 5).result() == 25


def test_no_more_are_out_than_asked_for() -> None:
    busy, most, lock = 0, 0, threading.Lock()

    def count(number: int) -> int:
        nonlocal busy, most
        with lock:
            busy += 1
            most = max(most, busy)
        time.sleep(0.01)
        with lock:
            busy -= 1
        return number

    with ThreadPoolExecutor(8) as threads:
        by_number(each_once(count, range(12), executor=threads, at_once=3), 12)
    assert most <= 3


def test_items_are_taken_as_there_is_room() -> None:
    taken = []

    def items() -> Iterator[int]:
        for number in range(100):
            taken.append(number)
            yield number

    with ThreadPoolExecutor(2) as threads:
        outcomes = each_once(square, items(), executor=threads, at_once=2)
        next(outcomes)
        assert len(taken) <= 4
        outcomes.close()  # type: ignore[attr-defined]


def test_an_error_of_a_task_is_an_outcome_with_its_words() -> None:
    found = by_number(each_once(square_or_fail, range(5), at_once=2), 5)
    assert [outcome.made for outcome in found] == [0, 1, None, None, 16]
    assert isinstance(found[2].error, DoesNotFitError)
    assert str(found[2].error) == "two does not fit"
    error = found[3].error
    assert isinstance(error, JobError)
    assert error.source == Path("east.toml")
    assert [fault.value for fault in error.faults] == ["-3"]
    assert found[3].attempts == 1


def test_an_error_that_cannot_travel_is_told_in_words() -> None:
    (found,) = by_number(each_once(fail_stubbornly, [0], at_once=1), 1)
    assert str(found.error) == "StubbornError: this and that"
    assert found.attempts == 1


def test_a_killed_worker_costs_nothing_but_time(tmp_path: Path) -> None:
    items = [(str(tmp_path), number) for number in range(8)]
    found = by_number(each_once(die_once, items, at_once=2), 8)
    assert [outcome.made for outcome in found] == list(range(8))
    assert found[3].attempts == 2
    assert (tmp_path / "died").exists()


def test_what_kills_every_worker_takes_no_other_with_it() -> None:
    found = by_number(each_once(die_always, range(5), at_once=2), 5)
    assert [outcome.made for outcome in found] == [0, None, 2, 3, 4]
    assert isinstance(found[1].error, BrokenExecutor)
    assert found[1].attempts == ATTEMPTS
    # Beside the culprit they may be lost once, and never again, since it is tried again by itself.
    assert all(outcome.attempts <= 2 for outcome in found if outcome.number != 1)


def test_a_pool_handed_in_that_breaks_gives_its_items_back_with_its_error() -> None:
    with ProcessPoolExecutor(1, mp_context=get_context("spawn")) as pool:
        found = by_number(each_once(die_always, [1, 1, 1], executor=pool, at_once=1), 3)
    assert all(isinstance(outcome.error, BrokenExecutor) for outcome in found)
    assert {outcome.attempts for outcome in found} == {ATTEMPTS}


class Forgetful(Executor):
    """Loses the first answers of each item, as a cluster does that drops a worker."""

    def __init__(self, times: int) -> None:
        self._times = times
        self._asked: dict[object, int] = {}

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        future: Future[object] = Future()
        item = args[-1]
        self._asked[item] = self._asked.get(item, 0) + 1
        if self._asked[item] > self._times:
            future.set_result(fn(*args, **kwargs))
        elif item % 2:
            future.cancel()
            future.set_running_or_notify_cancel()
        else:
            future.set_exception(KeyboardInterrupt())
        return future


def test_lost_items_are_tried_again_but_not_for_ever() -> None:
    found = by_number(each_once(square, range(6), executor=Forgetful(2)), 6)
    assert [(outcome.made, outcome.attempts) for outcome in found] == [(n * n, 3) for n in range(6)]
    found = by_number(each_once(square, range(6), executor=Forgetful(3)), 6)
    assert [(outcome.made, outcome.attempts) for outcome in found] == [(None, ATTEMPTS)] * 6


def test_an_executor_that_was_shut_down_is_an_error_of_each_item() -> None:
    threads = ThreadPoolExecutor(1)
    threads.shutdown()
    found = by_number(each_once(square, range(3), executor=threads), 3)
    assert all(isinstance(outcome.error, RuntimeError) for outcome in found)


def test_a_stop_gives_what_is_finished_and_ends_what_runs(tmp_path: Path) -> None:
    def stop() -> bool:
        return len(list(tmp_path.glob("at-work-*"))) == 2

    items = [(str(tmp_path), number) for number in range(9)]
    found = {
        outcome.number: outcome.made for outcome in each_once(wait_for_the_end, items, at_once=2, stop=stop)
    }
    assert found == {0: "done", 1: "the best so far", 2: "the best so far"}


def test_a_stop_does_not_wait_for_an_executor_handed_in() -> None:
    go_on, begun = threading.Event(), threading.Event()

    def task(number: int) -> int:
        if number:
            begun.set()
            go_on.wait(60)
        return number

    with ThreadPoolExecutor(2) as threads:
        outcomes = each_once(task, range(20), executor=threads, at_once=2, stop=begun.is_set)
        assert [outcome.number for outcome in outcomes] in ([0], [])
        assert not go_on.is_set()
        go_on.set()


cores_of = st.integers(1, 64)
asked = st.none() | st.integers(1, 100)


@given(cores_of, st.integers(0, 100), asked, asked)
def test_jobs_times_threads_never_exceed_the_cores(
    available: int, jobs: int, at_once: int | None, workers: int | None
) -> None:
    together, threads = share_cores(available, jobs, at_once=at_once, workers=workers)
    assert together >= 1
    assert threads >= 1
    assert together * threads <= available
    assert together <= max(1, jobs)
    assert at_once is None or together <= at_once
    assert workers is None or threads <= workers


@pytest.mark.parametrize(
    ("available", "jobs", "at_once", "workers", "shared"),
    [
        (8, 100, None, None, (8, 1)),  # many jobs: one core each
        (8, 3, None, None, (3, 2)),  # few: what is over goes to their threads, 3 x 2 of 8
        (8, 1, None, None, (1, 8)),
        (8, 100, 2, None, (2, 4)),
        (8, 100, None, 4, (2, 4)),
        (8, 100, 4, 4, (4, 2)),  # both asked for: the jobs win
        (2, 100, 9, 9, (2, 1)),
        (2, 0, None, None, (1, 2)),
    ],
)
def test_cores_are_shared_out(
    available: int, jobs: int, at_once: int | None, workers: int | None, shared: tuple[int, int]
) -> None:
    assert share_cores(available, jobs, at_once=at_once, workers=workers) == shared


def test_only_pools_of_this_machine_share_its_cores() -> None:
    at_once, workers = shares(None, 1000)
    assert at_once is not None
    assert at_once * workers <= cores() == len(os.sched_getaffinity(0))
    with ThreadPoolExecutor(2) as threads:
        assert shares(threads, 1000, at_once=5000, workers=5000) == (cores(), 1)
    assert shares(Forgetful(0), 1000) == (None, 1)
    assert shares(Forgetful(0), 1000, at_once=30, workers=4) == (30, 4)
