"""What is to be known of one width of a panel when it is cut and sewn, in words."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Literal

from nesting.cutting.layers import Layer
from nesting.order.job import Bolt, Edge
from nesting.pieces.seams import OneWidth


def edges_joined(layer: Layer, index: int, neighbors: Iterable[int]) -> Iterator[Literal["left", "right"]]:
    """At which edge of a width each neighbor is sewn on, the width lying right side up.

    Widths are counted from left to right as the room sees them. A lining turns its right side away from the
    room, so on it the sides change places; an interlining has no right side.
    """
    if layer.role != "interlining":
        away = layer.role == "lining"
        yield from ("left" if (n < index) != away else "right" for n in neighbors)


def leading_words(layer: Layer, leading: Literal["left", "right"]) -> str:
    """Where the leading edge of a width is, the width lying right side up as in `edges_joined`."""
    if layer.role == "interlining":
        return f"leading edge on the {leading}, seen from the room"
    away = layer.role == "lining"
    return f"leading edge on its {leading if not away else {'left': 'right', 'right': 'left'}[leading]}"


def full_words(cut: int, fabric: OneWidth, bolt: Bolt, own: Edge | None) -> str:
    """What of a full width is cut; only a bolt that is used whole is cut from selvage to selvage."""
    if own is not None:
        return "full width, the other selvage left off"
    if bolt.printed:
        return "full width: the print with a seam allowance in each selvage"
    if cut == bolt.width:
        return "full width, selvage to selvage"
    if fabric.matched:
        return "full width: the match with a seam allowance at each side"
    return "full width, selvages left off"
