"""What if: the changes that would save fabric, money or seams, on a page of their own."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal

from nesting.packet.model import TICK_BOX, Bullets, Paragraph, Section, Table
from nesting.plan.plan import Plan, WhatIf
from nesting.units import format_quantity

_WHAT = {"shorter": "finished length", "less full": "fullness", "wider bolt": "bolt width"}


def changes(plan: Plan) -> Iterator[Section]:
    """The page, where the plan was asked for it."""
    if not plan.what_if:
        return
    rows = tuple(_row(plan, one) for one in plan.what_if)
    heads = ("", "of what", "what", "now", "would be", "saves", "fabric", "cost")
    table = Table(
        "Small changes, the largest saving first",
        heads,
        rows,
        "clllllrr",
        (0.4, 2.4, 2, 1.2, 1.2, 1.6, 1.4, 1.3),
    )
    notes = (
        "Each line was planned again with that one change, and its layout checked. Two changes together may "
        "save less than their sum: plan again with both before you buy.",
        "Where it says so, a smaller change may be enough: there was not time to rule it out.",
        "Agree on a shorter or less full drape with whoever will live with it; a shallower hem can keep the "
        "finished length.",
    )
    yield Section(
        "what-if",
        "What if",
        (
            Paragraph("Tick what is agreed on, change the job, and plan again.", kind="note"),
            table,
            Bullets(tuple(f"{one.text}." for one in plan.what_if)),
            *(Paragraph(note) for note in notes),
        ),
    )


def _row(plan: Plan, one: WhatIf) -> tuple[str, ...]:
    return (
        TICK_BOX,
        one.window or plan.job.fabric(one.fabric).title,
        "flat width" if one.kind == "less full" and " " in one.now else _WHAT[one.kind],
        one.was,
        one.now,
        one.saves if one.saves in ("one repeat", "one width", "the seams") else "fabric",
        _signed(one.length, format_quantity(abs(one.length), plan.job.sold_in)),
        "" if one.money is None else _signed(one.money, f"{plan.job.currency}{abs(one.money):.2f}"),
    )


def _signed(amount: int | Decimal, words: str) -> str:
    """What is saved with a minus before it, what is paid or bought more with a plus."""
    return "" if not amount else f"−{words}" if amount > 0 else f"+{words}"
