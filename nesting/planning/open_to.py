"""What an order leaves open of each fabric of a plan: the ways to cut it, with all options of each.

A plan holds the pieces that were chosen. That nothing shorter exists is said of all that might have been
chosen, so for a proof the order is read and cut once more, and nothing is taken from the plan but which
options its pieces are.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from nesting.cutting.cut import NO_PLANS
from nesting.errors import NestingError
from nesting.order.job import Fabric, Job
from nesting.packing import Problem
from nesting.packing.problem import Part
from nesting.pieces.piece import Piece
from nesting.plan.plan import Plan
from nesting.planning.lay import Lay
from nesting.planning.ways import Case, Cuttings, cases_of


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


def open_to(plan: Plan) -> Iterator[OpenTo]:
    """Each fabric whose pieces in the plan are those of some way to cut it that the order leaves open.

    A fabric whose pieces are none of these is passed over: of it nothing can be said. So are all after one
    whose seam plans are not known, and those on lengths on hand.
    """
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
        if laid is None or chosen[fabric.key].on_hand:
            return
        yield OpenTo(fabric.key, tuple(case.lay.problem for case in cases))
        case, options = laid
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
