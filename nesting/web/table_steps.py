"""A plan step by step, as it is cut at the table, in the words of the packet and of the cutting sequence.

Made where the plan is made; the page only shows it.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from nesting.packet.facts import length_words
from nesting.packet.table_sheet import CHALK, HANG, LABEL, LAY, START_LINE, STEPPED_LINE, what
from nesting.pieces.piece import LAYERS
from nesting.plan.cut_rows import CutLength, CutRow, cuts_of
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.selvages import left_mark
from nesting.plan.sequence import Action, CutLine, sequence
from nesting.units import Unit, format_length
from nesting.web.table_drawing import TablePicture

Step = dict[str, Any]
#: Where TOP lies, as the fabric lies on the table.
_TOPS: Final = {
    "up": "away from the squared end",
    "down": "toward the squared end",
    "left": "toward the left selvage",
    "right": "toward the right selvage",
}
#: What is said behind the last cut.
_END: Final = (
    "Count the labels against the list of cuts. Keep what is left, with a note of fabric, dye lot and "
    "direction, until the drapes hang."
)


def table_view(plan: Plan) -> dict[str, Any]:
    """Everything the page at the table shows of a plan.

    ``steps`` in their order; ``lengths`` of fabric with their bars; ``cuts`` by name, in their order; a
    ``digest`` by which a browser knows the plan again.
    """
    cuts = cuts_of(plan)
    lengths, steps, listed = list[Any](), list[Step](), list[Any]()
    hung = False
    for number, length in enumerate(cuts.lengths):
        layout, unit = length.layout, plan.job.units
        picture = TablePicture(layout, length.rows, unit)
        lengths.append(_length(plan, length, picture))
        listed += ({**_cut(row, unit), "length": number} for row in length.rows)
        if layout.all_done:
            continue
        for step in _steps(plan, length, picture):
            if step.pop("hang", False) and not hung:
                step["notes"].append(f"{HANG[0].upper()}{HANG[1:]}")
                hung = True
            steps.append({**step, "length": number})
    last = steps[-1]["length"] if steps else 0
    steps.append({**_step("All is cut", _END, ""), "length": last})
    return {
        "title": plan.job.title,
        "unit": plan.job.units,
        "lengths": lengths,
        "steps": steps,
        "cuts": listed,
        "digest": _digest(plan),
    }


def _length(plan: Plan, length: CutLength, picture: TablePicture) -> dict[str, Any]:
    layout = length.layout
    return {
        "fabric": layout.fabric.key,
        "on_hand": layout.on_hand,
        "title": length.fabric + ("" if layout.on_hand is None else f", {layout.on_hand}"),
        "words": length_words(layout, plan.job.units),
        "bars": picture.whole(),
        "print": layout.fabric.repeat is not None,
        "done": layout.all_done,
    }


def _cut(row: CutRow, unit: Unit) -> dict[str, Any]:
    return {
        "name": row.name,
        "what": row.title + (f", {row.count} pieces" if row.count > 1 else ""),
        "size": f"{format_length(row.wide, unit)} × {format_length(row.long, unit)}",
        "done": row.first.done,
    }


def _steps(plan: Plan, length: CutLength, picture: TablePicture) -> Iterator[Step]:
    layout, unit = length.layout, plan.job.units
    made = sequence(plan.job, layout, cuts_of(plan).numbers)
    rows = {row.name: row for row in length.rows}
    first = next((row for row in length.rows if not row.first.done), None)
    yield _step("Lay out", LAY, picture.at(None), big=length.fabric, under=length_words(layout, unit))
    checks = [action for action in made.actions if action.kind == "check"]
    for number, action in enumerate(checks, 1):
        heading = f"Check {number} of {len(checks)}"
        yield _step(heading, action.text, picture.at(None))
    yield _step("Chalk", CHALK, picture.at(first))
    found = _found_before(made.actions, rows)
    for place, action in enumerate(made.actions):
        yield from (_line_to_find(layout, row, picture, unit) for row in found.get(place, ()))
        if action.kind == "pull":
            big = format_length(action.at or 0, unit)
            yield _step("Pull the fabric", action.text, "", big=big, under="mark to the head of the table")
        elif action.kind == "cut" and not rows[action.name].first.done:
            yield from _cutting(layout, action, rows[action.name], picture, unit)


def _found_before(actions: Sequence[Action], rows: Mapping[str, CutRow]) -> dict[int, list[CutRow]]:
    """Cuts by the action before which their start line is found: while it still lies on the table.

    A cut longer than the table is cut after pulls, the first of which may take its start line off the table.
    """
    found, pulls = dict[int, list[CutRow]](), list[int]()
    for place, action in enumerate(actions):
        if action.kind == "pull":
            pulls.append(place)
            continue
        if action.kind != "cut" or not action.lines:
            continue
        row = rows[action.name]
        if row.line is None or row.first.done:
            continue
        past = (pull for pull in pulls if (actions[pull].at or 0) > (row.line or 0))
        found.setdefault(next(past, place), []).append(row)
    return found


def _cutting(
    layout: FabricLayout, action: Action, row: CutRow, picture: TablePicture, unit: Unit
) -> Iterator[Step]:
    """Each line of a cut, then its piece that is free."""
    for number, line in enumerate(action.lines, 1):
        several = f", line {number} of {len(action.lines)}" if len(action.lines) > 1 else ""
        step = _step(
            f"Cut {row.name}{several}",
            f"{line.text[0].upper()}{line.text[1:]}.",
            picture.at(row, line.cuts),
            big=line.at,
            under=_under(line, layout),
            cut=row.name,
        )
        yield step
    wide, long = format_length(row.wide, unit), format_length(row.long, unit)
    notes = [f"TOP lies {_TOPS[row.top]}.", LABEL, "Set it aside."]
    if row.left is not None and row.left > 0:
        notes.append(f"At least {format_length(row.left, unit)} stay on the bolt.")
    step = _step(
        f"Label {row.name}",
        f"{what(row, unit)}.",
        picture.at(row, freed=True),
        big=row.name,
        under=f"{wide} wide, {long} long as it hangs",
        cut=row.name,
    )
    step["frees"] = row.name
    step["notes"] = notes
    step["hang"] = row.first.piece.role in LAYERS
    yield step


def _line_to_find(layout: FabricLayout, row: CutRow, picture: TablePicture, unit: Unit) -> Step:
    """The line of the pattern from which a cut is measured: found and chalked before it is cut."""
    repeat, at, laid = layout.fabric.repeat, row.line or 0, row.first
    back, on = (format_length(part, unit) for part in (at - laid.y, laid.y + laid.length - at))
    stepped = repeat is not None and bool(repeat.step)
    step = _step(
        f"Find the start line of {row.name}",
        f"{START_LINE[0].upper()}{START_LINE[1:]}",
        picture.at(row, find=True),
        big=format_length(at, unit),
        under="from the squared end: the start line",
        cut=row.name,
    )
    step["notes"] = [STEPPED_LINE] if stepped else []
    step["notes"] += [
        f"Chalk it. From it, {row.name} reaches {back} toward the squared end and {on} away from it: "
        "where the repeat has drifted, these two distances hold.",
        f"{what(row, unit)}.",
    ]
    return step


def _under(line: CutLine, layout: FabricLayout) -> str:
    if line.across:
        return "from the squared end: cut across"
    return f"from the {left_mark(layout)}: cut lengthwise"


def _step(title: str, text: str, view: str, *, big: str = "", under: str = "", cut: str = "") -> Step:
    return {
        "title": title,
        "big": big,
        "under": under,
        "text": text,
        "notes": [],
        "view": view,
        "cut": cut,
        "frees": "",
    }


def _digest(plan: Plan) -> str:
    """The same for the same cuts in the same places, however the plan came about."""
    made = hashlib.sha256(plan.job.title.encode())
    for length in cuts_of(plan).lengths:
        layout = length.layout
        made.update(f"{layout.fabric.key}/{layout.on_hand}/{layout.usable}".encode())
        for row in length.rows:
            for one in row.pieces:
                place = (row.name, one.piece.id, one.x, one.y, one.width, one.length, one.done)
                made.update(repr(place).encode())
    return made.hexdigest()[:20]
