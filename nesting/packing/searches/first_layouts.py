"""Layouts that are there at once: shelves, the lowest place for each part in several orders, bands."""

from __future__ import annotations

from typing import ClassVar

from nesting.packing.reduce import Core, closed_arrows
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import bands, fill, orders, shelves
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Units of work for a place of one part, per part already lying.
WORK_PER_PLACE = 4e-6


class FirstLayouts(Search):
    """Shelves, which any order of any size has at once; then every order once, and bands.

    Parameters
    ----------
    core
        The problem; open arrow groups are laid all upright, then all turned.
    seed
        Does not matter.
    """

    name: ClassVar[str] = "first layouts"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._room = SeamRoom(core)

    def run(self, turn: Turn) -> bool:
        """Offer them; shelves in closed cases as well: a bound that closed one by mistake is found out."""
        if not self._core.kinds and not turn.goal.closed:
            turn.offer(self._core, (), "rows of their own")
        for core in closed_arrows(self._core):
            closed = turn.goal.closed
            turn.offer(core, shelves(core, self._room), "shelves")
            if closed or (core.plain and core.copies > turn.params.most_placed_singly):
                continue
            turn = turn.renewed().charging(WORK_PER_PLACE * core.copies)
            for name, order in orders(core):
                if turn.over():
                    return True
                layout = fill(core, order, self._room, stop=turn.over)
                turn.offer(core, layout, f"lowest place, by {name}")
            turn.offer(core, bands(core, self._room, turn.over), "bands")
        return True
