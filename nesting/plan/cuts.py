"""The cuts of a bolt step by step, in the order of `packing/cut_order`, and their figures. In ticks."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from nesting.packing.cut_order import Cut, CutCount, CutRule, Freed, Shape, count_of, order_of_cuts
from nesting.packing.ease import Ease, Rectangle, ease_of
from nesting.pieces.piece import LAYERS, Piece
from nesting.plan.blocks import Block
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import Unit, format_length


@dataclass(frozen=True, slots=True)
class Step:
    """The cuts that free one piece, or equal small ones edge to edge.

    ``number`` counts from 1 on each bolt; ``cuts`` may be empty, where those before freed it as well.
    `nesting.plan.numbering` lets the numbers run on from length to length, and gives the ``name``: ``B3``.
    """

    number: int
    cuts: tuple[Cut, ...]
    frees: Block
    name: str = ""


def ease_of_layout(layout: FabricLayout) -> Ease:
    """How easily a bolt is cut, in figures; flaws of a length on hand spoil its offcuts."""
    length, usable = layout.length or 0, layout.usable
    boxes = [(laid.x, laid.y, laid.x + laid.width, laid.y + laid.length) for laid in layout.placements]
    spoiled = list[Rectangle]()
    for flaw in layout.flaws:
        right, end = min(usable, flaw.x + flaw.width), min(length, flaw.y + flaw.length)
        if flaw.x < right and flaw.y < end:
            spoiled.append((flaw.x, flaw.y, right, end))
    return ease_of(boxes, usable, length, spoiled)


def count_of_layout(layout: FabricLayout) -> CutCount:
    """How many cuts a bolt takes, and how often the size changes from one step to the next."""
    return count_of(_freed(layout))


def cutting_words(layout: FabricLayout, unit: Unit) -> str:
    """``77 cuts; the size changes 14 times from one to the next; largest offcut 15 × 61 1/2 in``."""
    count, offcut = count_of_layout(layout), ease_of_layout(layout).offcut
    times = {0: "stays the same", 1: "changes once"}.get(count.changes, f"changes {count.changes} times")
    size = f"the size {times} from one to the next"
    left = "nothing is left over"
    if offcut is not None:
        width, length = offcut[2] - offcut[0], offcut[3] - offcut[1]
        left = f"largest offcut {format_length(width, unit, name=False)} × {format_length(length, unit)}"
    return f"{count.cuts} {'cut' if count.cuts == 1 else 'cuts'}; {size}; {left}"


def cut_rule_of(piece: Piece) -> CutRule:
    """How a piece is cut: a panel's widths by themselves; first what is to hang first, then other panels."""
    layer = piece.role in LAYERS
    return CutRule(alone=layer, turn=2 * (not piece.first) + (not layer))


def cutting_steps(layout: FabricLayout) -> tuple[Step, ...]:
    """Every cut of a bolt, from the squared end on; each placement is freed by exactly one step."""
    return layout.once("cutting steps", lambda: _cutting_steps(layout))


def _cutting_steps(layout: FabricLayout) -> tuple[Step, ...]:
    return tuple(
        Step(number, freed.cuts, _block(freed, layout.placements))
        for number, freed in enumerate(_freed(layout), 1)
    )


def _freed(layout: FabricLayout) -> Sequence[Freed]:
    return layout.once("order of cuts", lambda: _order_of(layout))


def _order_of(layout: FabricLayout) -> tuple[Freed, ...]:
    shapes = [_shape(number, laid) for number, laid in enumerate(layout.placements)]
    return tuple(order_of_cuts(shapes, layout.usable, layout.length or 0))


def _shape(number: int, laid: Laid) -> Shape:
    kind, cut_rules = (laid.piece.id, laid.turn, laid.arrow, laid.letter, laid.done), cut_rule_of(laid.piece)
    return Shape(laid.x, laid.y, laid.x + laid.width, laid.y + laid.length, kind, *cut_rules, number)


def _block(freed: Freed, placements: Sequence[Laid]) -> Block:
    grid = freed.grid
    return Block(placements[grid.first.number], grid.across, grid.along)
