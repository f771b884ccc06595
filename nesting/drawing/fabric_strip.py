"""The fabric under the pieces: selvages, squaring, unused fabric, the lines of the repeat, flaws."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import Final

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection
from matplotlib.patches import Rectangle

from nesting.drawing.frame import Frame, selvage
from nesting.drawing.lettering import PITCH, SMALLEST, text_width, write
from nesting.drawing.palette import FABRIC, FABRIC_WEAVE, FADED, FLAW, FLAWED, INK, PAPER, REPEAT, SELVAGE
from nesting.order.job import FabricFlaw
from nesting.plan.plan import FabricLayout
from nesting.repeat import Repeat
from nesting.units import Unit, format_length

_SIZE: Final = 6.5
_FLAW: Final = "flaw"
_BAR: Final = "   |   "


def flaws_of(layout: FabricLayout) -> tuple[FabricFlaw, ...]:
    """The flaws of the length on hand it is laid on, on its width to cut; none on a bolt bought new."""
    return tuple(FabricFlaw(flaw.y, flaw.length, flaw.x, flaw.width) for flaw in layout.flaws)


def repeat_of(layout: FabricLayout) -> Repeat | None:
    """The fabric's repeat; one without a width has the width the bolt is matched over."""
    repeat = layout.fabric.repeat
    if repeat is None or repeat.width is not None or layout.bolt.match is None:
        return repeat
    return replace(repeat, width=layout.bolt.match)


def pattern_origin(layout: FabricLayout) -> tuple[int, int]:
    """``(phase_x, phase_y)`` of the pattern as the first matched piece lies on it.

    Where nothing is matched, the pattern is taken to start at the squared end and the left edge.
    """
    repeat, start = repeat_of(layout), layout.fabric.start
    if repeat is None:
        return 0, 0
    for laid in sorted(layout.placements, key=lambda laid: (laid.y, laid.x)):
        match = laid.piece.match
        if match is not None and laid.turn:
            return (laid.x + laid.width + match.y) % (repeat.width or layout.usable), 0
        if match is not None:
            _, across = repeat.columns(laid.x, match.x)
            return across, repeat.phase_y(laid.x, laid.y, match.x, match.y)
    return 0, -start % repeat.length if start is not None else 0


def repeat_lines(
    layout: FabricLayout, frame: Frame
) -> Iterator[tuple[tuple[float, float], tuple[float, float]]]:
    """The lines of the repeat within the frame, in page coordinates: one point of the pattern on each."""
    repeat = repeat_of(layout)
    if repeat is None:
        return
    phase_x, phase_y = pattern_origin(layout)
    first = max(0, frame.start)
    wide = repeat.width or layout.usable
    left = phase_x - wide if repeat.width else 0
    column = -1 if repeat.width else 0
    while left < layout.usable:
        top, bottom = max(0, left), min(layout.usable, left + wide)
        if left > 0:
            yield (first, left), (frame.end, left)
        y = first + (phase_y + column * repeat.step - first) % repeat.length
        while y <= frame.end and bottom > top:
            yield (y, top), (y, bottom)
            y += repeat.length
        left, column = left + wide, column + 1


def draw_fabric(ax: Axes, layout: FabricLayout, frame: Frame, unit: Unit, *, told: bool = True) -> None:
    """Everything of the stretch that is not a piece; ``told``: also in words along its selvages."""
    edge, first, span = selvage(layout), max(0, frame.start), frame.end - frame.start
    ground = Rectangle(
        (first, 0),
        frame.end - first,
        layout.usable,
        facecolor=FABRIC,
        edgecolor=FABRIC_WEAVE,
        hatch="xxx",
        linewidth=0,
        zorder=1,
        gid="unused",
    )
    ax.add_artist(ground)
    for name, at in (("left", -edge), ("right", float(layout.usable))):
        ax.add_artist(
            Rectangle(
                (frame.start, at),
                span,
                edge,
                facecolor=SELVAGE,
                edgecolor="none",
                zorder=1,
                gid=f"selvage:{name}",
            )
        )
    for at in (-edge, layout.usable + edge):
        ax.add_collection(LineCollection([((frame.start, at), (frame.end, at))], colors=INK, linewidths=1.2))
    _draw_hem_edge(ax, layout, frame)
    lines = LineCollection(
        list(repeat_lines(layout, frame)),
        colors=REPEAT,
        linewidths=0.7,
        linestyles=[(0, (6, 2, 1, 2))],
        zorder=3,
    )
    lines.set_gid("repeat-lines")
    ax.add_collection(lines)
    _draw_squaring(ax, layout, frame)
    for number, flaw in enumerate(flaws_of(layout), start=1):
        _draw_flaw(ax, layout, frame, flaw, number)
    _write_ends(ax, layout, frame, unit)
    if told:
        _write_selvages(ax, layout, frame, unit)


def _draw_hem_edge(ax: Axes, layout: FabricLayout, frame: Frame) -> None:
    """Where a selvage is the hem: both selvages, of which the hem shows as a heavy line at its edge."""
    if not layout.edge_to_edge:
        return
    margin = (layout.usable - layout.fit_to_cut) / 2
    for name, at in (("left", 0.0), ("right", layout.usable - margin)):
        strip = Rectangle(
            (frame.start, at), frame.end - frame.start, margin, facecolor=SELVAGE, edgecolor="none",
            zorder=1.5, gid=f"selvage-inside:{name}",
        )  # fmt: skip
        ax.add_artist(strip)
    if layout.hem_edge is None:
        return
    at = 0.0 if layout.hem_edge == "left" else float(layout.usable)
    heavy = LineCollection([((frame.start, at), (frame.end, at))], colors=INK, linewidths=3, zorder=6)
    heavy.set_gid("hem-edge")
    ax.add_collection(heavy)


def _draw_squaring(ax: Axes, layout: FabricLayout, frame: Frame) -> None:
    if frame.start >= 0:
        return
    ax.add_artist(
        Rectangle(
            (frame.start, 0),
            min(0, frame.end) - frame.start,
            layout.usable,
            facecolor=PAPER,
            edgecolor=FADED,
            hatch="\\\\\\\\",
            linewidth=0.4,
            zorder=1,
            gid="squaring",
        )
    )


def _draw_flaw(ax: Axes, layout: FabricLayout, frame: Frame, flaw: FabricFlaw, number: int) -> None:
    left, right = max(flaw.at, frame.start), min(flaw.at + flaw.length, frame.end)
    width = layout.usable - flaw.from_left if flaw.width is None else flaw.width
    if left >= right:
        return
    ax.add_artist(
        Rectangle(
            (left, flaw.from_left),
            right - left,
            width,
            facecolor=FLAWED,
            edgecolor=FLAW,
            hatch="xxxx",
            linewidth=1.2,
            zorder=3.5,
            gid=f"flaw:{number}",
        )
    )
    room, high = frame.points(right - left) - 3, frame.points(width) - 3
    for text_size in (8.0, SMALLEST):
        word, line = text_width(_FLAW, text_size, bold=True), text_size * PITCH
        if word > room or line > high:
            continue
        x, y = (left + right) / 2, flaw.from_left + width / 2
        half, low = frame.ticks(word / 2 + 1), frame.ticks(line / 2)
        clear = Rectangle(
            (x - half, y - low), 2 * half, 2 * low, facecolor=FLAWED, edgecolor="none", zorder=5
        )
        ax.add_artist(clear)
        write(ax, x, y, _FLAW, text_size, bold=True, color=FLAW, gid=f"flaw-word:{number}")
        break


def _write_ends(ax: Axes, layout: FabricLayout, frame: Frame, unit: Unit) -> None:
    """What the ends of the row are: the squared end, the end of the layout, or where it goes on."""
    end = layout.length
    across = frame.points(layout.full_width)
    begin: tuple[str, ...] = ("squared end: 0", "squared end")
    if layout.squaring and frame.start < 0:
        cut_off = format_length(layout.squaring, unit)
        squaring = f"{cut_off} to square the end (included)"
        begin = (f"{squaring}{_BAR}ruler 0 is the squared end", squaring, f"{cut_off} to square", cut_off)
    elif frame.start > 0:
        begin = (f"continued from {format_length(frame.start, unit)}", "continued")
    finish = (f"end of layout: {format_length(frame.end, unit)}", format_length(frame.end, unit))
    if end is None or frame.end < end:
        finish = (f"continues at {format_length(frame.end, unit)}", "continues")
    middle = layout.usable / 2
    for texts, at, sign in ((begin, frame.start, -1), (finish, frame.end, 1)):
        text = next((text for text in texts if text_width(text, _SIZE) <= across), texts[-1])
        place = at + sign * frame.ticks(8)
        write(ax, place, middle, text, _SIZE, color=FADED, rotation=90, gid=f"row-end:{sign}")


def _write_selvages(ax: Axes, layout: FabricLayout, frame: Frame, unit: Unit) -> None:
    """Which selvage is which, and what the row shows."""
    edge, hem = selvage(layout), layout.hem_edge
    stretch = f"{format_length(max(0, frame.start), unit, name=False)} to {format_length(frame.end, unit)}"
    kept = ": the hem, do not cut it off"
    far = f"left selvage, far edge of the table{kept if hem == 'left' else ''}"
    top = f"{far}   ·   {stretch} from the squared end"
    if frame.rows > 1:
        top = f"Row {frame.row} of {frame.rows}   ·   {top}"
    room = frame.points(frame.end - frame.start)
    brief = f"Row {frame.row}   ·   {stretch}" if frame.rows > 1 else stretch
    for text in (top, top.replace(", far edge of the table", ""), brief, stretch):
        if text_width(text, _SIZE) <= room:
            break
    write(ax, frame.start, -edge - frame.ticks(32), text, _SIZE, color=FADED, ha="left", gid="row-head")
    right = f"right selvage, near edge of the table{kept if hem == 'right' else ''}"
    if text_width(right, _SIZE) > room:
        right = "right selvage: the hem" if hem == "right" else "right selvage"
    low = layout.usable + edge + frame.ticks(7)
    write(ax, frame.start, low, right, _SIZE, color=FADED, ha="left", gid="row-foot")
