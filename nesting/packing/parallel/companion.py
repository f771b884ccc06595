"""A second thread of searches (orders, layouts side by side, fixed lengths, niches) beside bounds and solver.

It waits until the kernels are machine code, for those let go of the interpreter, so that on two cores both go
on at full speed. Only where the clock decides anyway: with a work limit everything runs in turn and is
repeatable.
"""

from __future__ import annotations

import logging
import threading
import time
from collections.abc import Callable, Sequence
from typing import Protocol

from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.pace import Credits
from nesting.packing.race import Budget, Race
from nesting.packing.reduce import Core, Layout
from nesting.packing.result import Bound

_LOG = logging.getLogger(__name__)
#: Seconds of one search before the next takes its turn.
TURN = 1.0
#: A search that has just found something shorter goes on, so many turns in all.
MOST_TURNS = 3
#: The least share of its time that a search without success is given.
LEAST_CREDIT = 0.25


class Searched(Protocol):
    """A case of the problem, as the companion sees it."""

    core: Core
    number: int
    proved: Bound | None

    def search_orders(self, host: Desk, target: int, stop: Callable[[], bool]) -> bool:
        """Search orders until ``stop()``."""

    def search_fits(self, host: Desk, target: int, longest: int, stop: Callable[[], bool]) -> bool:
        """Search layouts within a length until ``stop()``, where that is worth it."""

    def search_beams(self, host: Desk, target: int, longest: int, stop: Callable[[], bool]) -> bool:
        """Grow layouts side by side until ``stop()``, where that is worth it."""

    def search_rows(
        self,
        host: Desk,
        target: int,
        longest: int,
        seconds: float,
        until: Callable[[float], Callable[[], bool]],
        *,
        beside: bool = False,
    ) -> bool:
        """Rows first for so many seconds, where that is worth it."""

    def search_niches(self, host: Desk, target: int, stop: Callable[[], bool]) -> bool:
        """Search niches until ``stop()``, where that is worth it."""


class RaceView:
    """What a companion sees of the race that it runs beside.

    Parameters
    ----------
    race
        Gets what is found, by `Race.post`; split into the cases searched, by their numbers.
    """

    def __init__(self, race: Race) -> None:
        self.race = race

    def closed(self, case: Searched) -> bool:
        """Nothing shorter than the best layout is left in a case."""
        return self.race.closed(case.number)

    def target_in(self, case: Searched) -> int:
        """The shortest length that may still exist in a case, in core steps."""
        return self.race.target_in(case.core, case.number)


class Desk:
    """Where the companion hands in what it finds; its work is not counted."""

    def __init__(self, race: Race) -> None:
        self._race = race
        #: The shortest posted.
        self.known: int | None = None
        self.budget = Budget(float("inf"))

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Post a layout if it is shorter than what was posted before."""
        if layout is None:
            return False
        length = core.ticks(core.length_of(layout))
        if self.known is not None and length >= self.known:
            return False
        self.known = length
        self._race.post(core, layout, method)
        return True


class Companion:
    """The thread; a context manager that ends it.

    Parameters
    ----------
    view
        The race, as it looks from here.
    cases
        Searched in turn while they are open.
    """

    def __init__(self, view: RaceView, cases: Sequence[Searched]) -> None:
        self._view, self._race = view, view.race
        self._cases = tuple(cases)
        self._working = False
        self._credits = Credits(LEAST_CREDIT)
        self._over = threading.Event()
        self._thread = threading.Thread(target=self._work, daemon=True)

    def __enter__(self) -> Companion:
        self._thread.start()
        return self

    def __exit__(self, *_: object) -> None:
        self._over.set()
        self._thread.join()

    @property
    def at_work(self) -> bool:
        """Whether the kernels are machine code by now, and the search goes on."""
        return self._working

    def works_on(self, case: Searched) -> bool:
        """Whether a case is searched here, so that nobody else need search it."""
        return self._working and any(case is one for one in self._cases)

    def go_on_with(self, cases: Sequence[Searched]) -> None:
        """Search these from the next turn on."""
        self._cases = tuple(cases)

    def _work(self) -> None:
        desk = Desk(self._race)
        try:
            while not self._over.is_set() and not KERNELS.refresh():
                self._over.wait(0.05)
            self._working = True
            while not self._over.is_set():
                began = time.monotonic()
                for case in self._cases:
                    if not self._view.closed(case):
                        self._turn(case, desk)
                # With nothing left to search this must not become a busy wait.
                self._over.wait(max(0.0, 0.01 - (time.monotonic() - began)))
        except Exception:  # the search goes on without its companion
            self._working = False
            _LOG.exception("the companion search ended early")

    def _turn(self, case: Searched, desk: Desk) -> None:
        for search in (self._orders, self._beams, self._rows, self._fits, self._niches):
            name = id(case), search.__name__
            for turn in range(MOST_TURNS):
                before = desk.known
                if not self._view.closed(case) and not self._over.is_set():
                    seconds = self._credits.share(name) * TURN
                    search(case, desk, self._view.target_in(case), seconds)
                gained = desk.known != before
                if gained or turn == 0:
                    self._credits.tell(name, gained=gained)
                if not gained:
                    break

    def _orders(self, case: Searched, desk: Desk, target: int, seconds: float) -> None:
        case.search_orders(desk, target, self._until(seconds))

    def _fits(self, case: Searched, desk: Desk, target: int, seconds: float) -> None:
        longest = self._race.limit_in(case.core)
        if longest is not None:
            case.search_fits(desk, target, longest, self._until(2 * seconds))

    def _beams(self, case: Searched, desk: Desk, target: int, seconds: float) -> None:
        longest = self._race.limit_in(case.core)
        if longest is not None:
            case.search_beams(desk, target, longest, self._until(seconds))

    def _rows(self, case: Searched, desk: Desk, target: int, seconds: float) -> None:
        longest = self._race.limit_in(case.core)
        if longest is not None:
            case.search_rows(desk, target, longest, seconds, self._until, beside=True)

    def _niches(self, case: Searched, desk: Desk, target: int, seconds: float) -> None:
        if self._race.limit_in(case.core) is not None:
            case.search_niches(desk, target, self._until(seconds))

    def _until(self, seconds: float) -> Callable[[], bool]:
        end = time.monotonic() + seconds
        return lambda: self._over.is_set() or time.monotonic() >= end
