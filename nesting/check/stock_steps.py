"""A problem with lengths on hand in the check's own steps: how parts may lie, and stretches between flaws.

Steps are the common divisors of sizes, places, flaws and repeats: each copy can be moved to the multiple at
or below its place, and a layout stays one, cut into no further.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.packing.problem import Flaw, Problem, Strip


class UnfoundedError(Exception):
    """What is said does not follow, or speaks of what this does not understand."""


def require(holds: bool) -> None:
    """Nothing is believed that does not hold."""
    if not holds:
        raise UnfoundedError


@dataclass(frozen=True, slots=True)
class BetweenFlaws:
    """What lies between two flaws across the whole width, in steps.

    Attributes
    ----------
    strip
        Its number.
    begin, length
        Where it begins along the strip, and how long it is.
    flaws
        Those in it, from its own beginning, no two of them over one another.
    """

    strip: int
    begin: int
    length: int
    flaws: tuple[Flaw, ...]

    def free(self, width: int, end: int) -> int:
        """The area without flaws up to an end."""
        spoiled = sum(flaw.width * max(0, min(flaw.length, end - flaw.y)) for flaw in self.flaws)
        return width * end - spoiled


def flaws_of(strip: Strip, across: int, along: int) -> list[Flaw]:
    """What of the flaws lies on a strip, in steps, none over another: slabs along, runs across."""
    width = strip.width // across
    boxes = [
        (
            max(0, flaw.x // across),
            min(width, (flaw.x + flaw.width) // across),
            max(0, flaw.y // along),
            (flaw.y + flaw.length) // along,
        )
        for flaw in strip.flaws
    ]
    boxes = [box for box in boxes if box[0] < box[1] and box[2] < box[3]]
    edges = sorted({edge for box in boxes for edge in box[2:]})
    found = list[Flaw]()
    for low, high in itertools.pairwise(edges):
        runs = sorted((box[0], box[1]) for box in boxes if box[2] <= low and high <= box[3])
        begin, end = 0, 0
        for left, right in [*runs, (width + 1, width + 1)]:
            if left > end:
                if end > begin:
                    found.append(Flaw(begin, low, end - begin, high - low))
                begin = left
            end = max(end, right)
    return found


def stretches_of(strip: Strip, at: int, end: int, across: int, along: int) -> Iterator[BetweenFlaws]:
    """What lies between the flaws across a strip up to an end, in steps; ``at`` is its number."""
    flaws, begin = flaws_of(strip, across, along), 0
    whole = sorted((f for f in flaws if f.width == strip.width // across), key=lambda f: f.y)
    for low, high in [*((f.y, f.y + f.length) for f in whole), (end, end)]:
        stop = min(low, end)
        if stop > begin:
            inside = [
                replace(f, y=f.y - begin, length=min(f.y + f.length, stop) - f.y)
                for f in flaws
                if begin <= f.y < stop
            ]
            yield BetweenFlaws(at, begin, stop - begin, tuple(inside))
        begin = max(begin, high)


def options_of(problem: Problem) -> dict[int, tuple[int, tuple[int, ...]]]:
    """By part: the choice that names it, and its options that do; a part of two choices is refused."""
    found: dict[int, tuple[int, tuple[int, ...]]] = {}
    for at, choice in enumerate(problem.choices):
        for part in sorted({part for option in choice.options for part in option}):
            require(part not in found and part in range(len(problem.parts)))
            found[part] = at, tuple(o for o, option in enumerate(choice.options) if part in option)
    return found


def ways_of(problem: Problem, options: Mapping[int, object]) -> list[tuple[bool, ...]]:
    """Upright and turned, as far as what must be laid of its arrow group allows."""
    upright = {
        part.arrow
        for index, part in enumerate(problem.parts)
        if not part.turnable and part.value is None and index not in options
    }
    return [
        (False, True)
        if part.turnable and (part.width != part.length if part.arrow is None else part.arrow not in upright)
        else (False,)
        for part in problem.parts
    ]


def steps_of(problem: Problem, ways: Sequence[Sequence[bool]]) -> tuple[int, int]:
    """The common divisors across and along; one and the same where a part may turn."""
    across, along = list[int](), list[int]()
    for part, each in zip(problem.parts, ways, strict=True):
        for turned in each:
            wide, long = part.size(turned)
            across.append(wide)
            along.append(long)
        across += part.clear
        if part.match is not None:
            across.append(part.match.x)
            along.append(part.match.y)
    for strip in problem.strips:
        for flaw in strip.flaws:
            across += [flaw.x, flaw.width]
            along += [flaw.y, flaw.length]
        if strip.repeat is not None:
            across.append(strip.repeat.width or 0)
            along += [strip.repeat.length, strip.repeat.step]
        along.append(strip.start or 0)
    if any(len(each) > 1 for each in ways):
        both = math.gcd(*across, *along) or 1
        return both, both
    return math.gcd(*across) or 1, math.gcd(*along) or 1
