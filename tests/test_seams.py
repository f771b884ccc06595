"""Counting and planning widths. Inches in comments; hand-worked sums beside them."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from orders import a_bolt, cm, inch

from nesting.errors import DoesNotFitError
from nesting.pieces.seams import (
    OneWidth,
    Width,
    count_widths,
    joined,
    places,
    plan_centerd,
    plan_widths,
    room_in_phase,
    total_width,
    widths_of,
)
from nesting.units import SIXTEENTH

HALF = inch("1/2")
PLAIN = OneWidth(inch(54), inch(54), HALF, SIXTEENTH)


def cuts(widths: tuple[Width, ...]) -> list[tuple[str, int]]:
    return [(width.kind, width.cut) for width in widths]


def test_one_width_carries_no_seam() -> None:
    assert count_widths(inch(54), inch(54), HALF) == 1
    assert count_widths(inch(54) + 1, inch(54), HALF) == 2


def test_seams_that_use_up_the_fabric_are_refused() -> None:
    with pytest.raises(DoesNotFitError, match="seams"):
        count_widths(inch(10), inch(1), HALF)


def test_full_width_at_the_leading_edge_and_the_rest_outside() -> None:
    # 67 of 54s: 54 + 14 joined with two halves lost is 67.
    assert cuts(plan_widths(inch(67), PLAIN, "exact", inch(6))) == [("full", inch(54)), ("part", inch(14))]


def test_a_sliver_is_widened_at_its_neighbors_cost() -> None:
    # 108 1/2 of 54s: 54 + 54 + 2 1/2 less 2 seams; made 8, the middle one gives 5 1/2 and is 48 1/2.
    widths = plan_widths(inch("108 1/2"), PLAIN, "exact", inch(8))
    assert cuts(widths) == [("full", inch(54)), ("trimmed", inch("48 1/2")), ("part", inch(8))]
    assert total_width(widths, HALF) == inch("108 1/2")


@pytest.mark.parametrize(
    ("need", "mode", "expected"),
    [
        (67, "half", [("full", 54), ("part", 27)]),  # 14 up to half a width
        (90, "half", [("full", 54), ("full", 54)]),  # 37 up to a whole one
        (67, "whole", [("full", 54), ("full", 54)]),
        (20, "half", [("single", 27)]),
        (20, "whole", [("single", 54)]),
        (107, "exact", [("full", 54), ("full", 54)]),  # 54 + 54 - 1
    ],
)
def test_part_widths_round_as_asked(need: int, mode: str, expected: list[tuple[str, int]]) -> None:
    widths = plan_widths(inch(need), PLAIN, mode, 0)  # type: ignore[arg-type]
    assert cuts(widths) == [(kind, inch(cut)) for kind, cut in expected]


def test_a_fixed_panel_has_its_full_width_in_the_middle() -> None:
    # 80 = 54 + 2 parts less 4 half seams: (80 - 54 + 2) / 2 = 14.
    widths = plan_centerd(inch(80), PLAIN, "exact", inch(6))
    assert cuts(widths) == [("part", inch(14)), ("full", inch(54)), ("part", inch(14))]
    # 60: parts of 4 become 8, and the middle one gives 4 on either side.
    widths = plan_centerd(inch(60), PLAIN, "exact", inch(8))
    assert cuts(widths) == [("part", inch(8)), ("trimmed", inch(46)), ("part", inch(8))]
    assert total_width(widths, HALF) == inch(60)


def test_a_matched_width_is_its_match_and_two_seams() -> None:
    # 54 + 2 x 1/2 = 55, reaching into the selvage of a 56 bolt; 1/2 more is too much.
    width = widths_of(a_bolt(inch(56), inch("54 1/2"), inch(54)), HALF, "in", matched=True, where="")
    assert (width.full, width.limit) == (inch(55), inch(55))


def test_a_match_too_wide_for_its_bolt_is_told_as_people_measure() -> None:
    # 54 + 2 x 1/2 = 55; of 54 1/2 the match leaves 1/2, which is 1/4 on each side.
    with pytest.raises(DoesNotFitError) as refused:
        widths_of(a_bolt(inch("54 1/2"), match=inch(54)), HALF, "in", matched=True, where='fabric "Fern"')
    assert str(refused.value) == (
        'fabric "Fern": a full width is cut match 54 in + 2 seams of 1/2 in = 55 in, but the bolt on the '
        "table is 54 1/2 in wide: measure the match on the fabric, "
        "take seams of 1/4 in or less, or take a wider bolt"
    )
    # Half a millimeter too much, which no tape shows, and no room left for any seam.
    with pytest.raises(DoesNotFitError, match=r"= 142\.05 cm, .* is 141 cm wide: [a-z ]*, or take a wider"):
        widths_of(a_bolt(cm(141), match=cm(141) + 40), cm("1/2"), "cm", matched=True, where="")
    with pytest.raises(DoesNotFitError, match=r"the 1 in of the bolt that is usable .* narrower seam"):
        widths_of(a_bolt(inch(1)), HALF, "in", matched=False, where="")


def test_usable_width_is_rounded_down_to_the_tape() -> None:
    width = widths_of(a_bolt(inch(54), inch(53) + SIXTEENTH - 1), HALF, "in", matched=False, where="")
    assert width.full == inch(53)


def test_places_of_widths() -> None:
    # 14 and 54 joined: the places are 14 - 1 = 13 apart.
    widths = (Width(inch(14), "part"), Width(inch(54), "full"))
    assert places(widths, HALF, 1) == (-inch(13), 0)
    assert places(widths[::-1], HALF, 0) == (0, inch(53))


needs = st.integers(inch(1), inch(600))
fulls = st.integers(inch(20), inch(120)).map(lambda ticks: ticks // SIXTEENTH * SIXTEENTH)
seams = st.sampled_from([0, SIXTEENTH, HALF, inch(1)])
modes = st.sampled_from(["exact", "half", "whole"])
leasts = st.sampled_from([0, inch(3), inch(8)])


@given(needs, fulls, seams)
def test_the_count_is_enough_and_no_more(need: int, full: int, seam: int) -> None:
    count = count_widths(need, full, seam)
    assert joined(count, full, seam) >= need
    assert count == 1 or joined(count - 1, full, seam) < need


@given(needs, fulls, seams, modes, leasts, st.booleans())
def test_planned_widths_give_what_is_needed(
    need: int, full: int, seam: int, mode: str, least: int, centerd: bool
) -> None:
    need = -(-need // SIXTEENTH) * SIXTEENTH
    bolt = OneWidth(full, full, seam, SIXTEENTH)
    widths = (plan_centerd if centerd else plan_widths)(need, bolt, mode, least)  # type: ignore[arg-type]
    total = total_width(widths, seam)
    assert total >= need
    assert all(0 < width.cut <= full for width in widths)
    if mode == "exact" and not centerd:
        assert total == need
    if centerd:
        assert widths == widths[::-1]
        assert total - need <= 2 * SIXTEENTH or mode != "exact"
    for width in widths:
        if width.kind == "part":
            assert width.cut >= min(least, full // 4)


@given(needs, needs, fulls, seams)
def test_a_wider_panel_never_takes_fewer_widths(a: int, b: int, full: int, seam: int) -> None:
    assert count_widths(min(a, b), full, seam) <= count_widths(max(a, b), full, seam)


placed_widths = st.lists(st.tuples(st.integers(-20, 20), st.integers(1, 9)), min_size=1, max_size=4)


@given(placed_widths, st.integers(1, 9))
def test_the_room_in_phase_is_the_least_that_trying_every_place_finds(
    placed: list[tuple[int, int]], across: int
) -> None:
    def holds(room: int, phase: int) -> bool:
        return all(
            any((x - place - phase) % across == 0 for x in range(room - cut + 1)) for place, cut in placed
        )

    least = next(room for room in range(40) if any(holds(room, phase) for phase in range(across)))
    assert room_in_phase(placed, across) == least


def test_what_is_cut_off_the_leading_edge_goes_to_the_part_width() -> None:
    # 67 of 54s: 54 + 14; with 12 off the leading edge 42 + 26.
    widths = plan_widths(inch(67), PLAIN, "exact", inch(6), inch(12))
    assert cuts(widths) == [("leading", inch(42)), ("part", inch(26))]
    assert total_width(widths, HALF) == inch(67)
    # 100 of 54s is 54 + 47; 12 more at the outer edge do not fit into 54: a third width of 6.
    widths = plan_widths(inch(100), PLAIN, "exact", 0, inch(12))
    assert cuts(widths) == [("leading", inch(42)), ("full", inch(54)), ("part", inch(6))]
