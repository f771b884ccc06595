"""A window with every open question settled, and the sizes of the trade. Lengths in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from math import isqrt
from typing import Final, Literal

from nesting.order.defaults import Defaults
from nesting.order.job import HangsFrom, Hem, Window
from nesting.pieces.piece import Steps, Term
from nesting.units import Unit, centimeters, format_length, grid, inches

#: Just above pi, so that nothing that goes round a rod comes out short.
PI: Final = Fraction(355, 113)
#: What a panel in front of a rod loses of its length, as sums call it.
TAKE_UP: Final = "take-up over the rod"


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
        The thickest section, of a flat rod its height; assumed where nothing was said.
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

    def __hash__(self) -> int:
        # What settles all else; the whole of it takes five times as long.
        return hash((self.window, self.fullness, self.piecing, self.band_piecing))

    @property
    def grid(self) -> int:
        """The smallest step people measure in."""
        return grid(self.unit)

    @property
    def round_terms(self) -> tuple[Term, ...]:
        """Half the way round the rod, as a sum: half its circumference, or a flat one's height and depth."""
        depth = self.window.rod_depth
        if depth is None:
            return (Term("half the rod's circumference", "+", PI * self.rod_diameter / 2),)
        return (
            Term("rod", "+", Fraction(self.rod_diameter)),
            Term("depth of the rod", "+", Fraction(depth)),
        )

    @property
    def half_round(self) -> Fraction:
        """Half the way round the rod."""
        return sum((term.amount for term in self.round_terms), Fraction(0))

    @property
    def rod_across(self) -> int:
        """The round hole that the rod fills: as wide as it is thick; a flat one reaches corner to corner."""
        depth = self.window.rod_depth
        return self.rod_diameter if depth is None else isqrt(self.rod_diameter**2 + depth**2 - 1) + 1

    @property
    def across_words(self) -> str:
        """What `rod_across` is called."""
        return "the thickness" if self.window.rod_depth is None else "the diagonal"

    @property
    def rod_words(self) -> str:
        """The rod and its size."""
        thick, deep = self.say(self.rod_diameter), self.window.rod_depth
        if deep is None:
            return f"a rod {thick} thick"
        return f"a flat rod {thick} high and {self.say(deep)} deep"

    @property
    def half_round_words(self) -> str:
        """What half the way round is called."""
        flat = self.window.rod_depth is not None
        return "height and depth" if flat else "half the circumference"

    def say(self, ticks: int | Fraction) -> str:
        """The length as read off a tape."""
        return format_length(ticks, self.unit)


def taken_up(making: Making) -> Steps:
    """What a panel that hangs in front of its rod loses of its length, as it was ordered or by geometry.

    From the top of a round rod it goes a quarter of the way round and comes half the rod lower: it takes up
    d (pi/4 - 1/2), rounded up to the tape, because the finished length is rounded down. In front of a flat
    rod it hangs straight. Derived in docs/hanging.md.
    """
    ordered, steps = making.window.take_up, Steps(TAKE_UP)
    if ordered is not None:
        return steps.add("as ordered", ordered)
    if making.window.rod_depth is not None:
        return steps
    quarter = steps.add("a quarter of the rod's circumference", making.half_round / 2)
    return quarter.take("half the rod", Fraction(making.rod_diameter, 2)).up_to(making.grid)


def told_flat(making: Making, taken: Steps) -> tuple[str, ...]:
    """How long a panel is on the table and on its rod, where that is not the same."""
    if not taken.total:
        return ()
    hung = making.finished.total
    return (f"{making.say(hung + taken.total)} long lying flat, {making.say(hung)} on the rod",)
