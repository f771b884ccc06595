"""Pieces that were taken up laid again in grids of equal ones: ruin and recreate, at a settled length.

References
----------
Schrimpf, Schneider, Stamm-Wilbrandt, Dueck, J. Computational Physics 159 (2000) 139-171 (ruin and recreate).
"""

from __future__ import annotations

import random
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import NamedTuple

from nesting.packing.ease import Rectangle
from nesting.packing.problem import Part
from nesting.packing.result import Placement

#: Of more free rooms the smallest are no longer looked at.
MOST_ROOMS = 60


class Lot(NamedTuple):
    """Pieces of one size that were taken up: ``at`` where they lay, ``clear`` of both edges."""

    width: int
    length: int
    clear: tuple[int, int]
    at: tuple[Placement, ...]


class FillRule(NamedTuple):
    """How pieces are laid again.

    Attributes
    ----------
    right, far
        In which corner of a room: at its right edge, at its far end.
    whole
        A grid that takes the width or the length of its room without a rest comes before one of fewer cuts.
    along
        Of one size, pieces of one part fill strips along before the next begins; else rows across.
    roomy
        Into the largest room, else into the smallest that holds as many.
    """

    right: bool = False
    far: bool = False
    whole: bool = True
    along: bool = True
    roomy: bool = False

    @classmethod
    def by(cls, chance: random.Random) -> FillRule:
        """One by chance."""
        return cls(*(chance.random() < likely for likely in (0.5, 0.5, 0.5, 0.5, 0.3)))


def rooms_between(boxes: Iterable[Rectangle], width: int, length: int) -> list[Rectangle]:
    """The largest free rectangles of a strip of that width up to that length."""
    rooms, done = [(0, 0, width, length)], list[Rectangle]()
    for box in sorted(boxes, key=lambda one: one[1]):
        # What a box parts reaches up to it, so rooms that end before it are done with.
        done += (room for room in rooms if room[3] <= box[1])
        rooms = parted([room for room in rooms if room[3] > box[1]], box)
    return done + rooms


def parted(rooms: Iterable[Rectangle], box: Rectangle) -> list[Rectangle]:
    """The largest rectangles free of ``box`` too, of those free of all before it."""
    left, low, right, high = box
    whole, parts = list[Rectangle](), list[Rectangle]()
    for room in rooms:
        x, y, end, far = room
        if left < end and x < right and low < far and y < high:
            if x < left:
                parts.append((x, y, left, far))
            if right < end:
                parts.append((right, y, end, far))
            if y < low:
                parts.append((x, y, end, low))
            if high < far:
                parts.append((x, high, end, far))
        else:
            whole.append(room)
    parts = list(dict.fromkeys(parts))
    return [*whole, *(one for one in parts if not any(_holds(other, one) for other in (*whole, *parts)))]


def _holds(room: Rectangle, one: Rectangle) -> bool:
    inside = room[0] <= one[0] and room[1] <= one[1] and one[2] <= room[2] and one[3] <= room[3]
    return inside and room != one


@dataclass(slots=True)
class Refill:
    """Free rooms while lots are laid in them.

    Attributes
    ----------
    width
        Of the strip.
    rooms
        The largest that are free.
    rule
        How pieces are laid.
    looks
        How many rooms were looked at.
    """

    width: int
    rooms: list[Rectangle]
    rule: FillRule
    looks: int = 0

    def lay(self, lots: Iterable[Lot]) -> list[Placement] | None:
        """Every piece of the lots at its new place, lot by lot; None where one has none."""
        found = list[Placement]()
        for lot in lots:
            at = 0
            while at < len(lot.at):
                grid = self._best(lot, len(lot.at) - at)
                if grid is None:
                    return None
                found += self._laid(lot, lot.at[at : at + grid[1] * grid[2]], grid)
                at += grid[1] * grid[2]
        return found

    def _best(self, lot: Lot, count: int) -> tuple[Rectangle, int, int] | None:
        """The grid that holds most of so many pieces: its room, how many across and how many along."""
        best: tuple[tuple[int, ...], Rectangle, int, int] | None = None
        rule, (width, length) = self.rule, (lot.width, lot.length)
        for room in self.rooms:
            self.looks += 1
            left, right = max(room[0], lot.clear[0]), min(room[2], self.width - lot.clear[1])
            most_across, most_along = (right - left) // width, (room[3] - room[1]) // length
            if most_across < 1 or most_along < 1:
                continue
            area = (room[2] - room[0]) * (room[3] - room[1])
            for across in range(1, min(most_across, count) + 1):
                along = min(most_along, count // across)
                self.looks += 1
                flush = across * width == right - left or along * length == room[3] - room[1]
                order = (not flush, across + along) if rule.whole else (across + along, not flush)
                key = (-across * along, *order, -area if rule.roomy else area, room[1], room[0])
                if best is None or key < best[0]:
                    best = key, (left, room[1], right, room[3]), across, along
        return None if best is None else best[1:]

    def _laid(
        self, lot: Lot, pieces: Sequence[Placement], grid: tuple[Rectangle, int, int]
    ) -> Iterator[Placement]:
        room, across, along = grid
        x = room[2] - across * lot.width if self.rule.right else room[0]
        y = room[3] - along * lot.length if self.rule.far else room[1]
        self.rooms = parted(self.rooms, (x, y, x + across * lot.width, y + along * lot.length))
        if len(self.rooms) > MOST_ROOMS:
            self.rooms.sort(key=lambda one: (one[0] - one[2]) * (one[3] - one[1]))
            del self.rooms[MOST_ROOMS:]
        self.looks += len(self.rooms)
        for number, at in enumerate(pieces):
            column, row = divmod(number, along) if self.rule.along else divmod(number, across)[::-1]
            yield replace(at, x=x + column * lot.width, y=y + row * lot.length)


def lots_of(pieces: Iterable[Placement], parts: Sequence[Part]) -> list[Lot]:
    """Pieces by size, the largest first, those of one part following on each other."""
    by_size = dict[tuple[int, int, tuple[int, int]], list[Placement]]()
    for at in sorted(pieces, key=lambda at: (at.part, at.copy)):
        part = parts[at.part]
        by_size.setdefault((*part.size(at.turned), part.clear), []).append(at)
    lots = (Lot(*size, tuple(found)) for size, found in by_size.items())
    return sorted(lots, key=lambda lot: (-lot.width * lot.length, -lot.length, lot.at[0].part))


def by_part(lots: Iterable[Lot]) -> Iterator[Lot]:
    """The same with a lot for each part."""
    for lot in lots:
        for part in dict.fromkeys(at.part for at in lot.at):
            yield lot._replace(at=tuple(at for at in lot.at if at.part == part))
