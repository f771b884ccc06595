"""Jobs on lengths on hand: what is cut from which, what is left out, what is bought, and what is refused.

Sizes are worked out in comments; all data is invented.
"""

from __future__ import annotations

import copy
import json
import random
from collections import defaultdict
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from orders import a_bolt, a_fabric, a_job, bare_window, inch

from nesting.check import Breach, check_plan_document
from nesting.errors import DoesNotFitError, JobError
from nesting.files import plan_document, read_job_text, read_plan
from nesting.order.job import Bolt, Extra, Fabric, FabricFlaw, Job, LengthOnHand, Window
from nesting.packing import Problem, Result
from nesting.packing.result import Bound, Status, Stop
from nesting.plan.cuts import cutting_steps
from nesting.plan.offcuts import offcuts_of
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.shortage import shortage_words, shortages, shortfall_rows
from nesting.planning.effort import Shown, Spending
from nesting.planning.lengths import shares_of, worth_of
from nesting.planning.planner import Effort, plan, require_possible
from nesting.planning.spare import worth_of_copies
from nesting.repeat import Repeat
from nesting.units import YARD
from tests.seeds import examples


def bolt(width: int, usable: int | None = None, match: int | None = None, **more: Any) -> Bolt:
    return a_bolt(width, usable, match, **{"sold_by": YARD // 8, **more})


def effort(work: float) -> Effort:
    """A budget without a clock, so that every run is the same."""
    return Effort(work=work, workers=1)


def window(name: str, length: int = 60, rod: int = 40, **said: Any) -> Window:
    """A pair of bare panels: cut 30 wide for a rod of 40 (20 each, times 1 1/2), and ``length`` long."""
    fullness = Fraction(3, 2)
    return bare_window(name=name, rod=inch(rod), fullness=fullness, finished_length=inch(length), **said)


def there(length: int, lot: str | None = None, *flaws: FabricFlaw, **said: Any) -> LengthOnHand:
    said = {"name": f"{length} of {lot}"} | said
    return LengthOnHand(inch(length), lot=lot, flaws=flaws, **said)


def velvet(*lengths: LengthOnHand, wide: int = 64, top_up: bool = False, **said: Any) -> Fabric:
    return a_fabric(bolt(inch(wide), on_hand=lengths, top_up=top_up), **said)


def planned(job: Job, work: float = 6.0) -> Plan:
    """The plan, which passes the check as a document, lengths on hand and all."""
    made = plan(job, effort=effort(work))
    assert check_plan_document(plan_document(made)) == ()
    return made


def on(made: Plan) -> dict[str | None, FabricLayout]:
    return {layout.on_hand: layout for layout in made.layouts}


def reached(made: Plan) -> dict[str, int]:
    (objective,) = made.objectives
    assert objective.status is Status.OPTIMAL
    return {stage.name: stage.value for stage in objective.stages}


class TestWhereEverythingIsPlaced:
    def test_the_length_that_serves_is_started_and_the_longer_stays_whole(self) -> None:
        # Two panels of 30 side by side on 64, 60 long: they want 60. The 70 is started, the 100 is not.
        made = planned(a_job(window("East"), fabrics=(velvet(there(100), there(70)),)))
        (layout,) = made.layouts
        assert (layout.on_hand, layout.length, layout.buy) == ("70 of None", inch(60), None)
        assert layout.status is Status.OPTIMAL
        assert made.objectives[0].untouched == ("100 of None",)
        assert reached(made) == {"fabric started": inch(70), "fabric cut into": inch(60)}
        assert made.left_out == ()
        assert made.cost is None

    def test_a_window_is_of_one_lot(self) -> None:
        # Panels of 30 on fabric 40 wide: one beside nothing, so a pair wants two lengths or 120 of one.
        # 70 of A and 70 of B are two lots; with a second of B the pair lies on both of B.
        lengths = (there(70, "A"), there(70, "B"), there(75, "B"))
        made = planned(a_job(window("East"), fabrics=(velvet(*lengths, wide=40),)))
        assert {layout.lot for layout in made.layouts} == {"B"}
        assert reached(made)["fabric started"] == inch(145)

    def test_one_room_may_have_to_be_of_one_lot(self) -> None:
        # Two windows of one room, 60 each on fabric 64 wide, and 60 of A, 70 of B: each window has a lot to
        # itself. A room that must be of one lot has room for one window only.
        windows = (window("East"), window("West"))
        near = velvet(there(60, "A"), there(70, "B"))
        apart = planned(a_job(*windows, fabrics=(near,)))
        assert {layout.lot for layout in apart.layouts} == {"A", "B"}
        together = planned(a_job(*windows, fabrics=(replace(near, one_lot="room"),)))
        assert [short.what for short in shortages(together)] == ["West"]

    def test_a_flaw_is_cut_around(self) -> None:
        # A flaw across the whole width from 30 to 32: the pair lies behind it, from 32 to 92.
        flaw = FabricFlaw(inch(30), inch(2))
        made = planned(a_job(window("East", railroad="no"), fabrics=(velvet(there(100, None, flaw)),)))
        assert made.layouts[0].length == inch(92)
        # Turned sideways they are 60 wide and 30 long: one before the flaw, one behind it, from 32 to 62.
        turned = planned(a_job(window("East"), fabrics=(velvet(there(100, None, flaw)),)))
        assert turned.layouts[0].length == inch(62)
        assert made.layouts[0].flaws[0].width == made.layouts[0].usable

    def test_a_length_has_its_own_usable_width(self) -> None:
        # 59 wide, two panels of 30 no longer lie side by side: the pair wants 120.
        narrow = there(125, usable=inch(59))
        made = planned(a_job(window("East"), fabrics=(velvet(narrow),)))
        assert (made.layouts[0].usable, made.layouts[0].length) == (inch(59), inch(120))
        assert made.layouts[0].fit_to_cut == inch(59)

    def test_equal_windows_may_be_of_different_lots(self) -> None:
        # Two equal windows, two lots of 60: one window on each, two panels side by side.
        made = planned(a_job(window("Bay", count=2), fabrics=(velvet(there(60, "A"), there(60, "B")),)))
        assert [layout.lot for layout in made.layouts] == ["A", "B"]
        assert all(len(layout.placements) == 2 for layout in made.layouts)


class TestTopUp:
    def test_the_least_is_bought_in_a_lot_of_its_own(self) -> None:
        # East 60, West 60; 70 on hand holds one of them, the other is bought: 60 + 2 squaring = 62, which
        # is 14 steps of 4 1/2 = 63.
        made = planned(a_job(window("East"), window("West"), fabrics=(velvet(there(70, "A"), top_up=True),)))
        assert set(on(made)) == {"70 of A", None}
        bought = on(made)[None]
        assert bought.buy is not None
        assert (bought.length, bought.buy.total, bought.bound.length) == (inch(60), inch(63), inch(60))
        assert reached(made)["fabric to buy"] == inch(60)
        windows = [{laid.piece.window for laid in layout.placements} for layout in made.layouts]
        assert all(len(found) == 1 for found in windows)

    def test_the_same_lot_may_be_shared_with_what_is_bought(self) -> None:
        # Fabric 40 wide, so each panel of the pair wants 60 to itself: with 70 of A on hand and A still to be
        # had, one is cut from each; of another lot both are bought, 120.
        lone = there(70, "A")
        for lot, length in (("A", 60), (None, 120)):
            fabric = a_fabric(bolt(inch(40), on_hand=(lone,), top_up=True, lot=lot))
            made = planned(a_job(window("East"), fabrics=(fabric,)))
            assert on(made)[None].length == inch(length)

    def test_nothing_is_bought_where_nothing_need_be(self) -> None:
        made = planned(a_job(window("East"), fabrics=(velvet(there(70), top_up=True),)))
        assert list(on(made)) == ["70 of None"]
        assert reached(made)["fabric to buy"] == 0


class TestWhatIsLeftOut:
    def short(self, **said: Any) -> Job:
        """Three windows of 60, 50 and 40 on 64 wide fabric, of which 100 is there."""
        windows = (window("East", 60), window("West", 50), window("North", 40))
        fabric = velvet(there(100, "A"), **said)
        return a_job(*windows, fabrics=(fabric,))

    def test_the_most_windows_are_placed_and_of_equally_many_the_first(self) -> None:
        # Of 60, 50 and 40 two fit on 100: 60 + 40 or 50 + 40. East comes first in the file: West is left out.
        # Bought by itself it takes 50 (+ 2 squaring = 52, 12 steps of 4 1/2 = 54).
        made = planned(self.short())
        assert [(out.window, out.copies) for out in made.left_out] == [("West", 1), ("West", 1)]
        (short,) = shortages(made)
        assert (short.what, short.shortfall, short.steps, short.total) == ("West", inch(50), 12, inch(54))
        assert short.least
        assert shortage_words(short, made.job) == "West: 50 in more, 1 1/2 yd"
        assert reached(made)["fabric cut into"] == inch(100)

    def test_priority_goes_before_the_order_in_the_file(self) -> None:
        job = self.short()
        east, west, north = job.windows
        later = replace(job, windows=(replace(east, priority=2), west, north))
        assert {out.window for out in planned(later).left_out} == {"East"}
        # One of priority 1 outweighs two of priority 2: East alone keeps 40 for North, West has no room.
        first = replace(job, windows=(east, replace(west, priority=2), replace(north, priority=3)))
        assert {out.window for out in planned(first).left_out} == {"West"}

    def test_never_half_a_pair(self) -> None:
        # 40 wide: one panel of the pair would lie on the 70, but not the other.
        made = planned(a_job(window("East"), fabrics=(velvet(there(70), wide=40),)))
        assert made.layouts == ()
        assert {(out.piece, out.copies) for out in made.left_out} == {("east/left/1", 1), ("east/right/1", 1)}
        # Two panels one behind the other take 120: all of it is to be bought, since 70 is of another lot.
        assert {out.shortfall for out in made.left_out} == {inch(120)}

    def test_equal_windows_are_left_out_one_by_one(self) -> None:
        made = planned(a_job(window("Bay", count=3), fabrics=(velvet(there(125)),)))
        assert [short.what for short in shortages(made)] == ["Bay"]
        assert {(out.piece, out.copies) for out in made.left_out} == {("bay/left/1", 1), ("bay/right/1", 1)}
        assert len(made.layouts[0].placements) == 4

    def test_ordered_extras_come_after_windows_and_are_counted_one_by_one(self) -> None:
        # The pair takes 60 of 75; two cushions 30 x 15 lie side by side behind it, the third has no room.
        extra = Extra("Cushion", "face", inch(30), inch(15), 3)
        made = planned(a_job(window("East"), fabrics=(velvet(there(75)),), extras=(extra,)))
        assert [(out.piece, out.copies, out.shortfall) for out in made.left_out] == [
            ("extra/cushion", 1, inch(15))
        ]

    def test_optional_extras_start_no_length(self) -> None:
        # The pair takes 60 of 70; cushions of 20 x 10 lie three to a row behind it, the 100 stays whole.
        extra = Extra("Cushion", "face", inch(20), inch(10), 4, optional=True)
        lengths = velvet(there(100), there(70))
        made = planned(a_job(window("East"), fabrics=(lengths,), extras=(extra,)))
        assert made.objectives[0].untouched == ("100 of None",)
        assert [(out.copies, out.window) for out in made.left_out] == [(1, "")]
        assert made.short == ()


class TestTheShortfall:
    """What is missing of a fabric, all that is left out taken together, once."""

    def windows(self) -> tuple[Window, ...]:
        return window("East", 60), window("West", 50), window("North", 40)

    def test_of_two_windows_is_less_than_the_sum_of_each(self) -> None:
        # East lies on the 60 that is there, so West and North are bought: 50 + 40 + 2 squaring = 92, which is
        # 21 steps of 4 1/2, 94 1/2. Each by itself takes 50 + 2, 54 bought, and 40 + 2, 45 bought: 99.
        made = planned(a_job(*self.windows(), fabrics=(velvet(there(60, "A")),)))
        (short,) = made.shortfalls
        assert short.buy is not None
        assert (short.buy.length, short.buy.total, short.least) == (inch(90), inch("94 1/2"), inch("94 1/2"))
        assert short.proven
        assert [one.total for one in shortages(made)] == [inch(54), inch(45)]
        rows = dict(shortfall_rows(made, short))
        assert rows["left out"] == "West, North"
        assert rows["each by itself"] == "West: 50 in more, 1 1/2 yd; North: 40 in more, 1 1/4 yd"

    def test_may_be_less_where_another_window_lies_on_what_is_there(self) -> None:
        # 70 are there: without topping up East comes first and leaves 10. Bought on top of all three windows
        # are 50 + 40 with East on the 70: 90. Of 100 on hand East and North take all, West is bought.
        for length, more in ((70, 90), (100, 50)):
            made = planned(a_job(*self.windows(), fabrics=(velvet(there(length, "A")),)))
            (short,) = made.shortfalls
            assert short.buy is not None
            assert short.buy.length == inch(more)

    @pytest.mark.parametrize(
        "lengths",
        [
            (there(60, "A"),),
            (there(70, "A"), there(45, "B")),
            (there(90, "A", FabricFlaw(inch(30), inch(2))), there(55)),
            (there(20),),
        ],
    )
    @pytest.mark.parametrize("wide", [64, 40])
    def test_is_what_topping_up_buys(self, lengths: tuple[LengthOnHand, ...], wide: int) -> None:
        made = planned(a_job(*self.windows(), fabrics=(velvet(*lengths, wide=wide),)))
        topped = planned(a_job(*self.windows(), fabrics=(velvet(*lengths, wide=wide, top_up=True),)))
        (short,) = made.shortfalls
        assert short.buy == on(topped)[None].buy
        assert topped.left_out == ()
        assert topped.shortfalls == ()

    def test_is_not_told_where_it_is_not_known(self, monkeypatch: pytest.MonkeyPatch) -> None:
        pack_problem = Spending.pack_problem

        def blind(
            self: Spending, problem: Problem, title: str, weight: float = 1, shown: Shown | None = None
        ) -> Result:
            if any(strip.length is None for strip in problem.strips):
                return Result(None, Bound(0, "nothing"), Stop.TIME_LIMIT, 0.0)
            return pack_problem(self, problem, title, weight, shown)

        monkeypatch.setattr(Spending, "pack_problem", blind)
        made = planned(a_job(*self.windows(), fabrics=(velvet(there(60, "A")),)))
        (short,) = made.shortfalls
        assert (short.buy, short.proven) == (None, False)
        rows = dict(shortfall_rows(made, short))
        assert rows["missing"] == "how much more to buy is not known: plan again with more time"
        assert "West: how much more is not known" in rows["each by itself"]

    def test_a_layout_of_everything_that_was_missed_is_not_lost(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Everything is not found, the most leaves one out, and the third search sees it fit."""
        pack_problem = Spending.pack_problem
        results: list[Result] = []

        def blind(
            self: Spending, problem: Problem, title: str, weight: float = 1, shown: Shown | None = None
        ) -> Result:
            result = pack_problem(self, problem, title, weight, shown)
            if not results:
                result = Result(None, Bound(0, "nothing"), Stop.TIME_LIMIT, 0.0)
            elif len(results) == 1:
                kept = tuple(p for p in result.placements if problem.parts[p.part].bundle != "North#1")
                result = replace(result, placements=kept)
            results.append(result)
            return result

        monkeypatch.setattr(Spending, "pack_problem", blind)
        made = planned(a_job(*self.windows(), fabrics=(velvet(there(150, "A")),)))
        assert len(results) == 3
        assert (made.left_out, made.shortfalls) == ((), ())
        assert sum(len(layout.placements) for layout in made.layouts) == 6

    def test_of_an_older_plan_names_the_windows(self, tmp_path: Path) -> None:
        document = plan_document(planned(a_job(*self.windows(), fabrics=(velvet(there(60, "A")),))))
        del document["shortfalls"]
        path = tmp_path / "plan.json"
        path.write_text(json.dumps(document), "utf-8")
        (short,) = read_plan(path).shortfalls
        assert dict(shortfall_rows(read_plan(path), short))["left out"] == "West, North"


class TestPrints:
    def test_a_length_of_unknown_start_keeps_a_repeat_to_find_the_place(self) -> None:
        # Repeat 25: of 84 on hand 59 are left, of 85 the 60 that the pair takes.
        for length, short in ((84, True), (85, False)):
            fabric = a_fabric(
                bolt(inch(64), None, inch(64), on_hand=(there(length),)), repeat=Repeat(inch(25))
            )
            made = planned(a_job(window("East"), fabrics=(fabric,)))
            assert bool(made.short) is short

    def test_a_known_start_and_a_measured_repeat_are_kept(self) -> None:
        # The level line is the hem, at the lower edge of these panels (bottom hem 0): y = -start modulo the
        # repeat. Start 5 of 25 1/2 measured: the pair lies from 20 1/2 to 80 1/2.
        known = there(90, start=inch(5), repeat=inch("25 1/2"))
        fabric = a_fabric(bolt(inch(64), None, inch(64), on_hand=(known,)), repeat=Repeat(inch(25)))
        made = planned(a_job(window("East"), fabrics=(fabric,)))
        (layout,) = made.layouts
        assert {laid.y for laid in layout.placements} == {inch("20 1/2")}
        assert (layout.reserve, layout.length) == (0, inch("80 1/2"))
        assert layout.fabric.repeat is not None
        assert layout.fabric.repeat.length == inch("25 1/2")

    def test_lengths_shorter_than_a_repeat_are_refused(self) -> None:
        fabric = a_fabric(bolt(inch(64), None, inch(64), on_hand=(there(20),)), repeat=Repeat(inch(25)))
        with pytest.raises(DoesNotFitError, match="no length on hand is longer than one repeat, 25 in"):
            planned(a_job(window("East"), fabrics=(fabric,)))


class TestTheDocument:
    def made(self) -> dict[str, Any]:
        flaw = FabricFlaw(inch(62), inch(3), inch(10), inch(4))
        lengths = velvet(there(70, "A", flaw), there(66, "B"))
        windows = (window("East"), window("West"), window("North"))
        job = a_job(
            *windows, fabrics=(lengths,), extras=(Extra("Pad", "face", inch(4), inch(4), optional=True),)
        )
        return plan_document(planned(job))

    def test_it_tells_lengths_lots_flaws_and_the_objective(self) -> None:
        document = self.made()
        first, second = document["layouts"]
        assert (first["on_hand"], first["on_hand_length"], first["lot"]) == ("70 of A", 70.0, "A")
        assert first["flaws"] == [{"x": 10.0, "y": 62.0, "width": 4.0, "length": 3.0}]
        assert (second["lot"], second["buy"], second["flaws"]) == ("B", None, [])
        (objective,) = document["objectives"]
        assert objective["status"] == "optimal"
        told = {stage["name"]: (stage["value"], stage["bound"]) for stage in objective["stages"]}
        assert told["fabric started"] == (136.0, 136.0)
        out = document["left_out"][0]
        # 60 + 2 squaring = 62: 14 steps of 4 1/2 in = 63.
        assert out == {
            "piece": "north/left/1", "copies": 1, "shortfall": 60.0, "window": "North", "selling_steps": 14,
            "buy": 63.0, "least": True,
        }  # fmt: skip

    def test_it_is_read_back_as_it_was_written(self, tmp_path: Path) -> None:
        document = self.made()
        path = tmp_path / "plan.json"
        path.write_text(json.dumps(document), "utf-8")
        again = plan_document(read_plan(path))
        assert again == document

    @pytest.mark.parametrize(
        ("change", "kind"),
        [
            (("layouts", 0, "lot", "B"), Breach.LOT),
            (("layouts", 0, "flaws", [{"x": 0.0, "y": 10.0, "width": 4.0, "length": 1.0}]), Breach.FLAW),
            (("layouts", 1, "on_hand", "70 of A"), Breach.OVERLAP),
            (("layouts", 0, "on_hand_length", 59.0), Breach.OUTSIDE),
            (("objectives", 0, "status", "feasible"), Breach.STATUS),
            (("shortfalls", 0, "buy", "quantity", 1.625), Breach.BUY),
            (("shortfalls", 0, "least", 90.0), Breach.BOUND),
            (("shortfalls", 0, "not_cut_into", [{"on_hand": "70 of A", "why": ""}]), Breach.LENGTH),
            (("objectives", 0, "stages", 1, "value", 100.0), Breach.LENGTH),
            (("objectives", 0, "stages", 1, "bound", 150.0), Breach.BOUND),
            (("layouts", 1, "placements", 0, "piece", "north/left/1"), Breach.BUNDLE),
        ],
    )
    def test_what_is_wrong_in_it_is_found(self, change: tuple[Any, ...], kind: Breach) -> None:
        document = copy.deepcopy(self.made())
        *path, key, value = change
        at: Any = document
        for step in path:
            at = at[step]
        at[key] = value
        found = {one.kind for one in check_plan_document(document)}
        assert kind in found

    def test_a_window_of_two_lots_is_found(self) -> None:
        document = copy.deepcopy(self.made())
        first, second = document["layouts"]
        one, other = first["placements"], second["placements"]
        at = next(n for n, laid in enumerate(one) if laid["piece"].endswith("right/1"))
        to = next(n for n, laid in enumerate(other) if laid["piece"].endswith("right/1"))
        one[at]["piece"], other[to]["piece"] = other[to]["piece"], one[at]["piece"]
        assert Breach.LOT in {broken.kind for broken in check_plan_document(document)}


class TestBadStock:
    BASE = """
[fabric.face]
[[fabric.face.bolt]]
width = 54
[[fabric.face.bolt.on_hand]]
{}
[[window]]
name = "East"
rod = 40
rod_diameter = 1
heading = "back-tab"
finished_length = 80
"""

    @pytest.mark.parametrize(
        ("said", "told"),
        [
            (
                "length = 90\nflaws = [{ at = 20, length = 5 }, { at = 22, length = 5 }]",
                "flaws that do not overlap",
            ),
            ("length = 90\nflaws = [{ at = 88, length = 5 }]", "a flaw within the 90 in on hand"),
            ("length = 0", "length = 0: expected a length above 0"),
            ('lot = "B"', "length: expected the length that is there"),
            ('length = 90\nlot = "B"\nflaws = [{ at = 0, length = 90 }]', 'some fabric of lot "B"'),
            ("length = 90\nstart = 3", "a repeat of the fabric to go with it"),
            ("length = 90\nrepeat = 25", "a repeat of the fabric to go with it"),
        ],
    )
    def test_is_refused_with_one_clear_message(self, said: str, told: str) -> None:
        with pytest.raises(JobError) as refused:
            read_job_text(self.BASE.format(said))
        assert len(refused.value.faults) == 1
        assert "length on hand 1" in str(refused.value)
        assert told in str(refused.value)

    def test_good_stock_can_be_planned(self) -> None:
        require_possible(read_job_text(self.BASE.format('length = 90\nlot = "B"')))


def test_the_worth_of_windows_keeps_their_priority() -> None:
    """One of an earlier class outweighs all of the later ones; within a class more count more."""
    windows = [window(f"W{n}", priority=1 + n % 3) for n in range(9)]
    job = a_job(*windows, fabrics=(velvet(there(70)),), extras=(Extra("Pad", "face", inch(4), inch(4), 5),))
    made = plan(job, effort=effort(0.5))
    shares = list(shares_of(job, made.pieces))
    worth, units = worth_of(shares), {share.unit: share for share in shares}
    classes: dict[tuple[bool, int], list[int]] = defaultdict(list)
    for unit, value in worth.items():
        classes[units[unit].piece.role == "extra", units[unit].priority].append(value)
    ranked = [classes[key] for key in sorted(classes)]
    for at, values in enumerate(ranked):
        assert min(values) > sum(sum(later) for later in ranked[at + 1 :])
        least = sorted(values)
        for count in range(1, len(values)):
            assert sum(least[: count + 1]) > sum(least[-count:])
        assert values == sorted(values, reverse=True)


def test_no_cut_of_the_sequence_runs_through_an_offcut() -> None:
    # 50 wide, a panel 30 x 47 and one 30 x 40: across at 47 from selvage to selvage, so that beside them lie
    # 20 x 47 and 20 x 40 of the fabric, and not 20 x 87 in one piece.
    sizes = (("A", 47), ("B", 40))
    extras = tuple(Extra(name, "face", inch(30), inch(long), turnable=False) for name, long in sizes)
    (layout,) = planned(a_job(fabrics=(a_fabric(bolt(inch(50))),), extras=extras)).layouts
    assert layout.length == inch(87)
    found = offcuts_of(layout, "in")
    assert {(one.x, one.width) for one in found if one.start < inch(87)} == {(inch(30), inch(20))}
    assert sorted(one.length for one in found if one.start < inch(87)) == [inch(40), inch(47)]
    lines = [cut for step in cutting_steps(layout) for cut in step.cuts]
    for one in found:
        for cut in lines:
            if cut.way == "across":
                inside = one.start < cut.at < one.start + one.length
                assert not inside or cut.end <= one.x or one.x + one.width <= cut.start
            else:
                inside = one.x < cut.at < one.x + one.width
                assert not inside or cut.end <= one.start or one.start + one.length <= cut.start


def test_offcuts_lie_apart_from_pieces_flaws_and_one_another() -> None:
    flaw = FabricFlaw(inch(70), inch(3), inch(10), inch(4))
    extra = Extra("Cushion", "face", inch(18), inch(18), 2, optional=True)
    job = a_job(window("East"), fabrics=(velvet(there(100, "A", flaw)),), extras=(extra,))
    (layout,) = planned(job).layouts
    found = offcuts_of(layout, "in")
    assert found
    areas = [one.width * one.length for one in found]
    assert areas == sorted(areas, reverse=True)
    boxes = [(one.x, one.start, one.x + one.width, one.start + one.length) for one in found]
    taken = [(laid.x, laid.y, laid.x + laid.width, laid.y + laid.length) for laid in layout.placements]
    taken += [(f.x, f.y, f.x + f.width, f.y + f.length) for f in layout.flaws]
    for at, box in enumerate(boxes):
        assert 0 <= box[0] < box[2] <= layout.fit_to_cut
        assert 0 <= box[1] < box[3] <= inch(100)
        for other in (*taken, *boxes[at + 1 :]):
            assert box[2] <= other[0] or other[2] <= box[0] or box[3] <= other[1] or other[3] <= box[1]


class TestExtrasOfAPurchase:
    """A panel 30 x 47 on 50 wide fabric leaves 20 x 47 beside it."""

    def job(self, *extras: Extra) -> Job:
        panel = Extra("Panel", "face", inch(30), inch(47), turnable=False)
        return a_job(fabrics=(a_fabric(bolt(inch(50))),), extras=(panel, *extras))

    def test_as_many_as_fit_are_laid_where_the_first_in_the_file_would_block_them(self) -> None:
        # Filled in the order of the file, the block 20 x 24 leaves 20 x 23: two strips of 10 x 23, three in
        # all. Without it four strips fill 20 x 46. Four are more than three, so the block is left out; it
        # would reach from 46 to 70, 23 beyond the end of the layout at 47.
        block = Extra("Block", "face", inch(20), inch(24), optional=True, turnable=False)
        strip = Extra("Strip", "face", inch(10), inch(23), 4, optional=True, turnable=False)
        made = planned(self.job(block, strip))
        (layout,) = made.layouts
        assert layout.length == layout.bound.length == inch(47)
        assert sum(laid.piece.name == "Strip" for laid in layout.placements) == 4
        assert [(out.piece, out.copies) for out in made.left_out] == [("extra/block", 1)]
        assert made.left_out[0].shortfall in (inch(23), inch(24))
        (objective,) = made.objectives
        assert objective.status is Status.OPTIMAL
        assert [stage.name for stage in objective.stages] == [
            "fabric to buy", "optional extras placed, by priority"
        ]  # fmt: skip
        assert made.short == ()

    def test_priority_outweighs_number(self) -> None:
        # The block comes first now, however many strips it takes the place of: two of four are laid.
        block = Extra("Block", "face", inch(20), inch(24), optional=True, turnable=False)
        strip = Extra("Strip", "face", inch(10), inch(23), 4, optional=True, turnable=False, priority=2)
        made = planned(self.job(block, strip))
        assert sorted(laid.piece.name for laid in made.layouts[0].placements) == [
            "Block", "Panel", "Strip", "Strip"
        ]  # fmt: skip

    def test_they_never_lengthen_the_purchase(self) -> None:
        # 20 x 48 is one inch longer than what is left beside the panel.
        long = Extra("Long", "face", inch(20), inch(48), optional=True, turnable=False)
        made = planned(self.job(long))
        assert made.layouts[0].length == inch(47)
        assert [(out.piece, out.shortfall) for out in made.left_out] == [("extra/long", inch(1))]

    def test_the_worth_of_copies_keeps_priority_and_number(self) -> None:
        sizes: dict[str, Any] = {"width": inch(4), "length": inch(4), "optional": True}
        job = self.job(
            Extra("A", "face", count=3, **sizes), Extra("B", "face", count=2, **sizes),
            Extra("C", "face", count=5, priority=2, **sizes),
        )  # fmt: skip
        pieces = [piece for piece in plan(job, effort=effort(0.5)).pieces if piece.optional]
        a, b, c = worth_of_copies(job, pieces)
        assert a > b > 5 * c
        # Three of the later ones are more than two of the first.
        assert 3 * b > 2 * a


def random_job(dice: random.Random) -> Job:
    """One to three windows on one to three spoiled lengths of two lots."""
    lengths = tuple(
        there(length, dice.choice(("A", "B", None)), *_flaws(dice, length), name=f"length {number}")
        for number, length in enumerate(dice.randint(40, 200) for _ in range(dice.randint(1, 3)))
    )
    windows = [
        window(f"W{n}", dice.choice((40, 60, 75)), dice.choice((40, 60)), priority=dice.choice((1, 1, 2)))
        for n in range(dice.randint(1, 3))
    ]
    fabric = velvet(*lengths, top_up=dice.random() < 0.3, one_lot=dice.choice(("window", "window", "room")))
    return a_job(*windows, fabrics=(fabric,))


def _flaws(dice: random.Random, length: int) -> Iterator[FabricFlaw]:
    at = 0
    for _ in range(dice.randint(0, 3)):
        at += dice.randint(1, 60)
        if at + 3 > length:
            return
        across = (0, None) if dice.random() < 0.3 else (inch(dice.randint(0, 55)), inch(dice.randint(1, 6)))
        yield FabricFlaw(inch(at), inch(dice.randint(1, 3)), *across)
        at += 3


@examples(100, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10**9))
def test_any_job_keeps_lots_and_flaws_apart(seed: int) -> None:
    """Judged here from the plan itself, and once more by the check of its document."""
    made = planned(random_job(random.Random(seed)), work=0.3)
    one_lot = made.job.fabrics[0].one_lot
    lots = defaultdict[str | None, set[tuple[bool, str | None]]](set)
    for layout in made.layouts:
        for laid in layout.placements:
            group = laid.piece.window if one_lot == "window" else laid.piece.room
            lots[group].add((layout.on_hand is None, layout.lot))
            for flaw in layout.flaws:
                beside = laid.x + laid.width <= flaw.x or flaw.x + flaw.width <= laid.x
                assert beside or laid.y + laid.length <= flaw.y or flaw.y + flaw.length <= laid.y
    assert all(len(found) == 1 for found in lots.values())
    laid_windows = {laid.piece.window for layout in made.layouts for laid in layout.placements}
    assert laid_windows.isdisjoint({out.window for out in made.short})
    assert laid_windows | {out.window for out in made.short} == {w.name for w in made.job.windows}
