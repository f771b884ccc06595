"""The heaviest set of parts that share one row, worked out exactly: side by side, or at places allowed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

import numpy as np
import numpy.typing as npt

from nesting.packing.problem import Problem

#: Knapsacks over more units than this are not done again.
WIDEST = 5_000_000
#: Rows of more steps than this are not gone along again.
MOST_PLACES = 200_000
#: Up to this many copies that may turn are counted one by one.
SINGLY = 64


@dataclass(frozen=True, slots=True)
class WeighedSlices:
    """One part, one way: ``size`` takes room, ``count`` slices of ``weight`` each, of ``copies`` parts."""

    part: int
    size: int
    count: int
    weight: int
    copies: int


def heaviest_of(bars: Iterable[WeighedSlices], capacity: int) -> int:
    """The largest weight that fits; 0 where nothing weighs anything or it cannot be worked out."""
    by_part: dict[int, list[WeighedSlices]] = {}
    for bar in bars:
        if bar.weight:
            by_part.setdefault(bar.part, []).append(bar)
    return _heaviest(capacity, list(by_part.values()))


def heaviest_in_place(problem: Problem, bars: Sequence[WeighedSlices], step: int) -> int:
    """The largest weight side by side in one row at places allowed, each bar as often as it has room."""
    strip = problem.strips[0]
    width = strip.width // step
    if width > MOST_PLACES:
        return 0
    best = [0] * (width + 1)
    starts = [(bar.size // step, bar.weight, _places(problem, bar, step)) for bar in bars if bar.weight]
    for end in range(1, width + 1):
        best[end] = best[end - 1]
        for size, weight, allowed in starts:
            at = end - size
            if at >= 0 and (allowed is None or at in allowed):
                best[end] = max(best[end], best[at] + weight)
    return best[width]


def _places(problem: Problem, bar: WeighedSlices, step: int) -> frozenset[int] | None:
    """Where a part may begin, a width of a panel so that all of its group have room; None: anywhere."""
    strip, part = problem.strips[0], problem.parts[bar.part]
    (left, right), match = part.clear, part.match
    last = strip.width - right - bar.size
    if match is None or match.seam is None or strip.repeat is None or strip.repeat.width is None:
        return frozenset(range(left // step, last // step + 1)) if left or right else None
    column = strip.repeat.width
    group = [part for part in problem.parts if part.match is not None and part.match.seam == match.seam]
    phases = [
        phase
        for phase in range(0, column, step)
        if all(
            part.match is None
            or part.clear[0] + (phase + part.match.x - part.clear[0]) % column
            <= strip.width - part.clear[1] - part.width
            for part in group
        )
    ]
    first = {(phase + match.x) % column for phase in phases}
    return frozenset(
        x // step for start in first for x in range(start, last + 1, column) if x % step == 0 and x >= left
    )


def _heaviest(capacity: int, parts: Sequence[Sequence[WeighedSlices]]) -> int:
    """The largest weight that fits, each copy in one of its ways; 0 where it cannot be worked out."""
    every = [bar for ways in parts for bar in ways]
    unit = math.gcd(*(bar.size for bar in every)) if every else 1
    room = capacity // unit
    if room > WIDEST or sum(bar.weight * bar.copies for bar in every) >= 2**62:
        return 0
    best = np.zeros(room + 1, dtype=np.int64)
    for ways in parts:
        if len(ways) > 1 and ways[0].copies <= SINGLY:
            for _ in range(ways[0].copies):
                best = np.maximum.reduce([best, *(_with(best, bar.size // unit, bar.weight) for bar in ways)])
            continue
        # Copies in blocks of 1, 2, 4, ...: every number of them is a sum of blocks. With two ways and many
        # copies each way is counted for itself, which can only weigh more and prove less.
        for bar in ways:
            left, block = min(bar.copies, capacity // bar.size), 1
            while left > 0:
                taken = min(block, left)
                best = np.maximum(best, _with(best, taken * (bar.size // unit), taken * bar.weight))
                left, block = left - taken, block * 2
    return int(best[room])


def _with(best: npt.NDArray[np.int64], size: int, weight: int) -> npt.NDArray[np.int64]:
    """The best weights with one more item of that size."""
    more = np.zeros_like(best)
    if size < len(best):
        more[size:] = best[: len(best) - size] + weight
    return more
