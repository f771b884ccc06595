"""The handout of a lesson: measuring, sums, practice sample, words; the answer key on its own page."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from datetime import date
from typing import Final, Literal

from nesting.drawing.lesson_sketch import lesson_sketch
from nesting.drawing.lettered_panel import LetteredPanel
from nesting.drawing.operations import LEGEND
from nesting.drawing.sample_marker import sample_marker_figure
from nesting.drawing.trace import trace
from nesting.lesson.planned import SCALE, Planned, planned
from nesting.lesson.words import MEANINGS, NEEDLES, SAFETY, TOOLS, used_words
from nesting.lesson.working import Worked, worked
from nesting.packet.facts import WindowFacts, laid_out, run_in_both
from nesting.packet.letters import LETTERS, number
from nesting.packet.measuring import dimensions, window_look
from nesting.packet.model import (
    BLANK,
    Beside,
    Block,
    Bullets,
    MakingSteps,
    Packet,
    Paragraph,
    Picture,
    Section,
    SectionHeading,
    Table,
)
from nesting.packet.steps_told import window_steps
from nesting.pieces.piece import Sundry, Term
from nesting.plan.cut_rows import CutRow, cuts_of
from nesting.plan.plan import Plan
from nesting.units import Unit, format_decimal, format_length, format_quantity, unit_ticks

_RULES: Final = (
    "Measure from the rod or track, hung level, with one tape; heights at left, center and right: use the "
    "shortest."
)
#: Not measured for a lesson, or worked out in the sums.
_NOT_MEASURED: Final = ("F", "J")


def lesson(name: str, units: Unit, *, made: date) -> Packet:
    """A handout for a class on one heading: one to four pages, set by the packet's setters.

    Parameters
    ----------
    name
        Of the heading: ``back-tab``.
    units
        ``in`` or ``cm``; decides sizes and paper.
    made
        The day printed on every page.

    Raises
    ------
    NestingError
        There is no such heading.
    """
    planned_ = planned(name, units)
    example, exercise = (planned_.facts(plan) for plan in (planned_.example, planned_.exercise))
    sums, answers = worked(example), worked(exercise)
    before = [*_measure(example, exercise, sums), *_sums(example, sums), *_needed(planned_)]
    sewing = [*_sew(planned_)]
    words = used_words(_texts([*before, *sewing]))
    told = Paragraph("; ".join(f"{word}: {meaning}" for word, meaning in words) + ".", "Words:")
    blocks = (*before, told, *sewing)
    called = f"{example.style.title} drapes".capitalize()
    key = Section("key", "Answer key: the exercise", tuple(_key(planned_, exercise, answers)), "table")
    return Packet(
        title=f"Lesson: {example.style.title} drapes",
        units=units,
        made=made,
        fabrics=("Name ______________________________  Class ______________________",),
        sections=(Section("lesson", f"{called}: measure, work out, sew", blocks, "table"), key),
        labels=(),
    )


def _texts(blocks: list[Block]) -> Iterator[str]:
    """Everything that is read on the page."""
    for block in blocks:
        if isinstance(block, Paragraph):
            yield f"{block.lead} {block.text}"
        elif isinstance(block, Table):
            yield " ".join((block.caption, *block.head))
            yield from (" ".join(row) for row in block.rows)
        elif isinstance(block, Bullets):
            yield from block.items
        elif not isinstance(block, Picture | SectionHeading):
            yield from (item.text for item in getattr(block, "items", ()))


def _measure(example: WindowFacts, exercise: WindowFacts, sums: Worked) -> Iterator[Block]:
    yield Paragraph("______________________________   Class: ____________________", "Name:")
    yield Paragraph(
        "A pair of unlined panels: a worked example, an exercise with its key, your own window, a sample to "
        "sew."
    )
    look = replace(window_look(example), spare=False, wide=False)
    alt = (
        "Sketch of the window: rod, drapes, sill and floor, with a letter at each dimension; beside it a cut "
        "panel with letters at hems, seam, top and finished size. Not to scale."
    )
    yield SectionHeading("1. Measure")
    yield Picture(trace(lesson_sketch(look, lettered(example, sums))), alt)
    rows = tuple(_measured(example, exercise))
    yield Table(
        "What to measure; letters as on the drawings (not to scale, the panel wrong side up)",
        ("", "what", "worked example", "exercise", "your window"),
        rows,
        "llrrc",
        (0.5, 5.4, 1.8, 1.6, 1.6),
    )
    yield Paragraph(_RULES)


def _measured(example: WindowFacts, exercise: WindowFacts) -> Iterator[tuple[str, ...]]:
    other = {row[0]: row[2] for row in dimensions(exercise)}
    shown = window_look(example)
    for letter, what, said, *_ in dimensions(example):
        hidden = {"C": not shown.returns, "D": not shown.overlap}
        if letter not in _NOT_MEASURED and not hidden.get(letter, False):
            yield letter, what, said, other[letter], BLANK


def _sums(facts: WindowFacts, sums: Worked) -> Iterator[Block]:
    yield SectionHeading("2. Work it out")
    yield _decided(facts, sums)
    rows = tuple(
        (one.letter, one.what, one.formula, one.figures, one.result, BLANK, BLANK) for one in sums.lines
    )
    yield Table(
        "The sums of one panel, its facing and its tabs"
        if facts.pieces_of("tab")
        else "The sums of one panel",
        ("", "what", "in letters", "worked example", "= result", "exercise", "yours"),
        rows,
        "lllllcc",
        (0.4, 2.45, 2.65, 3.05, 1.55, 1.2, 0.85),
    )
    step = "1/16 in" if facts.unit == "in" else "1 mm"
    yield Paragraph(
        f"Lengths are rounded up to {step} at the end, F down; ≈ is the nearest that the tape shows.",
        kind="note",
    )


def _decided(facts: WindowFacts, sums: Worked) -> Table:
    """Every letter that is neither measured nor worked out, two side by side."""
    measured = {row[0] for row in dimensions(facts)}
    told = [
        (letter, MEANINGS.get(term.label, term.label), _amount(facts, term))
        for letter, term in sums.given.items()
        if letter.partition("/")[0] not in measured and ("/" not in letter or letter[0] not in sums.given)
    ]
    half = -(-len(told) // 2)
    beside = [*told[half:], *[("", "", "")] * (2 * half - len(told))]
    rows = tuple((*left, *right) for left, right in zip(told[:half], beside, strict=True))
    heads = ("", "decided, not measured", "here") * 2
    return Table("What the other letters are", heads, rows, "llrllr", (0.4, 3.9, 1, 0.5, 3.9, 1))


def _amount(facts: WindowFacts, term: Term) -> str:
    if term.label == "half the rod's circumference":
        return f"{format_decimal(term.amount, facts.unit)} {facts.unit}"
    if term.sign in ("x", "/", "number"):
        return number(term.amount)
    return facts.making.say(term.amount)


def lettered(facts: WindowFacts, sums: Worked) -> LetteredPanel:
    """The letters of the panel's drawing, from what its heading adds at the top and spaces along it."""
    terms = facts.style.top_allowance(facts.making).terms
    taken = next((LETTERS[term.label] for term in terms if term.label == "take-up over the rod"), "")
    top = [
        LETTERS[term.label]
        for term in reversed(terms)
        for _ in range(term.times)
        if term.label != "take-up over the rod"
    ]
    used = {term.label: letter for letter, term in sums.given.items()}
    edges = ("outer center from the edge", "outer ring from the edge", "flat at the left edge")
    marks = [spot for spot in facts.headings[0].spots if spot.kind != "space"]
    kind: Literal["block", "point"] | None = None
    if marks:
        kind = "point" if marks[0].start == marks[0].end else "block"
    edge = next((used[label] for label in edges if label in used), "")
    return LetteredPanel(tuple(top), taken, kind, edge, used.get("tab", "") if marks else "")


def _sew(planned_: Planned) -> Iterator[Block]:
    plan, facts = planned_.sample, planned_.facts(planned_.sample)
    yield SectionHeading("4. Sew a practice sample")
    yield Paragraph(
        f"One panel of the worked example at {SCALE} of its finished size; seams, tabs, rings and the top "
        "keep their real size, pleats nearly. The steps have the sizes of the sample; your own drape has "
        "those of your sums."
    )
    yield from _cut(plan)
    yield Paragraph(LEGEND, kind="note")
    yield MakingSteps(window_steps(facts))


def _cut(plan: Plan) -> Iterator[Block]:
    unit, (layout,) = plan.job.units, laid_out(plan)
    needed = layout.buy.needed if layout.buy else layout.length or 0
    long, wide = format_length(needed, unit), format_length(layout.usable, unit)
    alike = dict[tuple[str, str], list[CutRow]]()
    for row in (row for length in cuts_of(plan).lengths for row in length.rows):
        size = f"{format_length(row.wide, unit, name=False)} × {format_length(row.long, unit)}"
        name = row.title.partition(", ")[2].removeprefix("single ") or row.title
        alike.setdefault((name, size), []).append(row)
    rows = tuple(
        (", ".join(row.name for row in found), str(sum(row.count for row in found)), name, size)
        for (name, size), found in alike.items()
    )
    heads = ("cut", "no.", "what", "wide × long")
    table = Table(f"Cut from {wide} × {long}, right side up", heads, rows, "lrlr", (0.55, 0.5, 1.75, 2.4))
    alt = f"Marker of the sample: every piece on fabric {wide} wide, {long} long."
    figure = sample_marker_figure(plan, layout, width=290, tallest=105)
    yield Beside(table, Picture(trace(figure), alt), 0.45)


def _needed(planned_: Planned) -> Iterator[Block]:
    unit = planned_.units
    example, sample = planned_.example, planned_.sample
    amounts = {sundry.name: sundry for sundry in sample.sundries}
    said = []
    for one in example.sundries:
        small = f" ({_much(amounts[one.name], unit)})" if one.name in amounts else ""
        said.append(f"{one.name} {_much(one, unit)}{small}{f', {one.note}' if one.note else ''}")
    (layout,), (less,) = laid_out(example), laid_out(sample)
    bought = "" if layout.buy is None else format_quantity(layout.buy.total, layout.buy.unit)
    small = format_length(less.buy.needed if less.buy else less.length or 0, unit)
    fabric = f"fabric {format_length(layout.bolt.width, unit)} wide, {bought} ({small})"
    yield SectionHeading("3. What you need")
    yield Paragraph(f"{'; '.join((fabric, *said))}.", "For the worked example (for the sample):")
    yield Paragraph(f"{TOOLS}.", "Tools:")
    yield Table(
        "Needle, stitch and iron by fabric: sew a scrap first",
        ("fabric", "needle", "stitch", "iron and handling"),
        NEEDLES,
        "llll",
        (1, 1.6, 1.5, 5.6),
    )
    yield Paragraph(SAFETY, "Safety:")


def _much(sundry: Sundry, unit: Unit) -> str:
    if sundry.length is None:
        return "" if sundry.count is None else str(sundry.count)
    if sundry.length > 3 * unit_ticks("yd"):
        return run_in_both(sundry.length, unit).partition(" (")[0]
    return format_length(sundry.length, unit)


def _key(planned_: Planned, facts: WindowFacts, answers: Worked) -> Iterator[Block]:
    yield Paragraph("For the teacher: keep this page back until the exercise is done.", kind="note")
    rows = tuple((one.letter, one.what, one.formula, one.figures, one.result) for one in answers.lines)
    yield Table(
        "Answers",
        ("", "what", "in letters", "with the numbers of the exercise", "= result"),
        rows,
        "lllll",
        (0.45, 2.8, 2.8, 3.6, 1.4),
    )
    remarks = dict.fromkeys(remark for head in facts.headings for remark in head.remarks)
    yield Paragraph("; ".join(remarks) + ".", "Along the top:")
    layout = next(laid_out(planned_.exercise))
    if layout.rule_of_thumb is not None and layout.buy is not None:
        bought = format_quantity(layout.buy.total, layout.buy.unit)
        yield Paragraph(
            f"By the usual rule of thumb, whole widths one after another: "
            f"{'; '.join(layout.rule_of_thumb.lines)}. Laid out by the program, the same pieces and "
            f"{format_length(layout.squaring, facts.unit)} to square the end come to {bought}.",
            "Fabric for the pair:",
        )
