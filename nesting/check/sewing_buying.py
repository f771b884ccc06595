"""What is bought of every fabric, from the order and the layout: allowances, selling step, price, cost.

Nothing is taken from what the document says that is needed: every allowance is worked out from the order, and
the quantity is the least number of selling steps that holds them and the layout.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from math import floor
from typing import Any, Final

from nesting.check.document import LayoutEntry, PlanDocument, TableReader
from nesting.check.sewing_bench import PieceCut
from nesting.check.sewing_ordered import fraction_or_none, percent_kept, whole
from nesting.check.violation import Breach, Violation
from nesting.repeat import Repeat
from nesting.units import Unit, grid, round_up, selling_unit, to_ticks, unit_ticks

#: Squared off each end where nothing was ordered (common practice, no source): inches, and centimeters.
_SQUARING: Final = ("2", "5")


@dataclass(frozen=True, slots=True)
class Bought:
    """A layout, its table in the document, its fabric in the order, and the bolt it was cut from."""

    layout: LayoutEntry
    table: TableReader
    fabric: TableReader
    bolt: TableReader | None
    repeat: Repeat | None


def check_buying_ordered(
    plan: PlanDocument,
    document: Mapping[str, Any],
    repeats: Mapping[str, Repeat | None],
    pieces: Mapping[str, list[PieceCut]],
) -> Iterator[Violation]:
    """What is wrong with what is bought, or with the bolt it is bought of."""
    top = TableReader(document, "", plan.units)
    order = top.table_or_none("order")
    if order is None:
        return
    fabrics = {fabric.text("key"): fabric for fabric in order.tables("fabrics", ())}
    matched = _matched(plan, top, pieces)
    own_edges = {piece.fabric for piece in plan.pieces if piece.hem_edge is not None}
    costs = list[Fraction | None]()
    for layout, table in zip(plan.layouts, top.tables("layouts"), strict=True):
        fabric = fabrics.get(layout.fabric)
        if fabric is None:
            yield Violation(
                Breach.BUY, f'fabric "{layout.fabric}"', "no such fabric ordered", at=layout.place
            )
            continue
        bolts, number = list(fabric.tables("bolts", ())), table.value("bolt", None)
        bolt = bolts[number] if type(number) is int and 0 <= number < len(bolts) else None
        repeat = repeats.get(layout.place) if layout.fabric in matched else None
        bought = Bought(layout, table, fabric, bolt, repeat)
        yield from _check_cloth(bought, number, layout.fabric in own_edges)
        if layout.on_hand is not None and layout.squaring:
            yield Violation(Breach.BUY, f"squaring {layout.squaring}", "a length on hand", at=layout.place)
        if layout.buy is not None and layout.on_hand is None and layout.length is not None:
            costs.append(layout.buy.cost)
            yield from _check_bolt(bought, plan.units)
            yield from _check_quantity(bought, order, plan.units, matched[layout.fabric] if repeat else False)
    yield from _check_total(top, costs)


def _check_cloth(bought: Bought, number: object, own_edge: bool) -> Iterator[Violation]:
    """The bolt, or the length on hand, is one that was ordered: its width, flaws, lot and start.

    Of which a piece, laid or not, has the ``own_edge`` of its fabric, that lies on the table edge to edge.
    """
    layout, fabric, bolt = bought.layout, bought.fabric, bought.bolt
    bolts = list(fabric.tables("bolts", ()))
    if bolt is None:
        known = [one for one in bolts if whole(one, "width", 1) == layout.bolt_width]
        if number is not None or known:
            yield Violation(Breach.BUY, f"bolt {number}", "one of those ordered", at=layout.place)
        return
    if percent_kept(fabric, "length", "before") < 1 or percent_kept(fabric, "width", "before") < 1:
        return
    there = [one for one in bolt.tables("on_hand", ()) if one.value("name", "") == layout.on_hand]
    piece = there[0] if layout.on_hand is not None and there else None
    if layout.on_hand is not None and piece is None:
        yield Violation(Breach.BUY, f'length on hand "{layout.on_hand}"', "none ordered", at=layout.place)
        return
    usable = whole(bolt, "usable", 1)
    if piece is not None:
        usable = whole(piece, "usable", 1) if piece.value("usable", None) is not None else usable
        yield from _check_on_hand(layout, piece)
    if bought.repeat is None and not own_edge and layout.strip.width > usable:
        over = layout.strip.width - usable
        yield Violation(
            Breach.OUTSIDE, f"{layout.strip.width} across", f"{usable} usable", over, layout.place
        )


def _check_on_hand(layout: LayoutEntry, piece: TableReader) -> Iterator[Violation]:
    """Flaws and lot of a length on hand are those that were told."""
    width = layout.strip.width
    flaws = {
        (
            whole(flaw, "from_left", 0) if flaw.value("from_left", None) is not None else 0,
            whole(flaw, "at", 0),
            None if flaw.value("width", None) is None else whole(flaw, "width", 1),
            whole(flaw, "length", 1),
        )
        for flaw in piece.tables("flaws", ())
    }
    for left, low, wide, long in flaws:
        right, high = left + (wide or 2 * layout.bolt_width), low + long
        for entry in layout.entries:
            # Counted from the left edge of the fabric; the layout begins where the usable width does.
            off = (layout.bolt_width - width) // 2
            over = entry.y < high and low < entry.y + entry.length
            if over and entry.x + off < right - off and left + off < entry.x + entry.width:
                yield Violation(Breach.FLAW, entry.name, f"the flaw at {low}", at=layout.place)
    if (layout.lot or None) != (piece.value("lot", None) or None):
        yield Violation(Breach.LOT, f'lot "{layout.lot}"', f'"{piece.value("lot", None)}"', at=layout.place)


def _matched(plan: PlanDocument, top: TableReader, pieces: Mapping[str, list[PieceCut]]) -> dict[str, bool]:
    """Fabrics of whose print something must match, and whether all of that lies sideways."""
    order, found = top.table_or_none("order"), dict[str, bool]()
    extras = () if order is None else order.tables("extras", ())
    wanted = {extra.text("fabric") for extra in extras if extra.value("matched", False)}
    sideways = {piece.id: piece.sideways for piece in plan.pieces}
    for listed in pieces.values():
        for piece in listed:
            if piece.role == "panel" or (piece.role == "extra" and piece.fabric in wanted):
                found[piece.fabric] = found.get(piece.fabric, True) and sideways[piece.id]
    return found


def _check_bolt(bought: Bought, unit: Unit) -> Iterator[Violation]:
    """Width, price, selling step and unit are those of the bolt that was ordered."""
    bolt, layout = bought.bolt, bought.layout
    buy = layout.buy
    assert buy is not None
    if buy.unit != selling_unit(unit):
        yield Violation(Breach.BUY, f"bought by the {buy.unit}", selling_unit(unit), at=layout.place)
    if bolt is None:
        return
    step, price = whole(bolt, "sold_by", 0), fraction_or_none(bolt, "price")
    if layout.bolt_width != whole(bolt, "width", 1):
        off = abs(layout.bolt_width - whole(bolt, "width", 1))
        yield Violation(Breach.BUY, f"bolt {layout.bolt_width} wide", "the one ordered", off, layout.place)
    if (buy.step or 0) != step:
        yield Violation(Breach.BUY, f"selling step {buy.step}", f"{step} ordered", at=layout.place)
    if buy.price != price:
        yield Violation(
            Breach.COST, f"price {_money(buy.price)}", f"{_money(price)} ordered", at=layout.place
        )
    if price is None and buy.cost is not None:
        yield Violation(Breach.COST, f"cost {_money(buy.cost)}", "no price", at=layout.place)


def _money(amount: Fraction | None) -> str:
    return "none" if amount is None else f"{float(amount):.2f}"


def _check_quantity(bought: Bought, order: TableReader, unit: Unit, sideways: bool) -> Iterator[Violation]:
    """Layout and allowances of the order, up to the selling step and no further."""
    layout, buy = bought.layout, bought.layout.buy
    assert buy is not None
    assert layout.length is not None
    allowances = dict(_allowances(bought, order, unit, layout.length, sideways))
    listed = bought.table.table_or_none("buy")
    said = [] if listed is None else [
        (str(item.value("name", "")), item.length_of("length")) for item in listed.tables("allowances", ())
    ]  # fmt: skip
    if layout.squaring != allowances.get("squar", 0):
        yield Violation(
            Breach.BUY,
            f"squaring {layout.squaring}",
            f"{allowances.get('squar', 0)} ordered",
            at=layout.place,
        )
    for word, length in allowances.items():
        told = [made for name, made in said if name.startswith(word)]
        if told != [length]:
            what = f"allowance {word}: {', '.join(map(str, told)) or 'none'}"
            yield Violation(Breach.BUY, what, f"{length}", abs(sum(told) - length), layout.place)
    for name, made in said:
        if not any(name.startswith(word) for word in allowances):
            yield Violation(Breach.BUY, f"allowance {name}: {made}", "what was ordered", made, layout.place)
    needed = layout.length + sum(allowances.values())
    step = max(1, buy.step or 1)
    least = -(-needed // step) * step
    if buy.quantity != least:
        what = f"bought {buy.quantity}"
        yield Violation(Breach.BUY, what, f"{least}, what is needed", abs(buy.quantity - least), layout.place)
    if listed is not None:
        for key, asked in (("length", layout.length), ("total", least)):
            stated = listed.length_or_none(key, None)
            if stated != asked:
                yield Violation(Breach.BUY, f"buy.{key} {stated}", f"{asked}", at=layout.place)


def _allowances(
    bought: Bought, order: TableReader, unit: Unit, length: int, sideways: bool
) -> Iterator[tuple[str, int]]:
    """What is bought beyond the layout, each by the beginning of its name."""
    squaring = order.value("squaring", None)
    usual = to_ticks(float(_SQUARING[0]), "in") if unit == "in" else to_ticks(float(_SQUARING[1]), "cm")
    lengths = [usual if squaring is None else whole(order, "squaring", 0)]
    if lengths[0]:
        yield "squar", lengths[0]
    for word, more in () if bought.repeat is None or sideways else _print_takes(bought, length):
        lengths.append(more)
        yield word, more
    kept = percent_kept(bought.fabric, "length", "before")
    if kept < 1:
        needed = length + sum(lengths)
        lengths.append(int(-(-needed // kept)) - needed)
        yield "shrinks", lengths[-1]
    margin = _margin(bought, order, unit, length + sum(lengths))
    if margin:
        yield "safety margin", margin


def _print_takes(bought: Bought, length: int) -> Iterator[tuple[str, int]]:
    """An unknown start of a print takes one repeat; drift, bow and skew what its tolerance says."""
    repeat, tolerance = bought.repeat, bought.fabric.table_or_none("tolerance")
    assert repeat is not None
    if bought.layout.strip.start is None:
        yield "unknown start", repeat.length
    if tolerance is None:
        return
    drift, bow, skew = (
        0 if tolerance.value(key, None) is None else whole(tolerance, key, 0)
        for key in ("repeat", "bow", "skew")
    )
    if drift:
        yield "drift", -(-length // repeat.length) * drift
    if bow + skew and not bought.fabric.value("cutting_gap", None):
        yield "bow and skew", bow + skew


def _margin(bought: Bought, order: TableReader, unit: Unit, needed: int) -> int:
    """The margin that was ordered, of the fabric or else of the job; none where nothing was."""
    safety = bought.fabric.table_or_none("safety") or order.table_or_none("safety")
    if bought.fabric.value("safety", None) is None and order.value("safety", None) is None:
        return 0
    assert safety is not None
    percent = fraction_or_none(safety, "percent")
    if percent is not None:
        return round_up(needed * percent / 100, grid(unit))
    if safety.value("length", None) is not None:
        return whole(safety, "length", 0)
    one = unit_ticks(selling_unit(unit))
    said = bought.fabric.table_or_none("repeat")
    repeat = whole(said, "length", 1) if said is not None and bought.repeat is not None else 0
    return max(one, repeat)


def _check_total(top: TableReader, costs: list[Fraction | None]) -> Iterator[Violation]:
    """The cost of the plan is that of all its fabrics."""
    said = fraction_or_none(top, "cost")
    known = [cost for cost in costs if cost is not None]
    due = sum(known, Fraction(0)) if known and len(known) == len(costs) else None
    if said != due and not (said is not None and due is not None and floor(said * 100) == floor(due * 100)):
        yield Violation(Breach.COST, f"cost of the plan {_money(said)}", f"{_money(due)} due")
