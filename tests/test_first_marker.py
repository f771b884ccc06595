"""The marker of a first layout: all of the layout, in its place, with the numbers of the plan."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from nesting.drawing.first_marker import first_marker
from nesting.drawing.palette import FLAWED, LOOKS, RUST
from nesting.drawing.trace import Drawing, Outline, Words
from nesting.files import read_job
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.planner import Effort, plan

SAMPLES = Path(__file__).parents[1] / "samples"
NAMES = ("reading-nook", "three-window-house", "remnants", "dining-room")


@cache
def made(name: str) -> Plan:
    effort = Effort(work=0.2, workers=1, layouts_only=True)
    return plan(read_job(SAMPLES / f"{name}.toml"), effort=effort)


def drawn(plan: Plan) -> list[tuple[FabricLayout, Numbering, Drawing]]:
    numbers = numbering(plan.layouts)
    return [(each, numbers, first_marker(each, plan.job.units, numbers)) for each in plan.layouts]


def box(mark: Outline) -> tuple[float, float, float, float]:
    xs = [x for _, points in mark.verbs for x in points[0::2]]
    ys = [y for _, points in mark.verbs for y in points[1::2]]
    return min(xs), min(ys), max(xs), max(ys)


def edges(drawing: Drawing) -> list[Outline]:
    return [m for m in drawing.marks if isinstance(m, Outline) and m.name.startswith("edge:")]


@pytest.mark.parametrize("name", NAMES)
def test_every_piece_is_drawn_as_large_as_it_is(name: str) -> None:
    """The area of all outlines of a number is the area of its piece, at one scale for the whole drawing."""
    for layout, numbers, drawing in drawn(made(name)):
        areas = Counter[str]()
        for mark in edges(drawing):
            left, top, right, bottom = box(mark)
            areas[mark.name] += (right - left) * (bottom - top)
        laid = Counter[str]()
        for each in layout.placements:
            laid[f"edge:{numbers.of(each)}"] += each.width * each.length
        assert set(areas) == set(laid)
        scales = [areas[key] / laid[key] for key in laid]
        assert max(scales) == pytest.approx(min(scales), rel=1e-6)


@pytest.mark.parametrize("name", NAMES)
def test_nothing_lies_outside_the_drawing_and_no_two_pieces_on_each_other(name: str) -> None:
    for _, _, drawing in drawn(made(name)):
        boxes = [box(mark) for mark in edges(drawing)]
        for left, top, right, bottom in boxes:
            assert left >= 0
            assert top >= 0
            assert right <= drawing.width + 1e-6
            assert bottom <= drawing.height + 1e-6
        for at, one in enumerate(boxes):
            for two in boxes[at + 1 :]:
                apart = one[2] <= two[0] or two[2] <= one[0] or one[3] <= two[1] or two[3] <= one[1]
                near = min(
                    min(one[2], two[2]) - max(one[0], two[0]), min(one[3], two[3]) - max(one[1], two[1])
                )
                assert apart or near < 1e-6


@pytest.mark.parametrize("name", NAMES)
def test_words_are_numbers_names_and_stretches_and_lie_in_the_drawing(name: str) -> None:
    for layout, numbers, drawing in drawn(made(name)):
        known = {numbers.of(each) for each in layout.placements}
        known |= {each.piece.name for each in layout.placements}
        words = [mark for mark in drawing.marks if isinstance(mark, Words)]
        others = [mark.text for mark in words if mark.text not in known]
        assert all(" to " in text for text in others), others
        assert {mark.text for mark in words} & known
        assert all(mark.size >= 9 for mark in words)


def test_an_arrow_points_where_the_top_of_the_panel_lies() -> None:
    """The tip comes first; it is the end of the arrow that lies farthest in the direction of TOP."""
    steps = {"up": (1, 0), "down": (-1, 0), "left": (0, -1), "right": (0, 1)}
    for name in NAMES:
        for layout, _, drawing in drawn(made(name)):
            ways = {each.arrow for each in layout.placements}
            if len(ways) > 1:
                continue
            right, down = steps[ways.pop()]
            arrows = [m for m in drawing.marks if isinstance(m, Outline) and m.fill == RUST]
            assert arrows
            for mark in arrows:
                ends = [right * x + down * y for _, (x, y) in mark.verbs[:-1]]
                assert ends[0] == max(ends)


def test_it_has_the_looks_of_the_printed_marker() -> None:
    for layout, _, drawing in drawn(made("three-window-house")):
        fills = {
            (m.fill, m.hatch.pattern if m.hatch else "") for m in drawing.marks if isinstance(m, Outline)
        }
        for role in {each.piece.role for each in layout.placements}:
            assert (LOOKS[role].tint, LOOKS[role].hatch) in fills


def test_flaws_are_shown_on_fabric_on_hand() -> None:
    drawings = [(layout, drawing) for layout, _, drawing in drawn(made("remnants"))]
    flawed = [drawing for layout, drawing in drawings if layout.flaws]
    assert flawed
    for drawing in flawed:
        assert any(isinstance(mark, Outline) and mark.fill == FLAWED for mark in drawing.marks)


def test_many_windows_are_drawn_in_rows_that_stay_low() -> None:
    job = read_job(SAMPLES / "reading-nook.toml")
    many = tuple(replace(job.windows[0], name=f"Window {number}") for number in range(12))
    made = plan(replace(job, windows=many), effort=Effort(work=0.2, workers=1, layouts_only=True))
    layout, _, drawing = max(drawn(made), key=lambda one: len(one[0].placements))
    assert len(layout.placements) > 60
    assert len([m for m in drawing.marks if isinstance(m, Words) and m.text.startswith("Row ")]) > 1
    assert drawing.height <= drawing.width * 1.2


def test_one_plan_is_drawn_the_same_each_time() -> None:
    plan = made("reading-nook")
    again = replace(plan, advice=())
    assert [drawing for _, _, drawing in drawn(plan)] == [drawing for _, _, drawing in drawn(again)]
