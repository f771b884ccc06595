"""Layouts with next to no waste at a given length, by search along the skyline.

When the length asked for leaves little cloth unused, most choices die at once: the lowest niche must be
filled from its left corner by a part that fits, or its cloth given up, and only so much may be given up.

References
----------
Kenmochi, Imamichi, Nonobe, Yagiura, Nagamochi, European J. Operational Research 198 (2009) 73-83
(branch and bound for perfect packings; here the niche rule with a waste budget and restarts).
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass, field

from nesting.packing.reduce import Core, Layout, Spot

#: Seconds of one core that a node is taken to cost, for budgets that do not depend on the clock.
WORK_PER_NODE = 1e-5


class _Enough(Exception):  # noqa: N818 - a signal, not an error
    """The run's nodes are spent."""


@dataclass(slots=True)
class TightSearch:
    """Search for a layout of exactly this length or shorter on plain cloth without flaws.

    Parameters
    ----------
    core
        The problem; must be plain, all arrow groups decided.
    length
        The length asked for.
    seed
        Same seed, same runs.
    """

    core: Core
    length: int
    seed: int = 0
    nodes: int = 0
    _budget: int = 0
    _left: list[int] = field(default_factory=list)
    _sky: list[list[int]] = field(default_factory=list)
    _spots: list[Spot] = field(default_factory=list)
    _limit: int = 0
    _order: list[tuple[int, int, int, bool]] = field(default_factory=list)
    _stop: Callable[[], bool] = lambda: False

    @property
    def slack(self) -> int:
        """Cloth that may stay unused."""
        used = sum(kind.area * kind.copies for kind in self.core.kinds)
        return self.core.width * self.length - used

    def run(self, nodes: int, number: int, stop: Callable[[], bool]) -> tuple[Layout | None, bool]:
        """One run of at most ``nodes`` steps; ``number`` varies its order of trial.

        Returns
        -------
        tuple
            The layout, or None; and whether the search was exhausted (every way was tried, waste allowed
            only where a whole niche is given up).
        """
        self._left = [kind.copies for kind in self.core.kinds]
        self._sky = [[0, 0, self.core.width]]
        self._spots = []
        self._budget, self._limit, self._stop = self.slack, self.nodes + nodes, stop
        self._order = self._ways(number)
        if self._budget < 0:
            return None, True
        try:
            found = self._fill(self.core.copies, self._budget)
        except _Enough:
            return None, False
        return (tuple(self._spots) if found else None), not found

    def _ways(self, number: int) -> list[tuple[int, int, int, bool]]:
        """``(kind, width, length, turned)`` in the order of trial of this run."""
        rng = random.Random(self.seed * 1_000_003 + number)
        ways = [(i, w, h, t) for i, kind in enumerate(self.core.kinds) for w, h, t in kind.ways]
        keys: tuple[Callable[[tuple[int, int, int, bool]], float], ...] = (
            lambda way: -way[1] * way[2],
            lambda way: -way[1],
            lambda way: -way[2],
            lambda way: -way[1] - way[2],
        )
        key = keys[number % len(keys)]
        noise = 0.0 if number < len(keys) else rng.choice((0.1, 0.3, 0.6))
        return sorted(ways, key=lambda way: key(way) * (1 + noise * (rng.random() - 0.5)))

    def _fill(self, parts: int, slack: int) -> bool:
        """Fill the lowest niche; True when every part lies."""
        if parts == 0:
            return True
        self.nodes += 1
        if self.nodes >= self._limit or (self.nodes & 1023 == 0 and self._stop()):
            raise _Enough
        sky = self._sky
        at = min(range(len(sky)), key=lambda i: (sky[i][1], sky[i][0]))
        x, y, gap = sky[at]
        room = self.length - y
        fitting = [way for way in self._order if self._left[way[0]] and way[1] <= gap and way[2] <= room]
        left_wall = sky[at - 1][1] - y if at else room
        right_wall = sky[at + 1][1] - y if at + 1 < len(sky) else room
        fitting.sort(key=lambda way: (way[1] != gap, way[2] != left_wall and way[2] != right_wall))
        narrowest = min((way[1] for way in fitting), default=0)
        for index, width, height, turned in fitting:
            rest = gap - width
            # What stays beside it is lost when nothing is narrow enough, up to the lower wall.
            lost = rest * min(height, right_wall) if 0 < rest < narrowest else 0
            if lost > slack:
                continue
            saved = [segment[:] for segment in sky]
            self._place(at, x, y, gap, width, height)
            self._left[index] -= 1
            self._spots.append(Spot(index, x, y, turned))
            if self._fill(parts - 1, slack):
                return True
            self._spots.pop()
            self._left[index] += 1
            sky[:] = saved
        lost = gap * min(left_wall, right_wall)
        if lost > slack or len(sky) == 1:
            return False
        saved = [segment[:] for segment in sky]
        sky[at][1] = y + min(left_wall, right_wall)
        self._join(at)
        if self._fill(parts, slack - lost):
            return True
        sky[:] = saved
        return False

    def _place(self, at: int, x: int, y: int, gap: int, width: int, height: int) -> None:
        sky = self._sky
        if width == gap:
            sky[at] = [x, y + height, width]
        else:
            sky[at : at + 1] = [[x, y + height, width], [x + width, y, gap - width]]
        self._join(at)

    def _join(self, at: int) -> None:
        """Segments of one height become one."""
        sky = self._sky
        if at + 1 < len(sky) and sky[at + 1][1] == sky[at][1]:
            sky[at][2] += sky.pop(at + 1)[2]
        if at and sky[at - 1][1] == sky[at][1]:
            sky[at - 1][2] += sky.pop(at)[2]
