"""What is done at the table: how the fabric is pulled over it, and the cutting sequence step by step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.order.job import Job
from nesting.packet.facts import both_units, plural
from nesting.packet.model import TICK_BOX, Block, Paragraph, Table
from nesting.plan.cuts import ease_of_layout
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout
from nesting.plan.pulls import Pull, fold_words, table_length
from nesting.plan.sequence import Action, price_words, sequence
from nesting.units import Unit, format_length

_HEADS: Final = ("step", "done", "at", "what to do")
_WEIGHTS: Final = (1.1, 0.9, 1.4, 12.0)


def at_the_table(job: Job, layout: FabricLayout, numbers: Numbering) -> Iterator[Block]:
    """The pulls, the figures of the layout, and every step of the cutting sequence with a box to tick."""
    made, unit = sequence(job, layout, numbers), job.units
    yield Paragraph(_pull_words(job, made.pulls, unit), "Table and folds:")
    if len(made.lanes) > 1:
        yield Paragraph(_lane_words(made.lanes, unit), "Wider than the table:")
    yield Paragraph(figures_words(layout, unit), "Cuts:")
    rows = tuple(_row(action, unit) for action in made.actions)
    yield Paragraph(
        "at is the running distance from the squared end, measured at the selvage: where the cut that frees "
        "the piece ends, or where the pull begins. Each cut has the number that its piece bears on the "
        "marker, in the list above and on its label.",
        "Sequence:",
    )
    yield Table(
        f"{numbers.fabric(layout)}: cutting sequence, {unit}",
        _HEADS,
        rows,
        "lcrl",
        _WEIGHTS,
        small=True,
    )


def _row(action: Action, unit: Unit) -> tuple[str, ...]:
    at = "" if action.at is None else format_length(action.at, unit, name=False)
    return f"{action.kind} {action.name or action.number}", TICK_BOX, at, action.text


def _pull_words(job: Job, pulls: tuple[Pull, ...], unit: Unit) -> str:
    table = both_units(table_length(job), unit)
    if len(pulls) == 1:
        return f"The whole layout lies on a table {table} long without a fold."
    words = ", ".join(fold_words(pulls, unit))
    return (
        f"On a table {table} long, the fabric lies in {plural(len(pulls), 'pull')}: {words}. Pull 1 is "
        "the start: the squared end at the head of the table, at your left. A fold lies at a straight cut "
        "wherever one is in reach, and never in a piece that the table can hold: the fabric is pulled on "
        "less, or back a little, for its sake. A longer piece is cut in runs, with its chalk "
        "line carried over the fold."
    )


def _lane_words(lanes: tuple[Pull, ...], unit: Unit) -> str:
    stretches = ", then ".join(
        f"{format_length(lane.start, unit, name=False)} to {format_length(lane.end, unit)}" for lane in lanes
    )
    return (
        "the fabric hangs over the near edge of the table. Counted from the left edge, the table holds "
        f"{stretches}; for what lies further the fabric is pulled across it."
    )


def figures_words(layout: FabricLayout, unit: Unit) -> str:
    """How many lines are cut, the longest, and what is left in one piece."""
    ease = ease_of_layout(layout)
    said = (
        f"{plural(ease.cut_lines, 'straight line')} to cut, the longest {both_units(ease.longest, unit)}; at "
        f"{plural(ease.across, 'place')} the fabric is cut across from selvage to selvage."
    )
    if layout.longer_than_free is not None:
        said += f" It is cut across first, which makes it {price_words(layout, unit)}."
    return said
