"""The marker: one fabric's layout to scale, as a sewist sees it on the table."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from nesting.drawing.fabric_strip import draw_fabric
from nesting.drawing.folds import draw_folds
from nesting.drawing.frame import (
    BESIDE,
    POINTS_PER_INCH,
    Frame,
    frame_axes,
    frame_size,
    place_axes,
    scale_of,
    selvage,
    sheet_axes,
)
from nesting.drawing.legend import Setting, draw_legend, entries, set_entries
from nesting.drawing.palette import PAPER
from nesting.drawing.pieces import draw_piece, shows, tag
from nesting.drawing.rows import cut_in_two, fold, in_order, legible, to_explain
from nesting.drawing.ruler import draw_ruler
from nesting.drawing.stroke import strokes
from nesting.drawing.title import draw_signs, draw_title, signs_height, title_height
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.pulls import pulls
from nesting.units import INCH, YARD, Unit

Paper = Literal["wide", "a4", "letter"]

_MARGIN: Final = 26.0
_BETWEEN: Final = 8.0
# Widths of the picture in inches, tried from the first; a bolt of more rows gets a wider picture.
_WIDTHS: Final[dict[Paper, tuple[float, ...]]] = {
    "wide": (12.0, 16.0, 20.0, 24.0),
    "a4": (11.69,),
    "letter": (11.0,),
}
_MOST_ROWS: Final = 3
_TALLEST_ROW: Final = 6 * INCH
_HIGHEST: Final = 64 * INCH
# Scales 1 : n, tried from the first; the first at which every piece can be told is taken.
_RATIOS: Final = (14.0, 12.0, 10.0, 9.0, 8.0, 7.0, 6.0)
_SHORT_BOLT: Final = 5 * YARD
_SHORT_RATIO: Final = 10.0


def draw_marker(
    ax: Axes,
    layout: FabricLayout,
    unit: Unit,
    *,
    start: int | None = None,
    end: int | None = None,
    numbers: Mapping[str, str] | None = None,
    row: int = 1,
    rows: int = 1,
) -> Axes:
    """The Axes with a stretch of the bolt: ruler, fabric, repeat lines, flaws and every piece.

    The bolt runs from left to right, the left selvage along the top; see `nesting.drawing.frame`.
    Data coordinates are ticks: x along the bolt, y across it (downwards).

    Parameters
    ----------
    ax
        Where to draw; its limits, aspect and axis lines are taken over.
    layout
        What lies where.
    unit
        Unit of ruler and labels.
    start, end
        The stretch in ticks from the squared end; default: from the squaring to the last cut.
    numbers
        What each piece is called, by `pieces.tag`; default: as if the layout were all there is.
    row, rows
        Which stretch of how many this is.
    """
    stretch = (-layout.squaring if start is None else start, _end(layout) if end is None else end)
    frame = frame_axes(ax, layout, *stretch, row, rows)
    if numbers is None:
        numbers = numbers_on(layout, numbering((layout,)))
    draw_fabric(ax, layout, frame, unit)
    draw_ruler(ax, frame, unit, -selvage(layout))
    for laid in in_order(layout):
        if shows(laid, frame):
            draw_piece(ax, laid, frame, unit, numbers[tag(laid)], start_line(layout, laid))
    return ax


def numbers_on(layout: FabricLayout, numbers: Numbering) -> dict[str, str]:
    """What each piece laid is called, by its `pieces.tag`."""
    own = numbers.on(layout)
    return {tag(laid): own[laid.piece.id, laid.copy] for laid in layout.placements}


def _end(layout: FabricLayout) -> int:
    return fold(layout, 2**40, 1.0)[-1].end


def best_scale(
    layout: FabricLayout, unit: Unit, numbers: Mapping[str, str], width: float, ratios: Sequence[float]
) -> tuple[Frame, ...]:
    """The rows on a sheet ``width`` points wide at the first ratio that leaves every piece legible.

    The last ratio is taken where none does.
    """
    for ratio in ratios:
        scale = scale_of(ratio)
        longest = max(1, int((width - 2 * BESIDE) / scale))
        frames = fold(layout, longest, scale)
        if legible(layout, unit, frames, numbers):
            break
    return frames


def _rows(
    layout: FabricLayout, unit: Unit, numbers: Mapping[str, str], paper: Paper
) -> tuple[tuple[Frame, ...], float]:
    """Rows of the whole bolt, and the width of the picture in points."""
    widest = max(layout.full_width, layout.usable)
    # Rows as wide as the widest picture, one below the other, are about this high at 1 : 1.
    least = math.sqrt(_end(layout) * widest / (_WIDTHS[paper][-1] * INCH * _HIGHEST))
    first = max(_SHORT_RATIO if _end(layout) <= _SHORT_BOLT else _RATIOS[0], widest / _TALLEST_ROW, least)
    ratios = (first, *(ratio for ratio in _RATIOS if least <= ratio < first))
    for inches_wide in _WIDTHS[paper]:
        width = inches_wide * POINTS_PER_INCH
        frames = best_scale(layout, unit, numbers, width - 2 * _MARGIN, ratios)
        if len(frames) <= _MOST_ROWS and not cut_in_two(layout, frames):
            break
    return frames, width


def marker_figure(plan: Plan, layout: FabricLayout, *, paper: Paper = "wide") -> Figure:
    """The whole bolt in one picture, folded into rows where it is long.

    Parameters
    ----------
    plan, layout
        The plan, and which of its layouts.
    paper
        ``wide`` grows with the bolt; ``a4`` and ``letter`` are as wide as that sheet lying on its side.
        The height is what the rows need.
    """
    unit, every = plan.job.units, numbering(plan.layouts)
    numbers = numbers_on(layout, every)
    with strokes():
        frames, width = _rows(layout, unit, numbers, paper)
        inner = width - 2 * _MARGIN
        listed = entries(layout, unit, to_explain(layout, unit, frames, numbers), numbers)
        legend = set_entries(listed, inner) if listed else None
        parts = [title_height(plan, layout, inner)]
        parts += [frame_size(layout, frame)[1] for frame in frames]
        parts += [signs_height(layout, inner), legend.height if legend else 0.0]
        height = sum(parts) + _BETWEEN * (len(parts) - 1) + 2 * _MARGIN
        figure = new_sheet(width, height)
        top = _MARGIN
        draw_title(sheet_axes(figure, _MARGIN, top, inner, parts[0]), plan, layout, inner)
        top += parts[0] + _BETWEEN
        for frame in frames:
            top = draw_row(figure, layout, unit, frame, numbers, (_MARGIN, top)) + _BETWEEN
        draw_foot(figure, layout, legend, (_MARGIN, top), inner)
    if plan.job.table is not None:
        draw_folds(figure, layout, pulls(layout, plan.job.table.length), unit)
    return figure


def new_sheet(width: float, height: float) -> Figure:
    """An empty sheet of paper, sizes in points."""
    figure = Figure(figsize=(width / POINTS_PER_INCH, height / POINTS_PER_INCH), dpi=100)
    figure.set_facecolor(PAPER)
    return figure


def draw_row(
    figure: Figure,
    layout: FabricLayout,
    unit: Unit,
    frame: Frame,
    numbers: Mapping[str, str],
    corner: tuple[float, float],
) -> float:
    """One row of the bolt with its corner there, in points of the sheet; returns where it ends."""
    width, height = frame_size(layout, frame)
    ax = place_axes(figure, *corner, width, height)
    draw_marker(
        ax,
        layout,
        unit,
        start=frame.start,
        end=frame.end,
        numbers=numbers,
        row=frame.row,
        rows=frame.rows,
    )
    return corner[1] + height


def draw_foot(
    figure: Figure,
    layout: FabricLayout,
    legend: Setting | None,
    corner: tuple[float, float],
    width: float,
) -> None:
    """The key to the signs and, below it, the legend."""
    left, top = corner
    height = signs_height(layout, width)
    draw_signs(sheet_axes(figure, left, top, width, height), layout, width)
    if legend is not None:
        top += height + _BETWEEN
        draw_legend(sheet_axes(figure, left, top, width, legend.height), legend)
