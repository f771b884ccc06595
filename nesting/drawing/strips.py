"""The marker for a sheet that lies on the table: strips of the bolt, as wide as the text and without a title.

The list of cuts beside it says what each number is, so a strip needs no names: equal pieces edge to edge have
one number, and the bolt is drawn as small as every number can still be read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.lines import Line2D

from nesting.drawing.fabric_strip import draw_fabric
from nesting.drawing.folds import draw_folds
from nesting.drawing.frame import BESIDE, Frame, frame_axes, frame_size, place_axes, scale_of, selvage
from nesting.drawing.lettering import ENLARGED, SMALLEST, text_width, write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CHALK
from nesting.drawing.pieces import draw_group, draw_piece, group_label, lettering_of, shows
from nesting.drawing.rows import fold
from nesting.drawing.ruler import draw_ruler
from nesting.drawing.stroke import strokes
from nesting.drawing.trace import Drawing, enlarged, trace
from nesting.plan.cut_rows import CutRow
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout
from nesting.plan.pulls import Pull
from nesting.units import Unit

#: Scales 1 : n before strips are enlarged, tried from the first while numbers cannot be read. Without need a
#: bolt is at most `_TALLEST` points high, and never higher than `_HIGHEST`.
_RATIOS: Final = (80.0, 70.0, 60.0, 52.0, 45.0, 42.0, 39.0, 34.0, 29.0, 25.0, 22.0, 19.0, 16.0, 13.0, 10.0)
_TALLEST: Final = 90.0
_HIGHEST: Final = 210.0
#: Points free above and below the fabric: for the ruler, and for fold marks where there are any.
_ABOVE: Final = 25.0
_BELOW: Final = 4.0
_FOLDED: Final = 12.0
#: So many numbers of a strip may stand below it, each with a line to its piece, and what they take.
_MOST_CALLED: Final = 14
_CALLED: Final = 10.0


def strips(
    layout: FabricLayout, unit: Unit, cuts: tuple[CutRow, ...], folds: tuple[Pull, ...], *, width: float
) -> Iterator[Drawing]:
    """The bolt in strips ``width`` points wide, from the squared end on, no word smaller than `READABLE`.

    Parameters
    ----------
    layout, unit
        The bolt, and the unit of its ruler.
    cuts
        Its rows of the cut list.
    folds
        Its pulls: a mark stands wherever the fabric is folded over the end of the table; () for none.
    width
        Of the page between its margins.
    """
    inner = width / ENLARGED
    with strokes():
        found = _frames(layout, cuts, inner)
        called = [_called_out(cuts, found, frame) for frame in found]
        below = [(_FOLDED if folds else _BELOW) + (_CALLED if some else 0.0) for some in called]
        frames = [replace(one, above=_ABOVE, below=low) for one, low in zip(found, below, strict=True)]
    for frame, some in zip(frames, called, strict=True):
        with strokes():
            figure = _strip(layout, unit, cuts, frame, inner)
            if some:
                _draw_called(figure.axes[0], layout, frame, some, inner)
        if folds:
            draw_folds(figure, layout, folds, unit)
        yield enlarged(trace(figure), ENLARGED)


def _frames(layout: FabricLayout, cuts: tuple[CutRow, ...], width: float) -> tuple[Frame, ...]:
    """Rows at the smallest scale at which every number can be read, or at the largest there is."""
    room, fabric = width - 2 * BESIDE, max(layout.full_width, layout.usable)
    whole = (layout.length or 1) + layout.squaring
    largest = max(1e-9, min(room / whole, _TALLEST / fabric))
    tried = [largest, *(scale_of(ratio) for ratio in _RATIOS if scale_of(ratio) > largest)]
    frames: tuple[Frame, ...] = ()
    for scale in tried:
        if frames and scale * fabric > _HIGHEST:
            break
        frames = fold(layout, max(1, int(room / scale)), scale)
        if all(len(_called_out(cuts, frames, frame)) <= _MOST_CALLED for frame in frames):
            break
    return frames


def _called_out(cuts: tuple[CutRow, ...], frames: Sequence[Frame], here: Frame) -> list[CutRow]:
    """The cuts whose number has no room in any strip, and that begin in this one."""
    return [
        cut
        for cut in cuts
        if here.start <= cut.first.y < here.end
        and all(group_label(cut.group, frame, cut.name) is None for frame in _showing(cut, frames))
    ]


def _showing(cut: CutRow, frames: Sequence[Frame]) -> Iterator[Frame]:
    return (frame for frame in frames if any(shows(laid, frame) for laid in cut.pieces))


def _draw_called(ax: Axes, layout: FabricLayout, frame: Frame, called: list[CutRow], width: float) -> None:
    """Numbers in a row below the fabric, each with a line to its piece and a dot in it."""
    low = layout.usable + selvage(layout) + frame.ticks(frame.below - _CALLED / 2)
    middles = {cut.name: _middle(cut) for cut in called}
    ordered = sorted(called, key=lambda cut: middles[cut.name])
    rooms = [frame.ticks(text_width(cut.name, SMALLEST, bold=True) + 4) for cut in ordered]
    wanted, least = [middles[cut.name][0] for cut in ordered], frame.start - frame.ticks(BESIDE / 2)
    places = _apart(wanted, rooms, least, least + frame.ticks(width - BESIDE))
    for cut, at in zip(ordered, places, strict=True):
        x, y = middles[cut.name]
        line = Line2D((x, at), (y, low - frame.ticks(SMALLEST / 2)), color=CHALK, linewidth=0.6, zorder=6)
        dot = Line2D((x,), (y,), color=CHALK, marker="o", markersize=1.8, linestyle="none", zorder=6)
        for mark in (line, dot):
            mark.set_gid(f"call:{cut.name}")
            ax.add_artist(mark)
        write(ax, at, low, cut.name, SMALLEST, bold=True, color=CHALK, gid=f"called:{cut.name}")


def _middle(cut: CutRow) -> tuple[float, float]:
    group, first = cut.group, cut.first
    return first.y + group.along * first.length / 2, first.x + group.across * first.width / 2


def _apart(wanted: list[float], rooms: list[float], least: float, most: float) -> list[float]:
    """Middles in their order, near to where they are wanted, rooms apart, from ``least`` to ``most``."""
    found, free = list[float](), least
    for at, room in zip(wanted, rooms, strict=True):
        found.append(max(at, free + room / 2))
        free = found[-1] + room / 2
    # What had to move to the right pulls the ones before it half of its way to the left.
    moved = [at - to for at, to in zip(found, wanted, strict=True)]
    found = [at - shift / 2 for at, shift in zip(found, moved, strict=True)]
    for number in range(len(found) - 1, -1, -1):
        found[number] = min(found[number], most - rooms[number] / 2)
        most = found[number] - rooms[number] / 2
    for number, room in enumerate(rooms):
        found[number] = max(found[number], least + room / 2)
        least = found[number] + room / 2
    return found


def _strip(layout: FabricLayout, unit: Unit, cuts: tuple[CutRow, ...], frame: Frame, width: float) -> Figure:
    _, height = frame_size(layout, frame)
    figure = new_sheet(width, height)
    ax = place_axes(figure, 0, 0, frame_size(layout, frame)[0], height)
    free = (frame.above, frame.below)
    here = frame_axes(ax, layout, frame.start, frame.end, frame.row, frame.rows, free)
    draw_fabric(ax, layout, here, unit, told=False)
    draw_ruler(ax, here, unit, -selvage(layout))
    for cut in cuts:
        if not any(shows(laid, here) for laid in cut.pieces):
            continue
        if cut.group.count == 1 and lettering_of(cut.first, here, unit, cut.name).numbered:
            draw_piece(ax, cut.first, here, unit, cut.name, start_line(layout, cut.first))
        else:
            draw_group(ax, cut.group, cut.pieces, here, cut.name)
    return figure
