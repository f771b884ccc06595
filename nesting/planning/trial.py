"""One fabric of a job tried once more with something changed, until it is known whether it takes less."""

from __future__ import annotations

import time
from collections.abc import Mapping
from dataclasses import dataclass, replace

from nesting.errors import NestingError
from nesting.order.job import Bolt, Job
from nesting.packing import Incumbent
from nesting.plan.plan import FabricLayout
from nesting.planning.effort import Effort
from nesting.planning.laying import Lay, buy_for, layout_of
from nesting.planning.ways import best_of, cases_of

#: No trial is worth less than this: bounds and first layouts alone take as long.
LEAST_SHARE = 0.05


@dataclass(slots=True)
class Trials:
    """A budget shared out over trials, none of which can take more than its share.

    Attributes
    ----------
    effort
        What there is in all; its listener is asked whether to go on.
    planned
        How many trials the budget is to last for.
    made
        How many were made.
    ended
        Whether an end was asked for.
    """

    effort: Effort
    planned: int
    made: int = 0
    ended: bool = False
    _begun: float = 0.0

    def __post_init__(self) -> None:
        self._begun = time.monotonic()

    @property
    def over(self) -> bool:
        """Whether the budget is spent."""
        if self.ended:
            return True
        if self.effort.work is not None:
            return self.made >= self.planned
        return time.monotonic() - self._begun >= self.effort.seconds

    def share(self) -> Effort:
        """What the next trial may take.

        Units of work go in equal parts, whatever earlier trials left over, so that the same budget gives the
        same advice; seconds that were left over go to the trials to come.
        """
        left = max(1, self.planned - self.made)
        self.made += 1
        seconds = max(0.0, self.effort.seconds - (time.monotonic() - self._begun)) / left
        work = None if self.effort.work is None else max(LEAST_SHARE, self.effort.work / self.planned)
        return Effort(max(LEAST_SHARE, seconds), work, self.effort.workers, self.effort.seed)

    def goes_on(self, fabric: str, now: Incumbent) -> bool:
        """Ask whoever listens; False once an end was asked for."""
        listener = self.effort.listener
        if listener is not None and listener(fabric, now) is False:
            self.ended = True
        return not self.ended


@dataclass(frozen=True, slots=True)
class Tried:
    """What a trial came to: a layout short enough, or none.

    ``refuted`` where a bound rules every such layout out; ``skipped`` where there was no budget left to look.
    """

    layout: FabricLayout | None = None
    refuted: bool = False
    skipped: bool = False


def longest_for(lay: Lay, total: int, most: int) -> int:
    """The longest layout up to ``most`` whose purchase is no more than ``total``; -1 where none is."""
    low, high = -1, most
    while low < high:
        middle = (low + high + 1) // 2
        if buy_for(lay, middle).total <= total:
            low = middle
        else:
            high = middle - 1
    return low


def attempt(
    trials: Trials, job: Job, key: str, bolts: Mapping[str, Bolt], *, total: int | None, length: int
) -> Tried:
    """One fabric of a changed job, packed until it is known whether it takes as little as asked.

    Parameters
    ----------
    trials
        The budget.
    job, key, bolts
        The changed job, the fabric in question, and the bolt of each fabric.
    total
        What may be bought at most, in ticks; None: whatever it takes.
    length
        The longest layout that counts.

    Returns
    -------
    Outcome
        A layout is checked as every layout is, and its purchase worked out from it.
    """
    if trials.over:
        return Tried(skipped=True)
    fabric = job.fabric(key)
    try:
        cases = cases_of(job, fabric, bolts)
        if not cases:
            return Tried()
        most = length if total is None else longest_for(cases[0].lay, total, length)
        judge = _Judge(trials, None if total is None else most, len(cases) == 1)
        solved = best_of(cases, replace(trials.share(), listener=judge).begin(len(cases)))
        lay = replace(solved.case.lay, railroaded=bool(solved.sideways))
        layout, _ = layout_of(lay, solved.result, solved.bound, None)
    except NestingError:
        # A change may make a job that cannot be cut at all: that is no advice.
        return Tried()
    if trials.ended:
        return Tried(skipped=True)
    if layout.length is not None and layout.length <= most and _within(layout, total):
        return Tried(layout)
    return Tried(refuted=solved.bound.length > most)


def _within(layout: FabricLayout, total: int | None) -> bool:
    return layout.buy is not None and (total is None or layout.buy.total <= total)


@dataclass(frozen=True, slots=True)
class _Judge:
    """Ends a search that is decided: a layout is short enough, or the bound rules it out."""

    trials: Trials
    most: int | None
    alone: bool

    def __call__(self, fabric: str, now: Incumbent) -> bool:
        if not self.trials.goes_on(fabric, now):
            return False
        if self.most is None:
            return True
        found = now.length is not None and now.length <= self.most
        return not (found or (self.alone and now.bound > self.most))
