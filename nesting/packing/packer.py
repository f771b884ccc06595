"""From a problem to the best layout found and the best bound proved."""

from __future__ import annotations

import os
import time
from collections.abc import Sequence

from nesting.packing.branch import Branch, CaseGoal, branches_of, seams_have_room, stages_of, unplaced
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.limits import require_limits, require_target, require_time
from nesting.packing.on_hand.stock import pack_stock
from nesting.packing.parallel.companion import Companion
from nesting.packing.problem import Problem
from nesting.packing.race import Race, ended, result_of
from nesting.packing.reduce import reduce
from nesting.packing.result import Observer, Placement, Result, Stop, Viewer
from nesting.packing.schedule import PARAMS, Params, Stage, When
from nesting.packing.searches import SEARCHES
from nesting.packing.turn import Budget, Turn
from nesting.packing.warm_start import begun, require_start


def pack(
    problem: Problem,
    *,
    time_limit: float = 10.0,
    workers: int | None = None,
    seed: int = 0,
    work_limit: float | None = None,
    on_progress: Observer | None = None,
    on_layout: Viewer | None = None,
    target: int | float | None = None,
    start: Sequence[Placement] | None = None,
    params: Params = PARAMS,
) -> Result:
    """As `nesting.packing.pack`, of a problem without choices."""
    seed, workers = require_limits(seed, workers)
    require_time(time_limit, work_limit)
    length, gap = require_target(problem, target)
    if start is not None:
        start = require_start(problem, start)
    budget = Budget(time_limit, work_limit)
    if not problem.plain_purchase:

        def pack_open(alone: Problem, share: float, observer: Observer) -> Result:
            limit = None if work_limit is None else share
            return pack(
                alone,
                time_limit=share,
                workers=workers,
                seed=seed,
                work_limit=limit,
                on_progress=observer,
                params=params,
            )

        threads = workers or os.cpu_count() or 1
        return pack_stock(problem, budget, threads, seed, on_progress, pack_open, on_layout)
    core = reduce(problem)
    branches = [] if core is None else branches_of(core, params.most_split)
    race = Race(budget, on_progress, seed, max(1, len(branches)), on_layout, length, params, gap)
    if not branches or not seams_have_room(branches):
        return result_of(race, Stop.PROVED, infeasible=True, unplaced=unplaced(problem, branches))
    first = None if start is None else begun(problem, branches, start)

    def work() -> None:
        cases = [Branch.of(core, number, seed, params) for number, core in enumerate(branches)]
        if first is not None:
            race.offer(*first, "the layout given")
            for case in cases:
                case.handed = first[1] if case.core is first[0] else None
        search(race, cases, workers)

    return result_of(race, ended(race, work))


def search(
    race: Race, branches: Sequence[Branch], workers: int | None, companion: Companion | None = None
) -> None:
    """Work on cases until the budget is spent, each from where it was left if it was worked on before.

    Parameters
    ----------
    race
        Told of layouts and bounds.
    branches
        Cases of one problem, by `branches_of`, with their numbers in the race.
    workers
        As for `pack`.
    companion
        Goes on beside this search and after it; None: where there are two workers it has one of its own.

    Raises
    ------
    Finished
        Length and bound have met.
    Contradicted
        A layout is shorter than a bound on its case.
    """
    race.watch([(branch.number, branch.core) for branch in branches])
    _OrderOfWork(branches, race, workers or os.cpu_count() or 1, companion).run()


class _OrderOfWork:
    """The order of work, as the schedule has it."""

    def __init__(
        self, branches: Sequence[Branch], race: Race, workers: int, companion: Companion | None = None
    ) -> None:
        self._race, self._params, self._workers = race, race.params, workers
        alone = len(branches) == 1
        self._cases = [(branch, CaseGoal(race, branch, alone=alone)) for branch in branches]
        self._companion = companion

    def run(self) -> None:
        """Work until the budget is spent; raises Finished when length and bound meet."""
        for stage in stages_of(self._params, When.AT_ONCE):
            # First layouts are laid in closed cases as well: a bound that closed one by mistake is found out.
            for branch, goal in self._cases if stage.search in SEARCHES else self._open():
                if not branch.begun:
                    self._do(stage, branch, goal)
        for branch, _ in self._cases:
            branch.begun = True
        if not self._open() or self._race.budget.left <= 0:
            return
        KERNELS.prepare(self._race.pulse)
        if self._workers == 1 or self._race.budget.work is not None:
            self._companion = None
        elif self._companion is None:
            branches = [branch for branch, _ in self._cases]
            with Companion(self._race, branches) as self._companion:
                self._prove()
            return
        self._prove()

    def _prove(self) -> None:
        """Bounds, then solver and searches in turn; a case that the companion is at work on is left to it."""
        self._once(When.BEFORE)
        for branch, goal in self._open():
            if self._race.budget.left > 0:
                self._round(branch, goal)
        self._once(When.AFTER)
        while self._race.budget.left > 0 and self._open():
            KERNELS.refresh()
            worked = [self._round(branch, goal) for branch, goal in self._open()]
            self._race.end_round()
            if any(worked):
                continue
            if self._companion is None:
                return
            self._race.pulse()
            time.sleep(0.05)

    def _once(self, when: When) -> None:
        for stage in stages_of(self._params, when):
            for branch, goal in self._open():
                if self._race.budget.left > 0:
                    self._do(stage, branch, goal)

    def _open(self) -> list[tuple[Branch, CaseGoal]]:
        return [case for case in self._cases if not case[1].closed]

    def _alone(self, branch: Branch) -> bool:
        """Nobody searches this case beside."""
        return self._companion is None or not self._companion.works_on(branch)

    @property
    def _threads(self) -> int:
        """Of the solver; the companion has a core to itself."""
        busy = self._companion is not None and self._companion.at_work
        return max(1, self._workers - 1) if busy else self._workers

    def _round(self, branch: Branch, goal: CaseGoal) -> bool:
        """Each stage of a round once; False when none has anything to do."""
        alone = stages_of(self._params, When.ALONE) if self._alone(branch) else ()
        worked = [self._do(stage, branch, goal) for stage in alone]
        worked += [self._tried(stage, branch, goal) for stage in stages_of(self._params, When.ROUND)]
        beside = stages_of(self._params, When.BESIDE) if not self._alone(branch) else ()
        worked += [self._tried(stage, branch, goal) for stage in beside]
        branch.round += 1
        branch.slice *= self._params.growth
        return any(worked)

    def _tried(self, stage: Stage, branch: Branch, goal: CaseGoal) -> bool:
        """A stage, with half the time that is its due while it brings nothing, a tenth at least."""
        race, whole = self._race, branch.slice
        known = race.length, race.bounds[branch.number]
        branch.slice = branch.credits.share(stage.search) * whole
        worked = self._do(stage, branch, goal)
        branch.slice = whole
        gained = known != (race.length, race.bounds[branch.number])
        branch.credits.tell(stage.search, gained=gained)
        return worked

    def _do(self, stage: Stage, branch: Branch, goal: CaseGoal) -> bool:
        """A turn of a bound or a search; False where nothing is left to do, or to do it with."""
        race = self._race
        if stage.when is not When.AT_ONCE and race.budget.left <= 0:
            return False
        found = race.tally
        began = race.budget.left
        try:
            return self._turn(stage, branch, goal)
        finally:
            layouts, bounds = (now - then for now, then in zip(race.tally, found, strict=True))
            race.reports.add(stage.search, began - race.budget.left, layouts, bounds)

    def _turn(self, stage: Stage, branch: Branch, goal: CaseGoal) -> bool:
        share = stage.share if branch.core.plain or stage.printed is None else stage.printed

        def turn() -> Turn:
            return Turn(
                self._race,
                goal,
                lambda left: share.of(left, branch.slice),
                threads=self._threads,
                until=(lambda: not self._alone(branch)) if stage.when is When.ALONE else None,
                params=self._params,
                number=branch.round,
                beside=stage.when is When.BESIDE,
            )

        if stage.search in SEARCHES:
            kept = branch.search(stage.search, stage.luck)
            if kept is None:
                return False
            with kept.lock:
                return kept.search.run(turn())
        bound = branch.bound(stage.search)
        if bound is None:
            return False
        mine = turn()
        raised = bound.raised(mine)
        if raised is not None:
            goal.take(raised)
        return bound.open(mine)
