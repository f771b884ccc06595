"""Which option of each choice is laid, decided together with the layout.

The plain selection comes first, searched alone for half of the time (see `alone`); a second worker goes on
with it to the end. So an open choice never makes a layout longer than a settled one. What is left is dealt
out by what it brings (see `allotment`): where few selections can still be the best, each is a case; else
options are exchanged one by one (see `exchange`), and the best selections are searched closely, under one
bound on all.
"""

from __future__ import annotations

import itertools
import math
import os
from collections.abc import Iterable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from functools import partial

from nesting.packing import packer
from nesting.packing.bounds.bars import WORK_PER_PRICE
from nesting.packing.branch import Branch, branches_of, require_known, unplaced
from nesting.packing.certifying import certified
from nesting.packing.choices.allotment import Allotment, Pursuit, search_cases
from nesting.packing.choices.alone import GoalAside, search_alone
from nesting.packing.choices.exchange import Exchange, parts_of
from nesting.packing.choices.linear_bounds import (
    Demand,
    LinearBound,
    WeighedDemand,
    bars_over_all,
    counting,
    demand_of,
    tallest_over_all,
)
from nesting.packing.choices.menu import Menu, Selection, menu_of, require_sound
from nesting.packing.choices.option_proof import proof_over_options
from nesting.packing.choices.options_in_place import placed_bars_over_all
from nesting.packing.choices.selection import SelectionModel
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.limits import require_limits, require_target, require_time
from nesting.packing.logged import Log, log_end, logged
from nesting.packing.on_hand.stock import pack_stock
from nesting.packing.parallel.companion import Companion
from nesting.packing.problem import Problem
from nesting.packing.race import Race, ended, in_ticks, result_of
from nesting.packing.reduce import Core, closed_arrows
from nesting.packing.result import UNCHECKED, Bound, Observer, Placement, Result, Stop, Viewer
from nesting.packing.schedule import PARAMS, Params
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.turn import Budget
from nesting.packing.warm_start import require_start


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
    log: Log | None = None,
    params: Params = PARAMS,
) -> Result:
    """The shortest layout found, with a proven lower bound on every layout of every selection.

    Stops the moment the two meet. Of equally short layouts those with earlier options of choices are found
    first, but not with certainty. The same problem, seed and ``workers=1`` with a ``work_limit`` give
    the same layout.

    Parameters
    ----------
    problem
        Strips, parts and choices; whole numbers. With lengths on hand, or optional parts, several objectives
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
        What ends the search: a whole number, a layout no longer than this; a fraction between 0 and 1, one
        longer than the bound by no more than this part of it; None: only the bound does. On one open strip,
        with every part laid.
    start
        A layout to be bettered, such as ``placements`` of another result; the result is no longer. On one
        open strip, with every part laid and no choices.
    log
        Given a line for each better layout or bound, and in the end for each stage; such as ``print``.
    params
        The order of work; see `nesting.packing.schedule`.

    Returns
    -------
    Result
        Lengths in the problem's units. ``status`` speaks of the length alone; ``chosen`` has the option of
        each choice that was laid, and ``placements`` only its parts; ``unplaced`` names the parts that have
        no place, where there is no layout; ``statistics`` tells what each bound and search brought.

    Raises
    ------
    ProblemError
        The problem asks for what this version cannot honor, a choice has no options or names a part that
        does not exist or that another choice names, or an argument is out of range.
    """
    require_known(params)
    result = (_pack_choosing if problem.choices else packer.pack)(
        problem,
        time_limit=time_limit,
        workers=workers,
        seed=seed,
        work_limit=work_limit,
        on_progress=on_progress if log is None else logged(log, on_progress),
        on_layout=on_layout,
        target=target,
        start=start,
        params=params,
    )
    share = params.certificate
    seconds = max(params.least_certificate * time_limit, min(share * time_limit, time_limit - result.seconds))
    seconds = min(seconds, params.most_certificate)
    work = None if work_limit is None else min(share * work_limit, params.most_certificate)
    look = proof_over_options if problem.choices else None
    result = certified(problem, result, seconds, work, params, on_progress, look)
    if log is not None:
        log_end(log, result)
    return result


def _pack_choosing(
    problem: Problem,
    *,
    time_limit: float,
    workers: int | None,
    seed: int,
    work_limit: float | None,
    on_progress: Observer | None,
    on_layout: Viewer | None,
    target: int | float | None,
    start: Sequence[Placement] | None,
    params: Params,
) -> Result:
    """As `pack`, of a problem with choices."""
    if start is not None:
        require_start(problem, start)
    seed, workers = require_limits(seed, workers)
    require_time(time_limit, work_limit)
    length, gap = require_target(problem, target)
    if not problem.plain_purchase:
        require_sound(problem)
        threads, budget = workers or os.cpu_count() or 1, Budget(time_limit, work_limit)
        return pack_stock(problem, budget, threads, seed, on_progress, viewer=on_layout)
    budget = Budget(time_limit, work_limit)
    race = Race(budget, on_progress, seed, viewer=on_layout, target=length, params=params, gap=gap)
    menu = menu_of(problem)
    if menu is None:
        return result_of(race, Stop.PROVED, infeasible=True, unplaced=unplaced(problem))
    choosing: list[_Choosing] = []

    def work() -> None:
        choosing[:] = [_Choosing(menu, race, workers)]
        choosing[0].run()

    stop = ended(race, work)
    result = result_of(race, stop, infeasible=choosing[0].impossible)
    # A certificate speaks of the parts of one selection.
    result = replace(result, bound=replace(result.bound, certificate=None))
    return result if result.length is None else replace(result, chosen=menu.laid(result.placements))


class _Choosing:
    """One search over all selections."""

    def __init__(self, menu: Menu, race: Race, workers: int | None) -> None:
        self._menu, self._race, self._threads = menu, race, workers or os.cpu_count() or 1
        self._params = race.params
        self._begun: list[Selection] = []
        self._companion: Companion | None = None
        self._demand = demand_of(menu)
        self._linear: list[LinearBound] = []
        self._weighed: list[WeighedDemand] = []
        self._closed: set[bool] = set()
        self._done: set[object] = set()
        self._branches: dict[object, list[Branch]] = {}
        self._exchange = Exchange(menu, race, self._least)
        self.impossible = self._demand is None

    def run(self) -> None:
        """Work until the budget is spent; raises Finished when length and bound meet."""
        if self._demand is None:
            return
        begun = self._begin()
        self._bound_all()
        if begun is not None:
            self._search_alone(begun)
        with self._beside(begun):
            left = self._chosen(self._demand)
        if left is not None:
            self._apart(left)

    def _search_alone(self, selection: Selection) -> None:
        """As if there were no choice, for so much of the whole budget."""
        budget, branches = self._race.budget, self._branches_of(selection)
        whole = budget.seconds if budget.work is None else budget.work
        share = min(self._params.plain * whole, budget.left)
        if branches and share > 0:
            search_alone(self._race, branches, self._threads, share)

    def _chosen(self, demand: Demand) -> list[Selection] | None:
        """Search over all selections, until the budget is spent or few are left: these."""
        lightest = [linear.lightest(demand) for linear in reversed(self._linear)]
        for selection in lightest if self._race.length is not None else ():
            self._exchange.look_at(selection)
        allotment = Allotment(self._race, self._ways(lightest))
        left = self._left(self._params.most_apart)
        while left is None and self._race.budget.left > 0 and allotment.round():
            left = self._left(self._params.most_apart)
        return left

    def _ways(self, lightest: Sequence[Selection]) -> Iterator[Pursuit]:
        """The ways of searching on; first what may be shortest by the bounds, if it was not searched."""
        best, due = min((*self._begun, *lightest), key=self._least, default=None), self._params
        if best is not None and best not in self._begun and self._branches_of(best):
            yield Pursuit("what is lightest", partial(self._closely, [best], 1), due.lightest)
        yield Pursuit("the best order anew", self._anew, due.anew)
        yield Pursuit("options exchanged", self._walk, due.exchange)
        yield Pursuit("the best selection", self._carried_on, due.carried)
        yield Pursuit("rows of all", partial(self._relax, rows=True), due.of_all)
        yield Pursuit("other selections", self._closer, due.others)
        yield Pursuit("places of all", partial(self._relax, rows=False), due.of_all)

    @contextmanager
    def _beside(self, begun: Selection | None) -> Iterator[None]:
        """One of several workers goes on with the first selection, and soon with the best one too."""
        self._begun = [] if begun is None else [begun]
        branches = [] if begun is None else self._branches_of(begun)
        if not branches or self._threads == 1 or self._race.budget.work is not None:
            yield
            return
        goals = partial(GoalAside, self._race, alone=False)
        with Companion(self._race, branches, goals) as self._companion:
            yield
        self._companion = None

    def _begin(self) -> Selection | None:
        """A first layout, of the plain selection if it has one; the selection."""
        for selection in itertools.islice(self._menu.selections(), self._params.most_listed):
            for core in self._cores(selection):
                for case in closed_arrows(core):
                    self._race.offer(case, shelves(case, SeamRoom(case)), "shelves")
            if self._race.best is not None:
                return selection
        return None

    def _bound_all(self) -> None:
        """Bounds over all selections."""
        demand = self._demand
        assert demand is not None
        self._raise(tallest_over_all(demand))
        for linear in counting(demand):
            self._take(linear)
        KERNELS.prepare(self._race.pulse)
        work = WORK_PER_PRICE * demand.core.width * demand.core.copies
        # Neither of two takes anything of what is the plain selection's.
        share = min(self._params.linear, (1 - self._params.plain) / 2) * self._race.budget.left
        # Where places bind, rows without them bound nothing better, and may take four times as long.
        weighed = placed_bars_over_all(self._menu, demand, self._race.until(share, work))
        weighed = weighed or bars_over_all(demand, self._race.until(share, work))
        if weighed is not None:
            self._take(weighed)

    def _take(self, linear: LinearBound) -> None:
        assert self._demand is not None
        bound = in_ticks(self._demand.core, linear.bound(self._demand))
        if self._race.believes(bound):
            self._linear.append(linear)
            self._weighed.append(linear.on(self._demand))
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
        most = self._params.most_in_rows_of_choices if rows else self._params.most_in_places_of_choices
        if rows in self._closed or length is None or demand.core.copies > most:
            return False
        longest = -(-length // demand.core.step_y) - 1
        least = min(longest, -(-self._race.bound.length // demand.core.step_y))
        model = SelectionModel(demand, longest, least, self._linear, rows=rows)
        busy = self._companion is not None and self._companion.at_work
        taken = model.solve(self._race, seconds, self._threads - 1 if busy else self._threads)
        if taken.closed:
            self._closed.add(rows)
        if taken.selection is not None:
            self._exchange.look_at(taken.selection)
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
        if math.prod(len(each) for each in open_to) > self._params.most_listed:
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
        return max((weighed.over(selection) for weighed in self._weighed), default=0)

    def _apart(self, left: Sequence[Selection]) -> None:
        """Search what selections are left, each as a case of its own."""
        length = self._race.length
        # What was left out is no shorter than the best layout.
        rest = [] if length is None else [Bound(length, "linear bounds, over all choices")]
        branches = self._cases(left, rest)
        self.impossible = not branches and length is None
        if self._threads == 1 or self._race.budget.work is not None:
            self._by_turns(branches)
            return
        of = {self._menu.signature(selection): self._branches_of(selection) for selection in left}

        def first() -> list[Branch]:
            """Of the plain selection and the best."""
            signs = dict.fromkeys(map(self._menu.signature, (*self._begun, *self._laid())))
            return [case for sign in signs for case in of.get(sign, ())]

        with Companion(self._race, branches, first=first) as companion:
            self._by_turns(branches, companion)

    def _by_turns(self, branches: Sequence[Branch], companion: Companion | None = None) -> None:
        """Search cases of the race, and beside them on from the best layout, until the budget is spent."""
        due, cases = self._params, partial(search_cases, self._race, branches, self._threads, companion)
        few = (
            Pursuit("each selection that is left", cases, due.apart),
            Pursuit("the best order anew", self._anew, due.anew / 2),
            Pursuit("options exchanged", self._walk, due.exchange / 2),
        )
        Allotment(self._race, few).run()

    def _cores(self, selection: Selection) -> list[Core]:
        core = self._menu.core(selection)
        return [] if core is None else branches_of(core)

    def _anew(self, seconds: float) -> bool:
        """The order of the best layout known, searched again from where it stands."""
        return self._exchange.anew(self._race.until(seconds))

    def _walk(self, seconds: float) -> bool:
        """Options exchanged in the best layout known; False when all neighbors were looked at."""
        return self._exchange.run(self._race.until(seconds))

    def _carried_on(self, seconds: float) -> bool:
        """Search its selection with all the ordinary search has; False where it is closed."""
        return self._closely(self._laid(), 1, seconds)

    def _closer(self, seconds: float) -> bool:
        """The same of others: the best met by exchanges, and the plain one."""
        laid = {self._menu.signature(selection) for selection in self._laid()}
        others = (*self._exchange.best(2 * self._params.closer), self._menu.plain)
        others = tuple(selection for selection in others if self._menu.signature(selection) not in laid)
        return self._closely(others, self._params.closer, seconds)

    def _closely(self, selections: Iterable[Selection], most: int, seconds: float) -> bool:
        """Search the first few that are not closed; False where all are."""
        self._go_on_with(self._laid())
        met = dict[object, Selection]()
        for selection in selections:
            met.setdefault(self._menu.signature(selection), selection)
        best = [selection for sign, selection in met.items() if sign not in self._done][:most]
        if best:
            self._deepen(best, seconds)
        return bool(best)

    def _laid(self) -> list[Selection]:
        """The selection of the best layout, if there is one."""
        return [] if self._race.best is None else [self._menu.taken(parts_of(self._race.best[0]))]

    def _go_on_with(self, selections: Iterable[Selection]) -> None:
        """What the companion searches from now on; after these the first selection always."""
        if self._companion is not None:
            met = {self._menu.signature(each): each for each in (*selections, *self._begun)}
            self._companion.go_on_with([case for each in met.values() for case in self._branches_of(each)])

    def _deepen(self, selections: Sequence[Selection], seconds: float) -> None:
        """Search selections with all that the ordinary search has, from where they were left."""
        branches = self._cases(selections, [self._race.bound])
        with self._race.budget.lent(seconds):
            packer.search(self._race, branches, self._threads, self._companion)
            closed = self._race.budget.left > 0
        for branch in branches:
            branch.proved = self._race.bounds[branch.number]
        if closed:
            # It came back before its share was spent: nothing shorter is left in these.
            self._done.update(map(self._menu.signature, selections))

    def _cases(self, selections: Sequence[Selection], rest: Sequence[Bound]) -> list[Branch]:
        """The race split into ``rest``, bounds on what is not searched, and the cases of these selections."""
        branches = [branch for selection in selections for branch in self._branches_of(selection)]
        known = self._race.bound
        self._race.split([*rest, *(known if branch.proved is None else branch.proved for branch in branches)])
        for number, branch in enumerate(branches, len(rest)):
            branch.number = number
        return branches

    def _branches_of(self, selection: Selection) -> list[Branch]:
        sign = self._menu.signature(selection)
        if sign not in self._branches:
            self._branches[sign] = [
                Branch.of(core, 0, self._race.seed, self._race.params) for core in self._cores(selection)
            ]
        return self._branches[sign]
