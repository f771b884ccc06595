"""Lengths on hand: the order of work from a problem with several strips to a layout with its bounds.

The objectives come one after the other, each counting only where all before are equal: the least of the
open strip; the most value of what is optional; the least fabric started; the most value of spare parts in
fabric that is started anyway; the least cut into. Each has its bound.
"""

from __future__ import annotations

import logging
import os
import random
from collections.abc import Callable, Sequence
from dataclasses import replace
from typing import Final

from nesting.packing.on_hand.stock_cases import stage_proof
from nesting.packing.on_hand.stock_core import (
    CUT_INTO,
    EXTRAS,
    MOST,
    TO_BUY,
    VALUE,
    Berthed,
    Item,
    Stock,
    StockLayout,
    stock_of,
)
from nesting.packing.on_hand.stock_fill import Filler
from nesting.packing.on_hand.stock_model import StockModel
from nesting.packing.on_hand.stock_progress import Progress, plain_bound
from nesting.packing.on_hand.stock_search import Neighborhoods
from nesting.packing.problem import Part, Problem
from nesting.packing.race import Stopped
from nesting.packing.result import CONTRADICTED, Aim, Bound, Observer, Placement, Result, Stop, Viewer
from nesting.packing.turn import Budget

_LOG = logging.getLogger(__name__)
#: With more ways to lie than this no whole model is built; its parts still are.
MOST_WAYS: Final = 1200
#: The part of the time that filling may take, and how many fillings without a gain end it.
FILLING: Final = 0.12
FRUITLESS: Final = 60
#: Units of work of a filling, per item and item already lying.
WORK_PER_ITEM: Final = 6e-6
#: The part of what is left that a flat model may take, and a whole one.
FLAT: Final = 0.1
WHOLE: Final = 0.6
#: The part of the time that writing down proofs may take, and of what is left of it.
PROOFS: Final = 0.1
HALF: Final = 0.5
#: The name of the argument where a proof of a stage is written down.
RULE_IN_WORDS: Final = "case by case, in whole numbers"
PackOpen = Callable[[Problem, float, Observer], Result]
SOLVER: Final = "CP-SAT, not re-checked"


def pack_stock(
    problem: Problem,
    budget: Budget,
    workers: int,
    seed: int,
    observer: Observer | None = None,
    pack_open: PackOpen | None = None,
    viewer: Viewer | None = None,
) -> Result:
    """The best layout on several strips, stage by stage, with a bound on each.

    Parameters
    ----------
    problem
        Strips of fixed length and at most one open strip.
    budget, workers, seed, observer
        As for `nesting.packing.pack`.
    pack_open
        What packs one open strip by itself, within so many seconds or units of work, and tells an observer.
    viewer
        Shown each better layout: its length, as the result will have it, and where everything lies.

    Returns
    -------
    Result
        ``length`` is what the open strip needs; of a single length on hand, how far it is cut into; 0 where
        several lengths on hand are all there is.
    """
    stock = stock_of(problem)
    progress = Progress(stock, budget, observer, seed, viewer)
    if any(item.required and not item.ways for item in stock.items):
        return _result(problem, progress, Stop.PROVED, infeasible=True)
    work = _Stages(problem, stock, progress, workers, pack_open)
    try:
        infeasible = work.run()
        closed = all(progress.closed(stage) for stage in stock.stages)
        stop = Stop.PROVED if infeasible or closed else Stop.TIME_LIMIT
        work.write_down()
    except (Stopped, KeyboardInterrupt):
        infeasible, stop = False, Stop.INTERRUPTED
    progress.collect()
    return _result(problem, progress, stop, infeasible=infeasible)


def fill_best(
    problem: Problem,
    first: Sequence[Placement],
    *,
    time_limit: float = 10.0,
    workers: int | None = None,
    seed: int = 0,
    work_limit: float | None = None,
    on_progress: Observer | None = None,
) -> Result:
    """The most value of optional parts on strips of fixed length, from a layout that is known to be sound.

    The first layout stays as it is unless more value is found; where the required parts lie, and how far
    the strips are cut into, is not asked. Parameters are those of `nesting.packing.pack`.
    """
    stock = replace(stock_of(problem), only=(VALUE,))
    progress = Progress(stock, Budget(time_limit, work_limit), on_progress, seed)
    work = _Stages(problem, stock, progress, workers or os.cpu_count() or 1, None)
    try:
        progress.offer(stock.layout_of(first), "the layout as it was")
        work.run()
        work.write_down()
        stop = Stop.PROVED if progress.closed(VALUE) else Stop.TIME_LIMIT
    except (Stopped, KeyboardInterrupt):
        stop = Stop.INTERRUPTED
    progress.collect()
    return _result(problem, progress, stop)


class _Stages:
    """Fillings, then each stage: flat bound, neighborhoods, whole model."""

    def __init__(
        self, problem: Problem, stock: Stock, progress: Progress, workers: int, pack_open: PackOpen | None
    ) -> None:
        self._problem, self._pack_open = problem, pack_open
        self._stock, self._progress, self._workers = stock, progress, workers
        self._held: list[tuple[str, int]] = []

    @property
    def _left(self) -> float:
        return self._progress.budget.left

    def run(self) -> bool:
        """Work until the budget is spent or every stage is closed; True where no layout exists."""
        if not self._stock.items:
            self._progress.offer({}, "nothing to lay")
        if self._impossible_flat():
            return True
        if self._progress.best is None:
            self._fill()
        if self._progress.best is None and self._first():
            return True
        if self._progress.best is None:
            return False
        for number, stage in enumerate(self._stock.stages):
            self._stage(stage, len(self._stock.stages) - number)
            worth = self._progress.worth(stage)
            assert worth is not None
            self._held.append((stage, worth))
        return False

    def write_down(self) -> None:
        """Look for a proof that can be replayed of each stage that is closed."""
        progress, reached = self._progress, list[Aim]()
        budget = progress.budget
        left = min(PROOFS * (budget.seconds if budget.work is None else budget.work), HALF * self._left)
        for name in self._stock.stages if progress.best is not None else ():
            stage = aim_of(progress, name)
            reached.append(stage)
            if stage.closed and left > 0:
                before = self._left
                with budget.lent(left):
                    progress.proofs[name] = stage_proof(self._problem, reached, budget, progress.pulse)
                left -= before - self._left

    @property
    def _longest(self) -> int:
        """The open strip need not be made longer than in the best layout."""
        worth = None if self._stock.open is None else self._progress.worth(TO_BUY)
        return self._stock.longest if worth is None else worth // self._stock.step_y

    @property
    def _whole(self) -> bool:
        return sum(len(item.ways) for item in self._stock.items) <= MOST_WAYS

    def _impossible_flat(self) -> bool:
        """What fits by no sum of areas and widths fits not at all."""
        if self._stock.open is not None or all(item.value is not None for item in self._stock.items):
            return False
        model = self._model(flat=True, spares=False)
        outcome = model.solve(CUT_INTO, self._progress, FLAT * self._left, self._workers, _ignore)
        return outcome.infeasible

    def _fill(self) -> None:
        """Fillings until many in a row bring nothing."""
        filler, dice = Filler(self._stock), random.Random(self._progress.seed)
        end, fruitless = (1 - FILLING) * self._left, 0
        work = WORK_PER_ITEM * len(self._stock.items) ** 2
        for plan in filler.plans(dice):
            for optional in (False, True):
                layout = filler.fill(plan, optional)
                fruitless = 0 if self._progress.offer(layout, "filled strip by strip") else fruitless + 1
            self._progress.budget.charge(work)
            self._progress.pulse()
            if self._left <= end or fruitless > FRUITLESS:
                return

    def _first(self) -> bool:
        """A first layout by the whole model; True where there is none."""
        model = self._model(flat=False, spares=False)
        stage = self._stock.stages[0]
        seconds = max(self._left, 0.0) if self._whole else WHOLE * self._left
        outcome = model.solve(stage, self._progress, seconds, self._workers, self._post)
        self._progress.collect()
        self._progress.offer(outcome.layout, "CP-SAT")
        self._note(stage, outcome.bound)
        return outcome.infeasible

    def _stage(self, stage: str, stages_left: int) -> None:
        """One objective: bound it, better it, close it."""
        if self._done(stage):
            return
        spares = stage in (EXTRAS, CUT_INTO)
        self._ask(stage, FLAT * self._left, flat=True, spares=spares)
        if self._done(stage):
            return
        if stage == TO_BUY:
            self._open_by_itself(0.15 * self._left)
        if self._done(stage):
            return
        search = Neighborhoods(self._stock, self._progress, self._workers, self._held, stage)
        if stage == VALUE and self._left > 0:
            search.around(self._longest)
        if self._done(stage):
            return
        if self._whole:
            share = self._left if stages_left == 1 else WHOLE * self._left
            self._ask(stage, 0.3 * share, flat=False, spares=spares)
            if not self._done(stage):
                search.run(0.2 * share, self._longest)
            if not self._done(stage):
                self._ask(stage, 0.5 * share, flat=False, spares=spares)
        else:
            search.run(self._left / stages_left, self._longest)

    def _open_by_itself(self, seconds: float) -> None:
        """What lies on the open strip packed as if it were all there is, by the engine for that."""
        best, strip = self._progress.best, self._stock.open
        if self._pack_open is None or best is None or strip is None:
            return
        alone = open_alone(self._problem, self._stock, best)
        if alone is None:
            return
        problem, numbers = alone
        result = self._pack_open(problem, seconds, lambda now: self._progress.pulse())
        across, along = self._stock.step_x, self._stock.step_y
        laid = {
            numbers[at.part]: Berthed(strip, at.x // across, at.y // along, at.turned)
            for at in result.placements
        }
        if len(laid) == len(numbers):
            for number, at in laid.items():
                if bound_to_turn(self._stock.items[number]):
                    laid[number] = replace(at, turned=best[number].turned)
            self._progress.offer({**best, **laid}, "the open strip by itself")
        if result.stop is Stop.INTERRUPTED:
            raise Stopped

    def _done(self, stage: str) -> bool:
        return self._progress.closed(stage) or self._left <= 0

    def _ask(self, stage: str, seconds: float, *, flat: bool, spares: bool) -> None:
        """Put one model to the solver, with what the stages before hold."""
        if self._left <= 0:
            return
        model = self._model(flat=flat, spares=spares)
        for held, worth in self._held:
            model.hold(held, worth)
        if self._progress.best is not None and not flat:
            model.hint(self._progress.best)
        outcome = model.solve(stage, self._progress, seconds, self._workers, self._post)
        self._progress.collect()
        self._progress.offer(outcome.layout, "CP-SAT")
        self._note(stage, outcome.bound, flat=flat)

    def _model(self, *, flat: bool, spares: bool) -> StockModel:
        model = StockModel(self._stock, self._longest, flat=flat)
        if not spares:
            model.leave_out_spares()
        return model

    def _note(self, stage: str, bound: int | None, *, flat: bool = False) -> None:
        if bound is not None:
            bound = bound if stage in MOST else max(0, bound)
            self._progress.bound(stage, bound, f"sums of areas and widths, {SOLVER}" if flat else SOLVER)

    def _post(self, layout: StockLayout) -> None:
        self._progress.post(layout, "CP-SAT")


def open_alone(problem: Problem, stock: Stock, layout: StockLayout) -> tuple[Problem, tuple[int, ...]] | None:
    """What lies on the open strip as a problem of its own, and the item of each of its parts.

    None where nothing lies there, or what lies there hangs together with what lies elsewhere.
    """
    numbers = tuple(sorted(n for n, at in layout.items() if at.strip == stock.open))
    strip = next(strip for strip in problem.strips if strip.length is None)
    if not numbers or strip.repeat is not None or any(stock.items[n].clear != (0, 0) for n in numbers):
        return None
    parts = []
    for number in numbers:
        item = stock.items[number]
        part, turned = problem.parts[item.part], layout[number].turned
        if item.spare:
            return None
        bound = bound_to_turn(item)
        parts.append(Part(part.name, *part.size(turned and bound), turnable=part.turnable and not bound))
    return Problem((replace(strip, lot=None),), tuple(parts)), numbers


def bound_to_turn(item: Item) -> bool:
    """Whether its direction is that of a group, which may reach beyond the open strip."""
    return item.arrow is not None


def _ignore(layout: StockLayout) -> None:
    """A flat layout is none."""


def _result(problem: Problem, progress: Progress, stop: Stop, *, infeasible: bool = False) -> Result:
    stock, best = progress.stock, progress.best
    seconds = round(progress.budget.elapsed, 3)
    if infeasible and best is not None:
        _LOG.error("no layout at all, by %s, beside one that was found", SOLVER)
        infeasible, stop = False, Stop.FAULT
    if best is None:
        reason = (
            "no layout keeps every rule on these lengths" if infeasible else "nothing is shorter than nothing"
        )
        return Result(None, Bound(0, reason), stop, seconds, infeasible=infeasible)
    stages = tuple(aim_of(progress, name) for name in stock.stages)
    if any(stage.method == CONTRADICTED for stage in stages):
        stop = Stop.FAULT
    length, bound = _length(stock, stages)
    return Result(
        length=length,
        bound=bound,
        stop=stop,
        seconds=seconds,
        placements=stock.placements(best),
        chosen=stock.picks(best),
        incumbents=tuple(progress.incumbents),
        stages=stages,
    )


def aim_of(progress: Progress, name: str) -> Aim:
    """What is reached in a stage and proven of it."""
    worth = progress.worth(name)
    assert worth is not None
    bound, method = progress.bounds[name]
    if (bound < worth) if name in MOST else (bound > worth):
        # A fault of this program: what was found counts, what was said of it does not.
        _LOG.error("bound %d (%s) beyond a layout that reaches %d in %s", bound, method, worth, name)
        bound, method = plain_bound(progress.stock, name), CONTRADICTED
    proof = progress.proofs.get(name)
    if proof is not None and SOLVER in method:
        method = RULE_IN_WORDS
    return Aim(name, worth, bound, name in MOST, method, proof)


def _length(stock: Stock, stages: tuple[Aim, ...]) -> tuple[int, Bound]:
    """What the open strip needs; of a single length, what is cut into it."""
    for stage in stages:
        if stage.name == stock.measured:
            return stage.value, Bound(stage.bound, stage.method)
    return 0, Bound(0, "lengths on hand: nothing is bought")
