"""Dimension lines: from end to end of what is measured, with a letter or a length in the middle."""

from __future__ import annotations

from typing import Final

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Polygon, Rectangle

from nesting.drawing.lettering import PITCH, text_width, write
from nesting.drawing.palette import CHALK, INK, PAPER

_HEAD: Final = 5.0
_BADGE: Final = 7.0
_SIZE: Final = 7.5

Point = tuple[float, float]


def draw_badge(ax: Axes, letter: str, at: Point) -> None:
    """A letter in a ring."""
    ring = Circle(at, _BADGE, facecolor="white", edgecolor=CHALK, linewidth=1.1, zorder=7)
    ring.set_gid(f"badge:{letter}")
    ax.add_artist(ring)
    text = write(ax, *at, letter, 9, bold=True, color=CHALK, gid=f"letter:{letter}")
    text.set_zorder(8)


def draw_dimension(
    ax: Axes,
    start: Point,
    end: Point,
    *,
    letter: str = "",
    text: str = "",
    badge: Point | None = None,
    size: float = _SIZE,
) -> None:
    """A level or upright dimension line on Axes measured in points downwards.

    A letter stands in a ring at ``badge`` or in the middle; a text stands in the middle, upright along
    an upright line.
    """
    ax.add_artist(Line2D((start[0], end[0]), (start[1], end[1]), color=CHALK, linewidth=0.9, zorder=5))
    level = start[1] == end[1]
    run = abs(end[0] - start[0]) + abs(end[1] - start[1])
    for at, toward in ((start, end), (end, start)):
        _draw_head(ax, at, toward, min(_HEAD, run / 2.5))
        side = ((at[0], at[0]), (at[1] - 4, at[1] + 4)) if level else ((at[0] - 4, at[0] + 4), (at[1], at[1]))
        ax.add_artist(Line2D(*side, color=CHALK, linewidth=0.7, zorder=5))
    middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
    if text:
        _draw_text(ax, text, middle, level, size)
    if letter:
        place = badge or middle
        if badge is not None:
            line = Line2D((middle[0], place[0]), (middle[1], place[1]), color=CHALK, linewidth=0.5, zorder=5)
            ax.add_artist(line)
        draw_badge(ax, letter, place)


def _draw_text(ax: Axes, text: str, middle: Point, level: bool, size: float) -> None:
    half, high = text_width(text, size) / 2 + 2, size * PITCH / 2
    across, down = (half, high) if level else (high, half)
    clear = Rectangle(
        (middle[0] - across, middle[1] - down),
        2 * across,
        2 * down,
        facecolor=PAPER,
        edgecolor="none",
        zorder=5.5,
    )
    ax.add_artist(clear)
    write(ax, *middle, text, size, rotation=0 if level else 90, color=INK, gid=f"dimension:{text}")


def _draw_head(ax: Axes, at: Point, toward: Point, length: float) -> None:
    run = max(abs(toward[0] - at[0]) + abs(toward[1] - at[1]), 1e-6)
    right, down = (toward[0] - at[0]) / run, (toward[1] - at[1]) / run
    wing = length * 0.35
    points = [
        at,
        (at[0] + right * length - down * wing, at[1] + down * length + right * wing),
        (at[0] + right * length + down * wing, at[1] + down * length - right * wing),
    ]
    ax.add_artist(Polygon(points, closed=True, facecolor=CHALK, edgecolor="none", zorder=5))
