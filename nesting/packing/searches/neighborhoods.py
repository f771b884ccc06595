"""Neighborhoods along the strip: parts that lie near one another are laid anew, the rest stays together.

Of the best layout the parts about one height are set free. What lies below them stays where it is; what lies
above comes down as a whole, on plain fabric by any step, under a repeat by whole repeats, so that the pattern
stays right. CP-SAT is asked whether the free parts find room so. Where many parts make the whole model too
large to say anything, a model of a few often says yes in a second.

References
----------
Shaw, "Using constraint programming and local search methods to solve vehicle routing problems", CP 1998,
LNCS 1520, 417-431 (large neighborhoods).
"""

from __future__ import annotations

from random import Random
from typing import ClassVar

from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.reduce import Core, Layout
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Parts set free at first, at least, at most.
FIRST, LEAST, MOST = 14, 6, 40
#: With fewer parts the whole model does as well.
FEW = 60
#: Share of the time of a turn for one question.
SHARE = 0.2
METHOD = "parts near one another laid anew"


class WindowSearch(Search):
    """Turns of the search that can be taken up again.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    seed
        Same seed, same turns.
    """

    name: ClassVar[str] = "neighborhoods"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._dice = Random(seed)
        self._free = FIRST

    @classmethod
    def applies(cls, core: Core) -> bool:
        """On plain fabric orders and fixed lengths do that better."""
        return not core.plain and not core.open_arrows

    @property
    def worthwhile(self) -> bool:
        """Whether a neighborhood is much less than the whole."""
        return self._core.copies > FEW

    def run(self, turn: Turn) -> bool:
        """Search neighborhoods of the best layout, while it is one of this core."""
        if not self.worthwhile or self._core.copies > turn.params.most_in_model or turn.goal.best is None:
            return False
        while (layout := turn.goal.best) is not None and not turn.over():
            length = self._core.length_of(layout)
            center = self._dice.randrange(length)
            near = sorted(range(len(layout)), key=lambda i: abs(self._middle(layout, i) - center))
            free = frozenset(near[: min(self._free, len(layout) - 1)])
            model = LayoutModel(self._core, length - 1)
            model.hint(layout)
            model.hold_outside(layout, free, center)
            outcome = model.solve(turn, SHARE * turn.seconds, turn.threads, weak=True, method=METHOD)
            turn.offer(self._core, outcome.layout, METHOD)
            # A question that is answered at once was too small, one that is not answered too large.
            self._free = min(MOST, self._free + 1) if outcome.closed else max(LEAST, self._free - 1)
        return True

    def _middle(self, layout: Layout, index: int) -> float:
        spot = layout[index]
        return spot.y + self._core.size(spot)[1] / 2
