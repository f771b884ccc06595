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
            here = [(number, at) for number, at in enumerate(places, 1) if start < at <= end]
            for number, at in here:
                _draw_fold(ax, layout, (start, end), number, at, unit)


def _stretch(ax: Axes) -> tuple[int, int] | None:
    """Which part of the bolt the Axes show; None where they show no cloth."""
    for artist in ax.get_children():
        name = artist.get_gid() or ""
        if name.startswith("ruler:"):
            _, start, end = name.split(":")
            return int(start), int(end)
    return None


def _draw_fold(
    ax: Axes, layout: ClothLayout, stretch: tuple[int, int], number: int, at: int, unit: Unit
) -> None:
    left, right = ax.get_xlim()
    sheet = ax.figure
    box = ax.get_position(original=True)
    point = (right - left) / (box.width * sheet.bbox.width * POINTS_PER_INCH / sheet.dpi)
    edge = layout.usable + selvage(layout)
    tip = [(at, edge - 5 * point), (at - 3.5 * point, edge + 2 * point), (at + 3.5 * point, edge + 2 * point)]
    mark = Polygon(tip, closed=True, facecolor=CHALK, edgecolor="white", linewidth=0.4, zorder=7)
    mark.set_gid(f"fold:{number}")
    ax.add_patch(mark)
    words = f"fold {number}: {format_length(at, unit)}"
    half = text_width(words, _SIZE) / 2 * point
    # The words below the near selvage at the left of a row keep their place; a fold there has its mark only.
    foot = next((a for a in ax.texts if a.get_gid() == "row-foot"), None)
    taken = stretch[0] + (text_width(foot.get_text(), _SIZE) + 8) * point if foot is not None else stretch[0]
    if at - half >= taken and at + half <= stretch[1] + 20 * point:
        write(ax, at, edge + 7 * point, words, _SIZE, colour=CHALK, bold=True, gid=f"fold-words:{number}")
