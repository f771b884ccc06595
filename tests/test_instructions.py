"""Steps in words: made of the operations and of what they changed, and of nothing else."""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import fields, replace
from fractions import Fraction
from functools import partial
from itertools import pairwise

import pytest

from nesting.headings import HEADINGS
from nesting.instructions import TELLERS, Telling, ToldLine, ToldStep, sentences, told_steps
from nesting.instructions.manner import Kind
from nesting.sewing import (
    OPERATIONS,
    Bench,
    Fold,
    Join,
    Operation,
    SetAlong,
    Sewing,
    SewingError,
    SewingStep,
    Work,
    sew,
)
from nesting.units import format_length, inches
from tests.sewing_orders import ORDERS, bench, order, piece, telling, ticks

KINDS: tuple[Kind, ...] = ("plain", "pile", "sheer", "print", "heavy")


def steps(name: str, by: Telling) -> tuple[ToldStep, ...]:
    return told_steps(*ORDERS[name](), by)


def text(name: str, by: Telling) -> str:
    return " ".join(f"{step.title}. {step.text} {step.measure}" for step in steps(name, by))


def test_every_operation_is_told() -> None:
    assert set(TELLERS) == set(OPERATIONS.values())
    used = {type(one) for make in ORDERS.values() for step in make()[1].steps for one in step.operations}
    assert used == set(TELLERS)


@pytest.mark.parametrize("name", ORDERS)
@pytest.mark.parametrize("kind", KINDS)
def test_each_step_has_sentences(name: str, kind: Kind) -> None:
    told = steps(name, telling(kind))
    assert [step.title for step in told if step.key != "marks"] == [
        step.title for step in steps(name, telling()) if step.key != "marks"
    ]
    for step in told:
        assert step.text.endswith(".")
        assert ".." not in step.text
        assert "{" not in step.text + step.measure


def fields_of(operation: Operation) -> Iterator[tuple[str, object]]:
    """The distances of an operation by field: one, several, or pairs."""
    for each in fields(operation):  # type: ignore[arg-type]
        value = getattr(operation, each.name)
        if isinstance(value, Fraction) or (
            isinstance(value, tuple) and value and not isinstance(value[0], str)
        ):
            yield each.name, value


def longer(value: object) -> object:
    """The last distance a quarter inch more."""
    if isinstance(value, Fraction):
        return value + ticks("1/4")
    assert isinstance(value, tuple)
    return (*value[:-1], longer(value[-1]))


def changed(sewing: Sewing, step: int, at: int, field: str) -> Sewing:
    """The order with one distance of one operation changed."""
    operations = list(sewing.steps[step].operations)
    value = getattr(operations[at], field)
    operations[at] = replace(operations[at], **{field: longer(value)})  # type: ignore[type-var]
    changed_step = SewingStep(sewing.steps[step].key, tuple(operations))
    return Sewing(sewing.window, (*sewing.steps[:step], changed_step, *sewing.steps[step + 1 :]))


#: Where the hooks of a top that is drawn in come is told by its pleats, or evenly.
NOT_TOLD = {("pinch pleat", "at"), ("pencil pleat", "at")}


@pytest.mark.parametrize("name", ORDERS)
def test_another_distance_is_told_or_cannot_be_sewn(name: str) -> None:
    table, sewing = ORDERS[name]()
    was, tried = text(name, telling()), 0
    for number, step in enumerate(sewing.steps):
        for at, operation in enumerate(step.operations):
            for field, _ in fields_of(operation):
                if (name, field) in NOT_TOLD and isinstance(operation, SetAlong):
                    continue
                if field == "size" and not getattr(operation, field):
                    continue
                other = changed(sewing, number, at, field)
                tried += 1
                try:
                    told = told_steps(table, other, telling())
                except SewingError:
                    continue
                now = " ".join(f"{one.title}. {one.text} {one.measure}" for one in told)
                assert now != was, f"{step.key}: {operation.word}: {field}"
    assert tried >= 3


def spelled(sizes: list[Fraction]) -> Telling:
    """Lengths as marks instead of numbers; each that is said is noted."""

    def say(length: int | Fraction) -> str:
        sizes.append(Fraction(length))
        return "⟨x⟩ in"

    return replace(telling(), say=say, names={each: each for each in ("one", "two", "three", "four")})


@pytest.mark.parametrize("name", ORDERS)
def test_no_length_is_written_that_is_neither_held_nor_measured(name: str) -> None:
    sizes = list[Fraction]()
    told = steps(name, spelled(sizes))
    table, sewing = ORDERS[name]()
    counts = {
        str(len(value))
        for step in sewing.steps
        for one in step.operations
        for _, value in fields_of(one)
        if isinstance(value, tuple)
    }
    counts |= {str(work.count) for work in table}
    for step in told:
        numbers = set(re.findall(r"\d[\d/ ]*", re.sub(r"band|f1|f2", "", step.text + step.measure)))
        assert {each.strip() for each in numbers} <= counts
    known = {abs(length) for length in _held(sewing)} | {abs(length) for length in _measured(table, sewing)}
    assert {abs(size) for size in sizes} <= known


def _held(sewing: Sewing) -> Iterator[Fraction]:
    for step in sewing.steps:
        for operation in step.operations:
            for _, value in fields_of(operation):
                yield from _flat(value)
            at = getattr(operation, "at", ())
            yield from (after - before for before, after in pairwise(at))
            if isinstance(operation, Fold):
                yield sum(operation.turns[:-1], Fraction(0))


def _flat(value: object) -> Iterator[Fraction]:
    if isinstance(value, Fraction):
        yield value
    elif isinstance(value, tuple):
        for each in value:
            yield from _flat(each)


def _measured(table: Bench, sewing: Sewing) -> Iterator[Fraction]:
    """What a tape reads on the works of every moment: sizes, and from one edge, line or layer to another."""
    taken = telling().taken
    for moment in sew(table, sewing):
        for work in (*moment.before, *moment.after):
            yield from _read(work)
            yield work.length - taken
        for work in moment.before:
            for layer in moment.before:
                up, inside = getattr(moment.operation, "up", None), getattr(moment.operation, "inside", None)
                if up is not None and inside is not None:
                    top = next((line.inward for line in work.lines if line.edge == "top"), Fraction(0))
                    yield work.length - up - layer.length - top
                    yield work.width - inside - layer.width


def _read(work: Work) -> Iterator[Fraction]:
    yield from (work.width, work.length)
    if work.drawn is not None:
        yield work.drawn
    yield from (seam.at for seam in work.seams)
    yield from (work.edge(side).depth for side in work.edges)
    yield from (one.length for one in work.carriers)
    yield from (one.end for one in work.carriers)
    lines = {line.edge: line.inward for line in work.lines}
    if "top" in lines and "bottom" in lines:
        yield work.length - lines["top"] - lines["bottom"]


def test_a_length_out_of_nothing_would_be_seen() -> None:
    table, sewing = ORDERS["grommet"]()
    known = {*_held(sewing), *_measured(table, sewing)}
    assert ticks("23/7") not in known


@pytest.mark.parametrize("name", ORDERS)
def test_pile_is_never_pressed(name: str) -> None:
    by = replace(
        telling(), manners={key: telling("pile").manners["face"] for key in ("face", "lining", "inter")}
    )
    assert "press" not in text(name, by).replace("pressed open", "press")


def test_pile_is_basted_creased_and_steamed_from_the_wrong_side() -> None:
    told = text("tab top", telling("pile"))
    assert "baste along each fold line first" in told.lower()
    assert "finger-crease it and steam it from the wrong side" in told
    assert "with the nap, from the lower edge to the top" in told


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("plain", "press it"),
        ("sheer", "with a cool, dry iron"),
        ("print", "the pattern meeting at the seam line"),
        ("print", "press it from the wrong side"),
        ("heavy", "press it with steam and let it cool flat"),
    ],
)
def test_words_follow_the_fabric(kind: Kind, words: str) -> None:
    assert words in text("tab top", telling(kind))
    assert words == "press it" or words not in text("tab top", telling("pile"))


def test_a_lined_seam_and_a_washable_top_have_words_of_their_own() -> None:
    assert "Finish the edges together" in text("tab top", telling())
    assert "the lining covers the edges" in text("tab top", telling(lined=True))
    assert "washable buckram" in text("pinch pleat", telling(washable=True))
    assert "wash the tape before" in text("pencil pleat", telling(washable=True))


def test_a_french_seam_takes_its_allowance_in_two_rows() -> None:
    # An allowance of 5/8 is sewn in two rows of 5/16.
    join = order(("join widths", (Join(("one", "two"), "left", ticks("5/8"), "french"),)))
    told = told_steps(bench(piece("one", 54, 90), piece("two", 54, 90)), join, telling("sheer"))
    assert told[0].text.count("5/16 in") == 2


def test_what_a_tape_reads_is_told_after_each_step() -> None:
    # 54 + 30 - 1 = 83; 95 - 2 - 8 - 1/2 = 84 1/2; 83 - 4 = 79; the facing 5 - 1/2 deep.
    measures = {step.title: step.measure for step in steps("tab top", telling())}
    assert measures["Widths"] == (
        "83 in across; left panel: seam at 53 1/2 in from the left edge; right panel: seam at 29 1/2 in from "
        "the left edge"
    )
    assert measures["Lines"] == "84 1/2 in from hem line to top line"
    assert measures["Bottom hem"] == "hem 4 in deep; 85 in from hem edge to upper edge"
    assert measures["Side hems"] == "79 in across, lying flat"
    assert measures["Top"] == "84 1/2 in from hem edge to top edge; facing 4 1/2 in deep at the back"


def test_a_washed_piece_and_a_panel_before_its_rod_are_measured_as_they_come_out() -> None:
    # 84 less 2 parts in 100 is 82.32, 100 less 4 is 96; 96 - 8 - 3 1/2 = 84 1/2 flat, 7/16 less on the rod.
    measures = {step.title: step.measure for step in steps("rod pocket", telling())}
    assert measures["Wash first"] == "left panel about 82 5/16 in by 96 in"
    assert measures["Hang"].endswith("on the rod 84 1/16 in long")
    assert measures["Level the hem"] == "84 1/16 in from top edge to hem edge"


def test_panels_made_alike_are_told_once() -> None:
    told = {step.title: step.text for step in steps("tab top", telling())}
    assert told["Side hems"].startswith("Each panel: turn both side edges 1 in to the back")
    assert told["Facing"].startswith("Facing of each panel: fold both side edges")
    assert told["Widths"].startswith("Left panel: lay cuts 1 and 2 side by side")
    assert told["Widths"].count("Join") + told["Widths"].count("join") == 1


def test_one_edge_of_a_pair_is_called_by_its_place_in_it() -> None:
    lines = (
        ToldLine("left", "turn {edge} under", ("right",)),
        ToldLine("right", "turn {edge} under", ("left",)),
    )
    assert sentences(lines, telling()) == "Each panel: turn the leading edge under."


def test_both_panels_of_a_pair_begin_at_the_leading_edge() -> None:
    lines = (
        ToldLine("left", "turn {edge} 2", ("left",)),
        ToldLine("left", "turn {edge} 1", ("right",)),
        ToldLine("right", "turn {edge} 1", ("left",)),
        ToldLine("right", "turn {edge} 2", ("right",)),
    )
    told = "Each panel: turn the leading edge 1. Turn the outer edge 2."
    assert sentences(lines, telling()) == told


def test_no_sentence_is_moved_before_what_comes_first() -> None:
    lines = (
        ToldLine("left", "a"),
        ToldLine("left", "b"),
        ToldLine("left", "d"),
        ToldLine("right", "a"),
        ToldLine("right", "c"),
        ToldLine("right", "d"),
    )
    assert sentences(lines, telling()) == "Each panel: a. Left panel: b. Right panel: c. Each panel: d."


def test_marks_are_folded_only_where_they_are_alike_from_both_ends() -> None:
    marks = {
        name: next(step.text for step in steps(name, telling()) if step.key == "marks")
        for name in ("grommet", "pinch pleat")
    }
    assert "Check by folding" in marks["grommet"]
    assert "Do not check by folding" in marks["pinch pleat"]
    assert "2, 10, 18, 26, 34, 42, 50, 58, 66, 74 and 82 in from the left edge" in marks["grommet"]
    assert "5 to 10, 14 to 19, 23 to 28 and 70 to 75 in" in marks["pinch pleat"]


def test_metric_steps_are_told_in_centimeters() -> None:
    by = replace(telling(), say=partial(format_length, unit="cm"))
    assert "turn the lower edge 10.2 cm to the back" in text("tab top", by)
    assert " in across" not in text("tab top", by)


#: Words that no maker reads here: British or bookish ones, and those of files and solvers.
NEVER = (
    "cloth", "selvedge", "selvedges", "centre", "metre", "mitre", "colour", "grey", "towards", "shall",
    "nought", "suffice", "hand's", "eyelet", "curtain", "drawn_in", "ticks", "bench", "None",
)  # fmt: skip


@pytest.mark.parametrize("name", ORDERS)
@pytest.mark.parametrize("kind", KINDS)
def test_the_words_are_those_of_the_trade(name: str, kind: Kind) -> None:
    words = set(re.findall(r"[a-z_']+", text(name, telling(kind, lined=True, washable=True)).lower()))
    assert not words & set(NEVER)


def test_every_heading_has_an_order_by_hand() -> None:
    assert {name.replace("-", " ") for name in HEADINGS} <= set(ORDERS)
    assert inches(1) == ticks(1)


def test_what_turns_its_right_side_to_the_window_is_laid_wrong_side_up() -> None:
    # Labels tell its edges right side up, where left and right are the other way round than from the room.
    for name, turned in (("left", False), ("left lining", True), ("left facing", True)):
        join = order(("join widths", (Join(("one", "two"), name, ticks("1/2")),)))
        (step,) = told_steps(bench(piece("one", 54, 90), piece("two", 31, 90)), join, telling())
        assert ("side by side, wrong side up, from left to right" in step.text) is turned
        assert step.measure.endswith("from the left edge, wrong side up") is turned


def test_a_top_that_was_basted_is_sewn_between_its_pleats() -> None:
    told = {step.title: step.text for step in steps("pinch pleat", telling())}
    assert told["Top"].endswith("baste it; do not sew it yet.")
    assert "slip-stitch the lower edge of the folded top to the back, and take the basting out" in " ".join(
        told.values()
    )


def test_a_lining_sewn_round_leaves_a_hem_open_that_waits() -> None:
    # Sewn from the lower edge, the side seam would hold the hem that is leveled when it has hung.
    table, sewing = ORDERS["layers"]()
    hem = SewingStep("bottom hem", (Fold("left", "bottom", (ticks(4), ticks(4)), "basted"),))
    waits = told_steps(table, replace(sewing, steps=(hem, *sewing.steps[2:])), telling())
    assert "from the top of the bottom hem to the top, and turn" in next(
        step.text for step in waits if step.title == "Lining"
    )
    assert "from the lower edge to the top, and turn" in text("layers", telling())


@pytest.mark.parametrize("name", [name for name in ORDERS if name != "layers"])
def test_a_panel_that_gathers_on_its_rod_has_no_width_there(name: str) -> None:
    for step in steps(name, telling()):
        if step.title == "Hang":
            assert ("across" in step.measure) is (name in ("pinch pleat", "pencil pleat"))
