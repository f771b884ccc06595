"""Layouts that fit a length asked for: the strip is filled as full as it goes, and the order mended.

A layout's length says little about how near an order is to a shorter one; the fabric given up when all parts
must end by a fixed length says much. So a length is asked for, and small changes to the order are kept when
they give up no more. Found, a shorter one is asked for; not found for a while, one nearer to the best. Where
parts have their phases the bound itself is asked for first: with fabric to spare niches are given up soon.

References
----------
Zhang, Wei, Leung, Chen, INFORMS J. Computing 25 (2013) 332-345; Wei, Hu, Leung, Zhang, Computers &
Operations Research 80 (2017) 113-127 (random changes of the order, not worse is kept).
"""

from __future__ import annotations

import time
from typing import Any, ClassVar

from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.kernels.fit import Choices
from nesting.packing.kernels.skyline import Queue, Sky, Spots
from nesting.packing.pace import Pace
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.searches.construct import orders
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Units of work, as machine code, of one laid part per way a part may lie.
FIT_WORK = 4e-9
#: Changes tried from one start; more each time all starts have had their turn.
ROUNDS = 2_000
#: Above this many parts times ways a pass takes too long for a search of orders.
MOST = 4_000_000
_RULES = 2


class FitSearch(Search):
    """A search for layouts within a length, that can be taken up again.

    Parameters
    ----------
    core
        The problem; must have `Core.phases`, all arrow groups decided.
    seed
        Same seed, same search, whatever form the kernels are in.
    """

    name: ClassVar[str] = "fixed length"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._starts = [order for _, order in orders(core)]
        ways = [(w, h, i, t) for i, kind in enumerate(core.kinds) for w, h, t in kind.ways]
        self._ways = sorted(ways)
        self._state = seed * 7919 % 2147483646 + 1
        self._cycle = 0
        self._failed = 0
        self._aim: int | None = None
        self._rounds_left = 0
        self._pace = Pace()
        self._work = FIT_WORK * core.copies * len(ways) + 1e-6

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Where all phases are known, and all directions decided."""
        return core.phases is not None and not core.open_arrows

    @property
    def worthwhile(self) -> bool:
        """Whether there are orders to search, and a pass is short enough."""
        return len(self._core.kinds) > 1 and self._core.copies * len(self._ways) <= MOST

    def run(self, turn: Turn) -> bool:
        """Search until the turn is over for layouts that may exist and would be better."""
        least, longest = turn.least, turn.longest
        if longest is None or longest < least or not self.worthwhile:
            return False
        while longest >= least and not turn.over():
            if self._aim is None or not least <= self._aim <= longest:
                self._ask((least + longest) // 2 if self._core.plain else least)
            if self._rounds_left <= 0:
                self._restart(turn, least, longest)
            elif self._search(turn):
                layout = self._layout()
                turn.offer(self._core, layout, "filling a fixed length")
                longest = self._core.length_of(layout) - 1
                self._aim = None
        return True

    def _ask(self, length: int) -> None:
        """Aim at a length, with all starts before it."""
        self._aim, self._failed, self._rounds_left = length, 0, 0

    def _restart(self, turn: Turn, least: int, longest: int) -> None:
        """The next sort and rule; after all of them an aim nearer to the best, and then from far again."""
        assert self._aim is not None
        starts = len(self._starts) * _RULES
        if self._failed == starts and self._aim < longest:
            self._ask((self._aim + longest + 1) // 2)
        elif self._failed >= 2 * starts and self._aim == longest:
            self._ask((least + 3 * longest) // 4 if self._core.plain else least)
        self._failed += 1
        KERNELS.refresh()
        core, n, ways = self._core, self._core.copies, self._ways
        form = KERNELS.form
        array, zeros = form.array, form.zeros
        self._functions = form.functions
        self._state = self._state * 48271 % 2147483647
        self._random = array([self._state])
        self._order = array(self._starts[self._cycle % len(self._starts)])
        self._rule = self._cycle // len(self._starts) % _RULES
        self._cycle += 1
        self._rounds_left = ROUNDS * (1 + self._cycle // starts)
        period, phases = core.phases or (1, ())
        kind, wide, long = (array(way[at] for way in ways) for at in (2, 0, 1))
        phase = array(phases[way[2]] for way in ways)
        self._sizes = Choices(kind, wide, long, phase, zeros(len(ways) + 1)), period
        self._spots = Spots(*(zeros(n) for _ in range(3)))
        queue = Queue(*(zeros(count) for count in (n, len(core.kinds), len(core.kinds))))
        self._scratch = self._spots, queue, Sky(*(zeros(n + 2) for _ in range(3)))
        turn.charge(self._work)
        self._given_up = int(
            self._functions["fit_pass"](
                core.width, self._aim, self._order, *self._sizes, self._rule, core.width * self._aim,
                *self._scratch,
            )
        )  # fmt: skip

    def _search(self, turn: Turn) -> bool:
        """Some changes of the order; True when every part has its place."""
        if self._given_up >= 0:
            rounds = min(self._rounds_left, self._pace.rounds(turn, self._work))
            began = time.monotonic()
            self._given_up = int(
                self._functions["fit_search"](
                    self._core.width, self._aim, self._order, *self._sizes, self._rule, self._given_up,
                    rounds, self._random, *self._scratch,
                )
            )  # fmt: skip
            self._pace.took(time.monotonic() - began)
            turn.charge(rounds * self._work)
            self._rounds_left -= rounds
        return self._given_up < 0

    def _layout(self) -> Layout:
        xs, ys, ways = self._spots
        found: list[Any] = [self._ways[int(way)] for way in ways]
        self._rounds_left = 0
        return tuple(
            Spot(kind, int(x), int(y), turned)
            for (_, _, kind, turned), x, y in zip(found, xs, ys, strict=True)
        )
