"""Pairs whose pattern runs on, and slivers of prints: laid out, and measured on the fabric."""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from orders import a_bolt, a_fabric, a_job, a_window, cut_job, inch, panels

from nesting.check import Breach, check_plan_document
from nesting.files import plan_document, read_job_text
from nesting.order.job import Hem, Job, Window
from nesting.pieces.piece import Piece
from nesting.plan.plan import Laid, Plan
from nesting.planning.planner import Effort, plan
from nesting.repeat import Repeat
from tests.seeds import examples

SEAM = inch("1/2")
THIRD = Fraction(1, 3)

Spot = tuple[int, int]
"""Where a width lies across the fabric, and how wide it is cut."""


def an_order(repeat: Repeat, width: str, match: int, **said: Any) -> Job:
    bolt = a_bolt(inch(width), inch(width), inch(match), sold_by=inch(1))
    return a_job(a_window(**said), fabrics=(a_fabric(bolt, repeat=repeat),))


def place_of(piece: Piece) -> int:
    assert piece.match is not None
    return piece.match.x


def across(made: Plan) -> dict[str, list[Spot]]:
    """The widths of each panel as laid, from the left one to the right one."""
    laid = sorted((one for one in made.layouts[0].placements if one.piece.role == "panel"), key=place_of_laid)
    return {
        side: [(one.x, one.width) for one in laid if one.piece.side == side] for side in ("left", "right")
    }


def place_of_laid(laid: Laid) -> int:
    return place_of(laid.piece)


def tried_across(pieces: tuple[Piece, ...], repeat_width: int, room: int) -> dict[str, list[Spot]]:
    """Widths laid by the rule of the lattice in the first phase that puts one at the edge and fits all."""
    ordered = sorted(pieces, key=place_of)
    for phase in (-place_of(piece) for piece in ordered):
        spots = [((place_of(piece) + phase) % repeat_width, piece.width) for piece in ordered]
        if all(x + width <= room for x, width in spots):
            sides = [piece.side for piece in ordered]
            return {
                side: [spot for spot, own in zip(spots, sides, strict=True) if own == side]
                for side in ("left", "right")
            }
    raise AssertionError("no phase has room")


def assert_pattern_meets(laid: dict[str, list[Spot]], repeat_width: int) -> None:
    """At every seam line both sides show the same part of the pattern.

    Across the fabric the pattern is where x modulo the repeat width is; what lies at one height in it follows
    from the check of the document.
    """
    for widths in laid.values():
        for (x, width), (after, _) in pairwise(widths):
            assert (x + width - SEAM - (after + SEAM)) % repeat_width == 0


def gap_at_the_leading_edges(laid: dict[str, list[Spot]], repeat_width: int) -> int:
    """How far the pattern has moved from the left panel's leading cut edge to the right panel's."""
    (x, width), (after, _) = laid["left"][-1], laid["right"][0]
    return (x + width - after) % repeat_width


@examples(60)
@given(
    st.sampled_from([(27, 54), (18, 54), (54, 54), (13, 52)]),
    st.integers(inch(84), inch(200)).map(lambda ticks: ticks // 127 * 127),
    st.integers(0, 3),
    st.integers(0, 3),
    st.sampled_from([Fraction(0), Fraction(1, 2)]),
)
def test_joined_panels_run_on_where_the_bolt_is_no_wider_than_a_full_width(
    pattern: tuple[int, int], rod: int, turn: int, overlap: int, drop: Fraction
) -> None:
    wide, match = pattern
    said: dict[str, Any] = {"leading_hem": Hem(inch(turn), 2), "overlap": inch(overlap), "returns": 0}
    job = an_order(
        Repeat(inch(24), inch(wide), drop), str(match + 1), match, rod=rod, pair="continuous", **said
    )
    laid = tried_across(panels(cut_job(job)), inch(wide), inch(match + 1))
    assert_pattern_meets(laid, inch(wide))
    # Two leading hems of two turns, and the overlap, do not show.
    hidden = inch(2 * 2 * turn + overlap)
    assert gap_at_the_leading_edges(laid, inch(wide)) == hidden % inch(wide)


def least_trim(full: int, hidden: int, part: int, repeat: int, seam: int) -> int:
    """The least that the leading edges of a pair of two widths each must give, by trying every layout.

    All whole numbers; the bolt holds just a full width. Each panel is a leading width and a part, and any x
    of all four that meets at both seams and at the leading edges counts.
    """
    for trim in range(full):
        for share in range(trim + 1):
            leads, parts = (full - share, full - trim + share), (part + share, part + trim - share)
            spots = [range(full - cut + 1) for cut in (parts[0], leads[0], leads[1], parts[1])]
            if any(spot.stop < 1 for spot in spots):
                continue
            for outer_left in spots[0]:
                seam_left = outer_left + parts[0] - 2 * seam
                for lead_left in (x for x in spots[1] if (x - seam_left) % repeat == 0):
                    edge = lead_left + leads[0] - hidden
                    for lead_right in (x for x in spots[2] if (x - edge) % repeat == 0):
                        seam_right = lead_right + leads[1] - 2 * seam
                        if any((x - seam_right) % repeat == 0 for x in spots[3]):
                            return trim
    raise AssertionError("no trim at all will do")


@pytest.mark.parametrize(("wide", "turn"), [(9, 1), (9, 2), (6, 1), (18, 1)])
def test_no_less_need_be_trimmed_by_brute_force(wide: int, turn: int) -> None:
    # A full width of 18 + 2 x 1 = 20 fills the bolt; 30 in all is 20 + 12 - 2.
    hidden = 4 * turn
    bolt = a_bolt(inch(20), inch(20), inch(18), sold_by=inch(1))
    window: Window = a_window(
        rod=inch(60), flat_width=inch(30 - 4 * turn), seam=inch(1), pair="continuous", least_part_width=0,
        heading="clip-ring", leading_hem=Hem(inch(turn), 2), outer_hem=Hem(inch(turn), 2), returns=0,
        overlap=0,
    )  # fmt: skip
    fabric = a_fabric(bolt, repeat=Repeat(inch(12), inch(wide)))
    laid = tried_across(panels(cut_job(a_job(window, fabrics=(fabric,)))), inch(wide), inch(20))
    leads = (laid["left"][-1], laid["right"][0])
    trimmed = sum(inch(20) - width for _, width in leads)
    assert trimmed == inch(least_trim(20, hidden, 12, wide, 1))


@pytest.mark.parametrize("repeat", [Repeat(inch(25)), Repeat(inch(25), inch(54)), Repeat(inch(25), inch(27))])
@pytest.mark.parametrize("pair", ["alike", "continuous"])
def test_a_sliver_of_a_print_is_widened_where_the_pattern_still_meets(repeat: Repeat, pair: str) -> None:
    # 72 x 1.5 + 4 = 112 = 55 + 55 + 4 - 2: a part of 4, which would show less than 6.
    made = plan(an_order(repeat, "56", 54, rod=inch(144), pair=pair), effort=Effort(work=0.02, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    laid = across(made)
    assert_pattern_meets(laid, repeat.width or inch(54))
    for widths in laid.values():
        assert min(width for _, width in widths) >= inch("8 1/2")
        assert sum(width - inch(1) for _, width in widths) + inch(1) == inch(112)
    if pair == "continuous":
        assert gap_at_the_leading_edges(laid, repeat.width or inch(54)) == inch(4)


def continuous(repeat: Repeat, bolt: str = "56", match: int = 54, **said: Any) -> Job:
    """Side hems of 1 turned twice and seams of 1/2, by default."""
    base: dict[str, Any] = {"pair": "continuous", "flat_width": inch(81)}
    fabric = a_fabric(a_bolt(inch(bolt), inch(match + 1), inch(match), sold_by=inch(1)), repeat=repeat)
    return a_job(a_window(**{**base, **said}), fabrics=(fabric,))


@pytest.mark.parametrize(
    "repeat", [Repeat(inch(25)), Repeat(inch(25), inch(54)), Repeat(inch(24), inch(54), THIRD)]
)
def test_a_continuous_pair_has_no_strip_that_shows_nothing(repeat: Repeat) -> None:
    # 81 finished, hems 4: each panel is cut 85 of widths of 55. Two hems of 2 do not show: where the left
    # one's leading width ends at c across the bolt, the right one's begins at c - 4 and is 59 - c wide. Two
    # widths each: left c + 55 - 1 >= 85 asks for c >= 31, right 59 - c >= 31 for c <= 28: not both. Left two,
    # right three: 85 = (59 - c) + 55 + (c - 27) - 2. The strip must show 6 besides seam 1/2 and hem 2:
    # c - 27 >= 8 1/2, so c >= 35 1/2; the least whole inch is 36: leads of 36 and 23, 9 for the strip.
    made = plan(continuous(repeat), effort=Effort(work=0.02, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    assert [(panel.key, panel.cuts) for panel in made.panels] == [
        ("left", (inch(50), inch(36))),
        ("right", (inch(23), inch(55), inch(9))),
    ]
    laid = across(made)
    assert_pattern_meets(laid, inch(54))
    assert (laid["left"][-1], laid["right"][0]) == ((0, inch(36)), (inch(32), inch(23)))
    assert gap_at_the_leading_edges(laid, inch(54)) == inch(4)
    assert [panel.flat for panel in made.panels] == [inch(81), inch(81)]


@examples(60)
@given(
    st.sampled_from([(27, 54), (18, 54), (54, 54), (16, 48), (48, 48)]),
    st.integers(inch(60), inch(170)).map(lambda ticks: ticks // 127 * 127),
    st.integers(0, 2),
    st.integers(0, 3),
)
def test_no_part_width_of_a_continuous_pair_is_narrower_than_asked(
    pattern: tuple[int, int], flat: int, turn: int, overlap: int
) -> None:
    wide, match = pattern
    hems = {"leading_hem": Hem(inch(turn), 2), "outer_hem": Hem(inch(turn), 2)}
    job = continuous(
        Repeat(inch(24), inch(wide)), "60", match, flat_width=flat, overlap=inch(overlap), **hems
    )
    cutting = cut_job(job)
    tried_across(panels(cutting), inch(wide), inch(match + 1))
    for panel in cutting.panels:
        if len(panel.cuts) > 1:
            assert min(panel.cuts[0], panel.cuts[-1]) - SEAM - inch(2 * turn) >= inch(6)


def test_both_panels_of_a_pair_are_trimmed_at_the_seam_where_the_lattice_allows() -> None:
    # Match 48, full widths of 49. 45 + 4 + 1 = 50 is a part of 2, cut 8 1/2, and a width of 42 1/2 beside it.
    # In steps of 16 the part finds its place anywhere; in steps of 48 only the leading edge can give way.
    for wide, seam, kind in ((16, "east-window", "trimmed"), (48, "east-window/left", "leading")):
        repeat = Repeat(inch(24), inch(wide), THIRD)
        made = plan(
            continuous(repeat, "50", 48, pair="alike", flat_width=inch(46)),
            effort=Effort(work=0.5, workers=1),
        )
        laid = across(made)
        assert_pattern_meets(laid, inch(wide))
        leads = laid["left"][-1], laid["right"][0]
        assert [width for _, width in leads] == [inch("42 1/2")] * 2
        assert {piece.match.seam for piece in made.pieces if piece.side == "left" and piece.match} == {seam}
        # Trimmed at the seam, the leading cut edges are those of full widths: 49 of the left panel, else 0.
        edges = leads[0][0] + leads[0][1], leads[1][0]
        assert edges == ((inch(49), 0) if kind == "trimmed" else (inch("42 1/2"), inch("6 1/2")))
        notes = " ".join(note for piece in made.pieces for note in piece.notes)
        assert ("trimmed on the seam side" in notes, "trimmed at the leading edge" in notes) == (
            kind == "trimmed", kind == "leading",
        )  # fmt: skip


def spoiled(job: Job, change: Callable[[dict[str, Any]], object]) -> set[Breach]:
    document = plan_document(plan(job, effort=Effort(work=0.0, workers=1)))
    assert check_plan_document(document) == ()
    change(document)
    # What its panels are sewn to is another check: see test_sewing_check.
    return {broken.kind for broken in check_plan_document(document)} - {Breach.SEWING, Breach.SUM}


def test_the_check_measures_where_a_continuous_pair_meets() -> None:
    def move(document: dict[str, Any]) -> None:
        for piece in document["pieces"]:
            if piece["role"] == "panel" and piece["side"] == "right":
                piece["match"]["x"] += 54.0

    # A whole repeat on, every seam still meets on the fabric; the panels do not run on by what hides.
    job = continuous(Repeat(inch(25), inch(27)))
    assert spoiled(job, move) == {Breach.PANEL}
    assert spoiled(job, lambda document: document["panels"][0].update(right_hem=3.0)) == {Breach.PANEL}


def test_the_check_finds_a_seam_in_a_side_hem_and_a_sliver() -> None:
    # 45 + 4 = 49 of a bolt of 30, all usable: 30 + 20 - 1. What is a part of 20 shows 17 1/2.
    bolt = a_bolt(inch(30), sold_by=inch(1))
    job = a_job(a_window(flat_width=inch(45)), fabrics=(a_fabric(bolt),))
    assert spoiled(job, lambda document: document["panels"][0].update(left_hem=20.0)) == {Breach.PANEL}

    def ask(document: dict[str, Any]) -> None:
        document["order"]["windows"][0]["least_part_width"] = inch(12)

    # 12 + 2 1/2 = 14 1/2: a part of 14 1/2 at least, and 30 is more than twice that. 17 1/2 shows enough.
    assert spoiled(job, ask) == set()

    # The strip of 20 said to be cut 6 narrower, its neighbor 6 wider, shows 11 1/2.
    def narrower(document: dict[str, Any]) -> None:
        ask(document)
        document["panels"][0]["cuts"] = [14.0, 36.0]

    assert Breach.PANEL in spoiled(job, narrower)


def test_joined_widths_that_are_all_trimmed_keep_the_room_of_a_full_one() -> None:
    # An 84 in bolt, 83 1/2 fit to cut, match 82 7/8: a full width is cut 83 7/8, its seams in the selvages.
    # Each panel is one width of 81 5/8, trimmed at the seam, and a strip of 8 1/2: none is 83 7/8 wide, yet$
    # left and right panel, alike, take that much across. Such a job was refused.
    job = read_job_text(
        """
        units = "in"
        [fabric.face]
        repeat = { length = 5, width = "13 13/16" }
        [[fabric.face.bolt]]
        width = 84
        usable = 83.5
        match = "82 7/8"
        [[window]]
        rod = 113.5
        rod_diameter = 1
        finished_length = 84
        heading = "back-tab"
        fabric = "face"
        """
    )
    made = plan(job, effort=Effort(work=0.2, workers=1))
    assert check_plan_document(plan_document(made)) == ()
    panels = {laid.piece.width for laid in made.layouts[0].placements if laid.piece.role == "panel"}
    assert panels == {inch("81 5/8"), inch("8 1/2")}
    assert made.layouts[0].usable == inch("83 7/8")
