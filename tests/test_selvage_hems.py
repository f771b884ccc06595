"""A hem that is the selvage lies on the fabric's own edge. All data invented, in inches; sums by hand."""

from __future__ import annotations

import itertools
from collections.abc import Callable
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from orders import inch

from nesting.check import Breach, check_layout, check_plan_document
from nesting.errors import DoesNotFitError, JobError
from nesting.files import plan_document, read_job_text
from nesting.packing import Part, Problem, Strip, pack
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.planner import Effort, plan
from tests.seeds import examples

ORDER = """
units = "in"
[fabric.face]
{fabric}
[[fabric.face.bolt]]
width = 118
{bolt}
[[window]]
name = "East"
rod = 84
finished_length = {length}
heading = "clip-ring"
rod_diameter = 1
bottom_hem = "selvage"
fullness = 2
{window}
"""


def planned(length: str, fabric: str = "", bolt: str = "", window: str = "", work: float = 0.5) -> Plan:
    """The plan, which must pass the independent check as a document too."""
    text = ORDER.format(length=length, fabric=fabric, bolt=bolt, window=window)
    made = plan(read_job_text(text), effort=Effort(work=work, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    return made


def laid(made: Plan) -> FabricLayout:
    (layout,) = made.layouts
    return layout


def test_the_bottom_edge_lies_on_the_right_edge_of_the_fabric() -> None:
    # 113 finished and the top hem 2 x 2 = 117 long; the bottom takes nothing. Selvages of 1/2: 117 from the
    # right edge, 118, begin at 1, clear of the left one. Each 42 x 2 + 4 = 88: one after the other, 176.
    layout = laid(planned("113"))
    assert (layout.length, layout.bound.length) == (inch(176), inch(176))
    assert layout.railroaded
    assert layout.usable == layout.full_width == inch(118)
    assert {(one.x, one.width, one.turn, one.arrow) for one in layout.placements} == {
        (inch(1), inch(117), 90, "left")
    }
    assert all("bottom edge: the right selvage, not cut off and not hemmed" in one.piece.notes
               for one in layout.placements)  # fmt: skip


def test_the_job_says_which_edge_is_weighted_or_bordered() -> None:
    layout = laid(planned("113", fabric='hem_edge = "left"'))
    assert {(one.x, one.turn, one.arrow) for one in layout.placements} == {(0, 90, "right")}


def test_one_selvage_counts_as_fabric_and_the_other_is_left_off() -> None:
    # Drop, top hem 4 and one selvage of 1/2 are at most the width, 118: a drop of 113 1/2.
    layout = laid(planned('"113 1/2"'))
    assert {(one.x, one.width) for one in layout.placements} == {(inch("1/2"), inch("117 1/2"))}
    with pytest.raises(
        DoesNotFitError, match="cut length 117 9/16 in is more than the usable width and one sel"
    ) as refused:
        planned('"113 9/16"')
    assert 'bottom_hem = "selvage": expected a hem such as { turn = 4, turns = 2 }' in str(refused.value)


@pytest.mark.parametrize(
    "hem", ['side_hem = "selvage"', 'leading_hem = "selvage"', 'side_hem = { turn = 1, outer = "selvage" }']
)
def test_side_hems_that_are_the_selvage_are_not_cut_across_first(hem: str) -> None:
    """The engine once refused such a job in words of its own, after the first search."""
    text = ORDER.format(length=90, fabric="", bolt="", window=hem).replace('bottom_hem = "selvage"', "")
    with pytest.raises(JobError, match='"free" where a hem is the selvage: such panels must lie at one edge'):
        read_job_text(f'cutting = "across-first"\n{text}')
    # Cut turned the sides are cut edges and hemmed as usual, so nothing keeps to an edge.
    turned = text.replace("heading =", 'railroad = "yes"\nheading =')
    made = plan(read_job_text(f'cutting = "across-first"\n{turned}'), effort=Effort(work=0.1, workers=1))
    assert not any(piece.hem_edge for piece in made.pieces)


def test_washed_before_cutting_the_edge_is_that_of_the_washed_fabric() -> None:
    # 118 less 2 % = 115.64: the right edge as it lies on the table.
    layout = laid(planned("100", fabric='shrinkage = { length = 0, width = 2, washed = "before" }'))
    edge = inch(118) * 98 // 100
    assert {one.x + one.width for one in layout.placements} == {edge}


def test_no_two_panels_share_the_one_edge_but_other_pieces_lie_beside_them() -> None:
    # Short ones, 40 + 4 = 44 long, could lie two beside each other on 118, but for the one edge: 2 x 88.
    # Cushions of 18 lie beside them, off the left selvage of 1/2.
    extra = '[[extra]]\nname = "Cushion"\nwidth = 18\nlength = 18\ncount = 4'
    layout = laid(planned("40", window=extra))
    panels = [one for one in layout.placements if one.piece.role == "panel"]
    assert {one.x + one.width for one in panels} == {inch(118)}
    assert sorted(one.y for one in panels) == [0, inch(88)]
    assert layout.length == inch(176)
    others = [one for one in layout.placements if one.piece.role != "panel"]
    assert len(others) == 4
    assert all(inch("1/2") <= one.x and one.x + one.width <= inch(118 - 44) for one in others)


def test_on_a_length_on_hand_too() -> None:
    layout = laid(planned("40", bolt="on_hand = [{ length = 200 }]"))
    assert {(one.x, one.turn) for one in layout.placements} == {(inch(118 - 44), 90)}


def test_all_rooms_of_a_fabric_use_the_same_edge() -> None:
    more = """
[[window]]
name = "West"
room = "Den"
rod = 20
finished_length = 30
heading = "clip-ring"
rod_diameter = 1
bottom_hem = "selvage"
"""
    layout = laid(planned("40", window=more))
    assert {one.x + one.width for one in layout.placements} == {inch(118)}


@pytest.mark.parametrize(
    ("said", "place", "told"),
    [
        ({"fabric": "repeat = { length = 12, width = 13 }"}, "bottom_hem", "a matched print"),
        ({"fabric": "repeat = {length=12, width=13, sideways=true}"}, "bottom_hem", "a matched print"),
        ({"fabric": 'nap = "one-way"'}, "bottom_hem", "a one-way nap"),
        ({"window": 'railroad = "no"'}, "railroad", '"auto" or "yes"'),
        ({"bolt": "on_hand = [{ length = 400, usable = 110 }]"}, "usable", "where a hem is the selvage"),
    ],
)  # fmt: skip
def test_where_no_edge_can_be_the_selvage_it_is_refused_with_the_remedy(
    said: dict[str, str], place: str, told: str
) -> None:
    with pytest.raises(JobError) as refused:
        planned("40", **said)
    assert any(place in fault.place and told in fault.expected for fault in refused.value.faults)
    assert any("{ turn = 4, turns = 2 }" in fault.expected for fault in refused.value.faults)


# The check, by itself


def spoiled(change: Callable[[dict[str, Any]], object], length: str = "40", fabric: str = "") -> set[Breach]:
    document = plan_document(planned(length, fabric=fabric))
    change(document)
    return {broken.kind for broken in check_plan_document(document)}


def move(far: float) -> Callable[[dict[str, Any]], None]:
    def change(document: dict[str, Any]) -> None:
        for at in document["layouts"][0]["placements"]:
            at["x"] += far

    return change


def test_the_check_measures_from_the_edge_of_the_fabric() -> None:
    assert spoiled(lambda _: None) == set()
    assert Breach.HEM in spoiled(move(-0.5))
    assert Breach.HEM in spoiled(move(0.0004921), fabric='hem_edge = "left"')
    # Off the fabric it is outside as well.
    assert {Breach.HEM, Breach.OUTSIDE} <= spoiled(move(0.5))


def test_the_check_knows_a_layout_inside_the_selvages() -> None:
    def inside(document: dict[str, Any]) -> None:
        layout = document["layouts"][0]
        layout["usable_width"] = 117.0
        move(-1.0)(document)

    # What used to be planned: the bottom a raw edge, half an inch inside.
    assert Breach.HEM in spoiled(inside)


def test_the_check_knows_a_crosswise_cut_and_a_wrong_edge() -> None:
    def upright(document: dict[str, Any]) -> None:
        for at in document["layouts"][0]["placements"]:
            at["turn"], at["arrow"] = 0, "up"
            at["width"], at["length"] = at["length"], at["width"]

    assert Breach.HEM in spoiled(upright)

    def other_edge(document: dict[str, Any]) -> None:
        document["order"]["fabrics"][0]["hem_edge"] = "left"

    assert Breach.HEM in spoiled(other_edge)

    def claimed(document: dict[str, Any]) -> None:
        del document["order"]["windows"][0]["bottom_hem"]

    assert Breach.HEM in spoiled(claimed)

    def forgotten(document: dict[str, Any]) -> None:
        for piece in document["pieces"]:
            piece["hem_edge"] = None

    assert Breach.HEM in spoiled(forgotten)

    def hemmed_besides(document: dict[str, Any]) -> None:
        document["pieces"][0]["hem_line"] = 8.0

    assert Breach.HEM in spoiled(hemmed_besides)


def test_the_check_leaves_the_other_selvage_off() -> None:
    def wider(document: dict[str, Any]) -> None:
        document["layouts"][0]["fit_width"] = 80.0

    # Said to be 80 fit to cut, selvages are 19 each: 117 long, a panel lies on both.
    assert Breach.OUTSIDE in spoiled(wider, length="113")


# The engine: one place across


def least_by_trying(problem: Problem) -> int:
    """The shortest of all layouts of parts at whole numbers, each clear of the edges as it must be."""
    (strip,) = problem.strips
    copies = [part for part in problem.parts for _ in range(part.copies)]
    longest = sum(part.length for part in copies)
    for length in range(max(part.length for part in copies), longest + 1):
        spots = [
            [
                (x, y, x + part.width, y + part.length)
                for x in range(part.clear[0], strip.width - part.clear[1] - part.width + 1)
                for y in range(length - part.length + 1)
            ]
            for part in copies
        ]
        if _together(spots, []):
            return length
    return longest


def _together(spots: list[list[tuple[int, ...]]], laid: list[tuple[int, ...]]) -> bool:
    if not spots:
        return True
    return any(
        _together(spots[1:], [*laid, spot])
        for spot in spots[0]
        if all(spot[0] >= o[2] or o[0] >= spot[2] or spot[1] >= o[3] or o[1] >= spot[3] for o in laid)
    )


@examples(25)
@given(st.data())
def test_parts_held_at_an_edge_are_packed_as_short_as_can_be(data: st.DataObject) -> None:
    width = data.draw(st.integers(4, 6))
    parts = []
    for number in range(data.draw(st.integers(1, 2))):
        wide = data.draw(st.integers(2, width))
        clear = (width - wide, 0) if data.draw(st.booleans()) else (0, width - wide)
        parts.append(Part(f"held {number}", wide, data.draw(st.integers(1, 3)), clear=clear))
    for number in range(data.draw(st.integers(0, 2))):
        parts.append(
            Part(
                f"free {number}",
                data.draw(st.integers(1, width - 2)),
                data.draw(st.integers(1, 3)),
                clear=(1, 1),
            )
        )
    problem = Problem((Strip(width),), tuple(parts))
    result = pack(problem, work_limit=2.0, workers=1)
    assert result.length == result.bound.length == least_by_trying(problem)
    assert check_layout(problem, result.placements, result.length) == ()
    for part, copy in itertools.product(range(len(parts)), (1,)):
        at = next(one for one in result.placements if (one.part, one.copy) == (part, copy))
        assert at.x >= parts[part].clear[0]


# Side hems

SIDES = """
units = "in"
[fabric.face]
{fabric}
[[fabric.face.bolt]]
width = 54
{bolt}
[[window]]
name = "East"
rod = {rod}
finished_length = 80
heading = "clip-ring"
rod_diameter = 1
side_hem = {hem}
fullness = 2
{window}
"""


def sided(rod: int, hem: str = '"selvage"', fabric: str = "", bolt: str = "", window: str = "") -> Plan:
    text = SIDES.format(rod=rod, hem=hem, fabric=fabric, bolt=bolt, window=window)
    made = plan(read_job_text(text), effort=Effort(work=0.5, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    return made


def hems(made: Plan) -> dict[str, tuple[int | None, int | None, tuple[int, ...]]]:
    return {panel.key: (panel.left_hem, panel.right_hem, panel.cuts) for panel in made.panels}


def spots(made: Plan) -> dict[str, tuple[int, int, int]]:
    return {one.piece.id: (one.x, one.x + one.width, one.turn) for one in laid(made).placements}


def test_joined_widths_keep_the_selvage_at_both_sides_of_the_panel() -> None:
    # 42 x 2 = 84 and no hems: 53 usable + 32 - 1. The full width leads with the selvage of its side, the
    # part-width puts the other one outside: of the left panel right and left, of the right left and right.
    made = sided(84)
    assert hems(made) == {
        "left": (0, 0, (inch(32), inch(53))),
        "right": (0, 0, (inch(53), inch(32))),
    }
    assert spots(made) == {
        "east/left/1": (inch(1), inch(54), 0),
        "east/left/2": (0, inch(32), 0),
        "east/right/1": (0, inch(53), 0),
        "east/right/2": (inch(22), inch(54), 0),
    }


def test_a_single_width_has_one_selvage_and_a_hem_at_the_other_side() -> None:
    # 20 x 2 = 40, the leading edge is the selvage, and the outer one is cut: hem of 1 twice, 42.
    made = sided(40)
    assert hems(made) == {"left": (inch(2), 0, (inch(42),)), "right": (0, inch(2), (inch(42),))}
    assert spots(made) == {"east/left/1": (inch(12), inch(54), 0), "east/right/1": (0, inch(42), 0)}
    assert any("the outer edge is a cut edge, no selvage" in advice.text for advice in made.advice)
    outer = sided(40, '{ leading = { turn = 1, turns = 2 }, outer = "selvage" }')
    assert hems(outer) == {"left": (0, inch(2), (inch(42),)), "right": (inch(2), 0, (inch(42),))}


def test_two_such_panels_share_a_width_where_both_fit() -> None:
    # 12 x 2 + 2 = 26 each of 54: the left panel's leading edge is right, the right one's left.
    made = sided(24)
    assert laid(made).length == laid(made).bound.length == inch(92)
    assert spots(made) == {"east/left/1": (inch(28), inch(54), 0), "east/right/1": (0, inch(26), 0)}


@pytest.mark.parametrize(
    "said",
    [
        {"window": 'railroad = "yes"', "bolt": "usable = 94", "width": 95},
        {"fabric": "repeat = { length = 12, width = 13 }"},
        {"window": 'draw = "fixed"\npanels = 1\ncovers = 20'},
    ],
    ids=["cut turned", "matched", "a fixed single width"],
)
def test_edges_that_are_cut_get_their_hem(said: dict[str, Any]) -> None:
    text = SIDES.replace("width = 54", f"width = {said.pop('width', 54)}")
    words = {"fabric": "", "bolt": "", "window": "", **said}
    made = plan(
        read_job_text(text.format(rod=84, hem='"selvage"', **words)), effort=Effort(work=0.5, workers=1)
    )
    assert check_plan_document(plan_document(made)) == ()
    assert {(panel.left_hem, panel.right_hem) for panel in made.panels} == {(inch(2), inch(2))}
    assert all(piece.hem_edge is None for piece in made.pieces)


def test_panels_whose_sides_are_the_selvage_are_not_turned_to_save_fabric() -> None:
    # 42 x 2 = 84 on 118: upright 92 each, or turned 88 + 88 with hems; the selvage was ordered.
    text = SIDES.replace("width = 54", "width = 118").format(
        rod=84, hem='"selvage"', fabric="", bolt="", window=""
    )
    made = plan(read_job_text(text), effort=Effort(work=0.5, workers=1))
    assert {one.turn for one in laid(made).placements} == {0}


def spoiled_side(change: Callable[[dict[str, Any]], object], rod: int = 84) -> set[Breach]:
    document = plan_document(sided(rod))
    change(document)
    return {broken.kind for broken in check_plan_document(document)}


def test_the_check_knows_a_side_that_is_a_cut_edge() -> None:
    assert spoiled_side(lambda _: None) == set()

    def off_the_edge(document: dict[str, Any]) -> None:
        for at in document["layouts"][0]["placements"]:
            if at["piece"] == "east/left/2":
                at["x"] += 1.0

    assert Breach.HEM in spoiled_side(off_the_edge)

    def forgotten(document: dict[str, Any]) -> None:
        for piece in document["pieces"]:
            if piece["id"] == "east/left/2":
                piece["hem_edge"] = None

    assert Breach.HEM in spoiled_side(forgotten)
    # What used to be planned: a single width without a hem at either side.
    assert Breach.HEM in spoiled_side(
        lambda document: [panel.update(left_hem=0.0, right_hem=0.0) for panel in document["panels"]], 40
    )

    def at_the_seam(document: dict[str, Any]) -> None:
        for piece in document["pieces"]:
            piece["hem_edge"] = {"east/left/1": "left", "east/left/2": "right"}.get(piece["id"])

    assert Breach.HEM in spoiled_side(at_the_seam)
