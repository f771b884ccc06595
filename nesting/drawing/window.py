"""The measuring sheet's drawing: rod, brackets, drape, sill and floor, each dimension with its letter.

It is a sketch and not to scale: a clearance of half an inch must be as easy to find as a rod of seven feet.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Ellipse, Rectangle

from nesting.drawing.dimension import draw_badge, draw_dimension
from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettering import READABLE, write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import FABRIC, FADED, INK, LOOKS, SELVAGE
from nesting.drawing.stroke import strokes

#: Size of the sketch, in points.
WIDTH: Final = 500.0
HEIGHT: Final = 268.0

_LEFT: Final = 120.0
_ROD: Final = 128.0
_FLOOR: Final = 248.0
#: What the view from above takes of the sheet.
_PLAN: Final = 88.0
_SILL: Final = 202.0
_SMALL: Final = READABLE


@dataclass(frozen=True, slots=True)
class WindowLook:
    """How the drapes of a window hang, as far as the sketch tells them apart.

    Attributes
    ----------
    top
        Where the top edge of the fabric sits: ``above``, ``below`` or ``at`` the top of the rod, the eye of a
        ring, or the hole of a track.
    hem
        Where the hem ends: ``above`` the floor, ``on`` it (puddled).
    panels
        How many panels are drawn: 1 or more.
    leading
        For a single panel, which edge moves; None: it hangs fixed.
    hangs
        From the rod itself, from rings on it, or from a track.
    returns, overlap
        Whether the fabric goes round the ends of the rod, and whether a pair overlaps.
    spare
        Whether what no sum of the heading needs has a letter too: return, overlap, sill.
    wide
        As wide as a page, ``WIDTH``; else with room for something at its side.
    """

    top: Literal["above", "below", "at"] = "above"
    hem: Literal["above", "on"] = "above"
    panels: int = 2
    leading: Literal["left", "right"] | None = None
    returns: bool = False
    overlap: bool = False
    hangs: Literal["rod", "rings", "track"] = "rod"
    spare: bool = True
    wide: bool = True

    @property
    def right(self) -> float:
        """Where the right bracket is."""
        return 380.0 if self.wide else 246.0

    @property
    def width(self) -> float:
        """Of the sketch."""
        return WIDTH if self.wide else 344.0

    @property
    def sample(self) -> float:
        """Where the ring stands whose drop is measured."""
        return 178.0 if self.wide else 162.0

    @property
    def above(self) -> bool:
        """Whether it is drawn from above too: where return and overlap have their letters."""
        return self.spare or self.returns or self.overlap

    @property
    def hanger(self) -> float:
        """How far down the sheet it hangs: the top of the rod, the eye of a ring, the hole of a track."""
        return _ROD + {"rod": 0.0, "rings": 26.0, "track": 18.0}[self.hangs]

    @property
    def edge(self) -> float:
        """How far down the sheet the top edge is."""
        down = {"above": -14.0, "below": 22.0, "at": 0.0}[self.top]
        return self.hanger + (down if self.hangs == "rod" else down * 0.6)


def draw_window(ax: Axes, look: WindowLook) -> Axes:
    """The sketch on Axes measured in points downwards, ``look.width`` by ``HEIGHT``."""
    if look.above:
        _draw_plan(ax, look)
    _draw_wall(ax, look)
    top = look.edge
    hem = _FLOOR - (14.0 if look.hem == "above" else 0.0)
    _draw_fabric(ax, look, top, hem)
    _draw_rod(ax, look)
    _letter(ax, look, top, hem)
    return ax


def _draw_plan(ax: Axes, look: WindowLook) -> None:
    """Seen from above: wall, brackets and rod, where return and overlap are to be found."""
    wall, rod = 22.0, 52.0
    write(ax, 24, 10, "seen from above", _SMALL, color=FADED, ha="left")
    ax.add_artist(
        Rectangle(
            (_LEFT - 50, wall - 7),
            look.right - _LEFT + 100,
            7,
            facecolor=FABRIC,
            edgecolor=INK,
            linewidth=0.6,
        )
    )
    for x in (_LEFT, look.right):
        ax.add_artist(
            Rectangle((x - 2, wall), 4, rod - wall, facecolor=SELVAGE, edgecolor=INK, linewidth=0.6)
        )
    ax.add_artist(Line2D((_LEFT - 14, look.right + 14), (rod, rod), color=INK, linewidth=3))
    middle, lap = (_LEFT + look.right) / 2, 16.0 if look.overlap else 0.0
    ends = (
        (_LEFT - 6, middle + lap, rod + 7),
        (middle - lap, look.right + 6, rod + (12 if look.overlap else 7)),
    )
    for start, end, y in ends:
        _draw_edge(ax, (start, end), (y, y))
    if look.returns:
        _draw_edge(ax, (_LEFT - 6, _LEFT - 6), (wall + 2, rod + 7))
        _draw_edge(ax, (look.right + 6, look.right + 6), (wall + 2, ends[1][2]))
    if look.spare or look.returns:
        badge = (_LEFT - 44, (wall + rod) / 2)
        draw_dimension(ax, (_LEFT - 24, wall), (_LEFT - 24, rod), letter="C", badge=badge)
    if look.panels > 1 and (look.spare or look.overlap):
        draw_dimension(
            ax, (middle - 16, rod + 22), (middle + 16, rod + 22), letter="D", badge=(middle + 34, rod + 22)
        )
    write(ax, look.right + 56, wall - 3, "wall", _SMALL, color=FADED, ha="left")
    word = "track" if look.hangs == "track" else "rod"
    write(ax, look.right + 22, rod, word, _SMALL, color=FADED, ha="left")
    write(ax, _LEFT + 8, wall + 13, "bracket", _SMALL, color=FADED, ha="left")


def _draw_edge(ax: Axes, across: tuple[float, float], down: tuple[float, float]) -> None:
    """The fabric from above."""
    ax.add_artist(Line2D(across, down, color=INK, linewidth=1.1, linestyle=(0, (3, 1.5))))


def _draw_wall(ax: Axes, look: WindowLook) -> None:
    """The opening behind the drape, the sill, the floor."""
    left, right, head, sill = _LEFT + 26, look.right - 26, _ROD + 24, _SILL
    ax.add_artist(
        Rectangle((left, head), right - left, sill - head, facecolor="#eef3f6", edgecolor=INK, linewidth=0.8)
    )
    middle = (left + right) / 2
    ax.add_artist(Line2D((middle, middle), (head, sill), color=INK, linewidth=0.6))
    ax.add_artist(
        Rectangle((left - 8, sill), right - left + 16, 5, facecolor=SELVAGE, edgecolor=INK, linewidth=0.7)
    )
    ax.add_artist(Line2D((20, look.width - 20), (_FLOOR, _FLOOR), color=INK, linewidth=1.4))
    write(ax, look.width - 20, _FLOOR + 9, "floor", _SMALL, color=FADED, ha="right")
    write(ax, middle, sill + 12, "sill", _SMALL, color=FADED)


def _draw_fabric(ax: Axes, look: WindowLook, top: float, hem: float) -> None:
    share = max(32.0, (look.right - _LEFT) * 0.19)
    spans = [(_LEFT - 8, _LEFT - 8 + share), (look.right + 8 - share, look.right + 8)]
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
        if look.hangs != "rod" or look.top == "below":
            _draw_hangers(ax, look, start, end)


def _draw_hangers(ax: Axes, look: WindowLook, start: float, end: float) -> None:
    """Tabs, rings or hooks, by which the fabric hangs below the rod or track."""
    for n in range(1, 5):
        x = start + (end - start) * n / 5
        if look.hangs == "rings":
            _draw_ring(ax, x, look.hanger)
        elif look.hangs == "track":
            ax.add_artist(Line2D((x, x), (_ROD + 7, look.hanger - 3), color=INK, linewidth=0.8, zorder=5))
            hole = Circle((x, look.hanger - 2), 2, facecolor="white", edgecolor=INK, linewidth=0.8, zorder=5)
            ax.add_artist(hole)
        else:
            for side in (-2.0, 2.0):
                across = (x + side, x + side)
                ax.add_artist(Line2D(across, (_ROD, look.edge), color=INK, linewidth=0.7, zorder=5))


def _draw_ring(ax: Axes, x: float, hanger: float) -> None:
    """A ring on the rod with the eye or clip below it."""
    across = hanger - _ROD - 5
    ring = Ellipse(
        (x, _ROD + across / 2), across / 2.6, across, facecolor="none", edgecolor=INK, linewidth=1.0, zorder=5
    )
    ax.add_artist(ring)
    ax.add_artist(Circle((x, hanger - 3), 2.5, facecolor="white", edgecolor=INK, linewidth=0.8, zorder=5))


def _draw_rod(ax: Axes, look: WindowLook) -> None:
    ax.add_artist(
        Rectangle(
            (_LEFT - 18, _ROD),
            look.right - _LEFT + 36,
            7,
            facecolor=SELVAGE,
            edgecolor=INK,
            linewidth=0.9,
            zorder=4,
        )
    )
    for x in (_LEFT - 23, look.right + 23) if look.hangs != "track" else ():
        ax.add_artist(Circle((x, _ROD + 3.5), 5.5, facecolor=SELVAGE, edgecolor=INK, linewidth=0.9, zorder=4))
    for x in (_LEFT, look.right):
        ax.add_artist(
            Rectangle((x - 3, _ROD - 4), 6, 15, facecolor="white", edgecolor=INK, linewidth=1.0, zorder=4.5)
        )
    word = "track" if look.hangs == "track" else "rod"
    write(ax, look.right + 70, _ROD + 3.5, word, _SMALL, color=FADED, ha="left")


def _letter(ax: Axes, look: WindowLook, top: float, hem: float) -> None:
    """The dimension lines with their letters."""
    draw_dimension(ax, (_LEFT, _ROD - 30), (look.right, _ROD - 30), letter="A")
    mid = look.right - 90 if look.wide else look.right - 38
    if look.hangs != "track":
        draw_dimension(ax, (mid, _ROD), (mid, _ROD + 7))
        ax.add_artist(Line2D((mid, mid + 4), (_ROD + 3.5, _ROD + 16), color=INK, linewidth=0.5, zorder=6))
        draw_badge(ax, "B", (mid + 6, _ROD + 22))
    if look.hangs == "rings":
        _draw_ring(ax, look.sample, look.hanger)
        drop = look.sample + 16
        draw_dimension(ax, (drop, _ROD), (drop, look.hanger), letter="R", badge=(drop + 4, look.hanger + 16))
    far, measured = 34.0, look.hanger if look.hangs == "track" else _ROD
    ax.add_artist(
        Line2D((far - 6, _LEFT - 28), (measured, measured), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
    )
    draw_dimension(ax, (far, measured), (far, _FLOOR), letter="E")
    near = _LEFT - 30
    for y in (top, hem):
        ax.add_artist(
            Line2D((near - 6, _LEFT - 8), (y, y), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    drawn = _LEFT - 8 if look.panels > 1 or look.leading != "left" else look.right
    if drawn != _LEFT - 8:
        for y in (top, hem):
            ax.add_artist(
                Line2D((near, look.right - 40), (y, y), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
            )
    draw_dimension(ax, (near, top), (near, hem), letter="F")
    beside = look.right + 34
    if look.hem == "above":
        draw_dimension(
            ax, (beside, hem), (beside, _FLOOR), letter="G", badge=(beside + 22, (hem + _FLOOR) / 2 - 4)
        )
        ax.add_artist(
            Line2D((look.right, beside + 5), (hem, hem), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    else:
        draw_badge(ax, "G", (beside, _FLOOR - 12))
    if look.top != "at":
        middle = (top + look.hanger) / 2
        draw_dimension(ax, (beside, top), (beside, look.hanger), letter="H", badge=(beside + 22, middle))
        ax.add_artist(
            Line2D((look.right, beside + 5), (top, top), color=FADED, linewidth=0.5, linestyle=(0, (2, 2)))
        )
    inner = (_LEFT + look.right) / 2 - 30
    if look.spare:
        draw_dimension(ax, (inner, measured), (inner, _SILL), letter="J")


def sketch_height(look: WindowLook) -> float:
    """How high the sketch is, in points."""
    return HEIGHT if look.above else HEIGHT - _PLAN


def window_figure(look: WindowLook) -> Figure:
    """The sketch as a picture of its own."""
    high = sketch_height(look)
    with strokes():
        figure = new_sheet(look.width, high)
        draw_window(sheet_axes(figure, 0, high - HEIGHT, look.width, HEIGHT), look)
    return figure
