"""Two invented windows for a class: the worked example, and the exercise that has an answer key.

Their sizes are chosen, not taken from anywhere: every panel is joined of at least two widths, and no
part-width is so narrow that it would have to be made wider.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from nesting.headings import heading
from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric, Job, Window
from nesting.units import Unit, selling_unit, to_ticks, unit_ticks

Name = Literal["worked example", "exercise"]


@dataclass(frozen=True, slots=True)
class WindowSizes:
    """What is measured at a window, as typed: rod, thickness, height, how low a clip is; rod for pleats."""

    rod: str
    thick: str
    high: str
    drop: str
    pleated: str


_SIZES: Final[dict[Unit, dict[Name, WindowSizes]]] = {
    "in": {
        "worked example": WindowSizes("76", "1 3/8", "90", "2 1/2", "70"),
        "exercise": WindowSizes("100", "1", "92 1/2", "2 1/4", "100"),
    },
    "cm": {
        "worked example": WindowSizes("196", "3.5", "228", "6.5", "180"),
        "exercise": WindowSizes("252", "2.5", "235", "5.8", "252"),
    },
}
#: Width of the bolt, and of it what is cut from.
_BOLTS: Final[dict[Unit, tuple[str, str]]] = {"in": ("54", "53"), "cm": ("140", "137")}


def job_for(name: str, units: Unit, which: Name) -> Job:
    """One window with a pair of unlined panels of plain fabric under that heading, all else as usual.

    Parameters
    ----------
    name
        Of the heading.
    units
        ``in`` or ``cm``.
    which
        Which of the two windows.
    """
    sizes, style, (width, usable) = _SIZES[units][which], heading(name), _BOLTS[units]
    hangs, high = style.hangs_from[0], to_ticks(sizes.high, units)
    bolt = Bolt(
        width=to_ticks(width, units),
        usable=to_ticks(usable, units),
        sold_by=unit_ticks(selling_unit(units)) // (8 if units == "in" else 10),
    )
    window = Window(
        name=which.capitalize(),
        room="",
        rod=to_ticks(sizes.pleated if style.pleated else sizes.rod, units),
        heading=name,
        fabric="face",
        rod_diameter=to_ticks(sizes.thick, units),
        rod_height=None if hangs == "track" else high,
        eye_height=high if hangs == "track" else None,
        hangs_from=hangs,
        ring_drop=to_ticks(sizes.drop, units) if hangs == "rings" else None,
        fullness=Fraction(style.fullness),
    )
    fabric = Fabric("face", (bolt,), name="Plain fabric")
    return Job(
        f"{style.title.capitalize()}: {which}",
        units,
        (fabric,),
        (window,),
        squaring=defaults_for(units).squaring,
    )
