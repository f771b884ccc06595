"""Which pieces are taken up and laid again: all small ones, those of a band, then some by chance."""

from __future__ import annotations

import random
from collections.abc import Sequence

from nesting.packing.cut_order import CutRule
from nesting.packing.ease import Rectangle
from nesting.packing.problem import Problem
from nesting.packing.refill import FillRule, Lot, Refill, by_part, lots_of, rooms_between
from nesting.packing.result import Placement

#: Units of work for one look at a room, or at a shape of a grid in it; and for an obstacle between rooms.
WORK_PER_LOOK, WORK_PER_OBSTACLE = 6e-7, 8e-6
#: All small pieces are laid again in so many ways, and those of each band, before chance chooses.
TRIES = 6
#: The least and the most pieces that lie near each other.
NEAR = (2, 14)


class Regrouping:
    """Takes pieces up and lays them again in grids of equal ones; matched pieces stay where they are.

    Parameters
    ----------
    problem, length
        One strip without flaws, and how long its layouts are.
    cut_rules
        Of each part. Those that are cut alone are large: they are taken up seldom.
    seed
        Same seed, same layouts.
    """

    def __init__(self, problem: Problem, length: int, cut_rules: Sequence[CutRule], seed: int) -> None:
        self._problem, self._length, self._cut_rules = problem, length, cut_rules
        self._chance, self._turn = random.Random(seed), 0
        self._taken = list[int]()
        self._rooms = list[Rectangle]()
        self._lots = list[Lot]()
        self.spent = 0.0
        """Units of work, until whoever asks sets it to 0."""

    def choose(self, layout: Sequence[Placement], bands: Sequence[Sequence[int]]) -> bool:
        """Take up the next pieces of a layout; False where that is fewer than two.

        ``bands`` are the numbers of its pieces between cuts from edge to edge.
        """
        taken = self._next(layout, bands)
        self._taken = sorted(taken)
        if len(taken) < 2:
            return False
        parts, boxes = self._problem.parts, list[Rectangle]()
        for number, at in enumerate(layout):
            if number not in taken:
                width, length = parts[at.part].size(at.turned)
                boxes.append((at.x, at.y, at.x + width, at.y + length))
        self._rooms = rooms_between(boxes, self._problem.strips[0].width, self._length)
        self._lots = lots_of((layout[number] for number in self._taken), parts)
        self.spent += WORK_PER_OBSTACLE * len(boxes)
        return True

    def laid(self, layout: Sequence[Placement]) -> list[Placement] | None:
        """The layout they were taken from with those laid again, by chance; None where one has no place."""
        chance, lots = self._chance, self._lots
        if chance.random() < 0.5:
            lots = list(by_part(lots))
        if chance.random() < 0.5:
            lots = sorted(lots, key=lambda lot: -lot.width * lot.length * (0.4 + chance.random()))
        refill = Refill(self._problem.strips[0].width, self._rooms, FillRule.by(chance))
        found = refill.lay(lots)
        self.spent += WORK_PER_LOOK * refill.looks
        if found is None:
            return None
        taken = set(self._taken)
        return [*(at for number, at in enumerate(layout) if number not in taken), *found]

    def _next(self, layout: Sequence[Placement], bands: Sequence[Sequence[int]]) -> set[int]:
        parts, chance = self._problem.parts, self._chance
        loose = [number for number, at in enumerate(layout) if parts[at.part].match is None]
        small = [number for number in loose if not self._cut_rules[layout[number].part].alone] or loose
        if not small:
            return set()
        turn, self._turn = self._turn, self._turn + 1
        if turn < TRIES:
            return set(small)
        if turn < TRIES * (1 + len(bands)):
            return set(bands[turn % len(bands)]).intersection(small)
        one, other, draw = chance.choice(small), chance.choice(small), chance.random()
        pool = small if chance.random() < 0.8 else loose
        if draw < 0.25:
            sizes = {self._size(layout[number]) for number in (one, other)}
            return {number for number in small if self._size(layout[number]) in sizes}
        if draw < 0.5:
            both = (band for band in bands if one in band or other in band)
            return {number for band in both for number in band}.intersection(pool)
        if draw < 0.65:
            return self._run(layout, one, along=chance.random() < 0.5).intersection(loose)
        at = layout[one]
        pool = sorted(pool, key=lambda n: abs(layout[n].x - at.x) + abs(layout[n].y - at.y))
        return set(pool[: chance.randint(*NEAR)])

    def _size(self, at: Placement) -> tuple[int, int]:
        return self._problem.parts[at.part].size(at.turned)

    def _run(self, layout: Sequence[Placement], one: int, *, along: bool) -> set[int]:
        """The pieces in one row with this one, edge to edge from one line, along the strip or across."""
        way, best = 1 if along else 0, set[int]()
        spans = [((at.x, at.y), self._size(at)) for at in layout]

        def line(number: int, far: int) -> int:
            place, size = spans[number]
            return place[1 - way] + far * size[1 - way]

        for far in (0, 1):
            row = [n for n in range(len(layout)) if line(n, far) == line(one, far)]
            run, reached = list[int](), None
            for number in sorted(row, key=lambda n: spans[n][0][way]):
                place, size = spans[number]
                if place[way] != reached:
                    if one in run:
                        break
                    run = []
                run.append(number)
                reached = place[way] + size[way]
            best = max(best, set(run), key=len)
        return best
