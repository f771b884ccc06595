"""A cut panel with its letters, not to scale: what is cut, where it is folded, and what is left."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Circle, Rectangle

from nesting.drawing.dimension import draw_badge, draw_dimension
from nesting.drawing.lettering import READABLE, write
from nesting.drawing.palette import FADED, INK, LOOKS

WIDTH: Final = 212.0
HEIGHT: Final = 180.0

_LEFT: Final = 58.0
_RIGHT: Final = 172.0
_TOP: Final = 24.0
_LOW: Final = 138.0
_SIDE: Final = 13.0
_HEM: Final = 13.0
_HEAD: Final = 14.0


@dataclass(frozen=True, slots=True)
class LetteredPanel:
    """What of a panel has a letter.

    Attributes
    ----------
    top
        Letters of what is turned down or sewn away at the top, from the edge downward.
    taken
        Letter of what the rod takes up below the top line, beside the finished length; empty: nothing.
    marks
        What is spaced along the top: ``block`` has a width, ``point`` has none; None: nothing is.
    edge
        Letters from the left edge of the finished panel to the first mark; empty where it begins at the edge.
    mark
        Letter of the width of a mark, or empty.
    """

    top: tuple[str, ...]
    taken: str = ""
    marks: Literal["block", "point"] | None = None
    edge: str = ""
    mark: str = ""

    @property
    def letters(self) -> frozenset[str]:
        """Every letter that stands on the drawing."""
        own = {*self.top, self.taken, self.edge, self.mark, "F", "K", "L", "W", "e", "h", "s"}
        return frozenset(own - {""})


def draw_lettered_panel(ax: Axes, look: LetteredPanel) -> Axes:
    """The panel on Axes measured in points downwards, seen from the wrong side, before anything is folded."""
    tint = LOOKS["panel"].tint
    ax.add_artist(
        Rectangle((_LEFT, _TOP), _RIGHT - _LEFT, _LOW - _TOP, facecolor=tint, edgecolor=INK, linewidth=1.3)
    )
    inner, outer = _LEFT + 2 * _SIDE, _RIGHT - 2 * _SIDE
    top = _TOP + _HEAD * len(look.top)
    hem = _LOW - 2 * _HEM
    for x in (_LEFT + _SIDE, inner, outer, _RIGHT - _SIDE):
        _fold(ax, (x, x), (_TOP, _LOW), last=x in (inner, outer))
    for y in (hem, _LOW - _HEM):
        _fold(ax, (_LEFT, _RIGHT), (y, y), last=y == hem)
    for number in range(1, len(look.top) + 1):
        y = _TOP + number * _HEAD
        _fold(ax, (_LEFT, _RIGHT), (y, y), last=number == len(look.top))
    _draw_seam(ax, outer)
    _draw_marks(ax, look, inner, outer, top)
    _letter(ax, look, (inner, outer), (top, hem))
    _explain(ax)
    return ax


def _fold(ax: Axes, across: tuple[float, float], down: tuple[float, float], *, last: bool) -> None:
    """A line to fold on; the last fold of a hem, on the finished edge, is the heavier one."""
    style = (0, (6, 2)) if last else (0, (2, 2))
    ax.add_artist(Line2D(across, down, color=INK, linewidth=1.0 if last else 0.6, linestyle=style))


def _draw_seam(ax: Axes, outer: float) -> None:
    """Where two widths are joined, with its allowance."""
    x = outer - 10
    ax.add_artist(Line2D((x, x), (_TOP, _LOW), color=INK, linewidth=0.9, linestyle=(0, (7, 2, 1, 2))))
    draw_badge(ax, "s", (x, _LOW - 2 * _HEM - 27))


def _draw_marks(ax: Axes, look: LetteredPanel, inner: float, outer: float, top: float) -> None:
    if look.marks is None:
        return
    start, wide, apart = (12.0 if look.edge else 0.0), 11.0, 26.0
    low = top + 5
    for number in range(2):
        x = inner + start + number * apart
        if x + wide > outer:
            break
        if look.marks == "block":
            ax.add_artist(
                Rectangle(
                    (x, low),
                    wide,
                    14,
                    facecolor=LOOKS["tab"].tint,
                    edgecolor=INK,
                    linewidth=0.9,
                    hatch="...",
                )
            )
        else:
            ax.add_artist(Circle((x, low + 8), 5, facecolor="white", edgecolor=INK, linewidth=1.1))
    y = low + 19
    if look.edge:
        end = inner + start + (wide / 2 if look.marks == "block" and look.mark else 0)
        draw_dimension(ax, (inner, y), (end, y), letter=look.edge, badge=(inner + 8, y + 11))
    if look.mark:
        x = inner + start + apart
        draw_dimension(ax, (x, y), (x + wide, y), letter=look.mark, badge=(x + wide / 2, y + 11))


def _letter(ax: Axes, look: LetteredPanel, across: tuple[float, float], down: tuple[float, float]) -> None:
    (inner, outer), (top, hem) = across, down
    draw_dimension(ax, (_LEFT, _TOP - 14), (_RIGHT, _TOP - 14), letter="K")
    draw_dimension(ax, (_LEFT - 48, _TOP), (_LEFT - 48, _LOW), letter="L")
    low = top + (_HEAD if look.taken else 0)
    draw_dimension(ax, (_LEFT - 20, low), (_LEFT - 20, hem), letter="F")
    if look.taken:
        middle = (top + low) / 2
        draw_dimension(
            ax, (_LEFT - 20, top), (_LEFT - 20, low), letter=look.taken, badge=(_LEFT - 33, middle)
        )
    draw_dimension(ax, (inner, hem - 11), (outer, hem - 11), letter="W")
    for y in (_LOW - _HEM / 2, _LOW - _HEM * 1.5):
        draw_dimension(ax, (_LEFT - 20, y - _HEM / 2), (_LEFT - 20, y + _HEM / 2))
        ax.add_artist(Line2D((_LEFT - 20, _LEFT - 28), (y, _LOW - _HEM), color=INK, linewidth=0.4))
    draw_badge(ax, "h", (_LEFT - 33, _LOW - _HEM))
    for x in (_LEFT + _SIDE / 2, _LEFT + _SIDE * 1.5):
        draw_dimension(ax, (x - _SIDE / 2, _LOW + 9), (x + _SIDE / 2, _LOW + 9))
    draw_badge(ax, "e", (_LEFT + 2 * _SIDE + 14, _LOW + 11))
    for number, letter in enumerate(look.top):
        y = _TOP + number * _HEAD
        draw_dimension(
            ax,
            (_RIGHT + 6, y),
            (_RIGHT + 6, y + _HEAD),
            letter=letter,
            badge=(_RIGHT + 18 + 14 * (number % 2), y + _HEAD / 2),
        )


def _explain(ax: Axes) -> None:
    """The signs, beside the panel."""
    signs: tuple[tuple[str, float, tuple[float, Sequence[float]]], ...] = (
        ("cut edge", 1.3, (0, (1, 0))),
        ("last fold", 1.0, (0, (6, 2))),
        ("inner fold", 0.6, (0, (2, 2))),
        ("seam", 0.9, (0, (7, 2, 1, 2))),
    )
    for number, (words, width, style) in enumerate(signs):
        left, y = 22.0 + 96 * (number % 2), _LOW + 26.0 + 13 * (number // 2)
        ax.add_artist(Line2D((left, left + 22), (y, y), color=INK, linewidth=width, linestyle=style))
        write(ax, left + 27, y, words, READABLE, color=FADED, ha="left")
