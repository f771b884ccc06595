"""A sheet for a window: measures, finished sizes, its pieces, its heading, how it is sewn, cautions."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from fractions import Fraction
from typing import Final, Literal

from nesting.packet.buying import sundry_words
from nesting.packet.cautions import CAUTIONS
from nesting.packet.facts import WindowFacts, both_units, listed, plural, times
from nesting.packet.finished import small_panels
from nesting.packet.heading_marks import heading_marks
from nesting.packet.measuring import assumptions, measures
from nesting.packet.model import BLANK, Beside, Block, Paragraph, Section, SectionHeading, Table
from nesting.packet.print_picture import print_pictures
from nesting.packet.remarks import to_decide
from nesting.packet.room import page_room
from nesting.packet.sewing import handling, making_steps
from nesting.packet.steps_told import sewn_panels
from nesting.pieces.piece import AS_IT_HANGS, LAYERS, Piece
from nesting.plan.numbering import Numbering, in_order_of_number, runs_of
from nesting.plan.paper import Paper
from nesting.plan.plan import Plan
from nesting.sewing import Edge, Work
from nesting.units import format_length

#: What the table of measures takes of the width beside the picture of the panel.
_SHARE: Final = 0.65


def window_sheets(
    plan: Plan, facts: tuple[WindowFacts, ...], numbers: Numbering, paper: Paper
) -> Iterator[Section]:
    """A sheet for each window of the job; windows alike have one."""
    patterns = dict(print_pictures(plan, page_room(paper)))
    for number, each in enumerate(facts, 1):
        pattern = patterns.get(each.window.name)
        blocks = (
            Paragraph(_called(each)),
            *to_decide(plan, window=each.window.name),
            *_measures(each, paper),
            *_panels(each),
            *(() if pattern is None else (pattern,)),
            *_pieces(each, numbers),
            *heading_marks(each, page_room(paper)),
            *_notions(plan, each),
            # Before the steps: read first, and never on a page of their own.
            CAUTIONS,
            SectionHeading("How it is sewn"),
            handling(each),
            making_steps(each),
        )
        yield Section(f"window-{number}", f"Window sheet: {each.window.name}", blocks, "window")


def _called(facts: WindowFacts) -> str:
    """Heading, fullness, panels, fabrics."""
    window = facts.window
    said = [
        *([window.room] if window.room else []),
        f"{window.heading.replace('-', ' ')} heading",
        f"{float(facts.making.fullness):g} times full",
        plural(len(facts.hangings), "panel"),
    ]
    if window.count > 1:
        said.append(f"{window.count} windows alike")
    fabrics = [facts.fabric.title]
    for role, key in (("lining", window.lining), ("interlining", window.interlining)):
        title = next((fabric.title for fabric in facts.fabrics if fabric.key == key), None)
        if title is not None:
            fabrics.append(f"{role} {title}")
    said.append(f"of {listed(fabrics)}")
    return f"{', '.join(said)}. Left and right as seen from the room."


def _measures(facts: WindowFacts, paper: Paper) -> Iterator[Block]:
    rows = tuple((*row, BLANK) for row in measures(facts))
    table = Table(
        "Measures ordered: read each once more at the window before you cut",
        ("", "what", "ordered", "measured"),
        rows,
        "clrc",
        (0.4, 5.6, 1.5, 1.5),
    )
    room = page_room(paper) * (1 - _SHARE)
    pictures = small_panels(facts, room)
    yield Beside(table, pictures[0], _SHARE) if pictures else table
    yield from pictures[1:]
    yield from assumptions(facts)


def _panels(facts: WindowFacts) -> Iterator[Block]:
    """Finished sizes, read from the panels as the steps make them, and the hems of all."""
    say, made = facts.making.say, sewn_panels(facts)
    rows = dict[tuple[str, ...], list[str]]()
    for panel in facts.panels:
        work, hung = made[panel.key]
        sizes = (
            say(work.width),
            say(panel.finished if work.drawn is None else work.drawn),
            say(work.length),
            say(hung),
            listed([say(seam.at) for seam in work.seams]) if work.seams else "none",
        )
        rows.setdefault(sizes, []).append(panel.key.replace("-", " "))
    heads = ("panel", "wide, flat", "wide, hung", "long, flat", "long, hung", "seams from the left edge")
    told = tuple((listed(names), *sizes) for sizes, names in rows.items())
    yield Table("Finished sizes", heads, told, "lrrrrl", (2, 1.3, 1.3, 1.3, 1.3, 3))
    hems = dict.fromkeys("; ".join(_hems(work, facts)) for work, _ in made.values())
    yield Paragraph(f"{'. '.join(hems)}.", "Hems:")


def _hems(work: Work, facts: WindowFacts) -> Iterator[str]:
    """The hems of a panel as it was sewn, in a pair by the edge where it meets the other one."""
    say, bottom = facts.making.say, work.edge("bottom")
    yield f"bottom {_turned(bottom, say)}" if bottom.turns else "bottom: the selvage"
    leading = next(hanging.leading for hanging in facts.hangings if hanging.key == work.name)
    both: tuple[Literal["left", "right"], ...] = ("left", "right")
    sides = {side: _turned(work.edge(side), say) for side in both}
    if len(set(sides.values())) == 1:
        yield f"both sides {sides['left']}"
    elif leading is None:
        yield f"left {sides['left']}, right {sides['right']}"
    else:
        outer = next(side for side in both if side != leading)
        yield f"leading edge {sides[leading]}, outer edge {sides[outer]}"
    for layer in work.layers:
        edge = layer.work.edge("bottom")
        if layer.work.name.rpartition(" ")[2] == "lining" and edge.turns:
            long, gap = say(layer.work.length), say(layer.up)
            yield f"lining {_turned(edge, say)}, {long} long, ends {gap} above the hem edge"


def _turned(edge: Edge, say: Callable[[Fraction], str]) -> str:
    """A hem as it was folded."""
    if not edge.turns:
        return "the selvage"
    if edge.inner == "seam":
        return f"{say(edge.depth)} of the face round to the back"
    return f"{say(edge.depth)} turned {times(len(edge.turns))}"


def _pieces(facts: WindowFacts, numbers: Numbering) -> Iterator[Block]:
    """What it is made of, with the numbers of marker and labels."""
    rows = tuple(row for piece in facts.pieces for row in _piece_rows(facts, piece, numbers))
    if rows:
        heads = ("cuts", "piece", "pcs", "cut size", "sewn to, right side up; remarks")
        yield Table("Its pieces", heads, rows, "llrrl", (1.7, 2.5, 0.6, 2.3, 4.9))


def _piece_rows(facts: WindowFacts, piece: Piece, numbers: Numbering) -> Iterator[tuple[str, ...]]:
    """One line for all copies, or for each where it is sewn to another piece by its number."""
    unit = facts.unit
    copies = [[copy] for copy in range(1, piece.copies + 1)]
    if not piece.joined_to:
        copies = [[copy for (copy,) in copies]]
    size = f"{format_length(piece.width, unit, name=False)} × {format_length(piece.length, unit)}"
    name = piece.name.removeprefix(f"{piece.window}, ")
    for some in copies:
        found = [numbers.numbers.get((piece.id, copy), "") for copy in some]
        called = runs_of(in_order_of_number(number for number in found if number)) or "not cut"
        said = [seam.removeprefix("seam to ") for seam in numbers.seams_of(piece, some[0])]
        said += [note for note in piece.notes if piece.role not in LAYERS or note.startswith(AS_IT_HANGS)]
        yield called, name, str(len(some)), size, "; ".join(said)


def _notions(plan: Plan, facts: WindowFacts) -> Iterator[Block]:
    """What else it takes: its own, and what is bought for the whole job."""
    window, unit = facts.window, facts.unit
    what = "track with gliders" if facts.making.hangs_from == "track" else "rod with brackets"
    said = [f"{what}, {window.count} of {both_units(window.rod, unit)}"]
    for sundry in plan.sundries:
        if sundry.window in (None, "", window.name):
            name, amount, about, note = sundry_words(sundry, unit)
            words = f"{name}, {amount}" if amount else name
            said.append(f"{words}{f' ({note})' if note else ''}{'' if about else ', for the whole job'}")
    yield Paragraph(f"{'; '.join(said)}.", "Also needed:")
