"""A continuous pair: the pattern runs on from panel to panel when they are closed. Lengths in ticks.

Hems and overlap take fabric away between the panels, so the widths of the second lie elsewhere in the
pattern than those of the first. Where the bolt has no room to shift them by so much, the leading widths
are cut to where the panels meet, and all full widths lie at one place in the pattern again.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from functools import lru_cache

from nesting.cutting.measures import Hanging, left_hem, right_hem
from nesting.cutting.panels import Joined, in_phase, least_part
from nesting.cutting.table import FabricsOnTable
from nesting.headings import Making
from nesting.order.job import Widths
from nesting.order.print_width import lattice
from nesting.pieces.seams import OneWidth, Width, plan_behind, total_width
from nesting.pieces.washing import width_kept
from nesting.units import round_up, unit_ticks

Pair = Sequence[tuple[Hanging, Joined]]
"""The panels of a window from left to right, each with its widths."""


def origins(making: Making, panels: Pair, kept: Fraction) -> tuple[int, ...]:
    """Place in the pattern of the leading width of each panel, 0 for the first.

    ``kept`` is the part of a width that is left after washing.
    """
    found, seam = [0], making.seam
    for (earlier, before), (hanging, joined) in itertools.pairwise(panels):
        beyond = sum(w.cut - 2 * seam for w in before.widths[before.lead :]) + 2 * seam
        left = found[-1] + beyond - _hidden(making, earlier, hanging, kept)
        found.append(left + sum(w.cut - 2 * seam for w in joined.widths[: joined.lead]))
    return tuple(found)


def _hidden(making: Making, earlier: Hanging, hanging: Hanging, kept: Fraction) -> int:
    """Fabric that does not show between two panels side by side: hems and overlap, before washing."""
    hems = right_hem(making, earlier).allowance + left_hem(making, hanging).allowance
    return round_up((hems + 2 * min(earlier.overlap, hanging.overlap)) / kept, 1)


def running_pair(table: FabricsOnTable, making: Making, panels: Pair) -> Pair:
    """The panels with widths that all lie in phase; as they were where that is so, or cannot be.

    Closed, the panels meet at one place of the pattern, wherever that lies across the bolt: the left leading
    width ends there, the right one begins there, and the widths behind them are full ones. Of all places to
    meet at which both panels come out as wide, the one is taken that needs the fewest pieces and leaves no
    part-width narrower than asked; then one at which both are cut alike, with the widest leading widths.
    """
    key = making.window.fabric
    kept = width_kept(table.fabrics[key])

    def lies(pair: Pair) -> bool:
        starts = origins(making, pair, kept)
        placed = [at for (_, j), start in zip(pair, starts, strict=True) for at in j.placed(start)]
        return in_phase(table, key, placed, making.seam)

    if [hanging.leading for hanging, _ in panels] != ["right", "left"] or lies(panels):
        return panels
    if any(len(joined.widths) < 2 for _, joined in panels):
        return panels
    return next((pair for pair in _meeting(table, making, panels, kept) if lies(pair)), panels)


def _meeting(table: FabricsOnTable, making: Making, panels: Pair, kept: Fraction) -> Iterator[Pair]:
    """The best pair without a part-width too narrow; then one without a seam in a hem; then any."""
    key = making.window.fabric
    repeat = lattice(table.fabrics[key], table.bolts[key])
    across = None if repeat is None else repeat.width
    if across is None:
        return
    hems = (making.leading_hem, making.outer_hem)
    leasts = [
        tuple(least_part(each, hem.finished, hem.allowance, table.grid, kept) for hem in hems)
        for each in (making, replace(making, least_part=0))
    ]
    meeting = _Meeting(
        needs=(panels[0][1].need.total, panels[1][1].need.total),
        fabric=panels[0][1].fabric,
        mode=making.window.widths,
        across=across,
        hidden=_hidden(making, panels[0][0], panels[1][0], kept),
        whole=unit_ticks(making.unit) * (10 if making.unit == "mm" else 1),
    )
    # Where no place to meet leaves both panels as wide in half or whole widths, they are cut to the need.
    ways = dict.fromkeys((meeting, replace(meeting, mode="exact")))
    for least, way in itertools.product((*leasts, (0, 0)), ways):
        found = _best(way, *least)
        if found is not None:
            (left, before), (right, behind) = panels
            yield (
                (left, replace(before, widths=found[0][::-1], lead=len(found[0]) - 1)),
                (right, replace(behind, widths=found[1], lead=0)),
            )


Outwards = tuple[Width, ...]
"""The widths of a panel from the leading edge outwards."""


@dataclass(frozen=True, slots=True)
class _Meeting:
    """A pair of panels and where across the bolt their leading edges may meet.

    Attributes
    ----------
    needs
        Cut width of the left and of the right panel.
    across
        The repeat width.
    hidden
        What hems and overlap take from between the panels.
    whole
        A whole inch or centimeter: cuts are easier to measure there.
    """

    needs: tuple[int, int]
    fabric: OneWidth
    mode: Widths
    across: int
    hidden: int
    whole: int

    def leads(self) -> Iterator[tuple[int, int]]:
        """Cut widths of both leading widths that meet; one of them a full one, or in steps of the tape.

        Across a full width W a left one cut a ends at a, a right one cut b begins at W - b. They meet where
        the right one begins ``hidden`` before the end of the left one, or whole repeats from there: a and b
        have ``W - a = b - hidden`` modulo the repeat width, either way round.
        """
        full = self.fabric.full
        for cut in (full, *range(self.fabric.grid, full, self.fabric.grid)):
            for other in range(full - (cut - self.hidden) % self.across, 0, -self.across):
                yield cut, other
            for other in range(full - (cut - self.hidden) % self.across, 0, -self.across):
                yield other, cut

    def even(self, left: Outwards, right: Outwards) -> bool:
        """Whether both panels are as wide, to a step of the tape, but for what they need."""
        more = [
            total_width(widths, self.fabric.seam) - need
            for widths, need in zip((left, right), self.needs, strict=True)
        ]
        return abs(more[0] - more[1]) <= self.fabric.grid

    def rank(self, left: Outwards, right: Outwards) -> tuple[int, bool, int, int, int]:
        """What is better comes first: few pieces, both panels alike, cuts of whole inches, wide leads."""
        off = [abs(one.cut - other.cut) for one, other in zip(left, right, strict=False)]
        alike = len(left) == len(right) and max(off) <= self.fabric.grid
        leads = [left[0].cut, right[0].cut]
        odd = sum(cut != self.fabric.full and cut % self.whole != 0 for cut in leads)
        return len(left) + len(right), not alike, 0 if alike else odd, -min(leads), -leads[0]


@lru_cache(maxsize=256)
def _best(meeting: _Meeting, leading: int, outer: int) -> tuple[Outwards, Outwards] | None:
    """The best pair, both as wide, its leading and outermost widths as said; None where there is none."""
    best, rank = None, None
    for leads in meeting.leads():
        left, right = (
            plan_behind(need, lead, meeting.fabric, meeting.mode)
            for need, lead in zip(meeting.needs, leads, strict=True)
        )
        if any(widths[0].cut < leading or widths[-1].cut < outer for widths in (left, right)):
            continue
        if not meeting.even(left, right):
            continue
        mine = meeting.rank(left, right)
        if rank is None or mine < rank:
            best, rank = (left, right), mine
    return best
