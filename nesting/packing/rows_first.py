"""Rows first, places across second: the rows of the parts are searched, then CP-SAT finds them room.

Where parts are few and wide, their rows decide the length, and a search of rows alone is quick (see
`nesting.packing.bounds.row_search`). What it finds is held fast along the strip, and the places across are
asked of CP-SAT, together with the parts that the rows left out. Most such questions are answered in
milliseconds. A no costs little: the next rows are taken, from another order of kinds or at another length.

References
----------
Cote, Dell'Amico, Iori, Operations Research 62 (2014) 643-661 (one axis first, the other to check it; there
the place across comes first).
"""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from nesting.packing.bounds.row_search import RowSearch, kept
from nesting.packing.cpsat import LayoutModel
from nesting.packing.race import Race
from nesting.packing.reduce import Core

#: Of the sets of kinds worth keeping, so many of the largest are tried.
SETS = 3
#: Rows of one search that are tried before another is begun.
TRIES = 3
#: Share of the time of a turn for one search of rows, and for one question to CP-SAT.
ROWS, PLACES = 0.2, 0.4
METHOD = "rows first, places by CP-SAT"


class RowsFirst:
    """Turns of the search that can be taken up again.

    Parameters
    ----------
    core
        Plain; all arrow groups decided.
    seed
        Same seed, same turns.
    """

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._dice = Random(seed)
        self._sets = list(kept(core))[::-1][:SETS]
        self._searches: dict[tuple[int, ...], RowSearch] = {}
        self._made = 0

    @property
    def worthwhile(self) -> bool:
        """Whether any kinds are few and wide enough."""
        return bool(self._sets)

    def run(self, race: Race, least: int, limit: int, threads: int, seconds: float) -> None:
        """Search until so much of the budget is spent for layouts from ``least`` to ``limit`` long."""
        stop = race.until(seconds)
        while least <= limit and not stop():
            length = limit if self._dice.random() < 0.5 else self._dice.randint((least + limit) // 2, limit)
            kinds = self._sets[self._dice.randrange(len(self._sets))]
            if kinds not in self._searches:
                self._searches[kinds] = RowSearch(self._core, kinds, stop)
            search = self._searches[kinds]
            search.reorder(self._made)
            self._made += 1
            found = self._turn(search, race, length, threads, seconds, stop)
            if found is not None:
                limit = found - 1

    def _turn(
        self,
        search: RowSearch,
        race: Race,
        length: int,
        threads: int,
        seconds: float,
        stop: Callable[[], bool],
    ) -> int | None:
        """Some rows within a length; the length of the layout made of them, or None."""
        for _ in range(TRIES):
            if stop() or not search.decide(length, race, race.until(ROWS * seconds)):
                return None
            model = LayoutModel(self._core, length, decide=True)
            model.hold_rows(search.begun)
            outcome = model.solve(race, PLACES * seconds, threads, weak=True)
            if race.offer(self._core, outcome.layout, METHOD) and outcome.layout is not None:
                return self._core.length_of(outcome.layout)
        return None
