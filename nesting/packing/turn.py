"""What a bound or a search is handed: what is asked of it, and how much of the budget it may use.

Seconds are seconds, or units of work where the budget counts work.
"""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any, Protocol

from nesting.packing.reduce import Core, Layout
from nesting.packing.result import Bound
from nesting.packing.schedule import PARAMS, Params

Weights = tuple[dict[tuple[int, bool], int], int]
"""``(weight of each (kind, turned), capacity)``: in any row the weights add up to at most the capacity."""


@dataclass(slots=True)
class Budget:
    """Seconds, or units of work that do not depend on the clock.

    A unit of work is about one second of one core: CP-SAT's deterministic time, or a fixed number of
    placements tried.
    """

    seconds: float
    work: float | None = None
    started: float = 0.0
    spent: float = 0.0

    def __post_init__(self) -> None:
        self.started = time.monotonic()

    @property
    def elapsed(self) -> float:
        """Seconds since the start."""
        return time.monotonic() - self.started

    @property
    def left(self) -> float:
        """Seconds left, or units of work left."""
        return self.seconds - self.elapsed if self.work is None else self.work - self.spent

    @contextmanager
    def lent(self, share: float) -> Iterator[None]:
        """No more than this much of what is left, for as long as the context lasts."""
        seconds, work = self.seconds, self.work
        if work is None:
            self.seconds = min(seconds, self.elapsed + share)
        else:
            self.work = min(work, self.spent + share)
        try:
            yield
        finally:
            self.seconds, self.work = seconds, work

    def charge(self, work: float) -> None:
        """Count work done."""
        self.spent += work


class Taker(Protocol):
    """Whoever pays for work, and takes what it finds."""

    @property
    def budget(self) -> Budget:
        """Charged for work done."""

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Take a layout if it is shorter."""


class Host(Taker, Protocol):
    """Whoever runs a search."""

    @property
    def seed(self) -> int:
        """Of all random choices."""

    def pulse(self) -> None:
        """Lets the observer breathe; what it raises ends the search."""

    def post(self, core: Core, layout: Layout, method: str) -> None:
        """Take a layout from another thread."""


class Goal:
    """What is asked of a core; lengths are steps.

    This one is settled once for all; `nesting.packing.branch.CaseGoal` follows a race.

    Parameters
    ----------
    core
        The problem.
    least
        No shorter layout exists, or is wanted.
    longest
        No longer layout is wanted; None: there is none yet.
    weights
        Row weights by the name of the bound that gave them.
    best
        A layout of this core that is to be bettered.
    """

    def __init__(
        self,
        core: Core,
        least: int = 0,
        longest: int | None = None,
        weights: dict[str, Weights] | None = None,
        best: Layout | None = None,
    ) -> None:
        self.core, self.weights = core, {} if weights is None else weights
        self._least, self._longest, self._best = least, longest, best
        self._handed: Layout | None = None

    @property
    def handed(self) -> Layout | None:
        """A layout whose order is worth searching next."""
        return self._handed

    @handed.setter
    def handed(self, layout: Layout | None) -> None:
        """Hand one on, or say that it was taken."""
        self._handed = layout

    @property
    def least(self) -> int:
        """No shorter layout exists, as far as is known."""
        return self._least

    @property
    def longest(self) -> int | None:
        """The longest that would still be better than the best; None without a layout."""
        return self._longest

    @property
    def closed(self) -> bool:
        """Nothing shorter than the best layout is left."""
        return self._longest is not None and self._longest < self._least

    @property
    def best(self) -> Layout | None:
        """The best layout, where it is one of this core."""
        return self._best

    @property
    def best_weights(self) -> Weights | None:
        """Of the row weights those that raised the bound last."""
        return self.weights.get("best", self.weights.get("bars"))

    def take(self, bound: Bound) -> bool:
        """Take a bound if it is higher; True if it was."""
        if bound.length <= self._least:
            return False
        self._least = bound.length
        return True

    def lay(self, turn: Turn, stood: Sequence[Any], least: int, length: int) -> int | None:
        """Make a layout of rows with places across; how long it is, or None where none was made."""
        return None


class Turn:
    """One turn of a bound or a search; it is the host of whatever that runs in its turn.

    Parameters
    ----------
    host
        Pays, and takes layouts.
    goal
        What is asked for.
    share
        Seconds; or what tells them by how many are left.
    threads
        Of the solver.
    until
        What else ends it.
    params
        Tuning numbers.
    number
        Of the round.
    beside
        Another thread searches the same: what is found is handed on to nobody.
    """

    def __init__(
        self,
        host: Host,
        goal: Goal,
        share: float | Callable[[float], float],
        *,
        threads: int = 1,
        until: Callable[[], bool] | None = None,
        params: Params = PARAMS,
        number: int = 0,
        beside: bool = False,
    ) -> None:
        self.host, self.goal, self.core = host, goal, goal.core
        self.threads, self.params, self.number, self.beside = threads, params, number, beside
        self._share, self._until = share, until
        self._looking = 0.0
        left = host.budget.left
        self.seconds = share(left) if callable(share) else share
        self._end = max(0.0, left - self.seconds)

    @property
    def seed(self) -> int:
        """Of the host."""
        return self.host.seed

    @property
    def budget(self) -> Budget:
        """Of the host."""
        return self.host.budget

    @property
    def counted(self) -> bool:
        """Whether work is counted, so that nothing may depend on the clock."""
        return self.budget.work is not None

    @property
    def least(self) -> int:
        """No shorter layout exists, as far as is known by now."""
        return self.goal.least

    @property
    def longest(self) -> int | None:
        """The longest that would still be better than the best; None without a layout."""
        return self.goal.longest

    def over(self) -> bool:
        """Whether it is spent; lets the observer breathe."""
        self.host.pulse()
        self.host.budget.charge(self._looking)
        return self.host.budget.left <= self._end or (self._until is not None and self._until())

    def charging(self, work: float) -> Turn:
        """Itself, with so much charged, for what was done since, each time it is asked whether it is over."""
        self._looking = work
        return self

    def part(self, share: float, *, beyond: bool = False) -> Turn:
        """A turn of that share of its seconds from now on; it ends with it unless it may go ``beyond``."""
        return self._again(share * self.seconds, self._until if beyond else self.over)

    def capped(self, seconds: float) -> Turn:
        """A turn of so many seconds from now on, which ends with it."""
        return self._again(seconds, self.over)

    def renewed(self) -> Turn:
        """The same share of what is left by now."""
        return self._again(self._share, self._until)

    def glance(self) -> Turn:
        """A turn that is over at the second look."""
        return _Glance(self)

    def of(self, host: Host, goal: Goal) -> Turn:
        """What is left of it for something else."""
        return self._again(self.seconds, self.over, host, goal)

    def _again(
        self,
        share: float | Callable[[float], float],
        until: Callable[[], bool] | None,
        host: Host | None = None,
        goal: Goal | None = None,
    ) -> Turn:
        return Turn(
            self.host if host is None else host,
            self.goal if goal is None else goal,
            share,
            threads=self.threads,
            until=until,
            params=self.params,
            number=self.number,
            beside=self.beside,
        )

    def pulse(self) -> None:
        """Let the observer breathe."""
        self.host.pulse()

    def charge(self, work: float) -> None:
        """Count work done."""
        self.host.budget.charge(work)

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Hand in a layout; True if it is the shortest."""
        return self.host.offer(core, layout, method)

    def post(self, core: Core, layout: Layout, method: str) -> None:
        """Hand in a layout from another thread."""
        self.host.post(core, layout, method)

    def take(self, bound: Bound) -> bool:
        """Hand in a bound, in steps of the core; True if it is the highest."""
        return self.goal.take(bound)

    def lay(self, stood: Sequence[Any], least: int, length: int) -> int | None:
        """Have a layout made of rows, at most so long; how long it is, or None where none was made.

        Once it is within ``least`` no shorter one is looked for.
        """
        return self.goal.lay(self, stood, least, length)

    def hand_on(self, layout: Layout) -> None:
        """Let searches of orders go on from a layout."""
        if not self.beside:
            self.goal.handed = layout

    def handed(self) -> Layout | None:
        """A layout handed on by another search, once."""
        layout, self.goal.handed = self.goal.handed, None
        return layout


class _Glance(Turn):
    """Over at the second look; nobody is asked, nothing is charged."""

    def __init__(self, turn: Turn) -> None:
        super().__init__(turn.host, turn.goal, turn.seconds, threads=turn.threads, params=turn.params)
        self._looks = 0

    def over(self) -> bool:
        self._looks += 1
        return self._looks > 1
