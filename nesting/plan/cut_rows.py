"""The one cut list of a plan: every cut in the order it is made, with its number, its pieces and its places.

Terminal, ``cut-list.csv``, packet, labels, page and notebook all read these rows and put none together.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass

from nesting.order.fabric import Arrow, Edge
from nesting.packing.ease import across_lines
from nesting.plan.blocks import Block
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout, Laid, Plan


@dataclass(frozen=True, slots=True)
class CutRow:
    """One cut of the list; lengths in ticks.

    Attributes
    ----------
    number
        In the order of cutting, from 1 on through all lengths of a fabric.
    name
        What its pieces are called everywhere: ``B3``.
    group
        What is cut: one piece, or equal small ones edge to edge.
    pieces
        Every piece of it, from the squared end on, then from the left.
    left
        What must at least be left on the bolt once it is cut; None where the fabric is not parted there.
    line
        Where the start line of a print crosses it, from the squared end; None where it has none.
    """

    number: int
    name: str
    group: Block
    pieces: tuple[Laid, ...]
    left: int | None = None
    line: int | None = None

    @property
    def first(self) -> Laid:
        """The piece that lies nearest to the squared end."""
        return self.group.first

    @property
    def title(self) -> str:
        """What its pieces are, in words."""
        return self.first.piece.name

    @property
    def count(self) -> int:
        """How many pieces it holds."""
        return self.group.count

    @property
    def wide(self) -> int:
        """Cut width of a piece as it hangs."""
        return self.first.piece.width

    @property
    def long(self) -> int:
        """Cut length of a piece as it hangs."""
        return self.first.piece.length

    @property
    def start(self) -> int:
        """Where it begins along the bolt, from the squared end."""
        return self.first.y

    @property
    def end(self) -> int:
        """Where it ends along the bolt, from the squared end."""
        return self.group.end

    @property
    def across(self) -> int:
        """Where it begins from the left."""
        return self.first.x

    @property
    def letter(self) -> str:
        """Of a drop match; empty without one."""
        return self.first.letter

    @property
    def top(self) -> Arrow | Edge:
        """Where TOP lies on the fabric."""
        return self.first.arrow


@dataclass(frozen=True, slots=True)
class CutLength:
    """The cuts of one layout: a bolt, or a length on hand. ``letter`` is that of its fabric, or empty."""

    layout: FabricLayout
    fabric: str
    letter: str
    rows: tuple[CutRow, ...]


@dataclass(frozen=True, slots=True)
class CutList:
    """All cuts of a plan, and the numbers they give."""

    lengths: tuple[CutLength, ...]
    numbers: Numbering

    def of(self, layout: FabricLayout) -> tuple[CutRow, ...]:
        """The cuts of one layout; none where nothing is laid on it."""
        found = (length for length in self.lengths if length.layout is layout)
        return next((length.rows for length in found), ())

    def pieces(self) -> Iterator[tuple[CutLength, CutRow, Laid]]:
        """Every piece laid, in the order of cutting."""
        for length in self.lengths:
            for row in length.rows:
                for laid in row.pieces:
                    yield length, row, laid


def cuts_of(plan: Plan) -> CutList:
    """The cut list of a plan, layout by layout as the plan has them."""
    numbers = numbering(plan.layouts)
    laid_out = (layout for layout in plan.layouts if layout.length is not None)
    lengths = (
        CutLength(layout, numbers.fabric(layout), numbers.letter(layout), tuple(_rows(layout, numbers)))
        for layout in laid_out
    )
    return CutList(tuple(lengths), numbers)


def straight_cuts(layout: FabricLayout) -> tuple[int, ...]:
    """Where the fabric can be cut straight across without meeting a piece, the end of the layout last."""
    return across_lines((laid.y, laid.y + laid.length) for laid in layout.placements)


def _rows(layout: FabricLayout, numbers: Numbering) -> Iterator[CutRow]:
    steps = numbers.steps(layout)
    straight, places = set(straight_cuts(layout)), _by_place(layout)
    # The fabric is parted where all that lies before a straight cut is freed, and nothing beyond it.
    begins = list(itertools.accumulate((step.frees.first.y for step in reversed(steps)), min))[::-1]
    done = 0
    for at, step in enumerate(steps, 1):
        group, done = step.frees, max(done, step.frees.end)
        parted = done in straight and (at == len(steps) or begins[at] >= done)
        yield CutRow(
            number=step.number,
            name=step.name,
            group=group,
            pieces=tuple(
                places[group.first.piece.id, y, x] for y, x in sorted((y, x) for x, y in group.spots)
            ),
            left=_left(layout, done) if parted else None,
            line=start_line(layout, group.first),
        )


def _by_place(layout: FabricLayout) -> dict[tuple[str, int, int], Laid]:
    return {(laid.piece.id, laid.y, laid.x): laid for laid in layout.placements}


def _left(layout: FabricLayout, at: int) -> int | None:
    if layout.buy is not None:
        return layout.buy.total - (layout.buy.needed - layout.buy.length) - at
    there = layout.there
    return None if there is None else there.length - layout.reserve - at
