from __future__ import annotations

import csv
import io
import json
import os
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st

from nesting.errors import NestingError, OutputError
from nesting.files import (
    cut_list_csv,
    pieces_csv,
    plan_document,
    read_job_text,
    read_plan,
    starter_job,
    write_bytes,
    write_text,
)
from nesting.order.job import Fabric, Job
from nesting.packing.problem import Flaw, Match
from nesting.packing.result import Bound, Incumbent, Status, Stop
from nesting.pieces.piece import Advice, HeadingPlan, HeadingSpot, PanelPlan, Piece, Steps, Sundry
from nesting.plan.plan import Allowance, Buy, FabricLayout, Laid, LeftOut, Plan, RuleOfThumb
from nesting.units import inches, unit_ticks
from tests.seeds import examples

JOB = """
title = "Garden room"
currency = "$"
[fabric.face]
nap = "one-way"
start = 3
repeat = { length = "25 1/4", width = "13 1/4", drop = "1/3" }
[[fabric.face.bolt]]
width = 54
match = 53
price = 38.50
[[fabric.face.bolt.on_hand]]
length = 60
name = "hall"
lot = "A"
flaws = [{ at = 58, length = 2 }, { at = 10, length = 1, from_left = 50, width = 4 }]
[[fabric.lining.bolt]]
width = 54
[[window]]
name = "East"
rod = 84
finished_length = "95 1/2"
lining = "lining"
tab = { width = 3 }
"""


def panel(job: Job) -> Piece:
    sums = Steps("cut length").add("finished", job.windows[0].finished_length or 0).add("hem", inches(4), 2)
    across = (
        Steps("cut width")
        .add("rod", inches(84))
        .times("fullness", Fraction(3, 2))
        .over("panels", 3)
        .up_to(127)
    )
    return Piece(
        id="east/left/1",
        name="East, left panel, width 1",
        role="panel",
        fabric="face",
        width=across.total,
        length=sums.total,
        copies=2,
        match=Match("garden-room", "east/left", inches("53/16"), -inches(8)),
        arrow_group="garden-room",
        nap="one-way",
        window="East",
        room="Garden room",
        side="left",
        finished_width=inches(40),
        finished_length=inches("191/2"),
        hem_line=inches(8),
        width_steps=across,
        length_steps=sums,
        joined_to=("east/left/2",),
        joined_at=("left",),
        notes=("middle of the panel",),
    )


def layouts(job: Job, piece: Piece, pad: Piece) -> tuple[FabricLayout, ...]:
    face, lining = job.fabrics
    bolt = face.bolts[0]
    first = FabricLayout(
        fabric=face,
        bolt=bolt,
        usable=bolt.usable,
        placements=(
            Laid(piece, 1, inches("1/16"), 0, piece.width, piece.length, letter="A"),
            Laid(piece, 2, 0, piece.length + 1, piece.width, piece.length, letter="B"),
        ),
        length=2 * piece.length + 1,
        bound=Bound(2 * piece.length, "area", {"rows": [1, 2], "half": 0.5}),
        status=Status.FEASIBLE,
        stop=Stop.TIME_LIMIT,
        seconds=0.437,
        buy=Buy(
            2 * piece.length + 1,
            (Allowance("squaring", inches(2)), Allowance("unknown start of the print", inches("101/4"))),
            unit_ticks("yd") // 8,
            "yd",
            bolt.price,
        ),
        rule_of_thumb=RuleOfThumb(inches(252), ("2 widths of 126 in",)),
        squaring=inches(2),
        incumbents=(Incumbent(None, 7, "area", 0.01), Incumbent(2 * piece.length + 1, 9, "shelf", 0.2)),
    )
    hand = replace(
        first, placements=(), length=0, on_hand="hall", buy=None, rule_of_thumb=None,
        bound=Bound(0, "nothing to lay"),
        status=Status.OPTIMAL, stop=Stop.PROVED, incumbents=(),
        spoiled=(
            Flaw(0, inches(58), inches(53), inches(2)), Flaw(inches(50), inches(10), inches(3), inches(1)),
        ),
    )  # fmt: skip
    plain = FabricLayout(
        fabric=lining,
        bolt=lining.bolts[0],
        usable=lining.bolts[0].usable,
        placements=(Laid(pad, 1, 5, 7, pad.length, pad.width, 90, "left"),),
        length=7 + pad.width,
        bound=Bound(7 + pad.width, "width"),
        status=Status.OPTIMAL,
        stop=Stop.PROVED,
        seconds=0.0,
        buy=None,
        railroaded=True,
    )
    return (first, hand, plain)


@pytest.fixture
def plan() -> Plan:
    job = read_job_text(JOB)
    piece = panel(job)
    pad = Piece(
        "pad", "=HYPERLINK(1)", "extra", "lining", inches(9), inches(11), turnable=True, optional=True
    )
    return Plan(
        job=job,
        pieces=(piece, pad),
        layouts=layouts(job, piece, pad),
        sundries=(Sundry("buckram", 2, inches(84), "East", "full width"), Sundry("thread")),
        headings=(
            HeadingPlan(
                "East",
                "left",
                inches(40),
                (HeadingSpot("tab", 0, inches(3), 1),),
                (piece.width_steps,),
                ("fold",),
            ),
        ),
        advice=(Advice("warning", "measure the match", fabric="face"),),
        left_out=(LeftOut("pad", 1, inches("7/2")),),
        panels=(
            PanelPlan("East", "left", "left", 2, inches(40), inches("43/2"), inches("191/2"),
                      (inches(30), inches(15)), (inches("57/2"),), (piece.length_steps,)),
        ),
    )  # fmt: skip


def saved(path: Path, document: Any) -> Path:
    write_text(path, json.dumps(document))
    return path


def test_a_plan_comes_back_as_it_was_written(plan: Plan, tmp_path: Path) -> None:
    document = json.loads(json.dumps(plan_document(plan)))
    again = read_plan(saved(tmp_path / "plan.json", document))
    assert plan_document(again) == document
    assert again.job == plan.job
    assert again.pieces == plan.pieces
    assert again.headings == plan.headings
    assert again.sundries == plan.sundries
    assert again.panels == plan.panels
    assert [layout.placements for layout in again.layouts] == [layout.placements for layout in plan.layouts]
    assert [layout.bolt for layout in again.layouts] == [layout.bolt for layout in plan.layouts]
    assert again == plan


@pytest.mark.parametrize("unit", ["in", "cm", "mm"])
def test_any_starter_job_survives_inside_a_plan(unit: Any, tmp_path: Path) -> None:
    job = read_job_text(starter_job(unit))
    assert read_plan(saved(tmp_path / "plan.json", plan_document(Plan(job, (), ())))).job == job


def test_the_document_keeps_the_contract(plan: Plan) -> None:
    document = plan_document(plan)
    # The keys of the contract; the names of ours beside them may grow.
    assert {"schema", "title", "units", "pieces", "layouts", "left_out"} <= set(document)
    assert document["schema"] == "nesting-plan/2"
    piece, pad = document["pieces"]
    assert set(piece) >= {
        "id", "name", "role", "window", "fabric", "width", "length", "copies", "turnable", "match", "nap",
        "optional", "arithmetic",
    }  # fmt: skip
    assert piece["match"] == {"level": "garden-room", "seam": "east/left", "x": 3.3125, "y": -8.0}
    assert (piece["width"], piece["length"], pad["match"], pad["window"]) == (42.0, 103.5, None, "")
    assert piece["arithmetic"] == [
        "cut length: finished 95 1/2 + hem 4 x 2 = 103 1/2 in",
        "cut width: rod 84 x fullness 1.5 ÷ panels 3 = 42 in",
    ]
    first, hand, plain = document["layouts"]
    assert set(first) >= {
        "fabric", "bolt_width", "usable_width", "repeat", "on_hand", "length", "lower_bound", "squaring",
        "bound_method", "status", "stop", "seconds", "bound_certificate", "buy", "placements",
    }  # fmt: skip
    assert (first["bolt_width"], first["usable_width"]) == (54.0, 53.0)
    assert first["bound_certificate"] == {"rows": [1, 2], "half": 0.5}
    assert (first["status"], first["stop"], first["lower_bound"]) == ("feasible", "time_limit", 207.0)
    # 207 + 2 + 25 1/4 and a tick is 234.25 in = 6.507 yd, bought as 6 5/8 yd at 38.50 each: 255.0625.
    assert (first["buy"]["quantity"], first["buy"]["unit"], first["buy"]["cost"]) == (6.625, "yd", 255.06)
    assert first["buy"]["allowances"][0] == {"name": "squaring", "length": 2.0}
    assert first["placements"][0] == {
        "piece": "east/left/1", "copy": 1, "x": 0.0625, "y": 0.0, "width": 42.0, "length": 103.5, "turn": 0,
        "arrow": "up", "letter": "A", "start_line": 8.0, "number": "A1",
    }  # fmt: skip
    assert (hand["on_hand"], hand["on_hand_length"]) == ("hall", 60.0)
    # The second flaw reaches from 50 to 54; only 50 to 53 can be cut from.
    assert hand["flaws"][1] == {"x": 50.0, "y": 10.0, "width": 3.0, "length": 1.0}
    assert (plain["repeat"], plain["buy"], plain["on_hand"]) == (None, None, None)
    assert document["left_out"] == [{"piece": "pad", "copies": 1, "shortfall": 3.5}]


def test_a_third_keeps_its_repeat(plan: Plan, tmp_path: Path) -> None:
    document = plan_document(plan)
    assert document["layouts"][0]["repeat"]["drop"] == pytest.approx(1 / 3)
    again = read_plan(saved(tmp_path / "plan.json", document))
    assert again.layouts[0].fabric.repeat == plan.job.fabrics[0].repeat


def test_a_layout_on_a_bolt_or_repeat_of_its_own_survives(plan: Plan, tmp_path: Path) -> None:
    first = plan.layouts[0]
    fabric = replace(first.fabric, repeat=None)
    bolt = replace(first.bolt, width=inches(60), usable=inches(59), price=Decimal("12.5"), on_hand=())
    priced = replace(first.buy, price=bolt.price) if first.buy else None
    other = replace(plan, layouts=(replace(first, fabric=fabric, bolt=bolt, usable=bolt.usable, buy=priced),))
    document = json.loads(json.dumps(plan_document(other)))
    again = read_plan(saved(tmp_path / "plan.json", document))
    assert plan_document(again) == document
    assert again.layouts[0].bolt.width == inches(60)
    assert again.layouts[0].fabric.repeat is None


def test_moving_a_cut_in_the_file_moves_it_in_the_plan(plan: Plan, tmp_path: Path) -> None:
    document = plan_document(plan)
    document["layouts"][0]["placements"][1]["y"] = 50.5
    document["layouts"][0]["length"] = 99
    again = read_plan(saved(tmp_path / "plan.json", document))
    assert again.layouts[0].placements[1].y == inches("101/2")
    assert again.layouts[0].length == inches(99)


CONTRACT = {
    "schema": "nesting-plan/2", "title": "", "units": "in",
    "pieces": [{"id": "east-window/left/1", "name": "", "role": "panel", "window": "", "fabric": "face",
                "width": 53.0, "length": 104.0, "copies": 1, "turnable": False,
                "match": {"level": "garden-room", "seam": "east-window/left", "x": 0.0, "y": 0.0},
                "nap": "one-way", "optional": False, "arithmetic": ["..."]}],
    "layouts": [{"fabric": "face", "bolt_width": 54.0, "usable_width": 53.0, "repeat": None, "on_hand": None,
                 "length": 323.0, "lower_bound": 323.0, "squaring": 2.0, "bound_method": "",
                 "status": "optimal", "stop": "proved", "seconds": 0.4, "bound_certificate": None,
                 "buy": {"quantity": 9.125, "unit": "yd", "cost": 351.31},
                 "placements": [{"piece": "east-window/left/1", "copy": 1, "x": 0.0, "y": 0.0, "width": 53.0,
                                 "length": 104.0, "turn": 0, "arrow": "up"}]}],
}  # fmt: skip


def test_the_bare_contract_is_enough_to_draw_from(tmp_path: Path) -> None:
    plan = read_plan(saved(tmp_path / "plan.json", CONTRACT))
    (layout,) = plan.layouts
    assert isinstance(layout.fabric, Fabric)
    assert (layout.fabric.key, layout.fabric.nap, layout.usable) == ("face", "one-way", inches(53))
    assert layout.buy is not None
    assert layout.buy.length == inches(323)
    assert layout.placements[0].piece.length_steps.total == inches(104)
    assert plan_document(plan)["layouts"][0]["length"] == 323.0


def changed(path: tuple[str | int, ...], value: object) -> Any:
    document = json.loads(json.dumps(CONTRACT))
    at = document
    for step in path[:-1]:
        at = at[step]
    if value is None:
        del at[path[-1]]
    else:
        at[path[-1]] = value
    return document


@pytest.mark.parametrize(
    ("path", "value", "told"),
    [
        (("schema",), "nesting-plan/9", "schema"),
        (("schema",), None, "schema"),
        (("units",), "ell", "units"),
        (("pieces", 0, "width"), "53", r"pieces\[0\].width"),
        (("pieces", 0, "width"), 1e30, "10 km"),
        (("pieces", 0, "role"), "sail", r"pieces\[0\].role"),
        (("layouts", 0, "length"), None, r"layouts\[0\].length"),
        (("layouts", 0, "status"), "perfect", r"layouts\[0\].status"),
        (("layouts", 0, "repeat"), {"length": -1, "width": 3, "drop": 0}, "above 0"),
        (("layouts", 0, "placements", 0, "piece"), "ghost", "ghost"),
        (("layouts", 0, "placements", 0, "turn"), 45, r"placements\[0\].turn"),
        (("layouts", 0, "placements", 0, "x"), None, r"placements\[0\].x"),
        (("layouts", 0, "placements"), 3, r"layouts\[0\].placements"),
        (("layouts", 0, "buy", "step"), 0, "buy.step"),
        (("order",), {"title": "x"}, "order"),
        (("order",), {"title": "x", "units": "cm", "fabrics": []}, "expected the same"),
        (("order",), {"title": "x", "units": "in", "fabrics": []}, "does not exist"),
    ],
)
def test_plans_that_are_none_are_refused_with_the_place(
    path: tuple[str | int, ...], value: object, told: str, tmp_path: Path
) -> None:
    file = saved(tmp_path / "plan.json", changed(path, value))
    with pytest.raises(NestingError, match=told) as caught:
        read_plan(file)
    assert str(file) in str(caught.value)


@pytest.mark.parametrize(
    "data", [b"", b"{", b"[]", b"3", b"\xff\xfe", b"title = 3", b"[" * 100_000, b'{"x": NaN}']
)
def test_files_that_are_no_plans(data: bytes, tmp_path: Path) -> None:
    path = tmp_path / "plan.json"
    path.write_bytes(data)
    with pytest.raises(NestingError, match=r"expected a plan|no plan"):
        read_plan(path)


def test_plans_that_are_not_there(tmp_path: Path) -> None:
    for path in (tmp_path, tmp_path / "none.json", tmp_path / ("n" * 5000)):
        with pytest.raises(NestingError, match="cannot be read"):
            read_plan(path)


PLACES = [
    ("schema",), ("units",), ("title",), ("pieces",), ("layouts",), ("pieces", 0), ("pieces", 0, "id"),
    ("pieces", 0, "copies"), ("pieces", 0, "match"), ("pieces", 0, "match", "x"), ("layouts", 0),
    ("layouts", 0, "fabric"), ("layouts", 0, "repeat"), ("layouts", 0, "buy"),
    ("layouts", 0, "buy", "quantity"),
    ("layouts", 0, "seconds"), ("layouts", 0, "bound_certificate"), ("layouts", 0, "placements", 0),
    ("layouts", 0, "placements", 0, "y"), ("layouts", 0, "placements", 0, "copy"), ("order",), ("headings",),
]  # fmt: skip
VALUES = st.sampled_from([0, -1, 1e300, "", "x", [], {}, [[]], [{}], True, {"length": 0.001}, 10**400])


@examples(120, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(place=st.sampled_from(PLACES), value=VALUES)
def test_any_value_anywhere_is_read_or_refused(
    place: tuple[str | int, ...], value: object, tmp_path: Path
) -> None:
    path = saved(tmp_path / "plan.json", changed(place, value))
    try:
        plan = read_plan(path)
    except NestingError as error:
        told = str(error)
    else:
        assert isinstance(plan, Plan)
        return
    assert told.startswith(str(path))


def rows(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text)))


def test_the_cut_list_has_one_row_for_each_cut(plan: Plan) -> None:
    found = rows(cut_list_csv(plan))
    # Two fabrics, so each has its letter; the pad is the first cut of the second.
    assert [(row["number"], row["cut"]) for row in found] == [("A1", "1"), ("A2", "2"), ("B1", "1")]
    first, second, pad = found
    assert (first["piece"], first["copy"], first["letter"], first["arrow"]) == ("east/left/1", "1", "A", "up")
    assert (first["x"], first["x decimal"]) == ("1/16", "0.0625")
    assert (first["y start"], first["y end"], first["y end decimal"]) == ("0", "103 1/2", "103.5")
    assert float(second["y start decimal"]) == pytest.approx(103.5 + 1 / 2032, abs=1e-7)
    # A piece of 9 x 11 that lies turned: its size is that of marker and label, its place that of the bolt.
    assert (pad["width"], pad["length"], pad["turn"]) == ("9", "11", "90")
    assert float(pad["y end decimal"]) - float(pad["y start decimal"]) == pytest.approx(9, abs=1e-6)
    assert float(pad["x end decimal"]) - float(pad["x decimal"]) == pytest.approx(11, abs=1e-6)


def test_cuts_come_in_the_order_in_which_they_are_made(plan: Plan) -> None:
    turned_round = replace(
        plan, layouts=(replace(plan.layouts[0], placements=plan.layouts[0].placements[::-1]),)
    )
    assert [row["copy"] for row in rows(cut_list_csv(turned_round))] == ["1", "2"]


def test_the_piece_list_shows_the_sums(plan: Plan) -> None:
    first, pad = rows(pieces_csv(plan.pieces, "in"))
    assert (first["width"], first["length decimal"], first["copies"]) == ("42", "103.5", "2")
    assert "finished 95 1/2 + hem 4 x 2 = 103 1/2 in" in first["arithmetic"]
    assert (first["matched"], pad["matched"], pad["turnable"], pad["optional"]) == ("yes", "no", "yes", "yes")


@pytest.mark.parametrize("name", ["=1+1", "+1", "-cmd", "@SUM(A1)", "\t=1", " =1", "-2-3"])
def test_no_name_becomes_a_formula(name: str, plan: Plan) -> None:
    piece = replace(plan.pieces[1], name=name)
    (row,) = rows(pieces_csv([piece], "in"))
    assert row["name"] == f"'{name}"


def test_names_and_lengths_that_are_harmless_stay(plan: Plan) -> None:
    laid = replace(plan.layouts[2].placements[0], x=-inches("3/2"))
    harmless = replace(plan, layouts=(replace(plan.layouts[2], placements=(laid,)),))
    (row,) = rows(cut_list_csv(harmless))
    assert row["x"] == "-1 1/2"
    (row,) = rows(pieces_csv([replace(plan.pieces[0], name='Panel "A", 1-2')], "in"))
    assert row["name"] == 'Panel "A", 1-2'


def test_a_file_is_replaced_whole(tmp_path: Path) -> None:
    path = tmp_path / "new" / "folder" / "plan.json"
    write_text(path, "first")
    write_text(path, "zweite Länge ½")
    assert path.read_text(encoding="utf-8") == "zweite Länge ½"
    write_bytes(path, b"\0\1")
    assert path.read_bytes() == b"\0\1"
    assert os.listdir(path.parent) == ["plan.json"]


def test_what_cannot_be_written_leaves_the_old_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "plan.json"
    write_text(path, "old")

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(
        OutputError, match=r"plan\.json could not be written \(No space left on device\): choose"
    ):
        write_text(path, "new")
    assert path.read_text() == "old"
    assert os.listdir(tmp_path) == ["plan.json"]


def test_places_where_no_file_can_stand(tmp_path: Path) -> None:
    write_text(tmp_path / "file", "x")
    for path in (tmp_path / "file" / "plan.json", tmp_path, tmp_path / "a\0b", Path("")):
        with pytest.raises(OutputError, match="could not be written"):
            write_text(path, "x")
    assert os.listdir(tmp_path) == ["file"]
