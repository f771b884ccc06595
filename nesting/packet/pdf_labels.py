"""Labels on A4 and Letter, in a grid of plain dimensions: three across, eight down."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas

from nesting.drawing.lettering import shortened, text_width, wrapped
from nesting.drawing.page import SHEETS
from nesting.packet.model import Label, Paper
from nesting.packet.pdf_drawing import BOLD, PLAIN, register_fonts
from nesting.packet.pdf_styles import FADED, INK, RULE

_PAD: Final = 5.0
_ARROW: Final = 30.0
_LEAST: Final = 5.5


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Size of a label and how many there are on a page, in points; equal margins at both sides."""

    width: float
    height: float
    across: int = 3
    down: int = 8

    @property
    def count(self) -> int:
        """Labels on a page."""
        return self.across * self.down


#: 60 x 34 mm on A4, 2 1/2 x 1 1/4 in on Letter.
GRIDS: Final[dict[Paper, LabelGrid]] = {
    "a4": LabelGrid(60 * mm, 34 * mm),
    "letter": LabelGrid(2.5 * inch, 1.25 * inch),
}


def labels_pdf(labels: tuple[Label, ...], *, title: str, made: date, paper: Paper) -> bytes:
    """The labels as PDF pages; the same labels give the same bytes."""
    register_fonts()
    grid, (high, wide) = GRIDS[paper], SHEETS[paper]
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(wide, high), invariant=1)
    canvas.setTitle(f"{title}: labels")
    canvas.setCreator("nesting")
    pages = max(1, -(-len(labels) // grid.count))
    left, top = (wide - grid.across * grid.width) / 2, high - (high - grid.down * grid.height) / 2
    for page in range(pages):
        _frame(
            canvas,
            f"{shortened(title, 7, wide - 200)}, {made.isoformat()}",
            (wide, high),
            f"{page + 1} of {pages}",
        )
        for number, label in enumerate(labels[page * grid.count : (page + 1) * grid.count]):
            row, column = divmod(number, grid.across)
            _draw(canvas, grid, label, left + column * grid.width, top - (row + 1) * grid.height)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def _frame(canvas: Canvas, words: str, size: tuple[float, float], page: str) -> None:
    canvas.setFillColor(FADED)
    canvas.setFont(PLAIN, 7)
    canvas.drawString(42, size[1] - 26, words)
    canvas.drawRightString(size[0] - 42, size[1] - 26, f"labels, page {page}")


def _draw(canvas: Canvas, grid: LabelGrid, label: Label, x: float, y: float) -> None:
    canvas.setStrokeColor(RULE)
    canvas.setLineWidth(0.5)
    canvas.setDash([2.0, 2.0])
    canvas.rect(x, y, grid.width, grid.height)
    canvas.setDash([])
    room = grid.width - 2 * _PAD - _ARROW
    canvas.setFillColor(INK)
    at = y + grid.height - _PAD
    for text, size, bold in _lines(label, room, grid.height - 2 * _PAD):
        at -= size * 1.18
        canvas.setFont(BOLD if bold else PLAIN, size)
        canvas.drawString(x + _PAD, at, text)
    _arrow(canvas, x + grid.width - _PAD - _ARROW / 2, y + grid.height - _PAD)
    if label.letter:
        canvas.setFont(BOLD, 20)
        middle = x + grid.width - _PAD - _ARROW / 2
        canvas.drawCentredString(middle, y + _PAD + 2, label.letter)
        canvas.setFont(BOLD, 8)
        canvas.drawCentredString(middle, y + _PAD + 20, "drop")


def _lines(label: Label, room: float, height: float) -> Iterator[tuple[str, float, bool]]:
    """What is written, in the largest type that fits; where none does, a long name ends in an ellipsis."""
    for size in (8.5, 8.0, 7.5, 7.0, 6.5, 6.0, _LEAST):
        set_ = list(_set(label, room, size))
        if sum(one[1] * 1.18 for one in set_) <= height:
            yield from set_
            return
    yield from _shortest(label, room)


def _first(label: Label) -> str:
    return f"{label.number}, {label.copy}" if label.copy else label.number


def _set(label: Label, room: float, size: float) -> Iterator[tuple[str, float, bool]]:
    yield from ((line, size, True) for line in wrapped(_first(label), size, room, bold=True))
    yield from ((line, size, True) for line in wrapped(label.name, size, room, bold=True))
    large = size + 2
    while large > _LEAST and text_width(label.size, large, bold=True) > room:
        large -= 0.5
    yield from ((line, large, True) for line in wrapped(label.size, large, room, bold=True))
    said = " · ".join((*label.lines, *((label.top,) if label.top else ())))
    small = max(_LEAST, size - 1.5)
    yield from ((line, small, False) for line in wrapped(said, small, room))


def _shortest(label: Label, room: float) -> Iterator[tuple[str, float, bool]]:
    yield shortened(_first(label), 6, room, bold=True), 6, True
    lines = wrapped(label.name, 6, room, bold=True)
    kept = lines if len(lines) <= 4 else (*lines[:3], shortened(" ".join(lines[3:]), 6, room, bold=True))
    yield from ((line, 6, True) for line in kept)
    yield shortened(label.size, 7, room, bold=True), 7, True
    said = wrapped(" · ".join((*label.lines, label.top)), _LEAST, room)
    yield from ((line, _LEAST, False) for line in said[:3])


def _arrow(canvas: Canvas, x: float, top: float) -> None:
    """An arrow that points up, the word TOP under it."""
    path = canvas.beginPath()
    path.moveTo(x, top)
    for across, down in ((6, 10), (1.5, 10), (1.5, 24), (-1.5, 24), (-1.5, 10), (-6, 10)):
        path.lineTo(x + across, top - down)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFont(BOLD, 8)
    canvas.drawCentredString(x, top - 34, "TOP")
