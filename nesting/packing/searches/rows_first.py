"""Rows first, places across second, small parts last.

Where parts are few and wide, their rows decide the length, and a search of rows alone is quick (see
`nesting.packing.bounds.row_search`). What it finds is held fast along the strip, and places across are
searched for these parts alone, which takes a moment. The small parts that the rows left out are then laid
into what is free, as beside flaws, each in the lowest place, the order mended. A no costs little: the next
rows are taken, from another order of kinds, at another length, or of other kinds; those kinds are taken most
often whose rows most often led to a layout.

References
----------
Cote, Dell'Amico, Iori, Operations Research 62 (2014) 643-661 (one axis first, the other to check it; there
the place across comes first).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random
from typing import Any, ClassVar

from nesting.packing.bounds.row_search import RowSearch, Stood, kept
from nesting.packing.bounds.standing import Standing
from nesting.packing.kernels.abreast import Places, Settled
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.problem import Flaw
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.searches.orders import laid_orders
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Of the sets of kinds worth keeping, so many of the largest are tried.
SETS = 4
#: Rows of one search that are tried before another is begun.
TRIES = 3
#: Share of the time of a turn for one search of rows.
ROWS = 0.1
#: Steps of one search for places across, and units of work of each, per part.
STEPS = 2_000
WORK_PER_STEP = 2e-9
#: Changes of an order of the small parts, from each start.
CHANGES = 20
METHOD = "rows first"


@dataclass
class _KindsTried:
    """A set of kinds, and how it went with their rows: what rows cost, and how often all parts were laid."""

    kinds: tuple[int, ...]
    search: RowSearch | None = None
    tried: int = 0
    laid: int = 0

    @property
    def promise(self) -> float:
        return (1 + 4 * self.laid) / (1 + self.tried)


class RowsFirst(Search):
    """Turns of the search that can be taken up again.

    Parameters
    ----------
    core
        All arrow groups decided.
    seed
        Same seed, same turns.
    """

    name: ClassVar[str] = "rows first"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._dice = Random(seed)
        self._sets = [_KindsTried(kinds) for kinds in list(kept(core))[::-1][:SETS]]
        self._made = 0

    @classmethod
    def applies(cls, core: Core) -> bool:
        """On plain fabric, where the rows say most."""
        return core.plain and not core.open_arrows

    @property
    def worthwhile(self) -> bool:
        """Whether any kinds are few and wide enough."""
        return bool(self._sets)

    def run(self, turn: Turn) -> bool:
        """Search for layouts that may exist and would be better."""
        least, limit = turn.least, turn.longest
        if limit is None or not self.worthwhile or self._core.copies > turn.params.most_in_model:
            return False
        while least <= limit and not turn.over():
            length = limit if self._dice.random() < 0.5 else self._dice.randint((least + limit) // 2, limit)
            kept = self._dice.choices(self._sets, [each.promise for each in self._sets])[0]
            if kept.search is None:
                kept.search = RowSearch(self._core, kept.kinds, turn.over)
            kept.search.reorder(self._made)
            self._made += 1
            found = self._turn(kept, kept.search, turn, length, limit)
            if found is not None:
                limit = found - 1
        return True

    def _turn(self, kept: _KindsTried, search: RowSearch, turn: Turn, length: int, limit: int) -> int | None:
        """Some rows within a length; the length of the layout made of them, or None."""
        for _ in range(TRIES):
            kept.tried += 1
            if turn.over() or not search.decide(length, turn.part(ROWS, beyond=True)):
                # In that time many others could have been tried.
                kept.tried += TRIES
                return None
            layout = self.completed(search.stood, turn, length, limit)
            if layout is not None:
                kept.laid += 1
                turn.offer(self._core, layout, METHOD)
                return self._core.length_of(layout)
        return None

    def completed(self, stood: Stood, turn: Turn, length: int, limit: int) -> Layout | None:
        """Rows with places across, and the other parts beside, at most ``limit`` long; None: not found soon.

        Once within ``length`` no shorter layout is looked for.
        """
        large = self._abreast(stood, turn)
        return None if large is None else self._with_small(large, turn, length, limit)

    def _abreast(self, stood: Stood, turn: Turn) -> Layout | None:
        """Places across for the rows found; None where none were found soon."""
        core, form = self._core, KERNELS.form
        begun = sorted(stood, key=lambda item: (item[2], -core.kinds[item[0]].ways[0][0]))
        phases = self._phases([way for _, way, _ in begun])
        if phases is None:
            return None
        places = [way.places(phases) for _, way, _ in begun]
        ways = [core.kinds[kind].ways[0] for kind, _, _ in begun]
        array, zeros, n = form.array, form.zeros, len(begun)
        px, room = zeros(n), 2 * n * (n + 1)
        turn.charge(STEPS * WORK_PER_STEP * n)
        begin, end = (
            array(y for _, _, y in begun),
            array(y + way[1] for (_, _, y), way in zip(begun, ways, strict=True)),
        )
        dice = array([self._dice.randrange(1, 2**31 - 1)])
        near, far = zip(*places, strict=True)
        parts = Settled(array(way[0] for way in ways), array(near), array(far), begin, end)
        scratch = Places(*map(zeros, (n, n + 1, room, room, n)))
        found = form.functions["abreast_search"](core.width, parts, STEPS, dice, px, scratch)
        if not found:
            return None
        return tuple(
            Spot(kind, int(x), y, way[2]) for (kind, _, y), x, way in zip(begun, px, ways, strict=True)
        )

    def _phases(self, ways: Sequence[Standing]) -> dict[str, int] | None:
        """A phase across for each seam group, with which all stand as they do; None where one has none."""
        suiting: dict[str, Any] = {}
        for way in ways:
            if way.seam is not None:
                suiting[way.seam] = way.phases & suiting.get(way.seam, True)
        if not all(flags.any() for flags in suiting.values()):
            return None
        return {seam: self._dice.choice(flags.nonzero()[0].tolist()) for seam, flags in suiting.items()}

    def _with_small(self, large: Layout, turn: Turn, length: int, limit: int) -> Layout | None:
        """The other parts laid into what these leave free, up to ``limit``; None where they find no room."""
        kinds = {spot.kind for spot in large}
        rest = [kind for kind in range(len(self._core.kinds)) if kind not in kinds]
        if not rest:
            return large
        taken = tuple(Flaw(spot.x, spot.y, *self._core.size(spot)) for spot in large)
        core = replace(self._core, kinds=tuple(self._core.kinds[kind] for kind in rest), lone=(), flaws=taken)
        small = laid_orders(core, turn, length, limit, CHANGES, self._made)
        return None if small is None else (*large, *(replace(spot, kind=rest[spot.kind]) for spot in small))
