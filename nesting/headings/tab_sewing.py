"""How tabs and the facing behind them are sewn. Common practice, no source."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from nesting.headings.sewn import Sewn
from nesting.headings.tabs import tab_width
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


def tabs_made(sewn: Sewn) -> str:
    """The tabs, folded, sewn and turned."""
    making = sewn.making
    say, width = making.say, tab_width(making)
    return (
        f"Tabs: fold each strip lengthwise right sides together, sew {say(making.seam)} from the edge, "
        f"turn, center the seam at the back and {sewn.pressed(making.window.tab.fabric)}: {say(width)} wide."
    )


def facing_made(sewn: Sewn, depth: int) -> str:
    """The facing made ready: joined, its ends turned in, its lower edge finished."""
    making, order = sewn.making, sewn.making.window.facing
    say, press = making.say, sewn.pressed(order.fabric)
    joins = ""
    if sewn.facings > len(sewn.panels) * making.window.count:
        joins = (
            f"join its parts in their order right sides together with seams of {say(making.seam)} and "
            f"{press} the seams open; "
        )
    lower = (
        f"turn its lower edge under {say(making.seam)}"
        if order.lower_edge == "turned"
        else "overcast its lower edge"
    )
    wide = " or ".join(dict.fromkeys(say(panel.flat) for panel in sewn.panels))
    return (
        f"Facing: {joins}turn in both ends {say(making.seam)}, so that it is {wide} wide like its panel, "
        f"and {press}; {lower}. Chalk a line {say(making.seam)} below its upper edge: this is the top line. "
        f"From there it reaches {say(depth)} down."
    )


def facing_on(sewn: Sewn) -> str:
    """The facing sewn to the top of its panel."""
    say, seam = sewn.making.say, sewn.making.seam
    lower = (
        "slip-stitch its ends and its lower edge to hems and lining"
        if sewn.making.window.lining is not None
        else "slip-stitch its ends to the side hems, a hair shy of the edges"
    )
    return (
        "Lay the facing on the panel right sides together, its upper edge on the cut line, and sew "
        f"{say(seam)} from the edge, on the top line. Grade the seam, turn the facing to the back, "
        f"understitch and {sewn.pressed()}; {lower}."
    )
