"""The marker of a small sample: one bolt in one row, every piece with its number, in type for a class."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettering import READABLE, text_width, write
from nesting.drawing.marker import new_sheet, numbers_on
from nesting.drawing.palette import FADED, INK, LOOKS
from nesting.drawing.pieces import tag
from nesting.drawing.stroke import strokes
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.units import Unit, format_length

_BESIDE: Final = 46.0
_ABOVE: Final = 18.0
_BELOW: Final = 20.0
#: Paper that a piece needs for its number.
_LEAST: Final = 11.0


def sample_marker_figure(
    plan: Plan, layout: FabricLayout, *, width: float = 500.0, tallest: float = 150.0
) -> Figure:
    """The layout to scale, the squared end at the left, at most so many points wide and high.

    Along the lower edge stands where each straight cut comes, from the squared end.
    """
    length = max(1, layout.length or 1)
    scale = min((width - 2 * _BESIDE) / length, (tallest - _ABOVE - _BELOW) / layout.usable)
    high = layout.usable * scale + _ABOVE + _BELOW
    with strokes():
        figure = new_sheet(width, high)
        ax = sheet_axes(figure, 0, 0, width, high)
        draw_sample_marker(ax, layout, plan.job.units, numbers_on(layout, numbering(plan.layouts)), scale)
    return figure


def draw_sample_marker(
    ax: Axes, layout: FabricLayout, unit: Unit, numbers: Mapping[str, str], scale: float
) -> Axes:
    """The layout on Axes measured in points downwards; ``scale`` in points for a tick."""
    long, wide = (layout.length or 0) * scale, layout.usable * scale
    ax.add_artist(
        Rectangle((_BESIDE, _ABOVE), long, wide, facecolor="none", edgecolor=INK, linewidth=0.8, hatch="..")
    )
    for laid in layout.placements:
        _draw_piece(ax, laid, numbers[tag(laid)], scale)
    write(ax, _BESIDE, _ABOVE - 9, "squared end; left selvage above", READABLE, color=FADED, ha="left")
    upright = format_length(layout.usable, unit)
    write(ax, _BESIDE - 8, _ABOVE + wide / 2, upright, READABLE, rotation=90, ha="center")
    _draw_tape(ax, layout, unit, scale, _ABOVE + wide)
    return ax


def _draw_piece(ax: Axes, laid: Laid, number: str, scale: float) -> None:
    left, top = _BESIDE + laid.y * scale, _ABOVE + laid.x * scale
    long, wide = laid.length * scale, laid.width * scale
    look = LOOKS[laid.piece.role]
    ax.add_artist(
        Rectangle(
            (left, top), long, wide, facecolor=look.tint, edgecolor=INK, linewidth=1.0, hatch=None, zorder=2
        )
    )
    # TOP of a piece lies onward along the bolt, back, or at one of its edges.
    arrow = {"up": "→", "down": "←", "left": "↑", "right": "↓"}[laid.arrow]
    words = f"{number} TOP {arrow}"
    if text_width(words, READABLE) > long - 4 or wide < _LEAST:
        words = f"{number}{arrow}" if text_width(f"{number}{arrow}", READABLE) <= long - 2 else number
    if wide >= _LEAST:
        write(ax, left + long / 2, top + wide / 2, words, READABLE, bold=True)
        return
    # Too narrow for its number: that stands above the fabric, with a line to the piece.
    x = left + long * 0.9
    ax.add_artist(Line2D((x, x), (_ABOVE - 4, top + wide / 2), color=INK, linewidth=0.7, zorder=3))
    write(ax, x, _ABOVE - 9, number, READABLE, bold=True)


def _draw_tape(ax: Axes, layout: FabricLayout, unit: Unit, scale: float, low: float) -> None:
    """Where pieces end along the bolt; what would run into what is already written is left out."""
    ends = sorted({laid.y + laid.length for laid in layout.placements} | {0})
    free = -1.0
    for end in reversed(ends):
        x, words = _BESIDE + end * scale, format_length(end, unit, name=end == ends[-1])
        half = text_width(words, READABLE) / 2
        ax.add_artist(Line2D((x, x), (low, low + 5), color=INK, linewidth=0.7))
        if free < 0 or x + half + 4 <= free:
            write(ax, x, low + 12, words, READABLE)
            free = x - half
