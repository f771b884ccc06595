"""Traced drawings on a PDF canvas: lines stay lines, and words stay text that can be found."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from reportlab.lib.colors import HexColor
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont
from reportlab.pdfgen.canvas import Canvas
from reportlab.pdfgen.pathobject import PDFPathObject

from nesting.drawing.trace import HATCH_STROKE, TILE, Drawing, Hatch, Outline, Verbs, Words, font_file

PLAIN: Final = "Nesting"
BOLD: Final = "Nesting-Bold"


@lru_cache(maxsize=1)
def register_fonts() -> None:
    """Make the font of the drawings known to the PDF library, under `PLAIN` and `BOLD`."""
    pdfmetrics.registerFont(TTFont(PLAIN, font_file()))
    pdfmetrics.registerFont(TTFont(BOLD, font_file(bold=True)))
    pdfmetrics.registerFontFamily(PLAIN, normal=PLAIN, bold=BOLD, italic=PLAIN, boldItalic=BOLD)


def place(canvas: Canvas, drawing: Drawing, x: float, y: float, scale: float = 1.0) -> None:
    """Draw it with its lower left corner there, in points of the page."""
    register_fonts()
    canvas.saveState()
    canvas.translate(x, y)
    canvas.scale(scale, scale)
    for mark in drawing.marks:
        if isinstance(mark, Words):
            _write(canvas, mark, drawing.height)
        else:
            _draw(canvas, mark, drawing.height)
    canvas.restoreState()


def _write(canvas: Canvas, mark: Words, height: float) -> None:
    canvas.setFillColor(HexColor(mark.color))
    canvas.setFont(BOLD if mark.bold else PLAIN, mark.size)
    if not mark.turn:
        canvas.drawString(mark.x, height - mark.y, mark.text)
        return
    canvas.saveState()
    canvas.translate(mark.x, height - mark.y)
    canvas.rotate(mark.turn)
    canvas.drawString(0, 0, mark.text)
    canvas.restoreState()


def _draw(canvas: Canvas, mark: Outline, height: float) -> None:
    apart = mark.clip is not None or mark.hatch is not None
    if apart:
        canvas.saveState()
    if mark.clip is not None:
        left, top, right, bottom = mark.clip
        box = canvas.beginPath()
        box.rect(left, height - bottom, right - left, bottom - top)
        canvas.clipPath(box, stroke=0, fill=0)
    if mark.fill is not None:
        canvas.setFillColor(HexColor(mark.fill))
        canvas.drawPath(_path(canvas, mark.verbs, height), stroke=0, fill=1)
    if mark.hatch is not None:
        canvas.saveState()
        _hatch(canvas, mark.hatch, mark.verbs, height)
        canvas.restoreState()
    if mark.stroke is not None:
        canvas.setStrokeColor(HexColor(mark.stroke))
        canvas.setLineWidth(mark.width)
        canvas.setDash(list(mark.dash))
        canvas.drawPath(_path(canvas, mark.verbs, height), stroke=1, fill=0)
    if apart:
        canvas.restoreState()


def _path(canvas: Canvas, verbs: Verbs, height: float) -> PDFPathObject:
    path = canvas.beginPath()
    x, y = 0.0, 0.0
    for letter, points in verbs:
        if letter == "Z":
            path.close()
            continue
        flipped = [value if n % 2 == 0 else height - value for n, value in enumerate(points)]
        if letter == "M":
            path.moveTo(*flipped)
        elif letter == "L":
            path.lineTo(*flipped)
        elif letter == "C":
            path.curveTo(*flipped)
        else:
            (cx, cy), (ex, ey) = flipped[:2], flipped[2:]
            # A curve with one handle, written with two.
            path.curveTo(
                x + (cx - x) * 2 / 3,
                y + (cy - y) * 2 / 3,
                ex + (cx - ex) * 2 / 3,
                ey + (cy - ey) * 2 / 3,
                ex,
                ey,
            )
        x, y = flipped[-2:]
    return path


def _hatch(canvas: Canvas, hatch: Hatch, verbs: Verbs, height: float) -> None:
    """The hatch in squares over the shape, cut off at its outline; each square is stored once in the file."""
    name = f"hatch-{hatch.color[1:]}-{hatch.pattern.encode().hex()}"
    if not canvas.hasForm(name):
        canvas.beginForm(name, 0, 0, TILE, TILE)
        canvas.setStrokeColor(HexColor(hatch.color))
        canvas.setLineWidth(HATCH_STROKE)
        canvas.drawPath(_path(canvas, hatch.verbs, TILE), stroke=1, fill=0)
        canvas.endForm()
    canvas.clipPath(_path(canvas, verbs, height), stroke=0, fill=0)
    xs = [x for _, points in verbs for x in points[0::2]]
    ys = [height - y for _, points in verbs for y in points[1::2]]
    left, low = int(min(xs) // TILE), int(min(ys) // TILE)
    for column in range(left, int(max(xs) // TILE) + 1):
        for row in range(low, int(max(ys) // TILE) + 1):
            canvas.saveState()
            canvas.translate(column * TILE, row * TILE)
            canvas.doForm(name)
            canvas.restoreState()
