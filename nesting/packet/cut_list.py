"""The cut list: every cut in the order it is made, with boxes to tick and the tape's readings."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator
from typing import Final

from nesting.drawing.wording import drop_words
from nesting.packet.facts import both_units, fabric_words
from nesting.packet.model import TICK_BOX, Block, Bullets, Paragraph, Section, SectionHeading, Table
from nesting.packet.table_work import at_the_table
from nesting.packet.what_is_left import offcut_words, offcuts
from nesting.pieces.piece import LAYERS
from nesting.plan.cut_rows import CutLength, CutList, CutRow, cuts_of
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.shortage import names_left_out
from nesting.units import Unit, format_length

#: What a hand with shears is allowed (common practice, no source).
_TOLERANCE: Final = {"in": "1/8 in in length and 1/4 in in width", "cm": "3 mm in length and 6 mm in width"}
_ARROWS: Final = {"up": "↑", "down": "↓", "left": "←", "right": "→"}

_ORDER: Final = (
    "Direction first: each list below begins with the check which end of the fabric to begin at. A length "
    "begun at the wrong end hangs upside down.",
    "Look the whole length over: lot number, flaws against the light, full width, length as paid for. Note "
    "flaws with their distance from the end.",
    "Square the end where the check says: draw a line across from selvage to selvage with a large square and "
    "cut it. Zero on the tape is this line, and every distance below is read from it.",
    "Lay the fabric right side up with the squared end at your left, so that the left selvage is the far "
    "edge.",
    "Chalk all cuts of the bolt before the first one is made, reading each start and end at both selvages "
    "and in the middle.",
    "Add up: the last end must read as printed. Have a second person read the list back from the chalk "
    "lines.",
    "Cut in the order of the sequence. Hang the first piece that is as long as a panel against the rod, and "
    "only then cut on.",
    "Before a piece leaves the table, turn it over side to side, so that its top stays where it is, chalk "
    "its number and an arrow to TOP on the wrong side, and pin its label there.",
)


def cut_list(plan: Plan, cuts: CutList | None = None) -> Section:
    """The cut list of every bolt; ``cuts`` are the plan's, where they are made already."""
    listed = cuts_of(plan) if cuts is None else cuts
    unit = plan.job.units
    tolerance = _TOLERANCE["in" if unit == "in" else "cm"]
    parts: list[Block] = [
        Bullets(_ORDER, numbered=True),
        Paragraph(
            f"Keep to {tolerance}, and measure each cut at both selvages and in the middle.", "Tolerance:"
        ),
        Paragraph(
            "cut is the number of the piece, on the marker, on its label and in the steps alike. wide and "
            "long are its cut size as it hangs; left and right are its own when it lies right side up, TOP "
            "away from you. from and to are distances along the bolt from the squared end, across is the "
            "distance from the left: the checks say from which line. Tick the first two boxes "
            "when start and end have been read at the left and at the right selvage, the third when the "
            "piece is cut and labeled. The arrow is the direction of TOP on the fabric, ↑ away from the "
            "squared end, with the letter of a drop match behind it.",
            "How to read it:",
        ),
    ]
    for length in listed.lengths:
        parts += _bolt(plan, length, listed.numbers)
    parts += _adding_up(plan)
    return Section("cut-list", "Cut list", tuple(parts))


def _bolt(plan: Plan, length: CutLength, numbers: Numbering) -> Iterator[Block]:
    unit, layout = plan.job.units, length.layout
    title = fabric_words(layout, numbers)
    yield SectionHeading(title)
    shrinkage = plan.job.fabric(layout.fabric.key).shrinkage
    if shrinkage is not None and shrinkage.washed == "before":
        yield Paragraph(
            "wash and dry the whole length before it is squared and measured. Widths, repeat and every size "
            "below are those after washing.",
            "Wash first:",
            "warning",
        )
    yield Paragraph(_facts(layout, unit))
    if any(cut.line is not None for cut in length.rows):
        stepped = layout.fabric.repeat is not None and layout.fabric.repeat.step
        yield Paragraph(
            "one line of the pattern, the same on every cut: find it where the list puts it, or beside that "
            "by as much as the repeat has drifted, and measure the cut from there."
            + (
                " Look for it on the cut itself: in the next column it stands higher or lower."
                if stepped
                else ""
            ),
            "Start line:",
        )
    rows = tuple(_row(cut, numbers, unit) for cut in length.rows)
    count = sum(cut.count for cut in length.rows)
    boxes = ("L", "R", "done")
    heads = ("cut", *boxes, "piece", "pcs", "wide", "long", "from", "to", "across", "TOP", "left on bolt")
    weights = (0.65, 0.42, 0.42, 0.9, 4.8, 0.8, 1.1, 1.2, 1.2, 1.2, 1.1, 1.5, 1.2)
    foot = ("", "", "", "", "pieces in all", str(count), "", "", "", "", "", "", "")
    yield Table(f"{title}: cuts, {unit}", heads, rows, "rccclrrrrrrlr", weights, (foot,), small=True)
    yield from at_the_table(plan.job, layout, numbers)
    yield from _after(layout, unit)


def _facts(layout: FabricLayout, unit: Unit) -> str:
    said = [
        f"Bolt {both_units(layout.bolt.width, unit)} wide as sold, measured ______",
        f"usable width {both_units(layout.fit_to_cut, unit)}",
    ]
    on_table = (layout.on_table or layout.bolt).width
    if layout.hem_edge is not None:
        said.append(f"{layout.hem_edge} selvage kept, it is the hem")
    elif layout.usable > layout.fit_to_cut and not layout.edge_to_edge:
        beyond = "selvages beyond the print" if layout.bolt.printed else "selvage"
        said.append(f"full widths {both_units(layout.usable, unit)}, their seams in the {beyond}")
    if on_table != layout.bolt.width:
        said.insert(1, f"{both_units(on_table, unit)} wide once washed")
    if layout.print_edge is not None:
        line = both_units(layout.print_edge, unit)
        said.append(f"0 across is a line {line} outside the left edge of the print")
    if layout.fabric.repeat is not None:
        repeat = layout.fabric.repeat
        said.append(f"repeat {both_units(repeat.length, unit)} long, measured ______")
    nap = {"one-way": "one-way nap: all arrows alike", "two-way": "panels of a room lie alike"}
    said.append(nap.get(layout.fabric.nap, "no nap, but panels of a room lie alike"))
    if layout.there is not None:
        said.append(f"{both_units(layout.there.length, unit)} on hand")
        if layout.reserve:
            kept = format_length(layout.reserve, unit)
            said.append(f"{kept} of it kept to find the place in the pattern before it is squared")
    for flaw in layout.flaws:
        sizes = (flaw.y, flaw.y + flaw.length, flaw.x, flaw.x + flaw.width)
        at, end, left, right = (format_length(size, unit, name=False) for size in sizes)
        said.append(f"flaw from {at} to {end}, across {left} to {right} {unit}: chalk round it first")
    if layout.squaring:
        said.append(f"{format_length(layout.squaring, unit)} is cut off to square the end")
    return "; ".join(said) + "."


def _row(cut: CutRow, numbers: Numbering, unit: Unit) -> tuple[str, ...]:
    def say(ticks: int) -> str:
        return format_length(ticks, unit, name=False)

    return (
        cut.name,
        TICK_BOX,
        TICK_BOX,
        TICK_BOX,
        what(cut, unit, numbers),
        str(cut.count),
        say(cut.wide),
        say(cut.long),
        say(cut.start),
        say(cut.end),
        say(cut.across) if cut.across else "0",
        f"{_ARROWS[cut.top]} {drop_words(cut.first)}".rstrip(),
        "" if cut.left is None else say(cut.left),
    )


def what(cut: CutRow, unit: Unit, numbers: Numbering, *, lines: bool = True) -> str:
    """The piece with everything its maker must see to; without ``lines`` but for its start line."""
    laid, group = cut.first, cut.group
    piece, said = laid.piece, [cut.title]
    if laid.done:
        said.append("cut already")
    if group.count > 1:
        said.append(group.arranged)
    elif piece.copies > 1:
        said.append(f"{laid.copy} of {piece.copies}")
    if piece.hem_line and piece.role in LAYERS:
        said.append(f"hem line {format_length(piece.hem_line, unit)} above the lower edge")
    if piece.finished_length is not None and piece.role in LAYERS:
        said.append(f"finishes {format_length(piece.finished_length, unit)} long")
    said += [*piece.notes, *numbers.seams(laid)]
    if lines and cut.line is not None:
        above = format_length(cut.line - cut.start, unit)
        said.append(f"start line at {format_length(cut.line, unit)}, {above} above the lower edge")
    if laid.letter:
        said.append(f"{drop_words(laid)}, chalk the match line beside the cut line")
    if laid.turn:
        said.append("turned: its width runs along the bolt, its length across")
    return "; ".join(said)


def _after(layout: FabricLayout, unit: Unit) -> Iterator[Block]:
    """What is left."""
    spare = offcuts(layout, unit)
    if spare:
        listed = tuple(f"{offcut_words(one.offcut, unit)}, for {one.use}" for one in spare)
        yield Paragraph("keep them, marked with fabric and arrow, until the drapes hang.", "Offcuts:")
        yield Bullets(listed)


def _adding_up(plan: Plan) -> Iterator[Block]:
    """The piece list beside what is laid: the counts must agree."""
    laid = Counter(laid.piece.id for layout in plan.layouts for laid in layout.placements)
    rows = tuple(
        (
            piece.name,
            plan.job.fabric(piece.fabric).title,
            _size(piece.width, piece.length, plan.job.units),
            str(piece.copies),
            str(laid[piece.id]),
        )
        for piece in plan.pieces
    )
    total = ("all pieces", "", "", str(sum(p.copies for p in plan.pieces)), str(laid.total()))
    yield SectionHeading("Pieces, counted")
    yield Table(
        "Every piece of the job: how many are needed, how many the cut list has",
        ("piece", "fabric", "cut size", "needed", "on the list"),
        rows,
        "lllrr",
        (4, 2, 2.4, 1, 1.2),
        (total,),
    )
    yield from left_out(plan)


def left_out(plan: Plan) -> Iterator[Block]:
    """What is not cut: windows and extras that the fabric on hand does not hold, then optional pieces."""
    for short in plan.shortfalls:
        fabric = plan.job.fabric(short.fabric).title
        yield Paragraph(
            f"{names_left_out(plan, short)}: not enough {fabric} on hand; see the first page.",
            "Left out:",
            "warning",
        )
    yield from optional_left_out(plan)


def optional_left_out(plan: Plan) -> Iterator[Block]:
    """Optional pieces that no room was left for."""
    unit = plan.job.units
    for out in plan.left_out:
        if not out.window:
            name = next((piece.name for piece in plan.pieces if piece.id == out.piece), out.piece)
            more = format_length(out.shortfall, unit)
            yield Paragraph(f"{name}, {out.copies}: another {more} of fabric would be needed.", "Left out:")


def _size(width: int, length: int, unit: Unit) -> str:
    return f"{format_length(width, unit, name=False)} × {format_length(length, unit)}"
