"""The first page: what the job is, what it costs, what must be decided, and where everything is found."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from nesting.packet.buying import bought
from nesting.packet.cut_list import optional_left_out
from nesting.packet.facts import WindowFacts, fabric_words, laid_out, plural
from nesting.packet.model import Block, Bullets, Paragraph, Section, SectionHeading, Table
from nesting.pieces.piece import Advice
from nesting.plan.numbering import numbering
from nesting.plan.plan import Plan
from nesting.plan.shortage import shortfall_rows

_WORDS = {"question": "Answer:", "warning": "Decide:", "offer": "Offer:", "note": "Note:"}


def overview(plan: Plan, facts: tuple[WindowFacts, ...], others: Iterable[Section]) -> Section:
    """The first page."""
    blocks: list[Block] = []
    if facts:
        blocks.append(_windows(facts))
    numbers = numbering(plan.layouts)
    buys = tuple(
        (fabric_words(layout, numbers), "on hand" if layout.buy is None else bought(layout))
        for layout in laid_out(plan)
    )
    blocks.append(Table("To buy, in short", ("fabric", "how much"), buys, "ll", (3, 3)))
    blocks += _short(plan)
    blocks += optional_left_out(plan)
    counts = plural(sum(len(layout.placements) for layout in plan.layouts), "piece")
    blocks.append(Paragraph(f"{counts} are cut, each with its label. Work through the packet in its order."))
    if plan.advice:
        blocks += [SectionHeading("Notes on this plan"), *_advice(plan.advice)]
    blocks += [SectionHeading("In this packet"), Bullets(tuple(_called(section) for section in others))]
    return Section("overview", plan.job.title or "Drapes", tuple(blocks))


def _short(plan: Plan) -> Iterator[Block]:
    """What fabric on hand is short of, once for each fabric."""
    for short in plan.shortfalls:
        title = f"Not enough fabric on hand: {plan.job.fabric(short.fabric).title}"
        yield Table(title, ("", "what it is"), tuple(shortfall_rows(plan, short)), "ll", (1, 5))


def _called(section: Section) -> str:
    return (
        f"{section.title}, on sheets of their own: labels.pdf" if section.key == "labels" else section.title
    )


def _windows(facts: tuple[WindowFacts, ...]) -> Table:
    rows = tuple(
        (
            each.window.name,
            each.window.room,
            each.window.heading.replace("-", " "),
            str(each.window.count * len(each.hangings)),
            each.making.say(each.window.rod),
            each.making.say(each.making.finished.total),
            each.fabric.title,
        )
        for each in facts
    )
    heads = ("window", "room", "heading", "panels", "rod", "finished length", "fabric")
    return Table("Windows", heads, rows, "lllrrrl", (2.4, 1.8, 1.5, 0.9, 1.2, 1.5, 2.2))


def _advice(advice: Iterable[Advice]) -> Iterator[Paragraph]:
    for remark in advice:
        about = f"{remark.window}: " if remark.window else ""
        words = (f"{about}{remark.plain.removesuffix('.')}.", _WORDS[remark.kind])
        yield Paragraph(*words, "warning") if remark.kind in ("question", "warning") else Paragraph(*words)
