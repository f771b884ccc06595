"""A figure taken down as strokes and words, for any page that can draw lines and set text.

One drawing of a figure serves the HTML page and the PDF alike, and its words stay text that can be
searched and read aloud.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any, Final

from matplotlib.backend_bases import RendererBase
from matplotlib.colors import to_hex
from matplotlib.figure import Figure
from matplotlib.font_manager import FontProperties, findfont
from matplotlib.hatch import get_path
from matplotlib.path import Path
from matplotlib.transforms import Affine2D

from nesting.drawing.frame import POINTS_PER_INCH
from nesting.drawing.lettering import FAMILY, adds_up, natural_width, plain, text_width
from nesting.drawing.palette import HATCH_WIDTH, PAPER
from nesting.drawing.stroke import strokes

Verbs = tuple[tuple[str, tuple[float, ...]], ...]
Box = tuple[float, float, float, float]

#: Side of the square that a hatch repeats, in points.
TILE: Final = 72.0
_DENSITY: Final = 6
_REFERENCE: Final = 10.0
_LETTERS: Final = {
    Path.MOVETO: "M",
    Path.LINETO: "L",
    Path.CURVE3: "Q",
    Path.CURVE4: "C",
    Path.CLOSEPOLY: "Z",
}


@dataclass(frozen=True, slots=True)
class Hatch:
    """Thin lines over a shape, repeated by a square of ``TILE`` points."""

    pattern: str
    color: str

    @property
    def verbs(self) -> Verbs:
        """One square of it."""
        return _tile(self.pattern)


@dataclass(frozen=True, slots=True)
class Outline:
    """A line or shape; coordinates in points from the top left corner, downwards.

    ``verbs`` are M, L, Q, C, Z as in SVG; ``clip`` is the box (left, top, right, bottom) it shows in;
    ``name`` is what the figure calls it, such as ``piece:<id>:<copy>``.
    """

    verbs: Verbs
    stroke: str | None = None
    width: float = 1.0
    dash: tuple[float, ...] = ()
    fill: str | None = None
    hatch: Hatch | None = None
    clip: Box | None = None
    name: str = ""


@dataclass(frozen=True, slots=True)
class Words:
    """Text whose baseline starts at a place; ``turn`` in degrees, counter-clockwise; ``room``: its width."""

    x: float
    y: float
    text: str
    size: float
    bold: bool = False
    turn: float = 0.0
    color: str = "#000000"
    room: float = 0.0


@dataclass(frozen=True, slots=True)
class Drawing:
    """A sheet of so many points with everything on it, in the order in which it is drawn."""

    width: float
    height: float
    marks: tuple[Outline | Words, ...]

    @property
    def texts(self) -> tuple[str, ...]:
        """All words on it, in order."""
        return tuple(mark.text for mark in self.marks if isinstance(mark, Words))


def trace(figure: Figure) -> Drawing:
    """The figure as strokes and words; nothing depends on a screen."""
    # At 72 dots to the inch a pixel is a point, the unit of every drawing here.
    figure.set_dpi(POINTS_PER_INCH)
    width, height = (float(side) * POINTS_PER_INCH for side in figure.get_size_inches())
    recorder = _Recorder(width, height)
    with strokes():
        figure.draw(recorder)
    return Drawing(width, height, tuple(recorder.marks))


def enlarged(drawing: Drawing, by: float) -> Drawing:
    """The whole drawing larger, its words with it; hatches keep their grain."""
    return Drawing(
        drawing.width * by, drawing.height * by, tuple(_enlarged(mark, by) for mark in drawing.marks)
    )


def _enlarged(mark: Outline | Words, by: float) -> Outline | Words:
    if isinstance(mark, Words):
        return replace(mark, x=mark.x * by, y=mark.y * by, size=mark.size * by, room=mark.room * by)
    clip = mark.clip
    return replace(
        mark,
        verbs=tuple((letter, tuple(round(at * by, 2) for at in points)) for letter, points in mark.verbs),
        width=mark.width * by,
        dash=tuple(dash * by for dash in mark.dash),
        clip=None if clip is None else (clip[0] * by, clip[1] * by, clip[2] * by, clip[3] * by),
    )


def font_file(*, bold: bool = False) -> str:
    """Where the font of all drawings lies, for pages that embed it."""
    return str(findfont(FontProperties(family=FAMILY, weight="bold" if bold else "normal")))


@lru_cache(maxsize=64)
def _tile(pattern: str) -> Verbs:
    path = get_path(pattern, _DENSITY)
    if path is None:
        return ()
    turn = Affine2D().scale(TILE, -TILE).translate(0, TILE)
    return tuple(_verbs(path, turn))


def _verbs(path: Path, transform: Any) -> Iterator[tuple[str, tuple[float, ...]]]:
    for points, code in path.iter_segments(transform, simplify=False, remove_nans=True):
        letter = _LETTERS.get(code)
        if letter is not None:
            yield letter, () if letter == "Z" else tuple(round(float(value), 2) for value in points)


@lru_cache(maxsize=16384)
def _extent(text: str, bold: bool) -> tuple[float, float, float]:
    """Width, height and depth below the baseline of a text at the reference size; they grow with the size."""
    font = FontProperties(family=FAMILY, weight="bold" if bold else "normal", size=_REFERENCE)
    if len(text) > 1 and adds_up(text) and text == plain(text):
        # The tallest letter and the deepest one, each measured once.
        letters = [_extent(letter, bold) for letter in set(text) - {" "}]
        deepest = max(depth for _, _, depth in letters)
        tallest = max(height - depth for _, height, depth in letters)
        return natural_width(text, _REFERENCE, bold=bold), tallest + deepest, deepest
    width, height, descent = _MEASURE.get_text_width_height_descent(text, font, False)
    return float(width), float(height), float(descent)


def _ink(color: Any) -> str:
    """A color on a page that is itself white: the tint of our paper is left out."""
    said = str(to_hex(color))
    return "#ffffff" if said == PAPER else said


class _Recorder(RendererBase):
    """Takes down what matplotlib draws; text is never turned into outlines."""

    def __init__(self, width: float, height: float) -> None:
        super().__init__()
        self._size = (width, height)
        self._turn = Affine2D().scale(1, -1).translate(0, height)
        self.marks: list[Outline | Words] = []
        self._names: list[str] = []

    def open_group(self, s: str, gid: str | None = None) -> None:
        """What follows belongs to one artist."""
        self._names.append(gid or "")

    def close_group(self, s: str) -> None:
        """The artist is done."""
        self._names.pop()

    def get_canvas_width_height(self) -> tuple[float, float]:
        """The sheet in points."""
        return self._size

    def flipy(self) -> bool:
        """Upwards, as figures count."""
        return False

    def get_text_width_height_descent(
        self, s: str, prop: FontProperties, ismath: Any
    ) -> tuple[float, float, float]:
        """The room of a text; the same text is measured once for all drawings."""
        extent = _extent(s, prop.get_weight() == "bold")
        size = float(prop.get_size_in_points()) / _REFERENCE
        return extent[0] * size, extent[1] * size, extent[2] * size

    def points_to_pixels(self, points: Any) -> Any:
        """They are the same here."""
        return points

    def draw_path(self, gc: Any, path: Path, transform: Any, rgbFace: Any = None) -> None:  # noqa: N803
        """One line or shape."""
        verbs = tuple(_verbs(path, transform + self._turn))
        if not verbs:
            return
        width, pattern = float(gc.get_linewidth()), gc.get_hatch()
        _, dashes = gc.get_dashes()
        self.marks.append(
            Outline(
                verbs=verbs,
                stroke=_ink(gc.get_rgb()) if width > 0 else None,
                width=round(width, 3),
                dash=tuple(round(float(dash), 2) for dash in dashes or ()),
                fill=None if rgbFace is None or (len(rgbFace) > 3 and not rgbFace[3]) else _ink(rgbFace[:3]),
                hatch=Hatch(pattern, _ink(gc.get_hatch_color())) if pattern else None,
                clip=self._clip(gc, verbs),
                name=self._names[-1] if self._names else "",
            )
        )

    def _clip(self, gc: Any, verbs: Verbs) -> Box | None:
        """The box it is cut off at, where any of it lies outside."""
        box = gc.get_clip_rectangle()
        if box is None:
            return None
        left, low, right, high = (round(float(side), 2) for side in box.extents)
        left, top, right, bottom = left, round(self._size[1] - high, 2), right, round(self._size[1] - low, 2)
        xs = [x for _, points in verbs for x in points[0::2]]
        ys = [y for _, points in verbs for y in points[1::2]]
        if min(xs) >= left and max(xs) <= right and min(ys) >= top and max(ys) <= bottom:
            return None
        return left, top, right, bottom

    def draw_text(
        self,
        gc: Any,
        x: float,
        y: float,
        s: str,
        prop: FontProperties,
        angle: float,
        ismath: Any = False,
        mtext: Any = None,
    ) -> None:
        """One line of text as it stands."""
        size, bold = float(prop.get_size_in_points()), prop.get_weight() == "bold"
        place = (round(float(x), 2), round(self._size[1] - float(y), 2))
        room = text_width(s, size, bold=bold)
        self.marks.append(Words(*place, s, size, bold, float(angle), _ink(gc.get_rgb()), round(room, 2)))

    def draw_image(self, gc: Any, x: float, y: float, im: Any, transform: Any = None) -> None:
        """No drawing of ours holds pictures made of dots."""
        raise ValueError("a drawing of lines cannot hold a picture made of dots")


_MEASURE: Final = RendererBase()
#: Stroke of all hatches when a drawing is set again.
HATCH_STROKE: Final = HATCH_WIDTH
