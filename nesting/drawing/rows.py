"""How a bolt is folded into rows or pages, and which pieces the legend must explain."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Final

from nesting.drawing.frame import Frame
from nesting.drawing.pieces import Lettering, lettering_of, shows, tag
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import Unit

# A row may end early, to this part of the longest, where that spares pieces from being cut in two.
_SHORTEST: Final = 0.55


def in_order(layout: FabricLayout) -> tuple[Laid, ...]:
    """The placements as they are met along the bolt."""
    return tuple(sorted(layout.placements, key=lambda laid: (laid.y, laid.x, laid.piece.id, laid.copy)))


def fold(layout: FabricLayout, longest: int, scale: float) -> tuple[Frame, ...]:
    """The bolt in stretches of at most ``longest`` ticks, without gap from squaring to the last cut.

    A stretch ends where the fewest pieces are cut in two, and at the edge of a piece, and as late as that
    allows.
    """
    end = layout.length or max((laid.y + laid.length for laid in layout.placements), default=1)
    starts, at = [-layout.squaring], -layout.squaring
    while end - at > longest:
        at = _break(layout.placements, at, longest)
        starts.append(at)
    ends = (*starts[1:], end)
    return tuple(
        Frame(first, last, scale, number, len(starts))
        for number, (first, last) in enumerate(zip(starts, ends, strict=True), start=1)
    )


def _break(placements: Sequence[Laid], at: int, longest: int) -> int:
    limit, least = at + longest, at + max(1, int(longest * _SHORTEST))
    edges = {edge for laid in placements for edge in (laid.y, laid.y + laid.length)}
    candidates = {limit, *(edge for edge in edges if least <= edge <= limit)}

    def cut(y: int) -> int:
        return sum(laid.y < y < laid.y + laid.length for laid in placements)

    return min(candidates, key=lambda y: (cut(y), y not in edges, -y))


def cut_in_two(layout: FabricLayout, frames: Sequence[Frame]) -> bool:
    """Whether any piece lies across the break between two frames."""
    breaks = [frame.end for frame in frames[:-1]]
    return any(laid.y < y < laid.y + laid.length for laid in layout.placements for y in breaks)


def to_explain(
    layout: FabricLayout, unit: Unit, frames: Sequence[Frame], numbers: Mapping[str, str]
) -> frozenset[str]:
    """The ids of pieces of which some copy shows no whole name, so that the legend tells what they are.

    Parameters
    ----------
    layout, unit
        The bolt, and the unit of its text.
    frames
        The stretches in which the bolt will be drawn.
    numbers
        What each piece is called, by `pieces.tag`.
    """
    found = set[str]()
    for laid in in_order(layout):
        if laid.piece.id not in found:
            shown = _written(laid, unit, frames, numbers)
            if not any(written.label.named for written in shown):
                found.add(laid.piece.id)
    return frozenset(found)


def legible(layout: FabricLayout, unit: Unit, frames: Sequence[Frame], numbers: Mapping[str, str]) -> bool:
    """Whether every copy shows its number in some frame."""
    return all(
        any(written.numbered for written in _written(laid, unit, frames, numbers))
        for laid in layout.placements
    )


def _written(
    laid: Laid, unit: Unit, frames: Sequence[Frame], numbers: Mapping[str, str]
) -> Iterator[Lettering]:
    number = numbers[tag(laid)]
    return (lettering_of(laid, frame, unit, number) for frame in frames if shows(laid, frame))
