"""Tables of the PDF: heads that come again on every page, boxes to tick and to fill in, texts under rows."""

from __future__ import annotations

import itertools
from typing import Any, Final

from reportlab.pdfbase.pdfmetrics import stringWidth
from reportlab.platypus import Paragraph as Text
from reportlab.platypus import Table as Grid

from nesting.drawing.lettering import plain
from nesting.packet.model import BLANK, Table
from nesting.packet.pdf_drawing import BOLD, PLAIN
from nesting.packet.pdf_styles import INK, LEADING, RULE, SIZE, STYLES, markup
from nesting.packet.room import APART, PAD

_SIDES: Final = {"l": "LEFT", "r": "RIGHT", "c": "CENTER"}

Command = tuple[Any, ...]


def grid(block: Table, width: float, *, together: int = 1) -> Grid:
    """The table, ``width`` points wide; rows are never parted in the middle unless one fills a page.

    Its last ``together`` rows, with the sums under them, stay on one page.
    """
    whole = sum(block.weights)
    widths = [width * weight / whole for weight in block.weights]
    apart = [APART if pair == ("r", "l") else PAD for pair in itertools.pairwise(f"l{block.align}")]
    rooms = [wide - left - PAD for wide, left in zip(widths, apart, strict=True)]

    def cells(texts: tuple[str, ...], *, bold: bool = False) -> list[object]:
        return [_cell(t, a, w, bold=bold) for t, a, w in zip(texts, block.align, rooms, strict=True)]

    rows, commands, begins = [cells(block.head, bold=True)], _usual(block, apart), list[int]()
    for number, row in enumerate(block.rows):
        at = len(rows)
        begins.append(at)
        rows.append(cells(row))
        commands += [("BOX", (n, at), (n, at), 0.7, INK) for n, text in enumerate(row) if text == BLANK]
        if block.under and block.under[number]:
            rows.append([Text(markup(block.under[number]), STYLES["celllFalse"]), *[""] * (len(widths) - 1)])
            commands += [
                ("SPAN", (0, at + 1), (-1, at + 1)),
                ("TOPPADDING", (0, at + 1), (-1, at + 1), 0),
                ("BOTTOMPADDING", (0, at), (-1, at), 1),
                ("NOSPLIT", (0, at), (-1, at + 1)),
                ("FONT", (0, at), (0, at), BOLD, SIZE, LEADING),
            ]
        commands.append(("LINEBELOW", (0, len(rows) - 1), (-1, len(rows) - 1), 0.4, RULE))
    rows += [cells(row, bold=True) for row in block.foot]
    if block.foot:
        commands.append(("LINEABOVE", (0, -len(block.foot)), (-1, -len(block.foot)), 0.9, INK))
    if begins and (block.foot or together > 1):
        # A sum never stands on a page without the last of what it adds up.
        commands.append(("NOSPLIT", (0, begins[-min(together, len(begins))]), (-1, -1)))
    return Grid(rows, colWidths=widths, repeatRows=1, style=commands, hAlign="LEFT")


def _usual(block: Table, apart: list[float]) -> list[Command]:
    commands: list[Command] = [
        ("FONT", (0, 0), (-1, -1), PLAIN, SIZE, LEADING),
        ("FONT", (0, 0), (-1, 0), BOLD, SIZE, LEADING),
        ("TEXTCOLOR", (0, 0), (-1, -1), INK),
        ("VALIGN", (0, 0), (-1, 0), "BOTTOM"),
        ("VALIGN", (0, 1), (-1, -1), "TOP"),
        ("RIGHTPADDING", (0, 0), (-1, -1), PAD),
        ("TOPPADDING", (0, 0), (-1, -1), 0.8),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 1.6),
        ("LINEBELOW", (0, 0), (-1, 0), 0.9, INK),
    ]
    commands += [("ALIGN", (n, 0), (n, -1), _SIDES[letter]) for n, letter in enumerate(block.align)]
    return commands + [("LEFTPADDING", (n, 0), (n, -1), left) for n, left in enumerate(apart)]


def _cell(text: str, align: str, room: float, *, bold: bool) -> object:
    """Short text as it stands; what is wider than its column is broken over lines."""
    if text == BLANK:
        return ""
    shown = plain(text)
    if not bold and stringWidth(shown, PLAIN, SIZE) <= room - 0.5:
        return shown
    return Text(markup(text), STYLES[f"cell{align}{bold}"])
