"""Which option of each choice is laid, decided together with the layout.

Where few selections can still be the best, each is a case of one search, and the bound is the least of
theirs. Else there is a bound over all of them at once; the search goes from selection to selection by small
changes, drops what the bound rules out, and looks closely at the best.
"""

from __future__ import annotations

import itertools
import math
import os
import random
from collections.abc import Callable, Iterator
from dataclasses import replace

from nesting.packing import packer
from nesting.packing.bed import SeamRoom
from nesting.packing.bounds.bars import WORK_PER_PRICE
from nesting.packing.bounds.choices import (
    LinearBound,
    bars_over_all,
    counting,
    demand_of,
    tallest_over_all,
)
from nesting.packing.branch import branches_of
from nesting.packing.compiled import KERNELS
from nesting.packing.construct import bands, fill, orders, shelves
from nesting.packing.improve import OrderSearch
from nesting.packing.menu import Menu, Selection, menu_of, require_sound
from nesting.packing.problem import Problem
from nesting.packing.race import Budget, Race, ended, in_ticks, result_of
from nesting.packing.reduce import Core, Layout, closed_arrows
from nesting.packing.result import UNCHECKED, Bound, Observer, Result, Stop, Viewer
from nesting.packing.selection import SelectionModel
from nesting.packing.stock import pack_stock

#: So many selections are searched each as a case of its own.
MOST_APART = 12
#: So many are looked at one by one, to see which are left.
MOST_LISTED = 4096
#: The part of the budget that the linear program over all selections may take.
LINEAR = 0.3
#: Seconds, or units of work, for the first look at a selection.
GLANCE = 0.1
#: The part of the budget for each way of searching in the first round; twice as much in every further one.
ROUND = 0.1
#: With more rectangles than this there is no model of all selections: of rows, and of places.
MOST_IN_MODEL = {True: 300, False: 100}
#: So many of the best selections are searched together.
BEST = 3
#: Selections that differ in two choices, tried before the walk gives up.
MOST_PAIRS = 200
#: With more rectangles than this no part is placed singly at a first look.
MOST_AT_A_GLANCE = 150


def pack(
    problem: Problem,
    *,
    time_limit: float = 10.0,
    workers: int | None = None,
    seed: int = 0,
    work_limit: float | None = None,
    on_progress: Observer | None = None,
    on_layout: Viewer | None = None,
) -> Result:
    """The shortest layout found, with a proven lower bound on every layout of every selection.

    Of equally short layouts those with earlier options are found first, but not with certainty.
    Parameters, results and errors are those of `nesting.packing.packer.pack`; a problem may have
    choices here.

    Returns
    -------
    Result
        ``chosen`` has the option of each choice that was laid, and ``placements`` only its parts.

    Raises
    ------
    ProblemError
        A choice has no options, names a part that does not exist, or one that another choice names.
    """
    if not problem.choices:
        return packer.pack(
            problem,
            time_limit=time_limit,
            workers=workers,
            seed=seed,
            work_limit=work_limit,
            on_progress=on_progress,
            on_layout=on_layout,
        )
    packer.require_limits(seed, workers)
    if not problem.plain_purchase:
        require_sound(problem)
        return pack_stock(
            problem, Budget(time_limit, work_limit), workers or os.cpu_count() or 1, seed, on_progress
        )
    race = Race(Budget(time_limit, work_limit), on_progress, seed, viewer=on_layout)
    menu = menu_of(problem)
    if menu is None:
        return result_of(race, Stop.PROVED, infeasible=True)
    choosing = _Choosing(menu, race, workers)
    stop = ended(race, choosing.run)
    result = result_of(race, stop, infeasible=choosing.impossible)
    # A certificate speaks of the parts of one selection.
    result = replace(result, bound=replace(result.bound, certificate=None))
    return result if result.length is None else replace(result, chosen=menu.laid(result.placements))


class _Look:
    """Takes the layouts of one selection on their way to the race."""

    def __init__(self, race: Race) -> None:
        self._race = race
        self.budget = race.budget
        self.length: int | None = None

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Hand a layout on; True if it is the shortest of this selection."""
        if layout is None:
            return False
        length = core.ticks(core.length_of(layout))
        if self.length is not None and length >= self.length:
            return False
        self.length = length
        self._race.offer(core, layout, method)
        return True


class _Choosing:
    """One search over all selections."""

    def __init__(self, menu: Menu, race: Race, workers: int | None) -> None:
        self._menu, self._race, self._workers = menu, race, workers
        self._rng = random.Random(race.seed)
        self._demand = demand_of(menu)
        self._linear: list[LinearBound] = []
        self._closed: set[bool] = set()
        self._seen: set[object] = set()
        self._done: set[object] = set()
        self._known: dict[object, tuple[int, Selection]] = {}
        self.impossible = self._demand is None

    def run(self) -> None:
        """Work until the budget is spent; raises Finished when length and bound meet."""
        if self._demand is None:
            return
        self._begin()
        self._bound_all()
        for selection in self._best(1):
            self._look(selection, GLANCE)
        share, busy = ROUND * self._race.budget.left, True
        while busy and self._race.budget.left > 0 and not self._apart():
            busy = any([self._relax(share, rows=True), self._walk(share), self._deepen(2 * share)])
            busy = self._relax(share, rows=False) or busy
            share *= 2

    def _begin(self) -> None:
        """A first layout, of the plain selection if it has one."""
        for selection in itertools.islice(self._menu.selections(), MOST_LISTED):
            if self._look(selection, 0.0) is not None:
                return

    def _bound_all(self) -> None:
        """Bounds over all selections."""
        demand = self._demand
        assert demand is not None
        self._raise(tallest_over_all(demand))
        for linear in counting(demand):
            self._take(linear)
        KERNELS.prepare(self._race.pulse)
        work = WORK_PER_PRICE * demand.core.width * demand.core.copies
        weighed = bars_over_all(demand, self._race.until(LINEAR * self._race.budget.left, work))
        if weighed is not None:
            self._take(weighed)

    def _take(self, linear: LinearBound) -> None:
        assert self._demand is not None
        self._linear.append(linear)
        self._raise(linear.bound(self._demand))

    def _raise(self, bound: Bound) -> None:
        """A bound on all selections, so on every case."""
        assert self._demand is not None
        ticks = in_ticks(self._demand.core, bound)
        for case in range(len(self._race.bounds)):
            self._race.raise_bound(ticks, case)

    def _relax(self, seconds: float, *, rows: bool) -> bool:
        """Ask the solver for a shorter layout of any selection; False where there is nothing to ask any more.

        A no bounds every selection; else what it took is looked at.
        """
        demand, length = self._demand, self._race.length
        assert demand is not None
        if rows in self._closed or length is None or demand.core.copies > MOST_IN_MODEL[rows]:
            return False
        longest = -(-length // demand.core.step_y) - 1
        least = min(longest, -(-self._race.bound.length // demand.core.step_y))
        model = SelectionModel(demand, longest, least, self._linear, rows=rows)
        taken = model.solve(self._race, seconds, self._workers or os.cpu_count() or 1)
        if taken.closed:
            self._closed.add(rows)
        if taken.selection is not None and self._menu.signature(taken.selection) not in self._seen:
            self._look(taken.selection, GLANCE)
        what = "rows" if rows else "places"
        self._raise(Bound(taken.bound, f"{what} of all choices by CP-SAT, {UNCHECKED}"))
        return True

    def _left(self, most: int) -> list[Selection] | None:
        """The selections that no linear bound rules out, equal ones once; None where they are many."""
        demand, length = self._demand, self._race.length
        assert demand is not None
        open_to = [list(range(len(offers))) for offers in self._menu.offers]
        longest = None if length is None else -(-length // demand.core.step_y)
        for linear in self._linear:
            if longest is None:
                break
            lasting = linear.lasting(demand, longest)
            open_to = [[at for at in each if at in kept] for each, kept in zip(open_to, lasting, strict=True)]
        if math.prod(len(each) for each in open_to) > MOST_LISTED:
            return None
        left: dict[object, Selection] = {}
        for selection in itertools.product(*open_to):
            if longest is None or self._least(selection) < longest:
                left.setdefault(self._menu.signature(selection), selection)
                if len(left) > most:
                    return None
        return sorted(left.values(), key=lambda selection: (self._least(selection), selection))

    def _least(self, selection: Selection) -> int:
        """What the linear bounds say of one selection, in core steps."""
        assert self._demand is not None
        return max(linear.over(self._demand, selection) for linear in self._linear)

    def _apart(self) -> bool:
        """Search what selections are left, each as a case of its own; False while they are too many."""
        left = self._left(MOST_APART)
        if left is None:
            return False
        cores = [core for selection in left for core in self._cores(selection)]
        length, bound = self._race.length, self._race.bound
        self.impossible = not cores and length is None
        # What was left out is no shorter than the best layout.
        rest = [] if length is None else [Bound(length, "linear bounds, over all choices")]
        self._race.split([*rest, *([bound] * len(cores))])
        packer.search(self._race, cores, self._workers, first=len(rest))
        return True

    def _cores(self, selection: Selection) -> list[Core]:
        core = self._menu.core(selection)
        return [] if core is None else branches_of(core)

    def _look(self, selection: Selection, seconds: float) -> int | None:
        """The shortest layout that a short search of one selection finds."""
        sign, look = self._menu.signature(selection), _Look(self._race)
        self._seen.add(sign)
        for core in self._cores(selection):
            for case in closed_arrows(core):
                self._construct(case, look, self._race.until(seconds))
                if seconds and self._race.budget.left > 0:
                    search = OrderSearch(case, self._race.seed)
                    search.run(look, self._race.target_in(case), self._race.until(seconds))
        if look.length is not None:
            self._known[sign] = (look.length, selection)
        return look.length

    def _construct(self, core: Core, look: _Look, stop: Callable[[], bool]) -> None:
        room = SeamRoom(core)
        look.offer(core, shelves(core, room), "shelves")
        if core.copies > MOST_AT_A_GLANCE:
            return
        for name, order in orders(core):
            if stop():
                return
            look.offer(core, fill(core, order, room, stop=stop), f"lowest place, by {name}")
        look.offer(core, bands(core, room, stop), "bands")

    def _walk(self, seconds: float) -> bool:
        """From the best selection to its neighbours and on to better ones; False when all were seen."""
        stop, fresh = self._race.until(seconds), True
        while fresh and not stop():
            fresh = False
            for selection in self._neighbours(next(iter(self._best(1)), self._menu.plain)):
                if self._menu.signature(selection) in self._seen:
                    continue
                fresh, before = True, self._race.length
                self._look(selection, GLANCE)
                if stop() or self._race.length != before:
                    break
        return fresh

    def _neighbours(self, selection: Selection) -> Iterator[Selection]:
        """Selections that differ in one choice, then in two, in random order."""
        offers = self._menu.offers
        one = [
            (*selection[:at], other, *selection[at + 1 :])
            for at in range(len(offers))
            for other in range(len(offers[at]))
            if other != selection[at]
        ]
        self._rng.shuffle(one)
        yield from one
        for _ in range(MOST_PAIRS):
            two = list(selection)
            for at in self._rng.sample(range(len(offers)), min(len(offers), 2)):
                two[at] = self._rng.randrange(len(offers[at]))
            yield tuple(two)

    def _best(self, count: int) -> list[Selection]:
        """The selections with the shortest layouts known, those searched to the end left out."""
        known = sorted((*known, sign) for sign, known in self._known.items() if sign not in self._done)
        return [selection for _, selection, _ in known[:count]]

    def _deepen(self, seconds: float) -> bool:
        """Search the best selections with all that the ordinary search has; False where all are closed."""
        best = self._best(BEST)
        if not best:
            return False
        cores = [core for selection in best for core in self._cores(selection)]
        self._race.split([self._race.bound] * (1 + len(cores)))
        with self._race.budget.lent(seconds):
            packer.search(self._race, cores, self._workers, first=1)
            closed = self._race.budget.left > 0
        if closed:
            # It came back before its share was spent: nothing shorter is left in these.
            self._done.update(map(self._menu.signature, best))
        return True
