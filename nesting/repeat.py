"""The lattice rule of a printed pattern, in whole numbers.

A pattern is periodic with basis ``(H, d*R)`` and ``(0, R)``: R the repeat length along the bolt, H
the repeat width across it, d the drop. A matched piece with place ``(p, q)`` in the pattern plane of
its panel lies right at ``(x, y)`` when there is a whole number n with

    x - p = phase_x + n*H   (0 <= phase_x < H)      y - q = phase_y + n*d*R   (modulo R)

``phase_x`` is shared by the widths joined in one panel, ``phase_y`` by the panels that hang level.
Where the pattern has no repeat width, x is free and there is no drop.
"""

from __future__ import annotations

import operator
from dataclasses import dataclass
from fractions import Fraction

from nesting.errors import ProblemError


def whole(place: str, number: object) -> int:
    """The whole number, of Python whatever it came as (such as one of numpy).

    Raises
    ------
    ProblemError
        It is none; the message has ``place`` and the value.
    """
    try:
        if isinstance(number, bool):
            raise TypeError
        return operator.index(number)  # type: ignore[arg-type]
    except TypeError:
        raise ProblemError(f"{place} = {number!r}: expected a whole number{_remedy(number)}") from None


def _remedy(number: object) -> str:
    """What to do about a fraction."""
    return "; where sizes have decimals, give all in a smaller unit" if isinstance(number, float) else ""


def set_whole(record: object, place: str, *names: str) -> None:
    """Make these fields of a frozen record whole numbers of Python; None stays as it is.

    Raises
    ------
    ProblemError
        One is no whole number; the message has ``place``, field and value.
    """
    for name in names:
        number = getattr(record, name)
        if number is not None and type(number) is not int:
            object.__setattr__(record, name, whole(f"{place}: {name}", number))


@dataclass(frozen=True, slots=True)
class Repeat:
    """A pattern repeat.

    Attributes
    ----------
    length
        R, along the bolt; above 0.
    width
        H, across the bolt; above 0, or None where it is not known (x is then free).
    drop
        d, the part of R by which the pattern steps up from one column to the next on the right.
        ``d * R`` must be a whole number. 0 is a straight match, 1/2 a half drop.
    """

    length: int
    width: int | None = None
    drop: Fraction = Fraction(0)

    def __post_init__(self) -> None:
        set_whole(self, "repeat", "length", "width")
        if self.length <= 0 or (self.width is not None and self.width <= 0):
            raise ProblemError(f"repeat {self.length} x {self.width}: expected sizes above 0")
        object.__setattr__(self, "drop", Fraction(self.drop))
        if self.width is None and self.drop % 1:
            raise ProblemError(f"drop {self.drop} without a repeat width: a drop steps from column to column")
        if (self.drop * self.length).denominator != 1:
            raise ProblemError(f"drop {self.drop} of {self.length} is no whole number: scale the lengths up")

    @property
    def step(self) -> int:
        """How far the pattern rises from one column to the next, 0 to R."""
        return int(self.drop * self.length) % self.length

    def columns(self, x: int, p: int) -> tuple[int, int]:
        """``(n, phase_x)`` of a piece of place ``p`` laid at ``x``; ``(0, 0)`` without a width."""
        return (0, 0) if self.width is None else divmod(x - p, self.width)

    def phase_y(self, x: int, y: int, p: int, q: int) -> int:
        """``phase_y`` of a piece of place ``(p, q)`` laid at ``(x, y)``."""
        column, _ = self.columns(x, p)
        return (y - q - column * self.step) % self.length

    def first_y(self, least: int, x: int, p: int, q: int, phase_y: int) -> int:
        """The least y from ``least`` on at which the piece has ``phase_y`` when laid at ``x``."""
        column, _ = self.columns(x, p)
        return least + (phase_y + q + column * self.step - least) % self.length

    def first_x(self, least: int, p: int, phase_x: int) -> int:
        """The least x from ``least`` on at which the piece has ``phase_x``; ``least`` without a width."""
        return least if self.width is None else least + (phase_x + p - least) % self.width

    def letter(self, x: int, p: int) -> str:
        """The cut's letter: A, B, ... by how far its column is stepped in the pattern."""
        column, _ = self.columns(x, p)
        kinds = self.drop.denominator
        return chr(ord("A") + (column * self.drop.numerator) % kinds) if kinds <= 26 else ""
