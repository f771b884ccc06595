"""How full drapes usually are, and how a fullness is said."""

from __future__ import annotations

import math
from fractions import Fraction
from typing import Final

from nesting.cutting.measures import Hanging
from nesting.headings import Making

#: Usual fullness by weight of fabric (common practice, no source).
USUAL: Final = {
    "sheer": (Fraction(5, 2), Fraction(3)),
    "medium": (Fraction(2), Fraction(5, 2)),
    "heavy": (Fraction(3, 2), Fraction(2)),
}
#: Fullness gained that is worth telling.
WORTH_TELLING: Final = Fraction(1, 20)
HUNDREDTH: Final = Fraction(1, 100)


def times(fullness: Fraction) -> str:
    """A fullness in hundredths, rounded down: what is typed back never takes more."""
    return f"{float(Fraction(math.floor(fullness / HUNDREDTH), 100)):.2f}".rstrip("0").rstrip(".")


def fullness_of(making: Making, hanging: Hanging, flat: int) -> Fraction:
    """The fullness a flat width gives, by the rule of the window."""
    ends = hanging.return_left + hanging.return_right + hanging.overlap
    if making.window.fullness_on == "all":
        return Fraction(flat) / (hanging.covers + ends)
    return (flat - ends) / hanging.covers
