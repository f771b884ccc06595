"""A print as wide as its bolt: the default of match, full widths with their seams in the selvage, the checks.

All data is invented; the rule is common practice, no source. Sums are worked beside each check, in inches.
"""

from __future__ import annotations

import copy
from collections.abc import Callable
from fractions import Fraction
from typing import Any

import pytest
from matplotlib.text import Text
from orders import cm, cut_job, inch, panels

from nesting.check import Breach, check_plan_document
from nesting.drawing.marker import marker_figure
from nesting.errors import DoesNotFitError, JobError
from nesting.files import plan_document, read_job_text
from nesting.order.job import Bolt, Job
from nesting.order.print_width import print_width
from nesting.packet.facts import window_facts
from nesting.packet.model import Paragraph
from nesting.packet.remarks import notes, to_decide
from nesting.packing import Status
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.sequence import sequence
from nesting.planning.planner import Effort, compare, plan
from nesting.units import Unit, parse_length

JOB = """
title = "Parlor"
units = "in"
[fabric.face]
repeat = { length = 27, width = 27 }
[[fabric.face.bolt]]
width = 54
price = 80
[[window]]
name = "East"
rod = 84
finished_length = 96
heading = "pinch-pleat"
flat_width = 105
"""


def effort() -> Effort:
    return Effort(work=1.0, workers=1)


def planned(text: str) -> Plan:
    """The plan, which must pass the independent check as a document too."""
    made = plan(read_job_text(text), effort=effort())
    assert check_plan_document(plan_document(made)) == ()
    return made


def the_layout(made: Plan) -> FabricLayout:
    (layout,) = made.layouts
    return layout


def the_bolt(job: Job) -> Bolt:
    return job.fabrics[0].bolts[0]


@pytest.mark.parametrize(
    ("width", "across", "unit", "match", "printed"),
    [
        # 53 between the seams holds one repeat, 54 holds two: the print is 54 wide.
        ("54", "27", "in", "54", True),
        ("54", "54", "in", "54", True),
        ("54", "13.5", "in", "54", True),
        # A label may leave out up to 1/4 in, and state up to 1 in more than the print.
        ("53.75", "27", "in", "54", True),
        ("53.7", "27", "in", "27", False),
        ("55", "18", "in", "54", False),
        # 27 repeats of 2 fill 54, but gain only 2 on the 26 between the seams.
        ("54", "2", "in", "52", False),
        # Nothing is dropped: 53 holds two.
        ("54", "26.5", "in", "53", False),
        ("54", "25.25", "in", "50.5", False),
        # 54 is more than 53 1/4.
        ("53", "27", "in", "27", False),
        # Metric: seams of 1.5; 137 holds one of 70, two of 64 are 128 of 134.
        ("140", "70", "cm", "140", True),
        ("137", "64", "cm", "128", False),
        ("137", "68.5", "cm", "137", True),
        ("139.3", "70", "cm", "70", False),
    ],
)
def test_the_default_of_match(width: str, across: str, unit: Unit, match: str, printed: bool) -> None:
    seam = parse_length("1/2" if unit == "in" else "1.5", unit)
    found = print_width(parse_length(width, unit), parse_length(across, unit), seam, unit)
    assert found is not None
    assert (found.match, found.printed) == (parse_length(match, unit), printed)


def test_no_whole_repeat_is_no_match() -> None:
    assert print_width(Fraction(inch(54)), Fraction(inch(56)), Fraction(inch("1/2")), "in") is None


@pytest.mark.parametrize("drop", ["", ", drop = 0.5"])
@pytest.mark.parametrize("windows", [1, 2, 3])
def test_the_commonest_print_uses_its_whole_width(drop: str, windows: int) -> None:
    # A panel 105 flat with side hems 2 + 2 is 109 = 55 + 55 - 1, two full widths: four cuts a window. Each is
    # 96 + 4 + 4 (heading and its turn) + 8 (hem) = 112 long and begins 5 repeats, 135, after the one before.
    # In a half drop two columns of 27 come straight from selvage to selvage, so all cuts are alike.
    text = JOB.replace("width = 27 }", f"width = 27{drop} }}").replace(
        "rod = 84", f"rod = 84\ncount = {windows}"
    )
    layout = the_layout(planned(text))
    assert (layout.usable, layout.fit_to_cut, layout.bolt.match) == (inch(55), inch(53), inch(54))
    assert {laid.width for laid in layout.placements} == {inch(55)}
    assert layout.length == inch((4 * windows - 1) * 135 + 112)
    assert layout.status is Status.OPTIMAL
    # The rule of thumb does not share the mistake of half a bolt: 4 widths a window, 135 each.
    assert layout.rule_of_thumb is not None
    assert layout.rule_of_thumb.length == inch(4 * windows * 135)


def test_each_width_adds_its_match_to_a_panel() -> None:
    # k widths join to 54 k + 1: 163 of three. 159 flat and hems 4 is just that; 1/2 more needs a fourth.
    for flat, count in (("159", 3), ("159 1/2", 4)):
        cutting = cut_job(read_job_text(JOB.replace("flat_width = 105", f'flat_width = "{flat}"')))
        assert {len(panel.cuts) for panel in cutting.panels} == {count}


def test_a_panel_of_one_width_takes_it_from_selvage_to_selvage() -> None:
    # 53 is fit to cut. A panel of 49 and hems 4 is just that; of 50 it takes the full width, 55, not two
    # widths.
    for flat, cut in (("49", 53), ("50", 55), ("51", 55)):
        cutting = cut_job(read_job_text(JOB.replace("flat_width = 105", f'flat_width = "{flat}"')))
        assert {piece.width for piece in panels(cutting)} == {inch(cut)}, flat


def test_the_same_job_on_a_wider_bolt_takes_no_less_cuts() -> None:
    # Typed as a bolt of 56 the same print matches over 54 as well: 55 between its edges.
    wider = the_layout(planned(JOB.replace("width = 54", "width = 56")))
    assert (wider.bolt.match, wider.bolt.printed, wider.length) == (inch(54), False, inch(3 * 135 + 112))


def test_a_measured_usable_width_is_never_overridden() -> None:
    # 53 between the edges, seams included, holds one repeat of 27 between two seams of 1/2.
    job = read_job_text(JOB.replace("price", "usable = 53\nprice"))
    assert (the_bolt(job).match, the_bolt(job).printed, the_bolt(job).usable) == (inch(27), False, inch(53))
    with pytest.raises(JobError, match=r"match = 54: expected at most 53 in: .* and no usable width"):
        read_job_text(JOB.replace("price", "usable = 53\nmatch = 54\nprice"))


def test_a_match_as_wide_as_the_bolt_may_be_typed() -> None:
    typed = read_job_text(JOB.replace("price", "match = 54\nprice"))
    assert (the_bolt(typed).match, the_bolt(typed).printed, the_bolt(typed).match_said) == (
        inch(54),
        True,
        True,
    )
    # Without a repeat across the match stands for it.
    alone = read_job_text(JOB.replace(", width = 27", "").replace("price", "match = 54\nprice"))
    assert the_bolt(alone).printed
    assert the_layout(planned(JOB.replace("price", "match = 54\nprice"))).length == inch(3 * 135 + 112)
    # A print that does not meet at the selvage: what was typed holds, and its widths are 28 wide.
    ordinary = read_job_text(JOB.replace("price", "match = 27\nprice"))
    assert (the_bolt(ordinary).match, the_bolt(ordinary).printed) == (inch(27), False)
    for wrong in ("match = 53.75", "match = 81"):
        with pytest.raises(JobError, match="at most 53 in"):
            read_job_text(JOB.replace("price", f"{wrong}\nprice"))


def test_both_widths_are_before_washing() -> None:
    # 3 % off across: repeat 26.19, match 52.38, cut 53.38 with seams of 1/2; off 53 that is 51 7/16 on the
    # tape.
    washed = JOB.replace("[[fabric", 'shrinkage = { length = 0, width = 3, washed = "before" }\n[[fabric', 1)
    layout = the_layout(planned(washed))
    repeat = layout.fabric.repeat
    assert repeat is not None
    assert repeat.width == round(27 * 2032 * 0.97)
    assert layout.usable == 2 * repeat.width + inch(1)
    assert layout.fit_to_cut == inch("51 3/8")
    # 52.38 k + 1 is 105.76 of two, so 109 takes three.
    assert {len(panel.cuts) for panel in plan(read_job_text(washed), effort=effort()).panels} == {3}


def test_a_match_of_whole_repeats_stays_one_in_the_wash() -> None:
    # 18 in washed by 3 % is 35 478.72 ticks; three of them rounded are one more than 54 in washed and
    # rounded.
    washed = JOB.replace("width = 27", "width = 18").replace(
        "[[fabric", 'shrinkage = { width = 3, washed = "before" }\n[[fabric', 1
    )
    layout = the_layout(planned(washed))
    repeat, bolt = layout.fabric.repeat, layout.on_table
    assert repeat is not None
    assert repeat.width is not None
    assert bolt is not None
    assert bolt.match == 3 * repeat.width


def test_metric_widths_of_a_print() -> None:
    # 140 with 70: match 140, cut 143. 267 flat and hems 10 is 283 - 6 = 2 x 143 - 3 less: two widths.
    text = (
        JOB.replace('"in"', '"cm"')
        .replace("length = 27, width = 27", "length = 64, width = 70")
        .replace("width = 54", "width = 140")
        .replace("flat_width = 105", "flat_width = 273")
        .replace("rod = 84", "rod = 210")
        .replace("finished_length = 96", "finished_length = 240")
    )
    layout = the_layout(planned(text))
    assert (layout.usable, layout.fit_to_cut) == (cm(143), cm(137))
    # 273 + 2 x 5 = 283 = 2 x 143 - 3.
    assert {laid.width for laid in layout.placements} == {cm(143)}
    assert len(layout.placements) == 4


def test_comparing_works_the_match_out_anew() -> None:
    found = {
        option.bolt.width: option
        for option in compare(
            read_job_text(JOB), widths=(inch(56), inch(53), inch(60)), effort=effort()
        ).options
    }
    matches = {width: (option.bolt.match, option.bolt.printed) for width, option in found.items()}
    assert matches == {
        inch(54): (inch(54), True),
        inch(56): (inch(54), False),
        inch(53): (inch(27), False),
        inch(60): (inch(54), False),
    }
    assert {found[inch(width)].layout.length for width in (54, 56, 60)} == {inch(3 * 135 + 112)}  # type: ignore[union-attr]


def test_an_asked_width_may_be_printed_too() -> None:
    job = read_job_text(JOB.replace("width = 54\n", "width = 60\n"))
    _, asked = compare(job, widths=(inch(54),), effort=effort()).options
    assert (asked.bolt.match, asked.bolt.printed, asked.bolt.usable) == (inch(54), True, inch(53))
    assert asked.layout is not None
    assert asked.layout.length == inch(3 * 135 + 112)


# Other pieces keep to what the stated width leaves


EXTRA = '[[extra]]\nname = "Runner"\nwidth = {width}\nlength = 12\ncount = 2\nturnable = false\n'


def test_other_pieces_keep_off_the_selvages() -> None:
    # Between the cuts are 23 free rows, of which the runners may have the 53 from 1 to 54.
    layout = the_layout(planned(JOB + EXTRA.format(width=53)))
    assert layout.length == inch(3 * 135 + 112)
    assert {laid.x for laid in layout.placements if laid.piece.role == "extra"} == {inch(1)}
    with pytest.raises(
        DoesNotFitError, match="with 53 in usable, cannot hold\n  - Runner: cut 53 1/2 in wide"
    ):
        planned(JOB + EXTRA.format(width=53.5))


def test_a_matched_extra_keeps_off_them_too() -> None:
    with pytest.raises(DoesNotFitError, match="Runner: cut 54 in wide"):
        planned(JOB + EXTRA.format(width=54).replace("turnable = false", "matched = true"))


def broken_by(
    change: Callable[[dict[str, Any]], None], text: str = JOB + EXTRA.format(width=53)
) -> list[str]:
    document = copy.deepcopy(plan_document(plan(read_job_text(text), effort=effort())))
    change(document)
    kinds = (Breach.OUTSIDE,)
    return [str(one) for one in check_plan_document(document) if one.kind in kinds]


def test_the_check_judges_widths_and_selvages_by_itself() -> None:
    def moved(document: dict[str, Any]) -> None:
        runner = next(one for one in document["layouts"][0]["placements"] if one["piece"].startswith("extra"))
        runner["x"] = 0.5

    def told_fitter(document: dict[str, Any]) -> None:
        moved(document)
        document["layouts"][0]["fit_width"] = 54.0

    def said(**more: object) -> Callable[[dict[str, Any]], None]:
        return lambda document: document["layouts"][0].update(more)

    def ordered(**more: object) -> Callable[[dict[str, Any]], None]:
        return lambda document: document["order"]["fabrics"][0]["bolts"][0].update(more)

    assert broken_by(lambda document: None) == []
    assert any("selvage" in one for one in broken_by(moved))
    # What is fit to cut is judged by the usual selvages, whatever the document says of it.
    assert any("selvage" in one for one in broken_by(told_fitter))
    assert any("bolt width" in one for one in broken_by(said(printed=False)))
    assert any("two seams" in one for one in broken_by(said(usable_width=55.5)))
    assert any("the width stated" in one for one in broken_by(said(match_width=81.0)))
    assert any("whole repeats" in one for one in broken_by(said(match_width=53.5)))
    assert any("measured usable" in one for one in broken_by(ordered(usable_said=True)))
    assert any("repeat across" in one for one in broken_by(said(match_width=None)))


def test_the_check_refuses_a_print_that_gains_too_little() -> None:
    # Repeat 2: 54 is only 2 more than the ordinary 52.
    def as_wide(document: dict[str, Any]) -> None:
        layout = document["layouts"][0]
        layout.update(printed=True, match_width=54.0)

    text = JOB.replace("width = 27", "width = 2")
    assert any("ordinary" in one for one in broken_by(as_wide, text))


# Remnants


def remnant(usable: str, length: int = 600) -> str:
    there = f"on_hand = [{{ length = {length}{usable} }}]\ntop_up = true\nprice"
    return JOB.replace("price", there)


def test_a_remnant_of_a_print_has_the_selvages_of_its_bolt() -> None:
    # Four cuts of 112 on 135 take 517, and 27 are kept to find the pattern: 600 hold them, 55 wide.
    made = planned(remnant(""))
    assert [layout.on_hand for layout in made.layouts] == ["length 1"]
    assert the_layout(made).usable == inch(55)


def test_a_measured_remnant_is_never_taken_to_be_wider() -> None:
    # 53 fit to cut hold no full width of 55: all four are bought.
    made = planned(remnant(", usable = 53"))
    assert [layout.on_hand for layout in made.layouts] == [None]
    # Measured with its selvages it holds them.
    assert [layout.on_hand for layout in planned(remnant(", usable = 55")).layouts] == ["length 1"]
    with pytest.raises(JobError, match="usable = 56: expected at most"):
        read_job_text(remnant(", usable = 56"))


# The rule of thumb where the match is in doubt


def test_the_rule_of_thumb_counts_widths_by_the_label() -> None:
    # 27 on 53: nobody said the match, and the plan cuts 28 wide: 109 = 27 x 4 + 1, 8 cuts, 7 x 135 + 112.
    # The rule counts by 52 fit to cut: 109 takes 3 (2 give 103), 6 x 135.
    layout = the_layout(planned(JOB.replace("width = 54", "width = 53")))
    assert layout.length == inch(7 * 135 + 112)
    assert layout.rule_of_thumb is not None
    assert layout.rule_of_thumb.length == inch(6 * 135)


@pytest.mark.parametrize("bolt", ["width = 54", "width = 56\nusable = 55\nmatch = 54"])
def test_widths_narrower_than_a_full_one_have_its_room_across(bolt: str) -> None:
    # 81 finished and hems 2 + 2 are 85 a panel, 43 + 43 - 1. Finished edges meet in the pattern: the left
    # leading width, 0 to 43, ends at 41 under its hem; the right one, 12 to 55, begins at 14, one repeat of
    # 27 less. Their seams lie at 1/2 and 54 1/2. So they take the 55 of a full width, though none is cut.
    # Each is 84 + 4 (top hem) + 8 = 96 long, four repeats of 24: four behind each other are 384.
    job = JOB.replace("length = 27", "length = 24").replace("width = 54", bolt)
    job = job.replace("flat_width = 105", 'flat_width = 81\npair = "continuous"')
    job = job.replace("finished_length = 96", "finished_length = 84").replace("pinch-pleat", "clip-ring")
    layout = the_layout(planned(job))
    assert (layout.usable, layout.length) == (inch(55), inch(384))
    assert {(laid.x, laid.width) for laid in layout.placements} == {(0, inch(43)), (inch(12), inch(43))}


@pytest.mark.parametrize("washed", [False, True])
def test_across_starts_outside_the_print_and_nothing_is_said_to_be_washed(washed: bool) -> None:
    # 54 between the motifs and seams of 1/2: 0 lies 1/2 outside the left motif, wherever the selvage ends.
    # Washed by 4 %, it is 51 84/100 between them, and 0 lies 1/2 outside all the same.
    shrinkage = 'shrinkage = { width = 4, washed = "before" }\n' if washed else ""
    made = planned(JOB.replace("[[fabric.face.bolt]]", f"{shrinkage}[[fabric.face.bolt]]"))
    layout = the_layout(made)
    assert layout.print_edge is not None
    assert abs(layout.print_edge - inch("1/2")) <= 1
    assert (layout.washed_width is not None) == washed
    title = " ".join(text.get_text() for text in marker_figure(made, layout).findobj(Text))
    assert "across-distances from a line 1/2 in outside the left edge of the print" in title
    assert ("once washed" in title) == washed
    checks = " ".join(action.text for action in sequence(made.job, layout).actions)
    assert "Chalk a line 1/2 in outside the left motif: all distances across start there." in checks


def test_no_selvage_holds_a_wide_seam() -> None:
    # Seams of 3 would be cut from a bolt 60 wide, which nobody sells as 54; 1 is the most.
    at_most = r'window "East": seam = 3: expected at most 1 in: the print fills its bolt, 54 in wide'
    with pytest.raises(JobError, match=at_most):
        read_job_text(JOB + "seam = 3\n")
    assert the_bolt(read_job_text(JOB + "seam = 1\n")).printed
    # Measured, it is an ordinary print: 53 less two seams of 3 hold one repeat of 27.
    measured = read_job_text(JOB.replace("price", "usable = 53\nprice") + "seam = 3\n")
    assert (the_bolt(measured).match, the_bolt(measured).printed) == (inch(27), False)
    found = print_width(Fraction(inch(54)), Fraction(inch(27)), Fraction(inch("9/8")), "in")
    assert found is not None
    assert (found.match, found.printed) == (inch(27), False)


def test_the_check_knows_that_no_selvage_holds_a_wide_seam() -> None:
    def wide(document: dict[str, Any]) -> None:
        for panel in document["panels"]:
            panel["seam_allowance"] = 1.5

    assert any("seam allowance" in one and "selvage" in one for one in broken_by(wide))


def test_what_is_taken_for_granted_of_a_print_names_no_cut_that_washing_changes() -> None:
    (plain,) = (one.text for one in read_job_text(JOB).remarks if "width of the print" in one.text)
    assert "match 54 in, full widths cut 55 in with the selvage in the seam. Measure before you cut" in plain
    # 54 x 0.96 + 1 = 52.84 is cut, not 55.
    shrinks = 'shrinkage = { width = 4, washed = "before" }\n[[fabric.face.bolt]]'
    washed = JOB.replace("[[fabric.face.bolt]]", shrinks)
    (told,) = (one.text for one in read_job_text(washed).remarks if "width of the print" in one.text)
    assert "match 54 in before washing, full widths cut once washed with the selvage in the seam" in told
    assert "Measure before you wash: the same motif is 54 in apart" in told
    assert "55 in" not in told


def test_a_question_stands_on_its_sheet_and_ends_in_one_period() -> None:
    made = planned(JOB.replace("width = 27 }", "width = 27, drop = 0.5 }"))
    told = (notes(made, window_facts(made)).blocks, tuple(to_decide(made, fabric="face")))
    for blocks in told:
        words = [block.text for block in blocks if isinstance(block, Paragraph)]
        (question,) = (text for text in words if "Where is its step?" in text)
        assert question.endswith("at one height.")
        assert not question.endswith("..")


@pytest.mark.parametrize("printed", [True, False])
def test_a_part_width_shows_the_least_once_it_is_washed(printed: bool) -> None:
    # Rod 70, fullness 1.5: 52 1/2 and hems 4 are 56 1/2, washed after by 2 %: 57.653, up to 57 11/16. A full
    # width of 55 (plain: 53) leaves a strip too narrow. It is to show 6 once washed and hemmed:
    # (6 + 2) / 0.98 + 1/2 = 8.663, up to 8 11/16; 8 1/2 would show (8 1/2 - 1/2) x 0.98 - 2 = 5.84.
    repeat = "repeat = { length = 24, width = 27 }\n" if printed else ""
    made = planned(
        f"""[fabric.face]
{repeat}shrinkage = {{ length = 3, width = 2, washed = "after" }}
[[fabric.face.bolt]]
width = 54
[[window]]
rod = 70
rod_diameter = 1
finished_length = 84
heading = "back-tab"
"""
    )
    assert min(made.panels[0].cuts) == inch("8 11/16")


def test_equal_parts_on_plain_fabric_are_no_matter_of_a_pattern() -> None:
    # 40 x 1.75 + 4 = 74, washed after by 2 %: 75.51, up to 75 9/16; less 53 and with two joins 24 9/16, half
    # of it 12 9/32, up to 12 5/16: a step of the tape more than needed, for no pattern's sake.
    made = planned(
        """[fabric.face]
shrinkage = { width = 2, washed = "after" }
[[fabric.face.bolt]]
width = 54
[[window]]
rod = 71
rod_diameter = 1
finished_length = 84
heading = "grommet"
draw = "fixed"
covers = 40
panels = 1
"""
    )
    assert made.panels[0].cuts == (inch("12 5/16"), inch(53), inch("12 5/16"))
    assert not [one for one in made.advice if "wider than asked" in one.text]
