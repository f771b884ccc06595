"""Layouts with next to no waste at a given length, by search along the skyline.

When the length asked for leaves little fabric unused, most choices die at once: the lowest niche must be
filled from its left corner by a part that fits, or its fabric given up, and only so much may be given up.

References
----------
Kenmochi, Imamichi, Nonobe, Yagiura, Nagamochi, European J. Operational Research 198 (2009) 73-83
(branch and bound for perfect packings; here the niche rule with a waste budget and restarts).
"""

from __future__ import annotations

import random
from collections.abc import Callable
from typing import ClassVar

from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.kernels.niches import Depths, Lying
from nesting.packing.kernels.skyline import Sky, Spots
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Units of work of a node per way a part may lie, as machine code.
WORK_PER_WAY = 6e-9
#: Nodes between two looks at the clock; plain functions are some fifty times slower.
NODES, PLAIN_NODES = 200_000, 4_000
#: The same where work is counted, in either form: which one is ready must not change the layout.
COUNTED_NODES = 20_000
_KEYS: tuple[Callable[[int, int], int], ...] = (
    lambda w, h: -w * h,
    lambda w, h: -w,
    lambda w, h: -h,
    lambda w, h: -w - h,
)


class TightSearch(Search):
    """Runs of the niche search that can be taken up again.

    Parameters
    ----------
    core
        The problem; must have `Core.phases`, all arrow groups decided.
    seed
        Same seed, same runs.
    """

    name: ClassVar[str] = "niches"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._seed = seed
        self._ways = [(i, w, h, t) for i, kind in enumerate(core.kinds) for w, h, t in kind.ways]
        self._run = 0
        self._nodes = 2_000
        self._refuted: int | None = None

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Where all phases are known, and all directions decided."""
        return core.phases is not None and not core.open_arrows and bool(core.kinds)

    def slack(self, length: int) -> int:
        """Fabric that may stay unused at that length."""
        used = sum(kind.area * kind.copies for kind in self._core.kinds)
        return self._core.width * length - used

    def run(self, turn: Turn) -> bool:
        """Search at the least length until the turn is over, or until every way was tried.

        False where that length leaves much fabric unused.
        """
        length, most = turn.least, turn.params
        slack = self.slack(length)
        if self._core.copies > most.most_in_model or slack > most.tight * self._core.width * length:
            return False
        if slack < 0 or self._refuted == length:
            return True
        while not turn.over():
            KERNELS.refresh()
            found, layout = self._one(length, slack)
            turn.charge(self._nodes * WORK_PER_WAY * len(self._ways))
            self._run += 1
            if self._run % 4 == 0:
                self._nodes = min(int(self._nodes * 1.3), _most_nodes(turn))
            if found == 0:
                # Nothing is proved: a niche was given up only as a whole.
                self._refuted = length
                return True
            turn.offer(self._core, layout, "niches without waste")
        return True

    def _one(self, length: int, slack: int) -> tuple[int, Layout | None]:
        copies, ways = self._core.copies, len(self._ways)
        form = KERNELS.form
        array, zeros = form.array, form.zeros
        period, phases = self._core.phases or (1, ())
        # Where parts wait for their phase a niche is given up little by little.
        depths = (2 if self._core.plain else 4) * copies + 3
        spots = Spots(*(zeros(depths) for _ in range(3)))
        by_depth = Depths(zeros(depths * (ways + 1)), *(zeros(depths) for _ in range(5)))
        sky = Sky(*(zeros(depths * (copies + 2)) for _ in range(3)))
        kind, wide, long = (array(way[at] for way in self._ways) for at in range(3))
        phase = array(phases[way[0]] for way in self._ways)
        lying = Lying(array(self._order()), kind, wide, long, phase)
        left = array(kind.copies for kind in self._core.kinds)
        found = form.functions["tight_search"](
            self._core.width, length, slack, period, lying, left, copies, self._nodes, spots, by_depth, sky
        )
        return int(found), self._layout(spots) if found == 1 else None

    def _layout(self, spots: Spots) -> Layout:
        found, depth = list[Spot](), 0
        while len(found) < self._core.copies:
            if spots.way[depth] >= 0:
                kind, _, _, turned = self._ways[int(spots.way[depth])]
                found.append(Spot(kind, int(spots.x[depth]), int(spots.y[depth]), turned))
            depth += 1
        return tuple(found)

    def _order(self) -> list[int]:
        """The order of trial of this run."""
        rng = random.Random(self._seed * 1_000_003 + self._run)
        key = _KEYS[self._run % len(_KEYS)]
        noise = 0.0 if self._run < len(_KEYS) else rng.choice((0.1, 0.3, 0.6))
        weights = [key(w, h) * (1 + noise * (rng.random() - 0.5)) for _, w, h, _ in self._ways]
        return sorted(range(len(self._ways)), key=weights.__getitem__)


def _most_nodes(turn: Turn) -> int:
    """How long one run may grow."""
    if turn.counted:
        return COUNTED_NODES
    return NODES if KERNELS.compiled else PLAIN_NODES
