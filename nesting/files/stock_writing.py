"""What a plan document says of lengths on hand, of what is left out, and of the objective."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from typing import Any

from nesting.files.buy_writing import buy_document
from nesting.order.job import Job
from nesting.packing.problem import Flaw
from nesting.packing.result import Aim
from nesting.pieces.piece import Piece
from nesting.plan.plan import FabricLayout, LeftOut, Objective, Plan, Shortfall
from nesting.planning.lengths import shares_of
from nesting.units import Unit, to_decimal

Table = dict[str, Any]


def on_hand_document(layout: FabricLayout, unit: Unit) -> Table:
    """The length on hand that a layout lies on."""
    there = layout.there
    if there is None:
        return {"on_hand": layout.on_hand} | ({"lot": layout.lot} if layout.lot else {})
    return {
        "on_hand": layout.on_hand,
        "on_hand_length": to_decimal(there.length, unit),
        "start_reserve": to_decimal(layout.reserve, unit),
        "lot": there.lot,
        "flaws": [_flaw(flaw, unit) for flaw in layout.flaws],
    }


def _flaw(flaw: Flaw, unit: Unit) -> Table:
    sizes = (("x", flaw.x), ("y", flaw.y), ("width", flaw.width), ("length", flaw.length))
    return {key: to_decimal(size, unit) for key, size in sizes}


def left_out_documents(left_out: Iterable[LeftOut], unit: Unit) -> Iterator[Table]:
    """What is left out and by how much; of ordered pieces also what to buy so that they can be cut."""
    for out in left_out:
        said: Table = {
            "piece": out.piece,
            "copies": out.copies,
            "shortfall": to_decimal(out.shortfall, unit),
        }
        if out.window:
            said |= {
                "window": out.window,
                "selling_steps": out.steps,
                "buy": None if out.total is None else to_decimal(out.total, unit),
                "least": out.least,
            }
        yield said


def shortfall_document(short: Shortfall, unit: Unit) -> Table:
    """What one fabric is short of, all that is left out taken together."""
    return {
        "fabric": short.fabric,
        "buy": None if short.buy is None else buy_document(short.buy, unit),
        "least": to_decimal(short.least, unit),
        "not_cut_into": [{"on_hand": name, "why": why} for name, why in short.idle],
        "if_one_lot": None if short.one_lot is None else buy_document(short.one_lot, unit),
    }


def objective_document(objective: Objective, unit: Unit) -> Table:
    """The stages of one fabric: each counts only where all before are equal."""
    return {
        "fabric": objective.fabric,
        "status": str(objective.status),
        "stop": str(objective.stop),
        "seconds": objective.seconds,
        "untouched": list(objective.untouched),
        "stages": [_stage(stage, unit) for stage in objective.stages],
    }


def _stage(stage: Aim, unit: Unit) -> Table:
    points = stage.most
    return {
        "name": stage.name,
        "value": stage.value if points else to_decimal(stage.value, unit),
        "bound": stage.bound if points else to_decimal(stage.bound, unit),
        "goal": "most" if points else "least",
        "measure": "points" if points else "length",
        "bound_method": stage.method,
        "certificate": None if stage.certificate is None else dict(stage.certificate),
    }


def lots_document(piece: Piece, plan: Plan) -> Table:
    """Which copies of a piece stand or fall together and share a dye lot, where there is fabric on hand."""
    told = {objective.fabric for objective in plan.objectives}
    if piece.fabric not in told or not any(bolt.on_hand for bolt in plan.job.fabric(piece.fabric).bolts):
        return {}
    return {"sets": list(_sets(piece, plan.job))}


def _sets(piece: Piece, job: Job) -> Iterator[Table]:
    for share in shares_of(job, (piece,)):
        yield {"set": share.unit, "lot": share.lot, "copies": share.copies}
