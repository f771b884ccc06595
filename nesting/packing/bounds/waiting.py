"""Prices of waiting from one part of the pattern to the next, for a search of rows under settled phases.

Row weights give lanes (see `nesting.packing.bounds.gaps`): on each, one part follows another, and the
cheapest way to let each be followed is a transportation problem. The prices that belong to it, one for the
end of each part and one for its beginning, never add up to more than the wait between them. So whatever parts
are left, what they will lose by waiting is at least their prices, and a search knows it before it comes to
them.

This holds of parts whose phase is settled: pushed together as the search does, they stay where the pattern
lets them begin. Parts of an open phase do not, so even those of one level may come nearer to one another
there than in any layout, and nothing is said of their waiting.

References
----------
Ford, Fulkerson, "Flows in Networks" (1962) (prices as the dual of transportation). Bellman, Quarterly of
Applied Mathematics 16 (1958) 87-90 (prices as shortest paths of what is left of the network).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

#: A capacity that no flow reaches.
_NEVER = 10**12


@dataclass(frozen=True, slots=True)
class WaitPrices:
    """Per unit of weight: of each class of parts, and of the first row and the last of the strip."""

    before: list[int]
    after: list[int]
    first: int
    last: int


@dataclass(frozen=True, slots=True)
class Waiting:
    """A class of parts that wait alike.

    Attributes
    ----------
    begins
        Where each may begin modulo the repeat, its phase settled; none where anywhere.
    length
        Of a part.
    """

    begins: tuple[int, ...]
    length: int


def waits(classes: Sequence[Waiting], longest: int, period: int) -> Any:
    """From the end of each class, or the first row, to each that begins, or the end of the strip."""
    count = len(classes)
    empty = Waiting((0,), 0), Waiting((longest,), 0)
    found = np.zeros((count + 1, count + 1), dtype=np.int64)
    for i, one in enumerate((*classes, empty[0])):
        for j, other in enumerate((*classes, empty[1])):
            if one.begins and other.begins:
                found[i, j] = min(
                    (begin - start - one.length) % period for start in one.begins for begin in other.begins
                )
    # A lane may stay empty from one end of the strip to the other.
    found[count, count] = longest
    return found


def prices(wait: Any, weights: Sequence[int], most: int) -> WaitPrices:
    """Of ``waits``, where all parts of each class have such ``weights``, in rows that weigh ``most``."""
    from ortools.graph.python.min_cost_flow import SimpleMinCostFlow

    count = len(weights)
    supplies = np.array([*weights, most])
    flow = SimpleMinCostFlow()
    tails, heads = np.divmod(np.arange(wait.size), count + 1)
    flow.add_arcs_with_capacity_and_unit_cost(
        tails, heads + count + 1, np.full(wait.size, _NEVER), wait.reshape(-1)
    )
    flow.set_nodes_supplies(np.arange(2 * count + 2), np.concatenate([supplies, -supplies]))
    if flow.solve() != flow.OPTIMAL:
        return WaitPrices([0] * count, [0] * count, 0, 0)
    used = flow.flows(np.arange(wait.size)).reshape(wait.shape) > 0
    return _of_paths(wait, used)


def _of_paths(wait: Any, used: Any) -> WaitPrices:
    """Lengths of shortest paths, forward at the cost of waiting, backward where there is flow."""
    ends = np.zeros(len(wait), dtype=np.int64)
    begins = np.zeros(len(wait), dtype=np.int64)
    for _ in range(2 * len(wait)):
        nearer = np.minimum(begins, (ends[:, None] + wait).min(0))
        back = np.where(used, nearer[None, :] - wait, _NEVER).min(1)
        further = np.minimum(ends, back)
        if (nearer == begins).all() and (further == ends).all():
            break
        begins, ends = nearer, further
    # Whatever the paths, what is said of each end allows this for the beginnings.
    begins = (wait + ends[:, None]).min(0)
    return WaitPrices(begins[:-1].tolist(), (-ends[:-1]).tolist(), int(-ends[-1]), int(begins[-1]))
