"""A plan becomes a packet: sheets for the table, sheets for the windows, labels, and an appendix."""

from __future__ import annotations

from collections.abc import Iterator
from datetime import date

from nesting.packet.buying import buying
from nesting.packet.cautions import CAUTIONS
from nesting.packet.counted import counted
from nesting.packet.facts import WindowFacts, bolt_words, laid_out, window_facts
from nesting.packet.finished import finished
from nesting.packet.labels import label_section, labels
from nesting.packet.measuring import measuring
from nesting.packet.model import Packet, Section
from nesting.packet.questions import questions
from nesting.packet.remarks import notes
from nesting.packet.room import page_room
from nesting.packet.step_by_step import step_by_step
from nesting.packet.sums import sums
from nesting.packet.table_sheet import table_sheets
from nesting.packet.what_if_page import changes
from nesting.packet.window_sheet import window_sheets
from nesting.plan.comparison import Comparison
from nesting.plan.cut_rows import CutList, cuts_of
from nesting.plan.paper import Paper, paper_for
from nesting.plan.plan import Plan


def packet(
    plan: Plan,
    *,
    made: date,
    paper: Paper | None = None,
    comparison: Comparison | None = None,
    practice: tuple[Section, ...] = (),
) -> Packet:
    """Everything that is printed for a plan.

    Parameters
    ----------
    plan
        Any plan; one without its order has no windows to tell of, and what needs them is left out.
    made
        The day printed on every page.
    paper
        What its drawings are made for; default: that of the job's units, by `nesting.plan.paper.paper_for`.
    comparison
        The same job on other bolts, for the buying list.
    practice
        Pages of a practice sample, the last of the appendix; see `nesting.packet.practice`.
    """
    sheet = paper or paper_for(plan.job.units)
    facts, cuts = window_facts(plan), cuts_of(plan)
    found, numbers = labels(plan, cuts), cuts.numbers
    return Packet(
        title=plan.job.title or "Drapes",
        units=plan.job.units,
        made=made,
        fabrics=tuple(bolt_words(layout, numbers, plan.job.units) for layout in laid_out(plan)),
        sections=(
            *sheets(plan, facts, cuts, sheet),
            label_section(found),
            *_appendix(plan, facts, cuts, sheet, comparison),
            *practice,
        ),
        labels=found,
    )


def sheets(plan: Plan, facts: tuple[WindowFacts, ...], cuts: CutList, paper: Paper) -> Iterator[Section]:
    """What is worked from: a sheet for each fabric, then one for each window."""
    yield from table_sheets(plan, cuts, paper)
    yield from window_sheets(plan, facts, cuts.numbers, paper)
    if not facts:
        yield Section("cautions", "Cautions", (CAUTIONS,), "window")


def _appendix(
    plan: Plan,
    facts: tuple[WindowFacts, ...],
    cuts: CutList,
    paper: Paper,
    comparison: Comparison | None,
) -> Iterator[Section]:
    width = page_room(paper)
    yield notes(plan, facts)
    if facts:
        yield measuring(facts)
    yield sums(plan, facts, width)
    if facts:
        yield finished(facts, width)
    yield buying(plan, facts, comparison)
    yield from changes(plan)
    yield counted(plan, cuts.numbers)
    yield step_by_step(plan, cuts.numbers)
    yield questions(plan, facts)
