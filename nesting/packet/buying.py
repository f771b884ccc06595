"""The buying list: fabric, lining, and everything that is bought but not cut, in both measures."""

from __future__ import annotations

from collections.abc import Iterator
from decimal import Decimal
from typing import Final

from nesting.drawing.charts import comparison_figure
from nesting.drawing.title import money, proof
from nesting.drawing.trace import trace
from nesting.headings import Making
from nesting.packet.facts import (
    WindowFacts,
    both_units,
    fabric_words,
    in_other,
    laid_out,
    plural,
    run_in_both,
)
from nesting.packet.model import BLANK, TICK_BOX, Block, Paragraph, Picture, Section, SectionHeading, Table
from nesting.pieces.piece import Sundry
from nesting.plan.comparison import Comparison, Option
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.units import Unit, format_length, format_quantity, unit_ticks


def buying(plan: Plan, facts: tuple[WindowFacts, ...], comparison: Comparison | None = None) -> Section:
    """What to buy."""
    blocks: list[Block] = [
        Paragraph(
            "Buy all of one fabric from one dye lot, and write the lot here and on the table sheet. Ask to "
            "see the width measured selvage to selvage and, on a print, the repeat; both decide this plan. "
            "Fabric once cut from the bolt is not taken back."
        ),
        _fabrics(plan),
    ]
    blocks += _how_much(plan)
    if plan.sundries or facts:
        blocks += [SectionHeading("Also needed"), _sundries(plan, facts)]
    blocks += _bolts(plan, comparison)
    return Section("buying", "Buying list", tuple(blocks))


def _fabrics(plan: Plan) -> Table:
    unit, numbers = plan.job.units, numbering(plan.layouts)
    rows = [
        (
            TICK_BOX,
            numbers.fabric(layout),
            both_units(layout.bolt.width, unit),
            "on hand" if layout.buy is None else bought(layout),
            *price_and_cost(plan, layout),
            BLANK,
        )
        for layout in laid_out(plan)
    ]
    total = "" if plan.cost is None else _cash(f"{plan.cost:.2f}", plan)
    heads = ("", "fabric", "bolt width", "buy", "price", "cost", "lot")
    foot = (("", "all fabric", "", "", "", total, ""),) if total else ()
    return Table("Fabric to buy", heads, tuple(rows), "cllllrc", (0.4, 3, 2.2, 2.6, 1.6, 1.4, 1.2), foot)


def price_and_cost(plan: Plan, layout: FabricLayout) -> tuple[str, str]:
    """``$38.50 / yd`` and ``$226.19``; empty where nothing is bought or no price is known."""
    buy = layout.buy
    if buy is None:
        return "", ""
    price = "" if buy.price is None else f"{_cash(_price(buy.price), plan)} / {buy.unit}"
    return price, money(buy, plan.job.currency)


def bought(layout: FabricLayout) -> str:
    """What is bought, in both measures; the one that is not sold in is rounded up."""
    buy = layout.buy
    if buy is None:
        return "nothing"
    return f"{format_quantity(buy.total, buy.unit)} ({in_other(buy.total, buy.unit)})"


def _price(price: Decimal) -> str:
    """Two decimals, or as many as it was given with."""
    exact = price.normalize()
    return f"{price:.2f}" if exact == round(exact, 2) else f"{exact:f}"


def _cash(amount: str, plan: Plan) -> str:
    currency = plan.job.currency
    return f"{amount} {currency}" if currency and currency[-1].isalpha() else f"{currency}{amount}"


#: So many fabrics side by side can be read in one table.
_BESIDE: Final = 3
_LAYOUT: Final = "layout, from the squared end to the last cut"
_AFTER: Final = (
    "= needed",
    "rounded up to what is sold",
    "proven least for the layout",
    "proof",
    "by the usual rule of thumb",
    "unused fabric in the layout",
)


def _how_much(plan: Plan) -> Iterator[Table]:
    """The sum behind each purchase, and how good it is, the fabrics side by side."""
    layouts, numbers = list(laid_out(plan)), numbering(plan.layouts)
    for at in range(0, len(layouts), _BESIDE):
        some = layouts[at : at + _BESIDE]
        sums = [_sum(plan, layout) for layout in some]
        between = dict.fromkeys(line for one in sums for line in one if line.startswith("+ "))
        lines = [line for line in (_LAYOUT, *between, *_AFTER) if any(line in one for one in sums)]
        titles = [fabric_words(layout, numbers) for layout in some]
        rows = tuple((line, *(one.get(line, "") for one in sums)) for line in lines)
        weights = (2.2, *(5 / len(some) for _ in some))
        yield Table("How each length was worked out", ("", *titles), rows, "l" * (len(some) + 1), weights)


def _sum(plan: Plan, layout: FabricLayout) -> dict[str, str]:
    unit, buy = plan.job.units, layout.buy
    told = {_LAYOUT: both_units(layout.length or 0, unit)}
    if buy is not None:
        told |= {f"+ {extra.name}": both_units(extra.length, unit) for extra in buy.allowances}
        told["= needed"] = both_units(buy.needed, unit)
        step = format_quantity(buy.step, buy.unit)
        told[_AFTER[1]] = f"{bought(layout)} = {both_units(buy.total, unit)}, sold by {step}"
    if layout.on_hand is None:
        told["proven least for the layout"] = both_units(layout.bound.length, unit)
    told["proof"] = _proof(layout, unit)
    if layout.rule_of_thumb is not None:
        rule = layout.rule_of_thumb
        told["by the usual rule of thumb"] = f"{both_units(rule.length, unit)}: {'; '.join(rule.lines)}"
    told["unused fabric in the layout"] = f"{float(layout.waste * 100):.1f} %"
    return told


def _proof(layout: FabricLayout, unit: Unit) -> str:
    if layout.bound.told or layout.on_hand is not None:
        return proof(layout, unit)[1]
    if layout.gap == 0:
        return f"no layout of these pieces is shorter: {layout.bound.rests_on}"
    if layout.length is None or layout.gap is None:
        return "not known"
    over = format_length(layout.length - layout.bound.length, unit)
    return f"at most {over} longer than the shortest possible"


def _sundries(plan: Plan, facts: tuple[WindowFacts, ...]) -> Table:
    unit = plan.job.units
    rows = [(TICK_BOX, *sundry_words(sundry, unit)) for sundry in plan.sundries]
    for each in facts:
        window = each.window
        what = "track with end stops" if each.making.hangs_from == "track" else "rod with brackets"
        thick = "" if each.making.diameter_assumed else f", {_thick(each.making)}"
        amount = f"{window.count} of {both_units(window.rod, unit)}"
        note = f"between the brackets{thick}; add what stands out at the ends"
        rows.append((TICK_BOX, what, amount, window.name, note))
    heads = ("", "what", "how much", "for", "note")
    return Table("Also needed, not cut from fabric", heads, tuple(rows), "cllll", (0.4, 2, 3, 2, 3.6))


def _thick(making: Making) -> str:
    """How thick a rod is."""
    thick, deep = both_units(making.rod_diameter, making.unit), making.window.rod_depth
    if deep is None:
        return f"{thick} thick"
    return f"flat, {thick} high and {both_units(deep, making.unit)} deep"


def sundry_words(sundry: Sundry, unit: Unit) -> tuple[str, str, str, str]:
    """What it is, how much of it, for which window, and what else is said of it."""
    amount = "" if sundry.count is None else str(sundry.count)
    if sundry.length is not None:
        length = both_units(sundry.length, unit)
        if sundry.length > 3 * unit_ticks("yd"):
            length = run_in_both(sundry.length, unit)
        amount = f"{amount} × {length}" if amount else length
    return sundry.name, amount, sundry.window or "", sundry.note


def _bolts(plan: Plan, comparison: Comparison | None) -> Iterator[Block]:
    """The widths in which each fabric is sold: compared where that was done, else as they are offered."""
    unit = plan.job.units
    if comparison is not None and comparison.options:
        yield SectionHeading("Bolt widths compared")
        rows = tuple(_option(plan, option) for option in comparison.options)
        heads = ("fabric", "bolt width", "widths a panel", "seams", "buy", "cost", "layout", "proven least")
        weights = (2, 1.1, 1.2, 0.8, 1.8, 1.3, 1.3, 1.4)
        yield Table("The same job on each bolt width", heads, rows, "lrrrrrrr", weights)
        alt = "Bars: how much of each bolt width is bought, with its cost and the proven least beside it."
        yield Picture(trace(comparison_figure(comparison)), alt)
        return
    several = [fabric for fabric in plan.job.fabrics if len(fabric.bolts) > 1]
    if not several:
        return
    used = {(layout.fabric.key, layout.bolt.width) for layout in plan.layouts}
    rows = tuple(
        (
            fabric.title,
            both_units(bolt.width, unit),
            both_units(bolt.usable, unit),
            "" if bolt.price is None else _cash(_price(bolt.price), plan),
            "this plan" if (fabric.key, bolt.width) in used else "",
        )
        for fabric in several
        for bolt in fabric.bolts
    )
    yield SectionHeading("Other bolt widths on offer")
    yield Table(
        f"Widths on offer, {plural(len(rows), 'bolt')}",
        ("fabric", "bolt width", "usable width", f"price per {plan.job.sold_in}", ""),
        rows,
        "lrrrl",
        (2.4, 2.3, 2.3, 1.6, 1.4),
    )
    yield Paragraph(
        "The other widths were not compared for this packet. Have them compared before you buy: a wider bolt "
        "may save seams, a narrower one money.",
        kind="note",
    )


def _option(plan: Plan, option: Option) -> tuple[str, ...]:
    unit, layout = plan.job.units, option.layout
    first = (option.fabric.title, format_length(option.bolt.width, unit))
    if layout is None or layout.length is None or layout.buy is None:
        return (*first, "", "", option.reason or "none found", "", "", "")
    counts = sorted({count for _, count in option.widths_per_panel})
    return (
        *first,
        " to ".join(str(count) for count in dict.fromkeys(counts[:1] + counts[-1:])),
        str(option.seams),
        format_quantity(layout.buy.total, layout.buy.unit),
        money(layout.buy, plan.job.currency),
        format_length(layout.length, unit),
        format_length(layout.bound.length, unit),
    )
