"""A first panel that hangs: hems of what is cut, sizes of what is not, the rest of the bolt, by hand sums.

Sums are worked out in the comments; hem depths, what is turned under first, and a hem let down by its first
turn are common practice, no source.
"""

from __future__ import annotations

import copy
import json
import re
import sys
from dataclasses import replace
from pathlib import Path
from random import Random
from typing import Any

import pytest

from nesting.check import Breach, check_plan_document
from nesting.commands import main
from nesting.construction import bench_of, window_facts
from nesting.cutting.measures import lying_length
from nesting.errors import DoesNotFitError, JobError
from nesting.files import plan_document, read_job_text, read_plan
from nesting.packing import Status
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.planner import Effort, plan
from nesting.planning.rehung import Measured, Rehung, hung
from nesting.sewing import Trim, sewn
from nesting.units import centimeters, grid, to_decimal
from tests.drapes import drawn_job
from tests.orders import inch
from tests.seeds import seeds

EFFORT = Effort(work=1.0, workers=1)

#: A pair, each 30 x 1.5 + side hems 2 x 2 = 49 wide and 84 + top hem 4 + 8 = 96 long, one behind the other on
#: 53 in: 192 in, squaring 2, 194, sold by 1/8 yd (4 1/2 in): 198 in.
ONE = """
title = "One window"
units = "in"
[fabric.face]
name = "Linen"
{face}
[[fabric.face.bolt]]
width = {width}
price = 20
{lining}
[[window]]
name = "Bay"
room = "Garden room"
rod = 60
finished_length = 84
heading = "clip-ring"
rod_diameter = 1
fullness = 1.5
fabric = "face"
{window}
{more}
"""


def job_text(**said: str) -> str:
    return ONE.format(**{"face": "", "width": "54", "lining": "", "window": "", "more": "", **said})


def planned(text: str) -> Plan:
    return plan(read_job_text(text), effort=EFFORT)


def names_of(made: Plan, window: str, key: str, roles: tuple[str, ...] = ("panel",)) -> frozenset[str]:
    numbers = numbering(made.layouts)
    return frozenset(
        numbers.of(laid)
        for layout in made.layouts
        for laid in layout.placements
        if laid.piece.window == window and laid.piece.role in roles and key in laid.piece.id.split("/")
    )


def hang(made: Plan, length: str, *, window: str = "Bay", key: str = "left", **said: Any) -> Rehung:
    """The plan with that panel hung; cut are its widths unless said otherwise. Its document is checked."""
    given = {"cut": names_of(made, window, key), **said}
    result = hung(made, Measured(window, key, inch(length), **given), effort=EFFORT)
    assert check_plan_document(json.loads(json.dumps(plan_document(result.plan)))) == ()
    assert_sews_up(result.plan)
    return result


def lengths(result: Rehung, role: str = "panel") -> dict[str, float]:
    return {p.id: to_decimal(p.length, "in") for p in result.plan.pieces if p.role == role}


def hem_lines(result: Rehung, role: str = "panel") -> dict[str, float]:
    return {p.id: to_decimal(p.hem_line or 0, "in") for p in result.plan.pieces if p.role == role}


def layout_named(result: Rehung, name: str | None, fabric: str = "face") -> FabricLayout:
    found = (one for one in result.plan.layouts if (one.fabric.key, one.on_hand) == (fabric, name))
    return next(found)


def assert_sews_up(made: Plan) -> None:
    """Sewn by its operations, every panel is as long as it is to hang, to a step of the tape."""
    for facts, sewing in zip(window_facts(made), made.sewing, strict=True):
        works = sewn(bench_of(facts), sewing).works
        for panel in facts.panels:
            assert abs(works[panel.key].length - lying_length(facts.making).total) <= facts.making.grid


def said(result: Rehung) -> str:
    return "\n".join(advice.text for advice in result.plan.advice)


def test_longer_lets_the_hem_down_and_cuts_the_rest_longer() -> None:
    result = hang(planned(job_text()), "84 3/4")
    # The cut one keeps 96: 84 3/4 + 4 + 7 1/4. The other: 84 3/4 + 4 + 8 = 96 3/4.
    assert lengths(result) == {"bay/left/1": 96.0, "bay/right/1": 96.75}
    assert hem_lines(result) == {"bay/left/1": 7.25, "bay/right/1": 8.0}
    assert [one.hem for one in result.cut] == ["turn under 3 1/4 in first, then 4 in"]
    # Bought 198, squared 2, cut off 96: 100 left, of which 96 3/4 is cut: nothing more is bought.
    rest = layout_named(result, "rest of the bolt")
    assert rest.there is not None
    assert to_decimal(rest.there.length, "in") == 100.0
    assert to_decimal(rest.length or 0, "in") == 96.75
    assert all(layout.buy is None for layout in result.plan.layouts)
    off = layout_named(result, "cut off")
    assert [laid.done for laid in off.placements] == [True]
    assert [laid.done for laid in rest.placements] == [False]
    line = result.plan.pieces[0].length_steps.line("in")
    assert line.endswith("- less for the hem, cut before 3/4 = 96 in")


def test_shorter_cuts_off_below_the_hem() -> None:
    result = hang(planned(job_text()), "82 1/2")
    # 82 1/2 + 4 + 8 = 94 1/2; of the cut one 1 1/2 is too much.
    assert lengths(result) == {"bay/left/1": 96.0, "bay/right/1": 94.5}
    assert hem_lines(result) == {"bay/left/1": 9.5, "bay/right/1": 8.0}
    assert [one.hem for one in result.cut] == [
        "cut off 1 1/2 in along the lower edge, then turn the hem as planned"
    ]
    assert result.plan.panels[0].length == inch("82 1/2")


def test_more_than_is_left_is_bought_of_the_same_lot_or_spared_by_hems() -> None:
    made = planned(job_text())
    left = {"face": inch(96)}
    result = hang(made, "86 1/2", left=left)
    # The other: 86 1/2 + 4 + 8 = 98 1/2, and 96 is left: 100 1/2 in all, in 4 1/2: 103 1/2 in.
    bought = layout_named(result, None)
    assert bought.buy is not None
    assert to_decimal(bought.buy.total, "in") == 103.5
    assert "buy 2 7/8 yd more of the dye lot of the first panel, 57.50" in said(result)
    # Both can be hemmed with 8 - 2 1/2 = 5 1/2, 1 1/2 turned under first.
    assert "(--hems-only)" in said(result)
    spared = hang(made, "86 1/2", left=left, hems_only=True)
    assert set(lengths(spared).values()) == {96.0}
    assert set(hem_lines(spared).values()) == {5.5}
    assert [layout.length for layout in spared.plan.layouts] == [layout.length for layout in made.layouts]
    assert [layout.bound for layout in spared.plan.layouts] == [layout.bound for layout in made.layouts]
    assert "not enough" not in said(spared)


def test_too_short_is_refused_with_every_way_out() -> None:
    made = planned(job_text())
    with pytest.raises(DoesNotFitError) as refused:
        hang(made, "88")
    # 4 in longer leaves 4 for a hem that needs 4 + 1/2: a hem of 3 1/2 has 1/2 left, and 87 1/2 hangs.
    words = str(refused.value)
    assert "Bay, panel: cut 1, 96 in long, would leave 4 in for the hem" in words
    assert "needs at least 4 1/2 in" in words
    assert "a hem 3 1/2 in deep, 1/2 in less, on all its panels (--hem)" in words
    assert "let it hang 1/2 in shorter (--length 87 1/2 in)" in words
    assert "a strip 5 in deep" in words
    assert "(--again 1)" in words
    narrower = hang(made, "88", hem=inch("3 1/2"))
    # The cut one: 1/2 + 3 1/2. The other: 88 + 4 + 7 = 99.
    assert [one.hem for one in narrower.cut] == ["turn under 1/2 in first, then 3 1/2 in"]
    assert lengths(narrower)["bay/right/1"] == 99.0
    assert hem_lines(narrower) == {"bay/left/1": 4.0, "bay/right/1": 7.0}
    assert hang(made, "87 1/2").cut[0].hem == "turn under 1/2 in first, then 4 in"


def test_a_piece_cut_again_takes_its_fabric_from_the_rest() -> None:
    made = planned(job_text())
    result = hang(made, "88", cut=names_of(made, "Bay", "left") | names_of(made, "Bay", "right"),
                  again=names_of(made, "Bay", "right"), hem=inch("3 1/2"))  # fmt: skip
    # Both places are off the bolt; of 198 - 2 - 192 = 4 nothing can be cut: 99 + 2 = 101, 103 1/2 bought.
    assert lengths(result) == {"bay/left/1": 96.0, "bay/right/1": 99.0}
    bought = layout_named(result, None)
    assert bought.buy is not None
    assert to_decimal(bought.buy.total, "in") == 103.5
    assert [laid.piece.id for laid in bought.placements] == ["bay/right/1"]


LINING = """
[fabric.lining]
name = "Sateen"
[[fabric.lining.bolt]]
width = 54
"""


def test_a_lining_that_is_cut_gives_of_its_own_hem() -> None:
    made = planned(job_text(lining=LINING, window='lining = "lining"'))
    before = {piece.id: piece for piece in made.pieces}
    cut = names_of(made, "Bay", "left", ("panel", "lining"))
    result = hang(made, "84 3/4", cut=cut)
    # A lining hem of 2 twice is 4: 3 1/4 is left, 1 1/4 turned under first; the other lining is 3/4 longer.
    assert hem_lines(result, "lining") == {"bay/left/lining/1": 3.25, "bay/right/lining/1": 4.0}
    left, right = (f"bay/{side}/lining/1" for side in ("left", "right"))
    assert lengths(result, "lining")[left] == to_decimal(before[left].length, "in")
    assert lengths(result, "lining")[right] == to_decimal(before[right].length, "in") + 0.75
    assert "turn under 1 1/4 in first, then 2 in" in {one.hem for one in result.cut}


def test_a_lining_that_is_too_short_may_end_higher() -> None:
    made = planned(job_text(lining=LINING, window='lining = "lining"'))
    cut = names_of(made, "Bay", "left", ("panel", "lining"))
    # 2 1/4 in longer: 4 - 2 1/4 = 1 3/4 is left of a hem that needs 2 1/2; ending 3/4 higher it has them.
    with pytest.raises(DoesNotFitError, match=r"let linings end 1 3/4 in .* \(--lining-gap 1 3/4 in\)"):
        hang(made, "86 1/4", cut=cut)
    result = hang(made, "86 1/4", cut=cut, lining_gap=inch("1 3/4"))
    assert hem_lines(result, "lining") == {"bay/left/lining/1": 2.5, "bay/right/lining/1": 4.0}


def test_a_lining_that_is_not_cut_is_planned_anew() -> None:
    made = planned(job_text(lining=LINING, window='lining = "lining"'))
    result = hang(made, "84 3/4")
    before = next(layout for layout in made.layouts if layout.fabric.key == "lining")
    after = layout_named(result, None, "lining")
    # Two linings one behind the other, each 3/4 longer.
    assert after.length == (before.length or 0) + inch("1 1/2")
    assert not any(laid.done for laid in after.placements)


#: Rod 100: 50 x 1.5 + 4 = 79 wide: a full width of 53 and 79 + 1 - 53 = 27. Two part-widths lie side by side.
TWO_WIDTHS = job_text().replace("rod = 60", "rod = 100")


def test_both_widths_of_a_panel_that_hangs_are_cut() -> None:
    made = planned(TWO_WIDTHS)
    wide = frozenset(numbering(made.layouts).of(laid) for laid in made.layouts[0].placements
                     if laid.piece.id == "bay/left/1")  # fmt: skip
    with pytest.raises(JobError, match="the cuts of the panel that hangs among them"):
        hang(made, "84 3/4", cut=wide)
    result = hang(made, "84 3/4")
    assert {id: line for id, line in hem_lines(result).items() if "left" in id} == {
        "bay/left/1": 7.25,
        "bay/left/2": 7.25,
    }
    assert {id: long for id, long in lengths(result).items() if "right" in id} == {
        "bay/right/1": 96.75,
        "bay/right/2": 96.75,
    }
    # What was cut is named as it was, or said to be named otherwise.
    assert {old for old, _ in result.renamed} == set(names_of(made, "Bay", "left"))


def test_widths_of_one_panel_cut_before_and_after_are_hemmed_in_one_go() -> None:
    made = planned(TWO_WIDTHS)
    one = {laid.piece.id: numbering(made.layouts).of(laid) for laid in made.layouts[0].placements}
    cut = names_of(made, "Bay", "left") | {one["bay/right/1"]}
    # Longer: the one to come is cut as the other, 84 3/4 + 4 + 7 1/4 = 96; nothing is cut off of it again.
    longer = hang(made, "84 3/4", cut=cut)
    assert {id: long for id, long in lengths(longer).items() if "right" in id} == {
        "bay/right/1": 96.0,
        "bay/right/2": 96.0,
    }
    assert set(hem_lines(longer).values()) == {7.25}
    assert bottom_trims(longer) == {}
    # Shorter: 1 1/2 is cut off below of what is cut, before the widths are joined.
    shorter = hang(made, "82 1/2", cut=cut)
    assert lengths(shorter)["bay/right/2"] == 94.5
    assert bottom_trims(shorter) == dict.fromkeys(("bay/left/1", "bay/left/2", "bay/right/1"), inch("1 1/2"))


def bottom_trims(result: Rehung) -> dict[str, int]:
    """What the sewing order cuts off of lower edges, by piece."""
    return {
        operation.on: int(operation.off)
        for step in result.plan.sewing[0].steps
        for operation in step.operations
        if isinstance(operation, Trim) and operation.edge == "bottom"
    }


def test_an_uncut_stretch_between_two_cuts_is_a_length_of_its_own() -> None:
    made = planned(TWO_WIDTHS)
    by_id = {laid.piece.id: laid for laid in made.layouts[0].placements}
    first, last = sorted((by_id["bay/left/1"].y, by_id["bay/left/2"].y))
    between = last - first - inch(96)
    result = hang(made, "84 3/4")
    found = [there for there in result.plan.job.fabrics[0].bolts[0].on_hand if "uncut stretch" in there.name]
    assert sum(there.length for there in found) == between + first


PRINT = """repeat = { length = 25, width = 25 }
"""


def printed(**said: str) -> str:
    return job_text(face=PRINT, **{"width": "54", **said})


def test_the_print_of_the_rest_is_level_with_the_hung_panel() -> None:
    # 25 across gives a match of 50, cut 51: 47 1/2 of flat and sides is one width, joined with none.
    made = planned(printed())
    result = hang(made, "84 3/4")
    cut, rest = layout_named(result, "cut off"), layout_named(result, "rest of the bolt")
    # The hem line of the cut one is 7 1/4 up, so the pattern starts 25 - 7 1/4 = 17 3/4 high; behind 96 it
    # stands at 113 3/4, that is 13 3/4; the other, with its hem line 8 up, lies 3 1/4 in: 25 in all.
    assert cut.fabric.start == inch("17 3/4")
    assert rest.fabric.start == inch("13 3/4")
    assert [laid.y for laid in rest.placements if laid.piece.role == "panel"] == [inch("3 1/4")]


def test_the_other_windows_of_a_room_go_with_a_print() -> None:
    other = """[[window]]
name = "Side"
room = "Garden room"
rod = 60
finished_length = 84
heading = "clip-ring"
rod_diameter = 1
fullness = 1.5
"""
    made = planned(printed(more=other))
    result = hang(made, "84 3/4")
    assert [(one.window, one.length, one.panel) for one in result.lengths] == [
        ("Bay", inch("84 3/4"), "left"),
        ("Side", inch("84 3/4"), ""),
    ]
    alone = hang(made, "84 3/4", alone=True)
    assert [one.window for one in alone.lengths] == ["Bay"]
    assert {p.length for p in alone.plan.pieces if p.id.startswith("side/")} == {inch(96)}
    # Cut already and not corrected, its print would hang 3/4 out of level.
    both = names_of(made, "Bay", "left") | names_of(made, "Side", "left")
    with pytest.raises(DoesNotFitError, match="3/4 in out of level"):
        hang(made, "84 3/4", alone=True, cut=both)
    together = hang(made, "84 3/4", cut=both)
    assert {line for id, line in hem_lines(together).items() if "left" in id} == {7.25}


def test_on_a_plain_fabric_windows_planned_alike_are_asked_about() -> None:
    other = """[[window]]
name = "Side"
rod = 60
finished_length = 84
heading = "clip-ring"
rod_diameter = 1
fullness = 1.5
"""
    made = planned(job_text(more=other))
    result = hang(made, "84 3/4")
    assert [one.window for one in result.lengths] == ["Bay"]
    assert '(--also "Side")' in said(result)
    also = hang(made, "84 3/4", also=("Side",))
    assert {one.window for one in also.lengths} == {"Bay", "Side"}
    assert {p.length for p in also.plan.pieces if p.id.startswith("side/")} == {inch("96 3/4")}


def test_a_puddle_keeps_its_length_on_the_floor() -> None:
    text = job_text().replace("finished_length = 84", "rod_height = 96\nring_drop = 2\nclearance = -2")
    made = planned(text)
    # 96 - 2 for the ring, + 2 on the floor: 96. Rehung it is 95 1/4, so the rod is at 95 1/4.
    assert made.panels[0].length == inch(96)
    result = hang(made, "95 1/4")
    assert result.plan.panels[0].length == inch("95 1/4")
    assert result.plan.job.windows[0].rod_height == inch("95 1/4")
    assert result.plan.job.windows[0].clearance == inch(-2)
    # Of 8 + 3/4 below the hem line 3/4 is cut off.
    assert hem_lines(result) == {"bay/left/1": 8.75, "bay/right/1": 8.0}


def test_metric() -> None:
    text = """
title = "Loft"
units = "cm"
[fabric.face]
[[fabric.face.bolt]]
width = 140
[[window]]
name = "Bay"
rod = 150
finished_length = 213
heading = "clip-ring"
rod_diameter = 3
fullness = 1.5
"""
    made = planned(text)
    measured = Measured("Bay", "left", centimeters(214), names_of(made, "Bay", "left"))
    result = hung(made, measured, effort=EFFORT)
    assert check_plan_document(plan_document(result.plan)) == ()
    # Hems of 10 twice: 20 - 1 = 19 is left, 9 turned under first.
    assert [one.hem for one in result.cut] == ["turn under 9 cm first, then 10 cm"]
    assert {p.id: p.hem_line for p in result.plan.pieces} == {
        "bay/left/1": centimeters(19),
        "bay/right/1": centimeters(20),
    }


def test_of_equal_windows_the_one_that_is_cut_stands_apart() -> None:
    made = planned(job_text(window="count = 3"))
    numbers = numbering(made.layouts)
    one = next(
        numbers.of(laid) for layout in made.layouts for laid in layout.placements
        if (laid.piece.id, laid.copy) == ("bay/left/1", 2)
    )  # fmt: skip
    result = hang(made, "84 3/4", cut=frozenset({one}))
    assert [(window.name, window.count) for window in result.plan.job.windows] == [
        ("Bay, no. 2", 1),
        ("Bay", 2),
    ]
    assert {p.id: (to_decimal(p.length, "in"), p.copies) for p in result.plan.pieces} == {
        "bay-no-2/left/1": (96.0, 1),
        "bay-no-2/right/1": (96.75, 1),
        "bay/left/1": (96.75, 2),
        "bay/right/1": (96.75, 2),
    }


def test_a_corrected_plan_is_corrected_once_more() -> None:
    first = hang(planned(job_text()), "84 3/4").plan
    result = hang(first, "84 1/2", cut=frozenset({"2"}))
    # The left one: 96 - 84 1/2 - 4 = 7 1/2. The right one was cut 96 3/4: 8 1/4.
    assert hem_lines(result) == {"bay/left/1": 7.5, "bay/right/1": 8.25}
    assert all(laid.done for layout in result.plan.layouts for laid in layout.placements)


def test_windows_hang_one_after_the_other() -> None:
    """Each from the plan that the one before left; what is cut stays cut, and every length goes on."""
    made = planned(printed(more=DOOR).replace('room = "Garden room"', 'room = "Hall"', 1))
    first = hang(made, "84 3/4").plan
    second = hang(first, "97 1/2", window="Door", key="single").plan
    last = hang(second, "85", window="Bay", key="right", cut=names_of(second, "Bay", "right"))
    assert hem_lines(last)["bay/left/1"] == 7.0
    assert hem_lines(last)["door/single/1"] == 8.5
    done = {laid.piece.id for layout in last.plan.layouts for laid in layout.placements if laid.done}
    assert done == {"bay/left/1", "bay/right/1", "door/single/1"}


def test_a_fabric_washed_after_cutting_is_corrected_by_what_it_shrinks() -> None:
    made = planned(job_text(face="shrinkage = { length = 4, width = 0 }"))
    result = hang(made, "84 3/4")
    before = next(piece for piece in made.pieces if piece.id == "bay/left/1")
    after = next(piece for piece in result.plan.pieces if piece.id == "bay/left/1")
    # 3/4 / 0.96 = 25/32 is taken from the hem, to the tick.
    assert abs((before.hem_line or 0) - (after.hem_line or 0) - inch("3/4") / 0.96) <= 1


def test_a_fabric_washed_before_cutting_keeps_its_lengths_to_the_tick() -> None:
    made = planned(job_text(face='shrinkage = { length = 4, width = 1, washed = "before" }'))
    result = hang(made, "84 3/4")
    off = layout_named(result, "cut off")
    assert off.there is not None
    assert off.there.length == inch(96)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"window": "Bow"}, '--window = "Bow": expected a window of this plan: "Bay"'),
        ({"key": "middle"}, '--panel = "middle": expected a panel of "Bay": left, right'),
        ({"cut": frozenset({"1", "9"})}, "--cut = 9: expected cuts of this plan: 1, 2"),
        ({"cut": frozenset({"2"})}, "--cut = 2: expected the cuts of the panel that hangs among them: 1"),
        ({"again": frozenset({"7"})}, "--again = 7"),
        ({"also": ("Bow",)}, '--also = "Bow"'),
        ({"hem": -inch(1)}, "--hem"),
        ({"whole_from": {"face": inch(50)}}, "--whole-from = 50 in: expected at least 96 in"),
    ],
)
def test_what_is_no_part_of_the_plan_is_refused(said: dict[str, Any], words: str) -> None:
    made = planned(job_text())
    window, key = said.pop("window", "Bay"), said.pop("key", "left")
    cut = said.pop("cut", frozenset({"1"}))
    with pytest.raises(JobError) as refused:
        hung(made, Measured(window, key, inch("84 3/4"), cut, **said), effort=EFFORT)
    assert words in str(refused.value)


@pytest.mark.parametrize("length", ["-3", "8 1/2", "120"])
def test_a_length_far_from_the_planned_one_is_refused(length: str) -> None:
    with pytest.raises(JobError, match="near the planned 84 in"):
        hung(planned(job_text()), Measured("Bay", "left", inch(length), frozenset({"1"})), effort=EFFORT)


def test_the_rest_is_what_was_measured_on_the_bolt() -> None:
    result = hang(planned(job_text()), "84 3/4", left={"face": inch(90)})
    rest = next(t for t in result.plan.job.fabrics[0].bolts[0].on_hand if t.name == "rest of the bolt")
    assert rest.length == inch(90)
    # 96 3/4 finds no room on it.
    assert layout_named(result, None).buy is not None


def _tampered(document: dict[str, Any], what: str) -> dict[str, Any]:
    changed = copy.deepcopy(document)
    if what == "hem line":
        changed["pieces"][0]["hem_line"] += 0.5
    elif what == "no hem":
        for piece in changed["pieces"]:
            piece["hem_line"] = 4.0
            piece["length"] = 92.75
    elif what == "order":
        changed["order"]["windows"][0]["finished_length"] += 2032
    elif what == "window":
        changed["order"]["hung"][0]["window"] = "Bow"
    elif what == "panel":
        changed["panels"][0]["length"] += 0.75
    else:
        changed["order"]["fabrics"][0]["bolts"][0]["on_hand"][1]["start"] += 2032
    return changed


@pytest.mark.parametrize("what", ["hem line", "no hem", "order", "window", "panel"])
def test_the_check_finds_what_was_changed(what: str) -> None:
    document = json.loads(json.dumps(plan_document(hang(planned(job_text()), "84 3/4").plan)))
    assert check_plan_document(document) == ()
    found = {violation.kind for violation in check_plan_document(_tampered(document, what))}
    assert found & {Breach.HEM, Breach.HANGING}


def test_the_check_finds_a_rest_that_does_not_go_on_in_the_pattern() -> None:
    document = json.loads(json.dumps(plan_document(hang(planned(printed()), "84 3/4").plan)))
    assert check_plan_document(document) == ()
    found = {violation.kind for violation in check_plan_document(_tampered(document, "start"))}
    assert Breach.PHASE_ALONG in found


@pytest.mark.parametrize("seed", seeds(12, 40))
def test_any_drape_is_corrected_to_a_plan_that_keeps_every_rule(seed: int) -> None:
    """Drawn drapes, read back from their document, some cuts more made than those of the panel that hangs."""
    job, dice = drawn_job(seed), Random(seed)
    sold = tuple(
        replace(fabric, bolts=tuple(replace(bolt, sold_by=inch(4)) for bolt in fabric.bolts))
        for fabric in job.fabrics
    )
    try:
        made = plan(replace(job, fabrics=sold), effort=Effort(work=0.02, workers=1))
    except (DoesNotFitError, JobError):
        pytest.skip("no such drape can be cut")
    name, numbers = job.windows[0].name, numbering(made.layouts).numbers
    panel = dice.choice(sorted({each.key for each in made.panels}))
    cut = set(names_of(made, name, panel)) | {
        one for one in sorted(set(numbers.values())) if dice.random() < 0.3
    }
    length = made.panels[0].length + dice.choice((-24, -5, 3, 12, 40)) * grid(job.units)
    try:
        result = hung(
            made, Measured(name, panel, length, frozenset(cut)), effort=Effort(work=0.02, workers=1)
        )
    except DoesNotFitError:
        # Nothing but a cut piece that is too short, or a panel longer than its fabric is wide, is refused.
        if length <= made.panels[0].length:
            raise
        return
    assert check_plan_document(json.loads(json.dumps(plan_document(result.plan)))) == ()
    assert_sews_up(result.plan)
    assert {panel.length for panel in result.plan.panels} == {length}


#: On a repeat of 25 a cut of 96 takes 100, one of 98 + 4 + 8 = 110 takes 125, and the last what it is long.
DOOR = """[[window]]
name = "Door"
room = "Garden room"
rod = 30
draw = "left"
finished_length = 98
heading = "clip-ring"
rod_diameter = 1
fullness = 1.5
"""


def test_what_hangs_first_is_cut_first_and_told_where_it_costs_fabric() -> None:
    job = read_job_text(printed(more=DOOR))
    usual = plan(job, effort=EFFORT)
    # 100 + 100 + 110, the longest cut last; with it in front 125 + 100 + 96.
    assert usual.layouts[0].length == inch(310)
    made = plan(replace(job, hang_first=("Door", "single")), effort=EFFORT)
    layout = made.layouts[0]
    assert layout.length == inch(321)
    assert layout.bound.length == usual.layouts[0].bound.length
    assert layout.status is Status.FEASIBLE
    assert names_of(made, "Door", "single") == {"1"}
    texts = [advice.text for advice in made.advice]
    told = "Linen: 11 in more so that the single panel of Door is cut first: 321 in instead of 310 in"
    assert told in texts
    document = json.loads(json.dumps(plan_document(made)))
    assert check_plan_document(document) == ()
    # The same claim of the usual layout, which has the door last, is refused.
    last = json.loads(json.dumps(plan_document(usual)))
    last["order"]["hang_first"] = document["order"]["hang_first"]
    for piece in last["pieces"]:
        piece["first"] = piece["window"] == "Door"
    assert {violation.kind for violation in check_plan_document(last)} == {Breach.SEQUENCE}


@pytest.mark.parametrize("key", ["left", "right"])
@pytest.mark.parametrize("name", ["Bay", "Door"])
def test_on_a_plain_fabric_any_panel_is_cut_first_for_nothing(name: str, key: str) -> None:
    key = "single" if name == "Door" else key
    job = read_job_text(TWO_WIDTHS + DOOR)
    usual = plan(job, effort=EFFORT)
    made = plan(replace(job, hang_first=(name, key)), effort=EFFORT)
    assert made.layouts[0].length == usual.layouts[0].length
    assert made.layouts[0].status is usual.layouts[0].status
    assert min(int(cut) for cut in names_of(made, name, key)) == 1
    assert check_plan_document(json.loads(json.dumps(plan_document(made)))) == ()
    # What is behind it is one length: nothing stands between two cuts of the panel.
    longest = hang(made, "84 3/4" if name == "Bay" else "98 3/4", window=name, key=key)
    on_hand = longest.plan.job.fabrics[0].bolts[0].on_hand
    assert [there.name for there in on_hand] == ["cut off", "rest of the bolt"]


def test_lengths_on_hand_keep_their_order_and_say_so() -> None:
    text = job_text().replace("price = 20", "[[fabric.face.bolt.on_hand]]\nlength = 200")
    made = plan(replace(read_job_text(text), hang_first=("Bay", "right")), effort=EFFORT)
    assert any("are cut in their own order" in advice.text for advice in made.advice)


def test_the_command_cuts_a_panel_first(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job = tmp_path / "job.toml"
    job.write_text(job_text(), encoding="utf-8")
    budget = ("--work-limit", "1", "--workers", "1")
    code, out, _ = run(capsys, "plan", job, "--hang-first", "Bay, right", *budget)
    assert code == 0
    assert re.search(r"^ +1 .* Bay, right panel", out, re.MULTILINE)
    code, _, err = run(capsys, "plan", job, "--hang-first", "Bay, middle", *budget)
    assert (code, '"Bay, left", "Bay, right"' in err) == (2, True)


def run(capsys: pytest.CaptureFixture[str], *words: object) -> tuple[int, str, str]:
    code = 0
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(sys, "argv", ["nesting", *map(str, words)])
        try:
            main()
        except SystemExit as end:
            code = int(end.code or 0)
    out, err = capsys.readouterr()
    return code, out, err


def test_the_command_keeps_the_plan_before(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    job, before = tmp_path / "job.toml", tmp_path / "before"
    job.write_text(job_text(), encoding="utf-8")
    budget = ("--work-limit", "1", "--workers", "1")
    assert run(capsys, "plan", job, "-o", before, *budget)[0] == 0
    kept = {path.name: path.read_bytes() for path in before.iterdir() if path.is_file()}
    words = ("hung", before / "plan.json", "--window", "Bay", "--panel", "left", "--length", "84 3/4")
    code, _, err = run(capsys, *words, "--cut", "1", "-o", before, *budget)
    assert code == 2
    assert "the plan that was cut by is kept" in err
    after = tmp_path / "after"
    code, out, err = run(capsys, *words, "--cut", "1", "-o", after, *budget)
    assert code == 0, err
    assert "cut already" in out
    assert "Bay: cut 1, panel: turn under 3 1/4 in first, then 4 in" in err
    assert {path.name: path.read_bytes() for path in before.iterdir() if path.is_file()} == kept
    assert run(capsys, "check", after / "plan.json")[0] == 0
    assert any(laid.done for layout in read_plan(after / "plan.json").layouts for laid in layout.placements)
    packet = (after / "packet.html").read_text(encoding="utf-8")
    assert "as it hangs: turn under 3 1/4 in first" in packet
    assert "turn the raw edge under 3 1/4 in at the lower edge, then fold 4 in to the back" in packet
    labels = (after / "labels.csv").read_text(encoding="utf-8").splitlines()
    assert any("Bay, left panel" in line and ",49,96,in," in line for line in labels)
    assert any("Bay, right panel" in line and ",49,96 3/4,in," in line for line in labels)
    # A plan of which something is cut is not planned from its order alone.
    code, _, err = run(capsys, "plan", after / "plan.json", *budget)
    assert (code, "corrects this one further" in err) == (2, True)


@pytest.mark.parametrize(
    ("flag", "value", "place"),
    [
        ("--length", "long", "--length"),
        ("--length", "-84", "--length"),
        ("--cut", "one", "--cut"),
        ("--cut", "3-1", "--cut"),
        ("--cut", "", "--cut"),
        ("--left", "6 yd", "--left"),
        ("--left", "velvet=6 yd", "--left"),
    ],
)
def test_the_command_names_what_it_cannot_read(
    tmp_path: Path, capsys: pytest.CaptureFixture[str], flag: str, value: str, place: str
) -> None:
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(plan_document(planned(job_text()))), encoding="utf-8")
    said = {"--window": "Bay", "--panel": "left", "--length": "84 3/4", "--cut": "1"} | {flag: value}
    code, _, err = run(capsys, "hung", file, *(word for pair in said.items() for word in pair))
    assert (code, place in err) == (2, True)
