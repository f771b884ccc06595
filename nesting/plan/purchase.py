"""What to buy of a fabric: its layout and every allowance, in whole selling steps. Lengths in ticks."""

from __future__ import annotations

from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Literal

from nesting.units import unit_ticks


@dataclass(frozen=True, slots=True)
class Allowance:
    """Fabric bought beyond the layout: ``squaring``, ``unknown start of the print``, ``shrinkage``."""

    name: str
    length: int


@dataclass(frozen=True, slots=True)
class Buy:
    """How much to buy.

    Attributes
    ----------
    length
        The layout's length.
    allowances
        Each its own line on the list.
    step
        The selling step; what is bought is a multiple of it.
    unit
        yd or m.
    price
        Per ``unit``.
    """

    length: int
    allowances: tuple[Allowance, ...]
    step: int
    unit: Literal["yd", "m"]
    price: Decimal | None = None

    @property
    def needed(self) -> int:
        """Layout and allowances, before rounding."""
        return self.length + sum(allowance.length for allowance in self.allowances)

    @property
    def total(self) -> int:
        """What is bought, in ticks."""
        return -(-self.needed // self.step) * self.step

    @property
    def quantity(self) -> Fraction:
        """What is bought, in yards or meters."""
        return Fraction(self.total, unit_ticks(self.unit))

    @property
    def cost(self) -> Decimal | None:
        """To the cent, half up; None without a price."""
        if self.price is None:
            return None
        exact = Fraction(self.price) * self.quantity
        return Decimal(int(exact * 100 + Fraction(1, 2))) / 100
