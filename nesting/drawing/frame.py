"""A stretch of the bolt on paper, and sheets measured in points.

On paper the bolt runs from the squared end at the left to the right, its left selvage along the top:
what stands at the squared end and looks along fabric lying right side up sees, turned by a quarter.
Data coordinates are ticks: x of the page is y of the fabric, and y of the page, downwards, is x of
the fabric. It is a turn and no mirror image, so prints and drops read as on the table.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar, Final

from matplotlib.axes import Axes
from matplotlib.axis import Tick, XAxis, YAxis
from matplotlib.figure import Figure

from nesting.plan.plan import FabricLayout
from nesting.units import INCH

#: Points round the fabric for rulers, ends and notes: above, below, left and right.
ABOVE: Final = 37.0
BELOW: Final = 12.0
BESIDE: Final = 22.0

POINTS_PER_INCH: Final = 72.0


@dataclass(frozen=True, slots=True)
class Frame:
    """What one row or page shows.

    Attributes
    ----------
    start, end
        The stretch of the bolt, in ticks from the squared end (negative: squaring).
    scale
        Points on paper for a tick of fabric.
    row, rows
        Which of how many stretches this is, from 1.
    above, below
        Points kept free above and below the fabric.
    """

    start: int
    end: int
    scale: float
    row: int = 1
    rows: int = 1
    above: float = ABOVE
    below: float = BELOW

    def points(self, ticks: float) -> float:
        """How long so much fabric is on paper."""
        return ticks * self.scale

    def ticks(self, points: float) -> float:
        """How much fabric so many points on paper stand for."""
        return points / self.scale


def scale_of(ratio: float) -> float:
    """Points for a tick in a drawing 1 : ``ratio``."""
    return POINTS_PER_INCH / INCH / ratio


def ratio_of(scale: float) -> float:
    """The n of a drawing 1 : n with so many points for a tick."""
    return POINTS_PER_INCH / INCH / scale


def selvage(layout: FabricLayout) -> float:
    """The strip at either edge that is not cut, in ticks."""
    return max(0, layout.full_width - layout.usable) / 2


def frame_size(layout: FabricLayout, frame: Frame) -> tuple[float, float]:
    """Width and height of the row on paper, margins included, in points."""
    fabric = max(layout.full_width, layout.usable)
    return (
        frame.points(frame.end - frame.start) + 2 * BESIDE,
        frame.points(fabric) + frame.above + frame.below,
    )


def frame_axes(
    ax: Axes,
    layout: FabricLayout,
    start: int,
    end: int,
    row: int,
    rows: int,
    free: tuple[float, float] = (ABOVE, BELOW),
) -> Frame:
    """The largest frame for that stretch on the Axes as it stands; sets its limits and aspect.

    ``free`` are the points above and below the fabric.
    """
    above, below = free
    box = ax.get_position(original=True)
    sheet = ax.figure
    width, height = (v * POINTS_PER_INCH / sheet.dpi for v in (sheet.bbox.width, sheet.bbox.height))
    room_across = box.width * width - 2 * BESIDE
    room_down = box.height * height - above - below
    fabric = max(layout.full_width, layout.usable)
    scale = max(1e-9, min(room_across / max(1, end - start), room_down / fabric))
    frame = Frame(start, end, scale, row, rows, above, below)
    edge = selvage(layout)
    ax.set_xlim(start - frame.ticks(BESIDE), end + frame.ticks(BESIDE))
    ax.set_ylim(fabric - edge + frame.ticks(below), -edge - frame.ticks(above))
    ax.set_aspect("equal", adjustable="box", anchor="NW")
    ax.set_axis_off()
    return frame


class _Unmarked:
    """An axis without ticks of its own, not even the two that an axis makes to copy from."""

    majorTicks: ClassVar[list[Tick]] = []  # noqa: N815
    minorTicks: ClassVar[list[Tick]] = []  # noqa: N815


class _XAxis(_Unmarked, XAxis):
    pass


class _YAxis(_Unmarked, YAxis):
    pass


class _DrawingPaper(Axes):
    """Axes that are never ruled: making ticks that nobody sees is half the work of making Axes."""

    def _init_axis(self) -> None:
        """The place where matplotlib lets a projection have an axis of its own kind."""
        self.xaxis, self.yaxis = _XAxis(self, clear=False), _YAxis(self, clear=False)
        for side, axis in zip(
            ("bottom", "top", "left", "right"), (self.xaxis,) * 2 + (self.yaxis,) * 2, strict=True
        ):
            self.spines[side].register_axis(axis)

    def grid(
        self, visible: bool | None = None, which: Any = "major", axis: Any = "both", **kwargs: Any
    ) -> None:
        """There is none."""


def place_axes(figure: Figure, left: float, top: float, width: float, height: float) -> Axes:
    """Axes at a place of the sheet, in points from its top left corner."""
    across, down = (float(v) * POINTS_PER_INCH for v in figure.get_size_inches())
    box = (left / across, 1 - (top + height) / down, width / across, height / down)
    return figure.add_axes(_DrawingPaper(figure, box))


def sheet_axes(figure: Figure, left: float, top: float, width: float, height: float) -> Axes:
    """Axes whose data coordinates are points from their top left corner, downwards."""
    ax = place_axes(figure, left, top, width, height)
    ax.set_xlim(0, width)
    ax.set_ylim(height, 0)
    ax.set_axis_off()
    return ax
