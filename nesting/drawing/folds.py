"""Fold marks: where the cloth goes over the end of the table, drawn on the pages of a marker."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from nesting.drawing.frame import POINTS_PER_INCH, selvage
from nesting.drawing.lettering import text_width, write
from nesting.drawing.palette import CHALK
from nesting.drawing.stroke import strokes
from nesting.plan import ClothLayout
from nesting.units import Unit, format_length

_SIZE: Final = 6.5


def draw_folds(figure: Figure, layout: ClothLayout, places: Sequence[int], unit: Unit) -> None:
    """A triangle at the near selvage for each fold on the page, with its number and distance.

    Parameters
    ----------
    figure
        A page or picture of that layout.
    layout, unit
        The bolt, and the unit of its lengths.
    places
        Where the folds lie, in ticks from the squared end.
    """
    with strokes():
        for ax in figure.axes:
            stretch = _stretch(ax)
            if stretch is None:
                continue
            start, end = stretch
            point = _point(ax)
            free = start + _foot(ax) * point
            for number, at in enumerate(places, 1):
                if not start < at <= end:
                    continue
                _draw_mark(ax, layout, number, at, point)
                words = f"fold {number}: {format_length(at, unit)}"
                half = text_width(words, _SIZE, bold=True) / 2 * point
                # Words give way to those before them; the table of the cut list names every fold.
                if free <= at - half and at + half <= end + 20 * point:
                    _write(ax, layout, (at, number), words, point)
                    free = at + half + 4 * point


def _stretch(ax: Axes) -> tuple[int, int] | None:
    """Which part of the bolt the Axes show; None where they show no cloth."""
    for artist in ax.get_children():
        name = artist.get_gid() or ""
        if name.startswith("ruler:"):
            _, start, end = name.split(":")
            return int(start), int(end)
    return None


def _point(ax: Axes) -> float:
    """Ticks for a point on paper."""
    left, right = ax.get_xlim()
    sheet, box = ax.figure, ax.get_position(original=True)
    return (right - left) / (box.width * sheet.bbox.width * POINTS_PER_INCH / sheet.dpi)


def _foot(ax: Axes) -> float:
    """Points that the words below the near selvage take at the left of a row."""
    foot = next((text for text in ax.texts if text.get_gid() == "row-foot"), None)
    return 0.0 if foot is None else text_width(foot.get_text(), _SIZE) + 8


def _draw_mark(ax: Axes, layout: ClothLayout, number: int, at: int, point: float) -> None:
    edge = layout.usable + selvage(layout)
    tip = [(at, edge - 5 * point), (at - 3.5 * point, edge + 2 * point), (at + 3.5 * point, edge + 2 * point)]
    mark = Polygon(tip, closed=True, facecolor=CHALK, edgecolor="white", linewidth=0.4, zorder=7)
    mark.set_gid(f"fold:{number}")
    ax.add_patch(mark)


def _write(ax: Axes, layout: ClothLayout, fold: tuple[int, int], words: str, point: float) -> None:
    at, number = fold
    low = layout.usable + selvage(layout) + 7 * point
    write(ax, at, low, words, _SIZE, colour=CHALK, bold=True, gid=f"fold-words:{number}")
