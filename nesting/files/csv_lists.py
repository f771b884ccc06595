"""Cut list and piece list as CSV, lengths both as read off a tape and as decimals of the job's units."""

from __future__ import annotations

from collections.abc import Iterable
from typing import Final

from nesting.pieces.piece import Piece
from nesting.plan.csv_rows import rows_csv
from nesting.plan.cut_rows import cuts_of
from nesting.plan.numbering import seam_words
from nesting.plan.pattern import start_line
from nesting.plan.plan import Plan
from nesting.units import Unit, format_length, to_decimal

_CUT_COLUMNS: Final = (
    "number", "fabric", "on hand", "piece", "copy", "name", "role",
    "width", "length", "x", "x end", "y start", "y end",
    "width decimal", "length decimal", "x decimal", "x end decimal", "y start decimal", "y end decimal",
    "units", "turn", "arrow", "letter", "start line", "start line decimal", "cut",
)  # fmt: skip
_PIECE_COLUMNS: Final = (
    "piece", "name", "role", "window", "room", "fabric", "copies", "width", "length",
    "width decimal", "length decimal", "units", "finished width", "finished length",
    "nap", "turnable", "matched", "optional", "arithmetic", "notes",
)  # fmt: skip


def cut_list_csv(plan: Plan) -> str:
    """One row for each piece laid, fabric by fabric, in the order they are cut.

    ``number`` is what the piece is called everywhere, ``cut`` the same without the letter of its fabric;
    ``width`` and ``length`` are as it hangs (where ``turn`` is 90 its width runs along the bolt), ``x`` from
    the left edge of the usable width, ``y`` from the squared end; ``start line`` is where the line of the
    pattern crosses a matched cut. Tape columns are rounded to 1/16 in or 1 mm, decimal columns are exact to
    the tick.
    """
    unit, rows = plan.job.units, list[tuple[object, ...]]()
    for length, cut, laid in cuts_of(plan).pieces():
        line = start_line(length.layout, laid)
        sizes = (cut.wide, cut.long, laid.x, laid.x + laid.width, laid.y, laid.y + laid.length)
        rows.append(
            (
                cut.name, length.layout.fabric.title, length.layout.on_hand or "",
                laid.piece.id, laid.copy, cut.title, laid.piece.role,
                *(format_length(size, unit, name=False) for size in sizes),
                *(to_decimal(size, unit) for size in sizes),
                unit, laid.turn, cut.top, cut.letter,
                _tape(line, unit), "" if line is None else to_decimal(line, unit), str(cut.number),
            )
        )  # fmt: skip
    return rows_csv(_CUT_COLUMNS, rows)


def pieces_csv(pieces: Iterable[Piece], units: Unit) -> str:
    """One row for each piece to cut, upright, with the sums that led to its size."""
    rows = [
        (
            piece.id, piece.name, piece.role, piece.window or "", piece.room or "", piece.fabric,
            piece.copies,
            format_length(piece.width, units, name=False), format_length(piece.length, units, name=False),
            to_decimal(piece.width, units), to_decimal(piece.length, units), units,
            _tape(piece.finished_width, units), _tape(piece.finished_length, units),
            piece.nap, _yes(piece.turnable), _yes(piece.match is not None), _yes(piece.optional),
            "; ".join(piece.arithmetic(units)), "; ".join((*piece.notes, *seam_words(piece))),
        )
        for piece in pieces
    ]  # fmt: skip
    return rows_csv(_PIECE_COLUMNS, rows)


def _tape(ticks: int | None, unit: Unit) -> str:
    return "" if ticks is None else format_length(ticks, unit, name=False)


def _yes(flag: bool) -> str:
    return "yes" if flag else "no"
