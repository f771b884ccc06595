"""The least length of a tiny problem by trying everything, as a yardstick for the engine.

Why it is exact. Fix the turns, and take, of all shortest layouts, one whose y add up to the least.
List its copies by (y, x). Each then lies, for its x and for the phase of its level group, at the lowest
free y given the copies listed before it: if it could go lower, it would still be clear of every copy
listed after it (each of these begins at or above the old y, so it could only meet the lowered copy
where it met the old one), no copy would end later, and the sum would fall. So it is enough to try every
order, every x, every phase of a level group when its first copy is laid, and to put each copy at
the lowest free y, never before the (y, x) of the copy laid last. Nothing is cut off but what ends at
or above the best length known, and equal copies in another order of their numbers.

Written for strips up to a dozen wide and up to five copies. One strip; no choices, lots or values.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from math import ceil

from nesting.packing.problem import Part, Problem
from nesting.packing.result import Placement


@dataclass(frozen=True)
class _Box:
    x: int
    y: int
    right: int
    top: int


def optimal_layout(problem: Problem) -> tuple[int, tuple[Placement, ...]] | None:
    """The least length and a layout of that length; None where no layout exists at any length."""
    (strip,) = problem.strips
    if problem.choices or any(p.lot or p.bundle or p.value is not None for p in problem.parts):
        raise ValueError("brute force knows no choices, lots, values or bundles")
    best: tuple[int, tuple[Placement, ...]] | None = None
    for turned_groups in _turns_of_groups(problem):
        search = _Search(problem, turned_groups, best)
        search.run()
        best = search.best
        if best is not None and best[0] == _least_thinkable(problem) and strip.length is None:
            break
    return best


def optimal_length(problem: Problem) -> int | None:
    """The least length; None where no layout exists at any length."""
    best = optimal_layout(problem)
    return None if best is None else best[0]


def _turns_of_groups(problem: Problem) -> Iterator[dict[str, bool]]:
    groups = sorted({part.arrow for part in problem.parts if part.arrow is not None})
    free = {g: all(p.turnable and p.match is None for p in problem.parts if p.arrow == g) for g in groups}
    for turns in itertools.product(*[(False, True) if free[group] else (False,) for group in groups]):
        yield dict(zip(groups, turns, strict=True))


def _least_thinkable(problem: Problem) -> int:
    area = sum(part.width * part.length * part.copies for part in problem.parts)
    return ceil(area / problem.strips[0].width)


class _Search:
    def __init__(
        self, problem: Problem, turns: dict[str, bool], best: tuple[int, tuple[Placement, ...]] | None
    ) -> None:
        (self.strip,) = problem.strips
        self.parts, self.turns, self.best = problem.parts, turns, best
        self.rest = [part.copies for part in problem.parts]
        self.boxes = [_Box(f.x, f.y, f.x + f.width, f.y + f.length) for f in self.strip.flaws]
        self.laid: list[Placement] = []
        self.levels: dict[str, int] = {}
        self.seams: dict[str, int] = {}

    def run(self) -> None:
        if not any(self.rest):
            length = max((box.top for box in self.boxes[len(self.strip.flaws) :]), default=0)
            if self.best is None or length < self.best[0]:
                self.best = (length, tuple(self.laid))
            return
        for at, part in enumerate(self.parts):
            if self.rest[at]:
                for turned in self._ways(part):
                    self._try_everywhere(at, part, turned)

    def _ways(self, part: Part) -> tuple[bool, ...]:
        if part.arrow is not None:
            return (self.turns[part.arrow],)
        return (False, True) if part.turnable and part.width != part.length else (False,)

    def _try_everywhere(self, at: int, part: Part, turned: bool) -> None:
        width, length = (part.length, part.width) if turned else (part.width, part.length)
        for x in range(part.clear[0], self.strip.width - part.clear[1] - width + 1):
            if not self._seam_allows(part, x):
                continue
            for phase in self._phases(part):
                y = self._lowest(part, x, width, length, phase)
                if y is not None and self._in_order(x, y) and self._ends_early(y + length):
                    self._lay(at, part, turned, _Box(x, y, x + width, y + length), phase)

    def _seam_allows(self, part: Part, x: int) -> bool:
        across = self._across(part, x)
        return across is None or self.seams.get(part.match.seam, across) == across

    def _across(self, part: Part, x: int) -> int | None:
        repeat = self.strip.repeat
        if repeat is None or repeat.width is None or part.match is None or part.match.seam is None:
            return None
        return (x - part.match.x) % repeat.width

    def _phases(self, part: Part) -> tuple[int | None, ...]:
        repeat = self.strip.repeat
        if repeat is None or part.match is None:
            return (None,)
        if self.strip.start is not None:
            return (-self.strip.start % repeat.length,)
        known = self.levels.get(part.match.level)
        return tuple(range(repeat.length)) if known is None else (known,)

    def _lowest(self, part: Part, x: int, width: int, length: int, phase: int | None) -> int | None:
        """The lowest y of that phase at which the copy is clear of everything laid before."""
        step, y = 1, 0
        if phase is not None:
            repeat, match, step = self.strip.repeat, part.match, self.strip.repeat.length
            column = 0 if repeat.width is None else (x - match.x) // repeat.width
            y = int((phase + match.y + column * repeat.drop * repeat.length) % step)
        beside = [box for box in self.boxes if box.x < x + width and box.right > x]
        while self._ends_early(y + length):
            if all(box.top <= y or box.y >= y + length for box in beside):
                return y
            y += step
        return None

    def _in_order(self, x: int, y: int) -> bool:
        return not self.laid or (y, x) > (self.laid[-1].y, self.laid[-1].x)

    def _ends_early(self, top: int) -> bool:
        if self.strip.length is not None and top > self.strip.length:
            return False
        return self.best is None or top < self.best[0]

    def _lay(self, at: int, part: Part, turned: bool, box: _Box, phase: int | None) -> None:
        level_is_new = phase is not None and part.match.level not in self.levels
        across = self._across(part, box.x)
        seam_is_new = across is not None and part.match.seam not in self.seams
        if level_is_new:
            self.levels[part.match.level] = phase
        if seam_is_new:
            self.seams[part.match.seam] = across
        copy = part.copies - self.rest[at] + 1
        self.rest[at] -= 1
        self.boxes.append(box)
        self.laid.append(Placement(at, copy, box.x, box.y, turned))
        self.run()
        self.laid.pop()
        self.boxes.pop()
        self.rest[at] += 1
        if level_is_new:
            del self.levels[part.match.level]
        if seam_is_new:
            del self.seams[part.match.seam]


def best_order_length(problem: Problem) -> int:
    """The least length of full-width parts, by every order and every phase.

    For parts that leave no room beside any other (each wider than half the strip) and that lie at
    x = 0: the order along the strip and the phases of the level groups then say everything, and each
    part lies best at the first height of its phase above the part before it.
    """
    (strip,) = problem.strips
    repeat = strip.repeat
    assert repeat is not None
    assert strip.length is None
    assert not strip.flaws
    assert strip.start is None
    assert all(part.width == strip.width and part.match is not None for part in problem.parts)
    levels = sorted({part.match.level for part in problem.parts})
    every_copy = [at for at, part in enumerate(problem.parts) for _ in range(part.copies)]
    orders = set(itertools.permutations(every_copy))
    lengths = []
    for phases in itertools.product(range(repeat.length), repeat=len(levels)):
        phase_of = dict(zip(levels, phases, strict=True))
        for order in orders:
            top = 0
            for part in (problem.parts[at] for at in order):
                column = 0 if repeat.width is None else (0 - part.match.x) // repeat.width
                wanted = phase_of[part.match.level] + part.match.y + column * repeat.drop * repeat.length
                top += int((wanted - top) % repeat.length) + part.length
            lengths.append(top)
    return min(lengths)
