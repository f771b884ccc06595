"""The ways to cut one fabric, upright or sideways by room, and the best of them."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from nesting.cutting.cut import NO_PLANS, Cutting, Plans, WindowsOnTable, can_railroad, cut, must_railroad
from nesting.cutting.seam_choices import SeamChoice, as_choices, seam_choices
from nesting.errors import DoesNotFitError, Fault, JobError, NothingFoundError
from nesting.order.job import Bolt, Fabric, Job, Window
from nesting.packing import Bound, Incumbent, Problem, Result
from nesting.packing.certificates.options import over_ways
from nesting.packing.result import SOLVER
from nesting.pieces.piece import LAYERS, Piece
from nesting.pieces.seams import room_in_phase
from nesting.planning.effort import Spending
from nesting.planning.laying import Lay, lay_of, require_fit
from nesting.units import format_length, grid, round_up

#: Of this many rooms every choice of cutting upright or sideways is tried; of more, all or none.
MOST_ROOMS = 3
#: Of several ways to cut, the part of the time that the first is given.
FIRST = 0.75

Sideways = frozenset[tuple[str, str]]
"""Fabric key and room of the panels cut turned sideways."""


@dataclass(frozen=True, slots=True)
class Case:
    """One fabric cut one way, upright or sideways by room.

    Attributes
    ----------
    lay
        All pieces of every seam plan that is open.
    sideways
        Rooms whose panels are cut sideways.
    cutting
        By the plain seam plans.
    order
        What it takes to cut it once more, by other plans.
    choices
        The seam plans of its windows; those with several options are the choices of the lay.
    """

    lay: Lay
    sideways: Sideways
    cutting: Cutting
    order: CuttingOrder
    choices: tuple[SeamChoice, ...] = ()

    def options(self, chosen: Sequence[int]) -> tuple[int, ...]:
        """For each window the option that packing chose, the first where it had no choice."""
        given = iter(chosen)
        return tuple(next(given) if len(choice.options) > 1 else 0 for choice in self.choices)

    def plans(self, chosen: Sequence[int]) -> Plans:
        """Which plans these options stand for."""
        plans = dict(self.order.plans)
        for choice, number in zip(self.choices, chosen, strict=True):
            plans |= choice.plans(number)
        return plans

    def lay_by(self, chosen: Sequence[int]) -> Lay:
        """The lay of these options, put together from their pieces; nothing is cut anew."""
        every = {piece for choice in self.choices for option in choice.every for piece in option.pieces}
        taken = [
            piece
            for choice, number in zip(self.choices, chosen, strict=True)
            for piece in choice.every[number].pieces
        ]
        return self.order.lay([*(piece for piece in self.cutting.pieces if piece not in every), *taken])

    def by(self, chosen: Sequence[int]) -> Case:
        """The case with its seam plans settled."""
        if not self.choices:
            return self
        plans = self.plans(chosen)
        cutting, lay = self.order.cut(plans)
        return replace(self, lay=lay, cutting=cutting, order=replace(self.order, plans=plans), choices=())


class Cuttings:
    """What a job is cut into on these bolts: each way is worked out once, for a large job takes long."""

    def __init__(self, job: Job, bolts: Mapping[str, Bolt]) -> None:
        self._job, self._bolts = job, bolts
        self._known = dict[tuple[Sideways, Sideways, frozenset[object]], Cutting]()

    def cut(self, railroaded: Sideways, plans: Plans, free: Sideways = frozenset()) -> Cutting:
        """All pieces of the job; parameters as for `nesting.cutting.cut.cut`."""
        way = railroaded, free, frozenset[object](plans.items())
        if way not in self._known:
            self._known[way] = cut(self._job, self._bolts, railroaded, plans, free)
        return self._known[way]


@dataclass(frozen=True, slots=True)
class CuttingOrder:
    """How a fabric of a job is to be cut: from which bolts, which rooms sideways, by which plans."""

    job: Job
    fabric: Fabric
    bolts: Mapping[str, Bolt]
    railroaded: Sideways
    sideways: bool
    plans: Plans
    cuttings: Cuttings = field(compare=False)

    def cut(self, plans: Plans) -> tuple[Cutting, Lay]:
        """All pieces of the job, and the lay of this fabric."""
        cutting = self.cuttings.cut(self.railroaded, plans)
        return cutting, self.lay(cutting.pieces)

    def lay(self, pieces: Iterable[Piece]) -> Lay:
        """The lay of this fabric with these pieces."""
        bolt = self.bolts[self.fabric.key]
        return lay_of(self.job, self.fabric, bolt, pieces, railroaded=self.sideways)


@dataclass(frozen=True, slots=True)
class Solved:
    """The best of a fabric's cases with its seam plans settled, and what stood beside it.

    Attributes
    ----------
    case
        The best.
    plain
        The plainest: upright where it can be, by the plain seam plans.
    result
        Its layout.
    bound
        Over all cases and seam plans.
    sideways
        Rooms whose panels lie sideways.
    lengths
        What each way of cutting upright or sideways took.
    open_case, chosen
        The best case before its seam plans were settled, and the option of each choice.
    """

    case: Case
    plain: Case
    result: Result
    bound: Bound
    sideways: Sideways
    lengths: tuple[tuple[Sideways, int | None], ...] = ()
    open_case: Case | None = None
    chosen: tuple[int, ...] = ()

    @property
    def plans(self) -> Plans:
        """The seam plans its windows are cut by."""
        return self.case.order.plans


def _ways(job: Job, fabric: Fabric, bolt: Bolt) -> list[Sideways]:
    """Which rooms' panels of a fabric may be cut sideways, in every combination worth trying."""
    rooms = dict.fromkeys(window.room for window in job.windows)
    forced = frozenset((fabric.key, room) for room in rooms if must_railroad(job, fabric.key, room))
    may = [
        (fabric.key, room)
        for room in rooms
        if (fabric.key, room) not in forced and can_railroad(job, fabric.key, room, bolt)[0]
    ]
    if len(may) > MOST_ROOMS:
        return [forced, forced | frozenset(may)]
    return [
        forced | frozenset(some)
        for count in range(len(may) + 1)
        for some in itertools.combinations(may, count)
    ]


def cases_of(
    job: Job,
    fabric: Fabric,
    bolts: Mapping[str, Bolt],
    plans: Plans = NO_PLANS,
    cuttings: Cuttings | None = None,
) -> list[Case]:
    """The different ways to cut one fabric, those that fit its bolt; none where nothing is cut from it.

    ``plans`` are the seam plans that other fabrics have settled; ``cuttings`` of this job on these bolts are
    asked first, and added to.

    Raises
    ------
    DoesNotFitError
        None of them fits.
    JobError
        Only optional extras are cut from it, and it is not on hand.
    """
    cases, refused = list[Case](), list[DoesNotFitError]()
    seen, cuttings = set[Problem](), cuttings or Cuttings(job, bolts)
    rooms = dict.fromkeys(window.room for window in job.windows)
    others = frozenset(
        (other.key, room)
        for other in job.fabrics
        for room in rooms
        if other is not fabric and must_railroad(job, other.key, room)
    )
    for sideways in _ways(job, fabric, bolts[fabric.key]):
        try:
            order = CuttingOrder(job, fabric, bolts, sideways | others, bool(sideways), plans, cuttings)
            case = _case(order, sideways)
            if not case.lay.pieces and not case.lay.extras:
                return []
            _require_order(case.lay)
            require_fit(case.lay)
        except DoesNotFitError as error:
            refused.append(error)
            continue
        # Panels no wider than the bolt are the same upright and in one run, and an earlier way, which turns
        # fewer rooms, leaves them free to lie either way.
        if case.lay.freed not in seen:
            seen.add(case.lay.freed)
            cases.append(case)
    if not cases:
        raise refused[0]
    return cases


def _require_order(lay: Lay) -> None:
    """Refuse a fabric of which nothing would be bought, so that nothing of it can be left over.

    Raises
    ------
    JobError
        It is asked for by optional extras alone.
    """
    if lay.pieces or lay.bolt.on_hand:
        return
    wanted = (
        f'optional = false, or something else that is cut from "{lay.fabric.key}": nothing is bought of it'
    )
    names = dict.fromkeys(extra.name for extra in lay.job.extras if extra.fabric == lay.fabric.key)
    raise JobError([Fault(f'extra "{name}": optional', "true", wanted) for name in names])


def _case(order: CuttingOrder, sideways: Sideways) -> Case:
    """The fabric cut this way, with every seam plan that it leaves open."""
    cutting, lay = order.cut(order.plans)
    bench = WindowsOnTable.of(order.job, order.bolts, order.railroaded)
    extras = [piece for piece in cutting.pieces if piece.role == "extra" and not piece.optional]
    choices = seam_choices(bench, order.fabric, order.plans, extras) if lay.pieces else ()
    if choices:
        # What is barred is priced later, and by itself.
        further = [p for choice in choices for option in choice.options for p in option.pieces]
        everything = order.lay(dict.fromkeys([*cutting.pieces, *further]))
        lay = replace(everything, choices=as_choices(choices, everything.pieces))
    return Case(lay, sideways, cutting, order, choices)


def best_of(cases: Sequence[Case], spending: Spending) -> Solved:
    """Each case packed; the shortest is kept, and the least bound holds for all."""
    # The first way is the plain one, which must not be the worse for others that are looked at beside it.
    weights = [1.0] if len(cases) == 1 else [FIRST * len(cases), *[_other(len(cases))] * (len(cases) - 1)]
    results = [
        (case, spending.pack(case.lay, weight, first=case is cases[0]))
        for case, weight in zip(cases, weights, strict=True)
    ]
    found = [(case, result) for case, result in results if result.length is not None]
    if not found:
        lay = cases[0].lay
        if all(result.infeasible for _, result in results):
            raise DoesNotFitError(out_of_phase(lay))
        raise NothingFoundError(f'fabric "{lay.fabric.title}": no layout was found in the time: give it more')
    open_case, result = min(found, key=lambda pair: pair[1].length or 0)
    free = [other.free_length for _, other in found if other.free_length is not None]
    result = replace(result, free_length=min(free, default=None))
    bound = min((r.bound for _, r in results if not r.infeasible), key=lambda bound: bound.length)
    method = bound.method
    if len(results) > 1:
        others = f"; of others by {SOLVER}" if any(SOLVER in r.bound.method for _, r in results) else ""
        others = "" if SOLVER in method else others
        method = f"{method}, least of {len(results)} ways to cut{others}"
    if len(results) > 1 or cases[0].lay.choices:
        # A certificate speaks of the pieces of one way of cutting, with all of its options.
        bound = Bound(bound.length, method, open_certificate=_of_all([result for _, result in results]))
    lengths = tuple((case.sideways, result.length) for case, result in results)
    chosen = open_case.options(result.chosen)
    case = open_case.by(chosen)
    settled = placed_in(case.lay, open_case.lay, result)
    sideways = case.sideways | _turned(case.lay, settled)
    return Solved(case, cases[0], settled, bound, sideways, lengths, open_case, chosen)


def _of_all(results: Sequence[Result]) -> Mapping[str, Any] | None:
    """The certificates of all ways to cut as one; None where one is missing."""
    found = [None if result.infeasible else result.bound.certificate for result in results]
    if any(said is None and not result.infeasible for said, result in zip(found, results, strict=True)):
        return None
    return over_ways(found)


def _other(ways: int) -> float:
    """The weight of each way but the first, so that all together weigh as many as they are."""
    return (1 - FIRST) * ways / (ways - 1)


def settled_by(solved: Solved, chosen: tuple[int, ...], lay: Lay, result: Result) -> Solved:
    """The same with other seam plans, and the layout that was found for their lay."""
    assert solved.open_case is not None
    case = solved.open_case.by(chosen)
    before, found = solved.result, placed_in(case.lay, lay, result)
    seconds = round(before.seconds + found.seconds, 3)
    told = Incumbent(found.length, solved.bound.length, "another seam plan", seconds)
    found = replace(found, seconds=seconds, incumbents=(*before.incumbents, told))
    sideways = case.sideways | _turned(case.lay, found)
    return replace(solved, case=case, result=found, sideways=sideways, chosen=chosen)


def placed_in(lay: Lay, other: Lay, result: Result) -> Result:
    """A layout of another lay told by the pieces of this one, all of which it holds."""
    if lay is other:
        return result
    number_of = {piece: number for number, piece in enumerate(lay.pieces)}
    placements = (
        replace(placement, part=number_of[other.pieces[placement.part]]) for placement in result.placements
    )
    ordered = tuple(sorted(placements, key=lambda placement: (placement.part, placement.copy)))
    return replace(result, placements=ordered, chosen=())


def out_of_phase(lay: Lay) -> str:
    """Why no layout exists, and what would help."""
    width = format_length(lay.bolt.width, lay.job.units)
    lines = [_stuck(lay, window, needed) for window, needed in _without_phase(lay)]
    if any(piece.sideways and piece.match for piece in lay.pieces):
        lines.append(
            'its panels, cut sideways, find no place at one height: they can be cut upright (railroad = "no")'
        )
    listed = "\n".join(f"  - {line}" for line in lines or ["measure match and repeat width on the fabric"])
    return f'fabric "{lay.fabric.title}": no layout on a bolt of {width} meets in the pattern\n{listed}'


def _without_phase(lay: Lay) -> Iterator[tuple[Window, int]]:
    """Windows whose widths cannot all lie in one phase, each with the room across that they would take."""
    repeat, groups = lay.on_table.repeat, dict[str, list[Piece]]()
    if repeat is None or repeat.width is None:
        return
    for piece in lay.pieces:
        if piece.match is not None and piece.match.seam is not None and piece.window is not None:
            groups.setdefault(piece.match.seam, []).append(piece)
    found = dict[str, int]()
    for group in groups.values():
        placed = [(piece.match.x, piece.width) for piece in group if piece.match is not None]
        needed = room_in_phase(placed, repeat.width)
        if needed > lay.usable and group[0].window is not None:
            found.setdefault(group[0].window, needed)
    yield from ((window, found[window.name]) for window in lay.job.windows if window.name in found)


def _stuck(lay: Lay, window: Window, needed: int) -> str:
    unit = lay.job.units
    room = f"a bolt with {format_length(round_up(needed, grid(unit)), unit)} to cut from"
    if window.pair == "continuous":
        return (
            f'window "{window.name}": pair = "continuous": hems and overlap shift the pattern from panel to '
            f'panel by more than this bolt has room for: take pair = "alike", or {room}'
        )
    return (
        f'window "{window.name}": its widths would take {room}: measure match and repeat width on the fabric'
    )


def _turned(lay: Lay, result: Result) -> Sideways:
    """Rooms whose panels the layout turned of its own accord: no wider than the bolt, they lie either way."""
    pieces = (lay.pieces[placement.part] for placement in result.placements if placement.turned)
    return turned_rooms(lay.fabric.key, pieces)


def turned_rooms(fabric: str, pieces: Iterable[Piece]) -> Sideways:
    """The rooms of pieces that lie turned, as far as they are panels."""
    return frozenset((fabric, piece.room) for piece in pieces if piece.role in LAYERS and piece.room)
