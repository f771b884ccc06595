"""Seam plans chosen together with the layout. Inches in comments, sums beside each check; data invented."""

from __future__ import annotations

import copy
import io
import json
import random
import tempfile
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import example, given
from hypothesis import strategies as st
from orders import a_bolt, a_fabric, a_job, a_window, bare_window, inch
from rich.console import Console

from nesting.check import check_plan_document
from nesting.check.violation import Breach
from nesting.commands.tables import plan_table
from nesting.cutting.seam_plans import SeamPlan, planned
from nesting.errors import DoesNotFitError
from nesting.files import plan_document, read_plan
from nesting.order.job import Band, Extra, Fabric, FacingOrder, Hem, Job, LengthOnHand, Window
from nesting.packet.model import Paragraph, Table
from nesting.packet.seam_table import seam_plans
from nesting.packing import Status
from nesting.pieces.piece import Piece
from nesting.pieces.seams import OneWidth, total_width
from nesting.plan.plan import FabricLayout, Plan, SeamReport
from nesting.planning import seam_report
from nesting.planning.planner import Effort, plan
from nesting.repeat import Repeat
from nesting.units import SIXTEENTH, YARD
from tests.seeds import some

EIGHTH = YARD // 8


def planned_job(job: Job, work: float = 3.0) -> Plan:
    made = plan(job, effort=Effort(work=work, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    return made


def layout_of(made: Plan, key: str = "face") -> FabricLayout:
    return next(layout for layout in made.layouts if layout.fabric.key == key)


def proven(made: Plan, key: str = "face") -> int:
    layout = layout_of(made, key)
    assert layout.status is Status.OPTIMAL
    assert layout.length is not None
    return layout.length


def report_of(made: Plan, window: str = "East window") -> SeamReport:
    return next(report for report in made.seams if (report.window, report.layer) == (window, "panel"))


def cuts_of(made: Plan, window: str = "East window") -> list[tuple[int, ...]]:
    return [panel.cuts for panel in made.panels if panel.window == window]


def plain_fabric(width: int | str = 54, **more: Any) -> Fabric:
    return a_fabric(a_bolt(inch(width), sold_by=EIGHTH), **more)


def panel_of(need: int | str, name: str = "East window", length: int = 60, **said: Any) -> Window:
    """A pair of bare panels of that cut width: the rod is as long as both, the fullness 1."""
    rod = {"rod": 2 * inch(need), "fullness": Fraction(1), "finished_length": inch(length)}
    return bare_window(**{"name": name, **rod, **said})


# Widths shared


def test_e15_two_narrow_strips_share_one_width() -> None:
    # School exercise "Math in the Work Place". Its figures: a window of 72, fullness 3, two panels of 108 and
    # 3 in all for hems and seams, so 111, fabric of 54, all usable; two full widths and strips of 5 each, and
    # the strips share a width: 5 widths in all. Ours: 1 1/2 at each edge, seams of 1/2, so 54 + 54 + 5 - 2 =
    # 111, and the length of 58, so 5 x 58 = 290; each panel by itself takes 3 widths, 6 x 58 = 348. Where a
    # strip is not to show less than 6 it is cut wider and the width beside it narrower, changing nothing.
    hem = Hem(inch("1 1/2"), 1)
    for least, strip in ((0, 5), (inch(6), 8)):
        window = bare_window(
            rod=inch(72), fullness=Fraction(3), leading_hem=hem, outer_hem=hem, seam=inch("1/2"),
            finished_length=inch(58), least_part_width=least,
        )  # fmt: skip
        made = planned_job(a_job(window, fabrics=(plain_fabric(),)))
        assert proven(made) == inch(290)
        left, right = cuts_of(made)
        assert left == right[::-1]
        # 6 to show, 1/2 seam, 1 1/2 hem.
        assert left[0] == inch(strip)
        rule = layout_of(made).rule_of_thumb
        assert rule is not None
        assert rule.length == inch(348)


def test_strips_of_three_windows_share_widths() -> None:
    # Six panels of 72 = 54 + 18, seams not counted, all 60 long. Three strips of 18 fill a width: 6 + 2 = 8
    # widths, 480; each panel by itself takes two, 12 x 60 = 720. The area is 6 x 72 / 54 = 8 widths:
    # proven.
    windows = [panel_of(72, name) for name in ("East", "South", "West")]
    made = planned_job(a_job(*windows, fabrics=(plain_fabric(),)))
    assert proven(made) == inch(480)
    rule = layout_of(made).rule_of_thumb
    assert rule is not None
    assert rule.length == inch(720)


# Two strips, where the maker allows them


def test_two_strips_where_one_cannot_be_shared() -> None:
    # Panels of 84 = 54 + 30; two 30s do not share a width, so each pair takes 4, two pairs 8: 480. With two
    # strips of 15 in one pair, 30 15 | 30 15 | 15 15 take three widths beside four full ones: 7, which is
    # 420, and 4 x 84 / 54 = 6.2 says that 6 are not enough. Two strips in both would take no less.
    windows = [panel_of(84, name, part_pieces=2) for name in ("East window", "West window")]
    made = planned_job(a_job(*windows, fabrics=(plain_fabric(),)))
    assert proven(made) == inch(420)
    plain = planned_job(a_job(*(replace(w, part_pieces=1) for w in windows), fabrics=(plain_fabric(),)))
    assert proven(plain) == inch(480)
    pairs = sorted(cuts_of(made, window.name) for window in windows)
    one, two = (inch(30), inch(54)), (inch(15), inch(15), inch(54))
    assert pairs == [[two, two[::-1]], [one, one[::-1]]]


def test_what_the_rules_bar_is_priced_and_offered() -> None:
    # As above: 480 and 2 for squaring are bought as 13 1/2 yd, 420 and 2 as 11 3/4 yd.
    windows = [panel_of(84, name) for name in ("East window", "West window")]
    made = planned_job(a_job(*windows, fabrics=(plain_fabric(),)))
    plain, two = report_of(made).offers
    assert (plain.told, plain.chosen, plain.length) == ("part-width at the outer edge", True, inch(480))
    assert (two.told, two.allowed_by) == ("part-width of two strips at the outer edge", "part_pieces = 2")
    assert (two.length, two.bound) == (inch(420), inch(420))
    assert two.buy is not None
    assert two.buy.quantity == Fraction(47, 4)
    offer = (
        "part-width of two strips at the outer edge would take 11 3/4 yd instead of 13 1/2 yd, "
        "if a part-width may be pieced of two strips"
    )
    # The key of the job file ends the terminal's line in brackets, and stays off page and paper.
    assert [a.text for a in made.advice if a.window == "West window" and "strips" in a.text] == [
        f"{offer} (part_pieces = 2)"
    ]
    assert [a.plain for a in made.advice if a.window == "West window" and "strips" in a.text] == [offer]


def test_a_large_job_has_its_first_plans_priced_only(monkeypatch: pytest.MonkeyPatch) -> None:
    # Two windows with one barred plan each, and room for one price: the second plan is named without one.
    monkeypatch.setattr(seam_report, "EFFORT", 1)
    windows = [panel_of(84, name) for name in ("East window", "West window")]
    made = planned_job(a_job(*windows, fabrics=(plain_fabric(),)))
    lengths = [report_of(made, window.name).offers[1].length for window in windows]
    assert lengths == [inch(420), None]
    assert read_back(made).seams[1].offers[1].buy is None
    Console(file=io.StringIO()).print(plan_table(made))


def read_back(made: Plan) -> Plan:
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "plan.json"
        path.write_text(json.dumps(plan_document(made)), encoding="utf-8")
        return read_plan(path)


# Where the part-width goes


def printed() -> Fabric:
    bolt = a_bolt(inch(54), match=inch(54), sold_by=EIGHTH)
    return a_fabric(bolt, repeat=Repeat(inch(25), inch(54)), start=0)


def single(name: str, **said: Any) -> Window:
    """A panel of 74 = 54 + 20 drawn to the left, 100 long: four repeats of 25."""
    base = {"rod": inch(74), "fullness": Fraction(1), "finished_length": inch(100), "draw": "left"}
    return bare_window(**{"name": name, **base, **said})


def test_on_a_print_a_strip_at_the_leading_edge_shares_a_width() -> None:
    # The pattern is 54 wide, as the fabric. Full widths lie at 0; a strip to the left of one comes from the
    # right of its width, 34 to 54. Two windows have the same strip, so they do not share: 4 x 100. With one
    # of them at the leading edge, to the right of its full width, it comes from 0 to 20 and the two share:
    # 300.
    by_rule = planned_job(a_job(single("East window"), single("West window"), fabrics=(printed(),)))
    assert proven(by_rule) == inch(400)
    windows = [single(name, part_at="free") for name in ("East window", "West window")]
    made = planned_job(a_job(*windows, fabrics=(printed(),)))
    assert proven(made) == inch(300)
    both = [cuts_of(made, name)[0] for name in ("East window", "West window")]
    assert sorted(both) == [(inch(20), inch(54)), (inch(54), inch(20))]


def test_the_leading_edge_may_be_ordered() -> None:
    made = planned_job(a_job(single("East window", part_at="leading"), fabrics=(printed(),)))
    assert cuts_of(made) == [(inch(54), inch(20))]
    (strip,) = [piece for piece in made.pieces if piece.width == inch(20)]
    assert "part-width at the leading edge" in strip.notes
    # It lies to the right of its full width and is numbered from the leading edge.
    assert strip.id == "east-window/single/1"


def test_a_pair_with_strips_at_both_sides_hangs_in_the_mirror() -> None:
    # 80 = 13 + 54 + 13; with seams of 1/2 the strips are (80 - 54 + 2) / 2 = 14.
    window = panel_of(80, part_at="sides", seam=inch("1/2"))
    made = planned_job(a_job(window, fabrics=(plain_fabric(),)))
    assert cuts_of(made) == [(inch(14), inch(54), inch(14))] * 2
    # A sixteenth more: one strip is a step of the tape wider, on opposite sides.
    made = planned_job(a_job(panel_of("80 1/16", part_at="sides"), fabrics=(plain_fabric(),)))
    left, right = cuts_of(made)
    assert left == right[::-1]
    assert sum(left) == inch("80 1/16")
    # Strips that are just wide enough stay so, the width between them gives the step, and the check takes it.
    window = panel_of("80 1/16", part_at="sides", seam=inch("1/2"), least_part_width=inch(20))
    made = planned_job(a_job(window, fabrics=(plain_fabric(),)))
    assert cuts_of(made) == [(inch("20 1/2"), inch("41 1/16"), inch("20 1/2"))] * 2


# How wide it is


def test_a_gap_is_made_for_a_piece_that_reaches_beyond() -> None:
    # What lies beside a narrowed width fits beside a part-width too, unless it is longer than the panel.
    # Fabric 10 wide, a panel of 16 = 10 + 6, 10 long, and a strip of 2 x 20: the 10 has its rows to itself,
    # the strip lies beside the 6: 10 + 20 = 30. Cut as 8 + 8, one above the other, it lies beside both: 20.
    window = bare_window(rod=inch(16), fullness=Fraction(1), finished_length=inch(10), draw="left")
    strip = Extra("Strip", "face", inch(2), inch(20), turnable=False)
    for width, length, cuts in (("free", 20, (8, 8)), ("least", 30, (6, 10))):
        ordered = replace(window, part_width=width)  # type: ignore[arg-type]
        made = planned_job(a_job(ordered, fabrics=(plain_fabric(10),), extras=(strip,)))
        assert proven(made) == inch(length)
        assert cuts_of(made) == [tuple(map(inch, cuts))]


# The rules of a plan

needs = st.integers(inch(20), inch(400)).map(lambda ticks: ticks // SIXTEENTH * SIXTEENTH)
plans = st.builds(
    SeamPlan,
    st.sampled_from(("outer", "leading", "sides")),
    st.one_of(st.none(), st.integers(1, 54 * 16).map(lambda steps: steps * SIXTEENTH)),
    st.sampled_from((1, 2)),
)


@example(120015, SeamPlan("sides", None, 1), inch(3), 0)
@given(needs, plans, st.sampled_from((0, inch(3), inch(8))), st.sampled_from((0, inch("1/2"))))
def test_every_plan_gives_the_width_and_no_sliver(need: int, plan: SeamPlan, least: int, seam: int) -> None:
    fabric = OneWidth(inch(54), inch(54), seam, SIXTEENTH)
    try:
        widths = planned(plan, need, fabric, "exact", least)
    except DoesNotFitError:
        return
    assert total_width(widths, seam) == need
    assert all(0 < width.cut <= fabric.full for width in widths)
    strips = [width.cut for width in widths if width.kind == "part"]
    # Where a sliver is widened at its neighbor's cost, that one is never made a sliver itself.
    assert all(strip >= min(least, fabric.full // 4) - SIXTEENTH for strip in strips)
    if plan.pieces == 2 and plan.at != "sides" and strips:
        assert len(strips) == 2
        assert min(strips) >= least


def test_a_strip_narrower_than_the_least_is_no_plan() -> None:
    # 84 = 54 + 30, in strips of 15; 16 are to show.
    made = planned_job(
        a_job(panel_of(84, part_pieces=2, least_part_width=inch(16)), fabrics=(plain_fabric(),))
    )
    assert not any("two strips" in offer.told for report in made.seams for offer in report.offers)
    assert cuts_of(made) == [(inch(30), inch(54)), (inch(54), inch(30))]


@pytest.mark.parametrize(("mode", "strip"), [("half", 27), ("whole", 54)])
def test_half_and_whole_widths_leave_nothing_to_choose(mode: str, strip: int) -> None:
    # 70 = 54 + 16, up to half a width, or to a whole one.
    made = planned_job(a_job(panel_of(70, widths=mode, part_at="free"), fabrics=(plain_fabric(),)))
    assert cuts_of(made)[0] == (inch(strip), inch(54))
    assert made.seams == ()


# Facings


def faced(**said: Any) -> Window:
    """One panel 60 wide and 20 long, with a facing of 61 x 4 1/2."""
    base: dict[str, Any] = {
        "rod": inch(60), "fullness": Fraction(1), "finished_length": inch(20), "draw": "left",
        "bottom_hem": Hem(0, 0), "leading_hem": Hem(0, 0), "outer_hem": Hem(0, 0), "heading": "back-tab",
    }  # fmt: skip
    return a_window(**{**base, **said})


def facings(made: Plan) -> list[Piece]:
    return [piece for piece in made.pieces if piece.role == "facing"]


def test_a_facing_is_cut_along_the_fabric_where_it_may_lie_so() -> None:
    # Of a fabric without nap, 20 wide, for the facing alone: 61 in one piece is 61 long. In four equal parts
    # the joins come at 15, 30 and 45. Tabs of 2 lie at every 6 2/9 from 2 on, so that 14 4/9 and 45 5/9
    # keep joins 2 away: these move to 16 1/2 and 43 1/2. Parts of 17 1/2, 14 1/2, 14 1/2, 17 1/2 lie turned
    # side by side, 4 x 4 1/2 = 18 across, and take 17 1/2. Least fabric comes before fewest pieces.
    trim = a_fabric(a_bolt(inch(20), sold_by=EIGHTH), key="trim")
    window = faced(facing=FacingOrder(fabric="trim"))
    made = planned_job(a_job(window, fabrics=(plain_fabric(70), trim)))
    report = next(report for report in made.seams if report.fabric == "trim")
    told = [(offer.told, offer.length, offer.chosen) for offer in report.offers]
    assert told[0] == ("facing in one piece, cut along the fabric", inch(61), False)
    assert told[1] == ("facing in equal parts", inch("17 1/2"), True)
    assert sum(piece.copies for piece in facings(made)) == 4


def test_of_equal_length_the_fewest_pieces() -> None:
    # In the gap beside a panel of 60 x 80 on 64 3/4: 4 3/4 wide and 80 long, which takes the 61 in one
    # piece.
    window = faced(finished_length=inch("79 1/2"), facing=FacingOrder())
    made = planned_job(a_job(window, fabrics=(plain_fabric("64 3/4"),)))
    assert [piece.copies for piece in facings(made)] == [1]


def test_a_hem_band_is_pieced_where_that_takes_less() -> None:
    # A band of 6 finished is cut 7; 109 finished is 110 with its ends, on fabric 60 wide two parts. Seams of
    # 1/2: equal parts of (110 + 1) / 2 = 55 1/2 leave 4 1/2 beside them. 60 and 51 leave 9 beside the 51,
    # in which an extra of 9 x 7 lies; beside 55 1/2 it does not, and takes a row of its own: 14 against 21.
    # Three parts of 112 / 3 = 37 3/8 do not share rows either: 21.
    window = faced(rod=inch(109), heading="clip-ring", bands=(Band("hem", inch(6), "trim"),), draw="left")
    trim = a_fabric(a_bolt(inch(60), sold_by=EIGHTH), key="trim", nap="one-way")
    extra = Extra("Patch", "trim", inch(9), inch(7))
    made = planned_job(a_job(window, fabrics=(plain_fabric(120), trim), extras=(extra,)))
    assert proven(made, "trim") == inch(14)
    bands = [(piece.width, piece.copies) for piece in made.pieces if piece.role == "band"]
    assert bands == [(inch(60), 1), (inch(51), 1)]
    (report,) = [report for report in made.seams if report.layer == "band"]
    assert [(offer.told, offer.length) for offer in report.offers] == [
        ("band in equal parts", inch(21)),
        ("band pieced from full-width strips and a remainder", inch(14)),
        ("band in equal parts, one more than needed", inch(21)),
    ]
    assert [offer.cuts for offer in report.offers][:2] == [(inch("55 1/2"),) * 2, (inch(60), inch(51))]


# Many windows


@pytest.mark.nightly
def test_a_dozen_windows_with_rules_wide_open_get_a_layout() -> None:
    windows = [
        panel_of(60 + 3 * number, f"Window {number}", 50 + number, part_at="free", part_pieces=2)
        for number in range(12)
    ]
    job = a_job(*windows, fabrics=(plain_fabric(),))
    made = planned_job(job, work=6.0)
    by_rule = planned_job(
        replace(job, windows=tuple(replace(w, part_at=None, part_pieces=1) for w in windows)), work=6.0
    )
    chosen, ruled = layout_of(made).length, layout_of(by_rule).length
    assert chosen is not None
    assert ruled is not None
    assert chosen < ruled
    assert len(made.seams) == 12


@pytest.mark.parametrize("seed", some(range(8), 2))
def test_open_rules_never_take_more_and_keep_every_other_rule(seed: int) -> None:
    rng = random.Random(seed)
    windows = [
        panel_of(
            rng.randint(40, 130),
            f"Window {number}",
            rng.choice((50, 75)),
            draw=rng.choice(("pair", "left", "right")),
            panels=None,
            seam=rng.choice((0, inch("1/2"))) if seed % 2 else 0,
            least_part_width=rng.choice((0, inch(6))),
        )
        for number in range(2)
    ]
    fabric = plain_fabric() if seed % 2 else printed()
    by_rule = planned_job(a_job(*windows, fabrics=(fabric,)))
    free = [replace(window, part_at="free", part_pieces=2) for window in windows]
    made = planned_job(a_job(*free, fabrics=(fabric,)))
    if layout_of(by_rule).status is layout_of(made).status is Status.OPTIMAL:
        assert proven(made) <= proven(by_rule)
    for report in made.seams:
        lengths = [offer.length for offer in report.offers if not offer.allowed_by and offer.length]
        assert report.chosen.length == min(lengths)
        assert not report.chosen.allowed_by
    for panel in made.panels:
        assert panel.cut_width is not None
        joined = sum(panel.cuts) - 2 * windows[int(panel.window[-1])].seam * (len(panel.cuts) - 1)
        assert joined >= panel.cut_width


def test_a_repeat_is_kept_where_fabric_is_cut_across_first() -> None:
    windows = [single(name, part_at="free") for name in ("East window", "West window")]
    job = replace(a_job(*windows, fabrics=(printed(),)), cutting="across-first")
    # The two strips in one band, each full width in one of its own: 3 x 100, as cut freely.
    assert proven(planned_job(job)) == inch(300)


def test_lengths_on_hand_are_cut_by_the_best_seam_plan() -> None:
    # 340 in lie there, of which the pattern may cost a repeat of 25: enough for three widths, not for four.
    windows = [single(name, part_at="free") for name in ("East window", "West window")]
    there = (LengthOnHand(inch(340), "remnant"),)
    bolt = replace(printed().bolts[0], on_hand=there)
    made = planned_job(a_job(*windows, fabrics=(replace(printed(), bolts=(bolt,)),)))
    assert made.left_out == ()
    assert {layout.on_hand for layout in made.layouts} == {"remnant"}


# The check


@pytest.fixture(scope="module")
def document() -> dict[str, Any]:
    job = a_job(single("East window"), panel_of(80, "Pair", 100), fabrics=(printed(),))
    return plan_document(planned_job(job))


def broken_kinds(document: dict[str, Any]) -> set[Breach]:
    # What its panels are sewn to is another check: see test_sewing_check.
    return {broken.kind for broken in check_plan_document(document)} - {Breach.SEWING, Breach.SUM}


def test_widths_that_do_not_make_up_the_panel_are_found(document: dict[str, Any]) -> None:
    short = copy.deepcopy(document)
    short["panels"][0]["cut_width"] += 1
    assert broken_kinds(short) == {Breach.PANEL}
    # A seam allowance that was forgotten in the sum.
    sewn = copy.deepcopy(document)
    sewn["panels"][0]["seam_allowance"] = 0.5
    assert broken_kinds(sewn) == {Breach.PANEL}


def test_pieces_that_are_not_the_widths_are_found(document: dict[str, Any]) -> None:
    swapped = copy.deepcopy(document)
    swapped["panels"][0]["cuts"] = [30, 44]
    assert broken_kinds(swapped) == {Breach.PANEL}
    loose = copy.deepcopy(document)
    for piece in loose["pieces"]:
        piece["joined_to"] = []
    assert broken_kinds(loose) == {Breach.PANEL}


def test_widths_that_do_not_meet_in_the_pattern_are_found(document: dict[str, Any]) -> None:
    # The place of every width of one panel is moved a whole repeat: the layout stays in phase, and the
    # seams meet. One width alone moved by a repeat: in phase, but 54 away from where its seam wants it.
    moved = copy.deepcopy(document)
    (strip,) = [piece for piece in moved["pieces"] if piece["id"] == "east-window/single/2"]
    strip["match"]["x"] += 54
    assert broken_kinds(moved) == {Breach.PANEL}


def test_panels_that_are_no_mirror_images_are_found(document: dict[str, Any]) -> None:
    turned = copy.deepcopy(document)
    (left,) = [p for p in turned["panels"] if (p["window"], p["key"]) == ("Pair", "left")]
    left["cuts"] = left["cuts"][::-1]
    assert Breach.PANEL in broken_kinds(turned)


def test_a_plan_need_not_say_how_panels_are_made_up(document: dict[str, Any]) -> None:
    bare = {key: value for key, value in document.items() if key != "panels"}
    bare.pop("sewing")
    assert check_plan_document(bare) == ()
    for panel in (silent := copy.deepcopy(document))["panels"]:
        del panel["seam_allowance"]
        panel["cuts"] = []
    silent.pop("sewing", None)
    assert check_plan_document(silent) == ()


# What is shown


def test_the_worksheet_names_the_plan_and_the_price_of_the_others() -> None:
    windows = [panel_of(84, name) for name in ("East window", "West window")]
    made = planned_job(a_job(*windows, fabrics=(plain_fabric(),)))
    table, note = seam_plans(made, "East window")
    assert isinstance(table, Table)
    assert table.rows == (
        ("cut", "part-width at the outer edge", "30 + 54", "4", "480 in", "13 1/2 yd", "yes"),
        ("", "part-width of two strips at the outer edge", "15 + 15 + 54", "6", "420 in (-60)", "11 3/4 yd",
         "if a part-width may be pieced of two strips"),
    )  # fmt: skip
    assert isinstance(note, Paragraph)
    assert "what the order would have to allow" in note.text
    console = Console(width=160)
    with console.capture() as shown:
        console.print(plan_table(made))
    assert "seam plans of East window on face" in shown.get()
    assert "420 in (-60)" in shown.get()


def test_seam_plans_are_read_back(tmp_path: Path) -> None:
    made = planned_job(a_job(panel_of(84), fabrics=(plain_fabric(),)))
    file = tmp_path / "plan.json"
    file.write_text(json.dumps(plan_document(made)))
    assert read_plan(file).seams == made.seams
