"""The state of one search: best layout, best bound, the budget, and who is told."""

from __future__ import annotations

import logging
from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import replace
from queue import SimpleQueue
from typing import Final

from nesting.packing.reduce import Core, Layout
from nesting.packing.reports import Reports
from nesting.packing.result import (
    CONTRADICTED,
    SOLVER,
    UNCHECKED,
    Bound,
    Incumbent,
    Observer,
    Placement,
    Result,
    Stop,
    Viewer,
)
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.trust import Contradicted, Trust
from nesting.packing.turn import Budget

_LOG = logging.getLogger(__name__)


class Finished(Exception):  # noqa: N818 - a signal, not an error
    """Length and bound have met, or the length is as short as was asked for."""


class Stopped(Exception):  # noqa: N818 - a signal, not an error
    """The observer asked for an end."""


#: Units of work that a round counts at least where a bound was contradicted.
LEAST_ROUND: Final = 0.05
_NOTHING = Bound(0, "nothing is shorter than nothing")


class Herald:
    """Tells the observer, and keeps what was told.

    Parameters
    ----------
    budget
        Whose clock is told.
    observer
        Told of every change, and now and then of none; its False ends the search.
    """

    def __init__(self, budget: Budget, observer: Observer | None) -> None:
        self.incumbents: list[Incumbent] = []
        self._budget = budget
        self._observer = observer
        self._told = 0.0

    def tell(self, now: Incumbent) -> None:
        """Something has changed.

        Raises
        ------
        Stopped
            The observer asked for an end.
        """
        self.incumbents.append(now)
        self._told = self._budget.elapsed
        if self._observer is not None and self._observer(now) is False:
            raise Stopped

    def retract(self, most: int) -> None:
        """No bound above ``most`` was ever told."""
        least = 0
        for at, one in enumerate(self.incumbents):
            least = max(least, one.bound) if one.bound <= most else least
            self.incumbents[at] = replace(one, bound=min(one.bound, least))

    def breathe(self, now: Callable[[], Incumbent]) -> None:
        """Let the observer know that the search goes on, at most ten times a second.

        Raises
        ------
        Stopped
            The observer asked for an end.
        """
        if self._observer is not None and self._budget.elapsed - self._told > 0.1:
            self._told = self._budget.elapsed
            if self._observer(now()) is False:
                raise Stopped


class Race:
    """Length and bound on their way to each other, in ticks of the original problem.

    Parameters
    ----------
    budget
        What may be spent.
    observer
        Told of every change, and now and then of none; its False ends the search.
    branches
        Into how many cases the problem was split (directions of arrow groups): a bound holds for the
        problem once it holds for each of them.
    viewer
        Shown each better layout.
    target
        A layout no longer than this ends the search.
    params
        Tuning numbers.
    gap
        A layout longer than the bound by no more than this part of it ends the search.
    """

    def __init__(
        self,
        budget: Budget,
        observer: Observer | None = None,
        seed: int = 0,
        branches: int = 1,
        viewer: Viewer | None = None,
        target: int | None = None,
        params: Params = PARAMS,
        gap: float = 0.0,
    ) -> None:
        self.budget, self.params, self.reports = budget, params, Reports()
        self.target, self.gap = 0 if target is None else target, gap
        self.seed = seed
        self._branches = branches
        self.bounds = [_NOTHING] * branches
        self._cores: Sequence[tuple[int, Core]] = ()
        self._trust = Trust()
        self.best: tuple[Core, Layout] | None = None
        self.length: int | None = None
        #: How many shorter layouts, and how many higher bounds, were taken so far.
        self.tally = (0, 0)
        self._herald = Herald(budget, observer)
        self.incumbents = self._herald.incumbents
        self._viewer = viewer
        self._posted: SimpleQueue[tuple[Core, Layout, str, bool]] = SimpleQueue()

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Take a layout if it is shorter; True if it was.

        Raises
        ------
        Finished
            It is as short as the bound.
        Contradicted
            It is shorter than the bound on its case.
        """
        if layout is None:
            return False
        length = core.ticks(core.length_of(layout))
        nearer = self._trust.reach(core, length)
        if self.length is not None and length >= self.length:
            if nearer:
                self._require_true()
            return False
        self.best, self.length = (core, layout), length
        self.tally = self.tally[0] + 1, self.tally[1]
        if self._viewer is not None:
            self._viewer(length, core.placements(layout))
        self._tell(method)
        self._meet()
        return True

    @property
    def bound(self) -> Bound:
        """The bound on every case; it rests on the solver where one of them does."""
        least = min(self.bounds, key=lambda bound: bound.length)
        if SOLVER in least.method or not any(SOLVER in bound.method for bound in self.bounds):
            return least
        return Bound(least.length, f"{least.method}; of other cases by {SOLVER}, {UNCHECKED}")

    def split(self, bounds: Sequence[Bound]) -> None:
        """Divide the problem into other cases; what was proven for all of them still holds for each."""
        known, before = self.bound, self.bounds
        self._cores = ()
        self.bounds = [max(known, bound, key=lambda each: each.length) for bound in bounds]
        # What rests on the solver in other cases is the least bound's own source all the same.
        least = min(before, key=lambda each: each.length)
        self._trust.split([least if bound is known else bound for bound in self.bounds])
        self._meet()

    def watch(self, cores: Sequence[tuple[int, Core]]) -> None:
        """The core of each case that is searched, so that a layout of it may contradict its bound."""
        self._cores = cores
        self._trust.watch(core for _, core in cores)
        self._require_true()

    def believes(self, bound: Bound) -> bool:
        """Whether no layout has contradicted what its source said."""
        return self._trust.believes(bound)

    def doubt(self, other: Race) -> None:
        """Believe no more what was found false in another race."""
        self._trust.dropped |= other._trust.dropped

    def end_round(self) -> None:
        """One more round of every search is over; with a source dropped it may have had nothing left to do.

        The work of such rounds may be next to none, and they would go on for ever within a limit of work.
        """
        if self._trust.dropped:
            self.budget.charge(LEAST_ROUND)

    def begin_anew(self) -> None:
        """Nothing is proven; the best layout, and whose bounds it contradicted, are kept."""
        self._cores = ()
        self.bounds = [_NOTHING] * self._branches
        self._trust.forget()
        if self.length is not None:
            self._herald.retract(self.length)

    def until(self, seconds: float, work: float = 0.0) -> Callable[[], bool]:
        """True once that much of the budget is spent from now on; lets the observer breathe.

        Each time it is asked, ``work`` is charged for what was done since.
        """
        end = max(0.0, self.budget.left - seconds)

        def stop() -> bool:
            self.pulse()
            self.budget.charge(work)
            return self.budget.left <= end

        return stop

    def closed(self, branch: int) -> bool:
        """Nothing shorter than the best layout is left in this case."""
        return self.length is not None and self.bounds[branch].length >= self.length

    def raise_bound(self, bound: Bound, branch: int = 0) -> bool:
        """Take a bound (in ticks) on one case if it is higher and its source is believed; True if it was.

        Raises
        ------
        Finished
            The layout is as short as the bound.
        Contradicted
            A layout of the case is shorter than the bound.
        """
        if bound.length <= self.bounds[branch].length or not self._trust.believes(bound):
            return False
        before = self.bound.length
        self.bounds[branch] = bound
        self.tally = self.tally[0], self.tally[1] + 1
        self._trust.said(branch, bound)
        self._require_true()
        if self.bound.length > before:
            self._tell(bound.method)
        self._meet()
        return True

    def post(self, core: Core, layout: Layout, method: str, *, aside: bool = False) -> None:
        """Hand in a layout from another thread; the next `pulse` takes it.

        ``aside`` tells that it is not of the stage that runs here.
        """
        self._posted.put((core, layout, method, aside))

    def collect(self) -> None:
        """Take what was posted.

        Raises
        ------
        Finished
            It is as short as the bound.
        """
        while not self._posted.empty():
            core, layout, method, aside = self._posted.get()
            layouts, bounds = self.tally
            self.offer(core, layout, method)
            if aside:
                self.tally = layouts, bounds

    def pulse(self) -> None:
        """Take what was posted, and let the observer breathe, at most ten times a second.

        Raises
        ------
        Finished
            What was posted is as short as the bound.
        Stopped
            The observer asked for an end.
        """
        self.collect()
        self._herald.breathe(lambda: self._now(""))

    def target_in(self, core: Core, branch: int = 0) -> int:
        """The case's bound in core steps: the shortest length that may still exist, lone rows left out."""
        return max(0, -(-self.bounds[branch].length // core.step_y) - core.lone_length)

    def limit_in(self, core: Core) -> int | None:
        """The longest core length that would still be an improvement; None without a layout."""
        return None if self.length is None else (self.length - 1) // core.step_y - core.lone_length

    def _now(self, method: str) -> Incumbent:
        return Incumbent(self.length, self.bound.length, method, round(self.budget.elapsed, 3))

    def _tell(self, method: str) -> None:
        self._herald.tell(self._now(method))

    def _require_true(self) -> None:
        """Drop the sources of bounds that layouts contradict.

        Raises
        ------
        Contradicted
            There are any.
        """
        false = [
            (number, known)
            for number, core in self._cores
            if (known := self._trust.reached(core)) is not None and self.bounds[number].length > known
        ]
        if self.length is not None and self.bound.length > self.length:
            false += [(number, self.length) for number in range(len(self.bounds))]
        dropped = [self._trust.drop(number, length) for number, length in false]
        if any(dropped):
            raise Contradicted

    def _meet(self) -> None:
        self._require_true()
        if self.length is None:
            return
        bound = self.bound.length
        if self.length <= max(bound, self.target) or self.length - bound <= self.gap * bound:
            raise Finished


def ended(race: Race, work: Callable[[], None]) -> Stop:
    """Do the work; why it ended.

    Where a layout contradicts a bound it is done anew, from the layouts there are and without the source of
    that bound. Each time one source fewer is believed, so it comes to an end.
    """
    while True:
        try:
            work()
        except Finished:
            met = race.length is not None and race.length <= race.bound.length
            return Stop.PROVED if met else Stop.TARGET
        except Contradicted:
            race.begin_anew()
            continue
        except (Stopped, KeyboardInterrupt):
            with suppress(Finished, Stopped, Contradicted):
                race.collect()
            return Stop.INTERRUPTED
        return Stop.TIME_LIMIT


def result_of(race: Race, stop: Stop, *, infeasible: bool = False, unplaced: tuple[str, ...] = ()) -> Result:
    """What the race has come to; with ``infeasible`` the names of the parts that have no place.

    A bound above the layout is a fault of this program: where the search came to its end with one, it is
    logged, and the layout counts as unproven.
    """
    bound, placements = race.bound, tuple[Placement, ...]()
    if infeasible:
        bound = Bound(0, f"no place in any direction allowed: {', '.join(unplaced)}")
    elif race.best is not None and race.length is not None:
        core, layout = race.best
        placements = core.placements(layout)
        if bound.length > race.length:
            _LOG.error("bound %d (%s) above a layout of %d", bound.length, bound.method, race.length)
            bound, stop = Bound(0, CONTRADICTED), Stop.FAULT
    return Result(
        length=None if infeasible else race.length,
        bound=bound,
        stop=stop,
        seconds=round(race.budget.elapsed, 3),
        placements=placements,
        incumbents=tuple(race.incumbents),
        infeasible=infeasible,
        unplaced=unplaced,
        statistics=race.reports.told(),
    )


def in_ticks(core: Core, bound: Bound) -> Bound:
    """A bound of the core as a bound of the original problem."""
    method = f"rows of their own, then {bound.method}" if core.lone and core.kinds else bound.method
    if core.lone and not core.kinds:
        # There is nothing else to say; who says more is to be known by name.
        method = "rows of their own" if bound.length == 0 else f"rows of their own, then {bound.method}"
    return Bound(core.ticks(bound.length), method, bound.certificate)
