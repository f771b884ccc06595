"""What fabric on hand is not enough for, in words: what is left out, and what is missing of each fabric."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from nesting.order.job import Job
from nesting.plan.plan import Buy, Plan, Shortfall
from nesting.units import format_length, format_quantity


@dataclass(frozen=True, slots=True)
class Shortage:
    """A window, or an extra, that is left out of one fabric.

    Attributes
    ----------
    what
        Its name.
    shortfall
        How much more fabric one of them takes, all else laid.
    steps, total
        The same as bought, in selling steps and in ticks; None where it was not found in the time.
    least
        Proven that no less would do.
    """

    what: str
    fabric: str
    shortfall: int
    steps: int | None
    total: int | None
    least: bool


def shortages(plan: Plan) -> tuple[Shortage, ...]:
    """What is left out, each once for each fabric it is short of, equal windows one by one."""
    fabrics = {piece.id: piece.fabric for piece in plan.pieces}
    found: list[Shortage] = []
    seen: dict[tuple[str, str], set[str]] = {}
    for out in plan.short:
        fabric = fabrics.get(out.piece, "")
        known = seen.setdefault((out.window, fabric), set())
        # A piece that comes again is the next of several equal windows.
        if not known or out.piece in known:
            found.append(Shortage(out.window, fabric, out.shortfall, out.steps, out.total, out.least))
            known.clear()
        known.add(out.piece)
    return tuple(found)


def shortage_words(short: Shortage, job: Job) -> str:
    """``Door: 64 in more, 2 1/8 yd``; how much is said only where it is known."""
    if short.total is None or not short.steps:
        return f"{short.what}: how much more is not known"
    at_most = "" if short.least else "at most "
    length, buy = format_length(short.shortfall, job.units), format_quantity(short.total, job.sold_in)
    return f"{short.what}: {at_most}{length} more, {buy}"


def bought(buy: Buy, currency: str, more: str = "") -> str:
    """``5 1/2 yd, $231.00``; with ``more`` behind the length."""
    cost = "" if buy.cost is None else f", {currency}{buy.cost:.2f}"
    return f"{format_quantity(buy.total, buy.unit)}{more}{cost}"


def enough(buy: Buy, currency: str) -> str:
    """``2 5/8 yd more is enough, $110.25``, or that nothing more is needed."""
    return bought(buy, currency, " more is enough") if buy.total else "nothing more is needed"


def missing_words(short: Shortfall, job: Job) -> str:
    """``buy 5 1/2 yd more, $231.00``; at most so much where less is not ruled out."""
    if short.buy is None:
        return "how much more to buy is not known"
    at_most = "" if short.proven else "at most "
    return f"buy {at_most}{bought(short.buy, job.currency, ' more')}"


def shortfall_rows(plan: Plan, short: Shortfall) -> Iterator[tuple[str, str]]:
    """What is on hand, what is left out, why some stays whole, what to buy, and what would use it."""
    job = plan.job
    yield "on hand", _on_hand(plan, short)
    alone = [one for one in shortages(plan) if one.fabric == short.fabric]
    yield "left out", names_left_out(plan, short)
    for name, why in short.idle:
        yield "not cut into", f"{name}: {why}"
    yield "missing", _missing(short, job)
    if len(alone) > 1:
        yield "each by itself", "; ".join(shortage_words(one, job) for one in alone)
    if short.one_lot is not None:
        yield (
            "what would use it",
            "if what you have and what you buy are of one lot, give them one lot: then "
            f"{enough(short.one_lot, job.currency)}",
        )


def names_left_out(plan: Plan, short: Shortfall) -> str:
    """Which windows and extras are left out of a fabric, equal ones one by one."""
    return ", ".join(one.what for one in shortages(plan) if one.fabric == short.fabric)


def short_words(plan: Plan) -> Iterator[str]:
    """One line for each fabric: what to buy, and for what."""
    for short in plan.shortfalls:
        said = missing_words(short, plan.job)
        yield f"{plan.job.fabric(short.fabric).title}: {said}; left out: {names_left_out(plan, short)}"


def _on_hand(plan: Plan, short: Shortfall) -> str:
    """Every length on hand with its lot, and all of them together."""
    bolts = [layout.bolt for layout in plan.layouts if layout.fabric.key == short.fabric]
    lengths = (bolts or plan.job.fabric(short.fabric).bolts)[0].on_hand
    unit = plan.job.units
    said = ", ".join(
        f"{there.name} {format_length(there.length, unit)}{f' (lot {there.lot})' if there.lot else ''}"
        for there in lengths
    )
    total = sum(there.length for there in lengths)
    return said if len(lengths) < 2 else f"{said}: {format_length(total, unit)} together"


def _missing(short: Shortfall, job: Job) -> str:
    words = missing_words(short, job)
    if short.buy is None:
        return f"{words}: plan again with more time"
    words += ", and plan again with it: then everything is cut"
    if short.proven:
        return f"{words}. Proven: no less is enough"
    if not short.least:
        return f"{words}. Less may be enough"
    return f"{words}. At least {format_quantity(short.least, short.buy.unit)} is needed"
