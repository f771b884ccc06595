"""Pieces, counted: what is needed beside what the lists of cuts have, and how much there is to cut."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator

from nesting.packet.facts import both_units, laid_out, plural
from nesting.packet.model import Block, Paragraph, Section, Table
from nesting.packet.what_is_left import offcut_words, offcuts
from nesting.plan.cuts import cutting_words, ease_of_layout
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.sequence import price_words
from nesting.units import Unit, format_length


def counted(plan: Plan, numbers: Numbering) -> Section:
    """The piece list beside what is laid: the counts must agree."""
    laid = Counter(laid.piece.id for layout in plan.layouts for laid in layout.placements)
    rows = tuple(
        (
            piece.name,
            plan.job.fabric(piece.fabric).title,
            _size(piece.width, piece.length, plan.job.units),
            str(piece.copies),
            str(laid[piece.id]),
        )
        for piece in plan.pieces
    )
    total = ("all pieces", "", "", str(sum(p.copies for p in plan.pieces)), str(laid.total()))
    table = Table(
        "Every piece of the job: how many are needed, how many the lists of cuts have",
        ("piece", "fabric", "cut size", "needed", "on the lists"),
        rows,
        "lllrr",
        (4, 2, 2.4, 1, 1.2),
        (total,),
    )
    return Section("pieces", "Pieces, counted", (table, *_ease(plan, numbers)))


def _ease(plan: Plan, numbers: Numbering) -> Iterator[Block]:
    for layout in laid_out(plan):
        unit = plan.job.units
        said = [figures_words(layout, unit)]
        said += [f"{offcut_words(one.offcut, unit)}: enough for {one.use}." for one in offcuts(layout, unit)]
        yield Paragraph(" ".join(said), f"{numbers.fabric(layout)}:")


def figures_words(layout: FabricLayout, unit: Unit) -> str:
    """How many cuts there are, how often the size changes, what is left in one piece, the longest line."""
    ease = ease_of_layout(layout)
    said = (
        f"{cutting_words(layout, unit)}. The longest line to cut is {both_units(ease.longest, unit)}; at "
        f"{plural(ease.across, 'place')} the fabric is cut across from selvage to selvage."
    )
    if layout.longer_than_free is not None:
        said += f" It is cut across first, which makes it {price_words(layout, unit)}."
    return said


def _size(width: int, length: int, unit: Unit) -> str:
    return f"{format_length(width, unit, name=False)} × {format_length(length, unit)}"
