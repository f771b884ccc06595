"""From a problem to the shortest layout in bands that was found, and the best bound on all of them."""

from __future__ import annotations

import os

from nesting.errors import ProblemError
from nesting.packing.bounds import BOUNDS, COUNTING
from nesting.packing.certifying import certified
from nesting.packing.guillotine.band_model import BandModel
from nesting.packing.guillotine.band_proof import proof_across
from nesting.packing.guillotine.bands import BandSearch
from nesting.packing.guillotine.patterns import fits, relax
from nesting.packing.limits import require_limits, require_time
from nesting.packing.problem import Problem
from nesting.packing.race import Race, ended, in_ticks, result_of
from nesting.packing.reduce import Core, closed_arrows, reduce
from nesting.packing.result import Bound, Observer, Result, Stop, Viewer
from nesting.packing.schedule import When
from nesting.packing.turn import Budget, Goal, Turn

#: With more rectangles than this no model of bands is built.
MOST_IN_BANDS = 44
#: Units of work for one entry of the tables of the band relaxation.
WORK_PER_ENTRY = 2e-9
_METHOD = "CP-SAT over bands, not re-checked"


def pack_across(
    problem: Problem,
    *,
    free: Bound,
    time_limit: float = 10.0,
    workers: int | None = None,
    seed: int = 0,
    work_limit: float | None = None,
    on_progress: Observer | None = None,
    on_layout: Viewer | None = None,
) -> Result:
    """The shortest layout found that is cut across first, with a proven bound on every such layout.

    Parameters
    ----------
    problem
        One open strip without flaws, and its parts; whole numbers, no choices.
    free
        A bound on every layout of the problem, cut in any way: it holds for these as well.
    time_limit, workers, seed, work_limit, on_progress, on_layout
        As for `nesting.packing.pack`.

    Returns
    -------
    Result
        ``bound`` and ``status`` speak of layouts cut across first.

    Raises
    ------
    ProblemError
        The problem has several strips, one of fixed length, choices or optional parts, or seed or workers
        are out of range.
    """
    if not problem.plain_purchase or problem.choices:
        raise ProblemError("cut across first: one open strip is packed, without choices or optional parts")
    seed, workers = require_limits(seed, workers)
    require_time(time_limit, work_limit)
    core = reduce(problem)
    race = Race(Budget(time_limit, work_limit), on_progress, seed, viewer=on_layout)
    if core is None:
        return result_of(race, Stop.PROVED, infeasible=True)

    def work() -> None:
        race.raise_bound(free)
        _AcrossSearch(core, race, workers or os.cpu_count() or 1).run()

    result = result_of(race, ended(race, work))
    share, most = race.params.certificate, race.params.most_certificate
    within = None if work_limit is None else min(share * work_limit, most)
    return certified(
        problem, result, min(share * time_limit, most), within, race.params, on_progress, proof_across
    )


class _AcrossSearch:
    """The order of work: bounds, bands in every order, then chance and proof in turn."""

    def __init__(self, core: Core, race: Race, workers: int) -> None:
        self._core, self._race, self._workers = core, race, workers
        self._searches = [BandSearch(case, race.seed) for case in closed_arrows(core, set_apart=False)]
        self._goal, self._slice = Goal(core), race.params.first_slice

    def run(self) -> None:
        """Work until the budget is spent; raises Finished when length and bound meet."""
        core, race = self._core, self._race
        if not core.kinds:
            race.offer(core, (), "rows of their own")
        turn = Turn(race, self._goal, 0.0)
        for stage in race.params.at(When.AT_ONCE):
            if stage.search in COUNTING:
                bound = BOUNDS[stage.search](core).raised(turn)
                if bound is not None:
                    race.raise_bound(in_ticks(core, bound))
        if not core.kinds:
            return
        for search in self._searches:
            search.first(race)
        self._relax()
        while race.budget.left > 0:
            for search in self._searches:
                search.run(race, Turn(race, self._goal, min(self._slice, 0.4 * race.budget.left)).over)
            if core.copies <= MOST_IN_BANDS and race.budget.left > 0:
                self._solve()
            self._slice *= race.params.growth
            race.end_round()

    def _relax(self) -> None:
        """On plain fabric, the bound of the bands' linear program, and a layout of its bands."""
        core, race = self._core, self._race
        longest = core.length_of(race.best[1]) if race.best is not None else 0
        if core.bordered or race.budget.left <= 0 or not fits(core, longest):
            return
        work = WORK_PER_ENTRY * core.width * longest * len(core.kinds)
        bound, program = relax(
            core, longest, Turn(race, self._goal, 0.3 * race.budget.left).charging(work).over
        )
        race.raise_bound(in_ticks(core, bound))
        seconds = 0.2 * race.budget.left
        race.offer(core, program.layout(race, seconds), "whole bands")

    def _solve(self) -> None:
        """The whole model, asked for something shorter than the best."""
        core, race = self._core, self._race
        limit = race.limit_in(core)
        model = BandModel(core, core.stacked if limit is None else limit, race.target_in(core))
        seconds = min(2 * self._slice, race.budget.left)
        outcome = model.solve(race, seconds, self._workers, weak=True)
        race.offer(core, outcome.layout, "CP-SAT over bands")
        if outcome.infeasible and limit is not None:
            race.raise_bound(in_ticks(core, Bound(limit + 1, _METHOD)))
        elif not outcome.infeasible:
            race.raise_bound(in_ticks(core, Bound(outcome.bound, _METHOD)))
