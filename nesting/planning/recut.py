"""How a finished plan cut its windows, found again from its pieces, so that the same is cut once more."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from nesting.cutting.cut import Plans, WindowsOnTable, cut
from nesting.cutting.seam_choices import SeamOption, seam_choices
from nesting.cutting.seam_plans import SeamPlan
from nesting.errors import Fault, JobError
from nesting.headings import Piecing
from nesting.order.job import Bolt
from nesting.pieces.piece import LAYERS, Piece
from nesting.plan.plan import Plan
from nesting.planning.ways import Sideways

_SAME_ORDER: Final = "a plan with the order it was made for, as `nesting plan` wrote it"


@dataclass(frozen=True, slots=True)
class WayCut:
    """How a plan was cut.

    Attributes
    ----------
    bolts
        The bolt of each fabric, as it was bought.
    railroaded
        Fabric and room of panels that lie turned.
    plans
        The seam plan of each window and layer.
    """

    bolts: Mapping[str, Bolt]
    railroaded: Sideways
    plans: Plans


def way_cut(plan: Plan) -> WayCut:
    """The bolts, turns and seam plans of a plan.

    With them `nesting.cutting.cut.cut` makes the same pieces again; that is tried before it is said.

    Raises
    ------
    JobError
        The order of the plan does not give its pieces.
    """
    job, known = plan.job, {(piece.id, piece.width) for piece in plan.pieces}
    bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics if fabric.bolts}
    bolts |= {layout.fabric.key: layout.bolt for layout in plan.layouts}
    turned = [laid.piece for layout in plan.layouts for laid in layout.placements if laid.turn]
    turned += [piece for piece in plan.pieces if piece.sideways]
    railroaded = frozenset((p.fabric, p.room) for p in turned if p.role in LAYERS and p.room)
    if len(bolts) < len(job.fabrics):
        raise JobError([Fault("order", "", _SAME_ORDER)])
    bench, plans = WindowsOnTable.of(job, bolts, railroaded), dict[tuple[str, str], SeamPlan | Piecing]()
    faces = {window.fabric for window in job.windows}
    for fabric in sorted(job.fabrics, key=lambda fabric: fabric.key not in faces):
        extras = [piece for piece in plan.pieces if piece.role == "extra" and not piece.optional]
        for choice in seam_choices(bench, fabric, dict(plans), extras):
            fitting = [n for n, option in enumerate(choice.every) if _sizes(option) <= known]
            plans |= choice.plans(max(fitting, key=lambda n: len(choice.every[n].pieces), default=0))
    way = WayCut(bolts, railroaded, plans)
    again = cut(job, bolts, railroaded, way.plans)
    if _counts(again.pieces) != _counts(plan.pieces):
        raise JobError([Fault("order", "", _SAME_ORDER)])
    return way


def _sizes(option: SeamOption) -> set[tuple[str, int]]:
    return {(piece.id, piece.width) for piece in option.pieces}


def _counts(pieces: tuple[Piece, ...]) -> Counter[tuple[str, int]]:
    """The pieces but for their lengths, which a panel that hangs may have changed."""
    counts = Counter[tuple[str, int]]()
    for piece in pieces:
        counts[piece.id, piece.width] += piece.copies
    return counts
