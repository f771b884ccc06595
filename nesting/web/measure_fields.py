"""Lengths on the page: how they are understood, and a change of units that leaves every length be."""

from __future__ import annotations

import copy
import re
from dataclasses import replace
from decimal import ROUND_HALF_UP, Decimal
from fractions import Fraction
from typing import Any, Final, cast

from nesting.errors import LengthError
from nesting.units import Unit, format_exact, parse_length, selling_unit, unit_ticks
from nesting.web.draft import Draft, leaves, look_up, shown

_NAMES_UNIT: Final = re.compile(r"[a-z\"'″′”’]", re.IGNORECASE)


def understood(text: str, unit: Unit) -> str:
    """A typed length as it was understood, in inches and in centimeters; empty where it is no length."""
    try:
        ticks = parse_length(text, unit)
    except LengthError:
        return ""
    other: Unit = "cm" if unit == "in" else "in"
    return f"{format_exact(ticks, unit)} · {format_exact(ticks, other)}"


def with_units(draft: Draft, unit: Unit) -> tuple[Draft, tuple[str, ...]]:
    """The draft measured in other units: every length and price stays what it was, and notes say how.

    A bare number gets the unit it was typed in. A price per yard becomes one per meter, to the cent.
    """
    before = cast(Unit, draft.unit)
    if unit == before:
        return draft, ()
    table = copy.deepcopy(draft.table)
    notes = [
        f"Bare numbers now count in {unit}. What you had typed keeps its length: it is marked {before}. "
        f"Empty fields take the values usual in {'inch' if unit == 'in' else 'metric'} workrooms."
    ]
    for loc, key in leaves(table):
        value = look_up(table, loc)
        if key.kind == "length" and not isinstance(value, bool) and not _NAMES_UNIT.search(shown(value)):
            _put(table, loc, f"{shown(value)} {before}")
        elif key.kind == "price" and selling_unit(unit) != selling_unit(before):
            price = _price(value, unit_ticks(selling_unit(unit)), unit_ticks(selling_unit(before)))
            if price is not None:
                _put(table, loc, price)
                sold = (selling_unit(before), selling_unit(unit))
                notes.append(f"The price {shown(value)} per {sold[0]} is {price} per {sold[1]}.")
    table["units"] = unit
    aside = {
        name: text if _NAMES_UNIT.search(text) or name.endswith(".turns") else f"{text} {before}"
        for name, text in draft.aside.items()
    }
    return replace(draft, table=table, aside=aside), tuple(notes)


def _price(value: object, one: int, other: int) -> Decimal | None:
    try:
        exact = Fraction(shown(value)) * one / other
    except (ValueError, ZeroDivisionError):
        return None
    cents = Decimal(exact.numerator) / Decimal(exact.denominator)
    return cents.quantize(Decimal("0.01"), ROUND_HALF_UP)


def _put(table: Any, loc: tuple[str | int, ...], value: object) -> None:
    for step in loc[:-1]:
        table = table[step]
    table[loc[-1]] = value
