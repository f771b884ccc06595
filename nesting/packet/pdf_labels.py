"""Labels on A4 and Letter, in a grid of plain dimensions: two across, nine down."""

from __future__ import annotations

import io
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date
from typing import Final

from reportlab.lib.units import inch, mm
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import Flowable
from reportlab.platypus import Paragraph as Text

from nesting.drawing.lettering import READABLE, shortened, text_width, wrapped
from nesting.packet.model import Label
from nesting.packet.pdf_drawing import BOLD, PLAIN, register_fonts
from nesting.packet.pdf_styles import FADED, INK, RULE, STYLES, markup
from nesting.packet.room import HEAD, SIDE, TOP, page_size
from nesting.plan.paper import Paper

_PAD: Final = 5.0
_ARROW: Final = 30.0
_LINE: Final = 1.16


@dataclass(frozen=True, slots=True)
class LabelGrid:
    """Size of a label and how many there are on a page, in points; equal margins at both sides."""

    width: float
    height: float
    across: int = 2
    down: int = 9

    @property
    def count(self) -> int:
        """Labels on a page."""
        return self.across * self.down


#: 92 x 28.5 mm on A4, 3 3/4 x 1 1/16 in on Letter.
GRIDS: Final[dict[Paper, LabelGrid]] = {
    "a4": LabelGrid(92 * mm, 28.5 * mm),
    "letter": LabelGrid(3.75 * inch, 1.0625 * inch),
}
#: What stands between the head of a page and its labels.
_ABOVE: Final = 50.0


def label_pages(labels: tuple[Label, ...], paper: Paper) -> list[tuple[Label, ...]]:
    """The labels page by page; one empty page where there are none."""
    count = GRIDS[paper].count
    return [labels[at : at + count] for at in range(0, max(1, len(labels)), count)]


class LabelPage(Flowable):
    """A page of labels; ``said`` stands above them."""

    def __init__(self, labels: tuple[Label, ...], paper: Paper, said: str = "") -> None:
        super().__init__()
        self._labels, self._paper, self._said = labels, paper, said

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """The whole page."""
        return aW, aH - 1

    def draw(self) -> None:
        """Set it."""
        # The frame begins at the page's own corner but for the point that it keeps.
        self.canv.translate(0, -1)
        draw_labels(self.canv, self._labels, self._paper, self._said)


def labels_pdf(labels: tuple[Label, ...], *, title: str, made: date, paper: Paper) -> bytes:
    """The labels as PDF pages; the same labels give the same bytes."""
    register_fonts()
    wide, high = page_size(paper)
    buffer = io.BytesIO()
    canvas = Canvas(buffer, pagesize=(wide, high), invariant=1)
    canvas.setTitle(f"{title}: labels")
    canvas.setCreator("nesting")
    pages = label_pages(labels, paper)
    for number, page in enumerate(pages, 1):
        canvas.setFillColor(FADED)
        canvas.setFont(PLAIN, READABLE)
        top = high - TOP - READABLE
        canvas.drawString(SIDE, top, shortened(title, READABLE, wide - 220))
        said = f"{made.isoformat()}   ·   labels, page {number} of {len(pages)}"
        canvas.drawRightString(wide - SIDE, top, said)
        draw_labels(canvas, page, paper)
        canvas.showPage()
    canvas.save()
    return buffer.getvalue()


def draw_labels(canvas: Canvas, labels: tuple[Label, ...], paper: Paper, said: str = "") -> None:
    """A page of them on the canvas, whose origin is the lower left corner of the page."""
    grid, (wide, high) = GRIDS[paper], page_size(paper)
    left, top = (wide - grid.across * grid.width) / 2, high - TOP - HEAD - _ABOVE
    if said:
        text = Text(markup(said), STYLES["text"])
        _, height = text.wrap(wide - 2 * SIDE, _ABOVE)
        text.drawOn(canvas, SIDE, high - TOP - HEAD - height)
    for number, label in enumerate(labels):
        row, column = divmod(number, grid.across)
        _draw(canvas, grid, label, left + column * grid.width, top - (row + 1) * grid.height)


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
        at -= size * _LINE
        canvas.setFont(BOLD if bold else PLAIN, size)
        canvas.drawString(x + _PAD, at + 0.2 * size, text)
    _arrow(canvas, x + grid.width - _PAD - _ARROW / 2, y + grid.height - _PAD)
    if label.letter:
        canvas.setFont(BOLD, 18)
        middle = x + grid.width - _PAD - _ARROW / 2
        canvas.drawCentredString(middle, y + _PAD + 1, label.letter)
        canvas.setFont(BOLD, READABLE)
        canvas.drawCentredString(middle, y + _PAD + 17, "drop")


Line = tuple[str, float, bool]


def _lines(label: Label, room: float, height: float) -> Iterator[Line]:
    """Number and size large, then name and the rest; what has no room ends in an ellipsis."""
    first = f"{label.number}, {label.copy}" if label.copy else label.number
    head = _level(first, label.size, room)
    lines = list(head)
    left = height - sum(size * _LINE for _, size, _ in lines)
    fits = int(left / (READABLE * _LINE))
    name = wrapped(label.name, READABLE, room, bold=True)
    said = wrapped(" · ".join((*label.lines, *((label.top,) if label.top else ()))), READABLE, room)
    named = _cut(name, max(1, fits - len(said)) if len(said) < fits else max(1, fits - 3), room, bold=True)
    lines += [(line, READABLE, True) for line in named]
    lines += [(line, READABLE, False) for line in _cut(said, fits - len(named), room)]
    yield from lines


def _level(first: str, size: str, room: float) -> Iterator[Line]:
    """Number and size on one line where both have room, else one below the other."""
    both = f"{first}:  {size}"
    for large in (11.0, 10.0, READABLE):
        if text_width(both, large, bold=True) <= room:
            yield both, large, True
            return
    yield from ((line, READABLE, True) for line in wrapped(first, READABLE, room, bold=True))
    yield size, READABLE, True


def _cut(lines: tuple[str, ...], most: int, room: float, *, bold: bool = False) -> tuple[str, ...]:
    """So many lines at most; the last of them says that there were more."""
    if len(lines) <= most:
        return lines
    if most < 1:
        return ()
    return (*lines[: most - 1], shortened(" ".join(lines[most - 1 :]), READABLE, room, bold=bold))


def _arrow(canvas: Canvas, x: float, top: float) -> None:
    """An arrow that points up, the word TOP under it."""
    path = canvas.beginPath()
    path.moveTo(x, top)
    for across, down in ((6, 10), (1.5, 10), (1.5, 24), (-1.5, 24), (-1.5, 10), (-6, 10)):
        path.lineTo(x + across, top - down)
    path.close()
    canvas.drawPath(path, stroke=0, fill=1)
    canvas.setFont(BOLD, READABLE)
    canvas.drawCentredString(x, top - 34, "TOP")
