"""Large-neighborhood search: the strips a few at a time, everything on them laid anew by the solver."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Sequence
from typing import Final

from nesting.packing.on_hand.stock_core import MOST, Stock, StockLayout
from nesting.packing.on_hand.stock_fill import groups_of
from nesting.packing.on_hand.stock_model import StockModel
from nesting.packing.on_hand.stock_progress import Progress
from nesting.packing.on_hand.stock_rules import OutsideModel
from nesting.packing.problem import Flaw

#: At most so many ways to lie are laid anew at a time.
MOST_WAYS_ANEW: Final = 160
#: So many neighborhoods in a row without a gain end the search.
FRUITLESS: Final = 12
#: Seconds, or units of work, for one neighborhood.
SLICE: Final = 1.0


class Neighborhoods:
    """Betters one stage of a layout by laying anew what lies on one to three strips, or some groups on all.

    Parameters
    ----------
    held
        Stages that must not become worse, with what they reach.
    stage
        The one to better.
    """

    def __init__(
        self,
        stock: Stock,
        progress: Progress,
        workers: int,
        held: Sequence[tuple[str, int]],
        stage: str,
    ) -> None:
        self._stock, self._progress, self._workers = stock, progress, workers
        self._held, self._stage = held, stage
        self._dice = random.Random(progress.seed)
        self._groups = groups_of(stock)

    def run(self, seconds: float, longest: int) -> None:
        """Search for so long, or until nothing more is gained."""
        progress, fruitless = self._progress, 0
        end = progress.budget.left - seconds
        while (
            fruitless < FRUITLESS and progress.budget.left > max(end, 0) and not progress.closed(self._stage)
        ):
            fruitless = 0 if self._step(longest) else fruitless + 1

    def around(self, longest: int) -> None:
        """What is optional laid anew around all that is required, where it is little enough."""
        free = {number for number, item in enumerate(self._stock.items) if item.value is not None}
        strips = {berth.number for berth in self._stock.berths}
        if free and self._ways(free, strips) <= 4 * MOST_WAYS_ANEW:
            self._anew(strips, free, longest)

    def _step(self, longest: int) -> bool:
        best = self._progress.best
        assert best is not None
        strips, free = self._choose(best)
        if not free:
            strips, free = self._some_groups(best)
        return self._anew(strips, free, longest)

    def _anew(self, strips: set[int], free: set[int], longest: int) -> bool:
        """These items on these strips laid anew; True where that is better."""
        best = self._progress.best
        assert best is not None
        rest = {number: at for number, at in best.items() if number not in free}
        inside = {number: best[number] for number in free if number in best}
        kept = self._kept(rest, free, strips)
        model = StockModel(self._stock, longest, items=tuple(free), strips=tuple(strips), kept=kept)
        there = {number: at for number, at in best.items() if at.strip in strips}
        worth = self._stock.worth(there)
        for held, _ in self._held:
            valued = self._stock.worth(inside)[held] if held in MOST else worth[held]
            model.hold(held, valued)
        model.hint(inside)
        outcome = model.solve(self._stage, self._progress, SLICE, self._workers, lambda layout: None)
        if outcome.layout is None:
            return False
        return self._progress.offer({**rest, **outcome.layout}, "CP-SAT, some of it laid anew")

    def _choose(self, best: StockLayout) -> tuple[set[int], set[int]]:
        """Strips, and all that lies on them or nowhere; none where that were too much."""
        numbers = [berth.number for berth in self._stock.berths]
        self._dice.shuffle(numbers)
        strips: set[int] = set()
        free: set[int] = set()
        for number in numbers[: self._dice.choice((1, 2, 2, 3))]:
            here = {n for n, at in best.items() if at.strip == number}
            if self._ways({*free, *here}, {*strips, number}) <= MOST_WAYS_ANEW:
                strips.add(number)
                free |= here
        return strips, self._with_left_out(best, strips, free)

    def _with_left_out(self, best: StockLayout, strips: set[int], free: set[int]) -> set[int]:
        """As much of what is left out as the model may hold, whole bundles at a time."""
        groups = [group for group in self._groups if group[0] not in best]
        self._dice.shuffle(groups)
        picks = self._stock.picks(best)
        for group in groups:
            if not all(self._stock.picked(number, picks) for number in group):
                continue
            if strips and self._ways({*free, *group}, strips) <= MOST_WAYS_ANEW:
                free = {*free, *group}
        return free

    def _some_groups(self, best: StockLayout) -> tuple[set[int], set[int]]:
        """Some groups, on every strip, among all that stays where it is."""
        strips = {berth.number for berth in self._stock.berths}
        picks = self._stock.picks(best)
        groups = [group for group in self._groups if all(self._stock.picked(n, picks) for n in group)]
        self._dice.shuffle(groups)
        free: set[int] = set()
        for group in groups:
            if not free or self._ways({*free, *group}, strips) <= MOST_WAYS_ANEW:
                free = {*free, *group}
        return strips, free

    def _ways(self, items: set[int], strips: set[int]) -> int:
        return sum(way[0] in strips for number in items for way in self._stock.items[number].ways)

    def _kept(self, rest: StockLayout, free: set[int], strips: set[int]) -> OutsideModel:
        """What the items that stay settle for those laid anew."""
        phases_y, phases_x = self._stock.phases(rest)
        items = self._stock.items
        arrows, lots, bundles = dict[str, bool](), dict[str, str | None](), dict[str, bool]()
        for number, at in rest.items():
            item = items[number]
            if item.arrow is not None:
                arrows[item.arrow] = at.turned
            if item.lot is not None:
                lots[item.lot] = self._stock.berths[at.strip].lot
        for number, item in enumerate(items):
            if number not in free and item.bundle is not None:
                bundles[item.bundle] = number in rest
        picks = self._stock.picks(self._progress.best or {})
        return OutsideModel(phases_y, phases_x, arrows, lots, bundles, picks, self._boxes(rest, strips))

    def _boxes(self, rest: StockLayout, strips: set[int]) -> dict[int, tuple[Flaw, ...]]:
        boxes: dict[int, list[Flaw]] = defaultdict(list)
        for number, at in rest.items():
            if at.strip in strips:
                boxes[at.strip].append(Flaw(at.x, at.y, *self._stock.size(number, at)))
        return {strip: tuple(found) for strip, found in boxes.items()}
