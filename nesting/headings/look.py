"""How a heading looks, as data: the strokes of its picture, and its marks on a finished panel."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Literal, TypeAlias

#: How the top edge hangs to the rod, or to the eye of a ring: above it, level with it, below it on loops.
Sits = Literal["above", "at", "below"]


@dataclass(frozen=True, slots=True)
class MarkLook:
    """What one mark of a heading looks like on a finished panel.

    Attributes
    ----------
    shape
        A ``loop`` above the top edge; a ``strip`` on the back; a ``fold`` between two lines on the front; an
        ``eye`` that hangs at the top edge; a ``hole`` halfway down the heading.
    start, end
        From where to where it reaches: of a loop 0 and its height above the top edge, of a strip below the
        top edge, in ticks.
    """

    shape: Literal["loop", "strip", "fold", "eye", "hole"]
    start: int = 0
    end: int = 0


@dataclass(frozen=True, slots=True)
class RodBar:
    """A rod across the picture, ``y`` below its top edge; ``strength`` from 0, not seen, to 1."""

    y: float
    strength: float = 1.0


@dataclass(frozen=True, slots=True)
class Drape:
    """A hanging panel from 16 to 80 across, from ``top`` down to its hem, with so many folds."""

    top: float
    folds: int = 7


@dataclass(frozen=True, slots=True)
class Ring:
    """A circle about ``x``, ``y``; ``width`` of its line, None: as all others."""

    x: float
    y: float
    radius: float
    width: float | None = None


@dataclass(frozen=True, slots=True)
class Stroke:
    """A line, its way as an SVG path (``M16 12L80 12``).

    ``dash`` gives the lengths of dashes and gaps, empty: an unbroken line; ``width`` its width, None: as all
    others; ``fabric``: what it encloses is fabric.
    """

    path: str
    dash: str = ""
    width: float | None = None
    fabric: bool = False


#: What a picture shows, the hindmost first, in a box 96 wide and 72 high; 0, 0 is its upper left corner.
Picture: TypeAlias = tuple[RodBar | Drape | Ring | Stroke, ...]
#: Where a rod in front of the fabric hangs.
ROD_Y: Final = 16.0


def edge(y: float, dash: str = "") -> Stroke:
    """A line across a panel: its top edge, or with a ``dash`` a row of stitches."""
    return Stroke(f"M16 {y:g}L80 {y:g}", dash)
