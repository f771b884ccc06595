"""Equal small pieces that lie edge to edge, taken together as one entry of the cut list."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nesting.pieces.piece import LAYERS
from nesting.plan.plan import Laid

_Spot = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Block:
    """A grid of equal pieces without gaps, ``across`` by ``along`` of them; ``first`` lies nearest to 0, 0.

    Every cut edge follows from it: the pieces lie at ``first`` plus whole widths and lengths.
    """

    first: Laid
    across: int = 1
    along: int = 1

    @property
    def count(self) -> int:
        """How many pieces it holds."""
        return self.across * self.along

    @property
    def end(self) -> int:
        """Where it ends along the bolt, in ticks."""
        return self.first.y + self.along * self.first.length

    @property
    def arranged(self) -> str:
        """How its pieces lie: ``16 in a row`` along the bolt, ``2 side by side``, or both."""
        if self.across > 1 and self.along > 1:
            return f"{self.across} side by side in {self.along} rows"
        return f"{self.along} in a row" if self.across == 1 else f"{self.across} side by side"

    @property
    def spots(self) -> Iterator[tuple[int, int]]:
        """Where its pieces lie, across and along."""
        return _spots(self)


def blocks(placements: Iterable[Laid]) -> Iterator[Block]:
    """The placements from the squared end on, then from the left, equal small ones together.

    Panels and linings keep an entry each, for each is cut and labeled by itself. What the entries hold
    adds up to the placements: nothing is left out, nothing counted twice.
    """
    ordered = sorted(placements, key=lambda laid: (laid.y, laid.x))
    free: dict[object, set[_Spot]] = {}
    for laid in ordered:
        free.setdefault(_kind(laid), set()).add((laid.x, laid.y))
    for laid in ordered:
        spots = free[_kind(laid)]
        if laid.piece.role in LAYERS:
            yield Block(laid)
        elif (laid.x, laid.y) in spots:
            block = max(_grid(laid, spots, first="across"), _grid(laid, spots, first="along"), key=_count)
            spots -= set(_spots(block))
            yield block


def _count(block: Block) -> int:
    return block.count


def _kind(laid: Laid) -> object:
    return laid.piece.id, laid.turn, laid.arrow, laid.letter, laid.done


def _spots(block: Block) -> Iterator[_Spot]:
    laid = block.first
    for column in range(block.across):
        for row in range(block.along):
            yield laid.x + column * laid.width, laid.y + row * laid.length


def _grid(laid: Laid, spots: set[_Spot], *, first: str) -> Block:
    """The grid that grows one way as far as it can, then the other."""
    block = Block(laid)
    for way in ("across", "along") if first == "across" else ("along", "across"):
        while spots.issuperset(_spots(larger := _grown(block, way))):
            block = larger
    return block


def _grown(block: Block, way: str) -> Block:
    if way == "across":
        return Block(block.first, block.across + 1, block.along)
    return Block(block.first, block.across, block.along + 1)
