"""Notes on a plan: what must be decided stands on the sheet it is about, all of it in the appendix."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.packet.buying import bought
from nesting.packet.facts import WindowFacts, fabric_words, laid_out, plural
from nesting.packet.model import Block, Paragraph, Section, Table
from nesting.pieces.piece import Advice
from nesting.plan.numbering import numbering
from nesting.plan.plan import Plan

_WORDS: Final = {"question": "Answer:", "warning": "Decide:", "offer": "Offer:", "note": "Note:"}
_URGENT: Final = ("question", "warning")


def to_decide(plan: Plan, *, fabric: str | None = None, window: str | None = None) -> Iterator[Paragraph]:
    """What wants a decision before anything is cut, about a fabric, a window or the whole job."""
    laid = {layout.fabric.key for layout in laid_out(plan)}
    for remark in plan.advice:
        about = remark.fabric if remark.fabric in laid else None
        if remark.kind in _URGENT and (remark.window, None if remark.window else about) == (window, fabric):
            yield _told(remark, named=False)


def notes(plan: Plan, facts: tuple[WindowFacts, ...]) -> Section:
    """The windows, what is bought for them, and every remark of the planner."""
    blocks: list[Block] = []
    if facts:
        blocks.append(_windows(facts))
    numbers = numbering(plan.layouts)
    buys = tuple(
        (fabric_words(layout, numbers), "on hand" if layout.buy is None else bought(layout))
        for layout in laid_out(plan)
    )
    blocks.append(Table("To buy, in short", ("fabric", "how much"), buys, "ll", (3, 3)))
    counts = plural(sum(len(layout.placements) for layout in plan.layouts), "piece")
    blocks.append(Paragraph(f"{counts} are cut."))
    blocks += [_told(remark) for remark in plan.advice]
    return Section("notes", "Notes on this plan", tuple(blocks))


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
    return Table("Windows", heads, rows, "lllrrrl", (2.4, 1.8, 1.5, 1.1, 1.4, 1.5, 2.2))


def _told(remark: Advice, *, named: bool = True) -> Paragraph:
    about = f"{remark.window}: " if remark.window and named else ""
    words = (f"{about}{remark.plain.removesuffix('.')}.", _WORDS[remark.kind])
    return Paragraph(*words, "warning") if remark.kind in _URGENT else Paragraph(*words)
