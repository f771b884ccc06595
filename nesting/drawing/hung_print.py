"""A print as it hangs: the sewn panels of a window spread flat, and where its pattern comes on them.

A leaf stands at one and the same spot of the pattern in every repeat, its foot on that spot. It tells up from
down and a print from its mirror image, in black and white too.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from matplotlib.artist import Artist
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path
from matplotlib.transforms import Bbox, TransformedBbox

from nesting.construction.design_plane import DesignPlane, HungPrint, HungWidth
from nesting.drawing.dimension import draw_dimension
from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettering import write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CHALK, FADED, INK, LOOKS
from nesting.drawing.stroke import ruled, strokes
from nesting.units import format_length

_WIDTH: Final = 500.0
_TALLEST: Final = 140.0
_MARGIN: Final = 8.0
_GAP: Final = 120.0
_ABOVE: Final = 20.0
_BELOW: Final = 36.0
_SIZE: Final = 9.0
#: Smaller repeats are told apart no more: only the lowest row of leaves is drawn, and no cells.
_LEAST_CELL: Final = 8.0
_SEAM: Final = (7.0, 2.0, 1.5, 2.0)
#: A leaf at the right of its stem, one high, from its foot; the second and third point of each curve bend it.
_LEAF: Final = (
    (Path.MOVETO, -0.04, 0.0),
    (Path.LINETO, -0.02, 0.42),
    (Path.CURVE4, -0.1, 0.72),
    (Path.CURVE4, 0.2, 0.96),
    (Path.CURVE4, 0.62, 1.0),
    (Path.CURVE4, 0.62, 0.66),
    (Path.CURVE4, 0.4, 0.4),
    (Path.CURVE4, 0.04, 0.4),
    (Path.LINETO, 0.04, 0.0),
    (Path.CLOSEPOLY, -0.04, 0.0),
)
_WIDEST: Final = 0.62


@dataclass(frozen=True, slots=True)
class _PrintPen:
    """One panel on Axes in points: its lower left corner and the scale."""

    ax: Axes
    x: float
    y: float
    scale: float

    def at(self, x: Fraction | float, y: Fraction | float) -> tuple[float, float]:
        return self.x + float(x) * self.scale, self.y - float(y) * self.scale

    def line(
        self,
        start: tuple[Fraction | float, Fraction | float],
        end: tuple[Fraction | float, Fraction | float],
        color: str = INK,
        width: float = 0.7,
        dashes: tuple[float, ...] = (),
    ) -> None:
        ruled(self.ax, self.at(*start), self.at(*end), color=color, width=width, dashes=dashes)


def hung_print_figure(plane: DesignPlane, *, width: float = _WIDTH) -> Figure:
    """The panels of a window side by side at one scale, their hem edges level, ``width`` points wide."""
    panels = plane.panels
    gaps = _GAP * (len(panels) - 1) if len(panels) > 1 else _GAP
    across, tall = float(sum(panel.width for panel in panels)), float(max(panel.length for panel in panels))
    scale = min((width - 2 * _MARGIN - gaps) / across, _TALLEST / tall)
    hem = _ABOVE + tall * scale
    left = (width - across * scale - gaps) / 2
    if len(panels) == 1 and panels[0].told == "left":
        left += _GAP
    with strokes():
        figure = new_sheet(width, hem + _BELOW)
        ax = sheet_axes(figure, 0, 0, width, hem + _BELOW)
        for panel in panels:
            _draw_panel(_PrintPen(ax, left, hem, scale), plane, panel)
            left += float(panel.width) * scale + _GAP
    return figure


def _draw_panel(pen: _PrintPen, plane: DesignPlane, panel: HungPrint) -> None:
    wide, high = float(panel.width) * pen.scale, float(panel.length) * pen.scale
    corner = pen.x, pen.y - high
    paper = Rectangle(corner, wide, high, facecolor=LOOKS["panel"].tint, edgecolor="none", zorder=1)
    pen.ax.add_artist(paper)
    for each in panel.widths:
        _draw_width(pen, plane, panel, each)
    for seam in panel.seams:
        pen.line((seam, 0), (seam, panel.length), width=1.1, dashes=_SEAM)
    frame = Rectangle(corner, wide, high, facecolor="none", edgecolor=INK, linewidth=1.3, zorder=5)
    frame.set_gid(f"panel:{panel.hanging.key}")
    pen.ax.add_artist(frame)
    title = f"{panel.hanging.key.replace('-', ' ')} panel"
    write(pen.ax, pen.x + wide / 2, corner[1] - 9, title, _SIZE, bold=True)
    _draw_place(pen, plane, panel)


def _draw_width(pen: _PrintPen, plane: DesignPlane, panel: HungPrint, width: HungWidth) -> None:
    """The repeats on one width, cut off at its edges as the fabric is."""
    cell, left = plane.lattice.cell, pen.at(width.start, panel.length)
    size = float(width.end - width.start) * pen.scale, float(panel.length) * pen.scale
    sheet = Rectangle(left, *size, transform=pen.ax.transData)
    # One box for all of them: each artist would work out its own.
    box = TransformedBbox(Bbox.unit(), sheet.get_transform())

    def clipped(artist: Artist) -> None:
        pen.ax.add_artist(artist)
        artist.set_clip_box(box)

    if plane.lattice.across is None:
        for y in _rows(plane, panel):
            pen.line((width.start, y), (width.end, y), FADED, 0.5, (3, 2))
            clipped(_leaf(pen, (width.start, y), min(14.0, float(cell[1]) * pen.scale * 0.6)))
        return
    wide, high = (float(part) * pen.scale for part in cell)
    small, tall = min(wide, high) < _LEAST_CELL, min(max(high * 0.55, 5.0), max(wide * 0.9, 5.0), 26.0)
    for x, y in plane.spots_of(panel, width, beyond=cell):
        if small and not 0 <= y < cell[1]:
            continue
        if not small:
            (x0, y0), (x1, y1) = pen.at(x - cell[0] / 2, y), pen.at(x + cell[0] / 2, y + cell[1])
            for line in (Line2D((x0, x1), (y0, y0)), Line2D((x0, x0), (y0, y1))):
                line.set(color=FADED, linewidth=0.5, linestyle=(0, (3, 2)), zorder=2)
                clipped(line)
        foot, over = pen.at(x, y), _WIDEST * tall
        beside = left[0] - over < foot[0] < left[0] + size[0] + over
        if beside and left[1] < foot[1] < left[1] + size[1] + tall:
            clipped(_leaf(pen, (x, y), tall))


def _rows(plane: DesignPlane, panel: HungPrint) -> Iterator[Fraction]:
    """The heights of a print without a width."""
    (y,) = plane.above_hem(panel)
    while y <= panel.length:
        yield y
        y += plane.lattice.cell[1]


def _leaf(pen: _PrintPen, foot: tuple[Fraction, Fraction], tall: float) -> PathPatch:
    x, y = pen.at(*foot)
    points = [(x + across * tall, y - up * tall) for _, across, up in _LEAF]
    way = Path(points, [code for code, _, _ in _LEAF])
    return PathPatch(way, facecolor=INK, edgecolor=INK, linewidth=0.3, zorder=3, gid="leaf")


def _draw_place(pen: _PrintPen, plane: DesignPlane, panel: HungPrint) -> None:
    """How far from the leading edge and above the hem edge the nearest leaf stands."""
    found = plane.first_spot(panel)
    edge, outward = (Fraction(0), -1) if panel.told == "left" else (panel.width, 1)
    unit, low = plane.facts.unit, pen.y + 12
    word = "leading edge" if panel.hanging.leading else "left edge"
    at, _ = pen.at(edge, 0)
    write(pen.ax, at, low + 15, word, _SIZE, color=CHALK, bold=True, ha="right" if outward > 0 else "left")
    if found is None:
        return
    inward, above = found
    spot, level = pen.at(edge - outward * inward, above)
    draw_dimension(pen.ax, (spot, low), (at, low))
    # Between two panels a word of its own would be read with the height at the other panel.
    said = f"{format_length(inward, unit)}{'' if above else ', at the hem'}"
    write(pen.ax, spot - outward * 5, low, said, _SIZE, ha="right" if outward > 0 else "left")
    beside = at + outward * 10
    pen.ax.add_artist(Line2D((at, beside + outward * 4), (pen.y, pen.y), color=CHALK, linewidth=0.7))
    if above:
        pen.ax.add_artist(
            Line2D(
                (spot, beside + outward * 4),
                (level, level),
                color=CHALK,
                linewidth=0.5,
                linestyle=(0, (1, 1)),
            )
        )
        draw_dimension(pen.ax, (beside, pen.y), (beside, level))
        out, lift = beside + outward * 6, (pen.y + level) / 2
        write(pen.ax, out, lift, format_length(above, unit), _SIZE, ha="left" if outward > 0 else "right")
