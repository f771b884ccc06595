"""The arrow that points to the top of the hanging panel, with the word TOP."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.patches import Polygon

from nesting.drawing.lettering import PITCH, SMALLEST, text_width, write
from nesting.drawing.palette import RUST

Direction = Literal["up", "down", "left", "right"]

WORD: Final = "TOP"

#: Unit steps on the page (rightwards, downwards) for each direction on the fabric.
STEPS: Final[dict[Direction, tuple[int, int]]] = {
    "up": (1, 0),
    "down": (-1, 0),
    "left": (0, -1),
    "right": (0, 1),
}
_GAP: Final = 2.0


@dataclass(frozen=True, slots=True)
class Pointer:
    """An arrow of ``length`` points with its word at ``size`` points.

    ``size`` 0 leaves the word out; ``under`` writes it along the shaft instead of beyond the tip.
    """

    length: float
    size: float = 0.0
    under: bool = False

    @property
    def thickness(self) -> float:
        """Across the arrow head, in points."""
        return min(max(9.0, 0.17 * self.length), max(2.4, 0.42 * self.length))

    def extent(self, direction: Direction) -> tuple[float, float]:
        """Width and height on the page, in points."""
        word, line = text_width(WORD, self.size, bold=True), self.size * PITCH
        flat = direction in ("up", "down")
        if not self.size:
            along, across = self.length, self.thickness
        elif flat and not self.under:
            along, across = self.length + _GAP + word, max(self.thickness, line)
        elif flat:
            along, across = max(self.length, word), self.thickness + line
        elif not self.under:
            along, across = self.length + _GAP + line, max(self.thickness, word)
        else:
            along, across = max(self.length, line), self.thickness + _GAP + word
        return (along, across) if flat else (across, along)


#: With the word, from the largest to the smallest.
WORDED: Final = (
    Pointer(80, 11),
    Pointer(54, 8),
    Pointer(36, 7),
    Pointer(24, 7),
    Pointer(15, SMALLEST),
    Pointer(15, SMALLEST, under=True),
)
#: Without it, for pieces too small on paper.
BARE: Final = (Pointer(24), Pointer(18), Pointer(13), Pointer(9), Pointer(6.5), Pointer(5))

#: None at all, where not even a number has more than its own room.
NO_POINTER: Final = Pointer(0.0)


def draw_pointer(
    ax: Axes,
    pointer: Pointer,
    direction: Direction,
    corner: tuple[float, float],
    ticks: float,
    gid: str,
) -> None:
    """The arrow and its word in the box whose top left corner is given in data coordinates.

    ``ticks`` is the length in data coordinates of a point on paper. The first vertex of the arrow
    is its tip.
    """
    if pointer is NO_POINTER:
        return
    width, height = pointer.extent(direction)
    right, down = STEPS[direction]
    word = text_width(WORD, pointer.size, bold=True)
    line = pointer.size * PITCH
    beyond = 0.0 if pointer.under or not pointer.size else _GAP + (word if right else line)
    aside = (line if right else _GAP + word) if pointer.under else 0.0
    # The arrow's own box: what is left of the whole box once the word has its share.
    u = (width - beyond) / 2 + (beyond if right < 0 else 0) if right else (width - aside) / 2
    v = (height - beyond) / 2 + (beyond if down < 0 else 0) if down else (height - aside) / 2
    _draw_arrow(ax, pointer, direction, (u, v), corner, ticks, gid)
    if not pointer.size:
        return
    if pointer.under:
        wu, wv = (width / 2, height - line / 2) if right else (width - word / 2, height / 2)
    elif right:
        wu, wv = (width - word / 2 if right > 0 else word / 2), height / 2
    else:
        wu, wv = width / 2, (height - line / 2 if down > 0 else line / 2)
    x, y = corner[0] + wu * ticks, corner[1] + wv * ticks
    write(ax, x, y, WORD, pointer.size, bold=True, color=RUST, gid=gid.replace("arrow:", "top:", 1))


def arrow_outline(
    pointer: Pointer, direction: Direction, center: tuple[float, float]
) -> tuple[tuple[float, float], ...]:
    """The corners of the arrow about its center, all in points, its tip's first."""
    half, head = pointer.length / 2, min(0.5 * pointer.length, pointer.thickness)
    wing, shaft = pointer.thickness / 2, max(0.45, pointer.thickness / 9)
    outline = (
        (half, 0),
        (half - head, wing),
        (half - head, shaft),
        (-half, shaft),
        (-half, -shaft),
        (half - head, -shaft),
        (half - head, -wing),
    )
    right, down = STEPS[direction]
    return tuple((center[0] + a * right - b * down, center[1] + a * down + b * right) for a, b in outline)


def _draw_arrow(
    ax: Axes,
    pointer: Pointer,
    direction: Direction,
    center: tuple[float, float],
    corner: tuple[float, float],
    ticks: float,
    gid: str,
) -> None:
    points = [
        (corner[0] + across * ticks, corner[1] + down * ticks)
        for across, down in arrow_outline(pointer, direction, center)
    ]
    ax.add_artist(Polygon(points, closed=True, facecolor=RUST, edgecolor="none", zorder=6, gid=gid))
