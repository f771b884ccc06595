"""Each heading by hand-worked sums. Common practice, no source, unless a comment names one. Inches."""

from __future__ import annotations

import dataclasses
import itertools
import math
import re
from fractions import Fraction
from typing import Any

import pytest
from heading_sums import SUMS, by_hand
from hypothesis import given
from hypothesis import strategies as st
from orders import a_bolt, a_fabric, a_job, a_window, by_id, by_role, cm, cut_job, inch, panels

from nesting.cutting.cut import Cutting
from nesting.cutting.measures import hangings, lying_flat, settle
from nesting.errors import JobError, NestingError
from nesting.headings import _ALL, HEADINGS, USUAL, Heading, Making, heading
from nesting.headings.pinch_pleat import Pleats, pleat_edges, pleats
from nesting.headings.tabs import facing_joins, tabs_by_centers, tabs_by_gap
from nesting.order.job import FacingOrder, Hem, PleatOrder, RingOrder, TabOrder, Window
from nesting.pieces.piece import Piece
from nesting.units import Unit, format_length, parse_length
from nesting.web.pictures import picture


def making(units: Unit = "in", **said: object) -> Making:
    bolt = a_bolt(inch(54))
    job = a_job(a_window(**said), fabrics=(a_fabric(bolt), a_fabric(bolt, key="lining")), units=units)
    return settle(job, job.windows[0])


def cut_window(width: str | int = 54, units: Unit = "in", **said: object) -> Cutting:
    bolt = a_bolt(inch(width))
    return cut_job(
        a_job(a_window(**said), fabrics=(a_fabric(bolt), a_fabric(bolt, key="lining")), units=units)
    )


def size(piece: Piece) -> tuple[int, int]:
    return piece.width, piece.length


def advice(cutting: Cutting, kind: str = "warning") -> str:
    return "\n".join(note.text for note in cutting.advice if note.kind == kind)


def test_every_heading_has_its_name_once() -> None:
    assert all(style.name == name for name, style in HEADINGS.items())
    assert len(HEADINGS) == len(_ALL)
    assert USUAL in HEADINGS


@pytest.mark.parametrize("name", HEADINGS)
def test_every_heading_has_sums_by_hand(name: str) -> None:
    assert name in SUMS, "add what it comes to to tests/heading_sums.py, worked out by hand"


def test_what_is_missing_of_a_heading_is_missed() -> None:
    class Bare(Heading):
        name = "bare"

    with pytest.raises(TypeError, match="sewing"):
        Bare()  # type: ignore[abstract]


@pytest.mark.parametrize("name", HEADINGS)
def test_it_is_drawn_as_it_hangs(name: str) -> None:
    above = heading(name).above_hanger(making(heading=name)).total
    assert heading(name).sits == ("above" if above > 0 else "below" if above < 0 else "at")


@pytest.mark.parametrize("name", HEADINGS)
def test_its_picture_stays_in_its_frame(name: str) -> None:
    shown = str(picture("window.heading", name))
    tops = [float(y) for y in re.findall(r"M[\d.]+ ([\d.]+)", shown)]
    assert len(tops) > 5
    assert max(tops) <= 72
    others = [str(picture("window.heading", other)) for other in HEADINGS if other != name]
    assert shown not in others


@pytest.mark.parametrize("name", HEADINGS)
def test_marks_that_are_placed_are_shown(name: str) -> None:
    plans = cut_window(heading=name).headings
    assert any(plan.spots for plan in plans) == (heading(name).mark_look(making(heading=name)) is not None)


@pytest.mark.parametrize("name", HEADINGS)
def test_keys_of_its_own_are_keys_of_a_window(name: str) -> None:
    fields = {field.name for field in dataclasses.fields(Window)}
    assert set(heading(name).own_keys) <= fields
    assert {key.partition(".")[0] for key, _ in heading(name).usual(making(heading=name))} <= fields


def test_an_unknown_heading_is_refused_with_those_that_exist() -> None:
    with pytest.raises(NestingError, match="back-tab"):
        heading("goblet")


@pytest.mark.parametrize("name", HEADINGS)
def test_defaults_of_each_heading(name: str) -> None:
    style, order, sums = heading(name), making(heading=name, take_up=None), by_hand(name)
    above = sums.above
    sign = -1 if above.startswith("-") else 1
    assert style.fullness == Fraction(sums.fullness)
    assert style.above_hanger(order).total == sign * inch(above.lstrip("-"))
    assert style.top_allowance(order).total == inch(sums.top)
    assert style.top_cover(order) == inch(sums.cover)


@pytest.mark.parametrize(
    ("name", "said", "expected"),
    [
        # Rod top 96 above the floor, clearance 1/2: 95 1/2 and what the heading adds or takes. Pleats: the
        # hook's hole of a track 96 above the floor, top edge 1/2 above it: 96; or an eye 2 1/4 below the rod.
        ("back-tab", {"rod_height": 96}, "96 1/4"),
        ("tab-top", {"rod_height": 96}, "92 1/8"),
        ("rod-pocket", {"rod_height": 96}, "96 1/2"),
        ("grommet", {"rod_height": 96}, "96 1/2"),
        ("clip-ring", {"rod_height": 96}, "92 3/8"),
        ("clip-ring", {"rod_height": 96, "ring_drop": 3}, "92 1/2"),
        ("pinch-pleat", {"eye_height": 96, "rod_diameter": None}, "96"),
        ("pencil-pleat", {"eye_height": 96, "hangs_from": "track"}, "96"),
        ("pinch-pleat", {"rod_height": 96, "ring_drop": "2 1/4"}, "93 3/4"),
        ("pencil-pleat", {"rod_height": 96, "ring_drop": "2 1/4", "hook_row": "bottom"}, "95 3/4"),
    ],
)
def test_finished_length_from_what_it_hangs_from(name: str, said: dict[str, Any], expected: str) -> None:
    ticks = {key: inch(value) if key.endswith(("height", "drop")) else value for key, value in said.items()}
    assert making(heading=name, finished_length=None, **ticks).finished.total == inch(expected)


def test_a_puddle_is_added() -> None:
    # 96 + 3/4 + 8.
    order = making(finished_length=None, rod_height=inch(96), clearance=-inch(8))
    assert order.finished.total == inch("104 3/4")
    assert "puddle 8" in order.finished.line("in")


def test_metric_jobs_have_metric_defaults() -> None:
    # Hem 10 twice, side 2.5 twice, seam 1.5: 240 + 1.5 + 20; 60 x 1.5 = 90 per panel, + 10.
    said = {"rod": cm(120), "finished_length": cm(240), "rod_diameter": cm(3)}
    cutting = cut_window(width=60, units="cm", **said)
    assert size(panels(cutting)[0]) == (cm(100), cm(Fraction("261.5")))
    # Facing: 90 + 3 by 10 + 1.5. Tabs: pi x 1.5 = 4.71 + 1.2 = 5.91, up to 6, + 3; 2 x 5 + 3.
    assert size(by_role(cutting, "facing")[0]) == (cm(93), cm(Fraction("11.5")))
    assert size(by_role(cutting, "tab")[0]) == (cm(13), cm(9))


# Back tab


@pytest.mark.parametrize(("diameter", "loop"), [("1 3/8", "2 3/4"), ("2", "3 3/4")])
def test_back_tab_loop(diameter: str, loop: str) -> None:
    # Half round + 1/2 up to the next 1/4: 2.16 + 0.5 = 2.66 -> 2 3/4; 3.14 + 0.5 = 3.64 -> 3 3/4.
    (tabs,) = by_role(cut_window(rod_diameter=inch(diameter)), "tab")
    assert tabs.finished_length == inch(loop)
    assert size(tabs) == (inch(5), inch(loop) + inch(1))
    assert tabs.hidden


def test_back_tab_companions() -> None:
    # Rod 60: 45 flat. Facing 46 by 4 1/2. Tabs: 45 - 4 = 41, about 6 apart: 7 gaps of 5 6/7, 8 tabs.
    cutting = cut_window(rod=inch(60))
    assert size(by_id(cutting, "east-window/left/facing")) == (inch(46), inch("4 1/2"))
    (tabs,) = by_role(cutting, "tab")
    assert (tabs.id, tabs.copies) == ("east-window/tabs", 16)
    spots = cutting.headings[0].spots
    centers = [(spot.start + spot.end) / 2 for spot in spots]
    assert (centers[0], centers[-1]) == (inch(2), inch(43))
    assert all(
        abs((b - a) - Fraction(inch(41), 7)) <= 2 for a, b in itertools.pairwise(map(Fraction, centers))
    )


def test_a_thick_rod_makes_the_facing_deeper() -> None:
    # d 2: tab 3 3/4 + 1 1/4 = 5, cut 5 1/2; turned below 1/2 more.
    cutting = cut_window(rod=inch(60), rod_diameter=inch(2))
    assert by_id(cutting, "east-window/left/facing").length == inch("5 1/2")
    cutting = cut_window(rod=inch(60), rod_diameter=inch(2), facing=FacingOrder(lower_edge="turned"))
    assert by_id(cutting, "east-window/left/facing").length == inch(6)


def test_a_facing_too_shallow_for_its_loops_is_refused() -> None:
    # A loop of 3 3/4 begins 3/4 below the edge and ends 1/2 inside the facing: 5, else it hangs out of it.
    with pytest.raises(JobError, match="at least 5 in: loops 3 3/4 in long begin 3/4 in below the top edge"):
        cut_window(rod_diameter=inch(2), facing=FacingOrder(depth=inch(4)))
    assert advice(cut_window(rod_diameter=inch(2), facing=FacingOrder(depth=inch(5)))) == ""
    # Where the rod was only assumed the loops are as long all the same, and giving it may help.
    with pytest.raises(JobError, match=r"at least 4 in: .*; or rod_diameter, where the rod is thinner"):
        cut_window(rod_diameter=None, facing=FacingOrder(depth=inch(3)))
    assert advice(cut_window(facing=FacingOrder(depth=inch(4)))) == ""


def test_tabs_and_facing_from_another_fabric() -> None:
    cutting = cut_window(tab=TabOrder(fabric="lining"), facing=FacingOrder(fabric="lining"))
    assert {p.fabric for p in cutting.pieces if p.role in ("tab", "facing")} == {"lining"}


def test_tabs_too_far_apart_are_warned_of() -> None:
    # 63 flat, 5 tabs: 59 / 4 = 14 3/4.
    assert "14 3/4 in apart" in advice(cut_window(tab=TabOrder(count=5)))


# Facings wider than their fabric


def test_a_wide_facing_is_pieced_in_equal_parts() -> None:
    # Tab top, rod 84: 63 + 1 + 1 for the join = 65, two parts of 32 1/2; 10 tabs leave the middle free.
    facing = by_id(cut_window(heading="tab-top"), "east-window/left/facing")
    assert size(facing) == (inch("32 1/2"), inch("4 1/2"))
    assert facing.copies == 2


def test_a_join_keeps_off_a_tab_in_the_middle() -> None:
    # 11 back tabs of 2 put one at 30 1/2 to 32 1/2, the very middle of 63.
    cutting = cut_window()
    parts = [piece for piece in by_role(cutting, "facing") if piece.side == "left"]
    assert [part.id for part in parts] == ["east-window/left/facing/1", "east-window/left/facing/2"]
    assert sum(part.width for part in parts) == inch(65)
    join = parts[0].width - inch(1)  # less the end turned in and the seam
    clear = inch(1)
    for spot in cutting.headings[0].spots:
        assert join <= spot.start - clear or join >= spot.end + clear


@given(st.integers(30, 400), st.integers(24, 60), st.lists(st.integers(0, 400), max_size=6))
def test_facing_parts_always_give_the_panel_and_fit_the_fabric(
    flat: int, usable: int, seams: list[int]
) -> None:
    order = making()
    keep_off = tuple((inch(at), inch(at)) for at in seams)
    joins = facing_joins(order, inch(flat), inch(usable), keep_off)
    edges = (-order.seam, *joins, inch(flat) + order.seam)
    cuts = [b - a for a, b in itertools.pairwise(edges)]
    cuts = [cut + order.seam * ((n > 0) + (n < len(cuts) - 1)) for n, cut in enumerate(cuts)]
    assert sum(cuts) == inch(flat) + 2 * order.seam * (1 + len(joins))
    assert all(0 < cut <= inch(usable) for cut in cuts)


# Tab top


def test_tab_top_loop() -> None:
    # pi x 1 3/8 / 2 = 2.16, + 2 x 2 gap + 1 3/8 = 7.535, up to 7 5/8, cut 8 5/8; width 2 x 2 + 1.
    (tabs,) = by_role(cut_window(heading="tab-top"), "tab")
    assert size(tabs) == (inch(5), inch("8 5/8"))
    assert not tabs.hidden


@pytest.mark.parametrize(
    ("flat", "width", "gap", "number", "clear"),
    [
        (43, 3, 5, 6, "5"),
        (63, 2, 5, 10, "4 7/9"),  # 68 / 7 = 9.7; 43 / 9
        (20, 2, 5, 5, "2 1/2"),  # never fewer than five
    ],
)
def test_tabs_by_gap(flat: int, width: int, gap: int, number: int, clear: str) -> None:
    found = tabs_by_gap(inch(flat), inch(width), inch(gap))
    whole, _, part = clear.partition(" ")
    assert (found.number, found.apart) == (number, (Fraction(whole) + Fraction(part or 0)) * inch(1))


def test_crowded_tabs_are_warned_of() -> None:
    assert "2 1/2 in apart" in advice(cut_window(heading="tab-top", flat_width=inch(20)))


@given(st.integers(inch(10), inch(200)), st.integers(inch(1), inch(4)), st.integers(inch(2), inch(8)))
def test_tab_gaps_add_up(flat: int, width: int, gap: int) -> None:
    found = tabs_by_gap(flat, width, gap)
    assert found.number >= 5
    assert found.number * width + (found.number - 1) * found.apart == flat


@given(st.integers(inch(6), inch(200)), st.integers(inch(4), inch(8)))
def test_tab_centers_add_up(flat: int, spacing: int) -> None:
    found = tabs_by_centers(flat, inch(2), spacing)
    assert 2 * inch(2) + (found.number - 1) * found.apart == flat


# Rod pocket


def test_rod_pocket_adds_heading_pocket_turn_and_take_up() -> None:
    # Rod 1, heading 1, take-up ordered as the trade usually has it: 1 + 1 15/16 + 1/2 + 1/2 = 3 15/16; 95 1/2
    # + that + 8.
    cutting = cut_window(heading="rod-pocket", rod_diameter=inch(1), take_up=inch("1/2"))
    assert panels(cutting)[0].length == inch("107 7/16")
    assert cutting.headings[0].spots == ()


@pytest.mark.parametrize(
    ("diameter", "taken"),
    [
        # d (pi / 4 - 1 / 2) = 0.2854 d, up to the tape: 0.178, 0.285, 0.392 and 0.571.
        ("5/8", "3/16"),
        ("1", "5/16"),
        ("1 3/8", "7/16"),
        ("2", "5/8"),
    ],
)
@pytest.mark.parametrize(("name", "top"), [("back-tab", "1/2"), ("rod-pocket", "3 1/2")])
def test_a_panel_in_front_of_its_rod_is_cut_longer_by_what_it_takes_up(
    name: str, top: str, diameter: str, taken: str
) -> None:
    # Seam 1/2; or heading 1, pocket 2 and 1/2 turned under. Hem 4 twice.
    said: dict[str, Any] = {"heading": name, "rod_diameter": inch(diameter), "take_up": None}
    if name == "rod-pocket":
        said["pocket"] = inch("3 1/4") if diameter == "2" else inch("9/4")
        top = "4 3/4" if diameter == "2" else "15/4"
    cutting = cut_window(**said)
    assert panels(cutting)[0].length == inch("95 1/2") + inch(top) + inch(taken) + inch(8)
    (told,) = {steps for head in cutting.headings for steps in head.steps if "take-up" in steps.target}
    flat = format_length(inch("95 1/2") + inch(taken), "in")
    assert cutting.headings[0].remarks[-1] == f"{flat} long lying flat, 95 1/2 in on the rod"
    assert told.total == inch(taken)
    if diameter == "1 3/8":
        assert told.line("in") == (
            "take-up over the rod: a quarter of the rod's circumference 1.08 - half the rod 11/16 = 0.392, "
            "rounded up to the tape = 7/16 in"
        )


def test_a_flat_rod_takes_nothing_up_and_is_gone_around_by_height_and_depth() -> None:
    # 1 1/2 high, 1/4 deep: 1 3/4 half around. Loop: + 1/2 = 2 1/4. Pocket: x 1.2 = 2.1, up to 2 1/8.
    flat: dict[str, Any] = {"rod_diameter": inch("1 1/2"), "rod_depth": inch("1/4"), "take_up": None}
    tabs = cut_window(heading="back-tab", **flat)
    assert panels(tabs)[0].length == inch("95 1/2") + inch("8 1/2")
    assert by_role(tabs, "tab")[0].finished_length == inch("2 1/4")
    # 1 + 2 1/8 + 1/2 turned under.
    pocket = cut_window(heading="rod-pocket", **flat)
    assert panels(pocket)[0].length == inch("95 1/2") + inch("3 5/8") + inch(8)
    # Over its top and down both sides, and 2 below it at front and back: 1 3/4 + 1 1/2 + 4 = 7 1/4.
    tops = cut_window(heading="tab-top", **flat)
    assert by_role(tops, "tab")[0].finished_length == inch("7 1/4")


@pytest.mark.parametrize("diameter", ["1/4", "5/8", "1", "1 3/8", "2", "3"])
@pytest.mark.parametrize("rod_depth", [None, "1/4"])
def test_loops_begin_level_with_the_rod_and_end_inside_the_facing(
    diameter: str, rod_depth: str | None
) -> None:
    # 3/4 + loop + 1/2 is no more than the facing's depth, whatever the rod.
    depth = None if rod_depth is None else inch(rod_depth)
    cutting = cut_window(rod=inch(60), rod_diameter=inch(diameter), rod_depth=depth)
    loop = by_role(cutting, "tab")[0].finished_length
    deep = by_role(cutting, "facing")[0].finished_length
    assert loop is not None
    assert deep is not None
    assert inch("3/4") + loop + inch("1/2") <= deep
    for head in cutting.headings:
        ends = {steps.target: steps.total for steps in head.steps}
        assert ends["loop begins below the top edge"] == inch("3/4")
        assert ends["loop ends below the top edge"] == inch("3/4") + loop


def test_a_tight_pocket_is_warned_of() -> None:
    # Half round of a 2 rod: 3.14, and a fifth more is 3.77, on the tape 3 13/16. 3 1/4 passes, but barely; 3
    # is refused (tests/test_hanging.py).
    tight = cut_window(heading="rod-pocket", rod_diameter=inch(2), pocket=inch("3 1/4"))
    assert "a pocket 3 1/4 in deep is tight on a rod 2 in thick: 3 13/16 in is usual" in advice(tight)
    assert advice(cut_window(heading="rod-pocket", rod_diameter=inch(2), pocket=inch("3 13/16"))) == ""


# Pinch pleat


def test_pleats_grow_fewer_until_each_takes_enough() -> None:
    # 47 1/2 finished, ends 5 1/2: 42 / 4 = 10.5 spaces, ties down to 10: 11 pleats. With 40 to take up that
    # is 3.64 each; 8 pleats take 5, 9 take 4.44: 8.
    found = pleats(inch(47) + inch("1/2") + inch(40), inch("47 1/2"), inch("5 1/2"), inch(4), inch("4 1/2"))
    assert found is not None
    assert (found.number, found.take_up, found.space) == (8, inch(5), inch(6))


def test_nothing_to_pleat_is_warned_of() -> None:
    assert pleats(inch(40), inch(45), inch(5), inch(4), inch("4 1/2")) is None
    assert "nothing is left to pleat" in advice(cut_window(heading="pinch-pleat", flat_width=inch("47 1/2")))


def test_fat_pleats_are_warned_of() -> None:
    # 63 to take up in 6 pleats: 10 1/2 each.
    assert "10 1/2 in" in advice(cut_window(heading="pinch-pleat", pleat=PleatOrder(count=6)))


def test_returns_and_overlap_are_added_flat() -> None:
    # 42 x 2.5 + 3 1/2 + 2 = 110 1/2; finished 42 + 3 1/2 + 2 = 47 1/2.
    plan = cut_window(heading="pinch-pleat").panels[0]
    assert (plan.flat, plan.finished) == (inch("110 1/2"), inch("47 1/2"))


def test_single_draw_has_a_return_at_each_end() -> None:
    # 84 x 2.5 + 2 x 3 1/2 = 217; no overlap.
    (plan,) = cut_window(heading="pinch-pleat", draw="left").panels
    assert (plan.key, plan.flat, plan.finished) == ("single", inch(217), inch(91))


def test_buckram_and_hooks() -> None:
    # 2 x 110 1/2 = 221; 11 pleats + 2 hooks in each of two panels.
    cutting = cut_window(heading="pinch-pleat")
    found = {sundry.name: sundry for sundry in cutting.sundries}
    assert found["buckram"].length == inch(221)
    assert found["hooks"].count == 2 * 13


def test_seams_lie_beside_a_pleat() -> None:
    # Rod 72, flat 36 x 2.5 + 5 1/2 = 95 1/2: one seam, 51 1/2 from the leading edge.
    cutting = cut_window(heading="pinch-pleat", rod=inch(72))
    for plan, head in zip(cutting.panels, cutting.headings, strict=True):
        edges = {edge for spot in head.spots if spot.kind == "pleat" for edge in (spot.start, spot.end)}
        assert len(plan.seams) == 1
        assert plan.seams[0] in edges
        assert all(a.end == b.start for a, b in itertools.pairwise(head.spots))
        assert not any("the seam" in remark for remark in head.remarks)


def test_a_seam_that_stays_inside_a_pleat_is_told() -> None:
    # Rod 84: seams 59 and 6 from the left edge of the left panel; the first pleat runs from 3 1/2 to 9.
    head = cut_window(heading="pinch-pleat").headings[0]
    assert "the seam 6 in from the left edge lies inside pleat 1" in head.remarks


@pytest.mark.parametrize("name", sorted(HEADINGS))
def test_a_pair_is_mirrored(name: str) -> None:
    left, right = cut_window(heading=name).headings
    mirrored = [(right.width - spot.end, right.width - spot.start) for spot in reversed(right.spots)]
    assert all(
        abs(a - spot.start) <= 1 and abs(b - spot.end) <= 1
        for (a, b), spot in zip(mirrored, left.spots, strict=True)
    )


@given(
    st.integers(4, 40),
    st.integers(inch("4 1/2"), inch(7)),
    st.integers(inch(3), inch(5)),
    st.lists(st.integers(0, inch(480)), max_size=5, unique=True).map(sorted),
)
def test_pleats_moved_to_seams_take_up_the_same(
    number: int, take_up: int, space: int, seams: list[int]
) -> None:
    found, least = Pleats(number, Fraction(take_up), Fraction(space)), inch("4 1/2")
    edges = pleat_edges(found, inch(3), tuple(seams), least)
    assert len(edges) == number
    assert sum(end - start for start, end in edges) == number * take_up
    assert all(b[0] - a[1] == space for a, b in itertools.pairwise(edges))
    assert all(least <= end - start <= Fraction(take_up) * 5 / 4 for start, end in edges)


# Grommets


def test_grommets_are_even_and_evenly_spaced() -> None:
    # 42 x 1.75 = 73 1/2; 2 from each edge leaves 69 1/2; 10 rings, 9 gaps of 7.72.
    head = cut_window(heading="grommet", width=90).headings[0]
    assert len(head.spots) == 10
    assert (head.spots[0].start, head.width - head.spots[-1].end) == (inch(2), inch(2))


def test_no_grommet_at_a_seam() -> None:
    for rod in range(60, 130, 3):
        cutting = cut_window(heading="grommet", rod=inch(rod))
        for plan, head in zip(cutting.panels, cutting.headings, strict=True):
            assert len(head.spots) % 2 == 0
            assert all(abs(s.start - seam) >= inch("1 1/2") - 1 for s in head.spots for seam in plan.seams)


def test_full_grommets_are_warned_of() -> None:
    assert "above 2" in advice(cut_window(heading="grommet", fullness=Fraction(5, 2)))
    assert advice(cut_window(heading="grommet", fullness=Fraction(2))) == ""


def test_a_big_ring_needs_a_deeper_header() -> None:
    # Ring 3 1/2 + 1 = 4 1/2, turned twice: 9.
    order = making(heading="grommet", ring=RingOrder(size=inch("3 1/2")))
    assert heading("grommet").top_allowance(order).total == inch(9)
    said = {"ring": RingOrder(size=inch("3 1/2")), "heading_depth": inch(4)}
    assert "too low" in advice(cut_window(heading="grommet", **said))


def test_grommets_and_stiffener_are_bought() -> None:
    # Two windows of two panels of 10; stiffener 4 x (73 1/2 - 1/2) = 292.
    found = {s.name: s for s in cut_window(heading="grommet", width=90, count=2).sundries}
    assert found["grommets"].count == 40
    assert found["stiffener"].length == inch(292)


# Clip rings and pencil pleats


def test_clip_rings_are_even_for_a_pair() -> None:
    # 63 less 1 = 62, about 6 apart: 11 rings, made 12 for a pair; a single keeps its odd number.
    assert len(cut_window(heading="clip-ring").headings[0].spots) == 12
    # Single, 126 flat: 125 / 6 = 20.8 -> 21 gaps, 22; 120 flat: 119 / 6 = 19.8 -> 20 gaps, 21 rings.
    assert len(cut_window(heading="clip-ring", draw="left", flat_width=inch(120)).headings[0].spots) == 21


def test_pencil_pleat_tape_and_hook_rows() -> None:
    # Two panels of 42 x 2.25 + 5 1/2 = 100, and 2 each: 204.
    found = {s.name: s for s in cut_window(heading="pencil-pleat").sundries}
    assert found["pencil-pleat tape"].length == inch(204)
    style = heading("pencil-pleat")
    rows = [style.above_hanger(making(heading="pencil-pleat", hook_row=row)).total for row in
            ("top", "middle", "bottom")]  # fmt: skip
    assert rows == [inch("1/2"), inch("1 1/2"), inch("2 1/2")]


@pytest.mark.parametrize("name", sorted(HEADINGS))
def test_spots_lie_on_the_heading_in_order(name: str) -> None:
    for head in cut_window(heading=name).headings:
        marks = [mark for spot in head.spots for mark in (spot.start, spot.end)]
        assert marks == sorted(marks)
        assert all(0 <= mark <= head.width for mark in marks)


@pytest.mark.parametrize(
    ("said", "warned"),
    [
        ({"heading": "back-tab"}, True),
        ({"heading": "back-tab", "tab": TabOrder(length=inch(3))}, False),
        ({"heading": "back-tab", "tab": TabOrder(length=inch(3)), "take_up": None}, True),
        ({"heading": "tab-top"}, True),
        ({"heading": "rod-pocket"}, True),
        ({"heading": "rod-pocket", "pocket": inch(3)}, False),
        ({"heading": "rod-pocket", "pocket": inch(3), "take_up": None}, True),
        ({"heading": "grommet"}, False),
        ({"heading": "pinch-pleat"}, False),
        ({"heading": "clip-ring"}, False),
        ({"heading": "clip-ring", "finished_length": None, "rod_height": inch(96)}, True),
    ],
)
def test_an_assumed_rod_is_told_where_it_matters(said: dict[str, object], warned: bool) -> None:
    assert ("1 3/8 in is assumed" in advice(cut_window(rod_diameter=None, **said))) == warned


# Every count says its rule


@pytest.mark.parametrize("unit", ["in", "cm"])
@pytest.mark.parametrize("name", HEADINGS)
@pytest.mark.parametrize("rod", [40, 84, 133])
def test_every_count_shows_the_division_it_comes_from(name: str, unit: Unit, rod: int) -> None:
    """What a maker reads is worked out again from the printed figures alone."""
    length = inch(rod) if unit == "in" else cm(rod * 5 // 2)
    head = cut_window(54 if unit == "in" else "55", unit, heading=name, rod=length).headings[0]
    marks = [spot for spot in head.spots if spot.kind != "space"]
    told = [remark for remark in head.remarks if " ÷ " in remark]
    assert told or not marks
    for remark in told:
        how, _, found = remark.partition(", so ")
        run, step, quotient = re.match(r"(.+) ÷ (.+) = ([\d.]+)", how).groups()  # type: ignore[union-attr]
        exact = parse_length(run, unit) / parse_length(step, unit)
        assert float(quotient) == pytest.approx(float(exact), abs=0.02)
        counts = [
            int(n) for n in re.findall(r"(\d+) (?:gaps?|tabs|rings|grommets|spaces|pleats|hooks)", found)
        ]
        assert counts
        # The rules, common practice, no source: to the nearest, one mark more than gaps; an even number of
        # grommets, and of rings of a pair; hooks at both ends of spaces that are no longer than usual.
        n = float(exact)
        wanted = {
            "back-tab": [round(n), round(n) + 1],
            "tab-top": [max(5, round(n))],
            "grommet": [2 * round((n + 1) / 2)],
            "clip-ring": [round(n) + 1 + (round(n) + 1) % 2],
            "pinch-pleat": [round(n), round(n) + 1],
            "pencil-pleat": [math.ceil(n), math.ceil(n) + 1],
        }
        assert counts == wanted.get(name, counts)
        assert not marks or len(marks) in counts


@pytest.mark.parametrize("name", HEADINGS)
def test_the_number_of_widths_is_a_sum_too(name: str) -> None:
    # (K - 2 s) / (U - 2 s), up: E4's loss of two seam allowances at each join.
    for panel in cut_window(heading=name).panels:
        sums = {steps.target: steps for steps in panel.steps}
        need = sums["cut width of the panel"].exact
        wanted = math.ceil((need - inch(1)) / (inch(54) - inch(1)))
        assert sums["widths"].counted
        assert sums["widths"].total == len(panel.cuts) == wanted


def test_pleats_that_would_take_too_little_say_why_they_are_fewer() -> None:
    # 42 / 4 = 10.5, a half down: 10 spaces, 11 pleats; 40 / 4 1/2 = 8.89, so at most 8.
    found = pleats(inch("87 1/2"), inch("47 1/2"), inch("5 1/2"), inch(4), inch("4 1/2"))
    assert found is not None
    lines = [steps.line("in") for steps in found.sums]
    assert lines == [
        "spaces that fit: for spaces 42 ÷ space to aim at 4 = 10.5, to the nearest whole, a half down = 10",
        "most pleats: take-up 40 ÷ least pleat 4 1/2 = 8.889, down to a whole = 8",
        "pleats: spaces that fit 10 + 1 = 11, at most 8 = 8",
        "spaces: pleats 8 - 1 = 7",
    ]


# What cannot be sewn is refused


def test_a_header_that_ends_above_its_holes_is_refused() -> None:
    # Holes begin 1 below the edge and are 2 wide: 3 at least.
    rings = RingOrder(inner=inch(2))
    with pytest.raises(JobError, match="at least 3 in: the holes begin 1 in below the top edge"):
        cut_window(heading="grommet", heading_depth=inch("2 7/8"), ring=rings)
    cut_window(heading="grommet", heading_depth=inch(3), ring=rings)


def test_a_header_grows_with_the_hole_where_no_ring_was_measured() -> None:
    # Rod 3, hole 3 1/4, rim 3/4, and 1 more: 5; the outer centers half a ring and 1/2 inside: 2 1/2.
    wide = cut_window(heading="grommet", rod_diameter=inch(3))
    assert by_id(wide, "east-window/left/1").length == inch("95 1/2") + inch(8) + 2 * inch(5)
    assert wide.headings[0].spots[0].start == inch("2 1/2")


def test_a_turn_deeper_than_its_tape_is_refused() -> None:
    with pytest.raises(JobError, match="at most 1 1/2 in, the depth of the tape"):
        cut_window(heading="pencil-pleat", heading_depth=inch(2), tape=inch("1 1/2"))
    # Usually 1 1/2, but 1/4 less than the tape where that is narrow.
    narrow = cut_window(heading="pencil-pleat", tape=inch(1))
    assert by_id(narrow, "east-window/left/1").length == inch("95 1/2") + inch(8) + inch("3/4")


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ({"heading": "tab-top"}, "the tab and the facing"),
        ({"heading": "clip-ring", "lining": "lining", "lining_style": "tube"}, "the lining"),
    ],
)
def test_nothing_is_sewn_on_by_a_seam_of_nothing(said: dict[str, Any], what: str) -> None:
    with pytest.raises(JobError, match=f"more than 0, which sews on {what}"):
        cut_window(seam=0, **said)


def test_a_tube_takes_its_sides_into_its_seams() -> None:
    tube = {"heading": "clip-ring", "lining": "lining", "lining_style": "tube"}
    with pytest.raises(JobError, match="at least the seam of 1/2 in; or lining_style"):
        cut_window(outer_hem=Hem(inch("1/4"), 1), **tube)
    # A selvage cannot stay one: it gets its usual hem, and the maker is told.
    made = cut_window(leading_hem=Hem(0, 0, selvage=True), **tube)
    assert "the leading edge is sewn to its lining: it gets its hem of 1 in, turned 2 times" in advice(
        made, "note"
    )


def test_a_grommet_moved_off_a_seam_stays_on_the_panel() -> None:
    # A seam 1 3/4 inside the edge: 1 1/2 outwards of it would be a ring over the edge, so it goes inwards.
    settled = making(heading="grommet")
    panel = lying_flat(settled, hangings(settled)[0], inch(60), (inch("58 1/4"),))
    last = heading("grommet").arrange(settled, panel).spots[-1]
    assert last.start == inch("56 3/4")


def test_a_panel_that_is_drawn_in_is_no_flatter_than_what_it_covers() -> None:
    # Rod 84, a pair: 42, a return of 3 1/2 and half the overlap of 4.
    with pytest.raises(JobError, match="at least 47 1/2 in, which a panel covers"):
        cut_window(heading="pencil-pleat", flat_width=inch(47))
    cut_window(heading="pencil-pleat", flat_width=inch("47 1/2"))


def test_a_lining_covers_the_upper_edge_of_the_hem() -> None:
    with pytest.raises(JobError, match="less than the bottom hem of 4 in"):
        cut_window(lining="lining", lining_gap=inch(4))
    cut_window(lining="lining", lining_gap=inch(3))
