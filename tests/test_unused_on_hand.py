"""Fabric on hand that stays unused: why, what would use it, and what is really missing, once."""

from __future__ import annotations

from nesting.files import read_job_text
from nesting.plan.plan import Plan
from nesting.plan.shortage import shortfall_rows
from nesting.planning.planner import Effort, plan

JOB = """
currency = "$"
[fabric.face]
[[fabric.face.bolt]]
width = 54
price = 10
top_up = true
[[fabric.face.bolt.on_hand]]
length = "6 yd"
[[window]]
name = "East"
rod = 84
heading = "clip-ring"
finished_length = 95
rod_diameter = 1
fullness = 1.5
"""


def planned(text: str) -> Plan:
    return plan(read_job_text(text), effort=Effort(work=1.5, workers=1))


def test_a_remnant_too_short_for_a_window_is_told_with_what_would_use_it() -> None:
    """Worked by hand. Clip rings: 95 + 4 at the top (twice 2) + 8 at the hem is 107 a cut; common practice.

    Each panel is 63 flat, 67 cut: 53 and 15. Four pieces in three rows of 107 are 321, + 2 to square 323:
    72 steps of 4 1/2 in, 9 yd, $90. The 6 yd (216 in) hold two rows, 214; the third, with both strips beside
    each other, is bought: 107 + 2 = 109, 25 steps, 3 1/8 yd, $31.25.
    """
    made = planned(JOB)
    (told,) = [one for one in made.advice if "stays unused" in one.text]
    assert "length 1 (216 in)" in told.text
    assert told.text.endswith("then 3 1/8 yd more is enough, $31.25, instead of 9 yd, $90.00")
    assert told.money == 90 - 31.25
    one_lot = JOB.replace("price = 10", 'price = 10\nlot = "A"').replace('"6 yd"', '"6 yd"\nlot = "A"')
    again = planned(one_lot)
    assert again.cost == 31.25
    assert not [one for one in again.advice if "stays unused" in one.text]


def test_a_window_left_out_is_told_the_same_once() -> None:
    """The same job without topping up: 9 yd, $90, by itself; 3 1/8 yd, $31.25, if all is of one lot."""
    made = planned(JOB.replace("top_up = true", "top_up = false"))
    (short,) = made.shortfalls
    rows = dict(shortfall_rows(made, short))
    assert rows["on hand"] == "length 1 216 in"
    assert rows["left out"] == "East"
    assert rows["not cut into"] == (
        "length 1: all panels of a window are cut from one lot, and its lot has no room left for all of them"
    )
    assert rows["missing"].startswith("buy 9 yd more, $90.00")
    assert rows["missing"].endswith("Proven: no less is enough")
    assert rows["what would use it"].endswith("then 3 1/8 yd more is enough, $31.25")
    assert "each by itself" not in rows
    assert not [one for one in made.advice if "stays unused" in one.text]


def test_a_remnant_shorter_than_a_panel_is_told_so() -> None:
    made = planned(JOB.replace("top_up = true", "top_up = false").replace('"6 yd"', "100"))
    (short,) = made.shortfalls
    (idle,) = short.idle
    assert idle[0] == "length 1"
    assert idle[1].startswith("too small for East, left panel, ")
    assert idle[1].endswith(" x 107 in")
    assert short.one_lot is None


def test_a_remnant_that_is_used_or_not_needed_is_not_spoken_of() -> None:
    enough = JOB.replace('"6 yd"', '"10 yd"')
    assert not [one for one in planned(enough).advice if "stays unused" in one.text]
    two = JOB + '[[window]]\nname = "Small"\nrod = 30\nheading = "clip-ring"\nfinished_length = 60\n'
    assert not [one for one in planned(two).advice if "stays unused" in one.text]
