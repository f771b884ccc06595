"""A sewn panel on its rod: what rests on what, and how far above and below it comes to hang.

The rules are geometry: a loop lies half around a round rod and down its two sides; a hole rests on the top of
the rod with its upper edge; a panel before the rod goes a quarter around it, which takes a little of its
length. Sources stand in docs/hanging.md.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.sewing.work import Carrier, SewingError, Work

#: Between 223/71 and 22/7, which Archimedes gives; 355/113 is off by less than 1 in 3,000,000.
PI: Final = Fraction(355, 113)


@dataclass(frozen=True, slots=True)
class Rod:
    """What a panel hangs from.

    Attributes
    ----------
    thick
        Diameter of a round rod, height of a flat one; 0 for a track.
    depth
        Of a flat rod, from front to back: nothing is taken up over it. None: it is round.
    taken
        What a panel before it loses of its length, where the maker measured it; None: by geometry.
    """

    thick: Fraction
    depth: Fraction | None = None
    taken: Fraction | None = None


@dataclass(frozen=True, slots=True)
class HungPanel:
    """How a panel hangs.

    Attributes
    ----------
    top
        Its top edge above the point it hangs from: the top of the rod, the eye of a ring, the hole of a
        track.
    length
        From the top edge to the hem edge as it hangs.
    room
        What is left of tab, loop, hole or pocket once the rod is in it; below 0 where it does not pass. None
        where no rod goes through.
    """

    top: Fraction
    length: Fraction
    room: Fraction | None = None


def taken_up(rod: Rod) -> Fraction:
    """What a panel before a round rod loses of its length: a quarter of the way round less half the rod."""
    if rod.taken is not None:
        return rod.taken
    return rod.thick * (PI / 4 - Fraction(1, 2)) if rod.depth is None else Fraction(0)


def hang(work: Work, rod: Rod) -> HungPanel:
    """Hang a finished panel.

    Parameters
    ----------
    work
        A panel with carriers along its top.
    rod
        The rod or track.

    Raises
    ------
    SewingError
        It has nothing to hang by, or its carriers would hang it crooked.
    """
    if not work.carriers:
        raise SewingError(f"{work.name}: nothing carries it")
    tops = [_hung(carrier, rod) for carrier in work.carriers]
    first = tops[0]
    for one in tops[1:]:
        if abs(one[0] - first[0]) > 1:
            raise SewingError(f"{work.name}: what carries it does not hang it level")
    taken = taken_up(rod) if work.carriers[0].kind in ("loop", "pocket") else Fraction(0)
    rooms = [room for _, room in tops if room is not None]
    return HungPanel(first[0], work.length - taken, min(rooms, default=None))


def _hung(carrier: Carrier, rod: Rod) -> tuple[Fraction, Fraction | None]:
    """``(top edge above the hanger, room left for the rod)`` by one carrier."""
    half = PI * rod.thick / 2 if rod.depth is None else rod.thick + rod.depth
    if carrier.kind == "tab":
        # Half around and down both sides; what is left hangs below, half of it in front.
        left = carrier.length - half - rod.thick
        return -(rod.thick + left / 2), left
    if carrier.kind in ("loop", "pocket"):
        return carrier.down, carrier.length - half
    if carrier.kind == "ring":
        return carrier.down, carrier.length - rod.thick
    return carrier.down, None
