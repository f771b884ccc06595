"""The marker pages: every bolt drawn to scale, with its fold marks."""

from __future__ import annotations

from typing import Final

from nesting.drawing.folds import draw_folds
from nesting.drawing.page import SHEETS, page_figures
from nesting.drawing.trace import trace
from nesting.packet.facts import bolt_words, laid_out
from nesting.packet.model import Paper, Section, Sheet
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.pulls import pulls, table_length
from nesting.units import format_length

#: What head and foot of a page leave to a drawing on a sheet lying on its side, in points.
HEAD: Final = 16.0
FOOT: Final = 8.0
#: A bolt that would take more pages is drawn in several rows on each.
MOST_PAGES: Final = 10


def sheets(plan: Plan, layout: FabricLayout, paper: Paper) -> tuple[Sheet, ...]:
    """The pages of one bolt."""
    wide, high = SHEETS[paper]
    unit = plan.job.units
    room = (wide, high - HEAD - FOOT)
    figures = page_figures(plan, layout, paper=paper, room=room, called="marker page", most=MOST_PAGES)
    made = pulls(layout, table_length(plan.job))
    found = list[Sheet]()
    for number, figure in enumerate(figures, 1):
        if plan.job.table is None:
            draw_folds(figure, layout, made, unit)
        length = format_length(layout.length or 0, unit)
        alt = (
            f"Marker of {layout.fabric.title}, page {number}: where each piece lies on a bolt "
            f"{format_length(layout.bolt.width, unit)} wide, {length} in all. The cut list gives the same "
            "in numbers."
        )
        found.append(Sheet(trace(figure), alt))
    return tuple(found)


def markers(plan: Plan, paper: Paper) -> tuple[Section, ...]:
    """A section for each bolt."""
    numbers = numbering(plan.layouts)
    return tuple(
        Section(
            f"marker-{number}",
            f"Marker: {bolt_words(layout, numbers, plan.job.units)}",
            sheets(plan, layout, paper),
        )
        for number, layout in enumerate(laid_out(plan), 1)
    )
