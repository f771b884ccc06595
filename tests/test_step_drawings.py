"""Pictures of sewing steps: one for every operation, made from the works, legible in black and white."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

import pytest

from nesting.drawing.operations import VIEWS, step_drawing
from nesting.drawing.trace import Drawing, Outline, Words
from nesting.instructions import told_steps
from nesting.packet.facts import window_facts
from nesting.packet.steps_told import window_steps
from nesting.sewing import OPERATIONS, Fold, Sewing, SewingStep
from tests.seeds import some
from tests.sewing_orders import ORDERS, bench, order, piece, telling, ticks
from tests.test_construction import CASES, Case, cut_only, job_of

NUMBER = r"\d+ \d+/\d+|\d+/\d+|\d+"


def drawings(name: str) -> dict[str, Drawing]:
    """The pictures of an order by the titles of its steps; each step has one."""
    found = {}
    for step in told_steps(*ORDERS[name](), telling()):
        drawing = step_drawing(step, telling())
        assert drawing is not None, step.title
        found[f"{step.title}{'*' if step.title in found else ''}"] = drawing
    return found


def test_every_operation_is_drawn() -> None:
    assert set(VIEWS) == set(OPERATIONS.values())


def assert_on_its_sheet(title: str, drawing: Drawing) -> None:
    """Nothing of a picture stands beyond its sheet, and its words can be read."""
    assert drawing.width <= 137, title
    for mark in drawing.marks:
        if isinstance(mark, Words):
            assert mark.size >= 9
            assert mark.x >= 0
            assert mark.x + mark.room <= drawing.width + 0.5, (title, mark.text)
            assert 0 < mark.y <= drawing.height
        else:
            ways = [points for _, points in mark.verbs]
            xs = [value for points in ways for value in points[0::2]]
            ys = [value for points in ways for value in points[1::2]]
            assert min(xs) >= -3, (title, min(xs))
            assert max(xs) <= drawing.width + 3, (title, max(xs))
            assert min(ys) >= -3, (title, min(ys))
            assert max(ys) <= drawing.height + 3, (title, max(ys))


def assert_apart(title: str, drawing: Drawing) -> None:
    """No words run into each other."""
    words = [mark for mark in drawing.marks if isinstance(mark, Words)]
    for number, one in enumerate(words):
        for other in words[:number]:
            beside = one.x + one.room <= other.x + 1 or other.x + other.room <= one.x + 1
            assert beside or abs(one.y - other.y) >= 6.5, (title, one.text, other.text)


@pytest.mark.parametrize("name", ORDERS)
def test_all_of_a_picture_stands_on_its_sheet_and_can_be_read(name: str) -> None:
    for title, drawing in drawings(name).items():
        assert_on_its_sheet(title, drawing)
        assert_apart(title, drawing)


@pytest.mark.parametrize("case", some(CASES, 60), ids=str)
def test_every_step_of_every_kind_of_drape_is_told_and_drawn(case: Case) -> None:
    (facts,) = window_facts(cut_only(job_of(case)))
    for step in window_steps(facts):
        title = f"{case}: {step.text[:30]}"
        assert step.drawing is not None, title
        assert_on_its_sheet(title, step.drawing)
        assert_apart(title, step.drawing)
        assert len(step.alt) > 20
        assert step.text.endswith(".")
        lining = case.layers != "unlined"
        assert case.kind != "pile" or lining or "press" not in step.text.lower()


def test_the_two_sides_of_a_fabric_differ_without_color() -> None:
    # The right side is tinted and plain, the wrong side white and hatched.
    hem = drawings("tab top")["Bottom hem"]
    fabrics = [mark for mark in hem.marks if isinstance(mark, Outline) and mark.fill is not None]
    hatched = {mark.fill for mark in fabrics if mark.hatch is not None}
    plain = {mark.fill for mark in fabrics if mark.hatch is None}
    assert hatched == {"#ffffff"}
    assert "#dbd4c3" in plain


def test_a_fold_to_come_is_dashed_and_a_stitch_dotted() -> None:
    side = drawings("tab top")["Side hems"]
    dashes = {mark.dash for mark in side.marks if isinstance(mark, Outline) and mark.dash}
    assert len(dashes) == 2
    assert min(dashes)[0] < 1.5 < max(dashes)[0]


def fold_drawn(*turns: Fraction) -> Drawing:
    sewing = order(("bottom hem", (Fold("left", "bottom", turns),)))
    drawing = step_drawing(told_steps(bench(piece("left", 40, 90)), sewing, telling())[0], telling())
    assert drawing is not None
    return drawing


def test_the_sizes_drawn_are_those_of_the_operation() -> None:
    assert fold_drawn(ticks(4), ticks(4)).texts == ("4", "4", "4")
    assert fold_drawn(ticks("1/2"), ticks("13/4")).texts == ("1/2", "3 1/4", "3 1/4")


def test_turns_keep_their_proportion() -> None:
    # 1 1/2 and 3 are drawn as 1 to 2: the fold lines lie so far inside the raw edge.
    drawing = fold_drawn(ticks("3/2"), ticks(3))
    levels = sorted(
        {
            mark.verbs[0][1][1]
            for mark in drawing.marks
            if isinstance(mark, Outline) and mark.dash == (4.0, 2.0)
        }
    )
    raw = max(
        mark.verbs[0][1][1]
        for mark in drawing.marks
        if isinstance(mark, Outline) and len(mark.verbs) == 2 and not mark.dash
    )
    first, last = raw - levels[1], raw - levels[0]
    assert last / first == pytest.approx(3, rel=0.02)


def test_a_left_edge_seen_from_the_back_lies_at_the_right() -> None:
    sewing = Sewing("east", (SewingStep("side hems", (Fold("left", "left", (ticks(1), ticks(1))),)),))
    drawing = step_drawing(told_steps(bench(piece("left", 40, 90)), sewing, telling())[0], telling())
    assert drawing is not None
    dashed = [mark for mark in drawing.marks if isinstance(mark, Outline) and mark.dash == (4.0, 2.0)]
    assert min(mark.verbs[0][1][0] for mark in dashed) > drawing.width / 2
    assert "left edge" in drawing.texts


def test_what_is_measured_is_drawn_where_it_is_measured() -> None:
    shown = drawings("tab top")
    assert "83" in shown["Widths"].texts
    assert "84 1/2" in shown["Lines"].texts
    assert "79 across" in shown["Side hems"].texts
    assert "2 wide" in shown["Tabs"].texts
    assert "4 1/2" in shown["Top"].texts
    assert "84 1/16" in drawings("rod pocket")["Hang"].texts


def test_a_wider_panel_changes_what_is_measured() -> None:
    table, sewing = ORDERS["tab top"]()
    wider = replace(table.work("one"), width=table.work("one").width + ticks(1))
    step = told_steps(table.put(wider), Sewing("east", sewing.steps[:1]), telling())[0]
    drawing = step_drawing(step, telling())
    assert drawing is not None
    assert {"84", "54 1/2"} <= set(drawing.texts)


@pytest.mark.parametrize("name", ORDERS)
def test_a_picture_shows_no_size_that_the_words_do_not_say(name: str) -> None:
    table, sewing = ORDERS[name]()
    told = told_steps(table, sewing, telling())
    said = " ".join(f"{step.text} {step.measure}" for step in told)
    numbers = set(re.findall(NUMBER, said))
    pleats = [
        telling().bare(end - start)
        for step in sewing.steps
        for one in step.operations
        for start, end in getattr(one, "lines", ())
    ]
    for title, drawing in drawings(name).items():
        for text in drawing.texts:
            for size in re.findall(NUMBER, text):
                assert size in numbers or size in pleats, (title, size)
