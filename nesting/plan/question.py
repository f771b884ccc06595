"""What only the maker can tell of a fabric, with what each answer would cost."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

from nesting.plan.purchase import Buy
from nesting.units import format_quantity


@dataclass(frozen=True, slots=True)
class Answer:
    """One way in which it may be.

    Attributes
    ----------
    text
        How the fabric is then, in a maker's words.
    planned
        What is planned as long as nobody answers.
    enter
        What to enter where it is so; empty where nothing need be.
    buy
        What the fabric then takes; None where it was not worked out, or nothing can be laid.
    """

    text: str
    planned: bool
    enter: str = ""
    buy: Buy | None = None

    def told(self, currency: str) -> str:
        """The answer with its amount."""
        amount = "" if self.buy is None else f" ({amount_of(self.buy, currency)})"
        enter = "" if self.planned or not self.enter else f"; {self.enter}"
        return f"{self.text}{', as planned' if self.planned else ''}{amount}{enter}"


@dataclass(frozen=True, slots=True)
class Question:
    """Something a default was taken for.

    Attributes
    ----------
    about
        The field: ``match`` of a bolt, or ``drop_from`` of its print.
    fabric, bolt
        Key of the fabric, and which of its bolts, from 0; None: a width that nobody offers.
    text
        What is asked, without the answers.
    check
        What to look at or measure, to answer it.
    """

    about: Literal["match", "drop_from"]
    fabric: str
    bolt: int | None
    text: str
    check: str
    answers: tuple[Answer, ...]

    def told(self, currency: str) -> str:
        """Question and answers in one line."""
        either = " Or: ".join(f"{answer.told(currency)}." for answer in self.answers)
        return f"{self.text} Either: {either} {self.check}"


def amount_of(buy: Buy, currency: str) -> str:
    """``41 yd, $3280.00``."""
    quantity = format_quantity(buy.total, buy.unit)
    return quantity if buy.cost is None else f"{quantity}, {currency}{buy.cost:.2f}"
