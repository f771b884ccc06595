"""Labels to pin on: one for each piece that is cut, in the order of the cut list."""

from __future__ import annotations

from typing import Final

from nesting.packet.model import Label, LabelSheet, Paragraph, Section
from nesting.pieces.piece import AS_IT_HANGS, LAYERS
from nesting.plan.csv_rows import rows_csv
from nesting.plan.cut_rows import CutLength, CutList, CutRow, cuts_of
from nesting.plan.numbering import Numbering
from nesting.plan.plan import Laid, Plan
from nesting.units import Unit, format_length

_COLUMNS: Final = (
    "number", "fabric", "piece", "name", "window", "side", "width", "length", "units", "letter", "TOP",
    "copy", "of",
)  # fmt: skip

#: How notes begin that stand on a label.
_TOLD: Final = ("leading edge", AS_IT_HANGS)


def labels(plan: Plan, cuts: CutList | None = None) -> tuple[Label, ...]:
    """One label for each piece laid; ``cuts`` are the plan's, where they are made already."""
    listed, unit = cuts_of(plan) if cuts is None else cuts, plan.job.units
    return tuple(_label(length, cut, laid, listed.numbers, unit) for length, cut, laid in listed.pieces())


def _label(length: CutLength, cut: CutRow, laid: Laid, numbers: Numbering, unit: Unit) -> Label:
    piece, layout = laid.piece, length.layout
    side = f"{piece.side} panel, seen from the room" if piece.side in ("left", "right") else ""
    lines = [length.fabric, side]
    if piece.hem_line and piece.role in LAYERS:
        lines.append(f"hem line {format_length(piece.hem_line, unit)}")
    if piece.finished_length is not None and piece.role in LAYERS:
        lines.append(f"finishes {format_length(piece.finished_length, unit)}")
    lines += [note for note in piece.notes if note.startswith(_TOLD) or "not cut off" in note]
    lines += numbers.seams(laid)
    size = f"{format_length(cut.wide, unit, name=False)} × {format_length(cut.long, unit)}"
    top = ""
    if piece.nap == "one-way" and layout.fabric.repeat is not None:
        top = "pattern upright"
    elif piece.nap == "one-way":
        top = "stroke this way = smooth" if layout.fabric.arrow == "up" else "stroke toward the hem = smooth"
    return Label(
        number=f"cut {cut.name}",
        name=cut.title,
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
    unit = plan.job.units
    rows = [
        (
            cut.name, length.layout.fabric.title, laid.piece.id, cut.title, laid.piece.window or "",
            laid.piece.side or "", format_length(cut.wide, unit, name=False),
            format_length(cut.long, unit, name=False), unit, cut.letter, cut.top, laid.copy,
            laid.piece.copies,
        )
        for length, cut, laid in cuts_of(plan).pieces()
    ]  # fmt: skip
    return rows_csv(_COLUMNS, rows)
