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

from nesting.packing.models.cpsat import LayoutModel, Weights
from nesting.packing.race import Race
from nesting.packing.reduce import Core
from nesting.packing.result import Bound

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


def subset(
    core: Core,
    kinds: tuple[int, ...],
    weights: Weights | None,
    race: Race,
    branch: int,
    seconds: float,
    workers: int,
) -> tuple[Bound, bool]:
    """The rows of some kinds packed as short as they go; and whether that was closed."""
    least = race.target_in(core, branch)
    limit = race.limit_in(core)
    longest = core.stacked if limit is None else limit
    if longest < least:
        return Bound(least, "subset relaxation"), True
    model = LayoutModel(core, longest, least, kinds=kinds, rows_only=True, weights=weights)
    outcome = model.solve(race, seconds, workers, weak=True)
    count = sum(core.kinds[i].copies for i in kinds)
    return Bound(
        outcome.bound, f"subset relaxation of {count} of {core.copies} parts by CP-SAT, not re-checked"
    ), outcome.closed
