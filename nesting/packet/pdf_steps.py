"""Steps of sewing in the PDF: two abreast, each with its drawing at its right and the text around it."""

from __future__ import annotations

from typing import Any, Final

from reportlab.platypus import Flowable
from reportlab.platypus import Paragraph as Text
from reportlab.platypus import Table as Grid

from nesting.drawing.trace import Drawing
from nesting.packet.model import TICK_BOX, MakingStep, MakingSteps
from nesting.packet.pdf_drawing import place
from nesting.packet.pdf_styles import RULE, STYLES, markup

#: Steps side by side, and the room between them in points.
ABREAST: Final = 2
_APART: Final = 14.0
#: Between a text and its drawing, and above and below both.
_BESIDE: Final = 8.0
_PAD: Final = 4.0


class _BesideDrawing(Flowable):
    """A text that runs around the drawing at its right."""

    def __init__(self, text: Text, drawing: Drawing) -> None:
        super().__init__()
        self._text, self._drawing = text, drawing

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Its size: as high as text or drawing."""
        text: Any = self._text
        style = text.style
        whole = aW - style.leftIndent
        narrow = whole - self._drawing.width - _BESIDE
        beside = int((self._drawing.height + _BESIDE) / style.leading) + 1
        text.width = aW
        text.blPara = text.breakLines([narrow] * beside + [whole])
        text.height = len(text.blPara.lines) * style.leading
        self.width, self.height = aW, max(text.height, self._drawing.height)
        return self.width, self.height

    def draw(self) -> None:
        """Set both from the top."""
        text: Any = self._text
        place(self.canv, self._drawing, self.width - self._drawing.width, self.height - self._drawing.height)
        text.drawOn(self.canv, 0, self.height - text.height)


def steps_grid(block: MakingSteps, width: float) -> Grid:
    """The steps, ``width`` points wide, read across; no step is parted by a page."""
    cells: list[Flowable | str] = [_cell(number, item) for number, item in enumerate(block.items, 1)]
    cells += [""] * (-len(cells) % ABREAST)
    rows = [cells[at : at + ABREAST] for at in range(0, len(cells), ABREAST)]
    commands: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("LEFTPADDING", (0, 0), (0, -1), 0),
        ("RIGHTPADDING", (0, 0), (0, -1), _APART / 2),
        ("LEFTPADDING", (1, 0), (-1, -1), _APART / 2),
        ("RIGHTPADDING", (1, 0), (-1, -1), 0),
        ("TOPPADDING", (0, 0), (-1, -1), _PAD),
        ("BOTTOMPADDING", (0, 0), (-1, -1), _PAD),
        ("LINEABOVE", (0, 0), (-1, -1), 0.4, RULE),
    ]
    return Grid(rows, colWidths=[width / ABREAST] * ABREAST, style=commands, hAlign="LEFT")


def _cell(number: int, item: MakingStep) -> Flowable:
    said = markup(item.text)
    if item.measure:
        said += f"<br/>{TICK_BOX} <b>Measure:</b> {markup(item.measure)}"
    text = Text(said, STYLES["step"], bulletText=f"{number}.")
    return text if item.drawing is None else _BesideDrawing(text, item.drawing)
