"""How long to search: one budget, shared out over the fabrics of a job."""

from __future__ import annotations

import math
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from nesting.check import check_layout
from nesting.packing import (
    Bound,
    Incumbent,
    Observer,
    Placement,
    Problem,
    Result,
    Stop,
    Viewer,
    fill_best,
    pack,
    pack_across,
)
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.tidy import can_be_tidied, tidy, tidy_lengths
from nesting.plan.cuts import cut_rule_of
from nesting.plan.plan import FabricLayout
from nesting.planning.laying import Lay, so_far
from nesting.planning.lengths import OnHand

Listener = Callable[[str, Incumbent], object]
"""Told the fabric and each better layout or bound; returning False asks for an end."""

Display = Callable[[str, Callable[[], tuple[FabricLayout, ...]]], object]
"""Shown each better layout of a fabric while it is searched for: its title, and what makes the layouts of it,
checked, once somebody wants to look at them."""

Shown = Callable[[int, tuple[Placement, ...]], tuple[FabricLayout, ...]]
"""Makes the layouts of a fabric of a length and of where everything lies."""


#: The part of the budget that is kept to make layouts easier to cut; each fabric but the last is given half.
FOR_EASE = 0.05

#: Of what there is for a whole plan, shared out evenly over its fabrics, the part for which the plain seam
#: plans of each are searched alone.
FOR_PLAIN = 0.5
#: Of one search the part that it may take at most: bounds over all seam plans take a moment too.
MOST_PLAIN = 0.95


@dataclass(frozen=True, slots=True)
class Effort:
    """How long to search: settings only, so that one effort serves any number of plans.

    Attributes
    ----------
    seconds
        For everything.
    work
        Instead of seconds: a budget that does not depend on the clock.
    workers, seed
        As for `nesting.packing.pack`.
    listener
        Told of progress.
    display
        Shown each better layout.
    layouts_only
        Only what is to be bought and how it lies, checked as ever: no other fullness, seam plan or answer to
        a question is planned beside it.
    """

    seconds: float = 10.0
    work: float | None = None
    workers: int | None = None
    seed: int = 0
    listener: Listener | None = None
    display: Display | None = None
    layouts_only: bool = False

    def begin(self, problems: float, *, interrupted: bool = False, whole: Effort | None = None) -> Spending:
        """A clock of its own for one plan; parameters as for `Spending`."""
        return Spending(self, problems, interrupted=interrupted, whole=whole)

    @property
    def amount(self) -> float:
        """Seconds, or units of work."""
        return self.seconds if self.work is None else self.work


class Spending:
    """What one plan spends of its effort, shared out over the problems that are still to come.

    Parameters
    ----------
    effort
        What there is. A part of it is kept to make layouts easier to cut.
    problems
        So many problems of usual weight share the rest.
    interrupted
        An end was asked for already: only first layouts are made.
    whole
        What there was for one plan of the job before anything was set aside: the plain seam plans have half
        of it. None: half of each search.
    """

    def __init__(
        self, effort: Effort, problems: float, *, interrupted: bool = False, whole: Effort | None = None
    ) -> None:
        self.effort = effort
        self.interrupted = interrupted
        self._whole = None if whole is None else whole.amount
        self._kept = FOR_EASE * effort.amount
        self._work = None if effort.work is None else effort.work - self._kept
        self._end = time.monotonic() + effort.seconds - (self._kept if effort.work is None else 0.0)
        self._left = max(1.0, problems)
        self._eased = 0

    def pack(
        self,
        lay: Lay,
        weight: float = 1,
        *,
        most: float = math.inf,
        quiet: bool = False,
        first: bool = False,
    ) -> Result:
        """One problem with its share; after an interrupt only the first layouts are made.

        Parameters
        ----------
        lay
            The problem.
        weight
            How much of a usual share it is given.
        most
            No more seconds, or units of work, than this.
        quiet
            Tell nobody of its layouts.
        first
            The plain seam plans of the fabric are among its own: they are searched alone for half of what the
            fabric would have if nothing else were planned, so it is never longer than they are in that time.
        """
        share, work = self._share(weight, most)
        told = None if quiet else self._told(lay.fabric.title)
        if lay.across:
            result = self._across(lay, share, work, told)
        else:
            given = share if work is None else work
            result = self._freely(lay, share, work, told, self._with_half(lay, given) if first else PARAMS)
        if self._work is not None and work is not None:
            self._work -= work
        return result

    def tidied(self, lay: Lay, result: Result) -> Result:
        """The layout with places that are easier to cut, as long as it was; in a bounded time."""
        problem = lay.problem
        if result.length is None or self.interrupted or problem.choices or not problem.plain_purchase:
            return result
        if can_be_tidied(problem, result) and check_layout(problem, result.placements, result.length):
            # A fault is not to be smoothed over here: the check of the finished layout names it.
            return result
        budget = self._for_ease(lay)
        return tidy(
            problem,
            result,
            across=lay.across,
            cut_rules=[cut_rule_of(piece) for piece in lay.pieces],
            seconds=budget,
            work=None if self._work is None else budget,
            seed=self.effort.seed,
            on_progress=self._told(lay.fabric.title),
        )

    def tidied_lengths(self, lay: Lay, problem: OnHand, result: Result) -> Result:
        """The same of lengths on hand, and of what is bought beside them; each is cut into no further."""
        if not result.placements or self.interrupted:
            return result
        if check_layout(problem.problem, result.placements):
            return result
        strips = sorted({at.strip for at in result.placements if not problem.is_pin(at.strip)})
        budget = self._for_ease(lay)
        return tidy_lengths(
            problem.problem,
            result,
            strips,
            cut_rules=[cut_rule_of(share.piece) for share in problem.shares],
            seconds=budget,
            work=None if self._work is None else budget,
            seed=self.effort.seed,
            on_progress=self._told(lay.fabric.title),
        )

    def _for_ease(self, lay: Lay) -> float:
        """Seconds, or units of work, to make one fabric easier to cut."""
        self._eased += 1
        budget = self._kept / 2 if self._eased < len(lay.job.fabrics) else self._kept
        self._kept -= budget
        return budget

    def pack_problem(
        self, problem: Problem, title: str, weight: float = 1, shown: Shown | None = None
    ) -> Result:
        """A problem of the fabric of that title, with its share of the time; ``shown`` makes what is seen."""
        share, work = self._share(weight, math.inf)
        viewer = None if shown is None else self._viewer(title, shown)
        result = self._pack(problem, share, work, self._told(title), viewer)
        if self._work is not None and work is not None:
            self._work -= work
        return result

    def fill(
        self, problem: Problem, first: Sequence[Placement], title: str, weight: float, most: float
    ) -> Result:
        """The most of what is optional on one strip, from a layout that is known; see `spare`."""
        share, work = self._share(weight, most)
        result = fill_best(
            problem,
            first,
            time_limit=share,
            workers=self.effort.workers,
            seed=self.effort.seed,
            work_limit=work,
            on_progress=None if self.interrupted else self._told(title),
        )
        if self._work is not None and work is not None:
            self._work -= work
        self.interrupted = self.interrupted or result.stop is Stop.INTERRUPTED
        return result

    def lent(self, weight: float, least: float, most: float) -> Effort:
        """A budget of its own for a trial beside the plan, from the share that was kept for it.

        Parameters
        ----------
        weight
            How much of a usual share.
        least, most
            No fewer, and no more, seconds or units of work: bounds and first layouts take a moment.
        """
        share, work = self._share(weight, most)
        if self._work is not None and work is not None:
            self._work -= work
        least = 0.0 if self.interrupted else least
        return Effort(
            max(least, share),
            None if work is None else max(least, work),
            self.effort.workers,
            self.effort.seed,
        )

    def skip(self, problems: float) -> None:
        """So many of those that were counted need not be packed after all."""
        self._left = max(0.0, self._left - problems)

    def _share(self, weight: float, most: float) -> tuple[float, float | None]:
        """Seconds and units of work for the next problem."""
        part = weight / max(weight, self._left)
        share = min(most, max(0.0, self._end - time.monotonic()) * part)
        work = None if self._work is None else min(most, self._work * part)
        self._left = max(0.0, self._left - weight)
        return (0.0, None if work is None else 0.0) if self.interrupted else (share, work)

    def _told(self, title: str) -> Observer:
        listener = self.effort.listener

        def told(incumbent: Incumbent) -> object:
            wish = None if listener is None else listener(title, incumbent)
            # An end is not granted before there is something to keep: a first layout comes at once.
            return None if incumbent.length is None else wish

        return told

    def _with_half(self, lay: Lay, share: float) -> Params:
        """The order of work in which the plain plan of a fabric has its half, out of this share."""
        if self._whole is None:
            return PARAMS
        due = FOR_PLAIN * self._whole / len(lay.job.fabrics)
        part = due / share if share > due else 1.0
        return replace(PARAMS, plain=min(MOST_PLAIN, part))

    def _freely(
        self, lay: Lay, share: float, work: float | None, told: Observer | None, params: Params
    ) -> Result:
        shown = None if told is None else self._viewer(lay.fabric.title, partial(so_far, lay))
        return self._pack(lay.problem, share, work, told, shown, params)

    def _viewer(self, title: str, shown: Shown) -> Viewer | None:
        """Hands on what makes each better layout."""
        display = self.effort.display
        if display is None:
            return None
        return lambda length, placements: display(title, partial(shown, length, placements))

    def _pack(
        self,
        problem: Problem,
        share: float,
        work: float | None,
        told: Observer | None,
        shown: Viewer | None = None,
        params: Params = PARAMS,
    ) -> Result:
        result = pack(
            problem,
            time_limit=share,
            workers=self.effort.workers,
            seed=self.effort.seed,
            work_limit=work,
            on_progress=None if self.interrupted else told,
            on_layout=shown,
            params=params,
        )
        self.interrupted = self.interrupted or result.stop is Stop.INTERRUPTED
        return result

    def _across(self, lay: Lay, share: float, work: float | None, told: Observer | None) -> Result:
        """Cut freely in half the time, for its bound and to tell the price; then across first."""
        began = time.monotonic()
        shown = None if told is None else self._viewer(lay.fabric.title, partial(self._in_bands, lay))
        seen = list[Placement]()

        def first(length: int, placements: tuple[Placement, ...]) -> None:
            # Only its parts are of use: they are shown as they would be cut, and bettered later.
            if shown is not None and not seen:
                seen.extend(placements)
                shown(length, placements)

        free = self._pack(lay.problem, share / 2, None if work is None else work / 2, told, first)
        if free.length is None:
            return free
        part, left = (
            PartOfProblem.chosen(lay.problem, free.placements),
            max(0.0, share - (time.monotonic() - began)),
        )
        result = pack_across(
            part.problem,
            free=free.bound,
            time_limit=0.0 if self.interrupted else left,
            workers=self.effort.workers,
            seed=self.effort.seed,
            work_limit=None if work is None else 0.0 if self.interrupted else work / 2,
            on_progress=None if self.interrupted else told,
            on_layout=None if told is None else self._viewer(lay.fabric.title, partial(_in_whole, lay, part)),
        )
        self.interrupted = self.interrupted or result.stop is Stop.INTERRUPTED
        if result.length is None:
            return replace(result, bound=free.bound)
        return replace(
            result,
            bound=result.bound if part.whole else free.bound,
            stop=free.stop if self.interrupted else result.stop,
            seconds=round(free.seconds + result.seconds, 3),
            placements=part.in_whole(result.placements),
            chosen=free.chosen,
            free_length=min(result.length, free.length),
        )

    def _in_bands(self, lay: Lay, length: int, placements: tuple[Placement, ...]) -> tuple[FabricLayout, ...]:
        """A first layout cut across first of the parts that a layout lays."""
        part = PartOfProblem.chosen(lay.problem, placements)
        none = Bound(0, "not asked")
        made = pack_across(part.problem, free=none, time_limit=0.0, workers=1, seed=self.effort.seed)
        return () if made.length is None else _in_whole(lay, part, made.length, made.placements)


def _in_whole(
    lay: Lay, part: PartOfProblem, length: int, placements: Sequence[Placement]
) -> tuple[FabricLayout, ...]:
    return so_far(lay, length, part.in_whole(placements))


@dataclass(frozen=True, slots=True)
class PartOfProblem:
    """A problem without its choices: the parts of the options that were laid.

    Attributes
    ----------
    problem
        With those parts only.
    parts
        Their numbers in the whole problem.
    whole
        Nothing was left out.
    """

    problem: Problem
    parts: tuple[int, ...]
    whole: bool

    @classmethod
    def chosen(cls, problem: Problem, placements: Sequence[Placement]) -> PartOfProblem:
        """The parts that a layout lays."""
        laid = tuple(sorted({placement.part for placement in placements}))
        parts = tuple(problem.parts[number] for number in laid)
        return cls(Problem(problem.strips, parts), laid, len(parts) == len(problem.parts))

    def in_whole(self, placements: Sequence[Placement]) -> tuple[Placement, ...]:
        """Placements with their parts numbered as in the whole."""
        return tuple(replace(placement, part=self.parts[placement.part]) for placement in placements)
