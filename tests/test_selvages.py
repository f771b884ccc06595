"""What becomes of the selvages, followed at the table: every piece must come out as wide as its label says.

All data is invented, in inches; that cut sizes are those between the selvages is common practice, no source.
"""

from __future__ import annotations

import re

import pytest
from orders import a_bolt, a_fabric, a_window, inch
from pages import every, parsed, planned, words
from test_sewing import LINING, Printed

from nesting.files import read_job_text
from nesting.order.job import Fabric
from nesting.plan.plan import Plan
from nesting.plan.selvages import left_off, seams_in_selvage
from nesting.plan.sequence import sequence
from nesting.planning.planner import Effort, plan
from nesting.repeat import Repeat


def checks(made: Plan, at: int = 0) -> list[str]:
    return [one.text for one in sequence(made.job, made.layouts[at]).actions if one.kind == "check"]


def cuts(made: Plan, at: int = 0) -> str:
    return " ".join(one.text for one in sequence(made.job, made.layouts[at]).actions if one.kind == "cut")


def asked(paper: Printed, question: str) -> str:
    return next(words(one) for one in every(parsed(paper.html), "p") if words(one).startswith(question))


def face(**more: object) -> Fabric:
    return a_fabric(a_bolt(inch(54), inch(53)), **more)


@pytest.mark.parametrize("usable", ["53", "52 1/2", "50"])
def test_what_is_left_off_is_chalked_off_and_no_seam_keeps_it(usable: str) -> None:
    # 54 with 53 usable leaves 1/2 off at either selvage, 52 1/2 leaves 3/4, 50 leaves 2. Sewn 1/2 from a
    # selvage that is still on, a seam of two widths would take 1 less than planned for every 1/2 of selvage.
    made = planned(a_window(lining="lining"), fabrics=(a_fabric(a_bolt(inch(54), inch(usable))), LINING))
    off = {"53": "1/2", "52 1/2": "3/4", "50": "2"}[usable]
    assert left_off(made.layouts[0]) == inch(off)
    (said,) = [one for one in checks(made) if "left line" in one]
    assert f"{off} in inside each selvage" in said
    assert "every distance from the left is read from the left line" in said
    assert "what is beyond is no part of it" in said
    assert "from the left edge" not in cuts(made)
    assert "in from the left line cut lengthwise" in cuts(made)
    paper = Printed(made)
    assert "clip" not in paper.steps.text.lower()
    assert "cut off any that is still at a seam before you sew it" in paper.steps.text
    assert "cut off any that is still at a seam before you sew it" in paper.steps.step("Lining")
    assert "cut it off" in asked(paper, "Trim or clip the selvage?")


def test_seams_that_take_up_the_selvage_have_it_clipped() -> None:
    # Match 54 on 55 usable of 56: widths of 55, seam allowances included, 1/2 off at either side. On 54
    # usable the same widths reach 1/2 into the selvage at either side: it is clipped in the seam.
    kinds = dict[str, bool]()
    for usable in ("55", "54"):
        bolt = a_bolt(inch(56), inch(usable), match=inch(54))
        made = planned(a_window(rod=inch(120)), fabrics=(a_fabric(bolt, repeat=Repeat(inch(27), inch(27))),))
        kinds[usable] = seams_in_selvage(made.layouts[0])
        assert left_off(made.layouts[0]) == inch("1/2")
        assert ("Clip a selvage in the seam at short, even distances" in Printed(made).steps.text) == kinds[
            usable
        ]
    assert kinds == {"55": False, "54": True}


def test_a_print_as_wide_as_its_bolt_is_read_from_a_line_in_the_selvage() -> None:
    # 27 across on 54: match 54, widths of 55. The line is one seam allowance, 1/2, outside the first motif.
    made = planned(
        a_window(rod=inch(120)),
        fabrics=(
            a_fabric(
                a_bolt(inch(54), inch(53), match=inch(54), printed=True), repeat=Repeat(inch(27), inch(27))
            ),
        ),
    )
    assert any("The line 1/2 in outside the left motif is the left line" in one for one in checks(made))
    assert "Clip a selvage in the seam" in Printed(made).steps.text


SELVAGE = """
units = "in"
[fabric.face]
[[fabric.face.bolt]]
width = {width}
[[window]]
name = "Porch"
rod = 84
finished_length = 84
heading = "grommet"
{said}
"""


def test_a_selvage_that_is_a_hem_is_not_said_to_be_cut_off() -> None:
    for width, said, stays in (
        (118, 'railroad = "yes"\nbottom_hem = "selvage"', "the right selvage is the hem and stays"),
        (54, 'side_hem = "selvage"', "it stays where it is the side of a panel"),
    ):
        made = plan(read_job_text(SELVAGE.format(width=width, said=said)), effort=Effort(work=0.5, workers=1))
        told = checks(made)
        assert not any("left line" in one for one in told)
        assert sum("from the left" in one and "edge of the fabric" in one for one in told) == 1
        assert re.search(r"at \S+( \S+)? in from the left edge cut lengthwise", cuts(made))
        assert stays in asked(Printed(made), "Trim or clip the selvage?")
