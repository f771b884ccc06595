"""How the text of the PDF is set: sizes, colors, and what keeps typed text from being read as markup."""

from __future__ import annotations

from html import escape
from typing import Any, Final

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_CENTER, TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle

from nesting.drawing.lettering import plain
from nesting.packet.pdf_drawing import BOLD, PLAIN

INK: Final = HexColor("#1d1a17")
FADED: Final = HexColor("#4d453c")
RULE: Final = HexColor("#b9b2a6")

#: Sizes of the text in tables: usual, and small for many columns.
CELL: Final = 7.8
SMALL_CELL: Final = 6.8


def paragraph_style(name: str, size: float, *, bold: bool = False, **more: Any) -> ParagraphStyle:
    """A style in the font of the drawings."""
    settings = {
        "fontName": BOLD if bold else PLAIN,
        "fontSize": size,
        "leading": size * 1.32,
        "textColor": INK,
    }
    return ParagraphStyle(
        name, **{**settings, "bulletFontName": PLAIN, "bulletFontSize": size, "splitLongWords": 1, **more}
    )


STYLES: Final = {
    "title": paragraph_style("title", 19, bold=True, spaceAfter=6),
    "section": paragraph_style("section", 14, bold=True, spaceAfter=8, borderPadding=(0, 0, 3, 0)),
    "heading": paragraph_style("heading", 11, bold=True, spaceBefore=9, spaceAfter=3),
    "text": paragraph_style("text", 9, spaceAfter=4),
    "note": paragraph_style("note", 7.8, spaceAfter=5, textColor=FADED),
    "warning": paragraph_style("warning", 9, spaceAfter=4, leftIndent=8, borderPadding=0),
    "item": paragraph_style("item", 9, leftIndent=20, bulletIndent=0, spaceAfter=2.5),
    "step": paragraph_style("step", 9, leftIndent=20, bulletFontName=BOLD, bulletFontSize=11),
    "caption": paragraph_style("caption", 8.2, bold=True, spaceBefore=5, spaceAfter=2),
    "under": paragraph_style("under", 7.8, textColor=FADED, spaceAfter=7),
}
for _size in (CELL, SMALL_CELL):
    for _letter, _align in (("l", TA_LEFT), ("r", TA_RIGHT), ("c", TA_CENTER)):
        for _bold in (False, True):
            STYLES[f"cell{_size}{_letter}{_bold}"] = paragraph_style(
                "cell", _size, bold=_bold, alignment=_align, leading=_size * 1.25
            )


def markup(text: str) -> str:
    """The text for a paragraph of the PDF library, which reads markup: nothing typed is taken as such."""
    return escape(plain(text), quote=False)
