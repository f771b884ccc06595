"""What a plan document promises beyond its geometry: copies, sizes, turns, arrows, status, purchase."""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterator
from fractions import Fraction
from math import floor

from nesting.check.document import BuyEntry, LaidEntry, LayoutEntry, PlanDocument
from nesting.check.violation import Breach, Violation, count_copies, missing_copies, odd_ones_out
from nesting.packing.result import Status
from nesting.units import unit_ticks


def check_every_copy(plan: PlanDocument) -> Iterator[Violation]:
    """Every copy is laid once on its fabric, or optional, or listed as left out.

    Where a layout says it found none, nothing of that fabric need be laid.
    """
    laid: dict[str, Counter[int]] = defaultdict(Counter)
    for layout in plan.layouts:
        for stranger in layout.strangers:
            yield Violation(
                Breach.UNKNOWN_PART, f'"{stranger}"', f'fabric "{layout.fabric}"', at=layout.place
            )
        for entry in layout.entries:
            laid[entry.piece.id][entry.copy] += 1
    unlaid = {layout.fabric for layout in plan.layouts if layout.length is None}
    left_out = Counter[str]()
    for piece_id, copies in plan.left_out:
        left_out[piece_id] += copies
    for piece in plan.pieces:
        broken = list(count_copies(piece.id, piece.copies, laid[piece.id]))
        missing = [one for one in broken if one.kind is Breach.MISSING_COPY]
        yield from (one for one in broken if one.kind is not Breach.MISSING_COPY)
        lacking = missing_copies(piece.copies, laid[piece.id])
        if left_out[piece.id] > lacking:
            over = left_out[piece.id] - lacking
            yield Violation(Breach.EXTRA_COPY, f'"{piece.id}" left out', "copies laid", over)
        if not piece.optional and piece.fabric not in unlaid:
            # Which of them are said to be left out is nowhere said: as many are wrong as are not.
            wrong = lacking - left_out[piece.id]
            yield from missing[left_out[piece.id] :] or missing[: max(0, min(wrong, len(missing)))]
    for stranger in left_out.keys() - {piece.id for piece in plan.pieces}:
        yield Violation(Breach.UNKNOWN_PART, f'"{stranger}"', "the pieces", at="left_out")


def check_sizes(layout: LayoutEntry) -> Iterator[Violation]:
    """Each copy has its piece's size, and is turned only where it may be."""
    for entry in layout.entries:
        piece, at = entry.piece, f"{layout.place}, x {entry.x}, y {entry.y}"
        sides = (piece.width, piece.length) if entry.turn == 0 else (piece.length, piece.width)
        off = max(abs(entry.width - sides[0]), abs(entry.length - sides[1]))
        if off:
            yield Violation(Breach.WRONG_SIZE, entry.name, "its piece", off, at)
        bound_by = piece.match is not None or piece.nap == "one-way" or not piece.turnable
        # Of prints that lie sideways `nesting.check.document_prints` judges.
        if entry.turn and bound_by and not (piece.sideways and piece.nap != "one-way"):
            yield Violation(Breach.FORBIDDEN_TURN, entry.name, at=at)


def check_arrows(plan: PlanDocument) -> Iterator[Violation]:
    """Arrows agree with turns, with the arrow group, and throughout a one-way fabric."""
    groups: dict[str, list[LaidEntry]] = defaultdict(list)
    for layout in plan.layouts:
        for entry in layout.entries:
            ways: tuple[str, ...] = ("up", "down") if entry.turn == 0 else ("left", "right")
            if entry.piece.match is not None:
                ways = ("up",) if entry.turn == 0 else ("left",)
            if entry.arrow not in ways:
                yield Violation(
                    Breach.ARROW, f"{entry.name}, {entry.arrow}", " or ".join(ways), at=layout.place
                )
            if entry.piece.arrow_group is not None:
                groups[f'arrow group "{entry.piece.arrow_group}" of "{layout.fabric}"'].append(entry)
            if entry.piece.nap == "one-way":
                groups[f'one-way nap of "{layout.fabric}"'].append(entry)
    for group, entries in groups.items():
        yield from odd_ones_out(group, [(entry.name, entry.arrow) for entry in entries])


def check_status(layout: LayoutEntry) -> Iterator[Violation]:
    """The status is what length and bound say: optimal exactly where they are equal."""
    if layout.length is None:
        right = layout.status in (Status.INFEASIBLE, Status.NO_LAYOUT)
    else:
        proved = layout.length == layout.lower_bound
        right = layout.status is (Status.OPTIMAL if proved else Status.FEASIBLE)
    if not right:
        figures = f"length {layout.length}, bound {layout.lower_bound}"
        yield Violation(Breach.STATUS, f"{layout.status}", figures, at=layout.place)


def check_buying(layout: LayoutEntry) -> Iterator[Violation]:
    """What is bought covers layout and allowances, in whole selling steps, at quantity times price."""
    if layout.on_hand is not None or layout.length is None:
        return
    if layout.buy is None:
        yield Violation(Breach.BUY, "nothing bought", f"needed {layout.length}", layout.length, layout.place)
        return
    buy = layout.buy
    needed = layout.length + (layout.squaring if buy.allowances is None else buy.allowances)
    yield from check_bought(buy, needed, layout.place)


def check_bought(buy: BuyEntry, needed: int, at: str) -> Iterator[Violation]:
    """What is bought covers what is needed, in whole selling steps, at quantity times price."""
    if buy.quantity < needed:
        yield Violation(Breach.BUY, f"bought {buy.quantity}", f"needed {needed}", needed - buy.quantity, at)
    if buy.step and buy.quantity % buy.step:
        over = buy.quantity % buy.step
        yield Violation(Breach.BUY, f"bought {buy.quantity}", f"selling step {buy.step}", over, at)
    yield from _check_cost(buy, at)


def _check_cost(buy: BuyEntry, at: str) -> Iterator[Violation]:
    if buy.price is None:
        return
    due = floor(buy.price * Fraction(buy.quantity, unit_ticks(buy.unit)) * 100 + Fraction(1, 2))
    if buy.cost is None:
        yield Violation(Breach.COST, "no cost", f"{due} hundredths due", at=at)
    elif buy.cost * 100 != due:
        off = max(1, round(abs(buy.cost * 100 - due)))
        yield Violation(Breach.COST, "cost stated", f"{due} hundredths due", off, at)
