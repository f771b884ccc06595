"""A plan as the document ``nesting-plan/2``: lengths are decimals in the job's units.

`nesting.files.plan_reading` reads it back; what the one writes the other knows.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import Any, Final

from pydantic import TypeAdapter

from nesting.files.buy_writing import buy_document as buy_document
from nesting.files.cutting_writing import cutting_document
from nesting.files.question_writing import question_document
from nesting.files.stock_writing import (
    left_out_documents,
    lots_document,
    objective_document,
    on_hand_document,
    shortfall_document,
)
from nesting.order.job import Job
from nesting.pieces.piece import HeadingPlan, PanelPlan, Piece, Steps
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.offcuts import offcuts_of
from nesting.plan.pattern import Drift, drift_of, first_lines, start_line
from nesting.plan.plan import FabricLayout, Laid, Plan, SeamReport, WhatIf
from nesting.sewing.written import sewing_table
from nesting.units import Unit, to_decimal

SCHEMA: Final = "nesting-plan/2"
_STEPS: Final = TypeAdapter(Steps)
_JOB: Final = TypeAdapter(Job)

Table = dict[str, Any]


def plan_document(plan: Plan) -> Table:
    """The plan as a table that JSON can hold, in the form ``nesting-plan/2``.

    Lengths are decimals in the job's units, each exact to the nearest tick. Three keys hold exact
    numbers instead, so that the plan can be drawn again without solving: ``order`` (the job), ``steps`` (the
    sums) and ``sewing`` (the operations by which each window is sewn), all in ticks of 1/80 mm with fractions
    as text.

    Parameters
    ----------
    plan
        Any plan; nothing is checked here.
    """
    unit, numbers = plan.job.units, numbering(plan.layouts)
    return {
        "schema": SCHEMA,
        "title": plan.job.title,
        "units": unit,
        "currency": plan.job.currency,
        "cost": None if plan.cost is None else float(plan.cost),
        "pieces": [_piece(piece, unit) | lots_document(piece, plan) for piece in plan.pieces],
        "layouts": [_layout(layout, plan.job, numbers) for layout in plan.layouts],
        "left_out": list(left_out_documents(plan.left_out, unit)),
        "shortfalls": [shortfall_document(short, unit) for short in plan.shortfalls],
        "objectives": [objective_document(objective, unit) for objective in plan.objectives],
        "sundries": [
            {
                "name": sundry.name,
                "count": sundry.count,
                "length": _maybe(sundry.length, unit),
                "window": sundry.window,
                "note": sundry.note,
            }
            for sundry in plan.sundries
        ],
        "headings": [_heading(heading, unit) for heading in plan.headings],
        "panels": [_panel(panel, unit) for panel in plan.panels],
        "seam_plans": [_seam_plans(report, unit) for report in plan.seams],
        "sewing": [sewing_table(each) for each in plan.sewing],
        "advice": [
            {
                "kind": advice.kind,
                "text": advice.text,
                "window": advice.window,
                "fabric": advice.fabric,
                "money": None if advice.money is None else float(advice.money),
            }
            for advice in plan.advice
        ],
        "questions": [question_document(one, unit) for one in plan.questions],
        "what_if": [_what_if(one, unit) for one in plan.what_if],
        "order": _JOB.dump_python(plan.job, mode="json", exclude_defaults=True, exclude={"_rooms"}),
    }


def _what_if(one: WhatIf, unit: Unit) -> Table:
    return {
        "kind": one.kind,
        "window": one.window,
        "fabric": one.fabric,
        "was": one.was,
        "now": one.now,
        "saves": one.saves,
        "length": to_decimal(one.length, unit),
        "money": None if one.money is None else float(one.money),
        "least": one.least,
        "text": one.text,
    }


def piece_documents(pieces: Iterable[Piece], unit: Unit) -> list[Table]:
    """The pieces as they stand in a plan document."""
    return [_piece(piece, unit) for piece in pieces]


def _maybe(ticks: int | None, unit: Unit) -> float | None:
    return None if ticks is None else to_decimal(ticks, unit)


def _piece(piece: Piece, unit: Unit) -> Table:
    match = piece.match
    return {
        "id": piece.id,
        "name": piece.name,
        "role": piece.role,
        "window": piece.window or "",
        "room": piece.room,
        "side": piece.side,
        "fabric": piece.fabric,
        "width": to_decimal(piece.width, unit),
        "length": to_decimal(piece.length, unit),
        "copies": piece.copies,
        "turnable": piece.turnable,
        "match": None
        if match is None
        else {
            "level": match.level,
            "seam": match.seam,
            "x": to_decimal(match.x, unit),
            "y": to_decimal(match.y, unit),
        },
        "nap": piece.nap,
        "arrow_group": piece.arrow_group,
        "optional": piece.optional,
        "hidden": piece.hidden,
        "finished_width": _maybe(piece.finished_width, unit),
        "finished_length": _maybe(piece.finished_length, unit),
        "hem_line": _maybe(piece.hem_line, unit),
        "joined_to": list(piece.joined_to),
        "joined_at": list(piece.joined_at),
        "notes": list(piece.notes),
        "sideways": piece.sideways,
        "top": piece.top,
        "hem_edge": piece.hem_edge,
        **({"first": True} if piece.first else {}),
        "arithmetic": list(piece.arithmetic(unit)),
        "steps": {"length": _steps(piece.length_steps), "width": _steps(piece.width_steps)},
    }


def _steps(steps: Steps) -> Table:
    dumped: Table = _STEPS.dump_python(steps, mode="json")
    return dumped


def _layout(layout: FabricLayout, job: Job, numbers: Numbering) -> Table:
    unit, fabric, repeat = job.units, layout.fabric, layout.fabric.repeat
    known = next((known.bolts for known in job.fabrics if known.key == fabric.key), ())
    return {
        "fabric": fabric.key,
        "letter": numbers.letter(layout),
        "bolt": known.index(layout.bolt) if layout.bolt in known else None,
        "bolt_width": to_decimal(layout.bolt.width, unit),
        "usable_width": to_decimal(layout.usable, unit),
        "fit_width": to_decimal(layout.fit_to_cut, unit),
        "match_width": _maybe(layout.bolt.match, unit),
        "printed": layout.bolt.printed,
        "repeat": None
        if repeat is None
        else {
            "length": to_decimal(repeat.length, unit),
            "width": _maybe(repeat.width, unit),
            "drop": round(float(repeat.drop), 9),
            "sideways": fabric.sideways_print,
        },
        "start": _maybe(fabric.start, unit) if repeat is not None else None,
        **on_hand_document(layout, unit),
        "length": _maybe(layout.length, unit),
        "lower_bound": to_decimal(layout.bound.length, unit),
        "squaring": to_decimal(layout.squaring, unit),
        "bound_method": layout.bound.method,
        "status": str(layout.status),
        "stop": str(layout.stop),
        "seconds": layout.seconds,
        "bound_certificate": None if layout.bound.certificate is None else dict(layout.bound.certificate),
        **_open_certificate(layout),
        "railroaded": layout.railroaded,
        "waste": round(float(layout.waste), 6),
        "gap": None if layout.gap is None else round(float(layout.gap), 6),
        "buy": None if layout.buy is None else buy_document(layout.buy, unit),
        "rule_of_thumb": None
        if layout.rule_of_thumb is None
        else {
            "length": to_decimal(layout.rule_of_thumb.length, unit),
            "lines": list(layout.rule_of_thumb.lines),
        },
        "incumbents": [
            {
                "length": _maybe(incumbent.length, unit),
                "bound": to_decimal(incumbent.bound, unit),
                "method": incumbent.method,
                "seconds": incumbent.seconds,
            }
            for incumbent in layout.incumbents
        ],
        "first_lines": {level: to_decimal(at, unit) for level, at in first_lines(layout).items()},
        "drift": _drift(drift_of(layout), unit),
        **cutting_document(layout, job, numbers),
        "offcuts": [
            {
                "x": to_decimal(offcut.x, unit),
                "y": to_decimal(offcut.start, unit),
                "width": to_decimal(offcut.width, unit),
                "length": to_decimal(offcut.length, unit),
            }
            for offcut in offcuts_of(layout, unit)
        ],
        "placements": [_laid(laid, layout, numbers, unit) for laid in layout.placements],
    }


def _open_certificate(layout: FabricLayout) -> Table:
    """What proves the bound over everything that the order leaves open; it may be large."""
    said = layout.bound.open_certificate
    return {} if said is None else {"open_certificate": dict(said)}


def _drift(drift: Drift | None, unit: Unit) -> Table | None:
    if drift is None:
        return None
    return {
        "each": to_decimal(drift.each, unit),
        "repeats": drift.repeats,
        "worst": to_decimal(drift.worst, unit),
        "between_widths": drift.between,
        "apart": to_decimal(drift.apart, unit),
    }


def _laid(laid: Laid, layout: FabricLayout, numbers: Numbering, unit: Unit) -> Table:
    return {
        "number": numbers.of(laid),
        "piece": laid.piece.id,
        "copy": laid.copy,
        "x": to_decimal(laid.x, unit),
        "y": to_decimal(laid.y, unit),
        "width": to_decimal(laid.width, unit),
        "length": to_decimal(laid.length, unit),
        "turn": laid.turn,
        "arrow": laid.arrow,
        "letter": laid.letter,
        "start_line": _maybe(start_line(layout, laid), unit),
        **({"done": True} if laid.done else {}),
    }


def _heading(heading: HeadingPlan, unit: Unit) -> Table:
    return {
        "window": heading.window,
        "side": heading.side,
        "width": to_decimal(heading.width, unit),
        "spots": [
            {
                "kind": spot.kind,
                "number": spot.number,
                "start": to_decimal(spot.start, unit),
                "end": to_decimal(spot.end, unit),
            }
            for spot in heading.spots
        ],
        "arithmetic": [steps.line(unit) for steps in heading.steps],
        "remarks": list(heading.remarks),
        "steps": [_steps(steps) for steps in heading.steps],
    }


def _seam_plans(report: SeamReport, unit: Unit) -> Table:
    return {
        "window": report.window,
        "layer": report.layer,
        "fabric": report.fabric,
        "options": [
            {
                "plan": offer.told,
                "cuts": [to_decimal(cut, unit) for cut in offer.cuts],
                "pieces": offer.pieces,
                "length": _maybe(offer.length, unit),
                "lower_bound": _maybe(offer.bound, unit),
                "buy": None if offer.buy is None else buy_document(offer.buy, unit),
                "chosen": offer.chosen,
                "allowed_by": offer.allowed_by,
            }
            for offer in report.offers
        ],
    }


def _panel(panel: PanelPlan, unit: Unit) -> Table:
    return {
        "window": panel.window,
        "key": panel.key,
        "side": panel.side,
        "count": panel.count,
        "flat": to_decimal(panel.flat, unit),
        "finished": to_decimal(panel.finished, unit),
        "length": to_decimal(panel.length, unit),
        "cuts": [to_decimal(cut, unit) for cut in panel.cuts],
        "seams": [to_decimal(seam, unit) for seam in panel.seams],
        "cut_width": _maybe(panel.cut_width, unit),
        "seam_allowance": _maybe(panel.seam_allowance, unit),
        "left_hem": _maybe(panel.left_hem, unit),
        "right_hem": _maybe(panel.right_hem, unit),
        "overlap": _maybe(panel.overlap, unit),
        "arithmetic": [steps.line(unit) for steps in panel.steps],
        "steps": [_steps(steps) for steps in panel.steps],
    }
