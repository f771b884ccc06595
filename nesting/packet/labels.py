"""Labels to pin on: one for each piece that is cut, in the order of the cut list."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.cutting.thumb import LAYERS
from nesting.packet.cut_list import CutLine, cuts
from nesting.packet.facts import laid_out
from nesting.packet.model import Label, LabelSheet, Paragraph, Section
from nesting.plan.csv_rows import rows_csv
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.units import Unit, format_length

_COLUMNS: Final = (
    "number", "fabric", "piece", "name", "window", "side", "width", "length", "units", "letter", "TOP",
    "copy", "of",
)  # fmt: skip


def _laid(layout: FabricLayout, numbers: Numbering) -> Iterator[tuple[CutLine, Laid]]:
    """Each cut with every piece it holds."""
    by_place = {(laid.piece.id, laid.x, laid.y): laid for laid in layout.placements}
    for cut in cuts(layout, numbers):
        first = cut.first
        for along in range(cut.group.along):
            for across in range(cut.group.across):
                place = (first.piece.id, first.x + across * first.width, first.y + along * first.length)
                yield cut, by_place[place]


def labels(plan: Plan) -> tuple[Label, ...]:
    """One label for each piece laid."""
    unit, numbers = plan.job.units, numbering(plan.layouts)
    return tuple(
        _label(layout, cut, laid, numbers, unit)
        for layout in laid_out(plan)
        for cut, laid in _laid(layout, numbers)
    )


def _label(layout: FabricLayout, cut: CutLine, laid: Laid, numbers: Numbering, unit: Unit) -> Label:
    piece = laid.piece
    side = f"{piece.side} panel, seen from the room" if piece.side in ("left", "right") else ""
    lines = [numbers.fabric(layout), side]
    if piece.hem_line and piece.role in LAYERS:
        lines.append(f"hem line {format_length(piece.hem_line, unit)}")
    if piece.finished_length is not None and piece.role in LAYERS:
        lines.append(f"finishes {format_length(piece.finished_length, unit)}")
    lines += [note for note in piece.notes if note.startswith("leading edge") or "not cut off" in note]
    lines += numbers.seams(laid)
    size = f"{format_length(piece.width, unit, name=False)} × {format_length(piece.length, unit)}"
    top = ""
    if piece.nap == "one-way" and layout.fabric.repeat is not None:
        top = "pattern upright"
    elif piece.nap == "one-way":
        top = "stroke this way = smooth" if layout.fabric.arrow == "up" else "stroke toward the hem = smooth"
    return Label(
        number=f"cut {cut.name}",
        name=piece.name,
        size=size,
        lines=tuple(line for line in lines if line),
        letter=laid.letter,
        top=top,
        copy=f"{laid.copy} of {piece.copies}" if piece.copies > 1 else "",
        piece=piece.id,
    )


def label_section(found: tuple[Label, ...]) -> Section:
    """The labels as they are cut apart and pinned on."""
    text = (
        f"{len(found)} labels, one for each piece. Cut them apart and pin each on the wrong side of its "
        "piece, the arrow toward the chalked TOP, before the piece leaves the table. They are also in "
        "labels.pdf, on plain paper. Left and right are those of the piece when it lies right side up, TOP "
        "away from you. If label and fabric disagree, stop: measure the piece and find its number on "
        "the marker before anything else is cut."
    )
    return Section("labels", "Labels", (Paragraph(text), LabelSheet(found)))


def labels_csv(plan: Plan) -> str:
    """One row for each label."""
    unit, numbers = plan.job.units, numbering(plan.layouts)
    rows = [
        (
            cut.name, layout.fabric.title, laid.piece.id, laid.piece.name, laid.piece.window or "",
            laid.piece.side or "", format_length(laid.piece.width, unit, name=False),
            format_length(laid.piece.length, unit, name=False), unit, laid.letter, laid.arrow, laid.copy,
            laid.piece.copies,
        )
        for layout in laid_out(plan)
        for cut, laid in _laid(layout, numbers)
    ]  # fmt: skip
    return rows_csv(_COLUMNS, rows)
