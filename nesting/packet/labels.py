"""Labels to pin on, in the order of the cuts: one for each piece, one for all identical small ones."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from nesting.packet.model import Label, LabelSheet, Paragraph, Section
from nesting.pieces.piece import AS_IT_HANGS, LAYERS, Role
from nesting.plan.csv_rows import rows_csv
from nesting.plan.cut_rows import CutLength, CutList, CutRow, cuts_of
from nesting.plan.numbering import Numbering, in_order_of_number, runs_of
from nesting.plan.plan import Laid, Plan
from nesting.units import Unit, format_length

_COLUMNS: Final = (
    "number", "fabric", "piece", "name", "window", "side", "width", "length", "units", "letter", "TOP",
    "copy", "of", "pieces",
)  # fmt: skip
#: What is sewn to a panel of its own has a label of its own; of all else one will do for identical pieces.
OWN_LABEL: Final[tuple[Role, ...]] = (*LAYERS, "facing", "band")


@dataclass(frozen=True, slots=True)
class _Labeled:
    """The pieces of one label, in the order in which they are cut."""

    length: CutLength
    cuts: tuple[CutRow, ...]
    pieces: tuple[Laid, ...]

    @property
    def number(self) -> str:
        """The cuts they come from: ``A3 to A8``."""
        return runs_of(in_order_of_number(cut.name for cut in self.cuts))


def _labeled(listed: CutList) -> tuple[_Labeled, ...]:
    """Pieces that share a label: identical ones of one lot, where none is sewn to a panel of its own."""
    found = dict[object, list[tuple[CutLength, CutRow, Laid]]]()
    for length, cut, laid in listed.pieces():
        piece = laid.piece
        own = (
            (piece.id, laid.copy)
            if piece.role in OWN_LABEL
            else (piece.id, laid.letter, laid.done, length.layout.lot)
        )
        found.setdefault(own, []).append((length, cut, laid))
    return tuple(
        _Labeled(some[0][0], tuple(cut for _, cut, _ in some), tuple(laid for *_, laid in some))
        for some in found.values()
    )


#: What hangs with its right side away from the room: its label tells its edges as they lie right side up.
_TO_THE_WINDOW: Final[tuple[Role, ...]] = ("lining", "facing")

#: How notes begin that stand on a label.
_TOLD: Final = ("leading edge", AS_IT_HANGS)


def labels(plan: Plan, cuts: CutList | None = None) -> tuple[Label, ...]:
    """The labels of all pieces laid; ``cuts`` are the plan's, where they are made already."""
    listed, unit = cuts_of(plan) if cuts is None else cuts, plan.job.units
    return tuple(_label(one, listed.numbers, unit) for one in _labeled(listed))


def _label(one: _Labeled, numbers: Numbering, unit: Unit) -> Label:
    laid, cut, layout = one.pieces[0], one.cuts[0], one.length.layout
    piece, count = laid.piece, len(one.pieces)
    side = ""
    if piece.side in ("left", "right"):
        said = f"{piece.side} " in cut.title
        side = "seen from the room" if said else f"{piece.side} panel, seen from the room"
        if piece.role in _TO_THE_WINDOW:
            side = f"of the {piece.side} panel, its right side to the window"
    lines = [one.length.fabric, side]
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
    copy = f"{laid.copy} of {piece.copies}" if piece.copies > 1 else ""
    return Label(
        number=f"cut{'s' if ' ' in one.number else ''} {one.number}",
        name=cut.title,
        size=size,
        lines=tuple(line for line in lines if line),
        letter=laid.letter,
        top=top,
        copy=f"{count} pieces" if count > 1 else copy,
        piece=piece.id,
        pieces=count,
    )


def label_section(found: tuple[Label, ...]) -> Section:
    """The labels as they are cut apart and pinned on."""
    text = (
        "Cut them apart and pin each on the wrong side of its piece, the arrow toward the chalked TOP, "
        "before the piece leaves the table; tie up identical small pieces with their one label. Left and "
        "right are those of the piece right side up, TOP away from you. If label and fabric disagree, stop: "
        "measure the piece and find its number on the marker before anything else is cut."
    )
    return Section("labels", "Labels", (Paragraph(text), LabelSheet(found)), "labels")


def labels_csv(plan: Plan) -> str:
    """One row for each label, ``pieces`` counting what shares it; ``copy`` is of a piece that has its own."""
    unit = plan.job.units
    rows = []
    for one in _labeled(cuts_of(plan)):
        laid, cut, count = one.pieces[0], one.cuts[0], len(one.pieces)
        rows.append(
            (
                one.number, one.length.layout.fabric.title, laid.piece.id, cut.title, laid.piece.window or "",
                laid.piece.side or "", format_length(cut.wide, unit, name=False),
                format_length(cut.long, unit, name=False), unit, cut.letter, cut.top,
                laid.copy if count == 1 else "", laid.piece.copies, count,
            )
        )  # fmt: skip
    return rows_csv(_COLUMNS, rows)
