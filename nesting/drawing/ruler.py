"""The ruler along the left selvage: inches with yard marks, centimeters or millimeters with meter marks."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from matplotlib.axes import Axes
from matplotlib.collections import LineCollection

from nesting.drawing.frame import Frame
from nesting.drawing.lettering import text_width, write
from nesting.drawing.palette import CHALK, INK
from nesting.units import METER, YARD, Unit, unit_ticks

_SIZE: Final = 6.5
_BOLD: Final = 7.5


@dataclass(frozen=True, slots=True)
class Tape:
    """How a ruler is divided, in its unit.

    ``steps`` are the label steps to choose from, ``minor`` the finest ticks, ``major`` the ticks of
    one yard or meter, called ``name``.
    """

    steps: tuple[int, ...]
    minor: tuple[int, ...]
    major: int
    name: str


_TAPES: Final[dict[Unit, Tape]] = {
    "in": Tape((6, 12, 18, 36, 72, 180), (1, 3, 6, 12), YARD, "yd"),
    "cm": Tape((10, 20, 50, 100, 200, 500), (1, 5, 10, 50), METER, "m"),
    "mm": Tape((100, 200, 500, 1000, 2000, 5000), (10, 50, 100, 500), METER, "m"),
}


def draw_ruler(ax: Axes, frame: Frame, unit: Unit, edge: float) -> None:
    """The ruler of the frame above the page line ``edge`` (in ticks), zero at the squared end.

    It covers the whole stretch; fabric before the squared end has no numbers.
    """
    tape, one = _TAPES[unit], unit_ticks(unit)
    base = edge - frame.ticks(2)
    widest = text_width(str(max(abs(frame.start), frame.end) // one), _SIZE) + 6
    step = next((s for s in tape.steps if frame.points(s * one) >= widest), tape.steps[-1])
    fine = next((m for m in tape.minor if step % m == 0 and frame.points(m * one) >= 2.6), step)
    first = max(0, frame.start)
    spine = LineCollection([((first, base), (frame.end, base))], colors=INK, linewidths=0.9, zorder=4)
    spine.set_gid(f"ruler:{first}:{frame.end}")
    ax.add_collection(spine)
    _draw_ticks(ax, frame, base, (fine * one, step * one, tape.major))
    for number in range(-(-first // (step * one)), frame.end // (step * one) + 1):
        at = number * step * one
        write(
            ax,
            at,
            base - frame.ticks(10.5),
            str(number * step),
            _SIZE,
            va="center",
            bold=at % tape.major == 0,
            gid=f"ruler-mark:{at}",
        )
    # Yards or meters that would run into each other are named every other time, or more seldom.
    name = text_width(f"{frame.end // tape.major} {tape.name}", _BOLD, bold=True) + 6
    apart = next((n for n in (1, 2, 5, 10, 20) if frame.points(n * tape.major) >= name), 50)
    for number in range(max(1, -(-first // tape.major)), frame.end // tape.major + 1):
        if number % apart:
            continue
        at = number * tape.major
        write(
            ax,
            at,
            base - frame.ticks(18.5),
            f"{number} {tape.name}",
            _BOLD,
            bold=True,
            color=CHALK,
            gid=f"ruler-major:{at}",
        )


def _draw_ticks(ax: Axes, frame: Frame, base: float, steps: tuple[int, int, int]) -> None:
    fine, step, major = steps
    lines, widths = [], []
    first = max(0, frame.start)
    for number in range(-(-first // fine), frame.end // fine + 1):
        at = number * fine
        tall = 6.5 if at % major == 0 else 5.0 if at % step == 0 else 2.8
        lines.append(((at, base), (at, base - frame.ticks(tall))))
        widths.append(1.4 if at % major == 0 else 0.8 if at % step == 0 else 0.4)
    ticks = LineCollection(lines, colors=INK, linewidths=widths, zorder=4)
    ticks.set_gid("ruler-ticks")
    ax.add_collection(ticks)
