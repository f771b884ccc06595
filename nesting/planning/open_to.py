"""What an order leaves open of each fabric of a plan: the ways to cut it, with all options of each.

A plan holds the pieces that were chosen. That nothing shorter exists is said of all that might have been
chosen, so for a proof the order is read and cut once more, and nothing is taken from the plan but which
options its pieces are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final

from nesting.cutting.cut import NO_PLANS
from nesting.errors import NestingError
from nesting.order.job import Fabric, Job
from nesting.packing import Aim, Problem
from nesting.packing.problem import Part
from nesting.pieces.piece import Piece
from nesting.plan.plan import Plan
from nesting.planning.from_stock import WORDS
from nesting.planning.lay import Lay
from nesting.planning.lengths import OnHand, on_hand
from nesting.planning.ways import Case, Cuttings, cases_of

#: What packing calls a stage, by its name in a plan.
_PACKED: Final = {told: name for name, told in WORDS.items()}


@dataclass(frozen=True, slots=True)
class OpenTo:
    """Of one fabric: a problem for each way to cut it, with the seam plans of other fabrics settled.

    Attributes
    ----------
    fabric
        Its key.
    problems
        In the order in which `nesting.planning.ways.cases_of` has them.
    """

    fabric: str
    problems: tuple[Problem, ...]


@dataclass(frozen=True, slots=True)
class OnHandAsked:
    """What was asked of one fabric on its lengths on hand, as the order has it.

    Attributes
    ----------
    objective
        Its number in the plan.
    problem
        Lengths on hand and pieces, cut again.
    stages
        As packing names them, with what the plan says of each.
    """

    objective: int
    problem: Problem
    stages: tuple[Aim, ...]


def open_to(plan: Plan) -> Iterator[OpenTo]:
    """Each fabric whose pieces in the plan are those of some way to cut it that the order leaves open.

    A fabric whose pieces are none of these is passed over: of it nothing can be said. So are all after one
    whose seam plans are not known, and those on lengths on hand.
    """
    for fabric, cases, _ in _cut_again(plan):
        if fabric.bolts[0].on_hand:
            return
        yield OpenTo(fabric.key, tuple(case.lay.problem for case in cases))


def on_hand_asked(plan: Plan) -> Iterator[OnHandAsked]:
    """What was asked of each fabric on lengths on hand that can be cut one way only, without a choice.

    Of a plan of which something is cut nothing is said: what was asked then was asked of the rest.
    """
    begun = any(laid.done for layout in plan.layouts for laid in layout.placements)
    for fabric, cases, case in _cut_again(plan) if not begun else ():
        if not fabric.bolts[0].on_hand or len(cases) != 1 or case.choices:
            continue
        for number, objective in enumerate(plan.objectives):
            names = [_PACKED.get(stage.name, "") for stage in objective.stages]
            if objective.fabric == fabric.key and all(names):
                stages = zip(objective.stages, names, strict=True)
                asked = on_hand(case.lay, buy="to buy" in names, optional="value" in names)
                named = tuple(replace(stage, name=name) for stage, name in stages)
                if all(stage.value == _points(plan, asked, stage) for stage in named if stage.most):
                    yield OnHandAsked(number, asked.problem, named)


def _points(plan: Plan, asked: OnHand, stage: Aim) -> int:
    """What the copies that a plan lays are worth in a stage."""
    laid = {(one.piece.id, one.copy) for layout in plan.layouts for one in layout.placements}
    points = 0
    for part, share in zip(asked.problem.parts, asked.shares, strict=True):
        if part.value and part.spare == (stage.name == "extras"):
            copies = range(share.before + 1, share.before + part.copies + 1)
            points += part.value * sum((share.piece.id, copy) in laid for copy in copies)
    return points


def _cut_again(plan: Plan) -> Iterator[tuple[Fabric, list[Case], Case]]:
    """Each fabric on the bolt of the plan, the ways to cut it, and the one whose pieces the plan has."""
    job = plan.job
    chosen = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    chosen |= {layout.fabric.key: layout.bolt for layout in plan.layouts}
    cuttings, plans = Cuttings(job, chosen), NO_PLANS
    for fabric in faces_first(job):
        mine = [piece for piece in plan.pieces if piece.fabric == fabric.key]
        if not mine:
            continue
        try:
            cases = cases_of(job, fabric, chosen, plans, cuttings)
        except NestingError:
            return
        laid = next((found for found in (_laid(case, mine) for case in cases) if found is not None), None)
        if laid is None:
            return
        case, options = laid
        yield replace(fabric, bolts=(chosen[fabric.key],)), cases, case
        plans = case.plans(options)


def faces_first(job: Job) -> list[Fabric]:
    """The fabrics, those of panels first: their seam plans decide where facings may be joined."""
    faces = {window.fabric for window in job.windows}
    return sorted(job.fabrics, key=lambda fabric: fabric.key not in faces)


def _laid(case: Case, pieces: Iterable[Piece]) -> tuple[Case, tuple[int, ...]] | None:
    """The case and the option of each of its choices that these pieces are; None where they are none."""
    wanted = _parts(case.lay, (piece for piece in pieces if not piece.optional))
    options = list[int]()
    for choice in case.choices:
        every = [_parts(case.lay, option.pieces) for option in choice.options]
        met = [at for at, parts in enumerate(every) if parts <= wanted]
        if not met:
            return None
        # One may be a part of another.
        options.append(max(met, key=lambda at: every[at].total()))
    lay = case.lay_by(options) if case.choices else case.lay
    return (case, tuple(options)) if _parts(lay, lay.pieces) == wanted else None


def _parts(lay: Lay, pieces: Iterable[Piece]) -> Counter[Part]:
    return Counter(map(lay.part, pieces))
