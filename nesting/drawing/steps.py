"""The number of a piece as a small dark tag in a corner of it, clear of its label."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from nesting.drawing.lettering import SMALLEST, text_width, write
from nesting.drawing.palette import CHALK
from nesting.drawing.piece_labels import PieceLabel, fit_label
from nesting.plan.plan import Laid
from nesting.units import Unit

_SIZES: Final = (7.5, SMALLEST)
_EDGE: Final = 1.4
_APART: Final = 1.0
_NOTCH: Final = 4.0

Box = tuple[float, float, float, float]
"""Left, top, width and height, in points."""


@dataclass(frozen=True, slots=True)
class Tag:
    """A number with its place, in points from the left and top of the room for the label."""

    text: str
    size: float
    box: Box


def fit_tag(
    laid: Laid, unit: Unit, room: tuple[float, float], label: PieceLabel, number: str
) -> tuple[PieceLabel, Box, Tag | None]:
    """The label, the room it is centerd in, and the tag; the label may give way, but says no less.

    Parameters
    ----------
    laid, unit
        As for `fit_label`.
    room
        Width and height for the label, in points.
    label
        The one that fits by itself.
    number
        Of the piece.

    Returns
    -------
    tuple
        Label, its box within the room, and the tag, or None where it has no place.
    """
    whole = (0.0, 0.0, *room)
    # The notches of a start line stand at the hem line, beyond which the room begins.
    inset = _NOTCH if laid.piece.hem_line and laid.piece.match is not None else _APART
    for size in _SIZES:
        tag = _size(number, size)
        for box in _corners(room, tag, inset):
            if not _meet(box, _centerd(label, laid, whole)):
                return label, whole, Tag(number, size, box)
    for size in _SIZES:
        width, height = _size(number, size)
        beside = (width + _APART, 0.0, room[0] - width - _APART, room[1])
        below = (0.0, height + _APART, room[0], room[1] - height - _APART)
        for rest in (beside, below):
            other = fit_label(laid, unit, (max(0.0, rest[2]), max(0.0, rest[3])), None)
            if (other.named, other.numbered) >= (label.named, label.numbered) and _holds(rest, other, laid):
                corner = next(_corners(room, (width, height), inset), None)
                if corner is not None:
                    return other, rest, Tag(number, size, corner)
    return label, whole, None


def _size(text: str, size: float) -> tuple[float, float]:
    return text_width(text, size, bold=True) + 2 * _EDGE, size + _EDGE


def _corners(room: tuple[float, float], tag: tuple[float, float], inset: float) -> Iterator[Box]:
    right, low = room[0] - tag[0] - _APART, room[1] - tag[1] - _APART
    if right < inset or low < _APART:
        return
    for left in (inset, right):
        for top in (_APART, low):
            yield left, top, *tag


def _centerd(label: PieceLabel, laid: Laid, room: Box) -> Box:
    width, height = label.extent(laid.arrow)
    return room[0] + (room[2] - width) / 2, room[1] + (room[3] - height) / 2, width, height


def _holds(room: Box, label: PieceLabel, laid: Laid) -> bool:
    width, height = label.extent(laid.arrow)
    return width <= room[2] and height <= room[3]


def _meet(one: Box, two: Box) -> bool:
    return (
        one[0] < two[0] + two[2] + _APART
        and two[0] < one[0] + one[2] + _APART
        and one[1] < two[1] + two[3] + _APART
        and two[1] < one[1] + one[3] + _APART
    )


def draw_tag(ax: Axes, tag: Tag, corner: tuple[float, float], ticks: float, name: str) -> None:
    """The tag in a room whose corner is there on the page; ``ticks`` for a point."""
    left, top = corner[0] + tag.box[0] * ticks, corner[1] + tag.box[1] * ticks
    width, height = tag.box[2] * ticks, tag.box[3] * ticks
    ax.add_artist(
        Rectangle((left, top), width, height, facecolor=CHALK, edgecolor="none", zorder=5.5,
                  gid=f"step-tag:{name}")
    )  # fmt: skip
    write(
        ax, left + width / 2, top + height / 2, tag.text, tag.size,
        color="white", bold=True, gid=f"step:{name}",
    )  # fmt: skip
