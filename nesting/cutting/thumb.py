"""The usual rule of thumb: whole widths times the cut length up to the repeat, companions extra in rows."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import Final

from nesting.cutting.measures import settle
from nesting.order.job import Bolt, Job
from nesting.pieces.piece import LAYERS, Piece, Role
from nesting.pieces.seams import count_widths, up_to_repeat
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.pieces.washing import seam_before, washed
from nesting.units import Unit, format_length, grid, round_down

#: The order in which kinds are told.
ROLES: Final[tuple[Role, ...]] = (*LAYERS, "facing", "tab", "band", "tieback", "extra")


def rule_of_thumb_for(
    job: Job,
    pieces: Iterable[Piece],
    fabric_key: str,
    bolt: Bolt,
    railroaded: Collection[tuple[str, str]] = (),
) -> RuleOfThumb:
    """What the plain rule asks for, with its sums; nothing is nested.

    Every width of every panel, part-widths as whole ones, takes its cut length rounded up to the
    repeat; a half drop is reckoned the same way. Where nobody said over what a print matches, its widths are
    counted by the usable width, as the trade does from a label: what the plan takes for granted of the
    print is not taken for granted here. Facings, tabs, bands and extras lie in rows of their own, as many
    side by side as fit, one kind after another. Optional extras are left out.

    Parameters
    ----------
    job, pieces, fabric_key
        What was cut, and the fabric in question.
    bolt
        As it is bought.
    railroaded
        Fabric and room of panels to reckon sideways, each of which takes its width along the fabric. A
        panel cut in one run that is not named here is reckoned as upright widths joined.
    """
    fabric, table = washed(job.fabric(fabric_key), bolt)
    reckoning = _Reckoning(
        usable=round_down(table.usable, grid(job.units)),
        full=None if table.match is None or table.match_said or table.printed else table.match,
        repeat=fabric.repeat.length if fabric.repeat else None,
        unit=job.units,
        sideways=frozenset(room for key, room in railroaded if key == fabric_key),
        seams={
            window.name: seam if fabric.repeat else seam_before(seam, fabric)
            for window in job.windows
            for seam in (settle(job, window).seam,)
        },
    )
    mine = [piece for piece in pieces if piece.fabric == fabric_key and not piece.optional]
    kinds = sorted(mine, key=reckoning.kind)
    rows = [reckoning.rows(list(alike)) for _, alike in groupby(kinds, reckoning.kind)]
    total = sum(length for length, _ in rows)
    lines = [line for _, line in rows]
    return RuleOfThumb(total, (*lines, f"in all {format_length(total, job.units)}"))


@dataclass(frozen=True, slots=True)
class _Reckoning:
    """What one kind of pieces takes of a fabric by the plain rule; ``full`` is a match that nobody said."""

    usable: int
    full: int | None
    repeat: int | None
    unit: Unit
    sideways: frozenset[str]
    seams: Mapping[str, int]

    def kind(self, piece: Piece) -> tuple[int, int, int, str]:
        """Pieces alike to the rule; panels by their length only, each piece takes whole widths."""
        role, name = ROLES.index(piece.role), piece.name if piece.role == "extra" else ""
        if piece.role not in LAYERS:
            return role, piece.width, piece.length, name
        if piece.room in self.sideways:
            return role, piece.width, 0, name
        return role, 0, piece.length, name

    def rows(self, alike: list[Piece]) -> tuple[int, str]:
        """Length and sum of one kind."""
        first, copies = alike[0], sum(piece.copies for piece in alike)
        if first.role not in LAYERS:
            return self._companions(first, copies)
        widths = self._counted(alike)
        if first.room in self.sideways:
            total = copies * first.width
            sums = f"{copies} in one run of {self._say(first.width)}"
        else:
            each = self._up(first.length) if first.role == "panel" else first.length
            up = "" if each == first.length else f", up to the repeat {self._say(each)}"
            total = widths * each
            sums = f"{widths} widths x {self._say(first.length)}{up}"
        return total, f"{first.role}: {sums} = {self._say(total)}"

    def _counted(self, alike: list[Piece]) -> int:
        """Widths of one kind: as cut, or of a print whose match nobody said as the label would have it."""
        if self.full is None or alike[0].match is None:
            return sum(piece.copies * self._widths(piece) for piece in alike)
        panels = defaultdict[object, list[Piece]](list)
        for piece in alike:
            panels[piece.window, piece.side, piece.id.rpartition("/")[0]].append(piece)
        return sum(self._of_panel(self.full, widths) for widths in panels.values())

    def _of_panel(self, match: int, widths: list[Piece]) -> int:
        first = widths[0]
        seam = self.seams.get(first.window or "", 0)
        need = sum(piece.width for piece in widths) - 2 * seam * (len(widths) - 1)
        return first.copies * count_widths(need, max(self.usable, match + 2 * seam), seam)

    def _widths(self, piece: Piece) -> int:
        """One, but for a panel in one run, which the plain rule would join from upright widths."""
        if piece.match is not None or piece.width <= self.usable:
            return 1
        return count_widths(piece.width, self.usable, self.seams.get(piece.window or "", 0))

    def _companions(self, first: Piece, copies: int) -> tuple[int, str]:
        across, along = first.width, first.length
        if across > self.usable:
            across, along = along, across
        beside = max(1, self.usable // across)
        rows = -(-copies // beside)
        each = self._up(along) if first.match else along
        name = first.name if first.role == "extra" else first.role.replace("tieback", "tie-back")
        total = rows * each
        return total, f"{name}: {copies}, {beside} to a row, {rows} x {self._say(each)} = {self._say(total)}"

    def _up(self, length: int) -> int:
        return up_to_repeat(length, self.repeat) if self.repeat else length

    def _say(self, ticks: int) -> str:
        return format_length(ticks, self.unit)
