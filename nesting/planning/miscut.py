"""What can be done with a piece that was cut too large or too small, in words. Lengths in ticks."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from fractions import Fraction
from typing import Final

from nesting.errors import Fault, JobError
from nesting.headings.making import measure
from nesting.order.job import Fabric
from nesting.pieces.piece import LAYERS, Piece
from nesting.plan.cut_rows import CutRow, cuts_of
from nesting.plan.pattern import line_on
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.cut_names import listed_names
from nesting.planning.hung_pieces import LEAST_HEM
from nesting.units import format_length

#: What a hand with shears is allowed: along and across (common practice, no source).
ALONG: Final = measure("1/8", "3/10")
ACROSS: Final = measure("1/4", "6/10")
#: A panel that is narrower by up to this part of it is hardly less full (common practice, no source).
_LESS_FULL: Final = Fraction(1, 25)


def miscut(plan: Plan, name: str, wide: int, long: int, cut: Collection[str] = ()) -> tuple[str, ...]:
    """What to do with a piece that was cut in another size.

    Parameters
    ----------
    plan
        By which it was cut.
    name
        Its cut: ``B3``.
    wide, long
        As measured, across and along as it hangs.
    cut
        Names of all cuts that are made: what is not among them may come from the piece.

    Returns
    -------
    tuple
        A sentence or more for each side, then what else it would serve for.

    Raises
    ------
    JobError
        There is no such cut, or a size is not above 0.
    """
    cuts = cuts_of(plan)
    found = [(one.layout, row) for one in cuts.lengths for row in one.rows if row.name == name]
    if not found:
        names = [row.name for one in cuts.lengths for row in one.rows]
        raise JobError([Fault("piece", f'"{name}"', f"a cut of this plan: {listed_names(names)}")])
    for what, size in (("width", wide), ("length", long)):
        if size <= 0:
            raise JobError([Fault(what, format_length(size, plan.job.units), "a length above 0")])
    layout, row = found[0]
    bench = _Miscut(plan, layout, row)
    said = [*bench.along(long - row.long), *bench.across(wide - row.wide)]
    if bench.again:
        said += bench.other_uses(wide, long, {*cut, name})
    return tuple(said) or (f"{name} is within what a hand with shears is allowed: leave it as it is.",)


class _Miscut:
    """One piece, and whether it must be cut again."""

    def __init__(self, plan: Plan, layout: FabricLayout, row: CutRow) -> None:
        self._plan, self._layout, self._row = plan, layout, row
        self._piece: Piece = row.first.piece
        self._fabric: Fabric = layout.fabric
        self.again = False

    def _say(self, ticks: int) -> str:
        return format_length(ticks, self._plan.job.units)

    def along(self, more: int) -> Iterator[str]:
        """What to do about its length."""
        unit, piece = self._plan.job.units, self._piece
        if abs(more) <= ALONG.of(unit):
            return
        if more > 0:
            line = line_on(piece, self._fabric.repeat)
            where = (
                "." if line is None else f", so that its start line stays {self._say(line)} above that edge."
            )
            edge = "either end" if line is None else "the lower edge"
            yield f"Too long by {self._say(more)}: trim it to {self._say(self._row.long)} at {edge}{where}"
            return
        short, hem = -more, piece.hem_line or 0
        if piece.role in LAYERS and hem - short >= LEAST_HEM.of(unit):
            yield (
                f"Too short by {self._say(short)}: its hem can give that. Turn up {self._say(hem - short)} "
                f"in all instead of {self._say(hem)}; it then hangs as long as planned. Where the hem shows "
                "against the light, turn up the others of the window alike."
            )
            return
        self.again = True
        yield f"Too short by {self._say(short)}: nothing on it can give that. Mark it as cut again."

    def across(self, more: int) -> Iterator[str]:
        """What to do about its width."""
        piece = self._piece
        if abs(more) <= ACROSS.of(self._plan.job.units):
            return
        if more > 0:
            if piece.match is not None and piece.joined_to:
                yield (
                    f"Too wide by {self._say(more)}: trim the edge that is not matched yet, so that the "
                    "pattern still meets on the seam line."
                )
            else:
                yield f"Too wide by {self._say(more)}: trim it to {self._say(self._row.wide)} at either side."
            return
        less = -more
        if piece.role in LAYERS and not piece.joined_to and less <= piece.width * _LESS_FULL:
            percent = round(100 * less / piece.width) or 1
            yield (
                f"Too narrow by {self._say(less)}: it serves, about {percent} percent less full. Cut its "
                "pair alike, or mark it as cut again."
            )
            return
        self.again = True
        yield f"Too narrow by {self._say(less)}: mark it as cut again."

    def other_uses(self, wide: int, long: int, cut: Collection[str]) -> Iterator[str]:
        """Pieces that are not cut yet and would fit on it, their tops where its own is."""
        serves = [
            row.name
            for one in cuts_of(self._plan).lengths
            for row in one.rows
            if one.layout.fabric.key == self._fabric.key
            and row.name not in cut
            and not row.first.done
            and row.first.piece.match is None
            and row.count == 1
            and row.wide <= wide
            and row.long <= long
        ]
        if serves:
            yield (
                f"Keep it: it is large enough for {listed_names(serves)}, with TOP where its own is. Cut "
                "one of them from it and mark that one as cut."
            )
        else:
            yield "Keep it until the drapes hang: it is too small for any piece that is not cut yet."
