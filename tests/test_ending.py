"""When an end is wanted of work elsewhere: at a Ctrl-C, or when nobody was there for long enough."""

from __future__ import annotations

import signal
from collections.abc import Iterator

import pytest

from nesting.commands import ending as module
from nesting.commands.ending import Ending, ending_once


class Clock:
    """Seconds that pass when they are told to."""

    now = 1000.0

    def monotonic(self) -> float:
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    made = Clock()
    monkeypatch.setattr(module, "time", made)
    return made


def wanted_after(ending: Ending, clock: Clock, seconds: float) -> bool:
    """Whether an end is wanted at any moment of so many seconds, asked ten times in each."""
    found = False
    for _ in range(round(10 * seconds)):
        clock.now += 0.1
        found = ending.wanted() or found
    return found


def test_nobody_there_for_as_long_as_the_patience_ends_it(clock: Clock) -> None:
    ending = Ending(lambda: False, 10)
    assert not wanted_after(ending, clock, 9)
    assert wanted_after(ending, clock, 2)
    assert ending.deserted
    assert not ending.interrupted


def test_a_worker_that_comes_back_in_time_is_waited_for(clock: Clock) -> None:
    there = False
    ending = Ending(lambda: there, 10)
    assert not wanted_after(ending, clock, 9)
    there = True
    assert not wanted_after(ending, clock, 100)
    there = False
    assert not wanted_after(ending, clock, 9)
    assert wanted_after(ending, clock, 2)


def test_what_comes_back_begins_the_wait_anew(clock: Clock) -> None:
    ending = Ending(lambda: False, 10)
    for _ in range(5):
        assert not wanted_after(ending, clock, 9)
        ending.came_back()
    assert wanted_after(ending, clock, 11)


def test_processes_of_our_own_are_never_given_up(clock: Clock) -> None:
    assert not wanted_after(Ending(None, 10), clock, 1000)


def test_the_scheduler_is_asked_seldom(clock: Clock) -> None:
    asked = list[float]()

    def present() -> bool:
        asked.append(clock.now)
        return True

    wanted_after(Ending(present, 10), clock, 10)
    assert 15 <= len(asked) <= 10 / module.LOOK + 1


@pytest.fixture
def in_front() -> Iterator[None]:
    """Interrupts raise, as in a terminal: what runs behind a shell's back ignores them from the start."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("in_front")
def test_the_first_interrupt_ends_it_and_the_second_interrupts() -> None:
    with ending_once(None, 10) as ending:
        assert not ending.wanted()
        signal.raise_signal(signal.SIGINT)
        assert ending.wanted()
        assert ending.interrupted
        with pytest.raises(KeyboardInterrupt):
            signal.raise_signal(signal.SIGINT)
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler


def test_where_interrupts_are_ignored_only_the_first_counts() -> None:
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        with ending_once(None, 10) as ending:
            signal.raise_signal(signal.SIGINT)
            assert ending.wanted()
            signal.raise_signal(signal.SIGINT)
        assert signal.getsignal(signal.SIGINT) is signal.SIG_IGN
    finally:
        signal.signal(signal.SIGINT, before)
