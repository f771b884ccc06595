"""The measuring sheet's drawing: rod, brackets, drape, sill and floor, each dimension with its letter.

It is a sketch and not to scale: a clearance of half an inch must be as easy to find as a rod of seven feet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle

from nesting.drawing.dimension import draw_badge, draw_dimension
from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettering import write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CLOTH, FADED, INK, LOOKS, SELVAGE
from nesting.drawing.stroke import strokes

#: Size of the sketch, in points.
WIDTH: Final = 500.0
HEIGHT: Final = 330.0

_LEFT: Final = 120.0
_RIGHT: Final = 380.0
_ROD: Final = 128.0
_FLOOR: Final = 306.0
_SMALL: Final = 7.0


@dataclass(frozen=True, slots=True)
class WindowLook:
    """How the drapes of a window hang, as far as the sketch tells them apart.

    Attributes
    ----------
    top
        Where the top edge of the cloth sits: ``above``, ``below`` or ``at`` the top of the rod.
    hem
        Where the hem ends: ``above`` the floor, ``on`` it (puddled).
    panels
        How many panels are drawn: 1 or more.
    leading
        For a single panel, which edge moves; None: it hangs fixed.
    returns, overlap
        Whether the cloth goes round the ends of the rod, and whether a pair overlaps.
    """

    top: Literal["above", "below", "at"] = "above"
    hem: Literal["above", "on"] = "above"
    panels: int = 2
    leading: Literal["left", "right"] | None = None
    returns: bool = False
    overlap: bool = False


def draw_window(ax: Axes, look: WindowLook) -> Axes:
    """The sketch on Axes measured in points downwards, ``WIDTH`` by ``HEIGHT``."""
    _draw_plan(ax, look)
    _draw_wall(ax)
    top = _ROD + {"above": -14.0, "below": 22.0, "at": 0.0}[look.top]
    hem = _FLOOR - (14.0 if look.hem == "above" else 0.0)
    _draw_cloth(ax, look, top, hem)
    _draw_rod(ax)
    _letter(ax, look, top, hem)
    return ax


def _draw_plan(ax: Axes, look: WindowLook) -> None:
    """Seen from above: wall, brackets and rod, where return and overlap are to be found."""
    wall, rod = 22.0, 52.0
    write(ax, 0, 10, "seen from above", _SMALL, colour=FADED, ha="left")
    ax.add_artist(
        Rectangle(
            (_LEFT - 50, wall - 7), _RIGHT - _LEFT + 100, 7, facecolor=CLOTH, edgecolor=INK, linewidth=0.6
        )
    )
    for x in (_LEFT, _RIGHT):
        ax.add_artist(
            Rectangle((x - 2, wall), 4, rod - wall, facecolor=SELVAGE, edgecolor=INK, linewidth=0.6)
        )
    ax.add_artist(Line2D((_LEFT - 14, _RIGHT + 14), (rod, rod), color=INK, linewidth=3))
    middle, lap = (_LEFT + _RIGHT) / 2, 16.0 if look.overlap else 0.0
    ends = ((_LEFT - 6, middle + lap, rod + 7), (middle - lap, _RIGHT + 6, rod + (12 if look.overlap else 7)))
    for start, end, y in ends:
        _draw_edge(ax, (start, end), (y, y))
    if look.returns:
        _draw_edge(ax, (_LEFT - 6, _LEFT - 6), (wall + 2, rod + 7))
        _draw_edge(ax, (_RIGHT + 6, _RIGHT + 6), (wall + 2, ends[1][2]))
    draw_dimension(
        ax, (_LEFT - 24, wall), (_LEFT - 24, rod), letter="C", badge=(_LEFT - 44, (wall + rod) / 2)
    )
    if look.panels > 1:
        draw_dimension(
            ax, (middle - 16, rod + 22), (middle + 16, rod + 22), letter="D", badge=(middle + 34, rod + 22)
        )
    write(ax, _RIGHT + 56, wall - 3, "wall", _SMALL, colour=FADED, ha="left")
    write(ax, _RIGHT + 22, rod, "rod", _SMALL, colour=FADED, ha="left")
    write(ax, _LEFT + 8, wall + 13, "bracket", _SMALL, colour=FADED, ha="left")


def _draw_edge(ax: Axes, across: tuple[float, float], down: tuple[float, float]) -> None:
    """The cloth from above."""
    ax.add_artist(Line2D(across, down, color=INK, linewidth=1.1, linestyle=(0, (3, 1.5))))


def _draw_wall(ax: Axes) -> None:
    """The opening behind the drape, the sill, the floor."""
    left, right, head, sill = _LEFT + 26, _RIGHT - 26, _ROD + 24, 232.0
    ax.add_artist(
        Rectangle((left, head), right - left, sill - head, facecolor="#eef3f6", edgecolor=INK, linewidth=0.8)
    )
    middle = (left + right) / 2
    ax.add_artist(Line2D((middle, middle), (head, sill), color=INK, linewidth=0.6))
    ax.add_artist(
        Rectangle((left - 8, sill), right - left + 16, 5, facecolor=SELVAGE, edgecolor=INK, linewidth=0.7)
    )
    ax.add_artist(Line2D((20, WIDTH - 20), (_FLOOR, _FLOOR), color=INK, linewidth=1.4))
    write(ax, WIDTH - 20, _FLOOR + 9, "floor", _SMALL, colour=FADED, ha="right")
    write(ax, middle, sill + 12, "sill", _SMALL, colour=FADED)


def _draw_cloth(ax: Axes, look: WindowLook, top: float, hem: float) -> None:
    share = (_RIGHT - _LEFT) * 0.19
    spans = [(_LEFT - 8, _LEFT - 8 + share), (_RIGHT + 8 - share, _RIGHT + 8)]
    if look.panels == 1:
        # A panel that moves to the right has its fixed edge there, and is drawn stacked at that side.
        spans = spans[:1] if look.leading == "right" or look.leading is None else spans[1:]
    tint = LOOKS["facing"].tint
    for start, end in spans:
        ax.add_artist(
            Rectangle((start, top), end - start, hem - top, facecolor=tint, edgecolor=INK, linewidth=1.1)
        )
        for n in range(1, 5):
            x = start + (end - start) * n / 5
            ax.add_artist(Line2D((x, x), (top + 5, hem - 3), color=FADED, linewidth=0.45))
        line = hem - 14
        ax.add_artist(Line2D((start, end), (line, line), color=INK, linewidth=0.7, linestyle=(0, (4, 2))))


def _draw_hangers(ax: Axes, start: float, end: float, top: float) -> None:
    """Tabs or rings, by which the cloth hangs below the rod."""
    for n in range(1, 5):
        x = start + (end - start) * n / 5
        for side in (-2.0, 2.0):
            ax.add_artist(Line2D((x + side, x + side), (_ROD, top), color=INK, linewidth=0.7, zorder=5))


def _draw_rod(ax: Axes) -> None:
    ax.add_artist(
        Rectangle(
            (_LEFT - 18, _ROD),
            _RIGHT - _LEFT + 36,
            7,
            facecolor=SELVAGE,
            edgecolor=INK,
            linewidth=0.9,
            zorder=4,
        )
    )
    for x in (_LEFT - 23, _RIGHT + 23):
        ax.add_artist(Circle((x, _ROD + 3.5), 5.5, facecolor=SELVAGE, edgecolor=INK, linewidth=0.9, zorder=4))
    for x in (_LEFT, _RIGHT):
        ax.add_artist(
            Rectangle((x - 3, _ROD - 4), 6, 15, facecolor="white", edgecolor=INK, linewidth=1.0, zorder=4.5)
        )
    write(ax, _RIGHT + 70, _ROD + 3.5, "rod", _SMALL, colour=FADED, ha="left")


def _letter(ax: Axes, look: WindowLook, top: float, hem: float) -> None:
    """The dimension lines with their letters."""
    draw_dimension(ax, (_LEFT, _ROD - 30), (_RIGHT, _ROD - 30), letter="A")
    mid = (_LEFT + _RIGHT) / 2 + 40
    draw_dimension(ax, (mid, _ROD), (mid, _ROD + 7))
    ax.add_artist(Line2D((mid, mid + 16), (_ROD + 3.5, _ROD + 16), color=INK, linewidth=0.5, zorder=6))
    draw_badge(ax, "B", (mid + 22, _ROD + 19))
    far = 34.0
    ax.add_artist(
        Line2D((far - 6, _LEFT - 28), (_ROD, _ROD), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
    )
    draw_dimension(ax, (far, _ROD), (far, _FLOOR), letter="E")
    near = _LEFT - 30
    for y in (top, hem):
        ax.add_artist(
            Line2D((near - 6, _LEFT - 8), (y, y), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    drawn = _LEFT - 8 if look.panels > 1 or look.leading != "left" else _RIGHT
    if drawn != _LEFT - 8:
        for y in (top, hem):
            ax.add_artist(
                Line2D((near, _RIGHT - 40), (y, y), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
            )
    draw_dimension(ax, (near, top), (near, hem), letter="F")
    beside = _RIGHT + 34
    if look.hem == "above":
        draw_dimension(
            ax, (beside, hem), (beside, _FLOOR), letter="G", badge=(beside + 22, (hem + _FLOOR) / 2 - 4)
        )
        ax.add_artist(
            Line2D((_RIGHT, beside + 5), (hem, hem), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    else:
        draw_badge(ax, "G", (beside, _FLOOR - 12))
    if look.top != "at":
        draw_dimension(ax, (beside, top), (beside, _ROD), letter="H", badge=(beside + 22, (top + _ROD) / 2))
        ax.add_artist(
            Line2D((_RIGHT, beside + 5), (top, top), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    inner = (_LEFT + _RIGHT) / 2 - 30
    draw_dimension(ax, (inner, _ROD + 7), (inner, 232.0), letter="J")


def window_figure(look: WindowLook) -> Figure:
    """The sketch as a picture of its own."""
    with strokes():
        figure = new_sheet(WIDTH, HEIGHT)
        draw_window(sheet_axes(figure, 0, 0, WIDTH, HEIGHT), look)
    return figure
