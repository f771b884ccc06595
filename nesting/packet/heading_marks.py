"""Where tabs, rings or pleats go along a panel: to scale, and in figures from its left edge."""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from typing import Final

from nesting.drawing.heading_strip import heading_figure, stretches
from nesting.drawing.lettering import ENLARGED
from nesting.drawing.trace import enlarged, trace
from nesting.names import plural_of
from nesting.packet.facts import WindowFacts, listed, plural
from nesting.packet.model import Block, Paragraph, Picture, Table
from nesting.pieces.piece import HeadingPlan, HeadingSpot
from nesting.units import Unit, format_length, unit_words

#: Of more marks the appendix alone tells where each begins and ends.
_MOST: Final = 40
_HEADS: Final = ("no.", "from", "to", "center", "clear to the next", "center to center")
_WEIGHTS: Final = (0.7, 1, 1, 1, 1.4, 1.4)
#: Which of these columns points have.
_OF_POINTS: Final = (0, 3, 5)


def heading_marks(facts: WindowFacts, width: float) -> Iterator[Block]:
    """The strip of each different heading with its distances, ``width`` points wide."""
    for heads in _alike(facts):
        head, unit, sides = heads[0], facts.unit, _sides(heads)
        remarks = list(dict.fromkeys(remark for one in heads for remark in one.remarks))
        marks = [spot for spot in head.spots if spot.kind != "space"]
        if marks:
            flat = facts.making.say(head.width)
            remarks.append(
                f"{plural(len(marks), marks[0].kind)} on {flat} flat, above the strip the center of each "
                f"from the left edge, in {unit_words(unit)}"
            )
        if remarks:
            yield Paragraph("; ".join(remarks) + ".", f"Heading, {sides}:")
        if not marks:
            continue
        yield from _strips(facts, heads, width, titled=False)
        if len(marks) > _MOST:
            yield Paragraph(
                f"where each of the {len(marks)} begins and ends: appendix.", f"{sides.capitalize()}:"
            )
            continue
        if any(spot.start != spot.end for spot in marks):
            yield Paragraph(
                _ends(marks, unit),
                f"{plural_of(marks[0].kind).capitalize()} from and to, {unit_words(unit)}:",
            )


def heading_tables(facts: WindowFacts, width: float) -> Iterator[Block]:
    """The same with one line for each mark, however many there are."""
    for heads in _alike(facts):
        head, unit, sides = heads[0], facts.unit, _sides(heads)
        marks = [spot for spot in head.spots if spot.kind != "space"]
        if not marks:
            continue
        yield from _strips(facts, heads, width, titled=True)
        # A mark that is a point has no beginning and no end.
        points = all(spot.start == spot.end for spot in marks)
        shown = _OF_POINTS if points else tuple(range(len(_HEADS)))
        yield Table(
            f"{facts.window.name}, {sides}: where each {marks[0].kind} goes, from the left edge, "
            f"{unit_words(unit)}",
            tuple(_HEADS[column] for column in shown),
            tuple(tuple(row[column] for column in shown) for row in _spots(marks, unit)),
            "r" * len(shown),
            tuple(_WEIGHTS[column] for column in shown),
        )


def _alike(facts: WindowFacts) -> Iterator[list[HeadingPlan]]:
    """Headings of the same marks, told together."""
    told = dict[tuple[int, tuple[HeadingSpot, ...]], list[HeadingPlan]]()
    for head in facts.headings:
        told.setdefault((head.width, head.spots), []).append(head)
    yield from told.values()


def _sides(heads: list[HeadingPlan]) -> str:
    return listed(["panel" if one.side == "single" else f"{one.side} panel" for one in heads])


def _strips(facts: WindowFacts, heads: list[HeadingPlan], width: float, *, titled: bool) -> Iterator[Picture]:
    head = heads[0]
    marks = [spot for spot in head.spots if spot.kind != "space"]
    alt = (
        f"{facts.window.name}, heading of the {_sides(heads)} to scale: {plural(len(marks), marks[0].kind)} "
        "from the left edge."
    )
    for stretch in stretches(head):
        figure = heading_figure(head, facts.unit, width=width / ENLARGED, stretch=stretch, titled=titled)
        yield Picture(enlarged(trace(figure), ENLARGED), alt)


def _ends(marks: list[HeadingSpot], unit: Unit) -> str:
    """Where each begins and ends, from the left edge: ``1: 0 to 2 · 2: 6 7/8 to 8 7/8``."""

    def say(ticks: int) -> str:
        return format_length(ticks, unit, name=False)

    return " · ".join(f"{spot.number}: {say(spot.start)} to {say(spot.end)}" for spot in marks)


def _spots(marks: list[HeadingSpot], unit: Unit) -> Iterator[tuple[str, ...]]:
    def say(ticks: int) -> str:
        return format_length(ticks, unit, name=False)

    for spot, after in itertools.zip_longest(marks, marks[1:]):
        center = (spot.start + spot.end) // 2
        row = (str(spot.number), say(spot.start), say(spot.end), say(center))
        if after is None:
            yield (*row, "", "")
        else:
            yield (*row, say(after.start - spot.end), say((after.start + after.end) // 2 - center))
