"""Counts with their rule: how many gaps, tabs, rings, pleats or hooks, and by which sum. Lengths in ticks."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from nesting.headings.making import Making
from nesting.pieces.piece import Steps

#: What is aimed at from one mark to the next, as ordered or as usual.
SPACING: Final = "spacing"


def one_more(target: str, label: str, count: int, *, more: int = 1) -> Steps:
    """So many ``target`` at both ends of so many between them: ``tabs: gaps 7 + 1 = 8``."""
    return Steps(target).number(label, count).number("", more)


def ordered(target: str, count: int) -> Steps:
    """A number that the order names."""
    return Steps(target).number("as ordered", count)


def by_rule(making: Making, steps: Steps, *found: str) -> str:
    """How a count came about, in figures alone: ``39 1/8 ÷ 6 = 6.52, so 7 gaps, 8 tabs``.

    Parameters
    ----------
    making
        Whose units are used.
    steps
        The sum of the count; one that divides nothing was ordered.
    found
        What follows from it.
    """
    said = ", ".join(found)
    at = next((number for number, term in enumerate(steps.terms) if term.sign == "per"), None)
    if at is None:
        return f"as ordered: {said}"
    run, step = Steps("", steps.terms[:at]).exact, steps.terms[at].amount
    how = f"{_bare(making, run)} ÷ {_bare(making, step)} = {_number(run / step)}"
    return f"{how}{''.join(_further(steps, at + 1))}, so {said}"


def _further(steps: Steps, start: int) -> Iterator[str]:
    """What is done with how often it fits, but for rounding to a whole number, which the result shows."""
    for number, term in enumerate(steps.terms[start:], start):
        before = Steps("", steps.terms[:number]).exact
        if term.sign == "number":
            yield f", {'+' if term.amount > 0 else '−'} {abs(term.amount)}"
        elif term.amount != 1 and Steps("", steps.terms[: number + 1]).exact != before:
            yield f", {term.label}"


def _bare(making: Making, ticks: Fraction) -> str:
    return making.say(ticks).removesuffix(f" {making.unit}")


def _number(number: Fraction) -> str:
    return str(number) if number.denominator == 1 else f"{float(number):.2f}"
