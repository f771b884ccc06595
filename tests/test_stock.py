"""Lengths on hand: several strips with flaws, lots, own widths and starts, stage by stage."""

from __future__ import annotations

import random
import time
from collections import defaultdict
from dataclasses import replace
from fractions import Fraction
from types import SimpleNamespace

import pytest
from hypothesis import HealthCheck, given
from hypothesis import strategies as st
from ortools.sat.python import cp_model

from nesting.check import Breach, check_layout
from nesting.errors import ProblemError
from nesting.packing import Choice, Flaw, Match, Part, Placement, Problem, Repeat, Result, Status, Strip, pack
from nesting.packing.models.solver import proven_bound
from nesting.packing.on_hand.stock import pack_stock
from nesting.packing.on_hand.stock_core import MOST, stock_of
from nesting.packing.on_hand.stock_fill import Filler
from nesting.packing.on_hand.stock_model import StockModel
from nesting.packing.on_hand.stock_progress import Progress
from nesting.packing.race import Stopped
from nesting.packing.result import Bound, Incumbent, Observer, Stop
from nesting.packing.turn import Budget
from tests.assertions import assert_valid
from tests.benchmarks.families import make
from tests.seeds import examples, seeds, some
from tests.stock_brute_force import best_of_all, best_stages
from tests.stock_instances import remnants, tiny_stock


def packed(problem: Problem, work: float = 20) -> Result:
    result = pack(problem, workers=1, work_limit=work)
    assert_valid(problem, result)
    return result


def stages(result: Result) -> dict[str, int]:
    assert result.status is Status.OPTIMAL, [str(stage) for stage in result.stages]
    return {stage.name: stage.value for stage in result.stages}


def homes(problem: Problem, result: Result) -> dict[str, set[int]]:
    """On which strips each part lies."""
    found = defaultdict[str, set[int]](set)
    for at in result.placements:
        found[problem.parts[at.part].name].add(at.strip)
    return dict(found)


class TestByHand:
    """Whole numbers that stand for inches; every width 50 but where it says otherwise."""

    def test_the_shortest_length_that_serves_is_started(self) -> None:
        # One panel of 55: it goes on a length of 60, and the 100 stays whole. 60 started, 55 cut into.
        problem = Problem((Strip(50, 100), Strip(50, 60)), (Part("panel", 50, 55),))
        assert stages(packed(problem)) == {"fabric started": 60, "cut into": 55}

    def test_two_lengths_are_started_where_that_is_less(self) -> None:
        # Panels of 50 and 40 want 90: the 100 alone is 100; 55 and 42 together are 97.
        problem = Problem(
            (Strip(50, 100), Strip(50, 55), Strip(50, 42)), (Part("a", 50, 50), Part("b", 50, 40))
        )
        assert stages(packed(problem)) == {"fabric started": 97, "cut into": 90}

    def test_nothing_straddles_two_lengths(self) -> None:
        # 120 in all, but no piece of 70.
        result = packed(Problem((Strip(50, 60), Strip(50, 60)), (Part("panel", 50, 70),)))
        assert result.status is Status.INFEASIBLE

    def test_a_window_stays_in_one_lot(self) -> None:
        # Two panels of 50, one to a length of 60. Lots A, B, B: only the two of B serve, 120 started.
        window = Part("panel", 50, 50, copies=2, lot="window")
        lots = (Strip(50, 60, lot="A"), Strip(50, 60, lot="B"), Strip(50, 60, lot="B"))
        problem = Problem(lots, (window,))
        result = packed(problem)
        assert stages(result) == {"fabric started": 120, "cut into": 100}
        assert homes(problem, result) == {"panel": {1, 2}}
        assert packed(replace(problem, strips=lots[:2])).status is Status.INFEASIBLE

    def test_lengths_without_a_lot_are_one_lot_of_their_own(self) -> None:
        window = Part("panel", 50, 50, copies=2, lot="window")
        assert packed(Problem((Strip(50, 60), Strip(50, 60)), (window,))).status is Status.OPTIMAL
        assert packed(Problem((Strip(50, 60), Strip(50, 60, lot="A")), (window,))).status is Status.INFEASIBLE

    def test_a_flaw_across_the_width_parts_the_length(self) -> None:
        # Flaw from 40 to 45: 40 fits before it; 50 lies from 45 to 95, so 95 is cut into.
        strip = Strip(50, 100, flaws=(Flaw(0, 40, 50, 5),))
        assert stages(packed(Problem((strip,), (Part("a", 50, 50), Part("b", 50, 40)))))["cut into"] == 95
        # 41 fits on neither side beside 50: before the flaw 40, after it 55 - 50 = 5.
        assert packed(Problem((strip,), (Part("a", 50, 50), Part("b", 50, 41)))).status is Status.INFEASIBLE

    def test_a_spot_is_gone_round(self) -> None:
        # A spot 10 wide at the left edge from 20 to 22: panels of 40 lie beside it, from 10 to 50.
        strip = Strip(50, 60, flaws=(Flaw(0, 20, 10, 2),))
        result = packed(Problem((strip,), (Part("panel", 40, 60),)))
        assert result.placements == (Placement(0, 1, 10, 0),)

    def test_a_length_has_its_own_width(self) -> None:
        # 49 wide goes on the 50 only, though the 48 would be the shorter to start.
        problem = Problem((Strip(48, 60), Strip(50, 80)), (Part("panel", 49, 55),))
        assert homes(problem, packed(problem)) == {"panel": {1}}

    def test_what_must_keep_clear_of_the_edges_does(self) -> None:
        # 46 wide and 2 clear at each side fill the 50: two of them cannot lie side by side with anything.
        problem = Problem((Strip(50, 60),), (Part("facing", 46, 10, clear=(2, 2)), Part("tab", 2, 10)))
        result = packed(problem)
        assert stages(result)["cut into"] == 10
        assert {at.x for at in result.placements if at.part == 0} == {2}
        assert (
            packed(Problem((Strip(50, 60),), (Part("facing", 47, 10, clear=(2, 2)),))).status
            is Status.INFEASIBLE
        )

    def test_the_least_is_bought_on_top(self) -> None:
        # Two panels of 50 of one window, one of another; 60 on hand in another lot than what is bought.
        # The single panel goes on the 60; the pair must be of one lot, so it is bought: 100.
        parts = (Part("pair", 50, 50, copies=2, lot="east"), Part("single", 50, 50, lot="west"))
        problem = Problem((Strip(50, 60, lot="A"), Strip(50, lot="new")), parts)
        result = packed(problem)
        assert stages(result) == {"to buy": 100, "fabric started": 60, "cut into": 50}
        assert (result.length, result.bound.length) == (100, 100)
        # With 110 on hand the pair lies there, and 50 are bought.
        longer = replace(problem, strips=(Strip(50, 110, lot="A"), Strip(50, lot="new")))
        assert stages(packed(longer)) == {"to buy": 50, "fabric started": 110, "cut into": 100}

    def test_nothing_is_bought_where_lengths_on_hand_suffice(self) -> None:
        problem = Problem((Strip(50, 60), Strip(50)), (Part("panel", 50, 50),))
        assert stages(packed(problem)) == {"to buy": 0, "fabric started": 60, "cut into": 50}

    def test_never_half_a_pair(self) -> None:
        # East wants 2 x 50, west 2 x 40; there are 50, 45, 45. East's pair is worth more but has one place
        # only. West has three: it is laid whole, on the two of 45 (90 started) rather than on the 50.
        east = Part("east", 50, 50, copies=2, value=3, bundle="east", lot="east")
        west = Part("west", 50, 40, copies=2, value=2, bundle="west", lot="west")
        problem = Problem((Strip(50, 50), Strip(50, 45), Strip(50, 45)), (east, west))
        result = packed(problem)
        assert stages(result) == {"value": 4, "fabric started": 90, "cut into": 80}
        assert homes(problem, result) == {"west": {1, 2}}

    def test_extras_start_no_further_length(self) -> None:
        # The panel of 50 starts the 60; beside it nothing, after it 10: one row of five cushions of 10.
        # The 100 could take the other three, but stays whole.
        extras = Part("cushion", 10, 10, copies=8, value=1, spare=True)
        problem = Problem((Strip(50, 100), Strip(50, 60)), (Part("panel", 50, 50), extras))
        assert stages(packed(problem)) == {"fabric started": 60, "extras": 5, "cut into": 60}

    def test_extras_make_the_purchase_no_longer(self) -> None:
        # 30 of 50 wide and 50 long: beside it 20 x 50, so two columns of five; the eleventh has no place.
        extras = Part("cushion", 10, 10, copies=11, value=1, spare=True)
        problem = Problem((Strip(50),), (Part("panel", 30, 50), extras))
        assert stages(packed(problem)) == {"to buy": 50, "extras": 10}


class TestPrints:
    """A repeat of 10, parts as wide as the fabric."""

    def test_a_known_start_is_kept(self) -> None:
        # y = q - start modulo 10: from 0 at start 0, from 6 at start 4, where a panel of 25 ends at 31.
        panel = Part("panel", 50, 25, match=Match("room"))
        for start, end in ((0, 25), (4, 31)):
            strip = Strip(50, end, Repeat(10), start=start)
            assert stages(packed(Problem((strip,), (panel,))))["cut into"] == end
            short = replace(strip, length=end - 1)
            assert packed(Problem((short,), (panel,))).status is Status.INFEASIBLE

    def test_each_length_has_the_repeat_that_was_measured_on_it(self) -> None:
        # Two cuts of 25, places 0: on a repeat of 10 at 0 and 30, end 55; on one of 11 at 0 and 33, end 58.
        panel = Part("panel", 50, 25, copies=2, match=Match("room"))
        for repeat, end in ((10, 55), (11, 58)):
            strip = Strip(50, 60, Repeat(repeat), start=0)
            assert stages(packed(Problem((strip,), (panel,))))["cut into"] == end

    def test_a_room_hangs_level_over_lengths_of_unknown_start(self) -> None:
        # One phase for both lengths: places 0 and 3. At phase 0 the cuts lie at 0 and 3, so 25 and 28 serve;
        # with 25 and 27 the other way round the second would lie at 7 and end at 32.
        parts = (Part("a", 50, 25, match=Match("room")), Part("b", 50, 25, match=Match("room", y=3)))
        strips = (Strip(50, 25, Repeat(10)), Strip(50, 28, Repeat(10)))
        assert stages(packed(Problem(strips, parts)))["cut into"] == 25 + 28
        short = (strips[0], replace(strips[1], length=27))
        assert packed(Problem(short, parts)).status is Status.INFEASIBLE
        # Of two rooms each may choose its own: both begin at 0.
        apart = (parts[0], replace(parts[1], match=Match("hall", y=3)))
        assert stages(packed(Problem(short, apart)))["cut into"] == 50

    def test_a_half_drop_joins_over_two_lengths(self) -> None:
        # Repeat 10, width 25, half drop, strips 25 wide: the second width (place x = 25) lies one column
        # back, five lower in the pattern: y = 0 - 1 * 5 = 5 modulo 10, end 30; the first at 0, end 25.
        repeat = Repeat(10, 25, Fraction(1, 2))
        parts = tuple(Part(f"width {n}", 25, 25, match=Match("room", "panel", 25 * n)) for n in (0, 1))
        strips = (Strip(25, 40, repeat, start=0), Strip(25, 40, repeat, start=0))
        assert stages(packed(Problem(strips, parts))) == {"fabric started": 80, "cut into": 55}


@pytest.mark.parametrize("seed", some(range(48), 10))
def test_small_cases_equal_brute_force(seed: int) -> None:
    problem = tiny_stock(random.Random(seed))
    result = packed(problem)
    expected = best_stages(problem)
    if expected is None:
        assert result.status is Status.INFEASIBLE
        return
    found = stages(result)
    assert found == {name: expected[name] for name in found}


@examples(500, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10**9))
def test_a_flaw_never_touches_a_piece_and_a_lot_never_mixes_in_a_window(seed: int) -> None:
    problem = remnants(random.Random(seed))
    # Every tenth case is searched by the solver as well; the others are filled and bounded only.
    result = pack(problem, workers=1, work_limit=0.02 if seed % 10 == 0 else 0.001)
    assert result.length is not None
    lots, laid = defaultdict[str | None, set[str | None]](set), defaultdict[str | None, int](int)
    for at in result.placements:
        part, strip = problem.parts[at.part], problem.strips[at.strip]
        width, length = part.size(at.turned)
        for flaw in strip.flaws:
            beside = at.x + width <= flaw.x or flaw.x + flaw.width <= at.x
            assert beside or at.y + length <= flaw.y or flaw.y + flaw.length <= at.y
        assert 0 <= at.x <= strip.width - width
        assert strip.length is None or 0 <= at.y <= strip.length - length
        lots[part.lot].add(strip.lot)
        laid[part.bundle] += 1
    assert all(len(found) == 1 for window, found in lots.items() if window is not None)
    for window in laid.keys() - {None}:
        assert laid[window] == sum(part.bundle == window for part in problem.parts), "half a window"


@examples(15, suppress_health_check=list(HealthCheck))
@given(st.integers(0, 10**6), st.randoms(use_true_random=False))
def test_order_and_scale_are_nothing(seed: int, rng: random.Random) -> None:
    problem = tiny_stock(random.Random(seed))
    parts = list(problem.parts)
    rng.shuffle(parts)
    mixed, first = packed(replace(problem, parts=tuple(parts))), packed(problem)
    assert [(s.name, s.value) for s in mixed.stages] == [(s.name, s.value) for s in first.stages]
    assert mixed.status is first.status


@pytest.mark.parametrize("seed", seeds(4, 12))
def test_bounds_hold_for_every_filling(seed: int) -> None:
    """Whatever is filled by rule or chance reaches no more than a bound allows, and keeps every rule."""
    problem = tiny_stock(random.Random(100 + seed))
    stock, bounds = stock_of(problem), {s.name: s for s in packed(problem).stages}
    if not bounds:
        return
    first = stock.stages[0]
    filler, dice = Filler(stock), random.Random(seed)
    for _, plan in zip(range(40), filler.plans(dice), strict=False):
        layout = filler.fill(plan)
        if layout is None:
            continue
        assert check_layout(problem, stock.placements(layout)) == ()
        worth = stock.worth(layout)[first]
        assert worth <= bounds[first].bound if bounds[first].most else worth >= bounds[first].bound


def test_many_windows_come_at_once() -> None:
    """Forty windows on six lengths: a layout is there before any solver has run, and is sound."""
    parts = tuple(
        part
        for n in range(40)
        for part in (Part(f"{n} panel", 47, 100, 2, lot=f"{n}"), Part(f"{n} tab", 5, 4, 8, lot=f"{n}"))
    )
    strips = tuple(Strip(53, 250 + 50 * n, lot="AB"[n % 2]) for n in range(6))
    problem = Problem((*strips, Strip(53, lot="new")), parts)
    result = pack(problem, workers=1, work_limit=0.5)
    assert_valid(problem, result)
    # By hand: a length holds floor(length / 100) panels, 2 + 3 + 3 + 4 + 4 + 5: lot A 2 + 3 + 4 = 9, so
    # 4 pairs, lot B 3 + 4 + 5 = 12, 6 pairs. Thirty pairs are bought: 60 panels of 100.
    assert result.length == 6000


class TestRefusals:
    def test_two_open_strips(self) -> None:
        with pytest.raises(ProblemError, match="at most one"):
            pack(Problem((Strip(9), Strip(9), Strip(9, 4)), (Part("a", 5, 5),)), work_limit=1)

    @pytest.mark.parametrize(
        ("more", "named"),
        [
            ({"spare": True}, "spare, but not optional"),
            ({"bundle": "set"}, 'in bundle "set", but not optional'),
            ({"value": -1}, "value = -1"),
            ({"clear": (-1, 0)}, "clear"),
        ],
    )
    def test_of_parts_that_contradict_themselves(self, more: dict[str, object], named: str) -> None:
        with pytest.raises(ProblemError, match=named):
            Part("a", 5, 5, **more)  # type: ignore[arg-type]

    def test_values_that_no_sum_could_hold(self) -> None:
        with pytest.raises(ProblemError, match="scale them down"):
            Problem((Strip(9, 9),), (Part("a", 5, 5, copies=2, value=2**40),))


def test_an_interrupt_keeps_what_there_is() -> None:
    problem = Problem((Strip(50, 60), Strip(50, 70)), (Part("panel", 30, 40, copies=2), Part("b", 20, 15)))
    result = pack(problem, workers=1, time_limit=20, on_progress=lambda now: now.length is None)
    assert_valid(problem, result)
    assert result.stop == "interrupted"
    assert result.placements


class TestTheOpenStripByItself:
    """A search within the search: an end asked for there is an end of all."""

    @pytest.mark.parametrize("stop", [Stop.INTERRUPTED, Stop.TIME_LIMIT])
    def test_an_interrupt_of_it_ends_everything(self, stop: Stop) -> None:
        asked = list[float]()

        def pack_open(problem: Problem, share: float, observer: Observer) -> Result:
            asked.append(share)
            return Result(None, Bound(0, "nothing"), stop, 0.0)

        result = pack_stock(make("remnants", 12).problem, Budget(0.0, 1.0), 1, 0, None, pack_open)
        assert len(asked) == 1
        assert (result.stop is Stop.INTERRUPTED) == (stop is Stop.INTERRUPTED)
        assert result.length is not None

    def test_the_observer_is_told_meanwhile_and_can_end_it(self) -> None:
        inside, seen = list[bool](), list[str]()

        def told(now: Incumbent) -> bool:
            if inside:
                seen.append(now.method)
            return not inside

        def pack_open(problem: Problem, share: float, observer: Observer) -> Result:
            inside.append(True)
            time.sleep(0.2)  # no observer is told more than ten times a second
            with pytest.raises(Stopped):
                observer(Incumbent(None, 0, "", 0.0))
            return Result(None, Bound(0, "nothing"), Stop.INTERRUPTED, 0.0)

        result = pack_stock(make("remnants", 12).problem, Budget(0.0, 1.0), 1, 0, told, pack_open)
        assert seen == [""]
        assert result.stop is Stop.INTERRUPTED


def test_the_flat_model_bounds_the_whole_one() -> None:
    """What forgets where items lie is never worse than the best layout, in the first stage."""
    for seed in range(20):
        problem = tiny_stock(random.Random(seed))
        expected, stock = best_stages(problem), stock_of(problem)
        if expected is None:
            continue
        progress = Progress(stock, Budget(10.0), None, 0)
        model = StockModel(stock, stock.longest, flat=True)
        model.leave_out_spares()
        outcome = model.solve(stock.stages[0], progress, 5.0, 1, lambda layout: None)
        assert outcome.bound is not None
        most = stock.stages[0] == "value"
        best = expected[stock.stages[0]]
        assert outcome.bound >= best if most else outcome.bound <= best


def test_of_a_choice_the_option_that_starts_less_is_laid() -> None:
    """One panel of 40 x 50, or two strips of 20 x 50 that must lie one behind the other on 30 wide fabric.

    There are 100 of a fabric 30 wide and 200 of one 50 wide: the strips start the 100, the panel the 200.
    """
    parts = (Part("panel", 40, 50), Part("strip", 20, 50, copies=2))
    problem = Problem((Strip(50, 200), Strip(30, 100)), parts, (Choice("seams", ((0,), (1,))),))
    result = packed(problem)
    assert stages(result) == {"fabric started": 100, "cut into": 100}
    assert result.chosen == (1,)


class TestWhatTheSolverSays:
    """A bound counts where its status carries one, and no bound loses a layout."""

    @pytest.mark.parametrize("flat", [True, False])
    def test_unknown_proves_nothing_of_what_is_made_most(
        self, flat: bool, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Out of time before it began the solver says 0, as if no part of value 3 could ever be laid."""

        def no_time(solver: cp_model.CpSolver, *_: object, **__: object) -> None:
            solver.parameters.max_time_in_seconds = 0

        monkeypatch.setattr("nesting.packing.on_hand.stock_model.set_parameters", no_time)
        problem = Problem((Strip(4, 8),), (Part("a", 2, 3, copies=3, value=3), Part("b", 3, 3, value=5)))
        stock = stock_of(problem)
        model = StockModel(stock, stock.longest, flat=flat)
        outcome = model.solve("value", Progress(stock, Budget(9.0), None, 0), 9.0, 1, lambda _: None)
        assert (outcome.layout, outcome.bound, outcome.infeasible) == (None, None, False)

    @pytest.mark.parametrize(
        ("status", "most", "said", "bound"),
        [
            (cp_model.OPTIMAL, True, 7.0, 7),
            (cp_model.FEASIBLE, True, 7.0000001, 7),
            (cp_model.FEASIBLE, True, 7.4, 8),
            (cp_model.FEASIBLE, False, 6.9999999, 7),
            (cp_model.FEASIBLE, False, 6.6, 6),
            (cp_model.UNKNOWN, True, 0.0, None),
            (cp_model.UNKNOWN, True, 25.0, None),
            (cp_model.UNKNOWN, False, 0.0, 0),
            (cp_model.INFEASIBLE, False, 12.0, None),
            (cp_model.MODEL_INVALID, False, 12.0, None),
            (cp_model.OPTIMAL, False, float("inf"), None),
            (cp_model.OPTIMAL, False, float("-inf"), None),
        ],
    )
    def test_of_a_bound(
        self, status: cp_model.CpSolverStatus, most: bool, said: float, bound: int | None
    ) -> None:
        solver = SimpleNamespace(best_objective_bound=said)
        assert proven_bound(solver, status, most=most) == bound  # type: ignore[arg-type]

    def test_that_contradicts_the_layout_does_not_lose_it(
        self, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        monkeypatch.setattr(
            "nesting.packing.on_hand.stock_model.proven_bound", lambda *_, most: 0 if most else 999
        )
        problem = Problem((Strip(4, 8), Strip(4)), (Part("a", 2, 3, copies=3, value=3), Part("b", 3, 3)))
        result = packed(problem)
        assert result.status is Status.FEASIBLE
        assert all(
            stage.bound >= stage.value if stage.most else stage.bound <= stage.value
            for stage in result.stages
        )
        assert "beyond a layout" in caplog.text

    def test_that_is_false_leaves_what_others_prove(
        self, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
    ) -> None:
        """Sums of areas and widths are made to say too much; the whole model closes every stage."""
        bound = Progress.bound

        def false(self: Progress, stage: str, said: int | None, method: str) -> None:
            flat = "sums" in method and said is not None and stage not in MOST
            bound(self, stage, 999 if flat else said, method)

        monkeypatch.setattr(Progress, "bound", false)
        problem = Problem((Strip(4, 8), Strip(4)), (Part("a", 2, 3, copies=3, value=3), Part("b", 3, 3)))
        result = packed(problem)
        assert result.status is Status.OPTIMAL
        assert "(sums of areas and widths, CP-SAT, not re-checked) beyond a layout" in caplog.text
        assert not any("sums" in stage.method for stage in result.stages if not stage.most)


def grouped(rng: random.Random) -> Problem:
    """Up to five copies in one or two arrow groups, some optional, under a choice with an empty option."""
    strips = [Strip(rng.randint(2, 5), rng.randint(1, 8)) for _ in range(rng.randint(1, 2))]
    if rng.random() < 0.5:
        strips.append(Strip(rng.randint(3, 5)))
    parts = []
    for number in range(rng.randint(2, 4)):
        optional = rng.random() < 0.5
        parts.append(
            Part(
                f"p{number}",
                rng.randint(1, 5),
                rng.randint(1, 4),
                turnable=rng.random() < 0.6,
                arrow=rng.choice(("A", "A", "B", None)),
                value=rng.randint(1, 3) if optional else None,
                spare=optional and rng.random() < 0.5,
            )
        )
    last = len(parts) - 1
    choices = (Choice("seams", rng.choice((((0,), ()), ((0,), (last,)), ((), (0, last))))),)
    return Problem(tuple(strips), tuple(parts), choices if rng.random() < 0.6 else ())


@pytest.mark.parametrize("block", some(range(8), 1))
def test_groups_and_choices_meet_brute_force(block: int) -> None:
    """What is left out binds nobody; empty options, and options that cannot be laid, are no obstacle."""
    for seed in range(12 * block, 12 * block + 12):
        problem = grouped(random.Random(seed))
        expected, result = best_of_all(problem), packed(problem, work=6)
        if expected is None:
            assert result.status is Status.INFEASIBLE, seed
            continue
        found = stages(result)
        assert found == {name: expected[name] for name in found}, seed


class TestWhatIsLeftOut:
    def test_binds_no_arrow_group(self) -> None:
        """By hand: m lies turned, 2 x 3, on the 2 x 8; o could only lie upright, and is left out. Buy 0."""
        parts = (
            Part("o", 4, 2, arrow="A", value=3, spare=True),
            Part("m", 3, 2, turnable=True, arrow="A"),
        )
        result = packed(Problem((Strip(2, 8), Strip(4)), parts))
        assert stages(result) == {"to buy": 0, "fabric started": 8, "extras": 0, "cut into": 3}

    def test_and_where_it_is_laid_it_binds_its_group(self) -> None:
        # On 4 x 8 both lie upright: 2 + 2 with o worth 3; turned, m alone would be cut into 3.
        parts = (Part("o", 4, 2, arrow="A", value=3), Part("m", 3, 2, turnable=True, arrow="A"))
        assert stages(packed(Problem((Strip(4, 8),), parts)))["cut into"] == 4

    def test_a_square_turns_with_its_group(self) -> None:
        # The 3 x 2 fits the strip of 2 only turned, so the square is turned with it.
        parts = (Part("a", 3, 2, turnable=True, arrow="A"), Part("s", 2, 2, turnable=True, arrow="A"))
        result = packed(Problem((Strip(2, 8),), parts))
        assert stages(result)["cut into"] == 5
        assert all(at.turned for at in result.placements)

    def test_of_an_option_is_no_other_option(self) -> None:
        """b is optional and has no room beside a: the option (a, b) is laid without it."""
        parts = (Part("a", 4, 5), Part("b", 4, 5, value=2), Part("c", 4, 9))
        problem = Problem((Strip(4, 8),), parts, (Choice("seams", ((0, 1), (2,))),))
        result = packed(problem)
        assert result.chosen == (0,)
        assert [at.part for at in result.placements] == [0]

    def test_a_bundle_with_a_part_of_another_option_is_left_out_whole(self) -> None:
        parts = (
            Part("a", 2, 2),
            Part("b", 2, 2, value=2, bundle="set"),
            Part("c", 2, 2, value=2, bundle="set"),
        )
        problem = Problem((Strip(4, 8),), parts, (Choice("seams", ((0, 1), (0,))),))
        result = packed(problem)
        assert {at.part for at in result.placements} in ({0, 1, 2}, {0})


class TestMargins:
    @pytest.mark.parametrize("seed", seeds(8, 30))
    def test_different_ones_are_all_kept(self, seed: int) -> None:
        """The larger of (3, 0) and (1, 5) was once taken for both."""
        rng = random.Random(seed)
        strips = tuple(Strip(rng.randint(6, 12), rng.randint(2, 12)) for _ in range(2))
        margins = [(rng.randint(0, 3), rng.randint(0, 4)) for _ in range(3)]
        parts = tuple(
            Part(f"p{n}", rng.randint(1, 5), rng.randint(1, 4), rng.randint(1, 2), clear=clear, value=1)
            for n, clear in enumerate(margins)
        )
        packed(Problem((*strips, Strip(12)), parts), work=1)

    def test_on_a_length_shorter_than_the_step(self) -> None:
        # All sizes are multiples of 5; a length of 3 and a width of 4 hold nothing, which is no fault.
        strips = (Strip(20, 3), Strip(4, 50), Strip(20, 40))
        result = packed(Problem(strips, (Part("a", 10, 10, clear=(5, 5)), Part("b", 5, 5))))
        assert {at.strip for at in result.placements} == {2}


class TestStarts:
    """One strip's start known, another's not: the unknown one belongs to its whole strip."""

    #: Two level groups on a strip of 4 with a repeat of 5, places 0 and 2 in the pattern.
    PARTS = (Part("a", 4, 2, match=Match("one")), Part("b", 4, 2, match=Match("other", y=2)))

    def test_level_groups_share_it(self) -> None:
        strips = (Strip(4, 9, Repeat(5), start=1), Strip(4, 9, Repeat(5)))
        problem = Problem(strips, self.PARTS)
        # a at phase 0, b at 2: b follows on a at once.
        good = (Placement(0, 1, 0, 0, strip=1), Placement(1, 1, 0, 2, strip=1))
        assert check_layout(problem, good) == ()
        off = (Placement(0, 1, 0, 0, strip=1), Placement(1, 1, 0, 3, strip=1))
        assert {broken.kind for broken in check_layout(problem, off)} == {Breach.PHASE_ALONG}

    def test_where_none_is_known_each_has_its_own(self) -> None:
        problem = Problem((Strip(4, 9, Repeat(5)),), self.PARTS)
        assert check_layout(problem, (Placement(0, 1, 0, 0), Placement(1, 1, 0, 3))) == ()

    @pytest.mark.parametrize("seed", seeds(6, 20))
    def test_the_engine_keeps_to_what_the_check_asks(self, seed: int) -> None:
        rng = random.Random(seed)
        repeat = Repeat(rng.randint(2, 5))
        strips = tuple(
            Strip(6, rng.choice((9, 12)), repeat, start=rng.choice((None, rng.randint(0, 4))))
            for _ in range(3)
        )
        parts = tuple(
            Part(
                f"p{n}", rng.randint(2, 4), rng.randint(1, 4), 2, match=Match(rng.choice("ab"), y=n), value=1
            )
            for n in range(3)
        )
        packed(Problem(strips, parts), work=1)


@pytest.mark.parametrize(
    "strips", [(Strip(50, 60), Strip(50)), (Strip(50, 200),), (Strip(50, 90), Strip(50, 80))]
)
def test_each_better_layout_is_shown(strips: tuple[Strip, ...]) -> None:
    """With lengths on hand as on one open strip: its length, as the result will have it, and its places."""
    problem = Problem(strips, (Part("panel", 30, 40, copies=2), Part("b", 20, 15)))
    shown = list[tuple[int, tuple[Placement, ...]]]()
    result = pack(
        problem, workers=1, work_limit=5, on_layout=lambda length, laid: shown.append((length, laid))
    )
    assert_valid(problem, result)
    assert shown[-1] == (result.length, result.placements)
    for length, laid in shown:
        assert check_layout(problem, laid) == ()
        assert length >= (result.length or 0)
