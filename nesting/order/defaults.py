"""Trade defaults, one set for inch jobs and one for metric jobs (common practice, no source).

Metric defaults are those of metric workrooms, not converted inches.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.order.job import Hem
from nesting.units import Unit, centimeters, inches, unit_ticks


@dataclass(frozen=True, slots=True)
class Defaults:
    """Lengths in ticks that hold where the job says nothing.

    Attributes
    ----------
    label_over, label_under
        By how much whole repeats may be more or less than the width a label states.
    label_worth
        What a width must gain for its stated width to be taken as that of the print.
    label_seam
        The widest seam allowance that the selvages beyond such a print hold.
    """

    selvage: int
    seam: int
    squaring: int
    bottom_hem: Hem
    side_hem: Hem
    lining_hem: Hem
    facing_depth: int
    clearance: int
    rod_diameter: int
    return_depth: int
    overlap: int
    least_part_width: int
    sold_by: int
    label_over: int
    label_under: int
    label_worth: int
    label_seam: int


INCH_DEFAULTS: Final = Defaults(
    selvage=inches(Fraction(1, 2)),
    seam=inches(Fraction(1, 2)),
    squaring=inches(2),
    bottom_hem=Hem(inches(4), 2),
    side_hem=Hem(inches(1), 2),
    lining_hem=Hem(inches(2), 2),
    facing_depth=inches(4),
    clearance=inches(Fraction(1, 2)),
    rod_diameter=inches(Fraction(11, 8)),
    return_depth=inches(Fraction(7, 2)),
    overlap=inches(4),
    least_part_width=inches(6),
    sold_by=unit_ticks("yd") // 8,
    label_over=inches(Fraction(1, 4)),
    label_under=inches(1),
    label_worth=inches(4),
    label_seam=inches(1),
)

METRIC_DEFAULTS: Final = Defaults(
    selvage=centimeters(Fraction(3, 2)),
    seam=centimeters(Fraction(3, 2)),
    squaring=centimeters(5),
    bottom_hem=Hem(centimeters(10), 2),
    side_hem=Hem(centimeters(Fraction(5, 2)), 2),
    lining_hem=Hem(centimeters(5), 2),
    facing_depth=centimeters(10),
    clearance=centimeters(Fraction(3, 2)),
    rod_diameter=centimeters(Fraction(7, 2)),
    return_depth=centimeters(9),
    overlap=centimeters(10),
    least_part_width=centimeters(15),
    sold_by=unit_ticks("m") // 10,
    label_over=centimeters(Fraction(3, 5)),
    label_under=centimeters(3),
    label_worth=centimeters(10),
    label_seam=centimeters(Fraction(5, 2)),
)


def defaults_for(unit: Unit) -> Defaults:
    """The set of defaults for jobs measured in ``unit``."""
    return INCH_DEFAULTS if unit == "in" else METRIC_DEFAULTS
