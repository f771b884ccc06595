"""How a layout is cut, as it stands in a plan document: figures, pulls over the table, cutting sequence."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from nesting.order.job import Job
from nesting.packing.ease import Rectangle
from nesting.plan.cuts import count_of_layout, ease_of_layout
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout
from nesting.plan.pulls import Pull, Run
from nesting.plan.sequence import Action, Made, sequence
from nesting.units import Unit, to_decimal

Table = dict[str, Any]


def cutting_document(layout: FabricLayout, job: Job, numbers: Numbering) -> Table:
    """The keys ``cutting``, ``pulls``, ``lanes`` and ``sequence`` of a layout; none without a layout."""
    if layout.length is None:
        return {}
    made, unit = sequence(job, layout, numbers), job.units
    copies = {(laid.piece.id, laid.x, laid.y): laid.copy for laid in layout.placements}
    return {
        "cutting": figures_document(layout, unit),
        "pulls": [_pull(pull, unit) for pull in made.pulls],
        "lanes": [_pull(lane, unit) for lane in made.lanes],
        "sequence": [_action(action, copies, unit) for action in made.actions],
    }


def figures_document(layout: FabricLayout, unit: Unit) -> Table:
    """How easily a layout is cut, in figures."""
    ease, count = ease_of_layout(layout), count_of_layout(layout)
    price = layout.longer_than_free
    return {
        "way": layout.cutting,
        "free_length": None if layout.free_length is None else to_decimal(layout.free_length, unit),
        "longer_than_free": None if price is None else to_decimal(price, unit),
        "cuts": count.cuts,
        "size_changes": count.changes,
        "cut_lines": ease.cut_lines,
        "across": ease.across,
        "longest_cut": to_decimal(ease.longest, unit),
        "offcut": _box(ease.offcut, unit),
        "end_offcut": _box(ease.end_offcut, unit),
    }


def _box(box: Rectangle | None, unit: Unit) -> Table | None:
    if box is None:
        return None
    left, low, right, high = box
    sizes = {"x": left, "y": low, "width": right - left, "length": high - low}
    return {key: to_decimal(size, unit) for key, size in sizes.items()}


def _pull(pull: Pull, unit: Unit) -> Table:
    return {
        "number": pull.number,
        "start": to_decimal(pull.start, unit),
        "end": to_decimal(pull.end, unit),
    }


def _action(action: Action, copies: dict[tuple[str, int, int], int], unit: Unit) -> Table:
    table: Table = {"kind": action.kind, "number": action.number, "text": action.text}
    if action.at is not None:
        table["at"] = to_decimal(action.at, unit)
    if action.frees is not None:
        table["cut"] = action.name
        first = action.frees.first
        table["cuts"] = [_made(one, unit) for one in action.cuts]
        table["frees"] = [
            {"piece": first.piece.id, "copy": copies[first.piece.id, x, y]} for x, y in action.frees.spots
        ]
    return table


def _made(one: Made, unit: Unit) -> Table:
    cut = one.cut
    return {
        "way": cut.way,
        "at": to_decimal(cut.at, unit),
        "start": to_decimal(cut.start, unit),
        "end": to_decimal(cut.end, unit),
        "stops": "corner" if cut.stops else "edge",
        "pulls": _runs(one.along, unit),
        "lanes": _runs(one.across, unit),
    }


def _runs(runs: Sequence[Run], unit: Unit) -> list[Table]:
    return [
        {"number": run.pull, "start": to_decimal(run.start, unit), "end": to_decimal(run.end, unit)}
        for run in runs
    ]
