"""Where a bolt is cut straight across, and what is left beside the pieces."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from nesting.ease import across_lines
from nesting.headings.heading import measure
from nesting.packet.facts import both_units
from nesting.plan import ClothLayout
from nesting.units import Unit

#: Strips narrower than this are no use to anybody.
LEAST: Final = measure("4", "10")
_CUSHION: Final = measure("18", "45")
_TIE: Final = measure("24", "60")


@dataclass(frozen=True, slots=True)
class Stretch:
    """A part of the bolt between two straight cuts."""

    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Offcut:
    """A rectangle that no piece uses, and what it may become."""

    start: int
    length: int
    width: int
    use: str


def straight_cuts(layout: ClothLayout) -> tuple[int, ...]:
    """Where the cloth can be cut straight across without meeting a piece, the end of the layout last."""
    return across_lines((laid.y, laid.y + laid.length) for laid in layout.placements)


def stretches_of(layout: ClothLayout) -> tuple[Stretch, ...]:
    """The bolt from straight cut to straight cut."""
    cuts = straight_cuts(layout)
    return tuple(Stretch(start, end) for start, end in zip((0, *cuts), cuts, strict=False))


def offcuts(layout: ClothLayout, unit: Unit) -> tuple[Offcut, ...]:
    """Free strips along the right edge between straight cuts, and what remains of the purchase."""
    found = list[Offcut]()
    for width, stretches in itertools.groupby(stretches_of(layout), lambda stretch: _free(layout, stretch)):
        run = list(stretches)
        found += _worth(run[0].start, run[-1].end - run[0].start, width, unit)
    if layout.buy is not None and layout.length is not None:
        rest = layout.buy.total - layout.buy.needed
        found += _worth(layout.length, rest, layout.fit_to_cut, unit)
    return tuple(found)


def _free(layout: ClothLayout, stretch: Stretch) -> int:
    """How wide the strip is that no piece of a stretch uses, at the right edge."""
    within = [laid for laid in layout.placements if stretch.start <= laid.y < stretch.end]
    used = max((laid.x + laid.width for laid in within), default=0)
    return layout.fit_to_cut - used


def _worth(start: int, length: int, width: int, unit: Unit) -> Iterator[Offcut]:
    if min(length, width) < LEAST.of(unit):
        return
    small, long = min(length, width), max(length, width)
    if small >= _CUSHION.of(unit):
        use = "a cushion front or the practice sample"
    elif long >= _TIE.of(unit):
        use = "tie-backs, or a strip to try hem and needle on"
    else:
        use = "test pieces for iron, needle and thread"
    yield Offcut(start, length, width, use)


def offcut_words(offcut: Offcut, unit: Unit) -> str:
    """Its size in both measures."""
    return f"{both_units(offcut.width, unit)} wide, {both_units(offcut.length, unit)} long"
