"""A print is cut railroaded only where its pattern allows it, and then hangs level. All data invented."""

from __future__ import annotations

import copy
import json
from pathlib import Path
from typing import Any

import pytest

from nesting.check import check_plan_document
from nesting.check.violation import Breach
from nesting.errors import DoesNotFitError
from nesting.files import plan_document, read_job_text, read_plan
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.planner import Effort, compare, plan
from nesting.units import inches

#: Rod 80, twice full, a pair: 80 flat + side hems 1 x 4 = 84 wide; 90 + hems 4 x 2 + 2 x 2 = cut 102.
BAY = """
[[window]]
name = "Bay"
rod = 80
finished_length = 90
heading = "clip-ring"
fullness = 2
"""
#: 64 wide, finished 70 + hem 3 x 2 + top hem 2 x 2 = cut 80.
LOW = """
[[window]]
name = "Low"
rod = 60
finished_length = 70
bottom_hem = { turn = 3 }
heading = "clip-ring"
fullness = 2
"""


def order(
    *windows: str, sideways: str = ", sideways = true", fabric: str = "", width: str = "width = 20"
) -> str:
    return f"""
[fabric.face]
name = "Leaf print"
repeat = {{ length = 25, {width}{sideways} }}
{fabric}
[[fabric.face.bolt]]
width = 118
usable = 117
match = 100
""" + "".join(windows)


def planned(text: str) -> Plan:
    return plan(read_job_text(text), effort=Effort(work=2, workers=1))


def layout_of(text: str) -> FabricLayout:
    (layout,) = planned(text).layouts
    return layout


def document_of(made: Plan) -> dict[str, Any]:
    document: dict[str, Any] = json.loads(json.dumps(plan_document(made)))
    return document


def test_only_a_pattern_that_allows_it_is_turned() -> None:
    """Sideways 102 across 117: two runs of 84, 168. Upright 84 wide and 102 long: 125 + 102 = 227."""
    turned = layout_of(order(BAY))
    assert turned.length == inches(168)
    assert {(laid.turn, laid.arrow, laid.width) for laid in turned.placements} == {(90, "left", inches(102))}
    upright = layout_of(order(BAY, sideways=""))
    assert upright.length == inches(227)
    assert {laid.turn for laid in upright.placements} == {0}
    assert layout_of(order(BAY, sideways=", sideways = false")).length == inches(227)
    assert layout_of(order(BAY + 'railroad = "no"\n')).length == inches(227)


def test_a_start_along_the_bolt_does_not_matter_to_it() -> None:
    """No unknown start is bought, and a known one moves nothing: 168 + squaring 2 = 170."""
    for fabric in ("", "start = 7"):
        layout = layout_of(order(BAY, fabric=fabric))
        assert layout.buy is not None
        assert [line.name for line in layout.buy.allowances] == ["squaring the end"]
        assert layout.buy.needed == inches(170)


@pytest.mark.parametrize(
    ("fabric", "bay", "low"),
    [
        # The hem line runs 8 and 6 above the lower edges, which lie at the right.
        ("", 8, 6),
        ("motif = { height = 6 }", 14, 12),
        # The top edge: 8 + 90 and 6 + 70.
        ('level = "top"', 98, 76),
        ('motif = { height = 5, at = "top" }', 93, 71),
    ],
)
def test_panels_of_a_room_hang_level(fabric: str, bay: int, low: int) -> None:
    layout = layout_of(order(BAY, LOW, fabric=fabric))
    lines = set()
    for laid in layout.placements:
        assert laid.turn == 90
        above = inches(bay if laid.piece.window == "Bay" else low)
        lines.add((laid.x + laid.width - above) % inches(20))
    assert len(lines) == 1


def test_the_check_judges_it_from_the_numbers(tmp_path: Path) -> None:
    made = planned(order(BAY, LOW))
    document = document_of(made)
    assert check_plan_document(document) == ()
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    again = read_plan(path)
    assert document_of(again) == document
    assert again.pieces == made.pieces

    def broken(change: Any) -> set[Breach]:
        spoiled = copy.deepcopy(document)
        change(spoiled)
        return {violation.kind for violation in check_plan_document(spoiled)}

    def lift(spoiled: dict[str, Any]) -> None:
        low = next(p for p in spoiled["layouts"][0]["placements"] if p["piece"].startswith("low"))
        low["x"] += 0.5

    def forbid(spoiled: dict[str, Any]) -> None:
        spoiled["layouts"][0]["repeat"]["sideways"] = False

    def stand(spoiled: dict[str, Any]) -> None:
        spoiled["pieces"][0]["sideways"] = False

    def point(spoiled: dict[str, Any]) -> None:
        for placement in spoiled["layouts"][0]["placements"]:
            placement["arrow"] = "right"

    assert Breach.PHASE_ACROSS in broken(lift)
    assert Breach.FORBIDDEN_TURN in broken(forbid)
    assert Breach.FORBIDDEN_TURN in broken(stand)
    assert Breach.ARROW in broken(point)


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        (order(BAY + 'railroad = "yes"\n', sideways=""), "never turned unless its pattern allows it"),
        (order(BAY + 'railroad = "yes"\n', width="drop = 0"), "has no repeat width"),
        (order(BAY + 'railroad = "yes"\npair = "continuous"\n'), 'pair = "continuous"'),
        (order(BAY + 'railroad = "yes"\n', fabric='nap = "one-way"'), "one-way nap"),
        (order(BAY.replace("90", "110") + 'railroad = "yes"\n'), "more than the usable width"),
    ],
)
def test_what_keeps_it_upright_is_told(text: str, reason: str) -> None:
    with pytest.raises(DoesNotFitError, match=reason) as refused:
        planned(text)
    assert 'railroad = "yes": expected "auto" or "no", or a bolt or fabric' in str(refused.value)
    assert {laid.turn for laid in layout_of(text.replace('railroad = "yes"', "")).placements} == {0}


def test_other_windows_and_small_pieces_lie_with_their_panels() -> None:
    """Two windows alike, and tie-backs that share the arrow of the panels."""
    text = order(BAY + "count = 2\n[[window.tieback]]\nlength = 26\nwidth = 4\n", LOW)
    made = planned(text)
    (layout,) = made.layouts
    assert check_plan_document(document_of(made)) == ()
    assert {laid.arrow for laid in layout.placements if laid.piece.arrow_group} == {"left"}
    panels = [piece for piece in made.pieces if piece.window == "Bay" and piece.role == "panel"]
    assert [piece.copies for piece in panels] == [1, 1, 1, 1]
    option, *_ = compare(read_job_text(text), effort=Effort(work=2, workers=1)).options
    assert option.layout is not None
    assert option.layout.length is not None
    assert "sideways takes" in option.railroad


def test_panels_that_find_no_place_at_one_height_are_told_so() -> None:
    """104 across, repeat width 50. Cuts of 102 and, with a hem of 10 x 2, 94: right edges from there to 104.

    The hem lines then lie from 94 to 96 and from 74 to 84: 10 to 22 apart, which is no whole repeat width.
    """
    low = LOW.replace("turn = 3", "turn = 10")
    text = order(BAY, low, width="width = 50").replace("usable = 117", "usable = 104")
    with pytest.raises(DoesNotFitError, match="find no place at one height"):
        planned(text.replace("fullness = 2", 'fullness = 2\nrailroad = "yes"'))
    assert {laid.turn for laid in layout_of(text).placements} == {0}
    near = text.replace("width = 50", "width = 20")
    assert {laid.turn for laid in layout_of(near).placements} == {90}
