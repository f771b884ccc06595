"""Where across the strip the pattern lets parts lie, and which of them can share no row.

The widths joined in a panel share their place in the pattern across the fabric. Where one of them is as wide
as the strip, or nearly, each of the others lies in one of a few columns of the pattern, in each of them
at one place or nearly; and where columns step against one another, the column settles where it begins
along as well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from nesting.packing.bounds.places import MOST_CELLS
from nesting.packing.certificates.room_across import room_of
from nesting.packing.reduce import Core

#: More ways to stand than this are not told apart.
MOST_STANDINGS = 240
#: With more ranges than this they are not cut.
MOST_CUT = 400


@dataclass(frozen=True, slots=True)
class Standing:
    """One way for a part to lie across: in one column of the pattern, or anywhere.

    Attributes
    ----------
    kind
        Its number in the core.
    starts
        Where it may begin along modulo the repeat, its level's phase taken off; none where it is unmatched.
    near, far
        The first and the last place across.
    seam, x, phases
        Its seam group, its place for phase 0 of that, and flags of the phases for which it lies so.
    """

    kind: int
    starts: tuple[int, ...]
    near: int
    far: int
    seam: str | None = None
    x: int = 0
    phases: Any = None

    def places(self, phases: Mapping[str, int]) -> tuple[int, int]:
        """The first and the last place across with these phases of the seam groups."""
        return (self.near, self.far) if self.seam is None else (phases[self.seam] + self.x,) * 2


def few_standings(core: Core, kinds: Sequence[int]) -> bool:
    """Whether the pattern has columns, and the ways to stand are few enough to be told apart."""
    repeat = core.repeat
    if repeat is None or repeat.width is None:
        return False
    columns = len(kinds) * (core.width // repeat.width + 2)
    if columns > MOST_STANDINGS:
        columns = len(standings(core, kinds))
    return columns <= MOST_STANDINGS and columns * repeat.width <= MOST_CELLS


def standings(core: Core, kinds: Sequence[int]) -> list[Standing]:
    """Every way for kinds to stand, those of a kind together."""
    rooms: dict[str, Any] = {}
    return [standing for kind in kinds for standing in _of(core, kind, rooms)]


def can_stand(core: Core, kinds: Sequence[int]) -> bool:
    """Whether each of the kinds has a way to stand; without one there is no layout, and no row of them."""
    return len({way.kind for way in standings(core, kinds)}) == len(kinds)


def _of(core: Core, index: int, rooms: dict[str, Any]) -> Iterator[Standing]:
    kind, repeat = core.kinds[index], core.repeat
    match, (first, last) = kind.match, core.across(kind, kind.least_width)
    if match is None or repeat is None:
        yield Standing(index, (), first, last)
        return
    if repeat.width is None or (match.seam is None and repeat.step == 0):
        yield Standing(index, (match.y % repeat.length,), first, last)
        return
    if match.seam is not None and match.seam not in rooms:
        rooms[match.seam] = room_of(core, match.seam)
    phases = np.arange(repeat.width)
    # Without a seam any phase will do.
    may = np.ones(repeat.width, dtype=np.bool_) if match.seam is None else rooms[match.seam]
    for column in range(-1 - match.x // repeat.width, 1 + (last - match.x) // repeat.width):
        x = match.x + column * repeat.width
        inside = may & (phases + x >= first) & (phases + x <= last)
        if inside.any():
            places = np.nonzero(inside)[0] + x
            start = (match.y + column * repeat.step) % repeat.length
            seam = match.seam, x, inside
            yield Standing(index, (start,), int(places[0]), int(places[-1]), *(seam if match.seam else ()))


def starts_of(core: Core, index: int, rooms: dict[str, Any]) -> tuple[int, ...]:
    """Where a part of the pattern may start modulo the repeat, its level's phase taken off.

    ``rooms`` is what was found out of seam groups so far; empty at first.
    """
    match, repeat = core.kinds[index].match, core.repeat
    assert match is not None
    assert repeat is not None
    if repeat.width is None or repeat.step == 0:
        return (match.y % repeat.length,)
    return tuple(sorted({start for way in _of(core, index, rooms) for start in way.starts}))


def narrowed(core: Core, ways: Sequence[Standing]) -> tuple[list[Standing], list[tuple[int, int]]]:
    """The same, each as far as it is not settled cut into ranges that differ in what may lie beside.

    And which of them to leave out, one after another, each for which other one of the same kind, by their
    numbers: that has the same beside it and more.
    """
    cut = [part for way in ways for part in _cut(core, way, ways)]
    if len(cut) > MOST_CUT:
        return list(ways), []
    separate, dropped = apart(core, cut), list[tuple[int, int]]()
    kept = np.ones(len(cut), dtype=np.bool_)
    for numbers in _numbers(cut).values():
        for a in reversed(numbers):
            others = (b for b in numbers if b != a and kept[b] and cut[a].starts == cut[b].starts)
            instead = next((b for b in others if _as_good(separate, kept, a, b)), None)
            if instead is not None:
                kept[a] = False
                dropped.append((a, instead))
    return cut, dropped


def _as_good(separate: Any, kept: Any, a: int, b: int) -> bool:
    """Whether in every row ``b`` may take the place of ``a``."""
    allowed = ~separate[a]
    allowed[b] |= not separate[a][a]
    allowed[a] = False
    return not (separate[b] & kept & allowed).any()


def _cut(core: Core, way: Standing, ways: Sequence[Standing]) -> Iterator[Standing]:
    width = core.kinds[way.kind].least_width
    others = [each for each in ways if each.seam is None or each.seam != way.seam]
    first = np.array([each.near + core.kinds[each.kind].least_width for each in others], dtype=np.int64)
    last = np.array([each.far - width for each in others], dtype=np.int64)
    points = np.unique(np.concatenate([[way.near], first, last + 1]))
    points = points[(way.near <= points) & (points <= way.far)]
    beside = (first <= points[:, None]) | (points[:, None] <= last)
    differs = np.append(True, (beside[1:] != beside[:-1]).any(1))
    begins = points[differs].tolist()
    for near, following in zip(begins, [*begins[1:], way.far + 1], strict=True):
        yield _within(way, near, following - 1)


def _within(way: Standing, near: int, far: int) -> Standing:
    """A range of it."""
    if way.seam is None:
        return replace(way, near=near, far=far)
    places = np.arange(len(way.phases)) + way.x
    return replace(way, near=near, far=far, phases=way.phases & (near <= places) & (places <= far))


def as_any(all_of_one: Sequence[Standing]) -> Standing:
    """The ways of one kind to stand as one."""
    starts = {start for standing in all_of_one for start in standing.starts}
    near, far = min(each.near for each in all_of_one), max(each.far for each in all_of_one)
    return Standing(all_of_one[0].kind, tuple(sorted(starts)), near, far)


def apart(core: Core, ways: Sequence[Standing]) -> Any:
    """Flags of each two ways to stand that can share no row; of a way with itself, for two copies."""
    width = np.array([core.kinds[way.kind].least_width for way in ways], dtype=np.int64)
    near, far = (np.array(ends) for ends in zip(*((way.near, way.far) for way in ways), strict=True))
    before = (near + width)[:, None] <= far
    beside = before | before.T
    seams: dict[str, list[int]] = {}
    for number, way in enumerate(ways):
        if way.seam is not None:
            seams.setdefault(way.seam, []).append(number)
    for numbers in seams.values():
        # Of one seam they move together, so they are clear of one another or not, whatever its phase.
        x = np.array([ways[number].x for number in numbers])
        # Counted in floats for speed: a sum of ones is above 0 exactly where there is one.
        phases = np.array([ways[number].phases for number in numbers], dtype=np.float32)
        before = (x + width[numbers])[:, None] <= x
        beside[np.ix_(numbers, numbers)] = (before | before.T) & (phases @ phases.T > 0)
    return ~beside


def strangers(ways: Sequence[Standing], separate: Any) -> Any:
    """Flags of each two kinds of which no two ways to stand can share a row, in the order of the ways."""
    kinds = np.array([way.kind for way in ways])
    firsts = np.nonzero(np.append(True, kinds[1:] != kinds[:-1]))[0]
    return np.logical_and.reduceat(np.logical_and.reduceat(separate, firsts, 0), firsts, 1)


def alike(core: Core, ways: Sequence[Standing], separate: Any) -> list[list[int]]:
    """Kinds that any search of rows may exchange for one another, together.

    ``separate`` are flags as `apart` gives them.
    """
    of = _numbers(ways)
    groups = list[list[int]]()
    for kind, numbers in of.items():
        for group in groups:
            first = of[group[0]]
            if _same_part(core, group[0], kind) and _same_rows(ways, separate, first, numbers):
                group.append(kind)
                break
        else:
            groups.append([kind])
    return groups


def _numbers(ways: Sequence[Standing]) -> dict[int, list[int]]:
    """Of each kind, where its ways are."""
    of: dict[int, list[int]] = {}
    for number, way in enumerate(ways):
        of.setdefault(way.kind, []).append(number)
    return of


def _same_part(core: Core, one: int, other: int) -> bool:
    kind, like = core.kinds[one], core.kinds[other]
    levels = [None if each.match is None else each.match.level for each in (kind, like)]
    return kind.ways[0][:2] == like.ways[0][:2] and levels[0] == levels[1]


def _same_rows(ways: Sequence[Standing], separate: Any, some: list[int], others: list[int]) -> bool:
    """Whether ways begin alike, and the same may lie beside them."""
    if [ways[a].starts for a in some] != [ways[a].starts for a in others]:
        return False
    rest = np.ones(len(ways), dtype=np.bool_)
    rest[some + others] = False
    return bool((separate[some][:, rest] == separate[others][:, rest]).all())


def as_one(
    core: Core, ways: Sequence[Standing], separate: Any, groups: Sequence[Sequence[int]]
) -> tuple[list[Standing], Any]:
    """The ways of the first kind of each group, and which share no row, whichever of the group they are."""
    of = _numbers(ways)
    kept = [number for group in groups for number in of[group[0]]]
    found = separate[np.ix_(kept, kept)].copy()
    at = 0
    for group in groups:
        end = at + len(of[group[0]])
        pairs = [(a, b) for a in group for b in group if a != b or core.kinds[a].copies > 1]
        if pairs:
            inner = [separate[np.ix_(of[a], of[b])] for a, b in pairs]
            found[at:end, at:end] = np.logical_and.reduce(inner)
        at = end
    return [ways[number] for number in kept], found
