"""A finished panel to scale, front and back side by side: hems, top, seams, tabs or pleats, nap arrow."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Circle, Rectangle

from nesting.drawing.dimension import draw_dimension
from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettering import PITCH, SMALLEST, text_width, wrapped, write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CHALK, FADED, INK, LOOKS, PAPER, REPEAT, RoleFill
from nesting.drawing.pointer import Pointer, draw_pointer
from nesting.drawing.stroke import ruled, strokes
from nesting.headings.look import MarkLook
from nesting.pieces.piece import HeadingSpot
from nesting.units import Unit, format_length

_WIDTH: Final = 500.0
_SIZE: Final = 7.0
_LEAST: Final = 14.0
_SEAM: Final = (7.0, 2.0, 1.5, 2.0)


@dataclass(frozen=True, slots=True)
class PanelLook:
    """What shows on a panel once it is sewn; lengths in ticks, from its left finished edge at the front.

    Attributes
    ----------
    width, length
        Hemmed width lying flat; top edge to hem edge.
    left, right, bottom
        Depth of the hems as they show at the back; 0 for a selvage left as it is.
    top, top_name
        How far the finish of the top reaches down the back, and what it is: ``facing``.
    seams
        Where widths are joined.
    spots, marks
        The marks on the heading; what each looks like, None: they are not drawn.
    side_name
        What ``left`` and ``right`` are.
    lining
        Left, right, top and bottom edge of the lining at the back, or None.
    leading
        ``left`` or ``right``: the edge that meets the other panel.
    nap
        +1: the smooth nap runs to the top, -1 to the hem, 0: no nap.
    upright
        The pattern has a top of its own.
    """

    width: int
    length: int
    left: int
    right: int
    bottom: int
    top: int
    top_name: str
    seams: tuple[int, ...] = ()
    spots: tuple[HeadingSpot, ...] = ()
    marks: MarkLook | None = None
    side_name: str = "side hems"
    lining: tuple[int, int, int, int] | None = None
    leading: str = ""
    nap: int = 0
    upright: bool = False

    @property
    def loops(self) -> int:
        """How far loops stand above the top edge."""
        return self.marks.end if self.marks is not None and self.marks.shape == "loop" else 0


def mirrored(look: PanelLook) -> PanelLook:
    """The panel as it is seen from behind."""
    lining = look.lining
    return replace(
        look,
        left=look.right,
        right=look.left,
        seams=tuple(look.width - seam for seam in reversed(look.seams)),
        spots=tuple(
            replace(s, start=look.width - s.end, end=look.width - s.start) for s in reversed(look.spots)
        ),
        lining=None if lining is None else (look.width - lining[1], look.width - lining[0], *lining[2:]),
        leading={"left": "right", "right": "left"}.get(look.leading, ""),
    )


@dataclass(frozen=True, slots=True)
class _Pen:
    """One view on Axes in points: corner of the panel and scale."""

    ax: Axes
    x: float
    y: float
    scale: float
    unit: Unit
    room: _Room
    brief: bool

    def at(self, x: float, y: float) -> tuple[float, float]:
        return self.x + x * self.scale, self.y + y * self.scale

    def box(self, left: float, top: float, right: float, bottom: float, look: RoleFill, gid: str) -> None:
        """A part of the panel in its tint and hatch."""
        corner, size = self.at(left, top), ((right - left) * self.scale, (bottom - top) * self.scale)
        self.ax.add_artist(
            Rectangle(
                corner,
                *size,
                facecolor=look.tint,
                edgecolor=look.thread,
                hatch=look.hatch,
                linewidth=0,
                zorder=2,
            )
        )
        frame = Rectangle(corner, *size, facecolor="none", edgecolor=INK, linewidth=0.6, zorder=3)
        frame.set_gid(gid)
        self.ax.add_artist(frame)

    def line(
        self,
        start: tuple[float, float],
        end: tuple[float, float],
        *,
        color: str = INK,
        width: float = 0.7,
        dashes: tuple[float, ...] = (),
    ) -> None:
        """A line between two places of the panel."""
        ruled(self.ax, self.at(*start), self.at(*end), color=color, width=width, dashes=dashes)

    def say(self, ticks: int) -> str:
        return format_length(ticks, self.unit)


@dataclass(frozen=True, slots=True)
class _Room:
    """Points kept free round the views of a picture, and between them; the most a panel may be high."""

    side: float
    gap: float
    above: float
    below: float
    tallest: float


_WITH_WORDS: Final = _Room(40.0, 56.0, 34.0, 46.0, 200.0)
_BRIEF: Final = _Room(25.0, 22.0, 14.0, 32.0, 96.0)


def _scale(look: PanelLook, width: float, room: _Room) -> float:
    across = (width - 2 * room.side - room.gap) / 2 / look.width
    return min(across, room.tallest / (look.length + look.loops))


def panel_figure(look: PanelLook, unit: Unit, *, width: float = _WIDTH, brief: bool = False) -> Figure:
    """Front and back side by side at one scale, as a picture ``width`` points wide.

    ``brief``: small, for a page that gives hems and seams in a table beside it.
    """
    room = _BRIEF if brief else _WITH_WORDS
    scale = _scale(look, width, room)
    wide, high = look.width * scale, look.length * scale
    top = room.above + look.loops * scale
    height = top + max(high, _LEAST) + room.below
    left = (width - 2 * wide - room.gap) / 2
    with strokes():
        figure = new_sheet(width, height)
        ax = sheet_axes(figure, 0, 0, width, height)
        front = _Pen(ax, left, top, scale, unit, room, brief)
        back = _Pen(ax, left + wide + room.gap, top, scale, unit, room, brief)
        _draw_front(front, look)
        _draw_back(back, mirrored(look))
        end = (left - 16, top), (left - 16, top + high)
        draw_dimension(ax, *end, text=format_length(look.length, unit))
    return figure


def _title(pen: _Pen, look: PanelLook, words: str) -> None:
    if pen.brief:
        write(pen.ax, pen.x, 6, words.partition(",")[0], 7.5, bold=True, ha="left")
        return
    room = look.width * pen.scale + pen.room.gap - 6
    for number, line in enumerate(wrapped(words, 8.5, room, bold=True)[:2]):
        write(pen.ax, pen.x, 9 + number * 11, line, 8.5, bold=True, ha="left")


def _outline(pen: _Pen, look: PanelLook, tint: str) -> None:
    size = look.width * pen.scale, look.length * pen.scale
    pen.ax.add_artist(Rectangle((pen.x, pen.y), *size, facecolor=tint, edgecolor="none", zorder=1))
    pen.ax.add_artist(
        Rectangle((pen.x, pen.y), *size, facecolor="none", edgecolor=INK, linewidth=1.3, zorder=5)
    )


def _draw_front(pen: _Pen, look: PanelLook) -> None:
    _title(pen, look, "Front, seen from the room")
    _outline(pen, look, LOOKS["panel"].tint)
    if look.bottom:
        at = look.length - look.bottom
        pen.line((0, at), (look.width, at), dashes=(4, 2), color=CHALK)
    _draw_spots(pen, look, front=True)
    for seam in look.seams:
        pen.line((seam, 0), (seam, look.length), dashes=_SEAM, width=0.9, color=REPEAT)
    _draw_seam_words(pen, look)
    low = pen.y + look.length * pen.scale + (16 if pen.brief else 28)
    end = pen.x + look.width * pen.scale
    draw_dimension(
        pen.ax, (pen.x, low), (end, low), text=f"{pen.say(look.width)}{'' if pen.brief else ' flat'}"
    )
    _write_leading(pen, look)
    _draw_inside(pen, look, _front_words(pen, look))


def _write_leading(pen: _Pen, look: PanelLook) -> None:
    low = pen.y + look.length * pen.scale + (27 if pen.brief else 41)
    if look.leading == "left":
        write(pen.ax, pen.x, low, "leading edge", _SIZE, ha="left", color=CHALK, bold=True)
    elif look.leading == "right":
        right = pen.x + look.width * pen.scale
        write(pen.ax, right, low, "leading edge", _SIZE, ha="right", color=CHALK, bold=True)


def _front_words(pen: _Pen, look: PanelLook) -> Iterator[str]:
    yield "right side"
    if look.nap:
        yield f"smooth toward the {'top' if look.nap > 0 else 'hem'}"
    if look.upright:
        yield "pattern upright"
    if look.bottom:
        yield f"hem {pen.say(look.bottom)} deep"


def _draw_back(pen: _Pen, look: PanelLook) -> None:
    _title(pen, look, "Back, left and right change places")
    _outline(pen, look, "#f3efe4")
    hem = RoleFill("#ece2cc", "", INK)
    if look.bottom:
        pen.box(0, look.length - look.bottom, look.width, look.length, hem, "hem:bottom")
    if look.lining is not None:
        left, right, top, bottom = look.lining
        pen.box(left, top, right, bottom, LOOKS["lining"], "lining")
    if look.left:
        pen.box(0, 0, look.left, look.length, hem, "hem:left")
    if look.right:
        pen.box(look.width - look.right, 0, look.width, look.length, hem, "hem:right")
    if look.top:
        pen.box(0, 0, look.width, look.top, LOOKS["facing"], "top")
    for seam in look.seams:
        pen.line((seam, look.top), (seam, look.length - look.bottom), dashes=_SEAM, color=REPEAT)
    _draw_spots(pen, look, front=False)
    _draw_inside(pen, look, _back_words(pen, look))
    _write_leading(pen, look)


def _back_words(pen: _Pen, look: PanelLook) -> Iterator[str]:
    yield "wrong side"
    if look.top:
        yield f"{look.top_name} {pen.say(look.top)}"
    sides = sorted({side for side in (look.left, look.right) if side})
    if sides:
        yield f"{look.side_name} {' and '.join(pen.say(side) for side in sides)}"
    if look.bottom:
        yield f"bottom hem {pen.say(look.bottom)}"
    if look.lining is not None:
        yield f"lining {pen.say(look.length - look.lining[3])} above the hem edge"


def _draw_inside(pen: _Pen, look: PanelLook, words: Iterator[str]) -> None:
    """Words in the middle of the panel, with the arrow to the top above them; in a brief picture it alone."""
    if pen.brief:
        pointer = Pointer(26, 7)
        wide, tall = pointer.extent("left")
        across, down = look.width * pen.scale, (look.length - look.top) * pen.scale
        if wide + 4 <= across and tall + 4 <= down:
            corner = (pen.x + (across - wide) / 2, pen.y + look.top * pen.scale + (down - tall) / 2)
            _draw_top_arrow(pen.ax, pointer, corner)
        return
    room = look.width * pen.scale - 2 * max(look.left, look.right) * pen.scale - 6
    size = _SIZE
    lines = [line for word in words for line in wrapped(word, size, max(room, 24.0))]
    high = len(lines) * size * PITCH
    middle = pen.x + look.width * pen.scale / 2
    below = max(look.top, 0) * pen.scale
    clear = look.length * pen.scale - below - look.bottom * pen.scale
    top = pen.y + below + max(2.0, (clear - high) / 2)
    widest = max((text_width(line, size) for line in lines), default=0.0)
    back = Rectangle(
        (middle - widest / 2 - 2, top - 1),
        widest + 4,
        high + 2,
        facecolor=PAPER,
        edgecolor="none",
        zorder=5.5,
    )
    pen.ax.add_artist(back)
    for number, line in enumerate(lines):
        write(pen.ax, middle, top + (number + 0.5) * size * PITCH, line, size, bold=number == 0)
    pointer = Pointer(30, 7)
    wide, tall = pointer.extent("left")
    if clear - high > 2 * tall + 24:
        _draw_top_arrow(pen.ax, pointer, (middle - wide / 2, top - tall - 8))


def _draw_top_arrow(ax: Axes, pointer: Pointer, corner: tuple[float, float]) -> None:
    """TOP is up on this page: the direction the bolt's ``left`` has on a marker."""
    size = pointer.extent("left")
    # A seam behind the word would strike it out.
    paper = Rectangle((corner[0] - 1, corner[1] - 1), size[0] + 2, size[1] + 2, edgecolor="none", zorder=5.5)
    paper.set_facecolor(PAPER)
    ax.add_artist(paper)
    draw_pointer(ax, pointer, "left", corner, 1.0, "arrow:panel")


def _draw_spots(pen: _Pen, look: PanelLook, *, front: bool) -> None:
    """Loops above the edge, strips behind it, rings, and folds as pairs of lines."""
    marks, deep = look.marks, float(max(look.top, round(10 / pen.scale)))
    if marks is None:
        return
    for spot in look.spots:
        if spot.kind == "space":
            continue
        middle, gid = (spot.start + spot.end) / 2, f"spot:{spot.number}"
        if marks.shape == "loop":
            pen.box(spot.start, -marks.end, spot.end, 0, LOOKS["tab"], gid)
        elif marks.shape == "strip" and not front:
            pen.box(spot.start, marks.start, spot.end, marks.end, LOOKS["tab"], gid)
        elif marks.shape == "fold" and front:
            for at in (spot.start, spot.end):
                pen.line((at, 0), (at, deep), color=CHALK, width=0.8)
            pen.line((spot.start, 0), (spot.end, 0), color=CHALK, width=2.2)
        elif marks.shape in ("eye", "hole"):
            x, y = pen.at(middle, deep / 2 if marks.shape == "hole" else 0)
            ring = Circle((x, y - (0 if marks.shape == "hole" else 3)), 3, facecolor=PAPER, edgecolor=CHALK)
            ring.set_linewidth(1.1)
            ring.set_zorder(6)
            pen.ax.add_artist(ring)


def _draw_seam_words(pen: _Pen, look: PanelLook) -> None:
    """Below the front, how far each seam lies from the left edge, or its number where that has no room.

    On a panel too narrow for either the seams stand without words; the text beside the drawing tells them.
    """
    if pen.brief:
        return
    low = pen.y + look.length * pen.scale + 8
    places = [pen.at(seam, 0)[0] for seam in look.seams]
    lengths = [pen.say(seam) for seam in look.seams]
    numbers = [f"s{number}" for number in range(1, len(lengths) + 1)]
    for words, size in ((lengths, _SIZE), (numbers, SMALLEST)):
        halves = [text_width(word, size) / 2 for word in words]
        ends = [(x - half, x + half) for x, half in zip(places, halves, strict=True)]
        if all(a[1] + 3 <= b[0] for a, b in itertools.pairwise(ends)):
            for x, word in zip(places, words, strict=True):
                write(pen.ax, x, low, word, size, color=FADED)
            return
