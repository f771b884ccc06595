"""The lower edge of a layer: the turns of its hem, and what is cut off of its widths before they are joined.

A width that was cut before its panel hung has more or less below its hem line than was planned. What is more
is cut off; what is less is missing in the first turn, on all widths of the panel.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.order.job import Hem
from nesting.pieces.piece import AS_IT_HANGS, Piece
from nesting.sewing import Operation, Trim
from nesting.sewing.folding import SAME


@dataclass(frozen=True, slots=True)
class LowerEdge:
    """What becomes of the lower edge of one layer of a panel, in ticks once washed.

    Attributes
    ----------
    turns
        Of its hem, from the raw edge on; none where it has none.
    less
        How much less than ordered its hem takes.
    off
        By piece id, what is cut off of its lower edge first.
    """

    turns: tuple[Fraction, ...]
    less: Fraction
    off: tuple[tuple[str, Fraction], ...] = ()

    @property
    def takes(self) -> Fraction:
        """What the hem takes, all turns together."""
        return sum(self.turns, Fraction(0))

    def trims(self) -> Iterator[Operation]:
        """What is more of the widths cut off, but for what no hand sees."""
        return (Trim(piece, "bottom", off) for piece, off in self.off if off > SAME)

    def off_of(self, piece: str) -> Fraction:
        """What is cut off of one piece."""
        return dict(self.off).get(piece, Fraction(0))


#: Of a layer without a hem.
PLAIN_EDGE: Final = LowerEdge((), Fraction(0))


def lower_edge(pieces: Sequence[Piece], hem: Hem, kept: Fraction) -> LowerEdge:
    """The lower edge of the widths of one layer of a panel.

    Parameters
    ----------
    pieces
        The widths.
    hem
        As ordered.
    kept
        The part of a length that a wash leaves.
    """
    whole = Fraction(hem.allowance)
    usual = (Fraction(hem.turn),) * hem.turns if hem.allowance else ()
    before = {piece.id: (piece.hem_line or 0) * kept for piece in pieces if _cut_before(piece)}
    if not before or hem.selvage:
        return LowerEdge(usual, Fraction(0))
    takes = min(whole, *before.values())
    off = tuple((piece.id, before.get(piece.id, whole) - takes) for piece in pieces)
    turns = (takes - sum(usual[1:]), *usual[1:]) if usual else ()
    return LowerEdge(turns, whole - takes, off)


def _cut_before(piece: Piece) -> bool:
    return any(note.startswith(AS_IT_HANGS) for note in piece.notes)
