"""The widths of the panel that is to hang first, laid so that they are cut first. Lengths in ticks.

Two ways: the bands of the layout that was found, between cuts from edge to edge, in another order with those
of the panel in front; or the panel laid by itself, with what finds room beside it, and the rest behind. The
first keeps the length wherever no print makes bands wait for their place. The bound is that of the whole
fabric in any order, so a layout that became longer is no longer called the shortest.
"""

from __future__ import annotations

import itertools
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Final

from nesting.check.document_cutting import edge_to_edge
from nesting.errors import Fault, JobError
from nesting.order.job import Job
from nesting.packing import Placement, Problem, Result, fill_leftover
from nesting.pieces.piece import LAYERS, Piece
from nesting.planning.effort import Spending
from nesting.planning.lay import Lay
from nesting.units import format_length

#: The panel may lie among other pieces on so many times the length that it takes by itself.
MOST_AMONG: Final = 2
#: Of so many bands every order is tried.
MOST_ORDERS: Final = 6
#: The share of a usual search that the panel, and the rest, are each given.
SHARE: Final = 0.5


def first_ids(job: Job, pieces: Collection[Piece]) -> frozenset[str]:
    """The ids of the widths that are to be cut first, of face and linings; of equal windows the first one's.

    Raises
    ------
    JobError
        There is no such panel.
    """
    if job.hang_first is None:
        return frozenset()
    window, key = job.hang_first
    found = set[str]()
    for piece in pieces:
        parts = piece.id.split("/")
        other = parts[1].isdigit() and parts[1] != "1"
        if piece.role in LAYERS and piece.window == window and key in parts[1:-1] and not other:
            found.add(piece.id)
    if not found:
        panels = {
            f'"{piece.window}, {part}"'
            for piece in pieces
            if piece.role == "panel"
            for part in piece.id.split("/")[1:-1]
            if not part.isdigit()
        }
        wanted = f"a panel of this job: {', '.join(sorted(panels)) or 'none has any'}"
        raise JobError([Fault("hang_first", f'"{window}, {key}"', wanted)])
    return frozenset(found)


@dataclass(frozen=True, slots=True)
class _Order:
    """A layout: its length, and the line up to which the panel that hangs first is cut."""

    placements: tuple[Placement, ...]
    length: int
    reach: int


def cut_first(lay: Lay, result: Result, first: frozenset[str], spending: Spending) -> Result:
    """The layout with the panel that hangs first in front, and no longer than that takes.

    Parameters
    ----------
    lay, result
        A fabric on one open strip without choices, and the layout that was found.
    first
        The ids of the widths that are cut first.
    spending
        For the panel by itself, and for the rest.

    Returns
    -------
    Result
        The same where none of them is cut from this fabric, or where no such layout was found; a lining comes
        first only where that costs nothing.
    """
    numbers = [at for at, piece in enumerate(lay.pieces) if piece.id in first]
    if not numbers or result.length is None or lay.choices:
        return result
    sorter = _Sorter(lay.problem, result, frozenset(numbers))
    found, alone = list(sorter.bands_in_order()), None
    if any(lay.pieces[at].role == "panel" for at in numbers):
        alone = sorter.alone(lay, spending)
        found += [alone] if alone is not None else []
    else:
        # A panel hangs without its lining: nothing is paid so that this comes first.
        found = [one for one in found if one.length <= result.length]
    if lay.across:
        found = [one for one in found if edge_to_edge(sorter.boxes(one.placements))]
    if alone is not None:
        found = [one for one in found if one.reach <= MOST_AMONG * alone.reach] or [alone]
    if not found:
        return result
    best = min(found, key=lambda one: (one.length, one.reach))
    return replace(result, length=best.length, placements=tuple(_nearest_first(best.placements, numbers)))


def _nearest_first(placements: Sequence[Placement], numbers: Collection[int]) -> Iterator[Placement]:
    """The same with the copies of what comes first counted from the squared end."""
    count = dict.fromkeys(numbers, 0)
    for at in sorted(placements, key=lambda at: (at.y, at.x)):
        if at.part in count:
            count[at.part] += 1
            at = replace(at, copy=count[at.part])
        yield at


def told(lay: Lay, before: Result, after: Result) -> str:
    """What it costs in length that a panel is cut first; empty where it costs nothing."""
    if before.length is None or after.length is None or after.length <= before.length:
        return ""
    unit = lay.job.units
    more = format_length(after.length - before.length, unit)
    window, key = lay.job.hang_first or ("", "")
    return (
        f"{lay.fabric.title}: {more} more so that the {key} panel of {window} is cut first: "
        f"{format_length(after.length, unit)} instead of {format_length(before.length, unit)}"
    )


class _Sorter:
    """One layout of one open strip, and the numbers of the parts that come first."""

    def __init__(self, problem: Problem, result: Result, first: frozenset[int]) -> None:
        self._problem, self._first = problem, first
        self._best = sorted(result.placements, key=lambda at: (at.y, at.x))

    def boxes(self, placements: Sequence[Placement]) -> list[tuple[int, int, int, int]]:
        """Left, lower, right and upper edge of each piece."""
        return [self._box(at) for at in placements]

    def _box(self, at: Placement) -> tuple[int, int, int, int]:
        width, length = self._problem.parts[at.part].size(at.turned)
        return at.x, at.y, at.x + width, at.y + length

    def _end(self, placements: Sequence[Placement]) -> int:
        return max((self._box(at)[3] for at in placements), default=0)

    def bands_in_order(self) -> Iterator[_Order]:
        """The bands of the panel in front; the rest as they were, and of a print in other orders too."""
        bands, reached = list[list[Placement]](), 0
        for at in self._best:
            if not bands or at.y >= reached:
                bands.append([])
            bands[-1].append(at)
            reached = max(reached, self._box(at)[3])
        ahead = self._needed(bands)
        front, rest = [bands[at] for at in ahead], [b for at, b in enumerate(bands) if at not in ahead]
        orders = [rest]
        if self._problem.strips[0].repeat is not None and len(rest) <= MOST_ORDERS:
            orders = [list(order) for order in itertools.permutations(rest)]
        for order in orders:
            laid, reach = self._one_after_another([*front, *order], len(front))
            yield _Order(tuple(laid), self._end(laid), reach)

    def _needed(self, bands: Sequence[Sequence[Placement]]) -> list[int]:
        """The fewest bands, the first of them first, that hold a copy of every part that comes first."""
        missing, found = set(self._first), list[int]()
        while missing:
            held = [len(missing & {at.part for at in band}) for band in bands]
            at = max(range(len(bands)), key=lambda number: (held[number], -number))
            found.append(at)
            missing -= {one.part for one in bands[at]}
        return sorted(found)

    def _one_after_another(
        self, bands: Sequence[Sequence[Placement]], front: int
    ) -> tuple[list[Placement], int]:
        """The bands in that order, as near to the squared end as the pattern allows; the end of the front."""
        strip, base, found, reach = self._problem.strips[0], 0, list[Placement](), 0
        for number, band in enumerate(bands, 1):
            shift = base - min(at.y for at in band)
            if strip.repeat is not None and any(
                self._problem.parts[at.part].match is not None for at in band
            ):
                shift = -(-shift // strip.repeat.length) * strip.repeat.length
            moved = [replace(at, y=at.y + shift) for at in band]
            base = self._end(moved)
            reach = base if number == front else reach
            found += moved
        low = min(at.y for at in found)
        if strip.start is None and low:
            found, reach = [replace(at, y=at.y - low) for at in found], reach - low
        return found, reach

    def alone(self, lay: Lay, spending: Spending) -> _Order | None:
        """The panel by itself, what finds room beside it, and the rest behind; None where that cannot be."""
        parts = self._problem.parts
        if self._bound_together():
            return None
        order = sorted(self._first)
        own = replace(self._problem, parts=tuple(replace(parts[at], copies=1) for at in order))
        front = spending.pack_problem(own, lay.fabric.title, SHARE)
        if front.length is None:
            return None
        laid = [replace(at, part=order[at.part]) for at in front.placements]
        laid += self._beside(own, front)
        count = {at: sum(1 for one in laid if one.part == at) for at in range(len(parts))}
        behind = [at for at, part in enumerate(parts) if count[at] < part.copies]
        if not behind:
            return _Order(tuple(laid), self._end(laid), self._end(laid))
        rest = tuple(replace(parts[at], copies=parts[at].copies - count[at]) for at in behind)
        strip = replace(self._problem.strips[0])
        found = spending.pack_problem(Problem((strip,), rest), lay.fabric.title, SHARE)
        if found.length is None or self._turned_otherwise(laid, behind, found):
            return None
        shift = self._shift(laid, behind, found.placements)
        if shift is None:
            return None
        laid += [
            Placement(behind[at.part], count[behind[at.part]] + at.copy, at.x, at.y + shift, at.turned)
            for at in found.placements
        ]
        return _Order(tuple(laid), self._end(laid), front.length)

    def _bound_together(self) -> bool:
        """Whether a part of the rest shares a place across in the pattern with one that comes first."""
        seams = {m.seam for at in self._first if (m := self._problem.parts[at].match) is not None and m.seam}
        return any(
            part.match is not None and part.match.seam in seams
            for at, part in enumerate(self._problem.parts)
            if at not in self._first or part.copies > 1
        )

    def _beside(self, own: Problem, front: Result) -> list[Placement]:
        """Pieces of no pattern and no arrow that find room beside the panel, first come first served."""
        free = [
            at
            for at, part in enumerate(self._problem.parts)
            if at not in self._first and part.match is None and part.arrow is None
        ]
        found = fill_leftover(own, front, [self._problem.parts[at] for at in free]).placements
        return [replace(at, part=free[at.part - len(own.parts)]) for at in found]

    def _turned_otherwise(self, laid: Sequence[Placement], behind: Sequence[int], found: Result) -> bool:
        """Whether an arrow group would lie turned in front and upright behind, or the other way."""
        turned = dict[str, bool]()
        both = [(at.part, at.turned) for at in laid]
        both += [(behind[at.part], at.turned) for at in found.placements]
        for part, lies in both:
            arrow = self._problem.parts[part].arrow
            if arrow is not None and turned.setdefault(arrow, lies) != lies:
                return True
        return False

    def _shift(
        self, laid: Sequence[Placement], behind: Sequence[int], rest: Sequence[Placement]
    ) -> int | None:
        """How far the rest is moved so that it lies behind, level in the pattern; None where it cannot be."""
        strip, base = self._problem.strips[0], self._end(laid)
        repeat = strip.repeat
        if repeat is None:
            return base
        if strip.start is not None:
            return -(-base // repeat.length) * repeat.length
        heights = dict[str, int]()
        for at in laid:
            match = self._problem.parts[at.part].match
            if match is not None:
                heights[match.level] = repeat.phase_y(at.x, at.y, match.x, match.y)
        moves = {
            (heights[match.level] - repeat.phase_y(at.x, at.y, match.x, match.y)) % repeat.length
            for at in rest
            if (match := self._problem.parts[behind[at.part]].match) is not None and match.level in heights
        }
        if len(moves) > 1:
            return None
        return base + (moves.pop() - base) % repeat.length if moves else base
