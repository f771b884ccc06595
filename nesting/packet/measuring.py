"""The measuring sheet: what to measure at the window, with what, and the job's own numbers beside it."""

from __future__ import annotations

from collections.abc import Iterator
from functools import lru_cache
from typing import Literal

from nesting.drawing.trace import Drawing, trace
from nesting.drawing.window import WindowLook, window_figure
from nesting.measures import clearance_of
from nesting.packet.facts import WindowFacts
from nesting.packet.model import BLANK, Block, Bullets, Heading, Paragraph, Picture, Section, Table

_RULES = (
    "Hang the rod first, level, with brackets that will carry the finished weight; then measure from the "
    "rod, not from the window frame. The cloth hangs on the rod, and frames and floors are seldom true.",
    "Measure everything with the same tape. Two tapes seldom agree over the length of a drape.",
    "Measure every height at the left, in the centre and at the right, and write all three down. For "
    "drapes that clear the floor the shortest decides.",
    "Measure the rod at its thickest section where it comes in two or pulls out.",
    "Have somebody else read the numbers back before anything is bought.",
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
    yield Heading(f"{window.name}{count}")
    look = _look(facts)
    alt = (
        f"Sketch of {window.name}: rod on two brackets, drape, sill and floor, with a letter at each "
        "dimension, and the rod seen from above. Not to scale."
    )
    yield Picture(_sketch(look), alt, "Not to scale. The letters are those of the table.")
    rows = tuple(_rows(facts))
    yield Table(
        f"{window.name}: dimensions",
        ("", "what to measure", "the job says", "left", "centre", "right"),
        rows,
        "clrccc",
        (0.5, 5, 2, 1.2, 1.2, 1.2),
    )
    if facts.making.diameter_assumed and facts.style.needs_diameter(facts.making):
        text = (
            f"The job does not give B. {facts.making.say(facts.making.rod_diameter)} was assumed, and "
            "sizes depend on it: measure the rod and plan again before cutting."
        )
        yield Paragraph(text, "Assumed:", "warning")


@lru_cache(maxsize=32)
def _sketch(look: WindowLook) -> Drawing:
    return trace(window_figure(look))


def _look(facts: WindowFacts) -> WindowLook:
    above = facts.style.above_rod(facts.making).exact
    top: Literal["above", "below", "at"] = "above" if above > 0 else "below" if above < 0 else "at"
    lone = facts.hangings[0].leading if len(facts.hangings) == 1 else None
    return WindowLook(
        top=top,
        hem="on" if clearance_of(facts.making) < 0 else "above",
        panels=len(facts.hangings),
        leading=lone,
        returns=bool(facts.making.returns),
        overlap=bool(facts.making.overlap) and len(facts.hangings) > 1,
    )


def _rows(facts: WindowFacts) -> Iterator[tuple[str, ...]]:
    """Letter, what it is, what the job says, and boxes for three readings."""
    making, window = facts.making, facts.window
    say, one, three = making.say, (BLANK, "", ""), (BLANK, BLANK, BLANK)
    yield ("A", "rod to be covered, from bracket to bracket", say(window.rod), *one)
    thick = BLANK if making.diameter_assumed else say(making.rod_diameter)
    yield ("B", "thickness of the rod, at its thickest section", thick, *one)
    returned = say(making.returns) if making.returns else "none"
    yield ("C", "return: from the wall to the front of the rod", returned, *one)
    if len(facts.hangings) > 1:
        yield (
            "D",
            "overlap at the centre, both panels together",
            say(making.overlap) if making.overlap else "none",
            *one,
        )
    height = BLANK if window.rod_height is None else say(window.rod_height)
    yield ("E", f"top of the {_eye(facts)} to the floor", height, *three)
    yield ("F", "finished length: top edge of the cloth to its hem edge", say(making.finished.total), *three)
    known = window.clearance is not None or window.rod_height is not None
    yield ("G", _foot(facts), say(abs(clearance_of(making))) if known else BLANK, *three)
    above = facts.style.above_rod(making).total
    side = "above" if above >= 0 else "below"
    yield ("H", f"top edge of the cloth {side} the top of the {_eye(facts)}", say(abs(above)), *one)
    yield ("J", f"top of the {_eye(facts)} to the sill", BLANK, *three)


def _eye(facts: WindowFacts) -> str:
    return "track or ring eyes" if facts.style.pleated else "rod"


def _foot(facts: WindowFacts) -> str:
    if clearance_of(facts.making) < 0:
        return "puddle: cloth lying on the floor"
    return "clearance: hem edge above the floor"
