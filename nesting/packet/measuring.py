"""The measuring sheet: what to measure at the window, with what, and the job's own numbers beside it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

from nesting.cutting.measures import clearance_of
from nesting.drawing.trace import Drawing, trace
from nesting.drawing.window import WindowLook, window_figure
from nesting.headings.hanging import hanger
from nesting.packet.facts import WindowFacts
from nesting.packet.model import BLANK, Block, Bullets, Paragraph, Picture, Section, SectionHeading, Table
from nesting.units import round_nearest

_RULES = (
    "Hang the rod first, level, with brackets that will carry the finished weight; then measure from the "
    "rod, not from the window frame. The fabric hangs on the rod, and frames and floors are seldom true.",
    "Measure everything with the same tape. Two tapes seldom agree over the length of a drape.",
    "Measure every height at the left, in the center and at the right, and write all three down. For "
    "drapes that clear the floor use the shortest.",
    "Measure the rod at its thickest section where it comes in two or pulls out.",
    "Have somebody else read the numbers back before anything is bought.",
)
_LETTERS = (
    "Not to scale. The letters name the measures in the table; they are not those of fabrics, cuts or drops."
)


def measuring(facts: tuple[WindowFacts, ...]) -> Section:
    """The measuring sheet of every window."""
    blocks: list[Block] = [Bullets(_RULES, numbered=True)]
    for each in facts:
        blocks += _sheet(each)
    return Section("measuring", "Measuring sheet", tuple(blocks))


def _sheet(facts: WindowFacts) -> Iterator[Block]:
    window = facts.window
    count = f", {window.count} alike: measure each" if window.count > 1 else ""
    yield SectionHeading(f"{window.name}{count}")
    look = window_look(facts)
    alt = (
        f"Sketch of {window.name}: rod on two brackets, drape, sill and floor, with a letter at each "
        "dimension, and the rod seen from above. Not to scale."
    )
    yield Picture(_sketch(look), alt, _LETTERS)
    rows = tuple(dimensions(facts))
    yield Table(
        f"{window.name}: dimensions",
        ("", "what to measure", "the job says", "left", "center", "right"),
        rows,
        "clrccc",
        (0.5, 5, 2, 1.2, 1.2, 1.2),
    )
    yield from assumptions(facts)


def assumptions(facts: WindowFacts) -> Iterator[Paragraph]:
    """What was assumed, to be measured before anything is cut."""
    for letter, assumed, what in _assumed(facts):
        text = (
            f"the job does not give measure {letter}, {what}. {assumed} was assumed, and sizes depend on it: "
            "measure it and plan again before cutting."
        )
        yield Paragraph(text, "Assumed:", "warning")


def measures(facts: WindowFacts) -> Iterator[tuple[str, str, str]]:
    """Letter, what it is, and what was ordered, of all that the job gives."""
    return ((letter, what, said) for letter, what, said, *_ in dimensions(facts) if said != BLANK)


def _assumed(facts: WindowFacts) -> Iterator[tuple[str, str, str]]:
    """Letter, size and what to measure of everything that was assumed."""
    making, window = facts.making, facts.window
    if making.diameter_assumed and facts.style.needs_diameter(making):
        yield "B", making.say(making.rod_diameter), "the rod"
    drop = facts.style.usual_drop(making)
    if drop is not None and window.ring_drop is None and window.rod_height is not None:
        yield "R", making.say(drop.total), "a ring with its clip on the rod"


@lru_cache(maxsize=32)
def _sketch(look: WindowLook) -> Drawing:
    return trace(window_figure(look))


def window_look(facts: WindowFacts) -> WindowLook:
    """How the window hangs, for its sketch."""
    above = facts.style.above_hanger(facts.making).exact
    top: Literal["above", "below", "at"] = "above" if above > 0 else "below" if above < 0 else "at"
    lone = facts.hangings[0].leading if len(facts.hangings) == 1 else None
    return WindowLook(
        top=top,
        hem="on" if clearance_of(facts.making) < 0 else "above",
        panels=len(facts.hangings),
        leading=lone,
        returns=bool(facts.making.returns),
        overlap=bool(facts.making.overlap) and len(facts.hangings) > 1,
        hangs=facts.making.hangs_from,
    )


def dimensions(facts: WindowFacts) -> Iterator[tuple[str, ...]]:
    """Letter, what it is, what the job says, and boxes for three readings."""
    making, window = facts.making, facts.window
    say, one, three = making.say, (BLANK, "", ""), (BLANK, BLANK, BLANK)
    track = making.hangs_from == "track"
    ends = "track to be covered, from end to end" if track else "rod to be covered, from bracket to bracket"
    yield ("A", ends, say(window.rod), *one)
    if not track:
        thick = BLANK if making.diameter_assumed else say(making.rod_diameter)
        if window.rod_depth is None:
            yield ("B", "thickness of the rod, at its thickest section", thick, *one)
        else:
            yield ("B", "height of the flat rod, and its depth", f"{thick} x {say(window.rod_depth)}", *one)
    returned = say(making.returns) if making.returns else "none"
    yield ("C", f"return: from the wall to the front of the {'track' if track else 'rod'}", returned, *one)
    if len(facts.hangings) > 1:
        yield (
            "D",
            "overlap at the center, both panels together",
            say(making.overlap) if making.overlap else "none",
            *one,
        )
    given = window.eye_height if track else window.rod_height
    top = hanger(making) if track else "top of the rod"
    yield ("E", f"{top}, to the floor", BLANK if given is None else say(given), *three)
    if making.hangs_from == "rings":
        drop = BLANK if window.ring_drop is None else say(window.ring_drop)
        yield ("R", f"top of the rod to the {hanger(making)}, with the ring on the rod", drop, *one)
    yield ("F", "finished length: top edge of the fabric to its hem edge", say(making.finished.total), *three)
    known = window.clearance is not None or given is not None
    yield ("G", _foot(facts), say(abs(clearance_of(making))) if known else BLANK, *three)
    above = round_nearest(facts.style.above_hanger(making).exact, making.grid)
    if above:
        side = "above" if above > 0 else "below"
        yield ("H", f"top edge of the fabric {side} the {hanger(making)}", say(abs(above)), *one)
    yield ("J", f"{top}, to the sill", BLANK, *three)


def _foot(facts: WindowFacts) -> str:
    if clearance_of(facts.making) < 0:
        return "puddle: fabric lying on the floor"
    return "clearance: hem edge above the floor"
