"""Re-proves that parts have no rows within a length, from the log of a search, with nothing of the search.

A certificate of the rule ``rows in one piece`` names some of the parts (``kinds``: equal ones together).
Whatever a layout does, these alone still lie in it, each in rows that follow one another. Flaws and all
other parts are forgotten, so what is refuted has no layout with them either. ``groups`` are parts that count
as one: they are of one size and level, and the ways to stand of a group are apart only where those of all
its parts are. The ways to stand are ranges of places across (`nesting.check.proof_standing`).

Under a pattern each level group has a phase. Push every level group as a whole, and every part that is not
matched, toward the squared end until nothing moves, not even several together. Then each group rests, through
a pile of parts that are not matched or none, on a part of a group that rests likewise, or on the squared end:
or all that does not so rest could be moved together. So the groups are settled one after another, each where
a pile on a part of those settled ends; ``cases`` are such phases. A case has a log by which its parts have no
rows (parts of a group not settled may begin anywhere), or every phase of one more group is a case of its own.
Where the start of the pattern is known there is one case only. The last part ends where a pile on a part of
some group ends, so with all phases settled the length is one of few modulo the repeat: a case is gone through
at the greatest of those up to the length.

``axis = "columns"`` says the same of widths and lengths exchanged: cut lengthwise, parts keep their columns
together, no column is longer than the length, and they have no room in the strip's width.
"""

from __future__ import annotations

import base64
import json
import zlib
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from nesting.check.proof_cases import PricedRule, RowTask, refuted
from nesting.check.proof_premises import (
    AnyWay,
    length_alone,
    steps_of,
    ways_of,
    whole_number,
    width_left,
    within_premises,
)
from nesting.check.proof_standing import (
    KeptPart,
    PlaceRange,
    PlacesAcross,
    pattern_of,
    place_of,
    without_dropped,
)
from nesting.check.row_weighing import WeighedSlices, heaviest_in_place, heaviest_of
from nesting.packing.problem import Problem

#: Numbers beyond this are not believed.
MOST = 2**60
#: Cases are unpacked up to so many letters.
LARGEST = 40_000_000
#: Piles of more lengths, modulo the repeat, and more ranges of places, are not gone through.
MOST_PILES, MOST_RANGES = 2_000, 400

Phases = frozenset[tuple[str, int]]


class _Unfounded(Exception):  # noqa: N818 - caught where it is asked for
    """The certificate does not prove what it says."""


@dataclass(frozen=True, slots=True)
class _Way:
    """A way to stand: of each part of a group the ranges of places, by their numbers; none: any place."""

    group: int
    ranges: tuple[tuple[int, ...], ...]


def proven_rows(problem: Problem, certificate: Mapping[str, Any]) -> int:
    """The length that no layout can undercut by a certificate of rows in one piece; 0 where it proves none.

    Raises
    ------
    TypeError, ValueError, KeyError
        It has not the form of one, or a number in it is no whole number.
    """
    ways = ways_of(problem)
    if not within_premises(problem) or not all(ways):
        return 0
    lone = _numbers(certificate.get("lone", ()))
    if any(part not in range(len(problem.parts)) for part in lone):
        return 0
    alone = length_alone(problem, ways, lone)
    _, along = steps_of(problem, ways)
    length = whole_number(certificate["refuted"])
    if alone is None or not 0 <= length <= MOST:
        return 0
    try:
        _RowsSaid(problem, ways, certificate, lone, length).require_none()
    except _Unfounded:
        return 0
    return alone + (length // along + 1) * along


def _numbers(listed: Any) -> tuple[int, ...]:
    return tuple(whole_number(number) for number in listed)


def _unpacked(letters: Any) -> list[Any]:
    """The cases: JSON, compressed, in letters."""
    if not isinstance(letters, str):
        raise TypeError("cases: expected letters")
    unpacking = zlib.decompressobj()
    try:
        text = unpacking.decompress(base64.b85decode(letters), LARGEST)
    except zlib.error as error:
        raise ValueError(str(error)) from error
    _require(not unpacking.unconsumed_tail)
    try:
        cases = json.loads(text)
    except RecursionError:
        raise ValueError("cases: nested too deeply") from None
    if not isinstance(cases, list):
        raise TypeError("cases: expected a list")
    return cases


def _require(holds: bool) -> None:
    if not holds:
        raise _Unfounded


class _RowsSaid:
    """What a certificate says of rows, each of its premises looked at."""

    def __init__(
        self,
        problem: Problem,
        ways: AnyWay,
        certificate: Mapping[str, Any],
        lone: Sequence[int],
        length: int,
    ) -> None:
        self._problem, self._said = problem, certificate
        self._across, self._along = steps_of(problem, ways)
        self._columns = certificate["axis"] == "columns"
        _require(self._columns or certificate["axis"] == "rows")
        pattern = None if self._columns else pattern_of(problem, self._across, self._along)
        self._parts = self._kept(ways, lone)
        matched = any(part.level is not None for part in self._parts)
        self._period = pattern.length if pattern is not None and matched else 1
        rest = [index for index in range(len(problem.parts)) if index not in set(lone)]
        width, longest = width_left(problem, rest) // self._across, length // self._along
        said = whole_number(certificate["width"])
        # A wider strip than there is has no fewer rows.
        _require(width <= said <= MOST)
        self._width, self._longest = (longest, said) if self._columns else (said, longest)
        _require(all(0 < part.wide <= self._width for part in self._parts))
        self._groups = [_numbers(group) for group in certificate["groups"]]
        listed = sorted(number for group in self._groups for number in group)
        _require(listed == list(range(len(self._parts))) and all(self._groups))
        self._standing = PlacesAcross(problem, self._parts, self._across, self._along)
        _require(self._standing.within_reach)
        self._ranges = [PlaceRange(*_numbers(one)) for one in certificate["stands"]]
        # Columns know nothing of places.
        _require(len(self._ranges) <= (0 if self._columns else MOST_RANGES))
        for one in self._ranges:
            _require(one.part in range(len(self._parts)))
            _require(self._parts[one.part].first <= one.near <= one.far <= self._parts[one.part].last)
        self._apart = {
            (a, b): self._standing.apart(one, other)
            for a, one in enumerate(self._ranges)
            for b, other in enumerate(self._ranges)
        }
        self._ways = self._ways_to_stand()
        self._starts = [self._starts_of(way) for way in self._ways]
        self._sizes = tuple(
            (self._parts[group[0]].wide, self._parts[group[0]].long) for group in self._groups
        )
        self._levels = [self._level(group) for group in self._groups]
        self._masks = self._masks_apart()

    def require_none(self) -> None:
        """No phases of the pattern leave rows for the parts."""
        self._rules = [self._rule(rule) for rule in self._said["rules"]]
        cases = {self._phases(case): case for case in _unpacked(self._said["cases"])}
        strip, levels = self._problem.strips[0], {level for level in self._levels if level is not None}
        start = None if strip.start is None or not levels else -(strip.start // self._along) % self._period
        first: Phases = frozenset() if start is None else frozenset((level, start) for level in levels)
        open_to, met = [first], {first}
        while open_to:
            phases = open_to.pop()
            _require(phases in cases)
            if "log" in cases[phases]:
                _require(self._refuted(phases, cases[phases]))
                continue
            _require(len(phases) < len(levels))
            for more in self._one_more(phases):
                if more not in met:
                    met.add(more)
                    open_to.append(more)

    def _kept(self, ways: AnyWay, lone: Sequence[int]) -> list[KeptPart]:
        """The parts of which it speaks, equal ones together."""
        seen, found = set(lone), list[KeptPart]()
        for kind in self._said["kinds"]:
            numbers = _numbers(kind)
            _require(bool(numbers) and all(number in range(len(self._problem.parts)) for number in numbers))
            _require(not seen & set(numbers) and len(set(numbers)) == len(numbers))
            seen |= set(numbers)
            every = [self._kept_part(number, ways) for number in numbers]
            _require(len(set(every)) == 1)
            copies = sum(self._problem.parts[number].copies for number in numbers)
            one = every[0]
            found.append(
                KeptPart(
                    numbers,
                    copies,
                    one.wide,
                    one.long,
                    one.first,
                    one.last,
                    one.level,
                    one.seam,
                    one.x,
                    one.y,
                )
            )
        _require(bool(found))
        return found

    def _kept_part(self, number: int, ways: AnyWay) -> KeptPart:
        """One part, in steps, as if it were the only copy."""
        part, strip = self._problem.parts[number], self._problem.strips[0]
        _require(len(ways[number]) == 1)
        width, length, _ = ways[number][0]
        wide, long = width // self._across, length // self._along
        first, last = part.clear[0] // self._across, (strip.width - part.clear[1] - width) // self._across
        if self._columns:
            return KeptPart((), 1, long, wide, 0, 0)
        if part.match is None:
            return KeptPart((), 1, wide, long, first, last)
        x, y = place_of(part, pattern_of(self._problem, self._across, self._along), self._across, self._along)
        return KeptPart((), 1, wide, long, first, last, part.match.level, part.match.seam, x, y)

    def _ways_to_stand(self) -> list[_Way]:
        """The ways of all groups; ranges that they name are all places that their parts have."""
        if not self._ranges:
            _require(not self._said["ways"] and not self._said["dropped"])
            return [_Way(group, tuple(() for _ in kinds)) for group, kinds in enumerate(self._groups)]
        found = []
        for group, ranges in self._said["ways"]:
            number = whole_number(group)
            _require(number in range(len(self._groups)))
            found.append(_Way(number, tuple(_numbers(each) for each in ranges)))
        starts = [self._standing.start_in(self._parts[one.part], one.near) for one in self._ranges]
        dropped = [(whole_number(gone), whole_number(instead)) for gone, instead in self._said["dropped"]]
        left = without_dropped(starts, self._ranges, dropped, self._apart)
        if left is None:
            raise _Unfounded
        named = set[int]()
        for way in found:
            group = self._groups[way.group]
            _require(len(way.ranges) == len(group) and all(way.ranges))
            for part, ranges in zip(group, way.ranges, strict=True):
                _require(all(one in left and self._ranges[one].part == part for one in ranges))
                named |= set(ranges)
        _require(named == left)
        _require(all(self._standing.covered(part, self._ranges) for part in range(len(self._parts))))
        return found

    def _starts_of(self, way: _Way) -> tuple[int, ...]:
        """Where a way begins, but for its level's phase, whichever part of the group stands so."""
        found = set[tuple[int, ...]]()
        for part, ranges in zip(self._groups[way.group], way.ranges, strict=True):
            kept = self._parts[part]
            near = [self._ranges[one].near for one in ranges]
            each = [self._standing.start_in(kept, place) for place in near] or [self._standing.starts(kept)]
            found.add(tuple(sorted({start for starts in each for start in starts})))
        _require(len(found) == 1)
        (starts,) = found
        return starts

    def _level(self, group: Sequence[int]) -> str | None:
        """Of all parts of a group, which are of one size."""
        known = {(part.level, part.wide, part.long) for part in (self._parts[number] for number in group)}
        _require(len(known) == 1)
        ((level, _, _),) = known
        return level

    def _masks_apart(self) -> tuple[int, ...]:
        """For each way the ways that share no row with it, whichever parts of their groups stand so."""
        if not self._ranges:
            return (0,) * len(self._ways)
        return tuple(
            sum(1 << number for number, other in enumerate(self._ways) if self._never_beside(way, other))
            for way in self._ways
        )

    def _never_beside(self, way: _Way, other: _Way) -> bool:
        pairs = [
            (one, two)
            for here, mine in zip(self._groups[way.group], way.ranges, strict=True)
            for there, theirs in zip(self._groups[other.group], other.ranges, strict=True)
            if here != there or self._parts[here].copies > 1
            for one in mine
            for two in theirs
        ]
        return all(self._apart[pair] for pair in pairs)

    def _rule(self, said: Mapping[str, Any]) -> tuple[tuple[int, ...], int, bool]:
        """Weights by group and how much of them a row has at most, by the heaviest row."""
        weights, most, placed = _numbers(said["weights"]), whole_number(said["most"]), said["placed"] is True
        _require(len(weights) == len(self._groups) and all(0 <= weight <= MOST for weight in weights))
        _require(0 < most <= MOST and any(weights))
        if placed:
            _require(not self._columns)
            bars = [
                WeighedSlices(
                    self._parts[number].numbers[0],
                    self._parts[number].wide * self._across,
                    self._parts[number].long,
                    weight,
                    self._parts[number].copies,
                )
                for group, weight in zip(self._groups, weights, strict=True)
                for number in group
            ]
            heaviest = heaviest_in_place(self._problem, bars, self._across)
        else:
            slices = [
                WeighedSlices(group, wide, long, weight, copies)
                for group, ((wide, long), weight, copies) in enumerate(
                    zip(self._sizes, weights, self._copies, strict=True)
                )
            ]
            heaviest = heaviest_of(slices, self._width)
        _require(0 < heaviest <= most)
        return weights, most, placed

    @property
    def _copies(self) -> tuple[int, ...]:
        return tuple(sum(self._parts[number].copies for number in group) for group in self._groups)

    def _phases(self, case: Mapping[str, Any]) -> Phases:
        return frozenset((str(level), whole_number(phase)) for level, phase in dict(case["phases"]).items())

    def _refuted(self, phases: Phases, case: Mapping[str, Any]) -> bool:
        """Whether a log shows that there are no rows with these phases."""
        settled = dict(phases)
        starts = tuple(
            tuple((at + settled[level]) % self._period for at in starts) if level in settled else ()
            for way, starts in zip(self._ways, self._starts, strict=True)
            for level in [self._levels[way.group]]
        )
        longest = self._longest
        if len(settled) == len({level for level in self._levels if level is not None}) > 0:
            longest -= min((longest - end) % self._period for end in self._ends(settled))
        wide, long = (tuple(sizes) for sizes in zip(*self._sizes, strict=True))
        group = tuple(way.group for way in self._ways)
        task = RowTask(
            self._width, longest, self._period, self._copies, wide, long, group, starts, self._masks
        )
        rules = [self._priced(rule) for rule in case["rules"]]
        return refuted(task, rules, _numbers(case["log"]))

    def _priced(self, said: Mapping[str, Any]) -> PricedRule:
        number = whole_number(said["rule"])
        _require(number in range(len(self._rules)))
        weights, most, strict = self._rules[number]
        none = (0,) * len(weights)
        before, after = (_numbers(said.get(key, none)) for key in ("before", "after"))
        first, last = (whole_number(said.get(key, 0)) for key in ("first", "last"))
        _require(len(before) == len(after) == len(weights))
        return PricedRule(weights, most, strict, before, after, first, last)

    def _one_more(self, phases: Phases) -> Iterator[Phases]:
        """With every phase of one more level group in which it may rest on what is settled."""
        settled = dict(phases)
        ends = self._ends(settled)
        for level in {part.level for part in self._parts} - settled.keys() - {None}:
            assert level is not None
            starts = {
                start for part in self._parts if part.level == level for start in self._standing.starts(part)
            }
            for phase in {(end - start) % self._period for end in ends for start in starts}:
                yield phases | {(level, phase)}

    def _ends(self, settled: Mapping[str, int]) -> set[int]:
        """Where piles on the squared end, or on parts of the groups settled, end modulo the repeat."""
        ends = {0} | {
            settled[part.level] + start + part.long
            for part in self._parts
            if part.level is not None and part.level in settled
            for start in self._standing.starts(part)
        }
        return {(end + pile) % self._period for end in ends for pile in self._piles()}

    def _piles(self) -> set[int]:
        """Lengths of piles of parts that are not matched, modulo the repeat."""
        piles = {0}
        for part in self._parts:
            if part.level is None:
                for _ in range(min(part.copies, self._period)):
                    piles |= {(pile + part.long) % self._period for pile in piles}
                    _require(len(piles) <= MOST_PILES)
        return piles
