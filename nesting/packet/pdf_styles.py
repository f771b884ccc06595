"""How the text of the PDF is set: sizes, colors, and what keeps typed text from being read as markup."""

from __future__ import annotations

import re
from html import escape
from typing import Any, Final

from reportlab.lib.colors import HexColor
from reportlab.lib.enums import TA_CENTER, TA_LEFT, TA_RIGHT
from reportlab.lib.styles import ParagraphStyle

from nesting.drawing.lettering import READABLE, plain
from nesting.packet.pdf_drawing import BOLD, PLAIN

INK: Final = HexColor("#1d1a17")
FADED: Final = HexColor("#4d453c")
RULE: Final = HexColor("#b9b2a6")

#: Size of the text everywhere but in titles; from one line to the next.
SIZE: Final = READABLE
LEADING: Final = 10.8


def paragraph_style(name: str, size: float = SIZE, *, bold: bool = False, **more: Any) -> ParagraphStyle:
    """A style in the font of the drawings."""
    settings = {
        "fontName": BOLD if bold else PLAIN,
        "fontSize": size,
        "leading": size * LEADING / SIZE,
        "textColor": INK,
    }
    return ParagraphStyle(
        name, **{**settings, "bulletFontName": PLAIN, "bulletFontSize": size, "splitLongWords": 1, **more}
    )


_FRACTION: Final = re.compile(r"(?<=\d) (?=\d+/\d)")

STYLES: Final = {
    "section": paragraph_style("section", 14, bold=True, spaceBefore=8, spaceAfter=4),
    "heading": paragraph_style("heading", 11, bold=True, spaceBefore=6, spaceAfter=2),
    "text": paragraph_style("text", spaceAfter=3),
    "note": paragraph_style("note", spaceAfter=4, textColor=FADED),
    "warning": paragraph_style("warning", spaceAfter=3, leftIndent=8),
    "item": paragraph_style("item", leftIndent=20, bulletIndent=0, spaceAfter=1),
    "ticked": paragraph_style("ticked", leftIndent=30, bulletIndent=0, spaceAfter=1),
    "step": paragraph_style("step", leftIndent=20, bulletFontName=BOLD, bulletFontSize=11),
    "caution": paragraph_style("caution", spaceAfter=2),
    "caption": paragraph_style("caption", bold=True, spaceBefore=3, spaceAfter=1),
    "under": paragraph_style("under", textColor=FADED, spaceAfter=4),
}
for _letter, _align in (("l", TA_LEFT), ("r", TA_RIGHT), ("c", TA_CENTER)):
    for _bold in (False, True):
        STYLES[f"cell{_letter}{_bold}"] = paragraph_style("cell", bold=_bold, alignment=_align)


def markup(text: str) -> str:
    """The text for a paragraph of the PDF library, which reads markup: nothing typed is taken as such.

    No line ends between a number and its fraction: ``104`` and ``15/16`` would be read as two.
    """
    return _FRACTION.sub("\u00a0", escape(plain(text), quote=False))
