"""The bar relaxation with places across, over all options.

The widths joined in a panel share their place in the pattern, whichever seam plan is taken; but of the parts
of a seam group only those are laid for certain beside a part that lie in any case, or in the same option. So
a part may begin where these leave room, and a kind wherever one of its parts may. A row is then as in
`nesting.packing.bounds.places`, of all parts of all options, which is a wider choice of rows than any
selection has; and of each choice the lightest option counts, as in `linear_bounds`.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from typing import Any

import numpy as np

from nesting.packing.bounds.bars import bars_across
from nesting.packing.bounds.places import MOST_CELLS, PlacedRow
from nesting.packing.certificates.room_across import places
from nesting.packing.choices.linear_bounds import Demand, LinearBound, priced
from nesting.packing.choices.menu import Menu

METHOD = "bar relaxation with places across"


def placed_bars_over_all(menu: Menu, demand: Demand, stop: Callable[[], bool]) -> LinearBound | None:
    """Row weights that places bind, over all selections; None where they bind nothing, or rows are too long.

    Parameters
    ----------
    menu, demand
        The choices, and what may be laid of them.
    stop
        Ends the linear program; any time gives valid weights.
    """
    core, bars = demand.core, bars_across(demand.core)
    if core.repeat is None or core.repeat.width is None or len(bars) * core.width > MOST_CELLS:
        return None
    sets = tuple(_laid_together(menu, demand))
    flags = [_places(demand, sets, bar.kind, bar.size) for bar in bars]
    row = PlacedRow(core.width, bars, flags)
    return priced(demand, METHOD, stop, row) if row.bound_to_places else None


def _laid_together(menu: Menu, demand: Demand) -> Iterable[tuple[frozenset[int], frozenset[int]]]:
    """Kinds that lie in any case or in one option, and with them all that are laid for certain."""

    def kinds(parts: Iterable[int]) -> frozenset[int]:
        return frozenset(demand.kind_of[part] for part in parts)

    always = kinds(menu.always)
    yield always, always
    for offers in menu.offers:
        for offer in offers:
            mine = kinds(offer.parts)
            yield mine, mine | always


def _places(
    demand: Demand, sets: Iterable[tuple[frozenset[int], frozenset[int]]], number: int, width: int
) -> Any | None:
    """Where a kind may begin, whichever options are taken; None where anywhere will do."""
    core, found = demand.core, None
    for mine, together in sets:
        if number in mine:
            alone = replace(core, kinds=tuple(core.kinds[kind] for kind in sorted(together)))
            flags = places(alone, core.kinds[number], width, {})
            if flags is None:
                return None
            found = flags if found is None else np.logical_or(found, flags)
    return found
