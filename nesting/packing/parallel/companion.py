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

from nesting.packing.branch import Branch, CaseGoal
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.pace import Credits
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout
from nesting.packing.schedule import Stage, When
from nesting.packing.turn import Budget, Goal, Turn

_LOG = logging.getLogger(__name__)


class Desk:
    """Where the companion hands in what it finds; its work is not counted."""

    def __init__(self, race: Race) -> None:
        self._race = race
        #: The shortest posted, and how many were.
        self.known: int | None = None
        self.found = 0
        self.seed, self.budget = race.seed, Budget(race.budget.left)

    def pulse(self) -> None:
        """Nobody listens here."""

    def post(self, core: Core, layout: Layout, method: str) -> None:
        """Hand a layout on from one more thread; the search behind it offers its last one here as well."""
        self._race.post(core, layout, method, aside=True)

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Post a layout if it is shorter than what was posted before."""
        if layout is None:
            return False
        length = core.ticks(core.length_of(layout))
        if self.known is not None and length >= self.known:
            return False
        self.known = length
        self.found += 1
        self._race.post(core, layout, method, aside=True)
        return True


class Companion:
    """The thread; a context manager that ends it.

    Parameters
    ----------
    race
        Gets what is found, by `Race.post`.
    cases
        Searched in turn while they are open.
    goals
        What is asked of a case; None: what the race asks of it, split into these cases.
    first
        Asked from time to time for cases that matter more: while one of these is open no other is searched.
    """

    def __init__(
        self,
        race: Race,
        cases: Sequence[Branch],
        goals: Callable[[Branch], Goal] | None = None,
        first: Callable[[], Sequence[Branch]] = tuple,
    ) -> None:
        self._race, self._params = race, race.params
        self._goals: Callable[[Branch], Goal] = goals or (lambda branch: CaseGoal(race, branch, alone=False))
        self._cases, self._first = tuple(cases), first
        self._now = self._due()
        self._working = False
        self._credits = Credits(self._params.least_companion_credit)
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

    def works_on(self, case: Branch) -> bool:
        """Whether a case is searched here, so that nobody else need search it."""
        return self._working and any(case is one for one in self._now)

    def go_on_with(self, cases: Sequence[Branch]) -> None:
        """Search these from the next turn on."""
        self._cases = tuple(cases)
        self._now = self._due()

    def _due(self) -> tuple[Branch, ...]:
        """The cases that have a turn next."""
        first = tuple(case for case in self._first() if not self._goals(case).closed)
        return first or self._cases

    def _work(self) -> None:
        desk = Desk(self._race)
        try:
            while not self._over.is_set() and not KERNELS.refresh():
                self._over.wait(0.05)
            self._working = True
            while not self._over.is_set():
                began = time.monotonic()
                self._now = self._due()
                for branch in self._now:
                    for stage in self._params.at(When.COMPANION):
                        self._turns(stage, branch, self._goals(branch), desk)
                # With nothing left to search this must not become a busy wait.
                self._over.wait(max(0.0, 0.01 - (time.monotonic() - began)))
        except Exception:  # the search goes on without its companion
            self._working = False
            _LOG.exception("the companion search ended early")

    def _turns(self, stage: Stage, branch: Branch, goal: Goal, desk: Desk) -> None:
        """Up to a few turns of a search, while it finds something; less time while it finds nothing."""
        kept = branch.search(stage.search, stage.luck)
        name = id(branch), stage.search
        for number in range(self._params.companion_turns):
            before = desk.known
            if kept is not None and not goal.closed and not self._over.is_set():
                began, found = time.monotonic(), desk.found
                seconds = self._credits.share(name) * stage.share.of(desk.budget.left, 1.0)
                turn = Turn(desk, goal, seconds, until=self._over.is_set, params=self._params)
                with kept.lock:
                    kept.search.run(turn)
                self._race.reports.add(stage.search, time.monotonic() - began, desk.found - found, 0)
            gained = desk.known != before
            if gained or number == 0:
                self._credits.tell(name, gained=gained)
            if not gained:
                break
