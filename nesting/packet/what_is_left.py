"""Where a bolt is cut straight across, and what is left beside the pieces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from nesting.headings.making import measure
from nesting.plan.cut_rows import straight_cuts
from nesting.plan.offcuts import Offcut, offcuts_of
from nesting.plan.plan import FabricLayout
from nesting.units import Unit, format_length

_CUSHION: Final = measure("18", "45")
_TIE: Final = measure("24", "60")


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the bolt between two straight cuts."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Spare:
    """A rectangle that no piece uses, and what it may become."""

    offcut: Offcut
    use: str


def stretches_of(layout: FabricLayout) -> tuple[Stretch, ...]:
    """The bolt from straight cut to straight cut."""
    cuts = straight_cuts(layout)
    return tuple(Stretch(start, end) for start, end in zip((0, *cuts), cuts, strict=False))


def offcuts(layout: FabricLayout, unit: Unit) -> tuple[Spare, ...]:
    """What is worth keeping, the largest first, each with a use."""
    return tuple(Spare(offcut, _use(offcut, unit)) for offcut in offcuts_of(layout, unit))


def _use(offcut: Offcut, unit: Unit) -> str:
    small, long = min(offcut.length, offcut.width), max(offcut.length, offcut.width)
    if small >= _CUSHION.of(unit):
        return "a cushion front or the practice sample"
    if long >= _TIE.of(unit):
        return "tie-backs, or a strip to try hem and needle on"
    return "test pieces for iron, needle and thread"


def offcut_words(offcut: Offcut, unit: Unit) -> str:
    """Its size and its place: ``21 1/4 × 77 3/4 in, from 623 3/4 in, 15 in from left``."""
    size = f"{format_length(offcut.width, unit, name=False)} × {format_length(offcut.length, unit)}"
    return f"{size}, from {format_length(offcut.start, unit)}, {format_length(offcut.x, unit)} from left"
