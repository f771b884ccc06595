"""The cutting sequence of every bolt in full: checks, pulls and cuts in their order, each with a box."""

from __future__ import annotations

from typing import Final

from nesting.packet.facts import fabric_words, laid_out
from nesting.packet.model import TICK_BOX, Block, Paragraph, Section, Table
from nesting.plan.numbering import Numbering
from nesting.plan.plan import Plan
from nesting.plan.sequence import Action, sequence
from nesting.units import Unit, format_length, unit_words

_HEADS: Final = ("step", "done", "at", "what to do")
_WEIGHTS: Final = (1.3, 0.9, 2.4, 11.0)


def step_by_step(plan: Plan, numbers: Numbering) -> Section:
    """Every step at the table, in words."""
    unit = plan.job.units
    blocks: list[Block] = [
        Paragraph(
            "The same cuts as on the table sheets, with every line that is cut and every pull. The column at "
            "has the distance from the squared end, measured at the selvage: where the cut that frees the "
            "piece ends, or where the pull begins."
        )
    ]
    for layout in laid_out(plan):
        rows = tuple(_row(action, unit) for action in sequence(plan.job, layout, numbers).actions)
        title = f"{fabric_words(layout, numbers)}: cutting sequence, {unit_words(unit)}"
        blocks.append(Table(title, _HEADS, rows, "lcrl", _WEIGHTS))
    return Section("sequence", "Cutting, step by step", tuple(blocks))


def _row(action: Action, unit: Unit) -> tuple[str, ...]:
    at = "" if action.at is None else format_length(action.at, unit, name=False)
    return f"{action.kind} {action.name or action.number}", TICK_BOX, at, action.text
