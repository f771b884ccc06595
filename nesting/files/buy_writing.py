"""What to buy, as it stands in a document."""

from __future__ import annotations

from typing import Any

from nesting.plan.purchase import Buy
from nesting.units import Unit, to_decimal

Table = dict[str, Any]


def buy_document(buy: Buy, unit: Unit) -> Table:
    """What to buy, as it stands in a plan document."""
    return {
        "quantity": round(float(buy.quantity), 9),
        "unit": buy.unit,
        "cost": None if buy.cost is None else float(buy.cost),
        "price": None if buy.price is None else float(buy.price),
        "step": to_decimal(buy.step, unit),
        "length": to_decimal(buy.length, unit),
        "allowances": [
            {"name": allowance.name, "length": to_decimal(allowance.length, unit)}
            for allowance in buy.allowances
        ],
        "total": to_decimal(buy.total, unit),
    }
