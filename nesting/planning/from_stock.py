"""A fabric laid on its lengths on hand: everything, with more bought on top, or as much as there is room."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import partial

from nesting.check import check_layout
from nesting.errors import CheckError, DoesNotFitError, NestingError, NothingFoundError
from nesting.order.job import LengthOnHand
from nesting.packing import Aim, Bound, Placement, Result, Stop, status_of
from nesting.plan.plan import FabricLayout, Laid, Objective
from nesting.planning.effort import Spending
from nesting.planning.laying import SEARCHING, Lay, buy_for, laid_of, lies_railroaded
from nesting.planning.lengths import OnHand, on_hand, repeat_on, reserve_of, strip_of
from nesting.planning.ways import Case, Sideways, best_of, turned_rooms
from nesting.units import format_length

#: What packing calls its stages, in a maker's words.
WORDS = {
    "to buy": "fabric to buy",
    "value": "windows and extras placed, by priority",
    "fabric started": "fabric started",
    "extras": "optional extras placed, by priority",
    "cut into": "fabric cut into",
}
#: Packings that the lengths on hand of one way to cut may take: all of it, the most of it, what is missing.
PACKINGS = 3
#: Beyond these: what each window that is left out takes by itself, and what one lot would save.
ALONE = 1.0
ONE_LOT = 0.3


def packings_of(cases: Sequence[Case]) -> float:
    """How many shares of the time the ways to cut a fabric take on its lengths on hand."""
    return ALONE + ONE_LOT + sum(1 + 2 * PACKINGS if case.choices else PACKINGS for case in cases)


def settled_cases(cases: Sequence[Case], spending: Spending) -> list[Case]:
    """The ways to cut a fabric with their seam plans settled, for lengths on hand.

    Each is cut by its plain seam plans and, where these leave a choice, by those that would take the least
    of an open bolt.
    """
    found = list[Case]()
    for case in cases:
        plain = case.by((0,) * len(case.choices))
        found.append(plain)
        if not case.choices:
            continue
        try:
            shortest = best_of([case], spending).case
        except NestingError:
            spending.skip(PACKINGS)
            continue
        if shortest.lay.problem == plain.lay.problem:
            spending.skip(PACKINGS)
        else:
            found.append(shortest)
    return found


@dataclass(frozen=True, slots=True)
class FromStock:
    """What came of laying a fabric on its lengths on hand.

    Attributes
    ----------
    case
        The way it was cut.
    problem, result
        The problem that was solved last, and its layout.
    left_out
        Units that found no room.
    needed
        With anything left out: everything laid with the least bought on top; None where no such layout was
        found in the time.
    """

    case: Case
    problem: OnHand
    result: Result
    stages: tuple[Aim, ...]
    left_out: frozenset[str] = frozenset()
    needed: FromStock | None = None

    @property
    def sideways(self) -> Sideways:
        """Rooms whose panels lie sideways."""
        pieces = (self.problem.shares[at.part].piece for at in self.result.placements if at.turned)
        return self.case.sideways | turned_rooms(self.case.lay.fabric.key, pieces)


def lay_from_stock(cases: Sequence[Case], spending: Spending) -> FromStock:
    """The best of a fabric's ways to cut on its lengths on hand.

    With ``top_up`` the least is bought on top. Else everything is placed with the least fabric started, or,
    where that cannot be, the largest set by priority.

    Raises
    ------
    NothingFoundError
        No layout was found in the time.
    """
    buy = cases[0].lay.bolt.top_up
    _require_fabric(cases[0].lay)
    whole = [_packed(case, on_hand(case.lay, buy=buy), spending) for case in cases]
    found = _best(whole)
    if found is not None:
        spending.skip(ALONE + (PACKINGS - 1) * len(cases))
        return found
    if buy:
        raise NothingFoundError(
            f'fabric "{cases[0].lay.fabric.title}": no layout was found: give it more time'
        )
    partly = [_packed(case, on_hand(case.lay, buy=False, optional=True), spending) for case in cases]
    found = _best(partly)
    if found is None:
        raise NothingFoundError(
            f'fabric "{cases[0].lay.fabric.title}": no layout was found: give it more time'
        )
    laid = {found.problem.shares[at.part].unit for at in found.result.placements}
    asked = [share.unit for share in found.problem.shares if not share.piece.optional]
    missing = frozenset(asked) - laid
    if not missing:
        spending.skip(ALONE + len(cases))
        return found
    needed = _best([_packed(case, on_hand(case.lay, buy=True), spending, shown=False) for case in cases])
    if needed is not None and needed.stages[0].value == 0:
        # What the search for a layout of everything had missed: nothing need be bought.
        return needed
    return replace(found, left_out=missing, needed=needed)


def _packed(
    case: Case, problem: OnHand, spending: Spending, *, shown: bool = True
) -> tuple[Case, OnHand, Result]:
    view = partial(_so_far, case, problem) if shown else None
    return case, problem, spending.pack_problem(problem.problem, case.lay.fabric.title, shown=view)


def _so_far(
    case: Case, problem: OnHand, length: int, placements: tuple[Placement, ...]
) -> tuple[FabricLayout, ...]:
    """What a search holds as layouts to look at, checked; nothing is said of how good they are."""
    result = Result(length, Bound(0, SEARCHING), Stop.TIME_LIMIT, 0.0, placements)
    # The second is never closed: nothing is said to be proven.
    stages = (Aim("to buy", length, 0, False, SEARCHING), Aim("cut into", 1, 0, False, SEARCHING))
    return layouts_from_stock(FromStock(case, problem, result, stages))


def _best(tried: Sequence[tuple[Case, OnHand, Result]]) -> FromStock | None:
    """The best by its stages; the bound of each stage is that of all ways which may be as good before it."""
    found = [(case, problem, result) for case, problem, result in tried if result.length is not None]
    if not found:
        return None
    case, problem, result = min(found, key=lambda one: _rank(one[2].stages))
    open_ways = [r.stages for _, _, r in tried if not r.infeasible and r is not result]
    if any(r.length is None and not r.infeasible for _, _, r in tried):
        # Of a way without a layout nothing is known but that nothing is less than nothing.
        return FromStock(case, problem, result, tuple(_unknown(stage) for stage in result.stages))
    stages = []
    for at, stage in enumerate(result.stages):
        bounds = [ways[at].bound for ways in open_ways]
        bound = max([stage.bound, *bounds]) if stage.most else min([stage.bound, *bounds])
        # A proof speaks of one way to cut only.
        proof = stage.certificate if len(tried) == 1 else None
        stages.append(replace(stage, bound=bound, certificate=proof))
        # A way that is proven worse here has no say in the stages behind.
        open_ways = [ways for ways in open_ways if not _worse(ways[at], stage)]
    return FromStock(case, problem, result, tuple(stages))


def _rank(stages: Iterable[Aim]) -> tuple[int, ...]:
    return tuple(-stage.value if stage.most else stage.value for stage in stages)


def _worse(other: Aim, best: Aim) -> bool:
    return other.bound < best.value if best.most else other.bound > best.value


def _unknown(stage: Aim) -> Aim:
    bound = max(stage.value, stage.bound) if stage.most else 0
    return replace(stage, bound=bound, certificate=None)


def objective_of(made: FromStock) -> Objective:
    """What was asked and proven, in a maker's words."""
    lay, cut_into = made.case.lay, {at.strip for at in made.result.placements}
    used = {made.problem.lengths[at].name for at in cut_into if at < len(made.problem.lengths)}
    return Objective(
        fabric=lay.fabric.key,
        stages=tuple(replace(stage, name=WORDS[stage.name]) for stage in made.stages),
        stop=made.result.stop,
        seconds=made.result.seconds,
        untouched=tuple(there.name for there in lay.table_bolt.on_hand if there.name not in used),
    )


def layouts_from_stock(made: FromStock) -> tuple[FabricLayout, ...]:
    """A layout for each length on hand that is cut into, and for what is bought; checked.

    Raises
    ------
    CheckError
        A layout breaks a rule: a fault of this program.
    """
    problem, result = made.problem, made.result
    bound = result.bound.length if len(problem.problem.strips) == 1 else None
    require_sound(problem, result, bound)
    lays: dict[int, list[Placement]] = {}
    for at in result.placements:
        if not problem.is_pin(at.strip):
            lays.setdefault(at.strip, []).append(at)
    layouts = [_layout(made, strip, lays[strip]) for strip in sorted(lays)]
    railroaded = lies_railroaded(one for layout in layouts for one in layout.placements)
    return tuple(replace(layout, railroaded=railroaded) for layout in layouts)


def require_sound(problem: OnHand, result: Result, bound: int | None = None) -> None:
    """Nothing is said of a layout that breaks a rule.

    Raises
    ------
    CheckError
        It does: a fault of this program.
    """
    broken = check_layout(problem.problem, result.placements, result.length, bound)
    if broken:
        listed = "\n".join(f"  - {one}" for one in broken[:20])
        raise CheckError(f'the layout of fabric "{problem.lay.fabric.title}" failed its check:\n{listed}')


def _layout(made: FromStock, strip: int, placements: Sequence[Placement]) -> FabricLayout:
    problem, lay = made.problem, made.problem.lay
    there = problem.lengths[strip] if strip < len(problem.lengths) else None
    repeat = lay.on_table.repeat if there is None else repeat_on(lay, there)
    laid = tuple(_laid(problem, lay, there, at) for at in placements)
    length = max(one.y + one.length for one in laid)
    bound = _bound(made, there, length)
    start = lay.on_table.start if there is None else there.start
    on_strip = problem.problem.strips[strip]
    return FabricLayout(
        fabric=replace(lay.on_table, repeat=repeat, start=start if repeat is not None else None),
        bolt=lay.bolt,
        usable=on_strip.width,
        placements=laid,
        length=length,
        bound=bound,
        status=status_of(length, bound.length),
        stop=made.result.stop,
        seconds=made.result.seconds,
        buy=buy_for(lay, length) if there is None else None,
        on_hand=None if there is None else there.name,
        squaring=lay.squaring if there is None else 0,
        incumbents=made.result.incumbents if there is None else (),
        on_table=None if lay.table_bolt == lay.bolt else lay.table_bolt,
        bought_lot=lay.bolt.lot if there is None else None,
        spoiled=on_strip.flaws,
        reserve=0 if there is None else reserve_of(lay, there),
    )


def _laid(problem: OnHand, lay: Lay, there: LengthOnHand | None, at: Placement) -> Laid:
    share = problem.shares[at.part]
    repeat = lay.on_table.repeat if there is None else repeat_on(lay, there)
    across = problem.problem.parts[at.part].size(at.turned)[0]
    return laid_of(repeat, share.piece, replace(at, copy=share.before + at.copy), across)


def _bound(made: FromStock, there: LengthOnHand | None, length: int) -> Bound:
    """What is proven of one layout of several.

    With every stage closed no length is cut into less unless another is cut into more: that is what its
    bound says. With a stage open nothing is said of a length on hand.
    """
    if there is None:
        stage = next(stage for stage in made.stages if stage.name == "to buy")
        return Bound(stage.bound, stage.method)
    if status_of(0, 0, made.stages) is status_of(0, 0):
        return Bound(
            length, "every stage closed: no shorter unless another length on hand is cut into further"
        )
    return Bound(0, "not every stage is closed")


def _require_fabric(lay: Lay) -> None:
    """Refuse lengths on hand of which nothing is left once the pattern is found on them.

    Raises
    ------
    DoesNotFitError
        None of them is longer than a repeat, no start is known, and nothing can be bought.
    """
    if lay.bolt.top_up or any(strip_of(lay, there) is not None for there in lay.table_bolt.on_hand):
        return
    repeat = format_length(max(reserve_of(lay, there) for there in lay.table_bolt.on_hand), lay.job.units)
    raise DoesNotFitError(
        f'fabric "{lay.fabric.title}": no length on hand is longer than one repeat, {repeat}, which is kept '
        "for finding the place in the pattern: measure the height of the pattern at its squared end (start), "
        "or say top_up = true"
    )
