"""A sheet for the table: one fabric's marker, its checks, its cuts in order, its lot and what to buy."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from nesting.drawing.lettering import READABLE, text_width
from nesting.drawing.strips import strips
from nesting.drawing.wording import drop_words
from nesting.packet.buying import bought, price_and_cost
from nesting.packet.facts import both_units, length_words, plural
from nesting.packet.labels import OWN_LABEL
from nesting.packet.model import (
    BLANK,
    TICK_BOX,
    Block,
    Bullets,
    Paragraph,
    Picture,
    Section,
    SectionHeading,
    Table,
)
from nesting.packet.remarks import to_decide
from nesting.packet.room import APART, PAD, page_room
from nesting.packet.what_is_left import offcut_words, offcuts
from nesting.pieces.piece import LAYERS
from nesting.plan.cut_rows import CutLength, CutList, CutRow
from nesting.plan.numbering import Numbering
from nesting.plan.paper import Paper
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.pulls import Pull, pulls, table_length
from nesting.plan.sequence import CuttingSequence, sequence
from nesting.plan.shortage import names_left_out, shortfall_rows
from nesting.units import Unit, format_length, unit_words

#: What a hand with shears is allowed (common practice, no source).
_TOLERANCE: Final = {"in": "1/8 in in length and 1/4 in in width", "cm": "3 mm in length and 6 mm in width"}
_ARROWS: Final = {"up": "↑", "down": "↓", "left": "←", "right": "→"}
#: What is done at the table whatever is cut, sentence by sentence.
LAY: Final = "Lay the fabric right side up, the squared end at your left, the left selvage at the far edge."
CHALK: Final = (
    "Chalk every cut before the first is made, at both selvages and in the middle, and have a second person "
    "read the list back from the chalk."
)
HANG: Final = "hold the first piece that is as long as a panel up to the rod before you cut on."
LABEL: Final = (
    "Before a piece leaves the table, turn it over side to side, so that its top stays where it is, chalk "
    "its number and an arrow to TOP on the wrong side, and pin its label there."
)
#: How a cut of a print is placed, and what to mind where its columns step.
START_LINE: Final = (
    "one line of the pattern, the same on every cut: find it at the place given for it, or beside "
    "that by as much as the repeat has drifted, and measure the cut from there."
)
STEPPED_LINE: Final = "Look for it on the cut itself: in the next column it stands higher or lower."
#: Of so many cuts the lines are told on the sheet; of more, step by step in the appendix.
_TOLD: Final = 8
#: So many pulls are told on the sheet, and so many offcuts.
_PULLS: Final = 6
_SPARE: Final = 3
_HEADS: Final = (
    "cut", "L", "R", "✓", "from", "to", "across", "wide", "long", "pcs", "TOP", "piece",
)  # fmt: skip
_ALIGN: Final = "lcccrrrrrrll"
#: Which column has the room that the others leave, and what they keep free at both sides, in points.
_PIECE: Final = 11
_FREE: Final = 6.0


def table_sheets(plan: Plan, cuts: CutList, paper: Paper) -> Iterator[Section]:
    """A sheet for each fabric; several lengths of one fabric stand on one sheet, one after the other."""
    by_fabric = dict[str, list[CutLength]]()
    for length in cuts.lengths:
        by_fabric.setdefault(length.layout.fabric.key, []).append(length)
    for number, (key, lengths) in enumerate(by_fabric.items(), 1):
        blocks: list[Block] = [_purchase(plan, lengths), *to_decide(plan, fabric=key)]
        if number == 1:
            blocks += to_decide(plan)
        blocks += _short(plan, key)
        for length in lengths:
            blocks += _length(plan, length, cuts.numbers, paper, alone=len(lengths) == 1)
        blocks += _left_out(plan, key)
        # Where there is one fabric, it has no letter.
        lettered = lengths[0].fabric != lengths[0].layout.fabric.title
        title = f"Table sheet{' ' if lettered else ': '}{lengths[0].fabric}"
        yield Section(f"table-{number}", title, tuple(blocks), "table")


def _purchase(plan: Plan, lengths: list[CutLength]) -> Table:
    """What to buy, and the place for each lot."""
    unit, rows = plan.job.units, []
    for length in lengths:
        layout = length.layout
        price, cost = price_and_cost(plan, layout)
        what = f"{layout.on_hand}, on hand" if layout.buy is None else f"buy {bought(layout)}"
        widths = (both_units(layout.bolt.width, unit), format_length(layout.fit_to_cut, unit))
        rows.append((TICK_BOX, what, *widths, BLANK, price, cost, layout.lot or BLANK))
    heads = ("", "what to buy", "bolt width", "usable", "measured", "price", "cost", "lot")
    weights = (0.4, 3.2, 2.3, 1.2, 1.4, 1.9, 1.4, 1.6)
    return Table("What to buy", heads, tuple(rows), "clllclrc", weights, bare=True)


def _short(plan: Plan, key: str) -> Iterator[Block]:
    """What fabric on hand is short of."""
    for short in plan.shortfalls:
        if short.fabric == key:
            title = f"Not enough fabric on hand: {plan.job.fabric(key).title}"
            yield Table(title, ("", "what it is"), tuple(shortfall_rows(plan, short)), "ll", (1, 5))


def _left_out(plan: Plan, key: str) -> Iterator[Block]:
    """What is not cut: windows and extras that the fabric on hand does not hold, then optional pieces."""
    for short in plan.shortfalls:
        if short.fabric == key:
            yield Paragraph(
                f"{names_left_out(plan, short)}: not enough fabric on hand.", "Left out:", "warning"
            )
    for out in plan.left_out:
        piece = next((piece for piece in plan.pieces if piece.id == out.piece), None)
        if not out.window and piece is not None and piece.fabric == key:
            more = format_length(out.shortfall, plan.job.units)
            text = f"{piece.name}, {out.copies}: another {more} of fabric would be needed."
            yield Paragraph(text, "Left out:")


def _length(
    plan: Plan, length: CutLength, numbers: Numbering, paper: Paper, *, alone: bool
) -> Iterator[Block]:
    """One bolt or one length on hand: marker, checks, cuts, what is left."""
    unit, layout = plan.job.units, length.layout
    made = sequence(plan.job, layout, numbers)
    if not alone:
        yield SectionHeading(length_words(layout, unit))
    shrinkage = plan.job.fabric(layout.fabric.key).shrinkage
    if shrinkage is not None and shrinkage.washed == "before":
        yield Paragraph(
            "wash and dry the whole length before it is squared and measured. Widths, repeat and every size "
            "below are those after washing.",
            "Wash first:",
            "warning",
        )
    if facts := _facts(layout, unit):
        yield Paragraph(facts, "This length:")
    yield from _marker(plan, length, paper)
    yield Paragraph("before anything is cut.", "Checks")
    yield Bullets(tuple(a.text for a in made.actions if a.kind == "check"), True, True)
    yield from _how(plan, length, made)
    yield from _left_over(layout, unit)
    yield _cuts(plan, length, made, page_room(paper))


def _marker(plan: Plan, length: CutLength, paper: Paper) -> Iterator[Block]:
    """The bolt in strips, with what its signs mean."""
    unit, layout = plan.job.units, length.layout
    made: tuple[Pull, ...] = pulls(layout, table_length(plan.job))
    drawn = list(strips(layout, unit, length.rows, made if len(made) > 1 else (), width=page_room(paper)))
    yield Paragraph(_signs(length, folded=len(made) > 1), "Marker:")
    for number, drawing in enumerate(drawn, 1):
        part = f", strip {number} of {len(drawn)}" if len(drawn) > 1 else ""
        alt = (
            f"Marker of {layout.fabric.title}{part}: where each piece lies on a bolt "
            f"{format_length(layout.bolt.width, unit)} wide, {format_length(layout.length or 0, unit)} in "
            "all. The list of cuts gives the same in numbers."
        )
        yield Picture(drawing, alt)


def _signs(length: CutLength, *, folded: bool) -> str:
    layout = length.layout
    equal = next((row for row in length.rows if row.group.count > 1), None)
    first = "crossed lines: unused"
    if equal is not None:
        # A sign that stands on this marker, and no other's.
        count = equal.group.count
        first = f"{equal.name} × {count}: one cut, {count} equal pieces; {first}"
    said = [
        f"right side up, squared end at the left, left selvage along the top. {first[:1].upper()}{first[1:]}"
    ]
    if any(laid.piece.hem_line for laid in layout.placements):
        said.append("broken line: hem")
    if layout.fabric.repeat is not None:
        said.append("dashes and dots: the same point of the pattern")
    if any(start_line(layout, laid) is not None for laid in layout.placements):
        said.append("line between two notches: start line")
    if layout.flaws:
        said.append("dense crossed lines in a frame: flaw, kept clear")
    if layout.hem_edge is not None:
        said.append(f"heavy line: the {layout.hem_edge} selvage, which is the hem")
    if folded:
        said.append("triangle: fold over the end of the table, open: where the next pull begins")
    return "; ".join(said) + "."


def _how(plan: Plan, length: CutLength, made: CuttingSequence) -> Iterator[Block]:
    """How the cuts are made, for one who reads nothing else."""
    unit = plan.job.units
    told = len(length.rows) <= _TOLD
    hang = f"; {HANG}" if any(cut.first.piece.role in LAYERS for cut in length.rows) else "."
    yield Paragraph(
        f"{LAY} {CHALK} In the list, from and to are read from the squared end, across from "
        "the left; wide and long are as it hangs; TOP ↑ points away from the squared end; leaves: "
        "so much stays on the bolt. "
        "Tick L and R when start and end are read at the left and at the right selvage, ✓ when "
        f"the piece is cut and labeled. Keep to {_TOLERANCE['in' if unit == 'in' else 'cm']}. Cut in the "
        f"order of the list{hang} {LABEL} Measure everything "
        "with the same tape. Once cut, no shop takes fabric back."
        + ("" if told else " Every line that is cut: appendix, step by step."),
        "How to cut:",
    )
    if any(cut.line is not None for cut in length.rows):
        repeat = length.layout.fabric.repeat
        stepped = repeat is not None and repeat.step
        yield Paragraph(
            START_LINE + (f" {STEPPED_LINE}" if stepped else ""),
            "Start line:",
        )
        if repeat is not None and any(cut.letter for cut in length.rows):
            rise = format_length(Fraction(repeat.length, repeat.drop.denominator), unit)
            yield Paragraph(
                f"which column of the pattern a cut begins in; each letter stands {rise} higher than the "
                "letter before it. Pieces of one panel meet in the pattern on their seam line: chalk it.",
                "Drop A, B:",
            )
    if len(made.pulls) > 1:
        yield Paragraph(_pull_words(plan, made.pulls), "Table and folds:")
    if len(made.lanes) > 1:
        yield Paragraph(_lane_words(made.lanes, unit), "Wider than the table:")


def _pull_words(plan: Plan, made: tuple[Pull, ...]) -> str:
    """Where the fabric lies in each pull; of many the marker has the folds, and the appendix every pull."""
    unit = plan.job.units
    table = format_length(table_length(plan.job), unit)
    lying = ": the triangles of the marker; pull by pull in the appendix"
    if len(made) <= _PULLS:
        lying = f", in {unit_words(unit)} from the squared end: " + ", ".join(
            f"{format_length(pull.start, unit, name=False)} to {format_length(pull.end, unit, name=False)}"
            for pull in made
        )
    return (
        f"on a table {table} long, the fabric lies in {plural(len(made), 'pull')}{lying}. A piece longer "
        "than the table is cut in runs, its chalk line carried over the fold."
    )


def _lane_words(lanes: tuple[Pull, ...], unit: Unit) -> str:
    stretches = ", then ".join(
        f"{format_length(lane.start, unit, name=False)} to {format_length(lane.end, unit)}" for lane in lanes
    )
    return (
        "the fabric hangs over the near edge of the table. Counted from the left edge, the table holds "
        f"{stretches}; pull the fabric across to reach the rest."
    )


def _cuts(plan: Plan, length: CutLength, made: CuttingSequence, width: float) -> Table:
    """Every cut in order; of few, under each the lines that are cut."""
    unit = plan.job.units
    rows = tuple(_row(cut, unit) for cut in length.rows)
    lines = {action.name: action.brief for action in made.actions if action.kind == "cut"}
    under = () if len(rows) > _TOLD else tuple(f"Cut {lines[cut.name]}." for cut in length.rows)
    count = str(sum(cut.count for cut in length.rows))
    foot = ("all", "", "", "", "", "", "", "", "", count, "", "")
    caption = f"{length.fabric}: cuts in order, {unit_words(unit)}"
    return Table(caption, _HEADS, rows, _ALIGN, _weights((*rows, foot), width), (foot,), under)


def _weights(rows: tuple[tuple[str, ...], ...], width: float) -> tuple[float, ...]:
    """Each column as wide as its longest text, the pieces with the rest."""
    wide = [
        max(free + text_width(text, READABLE, bold=text in _HEADS) for text in column)
        for free, column in zip(_frees(), zip(_HEADS, *rows, strict=True), strict=True)
    ]
    rest = width - sum(wide) + wide[_PIECE]
    return (*wide[:_PIECE], max(rest, width / 4), *wide[_PIECE + 1 :])


def _frees() -> Iterator[float]:
    """Words after figures stand further from them."""
    for before, align in itertools.pairwise(f"l{_ALIGN}"):
        yield _FREE + (APART - PAD if (before, align) == ("r", "l") else 0.0)


def _row(cut: CutRow, unit: Unit) -> tuple[str, ...]:
    def say(ticks: int) -> str:
        return format_length(ticks, unit, name=False)

    return (
        cut.name,
        TICK_BOX,
        TICK_BOX,
        TICK_BOX,
        say(cut.start),
        say(cut.end),
        say(cut.across) if cut.across else "0",
        say(cut.wide),
        say(cut.long),
        str(cut.count),
        f"{_ARROWS[cut.top]} {drop_words(cut.first)}".rstrip(),
        what(cut, unit) + ("" if cut.left is None else f"; leaves {say(cut.left)}"),
    )


def what(cut: CutRow, unit: Unit) -> str:
    """The piece with what its cutter must see to."""
    laid, group = cut.first, cut.group
    piece, said = laid.piece, [cut.title]
    if laid.done:
        said.append("cut already")
    if group.count > 1:
        said.append(group.arranged)
    elif piece.copies > 1 and piece.role in OWN_LABEL:
        said.append(f"{laid.copy} of {piece.copies}")
    said += [note for note in piece.notes if "not cut off" in note]
    if cut.line is not None:
        above = format_length(cut.line - cut.start, unit)
        said.append(f"start line at {format_length(cut.line, unit)}, {above} above the lower edge")
    if laid.letter:
        said.append(f"{drop_words(laid)}, chalk the seam line")
    if laid.turn:
        said.append("turned, its width along the bolt")
    return "; ".join(said)


def _facts(layout: FabricLayout, unit: Unit) -> str:
    """What the checks do not say of the bolt; empty where they say it all."""
    said = []
    on_table = (layout.on_table or layout.bolt).width
    if on_table != layout.bolt.width:
        said.append(f"{both_units(on_table, unit)} wide once washed")
    if layout.hem_edge is None and layout.usable > layout.fit_to_cut and not layout.edge_to_edge:
        beyond = "selvages beyond the print" if layout.bolt.printed else "selvage"
        said.append(f"full widths {both_units(layout.usable, unit)}, their seams in the {beyond}")
    if layout.print_edge is not None:
        line = both_units(layout.print_edge, unit)
        said.append(f"0 across is a line {line} outside the left edge of the print")
    if layout.there is not None:
        said.append(f"{both_units(layout.there.length, unit)} on hand")
        if layout.reserve:
            kept = format_length(layout.reserve, unit)
            said.append(f"{kept} of it kept to find the place in the pattern before it is squared")
    return f"{'; '.join(said)}." if said else ""


def _left_over(layout: FabricLayout, unit: Unit) -> Iterator[Block]:
    """What is left, the largest first; before the list of cuts, so that it never has a page of its own."""
    spare = offcuts(layout, unit)[:_SPARE]
    if spare:
        listed = "; ".join(offcut_words(one.offcut, unit) for one in spare)
        yield Paragraph(f"keep them with fabric and arrow until the drapes hang: {listed}.", "Offcuts:")
