"""The check of a plan document finds a rod that does not pass and a hem that hangs too low or too high."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest
from heading_sums import hung

from nesting import Effort, plan_job
from nesting.check import Breach, check_plan_document, unjudged
from nesting.files import plan_document, read_job_text
from nesting.headings import HEADINGS

Table = dict[str, Any]


def planned(window: str, units: str = "in") -> Table:
    width = 54 if units == "in" else 140
    text = f'units = "{units}"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = {width}\n'
    text += f'[[window]]\nname = "East"\n{window}'
    return plan_document(plan_job(read_job_text(text), effort=Effort(work=0.1, workers=1)))


def hanging(document: Table) -> list[str]:
    return [str(one) for one in check_plan_document(document) if one.kind is Breach.HANGING]


IN = "rod = 40\nrod_diameter = 1\nrod_height = 90\n"
CM = "rod = 100\nrod_diameter = 2.5\nrod_height = 230\n"


@pytest.mark.parametrize(
    ("window", "units"),
    [
        *((f'{IN}heading = "{name}"\n{hung(name, "2")}', "in") for name in HEADINGS),
        *((f'{CM}heading = "{name}"\n{hung(name, "5")}', "cm") for name in HEADINGS),
        (f'{IN}heading = "tab-top"\ntab = {{ length = 7 }}', "in"),
        *((f'{IN}rod_depth = 0.25\nheading = "{name}"\n{hung(name, "2")}', "in") for name in HEADINGS),
        (f'{IN}rod_depth = 0.25\nheading = "tab-top"\ntab = {{ length = 7 }}', "in"),
        (f'{CM}heading = "back-tab"\ntake_up = 0', "cm"),
        (f'{IN}heading = "rod-pocket"\ntake_up = 1.5', "in"),
        (f'{IN}heading = "rod-pocket"\nheading_depth = 2\nclearance = -3', "in"),
        (f'{IN}heading = "pinch-pleat"\nring_drop = 2', "in"),
        ('rod = 40\neye_height = 90\nheading = "pinch-pleat"', "in"),
        ('rod = 100\neye_height = 230\nheading = "pencil-pleat"\nhook_row = "middle"', "cm"),
        (f'{IN}heading = "pencil-pleat"\nring_drop = 2\nhook_row = "bottom"\ntape = 4', "in"),
    ],
)
def test_what_is_planned_hangs_as_ordered(window: str, units: str) -> None:
    document = planned(window, units)
    assert check_plan_document(document) == ()
    if tuple(unjudged(document)):
        pytest.skip("the check has no figures of its own for this heading, and says so")
    # A tape's step too long or too short, and no less, is found on every heading.
    step = 0.1 if units == "cm" else 0.0625
    for off in (step, -2 * step):
        spoiled = {
            **document,
            "panels": [{**one, "length": one["length"] + off} for one in document["panels"]],
        }
        assert len(hanging(spoiled)) == len(document["panels"]), off


def with_tabs(length: float) -> Callable[[Table], None]:
    def change(document: Table) -> None:
        for piece in document["pieces"]:
            if piece["role"] == "tab":
                piece["finished_length"] = length

    return change


def with_order(**said: Any) -> Callable[[Table], None]:
    def change(document: Table) -> None:
        document["order"]["windows"][0] |= said

    return change


def with_pocket(ticks: int) -> Callable[[Table], None]:
    def change(document: Table) -> None:
        for piece in document["pieces"]:
            for term in piece["steps"]["length"]["terms"]:
                if term["label"] == "pocket":
                    term["amount"] = str(ticks)

    return change


@pytest.mark.parametrize(
    ("heading", "change", "found"),
    [
        # d 1: half the circumference 1.571; a loop that also goes down both sides 2.571.
        ("back-tab", with_tabs(1.5), True),
        ("back-tab", with_tabs(1.5625), True),
        ("back-tab", with_tabs(1.625), False),
        ("tab-top", with_tabs(2.5), True),
        ("tab-top", with_tabs(2.625), False),
        ("rod-pocket", with_pocket(3176), True),  # 1 9/16 in ticks of 1/2032 in: 3175
        ("rod-pocket", with_pocket(3302), False),  # 1 5/8
        ("grommet", with_order(ring={"size": 2032}), True),  # 1 in outside a rod 1 in thick
        ("grommet", with_order(ring={"size": 5080, "inner": 2032}), True),
        ("grommet", with_order(ring={"size": 5080, "inner": 2540}), False),
        ("clip-ring", with_order(ring={"inner": 1016}), True),
        ("pinch-pleat", with_order(ring={"inner": 1016}), True),
    ],
)
def test_a_rod_that_does_not_pass_is_found(
    heading: str, change: Callable[[Table], None], found: bool
) -> None:
    document = planned(f'rod = 40\nrod_diameter = 1\nfinished_length = 80\nheading = "{heading}"')
    assert hanging(document) == []
    change(document)
    assert bool(hanging(document)) == found


@pytest.mark.parametrize(
    ("said", "taken", "found"),
    [
        # d 1: 0.2854 taken up, 580 of 2032 ticks to the inch; the tape has 5/16, which is 635.
        ("", 635, False),
        ("", 580, False),
        ("", 508, True),
        ("", 762, True),
        ("take_up = 0.5\n", 1016, False),
        ("take_up = 0.5\n", 635, True),
        ("rod_depth = 0.25\n", 635, True),
    ],
)
@pytest.mark.parametrize("heading", ["back-tab", "rod-pocket"])
def test_what_the_rod_takes_up_is_in_the_cut(heading: str, said: str, taken: int, found: bool) -> None:
    document = planned(f'rod = 40\nrod_diameter = 1\nfinished_length = 80\n{said}heading = "{heading}"')
    assert hanging(document) == []
    for piece in document["pieces"]:
        terms = piece["steps"]["length"]["terms"]
        terms[:] = [term for term in terms if term["label"] != "take-up over the rod"]
        if piece["role"] == "panel":
            terms.append({"label": "take-up over the rod", "sign": "+", "amount": str(taken), "times": 1})
    assert bool(hanging(document)) == found
    for piece in document["pieces"]:
        piece["steps"]["length"]["terms"].pop()
    assert bool(hanging(document)) == (said != "rod_depth = 0.25\n")


def test_a_document_without_its_order_is_not_judged() -> None:
    document = planned(f'{IN}heading = "back-tab"')
    del document["order"]
    assert check_plan_document(document) == ()


def test_a_heading_that_the_check_has_no_figures_for_is_left_open_and_said_so() -> None:
    document = planned(f'{IN}heading = "back-tab"')
    assert tuple(unjudged(document)) == ()
    window = document["order"]["windows"][0]
    window["heading"] = "scalloped"
    document["panels"] = [{**one, "length": one["length"] + 5} for one in document["panels"]]
    assert hanging(document) == []
    (said,) = unjudged(document)
    assert "East" in said
    assert "scalloped" in said
    # What does not depend on the heading is judged still: the rod within its rings.
    window["hangs_from"], window["ring"] = "rings", {"inner": 1016}
    assert len(hanging(document)) == 1


@pytest.mark.parametrize("order", [None, 3, {"windows": 3}, {"windows": [3, {"heading": ["x"]}]}])
def test_an_order_out_of_shape_leaves_nothing_open(order: object) -> None:
    assert all(isinstance(line, str) for line in unjudged({"order": order}))
