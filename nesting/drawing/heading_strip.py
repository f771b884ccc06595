"""One panel's heading to scale: where each tab, ring or pleat goes, from the left edge."""

from __future__ import annotations

import itertools
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.patches import Rectangle

from nesting.drawing.frame import POINTS_PER_INCH
from nesting.drawing.lettering import PITCH, SMALLEST, shortened, text_width, write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CHALK, FADED, INK, LOOKS, PAPER, RoleFill
from nesting.drawing.stroke import strokes
from nesting.names import plural_of
from nesting.pieces.piece import HeadingPlan, HeadingSpot
from nesting.units import Unit, format_length, unit_words

_SIZE: Final = 7.0
_STRIP: Final = 30.0
_TOP: Final = 34.0
_BARE_TOP: Final = 6.0
_FOOT: Final = 18.0
_SIDE: Final = 24.0


def draw_heading(
    ax: Axes,
    heading: HeadingPlan,
    unit: Unit,
    *,
    stretch: tuple[int, int] | None = None,
    titled: bool = True,
) -> Axes:
    """The Axes with the heading as seen from the room, to scale along its width.

    Data coordinates are ticks from the left edge and, downwards, points on paper. Each center carries
    its distance from the left edge; distances stand upright where they would run into each other.

    Parameters
    ----------
    ax
        Where to draw; 24 points are kept free at either side of the strip.
    heading
        What goes where.
    unit
        Unit of the distances.
    stretch
        Which part of the heading, from the left edge; default: all of it.
    titled
        With panel, width and counts above it.
    """
    first, last = stretch or (0, heading.width)
    sheet, box = ax.figure, ax.get_position(original=True)
    across, down = (
        part * side * POINTS_PER_INCH / sheet.dpi
        for part, side in ((box.width, sheet.bbox.width), (box.height, sheet.bbox.height))
    )
    ticks = (last - first) / max(1.0, across - 2 * _SIDE)
    counted = [spot for spot in heading.spots if spot.kind != "space"]
    marks, labels = _distances(heading, unit, first, last)
    upright = _crowded(marks, labels, ticks)
    above = _above(labels, upright=upright)
    top = (_TOP if titled else _BARE_TOP) + above
    ax.set_xlim(first - _SIDE * ticks, last + _SIDE * ticks)
    ax.set_ylim(down, 0)
    ax.set_axis_off()
    if titled:
        title = _words(heading, counted, unit, across - 2 * _SIDE)
        write(ax, first, 9, title, 9, bold=True, ha="left", gid="heading-title")
        write(ax, first, 21, _note(unit), _SIZE, color=FADED, ha="left", gid="heading-note")
    ax.add_artist(
        Rectangle(
            (first, top),
            last - first,
            _STRIP,
            facecolor=LOOKS["panel"].tint,
            edgecolor=INK,
            zorder=1,
            gid="heading",
        )
    )
    for spot in marks:
        _draw_spot(ax, spot, top, ticks)
    for spot, label in zip(marks, labels, strict=True):
        x = _center(spot)
        ax.add_artist(Line2D((x, x), (top - 3, top), color=INK, linewidth=0.7))
        write(
            ax,
            x,
            top - 4 - above / 2,
            label,
            _SIZE,
            rotation=90 if upright else 0,
            gid=f"center:{spot.number}:{x:g}",
        )
    low = top + _STRIP + 8
    left = "0, left edge" if first == 0 else f"continued from {format_length(first, unit)}"
    write(ax, first, low, left, _SIZE, color=FADED, ha="left", gid="heading-left")
    end = format_length(last, unit)
    right = f"right edge, {end}" if last == heading.width else f"continues at {end}"
    write(ax, last, low, right, _SIZE, color=FADED, ha="right", gid="heading-right")
    return ax


def _distances(
    heading: HeadingPlan, unit: Unit, first: int, last: int
) -> tuple[list[HeadingSpot], list[str]]:
    """Each mark of the stretch, and how far its center lies from the left edge."""
    marks = [spot for spot in heading.spots if spot.kind != "space" and first <= _center(spot) <= last]
    return marks, [format_length((spot.start + spot.end) // 2, unit, name=False) for spot in marks]


def _above(labels: list[str], *, upright: bool) -> float:
    """The room that the distances take above the strip, in points."""
    return max((text_width(label, _SIZE) for label in labels), default=0.0) if upright else _SIZE * PITCH


def _center(spot: HeadingSpot) -> float:
    return (spot.start + spot.end) / 2


def _words(heading: HeadingPlan, marks: list[HeadingSpot], unit: Unit, room: float) -> str:
    """Panel, width and counts; a long name of a window gives way to them."""
    kinds = sorted({spot.kind for spot in marks})
    counts = ", ".join(f"{sum(s.kind == kind for s in marks)} {plural_of(kind)}" for kind in kinds)
    side = "single panel" if heading.side == "single" else f"{heading.side} panel"
    width = format_length(heading.width, unit)
    rest = f", {side}, heading {width} flat" + (f": {counts}" if counts else "")
    name = shortened(heading.window, 9, room - text_width(rest, 9, bold=True), bold=True)
    return f"{name}{rest}" if name else rest.removeprefix(", ")


def _note(unit: Unit) -> str:
    return f"Seen from the room; center distances from the left edge, in {unit_words(unit)}."


def _crowded(marks: list[HeadingSpot], labels: list[str], ticks: float) -> bool:
    """Whether any two distances written level would touch."""
    ends = sorted(
        (_center(s), text_width(label, _SIZE) * ticks / 2) for s, label in zip(marks, labels, strict=True)
    )
    return any(b - a < wa + wb + 4 * ticks for (a, wa), (b, wb) in itertools.pairwise(ends))


def _fill(spot: HeadingSpot) -> RoleFill:
    """That of the pieces it is made of, where some are called like it; else that of a facing."""
    return next((look for role, look in LOOKS.items() if role == spot.kind), LOOKS["facing"])


def _draw_spot(ax: Axes, spot: HeadingSpot, top: float, ticks: float) -> None:
    gid = f"spot:{spot.kind}:{spot.number}"
    x, middle = _center(spot), top + _STRIP / 2
    if spot.kind == "space":
        return
    if spot.start == spot.end:
        (ring,) = ax.plot(
            [x], [middle], marker="o", markersize=9, markerfacecolor=PAPER, markeredgecolor=CHALK
        )
        ring.set_markeredgewidth(1.6)
        ring.set_gid(gid)
    else:
        look = _fill(spot)
        box = ((spot.start, top), spot.end - spot.start, _STRIP)
        ax.add_artist(
            Rectangle(
                *box,
                facecolor=look.tint,
                edgecolor=look.thread,
                hatch=look.hatch,
                linewidth=0,
                zorder=2,
                gid=gid,
            )
        )
        ax.add_artist(Rectangle(*box, facecolor="none", edgecolor=INK, linewidth=0.8, zorder=3))
    number, room = str(spot.number), (spot.end - spot.start) / ticks - 2
    if spot.start == spot.end:
        write(ax, x, top + _STRIP - 5, number, SMALLEST, gid=f"number:{spot.number}")
        return
    wide, high = text_width(number, _SIZE, bold=True), _SIZE * PITCH
    upright = wide > room
    across, along = (high, wide) if upright else (wide, high)
    if across <= room + 2:
        # Where a number is too wide for its mark it stands on end, as the distances do.
        half, tall = (across / 2 + (0 if upright else 1)) * ticks, along + 2 * upright
        tint = _fill(spot).tint
        ax.add_artist(Rectangle((x - half, middle - tall / 2), 2 * half, tall, facecolor=tint, zorder=4))
        turn = 90.0 if upright else 0.0
        write(ax, x, middle, number, _SIZE, bold=True, rotation=turn, gid=f"number:{spot.number}")


#: So many distances can be read on one strip; a heading of more goes on in a further strip.
MOST_ON_A_STRIP: Final = 40


def stretches(heading: HeadingPlan) -> tuple[tuple[int, int], ...]:
    """The parts in which a heading is drawn, broken between two tabs, rings or pleats."""
    marks = [spot for spot in heading.spots if spot.kind != "space"]
    breaks = [
        (marks[number - 1].end + marks[number].start) // 2
        for number in range(MOST_ON_A_STRIP, len(marks), MOST_ON_A_STRIP)
    ]
    return tuple(itertools.pairwise((0, *breaks, heading.width)))


def heading_figure(
    heading: HeadingPlan,
    unit: Unit,
    *,
    width: float = 540.0,
    stretch: tuple[int, int] | None = None,
    titled: bool = True,
) -> Figure:
    """The heading as a picture of its own, ``width`` points wide; ``titled`` as in `draw_heading`."""
    first, last = stretch or (0, heading.width)
    marks, labels = _distances(heading, unit, first, last)
    above = _above(labels, upright=_crowded(marks, labels, (last - first) / max(1.0, width - 2 * _SIDE)))
    with strokes():
        figure = new_sheet(width, (_TOP if titled else _BARE_TOP) + above + _STRIP + _FOOT)
        draw_heading(figure.add_axes((0, 0, 1, 1)), heading, unit, stretch=stretch, titled=titled)
    return figure
