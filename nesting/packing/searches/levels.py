"""Levels cut right across the strip, for many copies of few kinds: most of the order by a linear program.

A *level* runs across the whole strip. It is filled with *columns* side by side; a column is a stack of
*courses*, and a course is copies of one kind beside each other, no wider than the column. Which levels, and
how many of each, is a linear program whose size depends on the number of kinds and not on that of copies.
Long levels lose least: a stack's length comes the nearer to the level's the more courses it has.

The program's value bounds layouts in levels only, so it is not a bound on the problem.

References
----------
Gilmore, Gomory, Operations Research 13 (1965) 94-120 (levels by column generation, stacks and rows priced by
knapsacks).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import numpy.typing as npt

from nesting.packing.certificates.knapsack import lots
from nesting.packing.models.glop import linear_program, solved
from nesting.packing.reduce import Core, Spot

if TYPE_CHECKING:
    from ortools.linear_solver import pywraplp

#: A level is worth adding when its parts are priced this much above its length.
GAIN = 1e-6
#: So many lengths are priced exactly in one go, fewer on strips of more steps.
MOST_LENGTHS, MOST_CELLS = 64, 200_000
#: So many levels are added in one go.
MOST_ADDED = 8
#: Units of work of one cell of one knapsack.
WORK_PER_CELL = 4e-9


@dataclass(frozen=True, slots=True)
class LevelWay:
    """One way a kind may lie."""

    kind: int
    turned: bool
    width: int
    length: int


@dataclass(frozen=True, slots=True)
class Course:
    """``beside`` copies of one kind side by side, ``times`` one above the other."""

    way: LevelWay
    beside: int
    times: int


@dataclass(frozen=True, slots=True)
class LevelColumn:
    """Courses stacked, none wider than the column."""

    width: int
    courses: tuple[Course, ...]


@dataclass(frozen=True, slots=True)
class Level:
    """Columns side by side, none longer than the level."""

    length: int
    columns: tuple[LevelColumn, ...]

    def counts(self) -> Counter[int]:
        """How many copies of each kind it holds."""
        held = Counter[int]()
        for column in self.columns:
            for course in column.courses:
                held[course.way.kind] += course.beside * course.times
        return held

    def spots(self, base: int, left: Counter[int]) -> Iterator[Spot]:
        """Its parts from ``base`` up, as long as copies are ``left``, which are counted down."""
        x = 0
        for column in self.columns:
            y = base
            for course in column.courses:
                way = course.way
                for _ in range(course.times):
                    for at in range(course.beside):
                        if left[way.kind] > 0:
                            left[way.kind] -= 1
                            yield Spot(way.kind, x + at * way.width, y, way.turned)
                    y += way.length
            x += column.width


Table = npt.NDArray[np.float64]


@dataclass(slots=True)
class _Stacks:
    """The most valuable stack in a column of one width, for every length."""

    width: int
    value: Table
    steps: list[tuple[LevelWay, int, int, npt.NDArray[np.bool_]]]

    def column(self, room: int) -> LevelColumn:
        """The most valuable one at most ``room`` long."""
        times = Counter[tuple[LevelWay, int]]()
        for way, beside, block, took in reversed(self.steps):
            if took[room]:
                times[way, beside] += block
                room -= way.length * block
        # Widest first: what is left above a stack is then as wide as it can be.
        stacked = sorted(
            times.items(), key=lambda entry: (-entry[0][0].width * entry[0][1], entry[0][0].kind)
        )
        return LevelColumn(self.width, tuple(Course(way, beside, many) for (way, beside), many in stacked))


class LevelPricing:
    """The levels worth most for what each kind is worth.

    Parameters
    ----------
    core
        Plain fabric, all arrow groups decided.
    longest
        No level is longer, in steps.
    """

    def __init__(self, core: Core, longest: int) -> None:
        self._core, self._longest = core, longest
        self._ways = [
            LevelWay(index, turned, width, length)
            for index, kind in enumerate(core.kinds)
            for width, length, turned in kind.ways
        ]
        self._widths = sorted({way.width for way in self._ways})
        self._most_lengths = max(1, min(MOST_LENGTHS, MOST_CELLS // core.width))

    def work(self, longest: int) -> float:
        """Units of work of pricing once, with levels up to ``longest``."""
        stacks = len(self._widths) * len(self._ways) * longest
        across = len(self._widths) * self._most_lengths * self._core.width
        return WORK_PER_CELL * (stacks + 3 * across)

    def alone(self) -> list[Level]:
        """For each way to lie the level that holds nothing else: a start that can be laid."""
        levels = []
        for way in self._ways:
            beside = min(self._core.width // way.width, self._core.kinds[way.kind].copies)
            levels.append(Level(way.length, (LevelColumn(way.width, (Course(way, 1, 1),)),) * beside))
        return levels

    def best(self, prices: Sequence[float], longest: int) -> list[Level]:
        """Levels of several lengths whose parts are priced above their length, best first.

        Parameters
        ----------
        prices
            Of one copy of each kind, in steps of length.
        longest
            Of a level, at most what the pricing was made for.
        """
        stacks = [self._stacks(width, prices, longest) for width in self._widths]
        values = np.array([stack.value for stack in stacks])
        widths = np.array(self._widths, dtype=np.float64)[:, None]
        lengths = np.arange(longest + 1)
        # As if columns could be cut to fill the width: never below the true value of a level.
        most = self._core.width * (values / widths).max(axis=0)
        fresh = np.zeros(len(lengths), dtype=np.bool_)
        fresh[1:] = (values[:, 1:] > values[:, :-1]).any(axis=0)
        open_lengths = np.flatnonzero(fresh & (most > (1 + GAIN) * lengths))
        if not len(open_lengths):
            return []
        ranked = np.argsort(-(most[open_lengths] / open_lengths), kind="stable")
        chosen = open_lengths[ranked[: self._most_lengths]]
        worth, columns = self._across(values[:, chosen])
        ratio = worth / chosen
        levels = []
        for at in np.argsort(-ratio, kind="stable")[:MOST_ADDED]:
            if ratio[at] <= 1 + GAIN:
                break
            length = int(chosen[at])
            side_by_side = [
                stacks[index].column(length) for index, many in columns(int(at)) for _ in range(many)
            ]
            levels.append(Level(length, tuple(side_by_side)))
        return levels

    def _stacks(self, width: int, prices: Sequence[float], longest: int) -> _Stacks:
        """A bounded knapsack along the strip, for all lengths at once; no stack holds more than there is."""
        best = np.zeros(longest + 1)
        steps = []
        for way in self._ways:
            copies = self._core.kinds[way.kind].copies
            if way.width > width or prices[way.kind] <= 0:
                continue
            beside = min(width // way.width, copies)
            for block in lots(min(copies // beside, longest // way.length)):
                taken, value = way.length * block, prices[way.kind] * beside * block
                took = np.zeros(longest + 1, dtype=np.bool_)
                tried = best[:-taken] + value
                took[taken:] = tried > best[taken:]
                best[taken:] = np.maximum(best[taken:], tried)
                steps.append((way, beside, block, took))
        return _Stacks(width, best, steps)

    def _across(self, values: Table) -> tuple[Table, Callable[[int], Iterator[tuple[int, int]]]]:
        """A knapsack across the strip for each length.

        Parameters
        ----------
        values
            Of a column of each width at each length, shape ``(widths, lengths)``.

        Returns
        -------
        tuple
            The value of each length's best level; and a function from a length's number to
            ``(width's number, columns)``.
        """
        width = self._core.width
        best = np.zeros((values.shape[1], width + 1))
        steps = []
        for index, wide in enumerate(self._widths):
            for block in lots(width // wide):
                taken = wide * block
                took = np.zeros(best.shape, dtype=np.bool_)
                tried = best[:, :-taken] + block * values[index][:, None]
                took[:, taken:] = tried > best[:, taken:]
                best[:, taken:] = np.maximum(best[:, taken:], tried)
                steps.append((index, block, took))

        def columns(at: int) -> Iterator[tuple[int, int]]:
            room = width
            for index, block, took in reversed(steps):
                if took[at, room]:
                    room -= self._widths[index] * block
                    yield index, block

        return best[:, width], columns


class LevelProgram:
    """The linear program: how many of each level hold all copies in the least length."""

    def __init__(self, levels: Sequence[Level], copies: Sequence[int]) -> None:
        self._solver = linear_program()
        self._rows = [self._solver.Constraint(many, self._solver.infinity()) for many in copies]
        self._solver.Objective().SetMinimization()
        self._amounts: dict[Level, pywraplp.Variable] = {}
        for level in levels:
            self._add(level)
        self._solver.Solve()

    def _add(self, level: Level) -> bool:
        if level in self._amounts:
            return False
        amount = self._solver.NumVar(0, self._solver.infinity(), "")
        self._solver.Objective().SetCoefficient(amount, level.length)
        for kind, many in level.counts().items():
            self._rows[kind].SetCoefficient(amount, many)
        self._amounts[level] = amount
        return True

    @property
    def length(self) -> float:
        """The least length, as a fraction."""
        return float(self._solver.Objective().Value())

    def prices(self) -> list[float]:
        """What one copy of each kind is worth, in steps of length."""
        return [max(0.0, row.dual_value()) for row in self._rows]

    @property
    def levels(self) -> tuple[Level, ...]:
        """All that may be used."""
        return tuple(self._amounts)

    def amounts(self) -> list[tuple[Level, float]]:
        """How many of each level are used."""
        used = ((level, amount.solution_value()) for level, amount in self._amounts.items())
        return [(level, amount) for level, amount in used if amount > 1e-9]

    def grow(self, levels: Sequence[Level]) -> bool:
        """Solve again with more levels; False when none is new."""
        new = [self._add(level) for level in levels]
        return any(new) and self.solve()

    def solve(self) -> bool:
        """Whether it could be solved, which it always should."""
        return solved(self._solver)
