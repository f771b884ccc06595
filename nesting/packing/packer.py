"""From a problem to the best layout found and the best bound proved."""

from __future__ import annotations

import os
import time
from collections.abc import Callable, Sequence

from nesting.packing import bounds
from nesting.packing.branch import MOST_IN_MODEL, Branch, branches_of, seams_have_room
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.limits import require_limits, require_target
from nesting.packing.models.cpsat import LayoutModel, Weights
from nesting.packing.on_hand.stock import pack_stock
from nesting.packing.parallel.companion import Companion, RaceView
from nesting.packing.problem import Problem
from nesting.packing.race import Budget, Race, ended, in_ticks, result_of
from nesting.packing.reduce import closed_arrows, reduce
from nesting.packing.result import Bound, Observer, Result, Stop, Viewer
from nesting.packing.searches.construct import bands, fill, orders, shelves

#: With more rectangles than this, on plain fabric, the search of orders is the quicker start.
MOST_PLACED_SINGLY = 500
#: Units of work for a place of one part, per part already lying.
WORK_PER_PLACE = 4e-6
#: Under a repeat, a layout at the bound is asked for when the best is at most this part longer.
NEAR = 0.01


def pack(
    problem: Problem,
    *,
    time_limit: float = 10.0,
    workers: int | None = None,
    seed: int = 0,
    work_limit: float | None = None,
    on_progress: Observer | None = None,
    on_layout: Viewer | None = None,
    target: int | None = None,
) -> Result:
    """The shortest layout found, with a proven lower bound on every layout.

    Stops the moment the two meet. The same problem, seed and ``workers=1`` with a ``work_limit`` give
    the same layout.

    Parameters
    ----------
    problem
        Strips and parts; whole numbers. With lengths on hand, or optional parts, several objectives
        count one after the other; see `nesting.packing.on_hand.stock`.
    time_limit
        Seconds for everything; not looked at when ``work_limit`` is given.
    workers
        Threads of the solver; None: as many as the machine has cores.
    seed
        Of all random choices.
    work_limit
        A budget that does not depend on the clock, in units of about a second of one core.
    on_progress
        Told of each better layout or bound, and about ten times a second of none; when it returns
        False the search ends with what it has.
    on_layout
        Shown each better layout: its length, as the result will have it, and where everything lies.
    target
        A layout no longer than this ends the search; None: only the bound does. On one open strip, with
        every part laid.

    Returns
    -------
    Result
        Lengths in the problem's units. ``status`` speaks of the length alone.

    Raises
    ------
    ProblemError
        The problem asks for what this version cannot honor, or seed or workers are out of range.
    """
    seed, workers = require_limits(seed, workers)
    target = require_target(problem, target)
    budget = Budget(time_limit, work_limit)
    if not problem.plain_purchase:

        def pack_open(alone: Problem, share: float, observer: Observer) -> Result:
            limit = None if work_limit is None else share
            return pack(
                alone, time_limit=share, workers=workers, seed=seed, work_limit=limit, on_progress=observer
            )

        threads = workers or os.cpu_count() or 1
        return pack_stock(problem, budget, threads, seed, on_progress, pack_open, on_layout)
    core = reduce(problem)
    branches = [] if core is None else branches_of(core)
    race = Race(budget, on_progress, seed, max(1, len(branches)), on_layout, target)
    if not branches or not seams_have_room(branches):
        return result_of(race, Stop.PROVED, infeasible=True)

    def work() -> None:
        search(race, [Branch(core, number, seed=seed) for number, core in enumerate(branches)], workers)

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
    _Search(list(branches), race, workers or os.cpu_count() or 1, companion).run()


class _Search:
    """The order of work: bounds, constructive layouts, then search and proof in turn."""

    def __init__(
        self, branches: list[Branch], race: Race, workers: int, companion: Companion | None = None
    ) -> None:
        self._branches = branches
        self._race = race
        self._workers = workers
        self._companion = companion

    def run(self) -> None:
        """Work until the budget is spent; raises Finished when length and bound meet."""
        for stage in (self._count, self._construct, self._bars):
            # Shelves are laid in closed cases as well: a bound that closed one by mistake is found out.
            for branch in self._branches if stage == self._construct else self._open():
                if not branch.begun:
                    stage(branch)
        for branch in self._branches:
            branch.begun = True
        if not self._open() or self._race.budget.left <= 0:
            return
        KERNELS.prepare(self._race.pulse)
        if self._workers == 1 or self._race.budget.work is not None:
            self._companion = None
        elif self._companion is None:
            with Companion(RaceView(self._race), self._branches) as self._companion:
                self._prove()
            return
        self._prove()

    def _prove(self) -> None:
        """Bounds, then solver and searches in turn; a case that the companion is at work on is left to it."""
        first = self._levels, self._gaps, self._pairs, self._contiguous
        for stage in (*first, self._round, self._subsets, self._columns):
            for branch in self._open():
                if self._race.budget.left > 0:
                    stage(branch)
        while self._race.budget.left > 0 and self._open():
            KERNELS.refresh()
            worked = [self._round(branch) for branch in self._open()]
            self._race.end_round()
            if any(worked):
                continue
            if self._companion is None:
                return
            self._race.pulse()
            time.sleep(0.05)

    def _alone(self, branch: Branch) -> bool:
        """Nobody searches this case beside."""
        return self._companion is None or not self._companion.works_on(branch)

    @property
    def _threads(self) -> int:
        """Of the solver; the companion has a core to itself."""
        busy = self._companion is not None and self._companion.at_work
        return max(1, self._workers - 1) if busy else self._workers

    def _round(self, branch: Branch) -> bool:
        """Each way of searching once; False when none applies."""
        searches = (self._improve, self._beam, self._fit, self._tight) if self._alone(branch) else ()
        worked = [search(branch) for search in searches]
        return any([*worked, self._tried(self._levels, branch), self._proofs(branch)])

    def _proofs(self, branch: Branch) -> bool:
        """The solver in both its questions; False when the model would be too large."""
        stages = self._gaps, self._rows_first, self._windows, self._contiguous, self._decide, self._minimize
        worked = [self._tried(stage, branch) for stage in (*stages, self._beside)]
        branch.round += 1
        branch.slice *= 2
        return any(worked)

    def _tried(self, stage: Callable[[Branch], bool], branch: Branch) -> bool:
        """A stage, with half the time that is its due while it brings nothing, a tenth at least."""
        race, whole, name = self._race, branch.slice, stage.__name__
        known = race.length, race.bounds[branch.number]
        branch.slice = branch.credits.share(name) * whole
        worked = stage(branch)
        branch.slice = whole
        branch.credits.tell(name, gained=known != (race.length, race.bounds[branch.number]))
        return worked

    def _open(self) -> list[Branch]:
        return [branch for branch in self._branches if not self._race.closed(branch.number)]

    def _raise(self, branch: Branch, bound: Bound) -> None:
        if len(self._branches) > 1:
            # A certificate speaks of one case; the bound on all cases is the least of several.
            bound = Bound(bound.length, bound.method)
        self._race.raise_bound(in_ticks(branch.core, bound), branch.number)

    def _count(self, branch: Branch) -> None:
        core = branch.core
        for bound in (bounds.tallest(core), bounds.area(core), bounds.wide_stack(core)):
            self._raise(branch, bound)
        if not core.kinds:
            self._race.offer(core, (), "rows of their own")

    def _construct(self, branch: Branch) -> None:
        """Shelves, which any order of any size has at once; then every order once, and bands."""
        for core in closed_arrows(branch.core):
            closed = self._race.closed(branch.number)
            self._race.offer(core, shelves(core, branch.room), "shelves")
            if closed:
                continue
            if core.plain and core.copies > MOST_PLACED_SINGLY:
                continue
            stop = self._race.until(0.2 * self._race.budget.left, WORK_PER_PLACE * core.copies)
            for name, order in orders(core):
                if stop():
                    return
                layout = fill(core, order, branch.room, stop=stop)
                self._race.offer(core, layout, f"lowest place, by {name}")
            self._race.offer(core, bands(core, branch.room, stop), "bands")

    def _bars(self, branch: Branch) -> None:
        core = branch.core
        work = bounds.WORK_PER_PRICE * core.width * core.copies
        bound, branch.weights = bounds.rows(core, self._race.until(0.15 * self._race.budget.left, work))
        self._raise(branch, bound)

    def _levels(self, branch: Branch) -> bool:
        """Levels for most of many copies, the rest freely above them; False where copies are few."""
        race = self._race
        if not branch.levels_first.worthwhile or race.budget.left <= 0:
            return False
        target = race.target_in(branch.core, branch.number)
        seconds = min(8 * branch.slice, 0.3 * race.budget.left)
        return branch.levels_first.run(race, target, self._threads, seconds)

    def _gaps(self, branch: Branch) -> bool:
        """What the repeat makes wait, for one set of weights after another; False when all is known."""
        if branch.gaps is None:
            branch.gaps = []
            if any(kind.match is not None for kind in branch.core.kinds) and not branch.core.open_arrows:
                branch.gaps = [bounds.GapBound(branch.core, weights) for weights in self._weights(branch)]
        branch.gaps = [gap for gap in branch.gaps if gap.worthwhile and not gap.settled]
        for gap in branch.gaps:
            limit = self._race.limit_in(branch.core)
            if limit is None or self._race.closed(branch.number):
                return False
            least = self._race.target_in(branch.core, branch.number)
            stop = self._race.until(min(branch.slice, 0.04 * self._race.budget.left), gap.work)
            self._raise(branch, gap.raised(least, limit, stop, self._race.pulse))
        return bool(branch.gaps)

    def _contiguous(self, branch: Branch) -> bool:
        """Rows and columns in one piece, searched through; False when that can refute nothing more."""
        core, limit = branch.core, self._race.limit_in(branch.core)
        if core.open_arrows or limit is None or self._race.budget.left <= 0:
            return False
        # Under a repeat, places across are searched as well, which takes longer and says more.
        slices, most = (2, 0.15) if core.plain else (4, 0.25)
        seconds = min(slices * branch.slice, most * self._race.budget.left)
        if branch.contiguous is None:
            branch.contiguous = bounds.Contiguous(core, self._race.until(seconds))
        over = self._race.until(seconds)

        def trial(share: float) -> Callable[[], bool]:
            spent = self._race.until(share * seconds)
            return lambda: spent() or over()

        least = self._race.target_in(core, branch.number)

        def lay(stood: bounds.Stood, length: int) -> int | None:
            layout = branch.rows_first.completed(stood, self._race, least, length, over)
            if layout is not None:
                self._race.offer(core, layout, "rows with places across")
            return None if layout is None else core.length_of(layout)

        for bound in branch.contiguous.raised(least, limit, bounds.Turn(self._race, over, trial, lay)):
            self._raise(branch, bound)
        return branch.contiguous.open(self._race.target_in(core, branch.number))

    def _rows_first(self, branch: Branch) -> bool:
        """Rows by themselves, then places across; plain fabric only, where the rows say most."""
        wanted, left = self._wanted(branch), self._race.budget.left
        if wanted is None or left <= 0:
            return False
        seconds = min(2 * branch.slice, 0.2 * left)
        return branch.search_rows(self._race, *wanted, seconds, self._race.until)

    def _windows(self, branch: Branch) -> bool:
        """Parts near one another laid anew; on plain fabric orders and fixed lengths do that better."""
        race, core = self._race, branch.core
        if core.plain or core.open_arrows or core.copies > MOST_IN_MODEL or not branch.windows.worthwhile:
            return False
        if race.best is None or race.best[0] is not core or race.budget.left <= 0:
            return False
        branch.windows.run(race, self._threads, min(2 * branch.slice, 0.2 * race.budget.left))
        return True

    def _weights(self, branch: Branch) -> list[Weights]:
        """Sets of row weights, those of the bars at their places first, where these bind."""
        core, before = branch.core, self._race.bounds[branch.number]
        work = bounds.WORK_PER_CELL * core.width * len(core.kinds)
        bound, placed = bounds.placed_rows(core, self._race.until(0.05 * self._race.budget.left, work))
        sets = bounds.families(core, branch.weights)
        self._raise(branch, bound)
        if placed is None:
            return [*sets]
        if self._race.bounds[branch.number] is not before:
            branch.weights = placed
        return [placed, *sets]

    def _subsets(self, branch: Branch) -> None:
        """Rows of ever more kinds by CP-SAT; on plain fabric those that lie one way were searched."""
        if branch.core.plain and all(len(kind.ways) == 1 for kind in branch.core.kinds):
            return
        for kinds in bounds.subsets(branch.core):
            if self._race.budget.left <= 0 or self._race.closed(branch.number):
                return
            bound, closed = bounds.subset(
                branch.core,
                kinds,
                branch.weights,
                self._race,
                branch.number,
                0.08 * self._race.budget.left,
                self._threads,
            )
            self._raise(branch, bound)
            if not closed:
                return

    def _columns(self, branch: Branch) -> None:
        limit = self._race.limit_in(branch.core)
        if limit is None:
            return
        least = self._race.target_in(branch.core, branch.number)
        work = bounds.WORK_PER_PRICE * max(0, limit) * branch.core.copies
        stop = self._race.until(0.05 * self._race.budget.left, work)
        self._raise(branch, bounds.columns(branch.core, least, limit + 1, stop))

    def _pairs(self, branch: Branch) -> None:
        limit = self._race.limit_in(branch.core)
        if limit is None:
            return
        pairs = bounds.PairBound(branch.core, () if branch.weights is None else (branch.weights,))
        stop = self._race.until(min(1.0, 0.03 * self._race.budget.left), pairs.work)
        self._raise(branch, pairs.raised(self._race.target_in(branch.core, branch.number), limit + 1, stop))

    def _wanted(self, branch: Branch) -> tuple[int, int] | None:
        """The shortest length that may exist, and the longest that would be better; None without a layout."""
        longest = self._race.limit_in(branch.core)
        return None if longest is None else (self._race.target_in(branch.core, branch.number), longest)

    def _fit(self, branch: Branch) -> bool:
        wanted = self._wanted(branch)
        return wanted is not None and branch.search_fits(self._race, *wanted, self._turn(branch))

    def _beam(self, branch: Branch) -> bool:
        wanted = self._wanted(branch)
        return wanted is not None and branch.search_beams(self._race, *wanted, self._turn(branch))

    def _beside(self, branch: Branch) -> bool:
        """Grow layouts here too while the companion is at work."""
        wanted, left = self._wanted(branch), self._race.budget.left
        if self._alone(branch) or wanted is None or left <= 0:
            return False
        stop = self._race.until(min(2 * branch.slice, 0.2 * left))
        return branch.search_beams(self._race, *wanted, stop, beside=True)

    def _tight(self, branch: Branch) -> bool:
        target = self._race.target_in(branch.core, branch.number)
        return branch.search_niches(self._race, target, self._turn(branch))

    def _model(self, branch: Branch, longest: int, *, decide: bool) -> LayoutModel:
        least = self._race.target_in(branch.core, branch.number)
        return LayoutModel(branch.core, longest, least, decide=decide, weights=branch.weights)

    def _decide(self, branch: Branch) -> bool:
        """Ask for a layout exactly as long as the bound; a no raises the bound by one step."""
        if branch.core.copies > MOST_IN_MODEL or self._race.budget.left <= 0:
            return False
        target = self._race.target_in(branch.core, branch.number)
        limit = self._race.limit_in(branch.core)
        if not branch.core.plain and limit is not None and limit - target > NEAR * target:
            # Under a repeat a bound that far off is hardly ever met; the time is better spent on raising it.
            return False
        model = self._model(branch, target, decide=True)
        seconds = min(branch.slice, 0.4 * self._race.budget.left)
        outcome = model.solve(self._race, seconds, self._threads, weak=branch.round % 2 == 0)
        self._race.offer(branch.core, outcome.layout, "CP-SAT at the bound")
        if outcome.infeasible:
            self._raise(branch, Bound(target + 1, "CP-SAT, not re-checked"))
        return True

    def _turn(self, branch: Branch) -> Callable[[], bool]:
        """True when a search has had its time, or the companion is ready to go on with it."""
        spent = self._race.until(min(branch.slice, 0.3 * self._race.budget.left))
        return lambda: spent() or not self._alone(branch)

    def _improve(self, branch: Branch) -> bool:
        stop = self._turn(branch)
        return branch.search_orders(self._race, self._race.target_in(branch.core, branch.number), stop)

    def _minimize(self, branch: Branch) -> bool:
        """The whole model, asked for something shorter than the best: often the quickest way to a proof."""
        core = branch.core
        if core.copies > MOST_IN_MODEL or self._race.budget.left <= 0:
            return False
        limit = self._race.limit_in(core)
        model = self._model(branch, core.stacked if limit is None else limit, decide=False)
        if self._race.best is not None and self._race.best[0] is core:
            model.hint(self._race.best[1])
        seconds = min(2 * branch.slice, self._race.budget.left)
        outcome = model.solve(self._race, seconds, self._threads, weak=branch.round % 2 == 0)
        self._race.offer(core, outcome.layout, "CP-SAT")
        method = "CP-SAT, not re-checked"
        if outcome.infeasible and limit is not None:
            self._raise(branch, Bound(limit + 1, method))
        elif not outcome.infeasible:
            self._raise(branch, Bound(outcome.bound, method))
        return True
