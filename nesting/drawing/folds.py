"""Fold marks: where the fabric goes over the end of the table, drawn on the pages of a marker."""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon

from nesting.drawing.frame import POINTS_PER_INCH, selvage
from nesting.drawing.lettering import text_width, write
from nesting.drawing.palette import CHALK
from nesting.drawing.stroke import strokes
from nesting.plan.plan import FabricLayout
from nesting.plan.pulls import Pull, fold_words
from nesting.units import Unit

_SIZE: Final = 6.5


def draw_folds(figure: Figure, layout: FabricLayout, made: Sequence[Pull], unit: Unit) -> None:
    """A triangle at the near selvage for each fold on the page, with its number and distance.

    Where the next pull begins before the fold, an open triangle stands there.

    Parameters
    ----------
    figure
        A page or picture of that layout.
    layout, unit
        The bolt, and the unit of its lengths.
    made
        The pulls; a fold lies at the end of each but the last.
    """
    with strokes():
        for ax in figure.axes:
            stretch = _stretch(ax)
            if stretch is None:
                continue
            start, end = stretch
            point = _point(ax)
            free = start + _foot(ax) * point
            for (pull, after), words in zip(itertools.pairwise(made), fold_words(made, unit), strict=True):
                number, at = pull.number, pull.end
                if after.start != at and start < after.start <= end:
                    _draw_mark(ax, layout, f"back:{number}", after.start, point, filled=False)
                if not start < at <= end:
                    continue
                _draw_mark(ax, layout, str(number), at, point)
                # Words give way to those before them; the table of the cut list names every fold.
                for said in (words, f"fold {number}"):
                    half = text_width(said, _SIZE, bold=True) / 2 * point
                    middle = min(at, end + 20 * point - half)
                    if free <= middle - half:
                        _write(ax, layout, (middle, number), said, point)
                        free = middle + half + 4 * point
                        break


def _stretch(ax: Axes) -> tuple[int, int] | None:
    """Which part of the bolt the Axes show; None where they show no fabric."""
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


def _draw_mark(
    ax: Axes, layout: FabricLayout, number: str, at: int, point: float, *, filled: bool = True
) -> None:
    edge = layout.usable + selvage(layout)
    tip = [(at, edge - 5 * point), (at - 3.5 * point, edge + 2 * point), (at + 3.5 * point, edge + 2 * point)]
    inside, line = (CHALK, "white") if filled else ("white", CHALK)
    mark = Polygon(tip, closed=True, facecolor=inside, edgecolor=line, linewidth=0.5, zorder=7)
    mark.set_gid(f"fold:{number}")
    ax.add_artist(mark)


def _write(ax: Axes, layout: FabricLayout, fold: tuple[float, int], words: str, point: float) -> None:
    at, number = fold
    low = layout.usable + selvage(layout) + 7 * point
    write(ax, at, low, words, _SIZE, color=CHALK, bold=True, gid=f"fold-words:{number}")
