"""A window with every open question settled, and the sizes of the trade. Lengths in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final, Literal

from nesting.order.defaults import Defaults
from nesting.order.job import HangsFrom, Hem, Window
from nesting.pieces.piece import Steps
from nesting.units import Unit, centimeters, format_length, grid, inches

#: Just above pi, so that nothing that goes round a rod comes out short.
PI: Final = Fraction(355, 113)


@dataclass(frozen=True, slots=True)
class Measure:
    """A trade default in ticks, one for inch jobs and one for metric jobs."""

    inch: int
    metric: int

    def of(self, unit: Unit) -> int:
        """The one for jobs measured in ``unit``."""
        return self.inch if unit == "in" else self.metric


def measure(inch: str, centimeter: str) -> Measure:
    """A default of so many inches, or so many centimeters: ``measure("3/4", "2")``."""
    return Measure(inches(Fraction(inch)), centimeters(Fraction(centimeter)))


def half_round(diameter: int) -> Fraction:
    """Half the way round a rod."""
    return PI * diameter / 2


@dataclass(frozen=True, slots=True)
class Piecing:
    """How a strip that is wider than its fabric is made up.

    ``equal`` parts, as few as will do; ``whole``, cut along the fabric where it may be turned; ``long``: as
    few parts as will do, all but one as long as the fabric is wide; ``more``: one equal part more.
    """

    how: Literal["equal", "whole", "long", "more"] = "equal"

    def told(self, unit: Unit) -> str:
        """In a maker's words."""
        return {
            "whole": "in one piece, cut along the fabric",
            "long": "pieced from full-width strips and a remainder",
            "more": "in equal parts, one more than needed",
        }.get(self.how, "in equal parts")


#: Equal parts, as few as will do.
EQUALLY: Final = Piecing()


@dataclass(frozen=True, slots=True)
class Making:
    """A window with every open question settled.

    Attributes
    ----------
    window
        What was ordered.
    unit, defaults
        The unit people measure in and its trade defaults.
    rod_diameter, diameter_assumed
        The thickest section; assumed where nothing was said.
    hangs_from
        The rod itself, rings on it, or a track.
    seam
        Allowance on each side of a seam.
    bottom_hem, leading_hem, outer_hem, lining_hem
        Hems of the face, and of the lining.
    returns, overlap
        At each end of the rod; at the center for the pair in all.
    fullness
        Flat fabric per length of rod.
    least_part
        What a part-width must show at least.
    finished
        The finished length of the fabric, worked out.
    piecing, band_piecing
        How a facing, and a band along the hem, wider than its fabric is made up.
    """

    window: Window
    unit: Unit
    defaults: Defaults
    rod_diameter: int
    diameter_assumed: bool
    hangs_from: HangsFrom
    seam: int
    bottom_hem: Hem
    leading_hem: Hem
    outer_hem: Hem
    lining_hem: Hem
    returns: int
    overlap: int
    fullness: Fraction
    least_part: int
    finished: Steps
    piecing: Piecing = EQUALLY
    band_piecing: Piecing = EQUALLY

    @property
    def grid(self) -> int:
        """The smallest step people measure in."""
        return grid(self.unit)

    def say(self, ticks: int | Fraction) -> str:
        """The length as read off a tape."""
        return format_length(ticks, self.unit)
