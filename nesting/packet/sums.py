"""The arithmetic: each sum in letters, with its numbers, and its result, from rod to cut size and spacing."""

from __future__ import annotations

from collections.abc import Iterable, Iterator

from nesting.cutting.measures import lying_length
from nesting.packet.facts import WindowFacts, listed, part_words, plural
from nesting.packet.heading_marks import heading_tables
from nesting.packet.letters import Letters
from nesting.packet.model import Block, Paragraph, Section, SectionHeading, Table
from nesting.packet.seam_table import seam_plans
from nesting.pieces.piece import PanelPlan, Piece, Steps
from nesting.plan.plan import Plan
from nesting.units import Unit


def sums(plan: Plan, facts: tuple[WindowFacts, ...], width: float) -> Section:
    """How every size was worked out, with headings to scale ``width`` points wide."""
    blocks: list[Block] = [
        Paragraph(
            "Each line is a sum as the planner made it: first in letters, then with the numbers of this "
            "job, then its result, which is the size that is cut. Letters A to J and R are those of "
            "the measuring sheet. What a tape cannot show is written as a decimal, and sizes are rounded up "
            "to the tape once, at the end. Side hems, seams and returns are added outside the fullness: "
            "they are flat fabric and make no folds."
        )
    ]
    for each in facts:
        blocks += _window(plan, each, width)
    loose = [piece for piece in plan.pieces if piece.window not in {each.window.name for each in facts}]
    if loose:
        blocks += [
            SectionHeading("Other pieces"),
            *_tables("Other pieces", _piece_lines(loose), plan.job.units),
        ]
    return Section("arithmetic", "Arithmetic", tuple(blocks))


def _window(plan: Plan, facts: WindowFacts, width: float) -> Iterator[Block]:
    window, unit = facts.window, facts.unit
    yield SectionHeading(window.name)
    yield Paragraph(
        f"{_called(facts)}, {float(facts.making.fullness):g} times full, "
        f"{plural(len(facts.hangings), 'panel')}"
        + (f", {window.count} windows alike" if window.count > 1 else "")
        + "."
    )
    lines = [*_panel_lines(facts.panels), *_heading_lines(facts), *_piece_lines(facts.pieces)]
    yield from _tables(window.name, lines, unit)
    for panels in _alike(facts.panels):
        yield Paragraph(
            _joined(facts, panels[0]), f"{listed([_name(panel) for panel in panels]).capitalize()}:"
        )
    yield from seam_plans(plan, window.name)
    yield from heading_tables(facts, width)


def _called(facts: WindowFacts) -> str:
    return f"{facts.window.heading.replace('-', ' ').capitalize()} heading"


def _name(panel: PanelPlan) -> str:
    return f"{panel.key.replace('-', ' ')} panel"


def _alike(panels: Iterable[PanelPlan]) -> Iterator[list[PanelPlan]]:
    """Panels of one width, cut alike, told together."""
    rest = list(panels)
    while rest:
        first = rest[0]
        same = [
            p
            for p in rest
            if (p.flat, p.length, p.cuts, p.seams) == (first.flat, first.length, first.cuts, first.seams)
        ]
        rest = [panel for panel in rest if panel not in same]
        yield same


def _joined(facts: WindowFacts, panel: PanelPlan) -> str:
    say = facts.making.say
    seam = say(facts.making.seam)
    lying = lying_length(facts.making).total
    flat = (
        f"{say(panel.flat)} flat once hemmed, {say(panel.finished)} when it hangs, {say(panel.length)} long"
        + (f", {say(lying)} lying flat" if lying != panel.length else "")
    )
    if len(panel.cuts) == 1:
        return f"one piece {say(panel.cuts[0])} wide, no seam; {flat}."
    cuts = " + ".join(say(cut) for cut in panel.cuts)
    seams = listed([say(at) for at in panel.seams])
    return (
        f"{len(panel.cuts)} widths, from left to right {cuts}, joined with {seam} on each side of a seam; "
        f"the {'seam lies' if len(panel.seams) == 1 else 'seams lie'} {seams} from the left finished edge; "
        f"{flat}. {part_words(facts, panel)}"
    )


Line = tuple[str, Steps]


def _panel_lines(panels: Iterable[PanelPlan]) -> Iterator[Line]:
    seen = dict[Steps, list[str]]()
    for panel in panels:
        for steps in panel.steps:
            seen.setdefault(steps, []).append(_name(panel))
    for steps, names in seen.items():
        yield listed(names), steps


def _heading_lines(facts: WindowFacts) -> Iterator[Line]:
    seen = dict[Steps, list[str]]()
    for head in facts.headings:
        for steps in head.steps:
            seen.setdefault(steps, []).append("panel" if head.side == "single" else head.side)
    for steps, names in seen.items():
        where = "heading" if len(names) == len(facts.headings) else f"heading, {listed(names)}"
        yield where, steps


def _piece_lines(pieces: Iterable[Piece]) -> Iterator[Line]:
    """Each different sum once, with the names of all pieces it holds for."""
    seen = dict[Steps, list[str]]()
    for piece in pieces:
        for steps in (piece.length_steps, piece.width_steps):
            short = piece.name.removeprefix(f"{piece.window}, ")
            seen.setdefault(steps, []).append(short)
    for steps, names in seen.items():
        shown = list(dict.fromkeys(names))
        yield listed(shown), steps


def _tables(name: str, lines: Iterable[Line], unit: Unit) -> Iterator[Block]:
    letters = Letters()
    rows = []
    for where, steps in lines:
        if not steps.terms:
            continue
        target, numbers, result = _parts(steps, unit)
        rows.append((f"{target}: {where}", letters.formula(steps), numbers, result))
    if not rows:
        return
    heads = ("what", "in letters", "with the numbers", "result")
    yield Table(f"{name}: sums", heads, tuple(rows), "lllr", (3.1, 2.3, 4.6, 1.4))
    yield Paragraph(f"{letters.key}.", "Letters:", "note")


def _parts(steps: Steps, unit: Unit) -> tuple[str, str, str]:
    """Target, sum and result, as the planner's own line has them."""
    line = steps.line(unit).removeprefix(f"{steps.target}: ")
    numbers, _, result = line.rpartition(" = ")
    return steps.target, numbers, result
