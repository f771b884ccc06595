"""Plans of small jobs, worked out by hand in inches beside each check; all data is invented."""

from __future__ import annotations

from collections import Counter
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from orders import a_bolt, a_fabric, a_job, a_window, bare_window, cm, inch

from nesting.check import check_plan_document
from nesting.errors import CheckError, DoesNotFitError, JobError, NestingError, NothingFoundError
from nesting.files import plan_document
from nesting.order.job import Bolt, Extra, Fabric, FacingOrder, Job, LengthOnHand, Remark, Shrinkage, Window
from nesting.packing import Incumbent, Problem, Result, Status, Stop, pack
from nesting.plan.comparison import Option
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.planning import effort as search
from nesting.planning.planner import Effort, compare, plan, require_possible
from nesting.repeat import Repeat
from nesting.units import YARD

EIGHTH = YARD // 8  # 4 1/2 in


def bolt(width: int, usable: int | None = None, match: int | None = None, **more: Any) -> Bolt:
    return a_bolt(width, usable, match, **{"sold_by": EIGHTH, **more})


def effort(work: float = 2.0, **more: Any) -> Effort:
    """A budget without a clock, so that every run is the same."""
    return Effort(work=work, workers=1, **more)


def planned(job: Job, work: float = 2.0, **more: Any) -> Plan:
    """The plan, which must pass the independent check as a document too."""
    made = plan(job, effort=effort(work, **more))
    assert check_plan_document(plan_document(made)) == ()
    return made


def layout_of(made: Plan, key: str = "face") -> FabricLayout:
    return next(layout for layout in made.layouts if layout.fabric.key == key)


def laid_of(layout: FabricLayout, role: str) -> list[Laid]:
    return [laid for laid in layout.placements if laid.piece.role == role]


def two_panels(fabric: Fabric, **said: Any) -> Job:
    """A pair of bare panels 30 wide (rod 40, half of it 20, times 1 1/2) and 60 long."""
    window = bare_window(**{"rod": inch(40), "fullness": Fraction(3, 2), "finished_length": inch(60), **said})
    return a_job(window, fabrics=(fabric,))


def allowances(layout: FabricLayout) -> list[tuple[str, int]]:
    assert layout.buy is not None
    return [(allowance.name, allowance.length) for allowance in layout.buy.allowances]


# What is bought


def test_plain_fabric_is_bought_with_squaring_up_to_the_selling_step() -> None:
    # 30 + 30 lie side by side on 64: layout 60, and 2 for squaring = 62. 62 / 4 1/2 = 13.8, so 14 steps
    # = 63 in = 1 3/4 yd; 1.75 x 38.57 = 67.4975, to the cent 67.50.
    made = planned(two_panels(a_fabric(bolt(inch(64), price=Decimal("38.57")))))
    layout = layout_of(made)
    assert layout.buy is not None
    assert layout.length == layout.bound.length == inch(60)
    assert layout.status is Status.OPTIMAL
    assert layout.stop is Stop.PROVED
    assert allowances(layout) == [("squaring the end", inch(2))]
    assert layout.buy.needed == inch(62)
    assert layout.buy.total == inch(63)
    assert layout.buy.quantity == Fraction(7, 4)
    assert layout.buy.cost == made.cost == Decimal("67.50")


def test_a_layout_of_whole_steps_buys_no_further_step() -> None:
    # 60 + 3 = 63 = 14 steps exactly; one sixteenth more is 15 steps = 67 1/2.
    for squaring, total in ((inch(3), inch(63)), (inch("3 1/16"), inch("67 1/2"))):
        job = replace(two_panels(a_fabric(bolt(inch(64)))), squaring=squaring)
        buy = layout_of(planned(job)).buy
        assert buy is not None
        assert buy.total == total


def test_no_squaring_is_no_line_of_the_sum() -> None:
    layout = layout_of(planned(replace(two_panels(a_fabric(bolt(inch(64)))), squaring=0)))
    assert allowances(layout) == []
    assert layout.buy is not None
    assert layout.buy.needed == layout.length


def test_a_print_that_may_start_anywhere_is_bought_with_one_repeat_more() -> None:
    # 60 + 2 squaring + 25 = 87; / 4 1/2 = 19.3, so 20 steps = 90 in.
    layout = layout_of(planned(two_panels(a_fabric(bolt(inch(64), None, inch(64)), repeat=Repeat(inch(25))))))
    assert layout.length == inch(60)
    assert allowances(layout) == [
        ("squaring the end", inch(2)),
        ("unknown start of the print, one repeat", inch(25)),
    ]
    assert layout.buy is not None
    assert layout.buy.total == inch(90)


def test_a_print_of_known_start_is_bought_without_the_repeat() -> None:
    # The pattern stands 10 above its level line at the squared end, so level comes at 15: 15 + 60 = 75.
    # 75 + 2 = 77; / 4 1/2 = 17.1, so 18 steps = 81 in. Known to start at level: 60 + 2.
    for start, length, total in ((inch(10), inch(75), inch(81)), (0, inch(60), inch(63))):
        fabric = a_fabric(bolt(inch(64), None, inch(64)), repeat=Repeat(inch(25)), start=start)
        layout = layout_of(planned(two_panels(fabric)))
        assert layout.length == length
        assert allowances(layout) == [("squaring the end", inch(2))]
        assert layout.buy is not None
        assert layout.buy.total == total


def test_what_washing_before_cutting_takes_is_bought_on_top() -> None:
    # 62 in = 125 984 ticks is left of 125 984 / 0.96 = 131 233.3: 5 250 ticks more. The bolt of 64 is then
    # 64 x 0.95 = 60.8 wide, which still holds 30 + 30. 131 234 / 9 144 = 14.4, so 15 steps.
    shrinkage = Shrinkage(Fraction(4), Fraction(5), "before")
    layout = layout_of(planned(two_panels(a_fabric(bolt(inch(64)), shrinkage=shrinkage))))
    assert layout.length == inch(60)
    assert layout.usable <= inch(64) * 95 // 100
    assert allowances(layout)[-1] == ("shrinks when washed before cutting", 5250)
    assert layout.buy is not None
    assert layout.buy.total == 15 * EIGHTH


def test_washing_after_cutting_lengthens_the_cuts_and_buys_nothing_on_top() -> None:
    # 60 / 0.96 = 62 1/2.
    fabric = a_fabric(bolt(inch(64)), nap="one-way", shrinkage=Shrinkage(Fraction(4), Fraction(0), "after"))
    layout = layout_of(planned(two_panels(fabric)))
    assert layout.length == inch("62 1/2")
    assert allowances(layout) == [("squaring the end", inch(2))]


def test_metric_jobs_are_bought_in_meters() -> None:
    # Panels 75 wide (rod 100, half 50, times 1 1/2): 150 beside each other, 200 long. Metric squaring 5:
    # 205 cm, sold by 0.1 m: 2.1 m at 7.77 = 16.317, to the cent 16.32.
    window = bare_window(rod=cm(100), fullness=Fraction(3, 2), finished_length=cm(200))
    fabric = a_fabric(bolt(cm(150), sold_by=cm(10), price=Decimal("7.77")))
    layout = layout_of(planned(a_job(window, fabrics=(fabric,), units="cm")))
    assert layout.length == cm(200)
    assert layout.buy is not None
    assert (layout.buy.unit, layout.buy.quantity, layout.buy.cost) == (
        "m",
        Fraction(21, 10),
        Decimal("16.32"),
    )


def test_the_cost_is_unknown_where_one_price_is() -> None:
    face, lining = a_fabric(bolt(inch(64), price=Decimal(10))), a_fabric(bolt(inch(64)), key="lining")
    extras = (Extra("Bag", "lining", inch(20), inch(20)),)
    assert planned(replace(two_panels(face), fabrics=(face, lining), extras=extras)).cost is None


def test_the_rule_of_thumb_stands_beside_the_plan() -> None:
    # The rule: 2 whole widths x 60 up to the repeat 75 = 150 (common practice, no source).
    layout = layout_of(planned(two_panels(a_fabric(bolt(inch(64), None, inch(64)), repeat=Repeat(inch(25))))))
    assert layout.rule_of_thumb is not None
    assert layout.rule_of_thumb.length == inch(150)
    assert any("75" in line for line in layout.rule_of_thumb.lines)


# Prints


def test_without_a_repeat_width_the_match_stands_for_it() -> None:
    # Each panel 75 = 54 + 21. The strips lie 0-21 and 33-54, selvage to selvage, in one width. Cuts of 60 at
    # 0, 75, 150 with repeat 25: 210. The rule of thumb: 4 x 75 = 300.
    fabric = a_fabric(bolt(inch(54), None, inch(54)), repeat=Repeat(inch(25)))
    layout = layout_of(planned(two_panels(fabric, rod=inch(100))))
    assert layout.fabric.repeat == Repeat(inch(25), inch(54))
    assert layout.length == layout.bound.length == inch(210)
    strips = sorted((laid.x, laid.width) for laid in layout.placements if laid.width < inch(54))
    assert strips == [(0, inch(21)), (inch(33), inch(21))]
    assert layout.rule_of_thumb is not None
    assert layout.rule_of_thumb.length == inch(300)


def test_full_widths_reach_into_the_selvage_and_nothing_else_does() -> None:
    # Match 55 and seams 1/2 make full widths of 56 on a bolt of 56. Flat 75 and hems 4 are 79 = 56 + 24 less
    # a seam of 1. Cuts of 104 (95 1/2 + 1/2 + 8) at 0, 125, 250 with repeat 25, the two strips side by side:
    # 354; facings and tabs go into the gaps.
    fabric = a_fabric(
        bolt(inch(56), inch(55), inch(55)), repeat=Repeat(inch(25), inch("27 1/2"), Fraction(1, 2))
    )
    made = planned(a_job(a_window(rod=inch(100)), fabrics=(fabric,)), work=5.0)
    layout = layout_of(made)
    assert layout.usable == inch(56)
    assert layout.length == inch(354)
    panels = laid_of(layout, "panel")
    assert Counter(laid.width for laid in panels) == {inch(56): 2, inch(24): 2}
    others = [laid for laid in layout.placements if laid not in panels]
    assert len(others) > 10
    assert all(inch("1/2") <= laid.x and laid.x + laid.width <= inch("55 1/2") for laid in others)
    assert any("reach into the selvage" in advice.text for advice in made.advice)


def full_widths_only(extra: Extra) -> Job:
    """One panel of two full widths of 56 x 104 (111 with a seam of 1): with repeat 25 at 0 and 125."""
    fabric = a_fabric(bolt(inch(56), inch(55), inch(55)), nap="one-way", repeat=Repeat(inch(25)))
    window = bare_window(
        rod=inch(111), draw="left", fullness=Fraction(1), finished_length=inch(104), seam=inch("1/2")
    )
    return a_job(window, fabrics=(fabric,), extras=(extra,))


@pytest.mark.parametrize(("width", "laid"), [("55", 1), ("55 1/16", 0)])
def test_optional_extras_keep_off_the_selvage_too(width: str, laid: int) -> None:
    # Between the cuts are 21 free rows of 56, of which 55 are fit to cut.
    made = planned(full_widths_only(Extra("Runner", "face", inch(width), inch(12), optional=True)))
    assert layout_of(made).length == inch(229)
    assert [one.x for one in laid_of(layout_of(made), "extra")] == [inch("1/2")] * laid
    assert sum(out.copies for out in made.left_out) == 1 - laid


def test_that_the_selvage_is_not_free_is_known_to_layout_and_bound() -> None:
    # Two trays of 28 x 12 would fill a row of 56 between the cuts; 55 hold one, so the other follows at 229:
    # 241, and nothing shorter keeps off the selvage.
    layout = layout_of(planned(full_widths_only(Extra("Tray", "face", inch(28), inch(12), count=2))))
    assert layout.length == inch(241)
    assert layout.bound.length == inch(241)
    assert (layout.status, layout.stop) == (Status.OPTIMAL, Stop.PROVED)
    for tray in laid_of(layout, "extra"):
        assert tray.x >= inch("1/2")
        assert tray.x + tray.width <= inch("55 1/2")


def test_a_pair_on_which_no_phase_has_room_is_refused_with_a_remedy() -> None:
    # Two single widths of 49: the second lies 49 - 4 = 45 = 18 on in the pattern, which is 9 back and so
    # takes 49 + 9 = 58 across.
    fabric = a_fabric(bolt(inch(56), inch(55), inch(54)), repeat=Repeat(inch(25), inch(27)))
    job = a_job(a_window(rod=inch(60), pair="continuous", flat_width=inch(45)), fabrics=(fabric,))
    for act in (require_possible, lambda job: plan(job, effort=effort())):
        with pytest.raises(DoesNotFitError) as refused:
            act(job)
        assert str(refused.value) == (
            'fabric "face": no layout on a bolt of 56 in meets in the pattern\n'
            '  - window "East window": pair = "continuous": hems and overlap shift the pattern from panel '
            'to panel by more than this bolt has room for: take pair = "alike", or a bolt with 58 in to cut '
            "from"
        )
    wider = replace(job, fabrics=(replace(fabric, bolts=(bolt(inch(60), inch(58), inch(54)),)),))
    assert layout_of(planned(wider)).length is not None


def test_a_match_that_is_no_whole_repeat_is_refused_with_a_remedy() -> None:
    # From width to width the pattern moves on by 54 - 2 x 20 = 14.
    fabric = a_fabric(bolt(inch(56), inch(55), inch(54)), repeat=Repeat(inch(25), inch(20)))
    with pytest.raises(DoesNotFitError, match=r'"East window": its widths would take .*: measure match and'):
        plan(a_job(a_window(rod=inch(150)), fabrics=(fabric,)), effort=effort())


# Nap


def velvet(**more: Any) -> Fabric:
    return a_fabric(bolt(inch(54), inch(53)), nap="one-way", **more)


def back_tabs(fabric: Fabric) -> Job:
    """Two panels 47 x 104 (flat 43 + hems 4; 95 1/2 + 1/2 + 8), two facings 44 x 4 1/2, tabs 5 x 3 3/4."""
    return a_job(
        a_window(flat_width=inch(43)), fabrics=(fabric, a_fabric(bolt(inch(54), inch(53)), key="lining"))
    )


def test_a_one_way_nap_keeps_every_piece_upright() -> None:
    # The tabs go into the 6 in beside the panels; the facings, upright, need 2 x 4 1/2: 208 + 9 = 217.
    layout = layout_of(planned(back_tabs(velvet()), work=5.0))
    assert {(laid.turn, laid.arrow) for laid in layout.placements} == {(0, "up")}
    assert layout.length == layout.bound.length == inch(217)


def test_hidden_pieces_released_from_the_nap_go_beside_the_panels() -> None:
    # Turned, the facings are 4 1/2 x 44 and fit beside the panels with the tabs: 2 x 104 = 208.
    layout = layout_of(planned(back_tabs(velvet(hidden_nap="free")), work=5.0))
    assert layout.length == layout.bound.length == inch(208)
    assert {laid.turn for laid in laid_of(layout, "facing")} == {90}
    assert {laid.turn for laid in laid_of(layout, "panel")} == {0}


def test_a_facing_of_lining_fabric_is_laid_on_the_lining() -> None:
    job = back_tabs(velvet())
    window = replace(job.windows[0], facing=FacingOrder(fabric="lining"))
    made = planned(replace(job, windows=(window,)), work=5.0)
    assert laid_of(layout_of(made), "facing") == []
    assert len(laid_of(layout_of(made, "lining"), "facing")) == 2
    assert layout_of(made).length == inch(208)
    assert layout_of(made, "lining").length == inch(9)


def test_a_lining_is_planned_and_bought_as_a_fabric_of_its_own() -> None:
    # Flat 63 (rod 84, half 42, times 1 1/2) and hems 4: the face is cut 67. Tucked under two double hems of 1
    # the lining is 4 narrower, 63, and for 90 finished below a facing of 4 it is cut 90 - 4 + 1/2 - 1 + 4 =
    # 89 1/2 (common practice, no source). Two beside each other on 126: 89 1/2 + 2 = 91 1/2, up to 94 1/2.
    face, lining = (
        a_fabric(bolt(inch(140), price=Decimal(20))),
        a_fabric(bolt(inch(126), price=Decimal(8)), key="lining"),
    )
    window = a_window(finished_length=inch(90), lining="lining")
    made = planned(a_job(window, fabrics=(face, lining)), work=0.0)
    layout = layout_of(made, "lining")
    assert {(laid.piece.role, laid.width, laid.length) for laid in layout.placements} == {
        ("lining", inch(63), inch("89 1/2"))
    }
    assert layout.length == inch("89 1/2")
    assert layout.buy is not None
    assert layout.buy.total == inch("94 1/2")
    # 94 1/2 in = 2 5/8 yd at 8 = 21.
    assert layout.buy.cost == Decimal(21)
    face_cost = layout_of(made).buy.cost  # type: ignore[union-attr]
    assert face_cost is not None
    assert made.cost == face_cost + 21


def test_a_fabric_that_nothing_is_cut_from_is_told_and_not_bought() -> None:
    made = planned(back_tabs(velvet()), work=5.0)
    assert [layout.fabric.key for layout in made.layouts] == ["face"]
    assert [advice.fabric for advice in made.advice if "is not used" in advice.text] == ["lining"]


# Sideways


def sheer(fullness: Fraction, **said: Any) -> Window:
    """A pair on a rod of 126, 97 long, which fits across a bolt of 118."""
    return bare_window(rod=inch(126), fullness=fullness, finished_length=inch(97), **said)


def sheer_job(*windows: Window) -> Job:
    return a_job(*windows, fabrics=(a_fabric(bolt(inch(118))),))


FULL, LIGHT = Fraction(5, 2), Fraction(2)


@pytest.mark.parametrize(
    ("fullness", "railroad", "length", "turn"),
    [
        # Each panel 157 1/2. Upright 118 + 39 1/2, the strips side by side: 3 x 97 = 291. In one run: 315.
        (FULL, "auto", 291, 0),
        (FULL, "yes", 315, 90),
        # Each panel 126. Upright 118 + 8: still 3 x 97 = 291. In one run: 2 x 126 = 252.
        (LIGHT, "auto", 252, 90),
        (LIGHT, "no", 291, 0),
    ],
)
def test_the_shorter_of_upright_and_sideways_is_laid_unless_ordered(
    fullness: Fraction, railroad: str, length: int, turn: int
) -> None:
    layout = layout_of(planned(sheer_job(sheer(fullness, railroad=railroad))))
    assert layout.length == layout.bound.length == inch(length)
    assert {laid.turn for laid in layout.placements} == {turn}
    assert layout.railroaded is (turn == 90)


def test_rooms_are_turned_one_by_one() -> None:
    # Parlour in one run: 252 long, leaving 21 across, into which the landing's two panels of 10 1/2 x 130
    # (rod 14, half 7, times 1 1/2) fit upright; they are too long to be turned.
    landing = bare_window(name="Landing", room="Landing", rod=inch(14), fullness=Fraction(3, 2),
                          finished_length=inch(130))  # fmt: skip
    made = planned(sheer_job(sheer(LIGHT, room="Parlour"), landing), work=5.0)
    layout = layout_of(made)
    turns = {(laid.piece.room, laid.turn) for laid in layout.placements}
    assert turns == {("Parlour", 90), ("Landing", 0)}
    assert layout.length == layout.bound.length == inch(252)


def test_length_and_bound_hold_over_both_ways(monkeypatch: pytest.MonkeyPatch) -> None:
    results: list[Result] = []

    def spy(problem: Problem, **said: Any) -> Result:
        results.append(pack(problem, **said))
        return results[-1]

    monkeypatch.setattr(search, "pack", spy)
    layout = layout_of(plan(sheer_job(sheer(LIGHT)), effort=effort(0.0)))
    assert len(results) == 2
    assert layout.length == min(result.length or 0 for result in results)
    assert layout.bound.length == min(result.bound.length for result in results)


def test_panels_no_wider_than_the_bolt_are_told_to_lie_sideways_where_they_do() -> None:
    # One panel of 50 x 100 on 118: upright it takes 100, turned 50, without a seam either way. More fullness
    # is free of cost only where it stands upright.
    window = bare_window(rod=inch(50), draw="left", fullness=Fraction(1), finished_length=inch(100))
    made = planned(sheer_job(window))
    layout = layout_of(made)
    assert layout.length == inch(50)
    assert layout.railroaded
    assert not any("the same widths" in advice.text for advice in made.advice)
    (option,) = compare(sheer_job(window), effort=effort()).options
    assert option.railroad == "sideways, no seams either way"


# Optional extras and what cannot be


def test_extras_go_only_into_what_is_bought_anyway() -> None:
    # Panels 30 + 30 x 60 leave 4 x 60 of 64: six pockets of 4 x 10. The seventh would end 10 further.
    fabric = a_fabric(bolt(inch(64)), nap="one-way")
    extra = Extra("Pocket", "face", inch(4), inch(10), count=7, optional=True)
    made = planned(replace(two_panels(fabric), extras=(extra,)))
    assert layout_of(made).length == inch(60)
    assert len(laid_of(layout_of(made), "extra")) == 6
    assert [(out.copies, out.shortfall) for out in made.left_out] == [(1, inch(10))]


def test_extras_of_a_fabric_that_is_not_bought_are_refused() -> None:
    """The engine once refused a strip of no length, in words of its own."""
    fabrics = (a_fabric(bolt(inch(64)), nap="one-way"), a_fabric(bolt(inch(54)), key="lining"))
    extra = Extra("Pocket", "lining", inch(4), inch(10), optional=True)
    job = replace(two_panels(fabrics[0]), fabrics=fabrics, extras=(extra,))
    for act in (require_possible, lambda job: plan(job, effort=effort())):
        with pytest.raises(JobError, match='extra "Pocket": optional = true: expected optional = false, or'):
            act(job)


def test_what_no_bolt_can_hold_is_refused_with_its_size() -> None:
    fabric = a_fabric(bolt(inch(64)), nap="one-way")
    job = replace(two_panels(fabric), extras=(Extra("Sail", "face", inch(70), inch(20)),))
    for act in (require_possible, lambda job: plan(job, effort=effort())):
        with pytest.raises(DoesNotFitError, match="Sail: cut 70 in wide x 20 in long"):
            act(job)


def test_a_comparison_leaves_fabric_on_hand_aside() -> None:
    """What is compared are purchases: the same with and without a length on hand."""
    without = two_panels(a_fabric(bolt(inch(64))))
    job = two_panels(a_fabric(bolt(inch(64), on_hand=(LengthOnHand(inch(100)),))))
    lengths = [compare(one, effort=effort(1.0)).options[0].layout for one in (job, without)]
    assert lengths[0] is not None
    assert lengths[1] is not None
    assert lengths[0].length == lengths[1].length


# Search


def hard_job() -> Job:
    """Enough odd pieces that no search closes it in a moment."""
    extras = [
        Extra(f"Piece {n}", "face", inch(7 + n * 5 % 17), inch(9 + n * 7 % 19), count=1 + n % 3)
        for n in range(14)
    ]
    return a_job(fabrics=(a_fabric(bolt(inch(54))),), extras=tuple(extras))


def test_the_same_seed_gives_the_same_plan() -> None:
    one, two = (planned(hard_job(), work=0.1, seed=4) for _ in range(2))
    assert layout_of(one).placements == layout_of(two).placements
    assert layout_of(one).bound == layout_of(two).bound


@pytest.mark.parametrize("from_call", [1, 3, 10])
def test_an_end_that_is_asked_for_still_gives_a_checked_plan(from_call: int) -> None:
    told: list[tuple[str, Incumbent]] = []

    def listener(fabric: str, now: Incumbent) -> bool:
        told.append((fabric, now))
        return len(told) < from_call

    layout = layout_of(planned(hard_job(), work=60.0, listener=listener))
    assert layout.stop is Stop.INTERRUPTED
    assert layout.length is not None
    assert layout.bound.length <= layout.length
    assert {fabric for fabric, _ in told} == {"face"}


def test_after_an_interrupt_the_other_fabrics_still_get_their_first_layout() -> None:
    job = hard_job()
    other = a_fabric(bolt(inch(54)), key="other")
    extras = job.extras + tuple(replace(extra, fabric="other") for extra in job.extras)
    made = planned(
        replace(job, fabrics=(*job.fabrics, other), extras=extras), work=60.0, listener=lambda *_: False
    )
    assert [layout.fabric.key for layout in made.layouts] == ["face", "other"]


@pytest.mark.parametrize("spoil", ["overlap", "missing", "outside", "length"])
def test_a_spoiled_layout_is_never_handed_on(spoil: str, monkeypatch: pytest.MonkeyPatch) -> None:
    def spoiled(problem: Problem, **said: Any) -> Result:
        result = pack(problem, **said)
        first, *rest = result.placements
        if spoil == "overlap":
            return replace(result, placements=(first, replace(rest[0], x=first.x + 1, y=first.y), *rest[1:]))
        if spoil == "outside":
            return replace(result, placements=(replace(first, x=-1), *rest))
        if spoil == "missing":
            return replace(result, placements=tuple(rest))
        return replace(result, length=(result.length or 0) - 1)

    monkeypatch.setattr(search, "pack", spoiled)
    with pytest.raises(CheckError, match="failed its check"):
        plan(two_panels(a_fabric(bolt(inch(64)))), effort=effort())


def test_no_layout_in_the_time_is_told(monkeypatch: pytest.MonkeyPatch) -> None:
    def nothing(problem: Problem, **said: Any) -> Result:
        return replace(pack(problem, **said), length=None, placements=(), stop=Stop.TIME_LIMIT)

    monkeypatch.setattr(search, "pack", nothing)
    with pytest.raises(NothingFoundError, match="give it more"):
        plan(two_panels(a_fabric(bolt(inch(64)))), effort=effort())


def test_only_remarks_on_the_bolts_cut_from_are_told() -> None:
    remarks = (
        Remark("of the job"),
        Remark("of the fabric", "face"),
        Remark("of the first bolt", "face", 1),
        Remark("of the second bolt", "face", 2),
        Remark("of a fabric nothing is cut from", "lining"),
    )
    spare = a_fabric(bolt(inch(54)), key="lining")
    job = on_offer()
    job = replace(job, fabrics=(*job.fabrics, spare), remarks=remarks)

    def told(**more: Any) -> list[tuple[str, str | None]]:
        advice = plan(job, effort=effort(), **more).advice
        return [(one.text, one.fabric) for one in advice if one.kind == "warning" and one.text[:3] == "of "]

    # All of them are about all the fabric there is, so they stand as they were read.
    always = [("of the job", None), ("of the fabric", "face")]
    assert told() == [*always, ("of the first bolt", "face")]
    second = {"face": job.fabrics[0].bolts[1]}
    assert told(bolts=second) == [*always, ("of the second bolt", "face")]


# Comparing widths


def on_offer(nap: Any = "one-way") -> Job:
    """Each panel is 75 wide (rod 100, half 50, times 1 1/2) and 60 long, without seams or hems."""
    fabric = Fabric("face", (bolt(inch(54), price=Decimal(10)), bolt(inch(36), price=Decimal(7))), nap=nap)
    return two_panels(fabric, rod=inch(100))


def test_every_bolt_on_offer_and_every_width_asked_for_is_tried() -> None:
    options = compare(on_offer(), widths=(inch(80), inch(54)), effort=effort()).options
    assert [(option.bolt.width, option.offered) for option in options] == [
        (inch(54), True),
        (inch(36), True),
        (inch(80), False),
    ]

    def facts(option: Option) -> tuple[object, ...]:
        assert option.layout is not None
        assert option.layout.buy is not None
        return option.layout.length, dict(option.widths_per_panel), option.seams, option.layout.buy.cost

    # 54: 54 + 21 each, the strips side by side: 3 x 60 = 180; + 2 = 182, up to 184 1/2 = 5 1/8 yd: 51.25.
    # 36: 36 + 36 + 3 each: 4 x 60, and the strips: 300; + 2 = 302, up to 306 = 8 1/2 yd: 59.50.
    # 80: 1/2 selvage off each side leaves 79, so one width of 75 each: 120; no price is known.
    assert [facts(option) for option in options] == [
        (inch(180), {"East window": 2}, 2, Decimal("51.25")),
        (inch(300), {"East window": 3}, 4, Decimal("59.50")),
        (inch(120), {"East window": 1}, 0, None),
    ]


def test_the_least_fabric_is_the_least_area_bought() -> None:
    # 54 x 184 1/2 = 9 963; 36 x 306 = 11 016; 80 x 126 (122 up to 28 steps) = 10 080.
    made = compare(on_offer(), widths=(inch(80),), effort=effort())
    best = [option.bolt.width for option in made.options if "least fabric" in made.honors(option)]
    assert best == [inch(54)]


def test_a_width_that_cannot_hold_the_job_says_why() -> None:
    job = on_offer()
    job = replace(job, extras=(Extra("Table cover", "face", inch(50), inch(50)),))
    wide, narrow = compare(job, effort=effort()).options
    assert wide.layout is not None
    assert narrow.layout is None
    assert "Table cover: cut 50 in wide" in narrow.reason


def test_what_sideways_saves_is_told() -> None:
    # See the sheers above: 315 in one run and 291 upright; 252 and 291.
    for fullness, words in ((FULL, "sideways takes 24 in more"), (LIGHT, "sideways takes 39 in less")):
        (option,) = compare(sheer_job(sheer(fullness)), effort=effort()).options
        assert option.railroad == words
    (option,) = compare(sheer_job(sheer(FULL, railroad="yes")), effort=effort()).options
    assert option.railroad == "sideways, as ordered"
    first, _ = compare(on_offer(), effort=effort()).options
    assert "one-way" in first.railroad


def test_comparing_leaves_out_fabrics_that_nothing_is_cut_from() -> None:
    job = on_offer()
    job = replace(job, fabrics=(*job.fabrics, a_fabric(bolt(inch(45)), key="spare")))
    assert {option.fabric.key for option in compare(job, effort=effort()).options} == {"face"}


def test_a_wider_bolt_never_takes_a_longer_layout() -> None:
    widths = tuple(inch(w) for w in (76, 80, 100, 151))
    options = compare(on_offer(), widths=widths, effort=effort(8.0)).options
    by_width = sorted((option.bolt.width, option.layout.length or 0) for option in options if option.layout)
    lengths = [length for _, length in by_width]
    assert lengths == sorted(lengths, reverse=True)
    assert len(lengths) == 6


def test_an_unknown_bolt_of_a_print_matches_over_whole_repeats() -> None:
    # 60 - 2 seams of 1/2 = 59 holds two repeats of 27: match 54, to be measured.
    fabric = a_fabric(bolt(inch(56), None, inch(54)), repeat=Repeat(inch(25), inch(27)))
    _, asked = compare(two_panels(fabric), widths=(inch(60),), effort=effort()).options
    assert (asked.bolt.match, asked.bolt.match_said, asked.bolt.usable) == (inch(54), False, inch(59))


def test_planner_errors_are_of_this_package() -> None:
    with pytest.raises(NestingError):
        plan(a_job(a_window(fabric="nowhere"), fabrics=(a_fabric(bolt(inch(54))),)), effort=effort())


def test_one_effort_serves_any_number_of_plans() -> None:
    # An effort is settings: the clock is a plan's own, so a second plan is searched for as long as the first.
    settings = effort(0.3)
    one, two = (layout_of(plan(hard_job(), effort=settings)) for _ in range(2))
    assert (one.length, one.placements, one.bound) == (two.length, two.placements, two.bound)
    assert settings == effort(0.3)
