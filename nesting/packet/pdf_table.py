"""Tables of the PDF: heads that come again on every page, boxes to tick and to fill in."""

from __future__ import annotations

import itertools
from typing import Any, Final

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Paragraph as Text
from reportlab.platypus import Table as Grid

from nesting.drawing.lettering import plain
from nesting.packet.model import BLANK, Table
from nesting.packet.pdf_drawing import BOLD, PLAIN
from nesting.packet.pdf_styles import CELL, INK, RULE, SMALL_CELL, STYLES, markup

_PAD: Final = 2.5
#: Before words that follow figures set to the right, so that both can be told apart.
_APART: Final = 9.0
_SIDES: Final = {"l": "LEFT", "r": "RIGHT", "c": "CENTER"}


def grid(block: Table, width: float) -> Grid:
    """The table, ``width`` points wide; rows are never parted in the middle unless one fills a page."""
    size = SMALL_CELL if block.small else CELL
    whole = sum(block.weights)
    widths = [width * weight / whole for weight in block.weights]
    apart = [_APART if pair == ("r", "l") else _PAD for pair in itertools.pairwise(f"l{block.align}")]
    rooms = [wide - left - _PAD for wide, left in zip(widths, apart, strict=True)]
    foot = len(block.foot)
    rows = [
        [
            _cell(text, size, letter, room, bold=True)
            for text, letter, room in zip(block.head, block.align, rooms, strict=True)
        ]
    ]
    for number, row in enumerate((*block.rows, *block.foot)):
        bold = number >= len(block.rows)
        rows.append(
            [_cell(t, size, a, w, bold=bold) for t, a, w in zip(row, block.align, rooms, strict=True)]
        )
    commands: list[tuple[Any, ...]] = [
        ("FONT", (0, 0), (-1, -1), PLAIN, size, size * 1.25),
        ("FONT", (0, 0), (-1, 0), BOLD, size, size * 1.25),
        ("TEXTCOLOR", (0, 0), (-1, -1), INK),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("RIGHTPADDING", (0, 0), (-1, -1), _PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2.5),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, INK),
        ("LINEBELOW", (0, 1), (-1, -1), 0.4, RULE),
    ]
    commands += [("ALIGN", (n, 0), (n, -1), _SIDES[letter]) for n, letter in enumerate(block.align)]
    commands += [("LEFTPADDING", (n, 0), (n, -1), left) for n, left in enumerate(apart)]
    if foot:
        # A sum never stands on a page without the last of what it adds up.
        commands.append(("NOSPLIT", (0, -foot - 1), (-1, -1)))
        commands.append(("FONT", (0, -foot), (-1, -1), BOLD, size, size * 1.25))
        commands.append(("LINEABOVE", (0, -foot), (-1, -foot), 0.9, INK))
    for down, row in enumerate(block.rows, 1):
        commands += [("BOX", (n, down), (n, down), 0.7, INK) for n, text in enumerate(row) if text == BLANK]
    return Grid(rows, colWidths=widths, repeatRows=1, style=commands, hAlign="LEFT")


def _cell(text: str, size: float, align: str, room: float, *, bold: bool) -> object:
    """Short text as it stands; what is wider than its column is broken over lines."""
    if text == BLANK:
        return ""
    shown = plain(text)
    if stringWidth(shown, BOLD if bold else PLAIN, size) <= room - 0.5:
        return shown
    return Text(markup(text), STYLES[f"cell{size}{align}{bold}"])
