"""One selection searched as if there were no choice: what is found goes on to the search of all.

The search has a race of its own, so it knows of no other layouts and no other bounds, and does step by step
what `nesting.packing.packer.pack` does with that selection, seed and budget. With a limit of work and one
worker it therefore comes to the same layout to the tick; with a clock, to the same but for when a thread is
let on.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from dataclasses import replace

from nesting.packing import packer
from nesting.packing.branch import Branch, CaseGoal
from nesting.packing.race import Finished, Race, Stopped
from nesting.packing.reduce import Core, Layout
from nesting.packing.trust import Contradicted
from nesting.packing.turn import Budget


class GoalAside(CaseGoal):
    """Of a case that the race need not be split into now: by what was proven when it was searched."""

    @property
    def least(self) -> int:
        """The shortest length that may still exist."""
        return max(0, -(-self._proved // self.core.step_y) - self.core.lone_length)

    @property
    def closed(self) -> bool:
        """Nothing shorter than the best layout is left."""
        length = self._race.length
        return length is not None and self._proved >= length

    @property
    def _proved(self) -> int:
        return 0 if self._branch.proved is None else self._branch.proved.length


class LoneRace(Race):
    """The race of one selection.

    Parameters
    ----------
    outer
        Gets every layout as well; what it raises ends this search too.
    budget
        Of this search.
    cases
        Into how many the selection is split.
    """

    def __init__(self, outer: Race, budget: Budget, cases: int) -> None:
        super().__init__(budget, seed=outer.seed, branches=cases, params=outer.params)
        self.reports, self._outer = outer.reports, outer
        #: Whether it was the outer race that ended the search.
        self.ended_outside = False

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """As `Race.offer`; what is shorter goes on to the outer race before anything ends."""
        before = self.best
        try:
            return super().offer(core, layout, method)
        finally:
            if self.best is not before:
                with self._outside():
                    self._outer.offer(core, layout, method)

    def pulse(self) -> None:
        """As `Race.pulse`, of both races."""
        self.collect()
        with self._outside():
            self._outer.pulse()

    @contextmanager
    def _outside(self) -> Iterator[None]:
        try:
            yield
        except (Finished, Contradicted):
            self.ended_outside = True
            raise


def search_alone(race: Race, branches: Sequence[Branch], workers: int, share: float) -> None:
    """Search a selection for that many seconds, or units of work, of a race's budget; cases keep their state.

    Parameters
    ----------
    race
        Of all selections.
    branches
        The cases of this one; what was proven of each is theirs afterwards.
    workers, share
        Threads, and the time.

    Raises
    ------
    Finished, Contradicted, Stopped
        By the race of all selections.
    """
    budget = Budget(share, None if race.budget.work is None else share)
    lone = LoneRace(race, budget, len(branches))
    for number, branch in enumerate(branches):
        branch.number = number
    try:
        _until_over(lone, lambda: packer.search(lone, branches, workers))
    finally:
        race.doubt(lone)
        if race.budget.work is not None:
            race.budget.charge(budget.spent)
    for branch in branches:
        # A certificate speaks of this selection alone.
        branch.proved = replace(lone.bounds[branch.number], certificate=None)


def _until_over(lone: LoneRace, work: Callable[[], None]) -> None:
    """Do the work; anew where a bound on this selection was false."""
    while True:
        try:
            work()
            lone.collect()
        except Finished:
            if lone.ended_outside:
                raise
        except Contradicted:
            if lone.ended_outside:
                raise
            lone.begin_anew()
            continue
        except (Stopped, KeyboardInterrupt):
            with suppress(Finished, Stopped, Contradicted):
                lone.collect()
            raise
        return
