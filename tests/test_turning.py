"""Panels ordered turned lie turned, and the sums of a job are those of its plan. Data invented, inches."""

from __future__ import annotations

from copy import deepcopy
from dataclasses import replace
from fractions import Fraction
from typing import Any

import pytest
from orders import a_bolt, a_fabric, a_job, bare_window, cut_job, inch

from nesting.check import Breach, check_plan_document
from nesting.cutting.cut import cut, open_turns
from nesting.errors import DoesNotFitError
from nesting.files import plan_document
from nesting.order.job import Extra, Job, Window
from nesting.packing import pack
from nesting.plan.plan import FabricLayout, Plan
from nesting.planning.laying import layout_of
from nesting.planning.planner import Effort, plan
from nesting.planning.ways import cases_of
from nesting.web.workings import sums_of


def planned(job: Job) -> Plan:
    """The plan, which must pass the independent check as a document too."""
    made = plan(job, effort=Effort(work=1.0, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    return made


def face(made: Plan) -> FabricLayout:
    return next(layout for layout in made.layouts if layout.fabric.key == "face")


def narrow(**said: Any) -> Window:
    """A pair cut 58 wide and 92 long: rod 58, half of it 29, twice."""
    base: dict[str, Any] = {"rod": inch(58), "fullness": Fraction(2), "finished_length": inch(92)}
    return bare_window(**{**base, **said})


def sheer(*windows: Window, **more: Any) -> Job:
    """On a bolt of 118, of which 117 are usable."""
    return a_job(*windows, fabrics=(a_fabric(a_bolt(inch(118), inch(117), sold_by=inch("4 1/2"))),), **more)


def test_ordered_turned_is_laid_turned_with_room_to_spare() -> None:
    # Upright 58 + 58 = 116 lie side by side on 117: 92 long. Turned, each takes 92 across, so one after the
    # other: 58 + 58 = 116 long.
    layout = face(planned(sheer(narrow())))
    assert (layout.length, layout.railroaded, {laid.turn for laid in layout.placements}) == (
        inch(92), False, {0},
    )  # fmt: skip
    layout = face(planned(sheer(narrow(railroad="yes"))))
    assert layout.length == layout.bound.length == inch(116)
    assert layout.railroaded
    assert {(laid.turn, laid.arrow) for laid in layout.placements} == {(90, "left")}


def test_railroaded_is_how_panels_lie_at_last() -> None:
    """A layout found later may stand up what an earlier one turned; the check once refused such a plan."""
    (case,) = cases_of(sheer(narrow()), sheer().fabrics[0], {"face": sheer().fabrics[0].bolts[0]})
    lay = replace(case.lay, railroaded=True)
    result = pack(lay.problem, work_limit=0.2, workers=1)
    layout, _ = layout_of(lay, result, result.bound, None)
    assert ({one.turn for one in layout.placements}, layout.railroaded) == ({0}, False)


def test_one_room_is_ordered_turned_and_the_other_chooses() -> None:
    # Parlour turned: 58 + 58 long and 92 across. The den's pair of 20 x 25 has 25 across left beside it.
    den = narrow(name="Den window", room="Den", rod=inch(20), finished_length=inch(25))
    parlour = narrow(room="Parlour", railroad="yes")
    layout = face(planned(sheer(parlour, den)))
    assert layout.length == layout.bound.length == inch(116)
    assert {laid.turn for laid in layout.placements if laid.piece.room == "Parlour"} == {90}


def test_whole_widths_are_not_laid_upright_in_one_run() -> None:
    # One panel of 58: whole widths make it 117 wide upright, 20 long. Cut turned, it is one run of 58, which
    # takes 58. Laid upright that run would be 20 long too, but no whole width.
    window = narrow(draw="left", rod=inch(29), finished_length=inch(20), widths="whole")
    layout = face(planned(sheer(window)))
    (laid,) = layout.placements
    assert (laid.turn, laid.width, laid.length) == (0, inch(117), inch(20))


def test_extras_of_a_turned_room_lie_as_its_panels_do() -> None:
    # Shaded both ways (two-way nap): what is not hidden lies as the panels of its room.
    extra = Extra("Valance", "face", inch(60), inch(20), room="Garden room")
    job = sheer(narrow(railroad="yes"), extras=(extra,))
    job = replace(job, fabrics=(replace(job.fabrics[0], nap="two-way"),))
    layout = face(planned(job))
    assert {laid.turn for laid in layout.placements} == {90}
    # Beside 92 there are 25 left: the valance takes 20 of them.
    assert layout.length == inch(116)


def test_the_sums_list_the_pieces_that_the_plan_cuts() -> None:
    # Rod 130: 130 wide, more than 117. Upright it would be 117 and a strip; ordered turned it is one run.
    job = sheer(narrow(rod=inch(130), railroad="yes"))
    assert {(p.id, p.width, p.sideways) for p in cut_job(job).pieces} == {
        ("east-window/left/1", inch(130), True),
        ("east-window/right/1", inch(130), True),
    }
    assert cut_job(job).pieces == planned(job).pieces


def test_the_sums_refuse_what_the_plan_refuses() -> None:
    # Cut 118 long, turned across 117.
    job = sheer(narrow(finished_length=inch(118), railroad="yes"))
    for act in (plan, cut_job):
        with pytest.raises(DoesNotFitError, match="cut length 118 in is more than the usable width 117 in"):
            act(job)


def test_the_sums_say_where_the_plan_may_turn_instead() -> None:
    job = sheer(narrow(rod=inch(130)))
    bolts = {"face": job.fabrics[0].bolts[0]}
    (told,) = open_turns(job, bolts, cut(job, bolts))
    assert "in one run of 130 in each" in told.text
    for window in (narrow(rod=inch(130), railroad="yes"), narrow(rod=inch(130), railroad="no"), narrow()):
        other = sheer(window)
        assert not list(open_turns(other, bolts, cut(other, bolts)))


def table(**said: Any) -> dict[str, Any]:
    window = {
        "name": "East", "rod": 130, "fullness": 2, "finished_length": 80, "heading": "clip-ring", **said
    }  # fmt: skip
    return {"units": "in", "fabric": {"face": {"nap": "none", "bolt": [{"width": 118}]}}, "window": [window]}


def test_the_page_lists_turned_pieces_and_refuses_as_the_plan_does() -> None:
    turned = sums_of(table(railroad="yes"))
    assert [piece["id"] for piece in turned["groups"][0]["pieces"]] == ["east/left/1", "east/right/1"]
    upright = sums_of(table())
    assert len(upright["groups"][0]["pieces"]) == 4
    assert any("turned sideways" in advice["text"] for advice in upright["advice"])
    # Cut 110 + 4 + 8 = 122 long, more than 117.
    assert "more than the usable width 117 in" in sums_of(table(railroad="yes", finished_length=110))["stuck"]


def document() -> dict[str, Any]:
    return plan_document(plan(sheer(narrow(railroad="yes")), effort=Effort(work=0.0, workers=1)))


def spoiled(**values: Any) -> set[Breach]:
    spoiled = deepcopy(document())
    for path, value in values.items():
        at: Any = spoiled
        *keys, last = path.split("__")
        for key in keys:
            at = at[int(key) if key.isdigit() else key]
        at[last] = value
    return {broken.kind for broken in check_plan_document(spoiled)}


def test_the_check_finds_panels_that_lie_against_the_order() -> None:
    assert spoiled() == set()
    assert spoiled(order__windows__0__railroad="no") == {Breach.TURN}
    assert spoiled(layouts__0__railroaded=False) == {Breach.TURN}
    # The very plan that used to be written: upright, and said to be railroaded.
    upright = plan_document(plan(sheer(narrow()), effort=Effort(work=0.0, workers=1)))
    upright["order"]["windows"][0]["railroad"] = "yes"
    upright["layouts"][0]["railroaded"] = True
    assert {broken.kind for broken in check_plan_document(upright)} == {Breach.TURN}
    # Pieces said to lie sideways must.
    upright = plan_document(plan(sheer(narrow()), effort=Effort(work=0.0, workers=1)))
    for piece in upright["pieces"]:
        piece["sideways"] = True
    assert {broken.kind for broken in check_plan_document(upright)} == {Breach.ARROW}
