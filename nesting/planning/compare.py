"""Each fabric of a job on every width in which it is sold."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass, replace

from nesting.cutting.cut import can_railroad
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.errors import NestingError
from nesting.order.bolts import bolt_of_width
from nesting.order.job import Bolt, Fabric, Job
from nesting.pieces.piece import LAYERS
from nesting.plan.comparison import Comparison, Option
from nesting.planning.effort import Effort, Spending
from nesting.planning.laying import layout_of
from nesting.planning.ways import Case, Solved, best_of, cases_of
from nesting.planning.workers import as_worker, searches
from nesting.planning.workroom import Delivered
from nesting.units import format_length

#: Why a bolt has no layout where the comparison was stopped before.
NOT_FINISHED = "not finished"

Told = Callable[[Delivered[Option]], object]


def compare(
    job: Job,
    *,
    widths: Sequence[int] = (),
    effort: Effort | None = None,
    executor: Executor | None = None,
    at_once: int | None = None,
    stop: Callable[[], bool] | None = None,
    told: Told | None = None,
) -> Comparison:
    """Each fabric of a job on every bolt on offer, and on further widths asked for, all of it bought.

    Lengths on hand are left aside: what is compared are purchases. In turn or on workers, the same work
    budget and ``workers=1`` give the same comparison.

    Parameters
    ----------
    job
        What was ordered.
    widths
        Further full widths in ticks; no price is known for them.
    effort
        How long to search, for all of them together. In turn, seconds that a bolt leaves over go to those
        after it; workers cannot tell, so that each bolt has its part. The listener is told in turn only.
    executor
        Runs a task for each bolt; stays open. See `workroom.shares` for how many bolts and threads
        there are at a time. Default: one bolt after another in this process.
    at_once
        Bolts at a time. Without an executor, more than one is run on processes of our own.
    stop
        Of workers only: asked ten times a second. True ends as in `workroom.each_once`; a bolt that
        did not come back has no layout, and `NOT_FINISHED` as its reason.
    told
        Of workers only: called with each bolt as it comes back.
    """
    effort = effort or Effort()
    trials = [
        Trial(job, fabric, bolt, offered)
        for fabric in job.fabrics
        for bolt, offered in _bolts(job, fabric, widths)
    ]
    prepared = [one for one in map(_prepared, trials) if one.cases or one.reason]
    problems = sum(len(one.cases) for one in prepared)
    if executor is None and (at_once or 1) == 1:
        options = _in_turn(prepared, problems, effort)
    else:
        asked = [replace(one.trial, part=len(one.cases) / problems) for one in prepared if one.cases]
        made = iter(_on_workers(asked, effort, executor, at_once, stop, told))
        options = [next(made) if one.cases else one.trial.without(one.reason) for one in prepared]
    return Comparison(job, tuple(options))


def _bolts(job: Job, fabric: Fabric, widths: Sequence[int]) -> Iterator[tuple[Bolt, bool]]:
    for bolt in fabric.bolts:
        yield bolt, True
    known = {bolt.width for bolt in fabric.bolts}
    for width in widths:
        if width not in known:
            yield bolt_of_width(job, fabric, width), False


@dataclass(frozen=True, slots=True)
class Trial:
    """One fabric of a job on one bolt.

    Attributes
    ----------
    job, fabric, bolt
        What is cut from what.
    offered
        Somebody sells it; else its width was asked for.
    part
        Of the seconds, or units of work, that there are for all.
    """

    job: Job
    fabric: Fabric
    bolt: Bolt
    offered: bool
    part: float = 1.0

    def cases(self) -> list[Case]:
        """Every way to cut it; raises what forbids them all."""
        chosen = {other.key: other.bolts[0] for other in self.job.fabrics} | {self.fabric.key: self.bolt}
        return cases_of(self.job, self.fabric, chosen)

    def option(self, cases: Sequence[Case], spending: Spending) -> Option:
        """What this bolt would take, searched for on a clock of its own."""
        try:
            solved = best_of(cases, spending)
        except NestingError as error:
            return self.without(str(error))
        rule = rule_of_thumb_for(
            self.job, solved.plain.cutting.pieces, self.fabric.key, self.bolt, solved.plain.sideways
        )
        lay = replace(solved.case.lay, railroaded=bool(solved.sideways))
        layout, _ = layout_of(lay, solved.result, solved.bound, rule)
        cutting = solved.case.cutting
        mine = {window.name for window in self.job.windows if window.fabric == self.fabric.key}
        return Option(
            layout=layout,
            bolt=self.bolt,
            fabric=self.fabric,
            widths_per_panel=tuple(pair for pair in cutting.widths if pair[0] in mine),
            seams=sum(len(p.joined_to) * p.copies for p in solved.case.lay.pieces) // 2,
            railroad=self._railroad(solved),
            offered=self.offered,
        )

    def without(self, reason: str) -> Option:
        """No layout, and why."""
        return Option(None, self.bolt, self.fabric, reason=reason, offered=self.offered)

    def _railroad(self, solved: Solved) -> str:
        """Whether panels may be cut sideways, and what that gives."""
        unit = self.job.units
        lengths = dict(solved.lengths)
        if len(lengths) < 2:
            rooms = dict.fromkeys(p.room for p in solved.case.lay.pieces if p.role in LAYERS and p.room)
            reasons = [can_railroad(self.job, self.fabric.key, room, self.bolt) for room in rooms]
            if solved.case.sideways:
                return "sideways, as ordered"
            if any(allowed for allowed, _ in reasons):
                how = "sideways" if solved.sideways else "upright"
                return f"{how}, no seams either way"
            return next((f"no: {reason}" for _, reason in reasons), "")
        upright = min((v for k, v in lengths.items() if not k and v is not None), default=None)
        turned = min((v for k, v in lengths.items() if k and v is not None), default=None)
        if upright is None or turned is None:
            return "possible"
        saved = format_length(abs(upright - turned), unit)
        if turned < upright:
            return f"sideways takes {saved} less"
        return f"sideways takes {saved} more" if turned > upright else "sideways takes the same"


def option_of(effort: Effort, trial: Trial) -> Option:
    """Runs in a worker: one bolt, with its part of the effort for all."""
    mine, cases = as_worker(effort), trial.cases()
    return trial.option(cases, _part_of(mine, mine.seconds * trial.part, trial.part).begin(len(cases)))


def _part_of(effort: Effort, seconds: float, part: float) -> Effort:
    """So many seconds, or that part of the work."""
    return replace(effort, seconds=seconds, work=None if effort.work is None else effort.work * part)


@dataclass(frozen=True, slots=True)
class _Prepared:
    """A trial with the ways to cut it, or with the reason why there are none."""

    trial: Trial
    cases: Sequence[Case] = ()
    reason: str = ""


def _prepared(trial: Trial) -> _Prepared:
    try:
        return _Prepared(trial, trial.cases())
    except NestingError as error:
        return _Prepared(trial, reason=str(error))


def _in_turn(prepared: Sequence[_Prepared], problems: int, effort: Effort) -> list[Option]:
    """One bolt after another; the seconds that one leaves over go to those after it."""
    end, left = time.monotonic() + effort.seconds, problems
    options, interrupted = list[Option](), False
    for one in prepared:
        if not one.cases:
            options.append(one.trial.without(one.reason))
            continue
        count = len(one.cases)
        mine = _part_of(effort, max(0.0, end - time.monotonic()) * count / left, count / problems)
        spending = mine.begin(count, interrupted=interrupted)
        options.append(one.trial.option(one.cases, spending))
        interrupted, left = spending.interrupted, left - count
    return options


def _on_workers(
    trials: Sequence[Trial],
    effort: Effort,
    executor: Executor | None,
    at_once: int | None,
    stop: Callable[[], bool] | None,
    told: Told | None,
) -> list[Option]:
    """The options in order, once all that can be had has come back.

    Raises
    ------
    Exception
        Of a search, or of a worker that is lost for good: no fault of the job.
    """
    found = [trial.without(NOT_FINISHED) for trial in trials]
    for outcome in searches(option_of, trials, effort=effort, executor=executor, at_once=at_once, stop=stop):
        if outcome.made is None:
            assert outcome.error is not None
            raise outcome.error
        found[outcome.number] = outcome.made
        if told is not None:
            told(outcome)
    return found
