"""What every proof stands on: which problems it may speak of, how parts may lie, steps and lone rows."""

from __future__ import annotations

import heapq
import math
import operator
from collections.abc import Collection, Sequence

from nesting.packing.problem import Part, Problem

Sizes = tuple[int, int]
"""Across and along, as laid."""
AnyWay = Sequence[Sequence[tuple[int, int, bool]]]
"""``(across, along, turned)`` of every way each part may lie."""


def whole_number(number: object) -> int:
    """A whole number as Python has it; a yes or no is none.

    Raises
    ------
    TypeError
        It is no whole number.
    """
    if isinstance(number, bool):
        raise TypeError(f"{number}: expected a whole number")
    return operator.index(number)  # type: ignore[arg-type]


def within_premises(problem: Problem) -> bool:
    """One open strip, every part laid, and a pattern under every part that is matched."""
    bound_to_it = any(part.match is not None for part in problem.parts)
    printed = problem.strips[0].repeat is not None
    return problem.plain_purchase and not problem.choices and (printed or not bound_to_it)


def width_left(problem: Problem, rest: Sequence[int]) -> int:
    """What of the strip's width is left by the margins that all these parts keep."""
    clear = [problem.parts[index].clear for index in rest] or [(0, 0)]
    return problem.strips[0].width - min(left for left, _ in clear) - min(right for _, right in clear)


def ways_of(problem: Problem) -> list[list[tuple[int, int, bool]]]:
    """``(across, along, turned)`` of every way each part may lie, its arrow group considered."""
    width = problem.strips[0].width
    ways = [
        [way for way in _any_way(part) if way[0] + sum(part.clear) <= width and (part.turnable or not way[2])]
        for part in problem.parts
    ]
    open_to = dict[str, set[bool]]()
    for part, each in zip(problem.parts, ways, strict=True):
        if part.arrow is not None:
            open_to.setdefault(part.arrow, {False, True}).intersection_update(turned for _, _, turned in each)
    ways = [
        each if part.arrow is None else [way for way in each if way[2] in open_to[part.arrow]]
        for part, each in zip(problem.parts, ways, strict=True)
    ]
    # A square lies the same either way.
    return [each[:1] if len({way[:2] for way in each}) == 1 else each for each in ways]


def _any_way(part: Part) -> list[tuple[int, int, bool]]:
    return [(part.width, part.length, False), (part.length, part.width, True)]


def steps_of(problem: Problem, ways: Sequence[Sequence[tuple[int, int, bool]]]) -> Sizes:
    """The common divisors across and along: every layout can be moved onto their multiples, never longer."""
    strip = problem.strips[0]
    across = [width for each in ways for width, _, _ in each]
    along = [length for each in ways for _, length, _ in each]
    for part in problem.parts:
        across.append(part.clear[0])
        if part.match is not None:
            across.append(part.match.x)
            along.append(part.match.y)
    for flaw in strip.flaws:
        across += [flaw.x, flaw.width]
        along += [flaw.y, flaw.length]
    if strip.repeat is not None:
        across.append(strip.repeat.width or 0)
        along += [strip.repeat.length, int(strip.repeat.drop * strip.repeat.length)]
    along.append(strip.start or 0)
    if any(len(each) > 1 for each in ways):
        both = math.gcd(*across, *along) or 1
        return both, both
    return math.gcd(*across) or 1, math.gcd(*along) or 1


def length_alone(
    problem: Problem, ways: Sequence[Sequence[tuple[int, int, bool]]], lone: Sequence[int]
) -> int | None:
    """What the lone parts take one after another; None unless each has its rows to itself."""
    strip = problem.strips[0]
    if lone and (strip.flaws or any(part.match for part in problem.parts)):
        return None
    # Of what may stand to its right, and to its left, only the narrowest with its margin can tell.
    least = [min((width for width, _, _ in each), default=0) for each in ways]
    narrow = [
        [
            (own + part.clear[side], index)
            for index, (own, part) in enumerate(zip(least, problem.parts, strict=True))
        ]
        for side in (1, 0)
    ]
    for heap in narrow:
        heapq.heapify(heap)
    gone, total = set[int](), 0
    for index in lone:
        if index in gone or len(ways[index]) != 1:
            return None
        width, length, _ = ways[index][0]
        part = problem.parts[index]
        for heap, margin in zip(narrow, part.clear, strict=True):
            beside = _narrowest(heap, gone, index if part.copies == 1 else None)
            if beside is not None and margin + width + beside <= strip.width:
                return None
        gone.add(index)
        copies = part.copies
        total += length * copies
    return total


def _narrowest(narrow: list[tuple[int, int]], gone: Collection[int], but: int | None) -> int | None:
    """The least width on a heap of ``(width, index)`` but for that index; what is gone leaves the heap."""
    aside = None
    while narrow and (narrow[0][1] in gone or narrow[0][1] == but):
        top = heapq.heappop(narrow)
        aside = top if top[1] == but else aside
    least = narrow[0][0] if narrow else None
    if aside is not None:
        heapq.heappush(narrow, aside)
    return least
