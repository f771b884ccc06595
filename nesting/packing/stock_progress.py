"""The state of one search over several strips: best layout, best bounds, the budget, and who is told."""

from __future__ import annotations

from queue import SimpleQueue

from nesting.packing.race import Budget, Herald
from nesting.packing.result import Incumbent, Observer, Viewer
from nesting.packing.stock_core import EXTRAS, MOST, TO_BUY, Stock, StockLayout


class Progress:
    """Best layout, best bounds, the budget, and who is told."""

    def __init__(
        self,
        stock: Stock,
        budget: Budget,
        observer: Observer | None,
        seed: int,
        viewer: Viewer | None = None,
    ) -> None:
        self.stock, self.budget, self.seed = stock, budget, seed
        self.best: StockLayout | None = None
        self.bounds = {name: (plain_bound(stock, name), "no more than there is") for name in stock.stages}
        self._viewer = viewer
        self._herald = Herald(budget, observer)
        self.incumbents = self._herald.incumbents
        self._rank: tuple[int, ...] | None = None
        self._posted: SimpleQueue[tuple[StockLayout, str]] = SimpleQueue()

    def offer(self, layout: StockLayout | None, method: str) -> bool:
        """Take a layout if it is better, stage by stage; True if it was."""
        if layout is None:
            return False
        rank = self.stock.rank(layout)
        if self._rank is not None and rank >= self._rank:
            return False
        self.best, self._rank = layout, rank
        if self._viewer is not None:
            length = self.stock.worth(layout).get(self.stock.measured or "", 0)
            self._viewer(length, self.stock.placements(layout))
        self._tell(method)
        return True

    def worth(self, stage: str) -> int | None:
        """What the best layout reaches in a stage."""
        return None if self.best is None else self.stock.worth(self.best)[stage]

    def bound(self, stage: str, bound: int | None, method: str) -> None:
        """Take a bound if it is nearer."""
        known = self.bounds[stage][0]
        if bound is None or (bound >= known if stage in MOST else bound <= known):
            return
        self.bounds[stage] = bound, method
        self._tell(f"{stage}: {method}")

    def closed(self, stage: str) -> bool:
        """Worth and bound of the stage have met."""
        return self.best is not None and self.worth(stage) == self.bounds[stage][0]

    def post(self, layout: StockLayout, method: str) -> None:
        """Hand in a layout from another thread; the next `pulse` takes it."""
        self._posted.put((layout, method))

    def collect(self) -> None:
        """Take what was posted."""
        while not self._posted.empty():
            self.offer(*self._posted.get())

    def pulse(self) -> None:
        """Take what was posted, and let the observer breathe, at most ten times a second."""
        self.collect()
        self._herald.breathe(lambda: self._now(""))

    def _now(self, method: str) -> Incumbent:
        stage = TO_BUY if self.stock.open is not None else self.stock.stages[-1]
        bound = self.bounds[stage][0]
        return Incumbent(self.worth(stage), bound, method, round(self.budget.elapsed, 3))

    def _tell(self, method: str) -> None:
        self._herald.tell(self._now(method))


def plain_bound(stock: Stock, stage: str) -> int:
    """Nothing is less than nothing, and no more is laid than there is."""
    if stage not in MOST:
        return 0
    return sum(item.value or 0 for item in stock.items if item.spare == (stage == EXTRAS) and item.ways)
