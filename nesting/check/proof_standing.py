"""Where across the strip the pattern lets parts lie, for a proof: ranges of places, and which are apart.

The widths joined in a panel (a *seam group*) share their place in the pattern across the fabric. So of two
that belong together it is known how far apart they lie, column by column; and where the pattern steps from
column to column, a column also tells where a part begins along. A proof names ranges of places for parts.
Together they must be all the places a part has. Two ranges are *apart* where no part in the one can share a
row with a part in the other, whatever their places.

A range may be left out for another of the same part in which it may begin alike, and to which nothing is
apart that is not apart to the first: whoever lies in the first may be taken to lie in the other. Nothing is
said of places from then on, only of what shares rows.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass

from nesting.packing.problem import Part, Problem

#: Patterns of more columns times steps than this are not gone along again.
MOST_STEPS = 40_000_000


@dataclass(frozen=True, slots=True)
class PatternSteps:
    """A pattern in steps: its length, its width (None: not known), how far it rises a column."""

    length: int
    width: int | None
    rise: int


@dataclass(frozen=True, slots=True)
class KeptPart:
    """A part of which a proof speaks, and those equal to it, in steps.

    Attributes
    ----------
    numbers
        Of the equal parts in the problem.
    copies
        Of all of them.
    first, last
        Its places by the strip and its margins alone.
    level, seam, x, y
        Its place in the pattern, of its first column and repeat; level None: it has none.
    """

    numbers: tuple[int, ...]
    copies: int
    wide: int
    long: int
    first: int
    last: int
    level: str | None = None
    seam: str | None = None
    x: int = 0
    y: int = 0


@dataclass(frozen=True, slots=True)
class PlaceRange:
    """Places of one part: which of those kept, and from where to where."""

    part: int
    near: int
    far: int


def pattern_of(problem: Problem, across: int, along: int) -> PatternSteps | None:
    """The pattern of the strip, where it has one."""
    repeat = problem.strips[0].repeat
    if repeat is None:
        return None
    width = None if repeat.width is None else repeat.width // across
    return PatternSteps(repeat.length // along, width, int(repeat.drop * repeat.length) // along)


def place_of(part: Part, pattern: PatternSteps | None, across: int, along: int) -> tuple[int, int]:
    """Its place in the pattern, moved into the first column and the first repeat, in steps."""
    if part.match is None or pattern is None:
        return 0, 0
    x, y = part.match.x // across, part.match.y // along
    if pattern.width is None:
        return 0, y % pattern.length
    return x % pattern.width, (y - x // pattern.width * pattern.rise) % pattern.length


class PlacesAcross:
    """Where parts may lie, by the pattern.

    Parameters
    ----------
    problem
        Its seam groups tell which phases of the pattern across leave room for all of a group.
    parts
        Those of which a proof speaks.
    across, along
        What a step is.
    """

    def __init__(self, problem: Problem, parts: Sequence[KeptPart], across: int, along: int) -> None:
        self._parts, self._pattern = parts, pattern_of(problem, across, along)
        self._rooms = {part.seam: 0 for part in parts if part.seam is not None}
        self._known: dict[PlaceRange, int] = {}
        #: Whether the pattern is coarse enough to be gone along.
        self.within_reach = self._steps(problem, across) <= MOST_STEPS
        if not self.within_reach:
            return
        for seam in self._rooms:
            self._rooms[seam] = self._room(problem, seam, across, along)

    def _steps(self, problem: Problem, across: int) -> int:
        """How many columns all parts have together, times how wide one is."""
        width = None if self._pattern is None else self._pattern.width
        if width is None:
            return 0
        columns = problem.strips[0].width // across // width + 2
        return columns * width * (len(self._parts) + len(self._rooms))

    def in_columns(self, part: KeptPart) -> bool:
        """Whether the column in which a part lies tells anything of it."""
        pattern = self._pattern
        if part.level is None or pattern is None or pattern.width is None:
            return False
        return part.seam is not None or pattern.rise % pattern.length != 0

    def starts(self, part: KeptPart) -> tuple[int, ...]:
        """Where a part may begin along modulo the repeat, but for its level's phase; none: anywhere."""
        if part.level is None:
            return ()
        return tuple(sorted({self._start(part, column) for column, *_ in self._ranges(part)}))

    def start_in(self, part: KeptPart, near: int) -> tuple[int, ...]:
        """The same, for the column of one place."""
        return () if part.level is None else (self._start(part, self._column(part, near)),)

    def covered(self, number: int, ranges: Iterable[PlaceRange]) -> bool:
        """Whether ranges of a part are all the places that it has, each of them in one column."""
        part, mine = self._parts[number], [each for each in ranges if each.part == number]
        if any(self._column(part, each.near) != self._column(part, each.far) for each in mine):
            return False
        return all(
            self._phases_covered(part, column, near, far, mine)
            if part.seam is not None and self.in_columns(part)
            else _spanned(near, far, mine)
            for column, near, far in self._ranges(part)
        )

    def apart(self, one: PlaceRange, other: PlaceRange) -> bool:
        """Whether a part in the one range can share no row with a part in the other."""
        a, b = self._parts[one.part], self._parts[other.part]
        if a.seam is not None and a.seam == b.seam and self.in_columns(a):
            here, there = (each.x + self._offset(each, way.near) for each, way in ((a, one), (b, other)))
            beside = here + a.wide <= there or there + b.wide <= here
            return not (beside and self._phases(a, one) & self._phases(b, other))
        return not (one.near + a.wide <= other.far or other.near + b.wide <= one.far)

    def _column(self, part: KeptPart, place: int) -> int:
        if not self.in_columns(part) or self._pattern is None or self._pattern.width is None:
            return 0
        return (place - part.x) // self._pattern.width

    def _offset(self, part: KeptPart, place: int) -> int:
        assert self._pattern is not None
        return self._column(part, place) * (self._pattern.width or 0)

    def _start(self, part: KeptPart, column: int) -> int:
        assert self._pattern is not None
        return (part.y + column * self._pattern.rise) % self._pattern.length

    def _columns(self, part: KeptPart) -> Iterator[tuple[int, int, int]]:
        """Columns in which a part has places by the strip alone, and from where to where."""
        if not self.in_columns(part):
            if part.first <= part.last:
                yield 0, part.first, part.last
            return
        assert self._pattern is not None
        assert self._pattern.width is not None
        width = self._pattern.width
        for column in range((part.first - part.x) // width, (part.last - part.x) // width + 1):
            near = max(part.first, part.x + column * width)
            far = min(part.last, part.x + column * width + width - 1)
            if near <= far:
                yield column, near, far

    def _ranges(self, part: KeptPart) -> Iterator[tuple[int, int, int]]:
        """The same with room for all of its seam group."""
        for column, near, far in self._columns(part):
            if part.seam is None or not self.in_columns(part) or self._bits(part, column, near, far):
                yield column, near, far

    def _bits(self, part: KeptPart, column: int, near: int, far: int) -> int:
        """A bit for each phase of its seam group for which a part lies in that range of the column."""
        assert part.seam is not None
        assert self._pattern is not None
        origin = part.x + column * (self._pattern.width or 0)
        return self._rooms[part.seam] & _bits_from(near - origin, far - origin)

    def _phases(self, part: KeptPart, way: PlaceRange) -> int:
        if way not in self._known:
            self._known[way] = self._bits(part, self._column(part, way.near), way.near, way.far)
        return self._known[way]

    def _phases_covered(
        self, part: KeptPart, column: int, near: int, far: int, mine: Sequence[PlaceRange]
    ) -> bool:
        found = 0
        for way in mine:
            if self._column(part, way.near) == column:
                found |= self._phases(part, way)
        return not self._bits(part, column, near, far) & ~found

    def _room(self, problem: Problem, seam: str, across: int, along: int) -> int:
        """A bit for each phase across that leaves room for every width of a seam group."""
        pattern, width = self._pattern, problem.strips[0].width
        if pattern is None or pattern.width is None:
            return 1
        room = _bits_from(0, pattern.width - 1)
        for part in problem.parts:
            if part.match is not None and part.match.seam == seam:
                x, _ = place_of(part, pattern, across, along)
                first, last = part.clear[0] // across, (width - part.clear[1] - part.width) // across
                phases = 0
                for column in range((first - x) // pattern.width, (last - x) // pattern.width + 1):
                    origin = x + column * pattern.width
                    phases |= _bits_from(max(first - origin, 0), min(last - origin, pattern.width - 1))
                room &= phases
        return room


def _bits_from(low: int, high: int) -> int:
    """A bit for each number from ``low`` to ``high``."""
    return (1 << high + 1) - (1 << low) if 0 <= low <= high else 0


def _spanned(near: int, far: int, ranges: Sequence[PlaceRange]) -> bool:
    """Whether ranges leave no place out from ``near`` to ``far``."""
    for way in sorted(ranges, key=lambda way: way.near):
        if way.near > near:
            return False
        near = max(near, way.far + 1)
        if near > far:
            return True
    return near > far


def without_dropped(
    starts: Sequence[tuple[int, ...]],
    ranges: Sequence[PlaceRange],
    dropped: Iterable[tuple[int, int]],
    apart: Mapping[tuple[int, int], bool],
) -> set[int] | None:
    """The numbers of the ranges left when, one after another, each first gives way to its second.

    None where one may not.
    """
    left = set(range(len(ranges)))
    for gone, instead in dropped:
        if gone == instead or not {gone, instead} <= left or ranges[gone].part != ranges[instead].part:
            return None
        if starts[gone] != starts[instead]:
            return None
        for other in left - {gone}:
            beside = not apart[gone, other] or (other == instead and not apart[gone, gone])
            if beside and apart[instead, other]:
                return None
        left.remove(gone)
    return left
