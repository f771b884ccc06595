"""The marker of a first layout while a job is typed: small, on a screen, drawn in a few milliseconds.

It has the fabric, the pieces with their numbers, names and arrows, hems, repeat and flaws, all by the same
palette, places and words as the marker that is printed; ruler, sizes and legend are left to that one. Its
marks are put down as strokes and words at once: a figure of matplotlib takes ten times as long.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from nesting.drawing.fabric_strip import flaws_of, repeat_lines
from nesting.drawing.frame import Frame, selvage
from nesting.drawing.lettering import PITCH, plain, text_width
from nesting.drawing.palette import (
    CHALK,
    FABRIC,
    FADED,
    FLAW,
    FLAWED,
    INK,
    LOOKS,
    REPEAT,
    RUST,
    SELVAGE,
    RoleFill,
)
from nesting.drawing.pieces import hem_ends, shows
from nesting.drawing.pointer import BARE, Pointer, arrow_outline
from nesting.drawing.rows import fold, in_order
from nesting.drawing.trace import Drawing, Hatch, Outline, Verbs, Words
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import Unit, format_length

#: Of the drawing, in points; on the page a point is about a pixel.
_WIDTH: Final = 400.0
_HIGHEST: Final = 420.0
_MOST_ROWS: Final = 12
_HEAD: Final = 17.0
_FOOT: Final = 4.0
_SIDE: Final = 2.0
#: No smaller text on a screen than this; numbers are tried from the largest.
_TEXT: Final = 11.0
_NUMBERS: Final = (16.0, 13.0, _TEXT, 9.0)
_PAD: Final = 1.5
_BETWEEN: Final = 4.0
#: Lines of a repeat that would stand closer are left out.
_CLOSEST: Final = 4.0
#: From the middle of a line of figures or small letters down to its baseline, in parts of its size.
_BASELINE: Final = 0.36

Point = tuple[float, float]


@dataclass(frozen=True, slots=True)
class _Sheet:
    """One row of the bolt on the drawing: ``top`` is where its left selvage begins, in points."""

    frame: Frame
    top: float
    edge: float

    def x(self, along: float) -> float:
        """Of a place along the bolt, in points."""
        return _SIDE + self.frame.points(along - self.frame.start)

    def y(self, across: float) -> float:
        """Of a place across the bolt from the first edge that is cut, in points."""
        return self.top + self.frame.points(across + self.edge)


def first_marker(layout: FabricLayout, unit: Unit, numbers: Numbering) -> Drawing:
    """The whole bolt in as many rows as keep the drawing low, so that its pieces are as large as can be."""
    frames = _rows(layout)
    across = max(layout.full_width, layout.usable)
    sheets, top = list[_Sheet](), 0.0
    for frame in frames:
        sheets.append(_Sheet(frame, top + _HEAD, selvage(layout)))
        top += _HEAD + frame.points(across) + _FOOT
    marks = [mark for sheet in sheets for mark in _row(layout, sheet, unit, numbers)]
    return Drawing(_WIDTH, top, tuple(marks))


def _rows(layout: FabricLayout) -> tuple[Frame, ...]:
    """The rows at the largest scale at which all of them are no higher than the drawing may be."""
    whole = fold(layout, 2**40, 1.0)[0]
    across, span = max(layout.full_width, layout.usable), max(1, whole.end - whole.start)
    best: tuple[Frame, ...] = ()
    for number in range(1, _MOST_ROWS + 1):
        longest = -(-span // number)
        scale = (_WIDTH - 2 * _SIDE) / longest
        frames = fold(layout, longest, scale)
        high = len(frames) * (across * scale + _HEAD + _FOOT)
        if best and high > _HIGHEST:
            break
        best = frames
    return best


def _row(layout: FabricLayout, sheet: _Sheet, unit: Unit, numbers: Numbering) -> Iterator[Outline | Words]:
    """Everything in one row, what lies below first."""
    laid = [each for each in in_order(layout) if shows(each, sheet.frame)]
    yield from _fabric(layout, sheet, unit)
    for each in laid:
        look = LOOKS[each.piece.role]
        yield Outline(_closed(_corners(each, sheet)), fill=look.tint, hatch=_hatch(look))
    yield from _repeat(layout, sheet)
    for each in laid:
        yield from _hem(each, sheet)
        yield Outline(_closed(_corners(each, sheet)), stroke=INK, width=0.9, name=f"edge:{numbers.of(each)}")
    yield from _flaws(layout, sheet)
    for each in laid:
        yield from _label(each, sheet, numbers.of(each))


def _fabric(layout: FabricLayout, sheet: _Sheet, unit: Unit) -> Iterator[Outline | Words]:
    frame, edge = sheet.frame, sheet.edge
    first = max(0, frame.start)
    yield Outline(_box(sheet, (first, 0, frame.end, layout.usable)), fill=FABRIC)
    if frame.start < 0:
        squaring = _box(sheet, (frame.start, 0, min(0, frame.end), layout.usable))
        yield Outline(squaring, stroke=FADED, width=0.4, fill="#ffffff")
    for at in (-edge, float(layout.usable)):
        if edge:
            yield Outline(_box(sheet, (frame.start, at, frame.end, at + edge)), fill=SELVAGE)
    stretch = f"{format_length(first, unit, name=False)} to {format_length(frame.end, unit)}"
    head = f"Row {frame.row} of {frame.rows}: {stretch}" if frame.rows > 1 else stretch
    yield _words((_SIDE, sheet.top - _HEAD / 2), head, _TEXT, color=FADED, centered=False)


def _repeat(layout: FabricLayout, sheet: _Sheet) -> Iterator[Outline]:
    repeat = layout.fabric.repeat
    if repeat is None or sheet.frame.points(repeat.length) < _CLOSEST:
        return
    for (x0, y0), (x1, y1) in repeat_lines(layout, sheet.frame):
        line = _line((sheet.x(x0), sheet.y(y0)), (sheet.x(x1), sheet.y(y1)))
        yield Outline(line, stroke=REPEAT, width=0.7, dash=(6, 2, 1, 2))


def _flaws(layout: FabricLayout, sheet: _Sheet) -> Iterator[Outline]:
    for flaw in flaws_of(layout):
        start, end = max(flaw.at, sheet.frame.start), min(flaw.at + flaw.length, sheet.frame.end)
        width = layout.usable - flaw.from_left if flaw.width is None else flaw.width
        if start < end:
            box = _box(sheet, (start, flaw.from_left, end, flaw.from_left + width))
            yield Outline(box, stroke=FLAW, width=1.2, fill=FLAWED, hatch=Hatch("xxxx", FLAW))


def _hem(laid: Laid, sheet: _Sheet) -> Iterator[Outline]:
    ends = hem_ends(laid)
    if ends is None:
        return
    (x0, y0), (x1, y1) = ends
    x0, x1 = max(x0, sheet.frame.start), min(x1, sheet.frame.end)
    if x0 <= x1:
        line = _line((sheet.x(x0), sheet.y(y0)), (sheet.x(x1), sheet.y(y1)))
        yield Outline(line, stroke=CHALK, width=0.8, dash=(4, 2))


def _label(laid: Laid, sheet: _Sheet, number: str) -> Iterator[Outline | Words]:
    """Number, arrow and name, or as many of them as there is room for."""
    left, top, right, bottom = _corners(laid, sheet)
    room, middle = (
        (right - left - 2 * _PAD, bottom - top - 2 * _PAD),
        ((left + right) / 2, (top + bottom) / 2),
    )
    name = plain(laid.piece.name)
    for said in (name, ""):
        for size in _NUMBERS:
            for turned in (False, True):
                label = _GlanceLabel(number, said, size, turned, _pointer(size))
                if label.fits(room, laid):
                    yield from label.marks(middle, laid)
                    return
    arrow = next((each for each in BARE if _within(each.extent(laid.arrow), room)), None)
    if arrow is not None:
        yield _arrow(arrow, laid, middle)


def _pointer(size: float) -> Pointer:
    """The arrow beside a number of that size."""
    return next((each for each in BARE if each.length <= 1.3 * size), BARE[-1])


@dataclass(frozen=True, slots=True)
class _GlanceLabel:
    """A number with an arrow beside it and a name below; ``turned``: read upwards along the page."""

    number: str
    name: str
    size: float
    turned: bool
    pointer: Pointer

    def _extent(self, laid: Laid) -> tuple[float, float, float]:
        """Room of the number with its arrow, of the whole along the reading direction, and across it."""
        arrow = self.pointer.extent(laid.arrow)
        along, across = (arrow[1], arrow[0]) if self.turned else arrow
        first = text_width(self.number, self.size, bold=True) + _BETWEEN + along
        line = max(self.size * PITCH, across)
        if not self.name:
            return first, first, line
        return first, max(first, text_width(self.name, _TEXT)), line + _TEXT * PITCH

    def fits(self, room: Point, laid: Laid) -> bool:
        """Whether there is room for all of it."""
        _, along, across = self._extent(laid)
        return _within((across, along) if self.turned else (along, across), room)

    def marks(self, middle: Point, laid: Laid) -> Iterator[Outline | Words]:
        """All of it about the middle of its room, on a ground of plain tint."""
        first, along, across = self._extent(laid)

        def place(u: float, v: float) -> Point:
            """A place along and across the reading direction, on the page."""
            return (middle[0] + v, middle[1] - u) if self.turned else (middle[0] + u, middle[1] + v)

        half = (across / 2, along / 2) if self.turned else (along / 2, across / 2)
        ground = (middle[0] - half[0], middle[1] - half[1], middle[0] + half[0], middle[1] + half[1])
        yield Outline(_closed(ground), fill=LOOKS[laid.piece.role].tint)
        low = _TEXT * PITCH if self.name else 0.0
        number = text_width(self.number, self.size, bold=True)
        at = place((number - first) / 2, -low / 2)
        yield _words(at, self.number, self.size, color=CHALK, bold=True, turned=self.turned)
        yield _arrow(self.pointer, laid, place((number + _BETWEEN) / 2, -low / 2))
        if self.name:
            yield _words(place(0, (across - low) / 2), self.name, _TEXT, turned=self.turned)


def _within(size: Point, room: Point) -> bool:
    return size[0] <= room[0] and size[1] <= room[1]


def _arrow(pointer: Pointer, laid: Laid, middle: Point) -> Outline:
    return Outline(_shape(arrow_outline(pointer, laid.arrow, middle)), fill=RUST)


def _words(
    middle: Point,
    text: str,
    size: float,
    *,
    color: str = INK,
    bold: bool = False,
    turned: bool = False,
    centered: bool = True,
) -> Words:
    """Text about a place, or from it on."""
    room = text_width(text, size, bold=bold)
    back, down = room / 2 if centered else 0.0, size * _BASELINE
    x, y = (middle[0] + down, middle[1] + back) if turned else (middle[0] - back, middle[1] + down)
    return Words(x, y, text, size, bold, 90.0 if turned else 0.0, color, room)


def _hatch(look: RoleFill) -> Hatch | None:
    return Hatch(look.hatch, look.thread) if look.hatch else None


def _corners(laid: Laid, sheet: _Sheet) -> tuple[float, float, float, float]:
    """Left, top, right and bottom of what the row shows of a piece, in points."""
    start, end = max(laid.y, sheet.frame.start), min(laid.y + laid.length, sheet.frame.end)
    return sheet.x(start), sheet.y(laid.x), sheet.x(end), sheet.y(laid.x + laid.width)


def _box(sheet: _Sheet, place: tuple[float, float, float, float]) -> Verbs:
    start, near, end, far = place
    return _closed((sheet.x(start), sheet.y(near), sheet.x(end), sheet.y(far)))


def _closed(corners: tuple[float, float, float, float]) -> Verbs:
    left, top, right, bottom = corners
    return _shape(((left, top), (right, top), (right, bottom), (left, bottom)))


def _shape(points: tuple[Point, ...]) -> Verbs:
    first, *others = points
    return (("M", first), *(("L", point) for point in others), ("Z", ()))


def _line(start: Point, end: Point) -> Verbs:
    return (("M", start), ("L", end))
