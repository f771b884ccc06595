"""What only the maker can tell of a print: asked with what each answer costs, in plan, terminal and page.

All data is invented; sums are worked beside each check, in inches.
"""

from __future__ import annotations

import json
import time
from pathlib import Path

import pytest
from orders import cm, inch
from test_print_width import JOB, effort, planned, the_layout
from typer.testing import CliRunner

from nesting.check import check_plan_document
from nesting.commands.app import app
from nesting.files import plan_document, read_job_text, read_plan
from nesting.order.job import Job
from nesting.plan.question import Question
from nesting.planning.answers import answered
from nesting.planning.doubts import open_questions
from nesting.planning.planner import plan
from nesting.web.asking import by_field
from tests.web_page import HANGS, OURS, a_page, opened

#: 27 repeats across on a fabric stated 53 wide: one repeat is matched, half of the fabric left over.
HALF_USED = JOB.replace("width = 54", "width = 53")
HALF_DROP = JOB.replace("width = 27 }", "width = 27, drop = 0.5 }")


def asked_of(job: Job) -> list[Question]:
    return [one.question for one in open_questions(job, {each.key: each.bolts[0] for each in job.fabrics})]


@pytest.mark.parametrize(
    ("width", "across", "enter"),
    [
        # 27 of 53 leave 26. Two repeats are 54, as near as labels are: the fabric may be wider than stated.
        ("53", "27", "54 in as its width"),
        # 50 1/2 of 54 leave 3 1/2: no whole repeats fill the width, two of 27 would.
        ("54", "25.25", "27 in as the repeat across"),
        # A fifth of 54 is 10.8: 40 leave 14, and one repeat of 54 would fill it.
        ("54", "40", "54 in as the repeat across"),
        # The print fills the width, or nearly: nothing to ask.
        ("54", "27", ""),
        ("54", "54", ""),
        ("54", "26.5", ""),
        ("54", "2", ""),
        # 45 of 48 + 1/4; 5 x 9.6 would gain 3: more than 2, so it is asked.
        ("48", "9", "9.6 in as the repeat across"),
        ("56", "27", ""),
    ],
)
def test_a_match_is_asked_for_where_repeats_do_not_fill_the_width(
    width: str, across: str, enter: str
) -> None:
    text = JOB.replace("width = 54", f"width = {width}").replace("width = 27 }", f"width = {across} }}")
    found = asked_of(read_job_text(text))
    assert [one.about for one in found] == ["match"] * bool(enter)
    assert [one.answers[1].enter for one in found] == [f"then enter {enter}"] * bool(enter)


def test_metric_widths_are_asked_for_too() -> None:
    metric = JOB.replace('"in"', '"cm"').replace("rod = 84", "rod = 210").replace("= 96", "= 240")
    metric = metric.replace("length = 27", "length = 64").replace("flat_width = 105", "flat_width = 273")
    # 137 with 64: 128 leave 9, two of 68.5 would fill it. 140 with 70 is filled.
    for width, across, count in (("137", "64", 1), ("140", "70", 0)):
        text = metric.replace("width = 54", f"width = {width}").replace("width = 27", f"width = {across}")
        found = asked_of(read_job_text(text))
        assert len(found) == count
        assert all(one.answers[1].enter == "then enter 68.5 cm as the repeat across" for one in found)
    assert cm("68.5") * 2 == cm(137)


def test_what_was_typed_is_not_asked_for() -> None:
    assert asked_of(read_job_text(HALF_USED.replace("price", "match = 27\nprice"))) == []
    # A measured usable width is: without it the print would fill the stated width.
    (found,) = asked_of(read_job_text(JOB.replace("price", "usable = 53\nprice")))
    assert found.answers[1].enter == "then leave the usable width empty"


def test_each_answer_is_told_with_what_it_costs() -> None:
    # A panel is 109. Match 27: cut 28, 4 x 27 + 1 = 109: 8 cuts, 7 x 135 + 112 = 1057, with squaring 2 and a
    # repeat 1086 = 30 1/4 yd (30.17). Printed 54: 4 cuts, 517 + 29 = 546 = 15 1/4 yd (15.17).
    made = planned(HALF_USED)
    (question,) = made.questions
    amounts = [(answer.planned, answer.buy and answer.buy.quantity, answer.buy and answer.buy.cost)
               for answer in question.answers]  # fmt: skip
    assert amounts == [(True, 30.25, 2420), (False, 15.25, 1220)]
    first = made.advice[0]
    assert first.kind == "question"
    assert "(30 1/4 yd, 2420.00)" in first.text
    assert "(15 1/4 yd, 1220.00)" in first.text


def test_the_answer_entered_costs_what_was_told() -> None:
    for text, typed in (
        (HALF_USED, HALF_USED.replace("width = 53", "width = 54")),
        (
            HALF_USED.replace("width = 27 }", "width = 24 }"),
            HALF_USED.replace("width = 27 }", "width = 26.5 }").replace("width = 53", "width = 53"),
        ),
        (HALF_DROP, HALF_DROP.replace("drop = 0.5", 'drop = 0.5, drop_from = "selvage"')),
    ):
        (question,) = planned(text).questions
        entered = planned(typed)
        assert entered.questions == ()
        assert question.answers[1].buy is not None
        assert question.answers[1].buy.cost == entered.cost


def test_the_step_of_a_drop_is_asked_and_the_next_letter_told() -> None:
    # Two columns of a half drop come straight from selvage to selvage: all four cuts A, on 135: 517. With
    # the step at the selvage the second width of each panel is a B: from an A to a B and back it is 4 1/2
    # repeats, 121 1/2 (112 and more), from like to like 135: A B A B takes 3 x 121 1/2 + 112 = 476 1/2.
    made = planned(HALF_DROP)
    assert the_layout(made).length == inch(3 * 135 + 112)
    assert {laid.letter for laid in the_layout(made).placements} == {"A"}
    (question,) = made.questions
    assert question.about == "drop_from"
    assert [answer.text.rsplit(" ", 1)[1] for answer in question.answers] == ["A", "B"]
    at_selvage = planned(HALF_DROP.replace("drop = 0.5", 'drop = 0.5, drop_from = "selvage"'))
    layout = the_layout(at_selvage)
    assert layout.length == inch("476 1/2")
    assert sorted(laid.letter for laid in layout.placements) == ["A", "A", "B", "B"]
    repeat = layout.fabric.repeat
    assert repeat is not None
    assert repeat.width == inch(54)
    assert any("the next one begins with B" in one.text for one in at_selvage.advice)
    assert any("the next width begins with A too" in one.text for one in made.advice)
    said = planned(HALF_DROP.replace("drop = 0.5", 'drop = 0.5, drop_from = "column"'))
    assert (said.questions, the_layout(said).length) == ((), the_layout(made).length)


def test_a_width_of_one_column_leaves_nothing_to_ask() -> None:
    one = planned(HALF_DROP.replace("width = 27", "width = 54"))
    assert one.questions == ()
    assert the_layout(one).length == inch("476 1/2")


def test_thirds_go_on_with_the_letter_of_the_marker() -> None:
    thirds = HALF_DROP.replace("drop = 0.5", 'drop = "1/3"')
    (question,) = asked_of(read_job_text(thirds))
    # Two columns to the right the pattern stands 2/3 higher, which is 1/3 lower: a width laid at the same
    # place is -2/3 = 1/3 on, a B; to the left of the leading width it is a C. Of one column it is -1/3, a C.
    letters = [answer.text.rsplit(" ", 1)[1] for answer in question.answers]
    assert letters == ["B", "C"]
    found = {laid.piece.id: laid.letter for laid in the_layout(planned(thirds)).placements}
    assert found == {"east/left/1": "A", "east/left/2": "C", "east/right/1": "A", "east/right/2": "B"}


def test_questions_are_written_and_read_back(tmp_path: Path) -> None:
    made = planned(HALF_USED)
    document = plan_document(made)
    assert check_plan_document(document) == ()
    (written,) = document["questions"]
    assert [answer["buy"]["cost"] for answer in written["answers"]] == [2420.0, 1220.0]
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(document))
    again = read_plan(file)
    assert again.questions == made.questions
    assert again.layouts[0].bolt == made.layouts[0].bolt


def test_the_terminal_plans_the_default_and_asks_first(tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(HALF_USED)
    result = CliRunner().invoke(app, ["plan", str(file), "--work-limit", "1", "--workers", "1"])
    assert result.exit_code == 0
    remarks = [line for line in result.stderr.splitlines() if ": " in line]
    assert remarks[0].startswith("question: face, 53 in wide")
    assert "30 1/4 yd, 2420.00" in remarks[0]
    assert "15 1/4 yd, 1220.00" in remarks[0]


def test_checking_a_job_and_listing_its_pieces_ask_too(tmp_path: Path) -> None:
    file = tmp_path / "job.toml"
    file.write_text(HALF_USED)
    for command in ("check", "pieces"):
        result = CliRunner().invoke(app, [command, str(file)])
        assert result.exit_code == 0
        assert result.stderr.startswith("question: face, 53 in wide: whole repeats of 27 in leave 26 in")


def test_a_search_of_no_plan_answers_the_same() -> None:
    job = read_job_text(HALF_USED)
    assert answered(job, effort()) == plan(job, effort=effort()).questions


# The page


def test_the_page_asks_at_the_field_with_both_amounts() -> None:
    with a_page() as page:
        made = opened(page, HALF_USED)
        name = "fabric.face.bolt.0.match"
        assert name in made
        answer = page.post("/live", data=made, headers=OURS).json()
        end = time.monotonic() + HANGS
        while answer["busy"] and time.monotonic() < end:
            time.sleep(0.5)
            answer = page.post("/live", data=made, headers=OURS).json()
        lines = answer["told"][name]["asked"]
        assert lines[1:3] == [
            "Planned: match 27 in, 1 repeat across: 30 1/4 yd, 2420.00",
            "Or: the fabric is printed 54 in wide, 2 repeats across: 15 1/4 yd, 1220.00 (then enter 54 "
            "in as its width)",
        ]
        # The form itself shows them once they are known.
        shown = page.post("/job", data=made, headers=OURS).text
        assert "15 1/4 yd, 1220.00" in shown
        # A print that fills its bolt: nothing to ask, and the field says what holds.
        whole = page.post("/job", data={**made, "fabric.face.bolt.0.width": "54"}, headers=OURS).text
        assert "Planned: match" not in whole
        assert "54 in, the whole width, seams in the selvage" in whole


def test_the_field_of_the_step_comes_with_a_drop() -> None:
    with a_page() as page:
        name = "fabric.face.repeat.drop_from"
        assert name not in opened(page, JOB)
        made = opened(page, HALF_DROP)
        assert made[name] == ""
        asked = page.post("/live", data=made, headers=OURS).json()["told"][name]["asked"]
        assert asked[0] == "face: half drop, 2 columns across. Where is its step?"
        kept = page.post("/job/save", data={**made, name: "selvage"}, headers=OURS).text
        assert 'drop_from = "selvage"' in kept


def test_fields_are_named_as_the_form_names_them() -> None:
    found = by_field(asked_of(read_job_text(HALF_USED)), "$")
    assert list(found) == ["fabric.face.bolt.0.match"]
