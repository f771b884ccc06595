"""How tabs and the facing behind them are sewn. Common practice, no source."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from nesting.headings.sewn import Sewn
from nesting.sewing import Chalk, FaceTop, Fold, Operation, Overcast, SewTube

#: What the facing of a panel is called on the sewing table.
FACING: Final = "{} facing"


def make_tabs(sewn: Sewn) -> tuple[str, tuple[Operation, ...]]:
    """What the tabs of a window are called, and how they become tubes; none where the plan has none."""
    if sewn.tabs is None:
        return "", ()
    name = sewn.tabs.into
    return name, (*sewn.tabs.trimmed(), SewTube(name, Fraction(sewn.making.seam)))


def make_facings(sewn: Sewn) -> tuple[Operation, ...]:
    """The facing of each panel: joined, its ends turned in, its lower edge finished, its top line chalked."""
    making, made = sewn.making, list[Operation]()
    seam, turned = Fraction(making.seam), making.window.facing.lower_edge == "turned"
    for parts in sewn.facing.values():
        name = parts.into
        made += (*parts.made("open"), *parts.trimmed())
        made += (Fold(name, "left", (seam,)), Fold(name, "right", (seam,)))
        made.append(Fold(name, "bottom", (seam,)) if turned else Overcast(name, "bottom"))
        made.append(Chalk(name, "top", seam))
    return tuple(made)


def face_tops(sewn: Sewn) -> tuple[Operation, ...]:
    """The facing of each panel sewn to its top."""
    seam = Fraction(sewn.making.seam)
    return tuple(FaceTop(parts.into, key, seam) for key, parts in sewn.facing.items())
