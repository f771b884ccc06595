"""What a plan document promises of lengths on hand: one lot to a window, none cut in half, the objective."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator, Mapping
from typing import Any

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, buy_entry, table_of
from nesting.check.document_rules import check_bought
from nesting.check.violation import Breach, Violation, odd_ones_out
from nesting.packing.result import Status

Set = tuple[str, str | None]
"""What a copy stands or falls with, and what it shares a dye lot with."""


def check_stock(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """Every rule of lengths on hand that the document breaks, judged from the document alone.

    Copies of one set are all laid or all left out, unless they are optional; those that share a lot lie on
    fabric of one lot, what is bought being of a lot of its own where none is named; no length on hand is cut
    twice; the objective is worth what the layouts say, and is optimal exactly where every stage is closed.
    """
    sets = {piece.id: sets_of_piece(plan, document, at) for at, piece in enumerate(plan.pieces)}
    yield from _check_lots(plan, sets)
    yield from _check_whole(plan, sets)
    yield from _check_once(plan)
    yield from _check_objectives(plan, document)
    yield from _check_shortfalls(plan, document)


def sets_of_piece(plan: PlanDocument, document: Mapping[str, Any], at: int) -> list[Set]:
    """The set of each copy of a piece, from copy 1 on; none where the document names none."""
    found: list[Set] = []
    entry = table_of(document, "pieces", at, plan.units)
    for one in entry.tables("sets", ()):
        found += [(one.text("set"), one.text_or_none("lot", None))] * one.copies(1)
    return found


def _set_of(entry: LaidEntry, sets: Mapping[str, list[Set]]) -> Set | None:
    known = sets[entry.piece.id]
    return known[entry.copy - 1] if 0 < entry.copy <= len(known) else None


def _lot(layout: LayoutEntry) -> str:
    if layout.lot is not None:
        return f'lot "{layout.lot}"'
    return "lengths without a lot" if layout.on_hand is not None else "what is bought"


def _check_lots(plan: PlanDocument, sets: Mapping[str, list[Set]]) -> Iterator[Violation]:
    groups: dict[tuple[str, str], list[tuple[str, str]]] = defaultdict(list)
    for layout in plan.layouts:
        for entry in layout.entries:
            one = _set_of(entry, sets)
            if one is not None and one[1] is not None:
                groups[layout.fabric, one[1]].append((entry.name, _lot(layout)))
    for (fabric, group), members in groups.items():
        yield from odd_ones_out(f'one lot for "{group}" of "{fabric}"', members, Breach.LOT)


def _check_whole(plan: PlanDocument, sets: Mapping[str, list[Set]]) -> Iterator[Violation]:
    asked, laid = Counter[tuple[str, str]](), Counter[tuple[str, str]]()
    for piece in plan.pieces:
        for name, _ in sets[piece.id] if not piece.optional else ():
            asked[piece.fabric, name] += 1
    for layout in plan.layouts:
        for entry in layout.entries:
            one = _set_of(entry, sets)
            if one is not None and not entry.piece.optional:
                laid[layout.fabric, one[0]] += 1
    for (fabric, name), count in sorted(laid.items()):
        if count < asked[fabric, name]:
            missing = asked[fabric, name] - count
            yield Violation(Breach.BUNDLE, f'"{name}" of "{fabric}"', "laid in part", missing)


def _check_once(plan: PlanDocument) -> Iterator[Violation]:
    seen = Counter((layout.fabric, layout.on_hand) for layout in plan.layouts if layout.on_hand is not None)
    for (fabric, name), count in seen.items():
        if count > 1:
            yield Violation(Breach.OVERLAP, f'length on hand "{name}" of "{fabric}"', "cut twice", count - 1)


def _check_objectives(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    listed = document.get("objectives", ())
    for at in range(len(listed) if isinstance(listed, list | tuple) else 0):
        entry = table_of(document, "objectives", at, plan.units)
        fabric = entry.text("fabric")
        mine = [layout for layout in plan.layouts if layout.fabric == fabric]
        closed = True
        for stage in entry.tables("stages"):
            points = stage.one_of("measure", ("length", "points")) == "points"
            value, bound = (
                (stage.whole("value"), stage.whole("bound"))
                if points
                else (stage.length_of("value"), stage.length_of("bound"))
            )
            closed = closed and value == bound
            name = stage.text("name")
            beyond = value - bound if stage.one_of("goal", ("most", "least")) == "most" else bound - value
            if beyond > 0:
                yield Violation(Breach.BOUND, f"{name} {value}", f"bound {bound}", beyond, stage.place)
            found = _worth(name, mine)
            if found is not None and found != value:
                yield Violation(
                    Breach.LENGTH, f"{name} {value}", f"layouts {found}", abs(found - value), stage.place
                )
        right = Status.OPTIMAL if closed else Status.FEASIBLE
        if entry.text("status") != right:
            yield Violation(Breach.STATUS, entry.text("status"), "its stages", at=entry.place)
        for layout in mine:
            if layout.on_hand is not None and layout.status is Status.OPTIMAL and not closed:
                yield Violation(Breach.STATUS, "optimal", "a stage that is not closed", at=layout.place)


def _worth(name: str, layouts: list[LayoutEntry]) -> int | None:
    """What the layouts say of a stage that is a length; None of any other."""
    there = [layout for layout in layouts if layout.on_hand is not None]
    if name == "fabric to buy":
        return sum(layout.length or 0 for layout in layouts if layout.on_hand is None)
    if name == "fabric started":
        return sum(layout.strip.length or 0 for layout in there)
    return sum(layout.length or 0 for layout in there) if name == "fabric cut into" else None


def _check_shortfalls(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What a fabric is short of: bought like all else, not below what is proven, no idle length cut."""
    listed = document.get("shortfalls", ())
    cut_into = {(layout.fabric, layout.on_hand) for layout in plan.layouts if layout.on_hand is not None}
    for at in range(len(listed) if isinstance(listed, list | tuple) else 0):
        entry = table_of(document, "shortfalls", at, plan.units)
        fabric, buys = entry.text("fabric"), [entry.table("buy"), entry.table("if_one_lot")]
        for buy in buys:
            if buy is not None:
                said = buy_entry(buy)
                needed = buy.length_of("length") + (said.allowances or 0)
                yield from check_bought(said, needed, buy.place)
        if buys[0] is not None and buy_entry(buys[0]).quantity < entry.length_of("least"):
            short = entry.length_of("least") - buy_entry(buys[0]).quantity
            yield Violation(Breach.BOUND, "bought", "what is proven to be needed", short, entry.place)
        if buys[0] is not None and buys[1] is not None:
            over = buy_entry(buys[1]).quantity - buy_entry(buys[0]).quantity
            if over >= 0:
                yield Violation(Breach.BUY, "bought if of one lot", "what is bought", over, entry.place)
        for idle in entry.tables("not_cut_into", ()):
            name = idle.text("on_hand")
            if (fabric, name) in cut_into:
                yield Violation(Breach.LENGTH, f'"{name}" not cut into', "its layout", at=idle.place)
