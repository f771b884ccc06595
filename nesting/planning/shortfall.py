"""What lengths on hand are short of: the least to buy on top, why some stay whole, what would use them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from decimal import Decimal

from nesting.order.job import LengthOnHand
from nesting.packing import Part, Strip
from nesting.pieces.piece import Advice
from nesting.plan.plan import Buy, LeftOut, Shortfall
from nesting.plan.shortage import bought, enough
from nesting.planning.effort import Spending
from nesting.planning.from_stock import ALONE, ONE_LOT, FromStock, require_sound
from nesting.planning.laying import Lay, buy_for
from nesting.planning.lengths import Share, on_hand, reserve_of, strip_of
from nesting.units import format_length


def unused_advice(made: FromStock, spending: Spending) -> Iterator[Advice]:
    """Why lengths on hand stay unused while more is bought, and what would use them.

    Parameters
    ----------
    made
        What was laid.
    spending
        For one problem more: the same without lots.
    """
    lay = made.case.lay
    buy = _to_buy(made)
    left = _untouched(made)
    if buy is None or not left:
        return
    less = _of_one_lot(made, buy, spending)
    if less is None:
        return
    names = ", ".join(f"{there.name} ({format_length(there.length, lay.job.units)})" for there in left)
    then = enough(less, lay.job.currency) + ("," if less.total and less.cost is not None else "")
    text = (
        f"{lay.fabric.title}: fabric on hand stays unused: {names}. All panels of a window are cut from one "
        "lot, and none of these holds enough for one. If what you have and what you buy are of one lot, "
        f"give them one lot: then {then} instead of {bought(buy, lay.job.currency)}"
    )
    money = None if buy.cost is None else buy.cost - (less.cost or Decimal(0))
    yield Advice("warning", text, fabric=lay.fabric.key, money=money)


def _to_buy(made: FromStock) -> Buy | None:
    """What is bought beside the lengths on hand; None where nothing is."""
    return buy_for(made.case.lay, made.result.length) if made.result.length else None


def _untouched(made: FromStock) -> list[LengthOnHand]:
    """The lengths on hand that are not cut into, all of them, in the job's order."""
    cut_into = {at.strip for at in made.result.placements}
    used = {there.name for number, there in enumerate(made.problem.lengths) if number in cut_into}
    return [there for there in made.case.lay.table_bolt.on_hand if there.name not in used]


def _of_one_lot(made: FromStock, buy: Buy, spending: Spending) -> Buy | None:
    """What would be bought if lots did not count; None where that is not known to be less."""
    lay = made.case.lay
    whole = on_hand(lay, buy=True, extras=False)
    if all(part.lot is None for part in whole.problem.parts):
        return None
    parts = tuple(replace(part, lot=None) for part in whole.problem.parts)
    free = replace(whole, problem=replace(whole.problem, parts=parts))
    result = spending.pack_problem(free.problem, lay.fabric.title, ONE_LOT)
    if result.length is None:
        return None
    require_sound(free, result)
    less = buy_for(lay, result.length) if result.length else replace(buy, length=0, allowances=())
    return less if less.total < buy.total else None


def shortfall_of(made: FromStock, spending: Spending) -> Shortfall | None:
    """What a fabric is short of, all that is left out taken together; None where nothing is.

    Never below what is needed: a layout of everything was found with it, and checked.

    Raises
    ------
    CheckError
        That layout breaks a rule: a fault of this program.
    """
    if not made.left_out:
        return None
    needed, key = made.needed, made.case.lay.fabric.key
    idle = tuple((there.name, why_idle(made, there)) for there in _untouched(made))
    if needed is None:
        return Shortfall(key, None, 0, idle)
    lay, stage = needed.case.lay, needed.stages[0]
    require_sound(needed.problem, needed.result)
    buy = buy_for(lay, stage.value)
    least = buy_for(lay, stage.bound).total if stage.bound else 0
    return Shortfall(key, buy, least, idle, _of_one_lot(needed, buy, spending))


def why_idle(made: FromStock, there: LengthOnHand) -> str:
    """Why a length on hand is not cut into while windows or extras are left out."""
    lay, problem = made.case.lay, made.problem
    unit = lay.job.units
    strip = strip_of(lay, there)
    if strip is None:
        repeat = format_length(reserve_of(lay, there), unit)
        return f"no longer than one repeat, {repeat}, which is kept for finding the place in the pattern"
    large = dict[str, tuple[Share, Part]]()
    for share, part in zip(problem.shares, problem.problem.parts, strict=True):
        if share.unit in made.left_out and _reach(part) > _reach(large.get(share.unit, (None, None))[1]):
            large[share.unit] = share, part
    if not any(_holds(strip, part) for _, part in large.values()):
        share, part = min(large.values(), key=lambda each: _reach(each[1]))
        size = f"{format_length(part.width, unit, name=False)} x {format_length(part.length, unit)}"
        return f"too small for {share.piece.name}, {size}"
    if any(share.lot is not None for share, _ in large.values()):
        lot = "its lot" if there.lot is None else f"lot {there.lot}"
        whose = "a room" if lay.fabric.one_lot == "room" else "a window"
        return f"all panels of {whose} are cut from one lot, and {lot} has no room left for all of them"
    return "no room was found on it"


def _reach(part: Part | None) -> int:
    """How long a part is, its longer side where it may turn."""
    if part is None:
        return -1
    return max(part.width, part.length) if part.turnable else part.length


def _holds(strip: Strip, part: Part) -> bool:
    """Whether a part lies within a strip, flaws aside, in any way it may lie."""
    sizes = [part.size(turned) for turned in (False, True)[: 1 + part.turnable]]
    return any(width <= strip.width and length <= (strip.length or length) for width, length in sizes)


def shortfalls(made: FromStock, spending: Spending) -> Iterator[LeftOut]:
    """What is left out, each with the least to buy so that it is served too, all else laid as well.

    An optional extra that is left out wants so much more as it is long: it starts no further length.
    """
    lay, problem = made.case.lay, made.problem
    laid: dict[str, int] = {}
    for at in made.result.placements:
        laid[problem.shares[at.part].piece.id] = laid.get(problem.shares[at.part].piece.id, 0) + 1
    shares = {share.unit: share for share in problem.shares if share.unit in made.left_out}
    units = [unit for unit in dict.fromkeys(s.unit for s in problem.shares) if unit in made.left_out]
    served = frozenset(s.unit for s in problem.shares if not s.piece.optional) - made.left_out
    if len(units) < 2:
        spending.skip(ALONE)
    for unit in units:
        if len(units) == 1:
            more = made.needed
            found = None if more is None else (more.case.lay, more.stages[0].value, more.stages[0].closed)
        else:
            found = _alone(made, served | {unit}, spending, ALONE / len(units))
        yield from _left_out(made, shares[unit], found)
    for piece in lay.extras:
        missing = piece.copies - laid.get(piece.id, 0) - lay.laid_before.get(piece.id, 0)
        if missing:
            yield LeftOut(
                piece.id, missing, min(piece.length, piece.width) if piece.turnable else piece.length
            )


def _alone(
    made: FromStock, units: frozenset[str], spending: Spending, weight: float
) -> tuple[Lay, int, bool] | None:
    """The least bought on top of which these are laid and whether it is proven; None where none was found."""
    more = on_hand(made.case.lay, buy=True, units=units, extras=False)
    result = spending.pack_problem(more.problem, made.case.lay.fabric.title, weight)
    if result.length is None:
        return None
    require_sound(more, result)
    return made.case.lay, result.length, result.length == result.bound.length


def _left_out(made: FromStock, share: Share, found: tuple[Lay, int, bool] | None) -> Iterator[LeftOut]:
    buy = None if found is None else buy_for(found[0], found[1])
    for piece, copies in _copies(made, share.unit):
        yield LeftOut(
            piece=piece,
            copies=copies,
            shortfall=0 if found is None else found[1],
            window=share.piece.window
            if share.piece.role != "extra" and share.piece.window
            else share.piece.name,
            steps=None if buy is None or not buy.step else buy.total // buy.step,
            total=None if buy is None else buy.total,
            least=found is not None and found[2],
        )


def _copies(made: FromStock, unit: str) -> list[tuple[str, int]]:
    """The pieces of a unit and how many copies of each."""
    found: dict[str, int] = {}
    for share in made.problem.shares:
        if share.unit == unit and not share.piece.optional:
            found[share.piece.id] = found.get(share.piece.id, 0) + share.copies
    return list(found.items())
