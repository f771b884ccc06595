"""A plan becomes a packet: its sections in the order in which a maker needs them."""

from __future__ import annotations

from datetime import date

from nesting.packet.buying import buying
from nesting.packet.cautions import cautions
from nesting.packet.cut_list import cut_list
from nesting.packet.facts import bolt_words, laid_out, window_facts
from nesting.packet.finished import finished
from nesting.packet.labels import label_section, labels
from nesting.packet.markers import markers
from nesting.packet.measuring import measuring
from nesting.packet.model import Packet, Paper, Section
from nesting.packet.overview import overview
from nesting.packet.questions import questions
from nesting.packet.sewing import sewing
from nesting.packet.sums import sums
from nesting.packet.what_if_page import changes
from nesting.plan.comparison import Comparison
from nesting.plan.cut_rows import cuts_of
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
        What the marker pages are drawn for; default: Letter for jobs in inches, A4 for metric ones.
    comparison
        The same job on other bolts, for the buying list.
    practice
        Pages of a practice sample, put before the cautions; see `nesting.packet.practice`.
    """
    sheet = paper or paper_of(plan)
    facts = window_facts(plan)
    cuts = cuts_of(plan)
    found, numbers = labels(plan, cuts), cuts.numbers
    told = (measuring(facts), sums(plan, facts), finished(facts)) if facts else (sums(plan, facts),)
    sections = (
        *told,
        buying(plan, facts, comparison),
        *changes(plan),
        *markers(plan, sheet),
        cut_list(plan, cuts),
        label_section(found),
        *((sewing(facts),) if facts else ()),
        questions(plan, facts),
        *practice,
        cautions(),
    )
    return Packet(
        title=plan.job.title or "Drapes",
        units=plan.job.units,
        made=made,
        fabrics=tuple(bolt_words(layout, numbers, plan.job.units) for layout in laid_out(plan)),
        sections=(overview(plan, facts, sections), *sections),
        labels=found,
    )


def paper_of(plan: Plan) -> Paper:
    """Letter where people measure in inches, else A4."""
    return "letter" if plan.job.units == "in" else "a4"
