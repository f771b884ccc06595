"""The subset relaxation: forget the small parts, keep the rows of the large ones.

Whatever a layout does, its large parts alone still lie in it. Of those, only the rows are kept: parts may
be sliced crosswise, but a part's rows stay together and keep their phase in the pattern. That is one
cumulative constraint, which CP-SAT closes quickly, and its optimum is never above that of the layout.
The weights of the bar relaxation come along as a second cumulative.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (contiguous relaxation, there of all parts).
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import ClassVar

from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.reduce import Core
from nesting.packing.result import SOLVER, UNCHECKED, Bound
from nesting.packing.turn import Turn

#: More rectangles than this and the rows are no longer settled quickly.
MOST = 90


def subsets(core: Core) -> Iterator[tuple[int, ...]]:
    """Kinds to keep: ever more of them, widest first, while they stay few enough."""
    seen: set[tuple[int, ...]] = set()
    for share in (2, 3, 4, 6, 12):
        kept = tuple(i for i, kind in enumerate(core.kinds) if share * kind.least_width > core.width)
        count = sum(core.kinds[i].copies for i in kept)
        if kept and count <= MOST and kept not in seen:
            seen.add(kept)
            yield kept
    everything = tuple(range(len(core.kinds)))
    if core.copies <= MOST // 2 and everything not in seen:
        yield everything


class RowsOfSubsets(LowerBound):
    """Rows of ever more kinds, each closed before the next."""

    name: ClassVar[str] = "rows of subsets"

    @classmethod
    def applies(cls, core: Core) -> bool:
        """On plain fabric those that lie one way are searched through without the solver."""
        return not core.plain or any(len(kind.ways) > 1 for kind in core.kinds)

    def raised(self, turn: Turn) -> Bound | None:
        """Until one is not closed in its share of the time."""
        bound = None
        for kinds in subsets(self.core):
            if turn.budget.left <= 0 or turn.goal.closed:
                return bound
            bound, closed = self._of(kinds, turn.renewed())
            turn.take(bound)
            if not closed:
                return bound
        return bound

    def _of(self, kinds: tuple[int, ...], turn: Turn) -> tuple[Bound, bool]:
        """The rows of some kinds packed as short as they go; and whether that was closed."""
        core, least = self.core, turn.least
        longest = core.stacked if turn.longest is None else turn.longest
        if longest < least:
            return Bound(least, "subset relaxation"), True
        weights = turn.goal.best_weights
        model = LayoutModel(core, longest, least, kinds=kinds, rows_only=True, weights=weights)
        outcome = model.solve(turn, turn.seconds, turn.threads, weak=True)
        count = sum(core.kinds[i].copies for i in kinds)
        method = f"subset relaxation of {count} of {core.copies} parts by {SOLVER}, {UNCHECKED}"
        return Bound(outcome.bound, method), outcome.closed
