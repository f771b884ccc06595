"""The state of one search over several strips: best layout, best bounds, the budget, and who is told."""

from __future__ import annotations

import logging
from queue import SimpleQueue
from typing import Any

from nesting.packing.on_hand.stock_core import EXTRAS, MOST, TO_BUY, Stock, StockLayout
from nesting.packing.race import Herald
from nesting.packing.result import Incumbent, Observer, Viewer
from nesting.packing.turn import Budget

_LOG = logging.getLogger(__name__)
_PLAIN = "no more than there is"


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
        self.bounds = {name: (plain_bound(stock, name), _PLAIN) for name in stock.stages}
        #: What re-proves a stage, as far as it is written down.
        self.proofs: dict[str, dict[str, Any] | None] = {}
        self._dropped: set[tuple[str, str]] = set()
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
        for stage in self.stock.stages:
            self._require_true(stage)
        return True

    def worth(self, stage: str) -> int | None:
        """What the best layout reaches in a stage."""
        return None if self.best is None else self.stock.worth(self.best)[stage]

    def bound(self, stage: str, bound: int | None, method: str) -> None:
        """Take a bound if it is nearer, and no layout has contradicted what its source said of the stage."""
        known = self.bounds[stage][0]
        if bound is None or (bound >= known if stage in MOST else bound <= known):
            return
        if (stage, method) not in self._dropped:
            self.bounds[stage] = bound, method
            self._require_true(stage)
            self._tell(f"{stage}: {method}")

    def _require_true(self, stage: str) -> None:
        """Drop a bound that the best layout contradicts, a fault of this program, and its source with it."""
        (bound, method), worth = self.bounds[stage], self.worth(stage)
        if worth is None or (bound >= worth if stage in MOST else bound <= worth) or method == _PLAIN:
            return
        _LOG.error(
            "bound %d (%s) beyond a layout that reaches %d in %s: it is dropped, and its source with it",
            bound,
            method,
            worth,
            stage,
        )
        self._dropped.add((stage, method))
        self.bounds[stage] = plain_bound(self.stock, stage), _PLAIN

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
