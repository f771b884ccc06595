"""Columns in one piece: the search of rows with the axes exchanged, at one trial length after another.

Sliced along the strip instead of across it, the parts keep their columns together but no place along: at a
trial length a column holds no more than that length, and all parts must have room in the strip's width. That
is the question of `nesting.packing.bounds.row_search` with widths and lengths exchanged, the trial length
being the width. Repeat and flaws are forgotten, so what is refuted so has no layout with them either. It says
most where the strip is hardly longer than wide; where many parts follow one another in a column there are too
many ways to begin them.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (the relaxation). Cote, Dell'Amico, Iori,
Operations Research 62 (2014) 643-661 (columns in one piece as the master problem).
"""

from __future__ import annotations

from dataclasses import replace

from nesting.packing.bounds.bars import WORK_PER_PRICE
from nesting.packing.bounds.row_search import RowSearch, kept
from nesting.packing.bounds.simple import area, tallest
from nesting.packing.reduce import Core
from nesting.packing.turn import Turn

#: Longer strips, in steps, take too long for the weights of their columns.
LONGEST = 30_000
#: A strip this many times as long as wide has too many parts in a column.
SLENDER = 4
#: Searches of so many lengths are remembered.
REMEMBERED = 4


def across(core: Core, length: int) -> Core:
    """The parts that lie one way, with their axes exchanged, on a strip as wide as ``length``."""
    kinds = tuple(
        replace(kind, width=kind.ways[0][1], length=kind.ways[0][0], upright=True, turned=False, match=None)
        for kind in core.kinds
        if len(kind.ways) == 1 and kind.arrow is None
    )
    return Core(width=length, kinds=kinds)


class Columns:
    """A search of columns, for any length asked for.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    kinds
        Those that count, by their numbers in the core turned by `across`.
    """

    method = "columns in one piece, not re-checked"

    def __init__(self, core: Core, kinds: tuple[int, ...]) -> None:
        self._core, self._kinds = core, kinds
        self._searches: dict[int, RowSearch] = {}
        self._known: dict[int, bool] = {}

    def decide(self, longest: int, turn: Turn) -> bool | None:
        """Whether the kinds kept have room within ``longest`` by their columns alone; None: not found out."""
        if longest in self._known:
            return self._known[longest]
        turned = across(self._core, longest)
        if any(kind.width > longest for kind in turned.kinds):
            return False
        if longest not in self._searches:
            if len(self._searches) >= REMEMBERED:
                self._searches.pop(next(iter(self._searches)))
            work = WORK_PER_PRICE * longest * sum(turned.kinds[kind].copies for kind in self._kinds)

            def spent() -> bool:
                turn.charge(work)
                return turn.over()

            self._searches[longest] = RowSearch(turned, self._kinds, spent)
        answer = self._searches[longest].decide(self._core.width, turn)
        if answer is not None:
            # Asked again, a search goes on to other columns; the answer is the same.
            self._known[longest] = answer
        return answer

    def rest(self) -> None:
        """Let go of what takes room in memory."""
        for longest in self._known:
            self._searches.pop(longest, None)


def columns_in_one_piece(core: Core) -> list[Columns]:
    """Searches of ever more kinds, the longest first; none on a slender strip or one of too many steps."""
    least = max(area(core).length, tallest(core).length, 1)
    if least > LONGEST or least * core.step_y > SLENDER * core.width * core.step_x:
        return []
    return [Columns(core, kinds) for kinds in kept(across(core, least))]
