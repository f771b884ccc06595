"""The marker in real millimeters, for a projector above the table or a plotter: lines, names, arrows.

The bolt runs from left to right, its left selvage along the top, as on every other marker.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.drawing.fabric_strip import flaws_of, repeat_lines
from nesting.drawing.frame import Frame, selvage
from nesting.drawing.lettering import PITCH, plain, text_width
from nesting.drawing.pieces import shows
from nesting.drawing.pointer import STEPS
from nesting.drawing.rows import fold, in_order
from nesting.drawing.trace import Drawing, Outline, Verbs, Words
from nesting.drawing.wording import drop_words, run_words, size_words
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import INCH, METER, TICKS_PER_MM, Unit, format_length

#: No page of a PDF is longer, for readers end at 200 in; an SVG holds the whole bolt.
LONGEST_PAGE: Final = 5 * METER
#: Free paper round the fabric, in millimeters; the ruler is in it.
MARGIN: Final = 25.0
_INK: Final = "#000000"
_LINE: Final = 0.6
_FINE: Final = 0.3
_TEXT: Final = 12.0
_SMALLEST: Final = 2.0
_SQUARE: Final = 100.0


def true_scale(
    layout: FabricLayout, unit: Unit, numbers: Numbering | None = None, *, title: str = ""
) -> Drawing:
    """The whole bolt; width, height and all places of the drawing are millimeters.

    ``numbers`` are those of the whole plan; without them the layout is taken to be all there is.
    """
    end = layout.length or 0
    return _stretch(layout, unit, numbers, Frame(-layout.squaring, end, 1.0), title)


def true_scale_pages(
    layout: FabricLayout, unit: Unit, numbers: Numbering | None = None, *, title: str = ""
) -> tuple[Drawing, ...]:
    """The bolt in stretches of at most 5 m, ending between pieces where that can be had; millimeters."""
    frames = fold(layout, LONGEST_PAGE, 1.0)
    return tuple(_stretch(layout, unit, numbers, frame, title) for frame in frames)


def _mm(ticks: float) -> float:
    return ticks / TICKS_PER_MM


def _stretch(
    layout: FabricLayout, unit: Unit, numbers: Numbering | None, frame: Frame, title: str
) -> Drawing:
    pen = _SheetPen(layout, unit, numbers or numbering((layout,)), frame)
    marks: list[Outline | Words] = [*pen.fabric(), *pen.ruler(), *pen.repeat(), *pen.flaws()]
    for laid in in_order(layout):
        if shows(laid, frame):
            marks += pen.piece(laid)
    marks += pen.check(title)
    width = _mm(frame.end - frame.start) + 2 * MARGIN
    height = _mm(layout.usable + 2 * selvage(layout)) + 2 * MARGIN + pen.foot
    return Drawing(width, height, tuple(marks))


class _SheetPen:
    """Puts a stretch of the bolt on paper, tick for tick."""

    #: Room below the fabric for the square that is measured before use.
    foot: float = _SQUARE + 10

    def __init__(self, layout: FabricLayout, unit: Unit, numbers: Numbering, frame: Frame) -> None:
        self._layout, self._unit, self._numbers, self._frame = layout, unit, numbers, frame
        self._edge = selvage(layout)

    def at(self, along: float, across: float) -> tuple[float, float]:
        """Millimeters of a place on the fabric."""
        return MARGIN + _mm(along - self._frame.start), MARGIN + _mm(across + self._edge)

    def line(
        self, *points: tuple[float, float], width: float = _LINE, dash: tuple[float, ...] = ()
    ) -> Outline:
        """A line through places of the fabric."""
        verbs: Verbs = tuple(("M" if not n else "L", self.at(*point)) for n, point in enumerate(points))
        return Outline(verbs, _INK, width, dash)

    def fabric(self) -> Iterator[Outline]:
        """The two edges of the fabric and of the usable width, the squared end, and the end."""
        start, end, edge = self._frame.start, self._frame.end, self._edge
        for across in dict.fromkeys((-edge, 0.0, float(self._layout.usable), self._layout.usable + edge)):
            yield self.line((start, across), (end, across), width=_FINE)
        for along in (0, self._layout.length or 0):
            if start <= along <= end:
                yield self.line((along, -edge), (along, self._layout.usable + edge), width=1.0)

    def ruler(self) -> Iterator[Outline | Words]:
        """A stroke for every inch or centimeter above the fabric, numbered by the six or the ten."""
        step, numbered = (INCH, 6) if self._unit == "in" else (10 * TICKS_PER_MM, 10)
        for number in range(-(-self._frame.start // step), self._frame.end // step + 1):
            x, y = self.at(number * step, -self._edge)
            high = 6.0 if number % numbered == 0 else 3.0
            yield Outline((("M", (x, y)), ("L", (x, y - high))), _INK, _FINE)
            if number % numbered == 0 and number >= 0:
                text = format_length(number * step, self._unit, name=False)
                yield _text(text, x, y - 8, 5.0)

    def repeat(self) -> Iterator[Outline]:
        """The same point of the pattern, wherever it comes again."""
        for (along, across), (to_along, to_across) in repeat_lines(self._layout, self._frame):
            yield self.line((along, across), (to_along, to_across), width=_FINE, dash=(8.0, 3.0, 1.5, 3.0))

    def flaws(self) -> Iterator[Outline | Words]:
        """Spoiled places of a length on hand."""
        for flaw in flaws_of(self._layout):
            wide = self._layout.usable - flaw.from_left if flaw.width is None else flaw.width
            yield self.box(flaw.at, flaw.from_left, flaw.at + flaw.length, flaw.from_left + wide, 1.0)
            x, y = self.at(flaw.at + flaw.length / 2, flaw.from_left + wide / 2)
            yield _text("flaw", x, y, 8.0)

    def box(self, start: float, left: float, end: float, right: float, width: float) -> Outline:
        """A rectangle of fabric."""
        corners = (self.at(start, left), self.at(end, left), self.at(end, right), self.at(start, right))
        verbs: Verbs = tuple(("M" if not n else "L", corner) for n, corner in enumerate(corners))
        return Outline((*verbs, ("Z", ())), _INK, width)

    def piece(self, laid: Laid) -> Iterator[Outline | Words]:
        """Its cut lines, hem line, name, size and arrow; what lies beyond the page is left off."""
        start, end = max(laid.y, self._frame.start), min(laid.y + laid.length, self._frame.end)
        yield self.box(start, laid.x, end, laid.x + laid.width, _LINE)
        if laid.piece.hem_line and laid.turn == 0:
            at = laid.y + laid.piece.hem_line
            if laid.arrow == "down":
                at = laid.y + laid.length - laid.piece.hem_line
            if start < at < end:
                yield self.line((at, laid.x), (at, laid.x + laid.width), width=_FINE, dash=(6.0, 3.0))
        heads = (self._numbers.of(laid), drop_words(laid))
        head = "  ·  ".join(word for word in heads if word)
        lines = [head, laid.piece.name, size_words(laid, self._unit), run_words(laid, self._unit)]
        yield from _inside(lines, self.at(start, laid.x), self.at(end, laid.x + laid.width), laid)

    def check(self, title: str) -> Iterator[Outline | Words]:
        """A square of 100 mm to measure before anything is cut, and what this is."""
        left, top = MARGIN, MARGIN + _mm(self._layout.usable + 2 * self._edge) + 15
        corners = ((left, top), (left + _SQUARE, top), (left + _SQUARE, top + _SQUARE), (left, top + _SQUARE))
        verbs: Verbs = tuple(("M" if not n else "L", corner) for n, corner in enumerate(corners))
        yield Outline((*verbs, ("Z", ())), _INK, _LINE)
        yield _text("100 × 100 mm", left + _SQUARE / 2, top + _SQUARE / 2, 8.0)
        words = (
            f"{title}  ·  {self._numbers.fabric(self._layout)}  ·  scale 1:1",
            "measure the square before use: if it is not 100 mm both ways, the scale is wrong",
        )
        for number, line in enumerate(words):
            yield Words(left + _SQUARE + 8, top + 10 + number * 11, plain(line), 8.0, color=_INK)


def _text(text: str, x: float, y: float, size: float) -> Words:
    """Words around a middle, baseline a third of their size below it."""
    shown = plain(text)
    width = text_width(shown, size)
    return Words(round(x - width / 2, 2), round(y + size / 3, 2), shown, round(size, 2), color=_INK)


def _inside(
    lines: list[str], corner: tuple[float, float], far: tuple[float, float], laid: Laid
) -> Iterator[Outline | Words]:
    """Lines and arrow in a box of millimeters, as large as fits; upright in a box that is narrow and tall."""
    wide, high = far[0] - corner[0], far[1] - corner[1]
    upright = high > 1.5 * wide
    room, tall = (high, wide) if upright else (wide, high)
    arrow = max(3.0, min(60.0, 0.25 * min(wide, high)))
    free = tall - 4 if upright else tall - arrow / 2 - 6
    size = min(
        _TEXT, free / (len(lines) * PITCH), *((room - 4) * 10 / max(1.0, text_width(t, 10)) for t in lines)
    )
    middle = ((corner[0] + far[0]) / 2, (corner[1] + far[1]) / 2)
    if size >= _SMALLEST:
        for number, line in enumerate(lines):
            off = (number - (len(lines) - 1) / 2) * size * PITCH
            if not upright:
                yield _text(line, middle[0], middle[1] + off, size)
                continue
            half = text_width(plain(line), size) / 2
            place = (round(middle[0] + off + size / 3, 2), round(middle[1] + half, 2))
            yield Words(*place, plain(line), round(size, 2), turn=90.0, color=_INK)
    right, down = STEPS[laid.arrow]
    # Just inside a corner, where no words stand.
    x, y = corner[0] + arrow / 2 + 2, corner[1] + arrow / 2 + 2
    tip, tail = (x + right * arrow / 2, y + down * arrow / 2), (x - right * arrow / 2, y - down * arrow / 2)
    wing = arrow / 6
    yield Outline((("M", tail), ("L", tip)), _INK, _LINE)
    for side in (-1, 1):
        back = (
            tip[0] - right * 2 * wing + side * down * wing,
            tip[1] - down * 2 * wing + side * right * wing,
        )
        yield Outline((("M", back), ("L", tip)), _INK, _LINE)
