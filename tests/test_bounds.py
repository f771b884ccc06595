"""Every bound for itself: never above brute force or a known layout, and its certificate re-proved."""

from __future__ import annotations

import itertools
import random

import pytest

from nesting.check.proof import proven_length
from nesting.packing import Match, Part, Problem, Repeat, Strip, pack
from nesting.packing.bounds import BOUNDS, gaps
from nesting.packing.bounds.bars import BarProof, bars_across, bars_along, columns, prove, rows
from nesting.packing.bounds.gaps import GapBound, families
from nesting.packing.bounds.places import placed_rows
from nesting.packing.bounds.simple import area, tallest, wide_stack
from nesting.packing.certificates import ColumnWeights, RowWeights
from nesting.packing.certificates.knapsack import best_pattern, best_value
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Kind, reduce
from nesting.packing.result import Bound
from nesting.packing.turn import Budget
from tests.benchmarks.families import make
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, shelf_layout, tiny_problem
from tests.seeds import seeds, some
from tests.turns import turn_of


def never() -> bool:
    return False


def row_bound(core: Core) -> Bound:
    return rows(core, never)[0]


def column_bound(core: Core) -> Bound:
    return columns(core, 0, core.stacked, never)


def bound_by(name: str, core: Core) -> Bound:
    """What a bound of the registry comes to, with the row weights of the bars and a layout to be bettered."""
    highest = Bound(0, "nothing")
    if BOUNDS[name].applies(core):
        bound = BOUNDS[name](core)
        weights = rows(core, never)[1]
        turn = turn_of(core, Race(Budget(0, 60.0)), tallest(core).length, core.stacked, weights=weights)
        while (raised := bound.raised(turn)) is not None:
            if raised.length <= highest.length:
                break
            highest = raised
            if not bound.open(turn):
                break
    return highest


def made(seed: int) -> Problem:
    """A tiny problem of any kind."""
    rng = random.Random(seed)
    return tiny_problem(
        rng,
        rng.random() < 0.5,
        parts=rng.randint(2, 4),
        width=rng.randint(3, 7),
        turns=rng.random() < 0.5,
        arrows=rng.random() < 0.5,
        flaws=rng.choice((0, 0, 1, 2)),
        start=rng.random() < 0.4,
        margins=seed % 3 == 2,
    )


@pytest.mark.parametrize("name", BOUNDS)
@pytest.mark.parametrize("seed", seeds(10, 40))
def test_no_bound_is_above_brute_force(name: str, seed: int) -> None:
    problem = made(seed)
    shortest, core = optimal_length(problem), reduce(problem)
    if core is None or shortest is None:
        assert shortest is None
        return
    assert core.ticks(bound_by(name, core).length) <= shortest


@pytest.mark.parametrize("name", BOUNDS)
@pytest.mark.parametrize("seed", some(range(4), 1))
def test_no_bound_is_above_a_known_layout(name: str, seed: int) -> None:
    layout = shelf_layout(random.Random(seed), 5, width=30)
    core = reduce(layout.problem)
    assert core is not None
    assert core.ticks(bound_by(name, core).length) <= layout.length


def _core(width: int, *parts: Part) -> Core:
    """Without lone rows, which no bound would see."""
    core = reduce(Problem((Strip(width),), parts), set_apart=False)
    assert core is not None
    return core


class TestEachByHand:
    """Small sums in whole steps: sizes share no divisor."""

    def test_area_rounds_up(self) -> None:
        # 3 x 7 + 2 x 4 = 29 on a strip of 5.
        assert area(_core(5, Part("a", 3, 7), Part("b", 2, 4))).length == 6

    def test_tallest_takes_the_shorter_way(self) -> None:
        assert tallest(_core(9, Part("a", 8, 3, turnable=True), Part("b", 5, 2))).length == 3
        assert tallest(_core(9, Part("a", 3, 8), Part("b", 5, 3))).length == 8

    def test_wide_parts_are_added_up(self) -> None:
        # 5 of 9 is more than half, 4 is not; a part that may turn and then be narrow is not counted.
        parts = (Part("a", 5, 7, 2), Part("b", 4, 9), Part("c", 8, 3, turnable=True))
        assert wide_stack(_core(9, *parts)).length == 14

    def test_rows_see_that_widths_do_not_add_up(self) -> None:
        # Of width 4 only two stand in a strip of 11, though the area would let 2.75.
        core = _core(11, Part("a", 4, 7, 5), Part("b", 11, 1))
        assert area(core).length == 14
        # 5 x 7 bars, two in a row: 17.5, and one row of its own.
        assert row_bound(core).length == 19

    def test_columns_see_that_lengths_do_not_add_up(self) -> None:
        # With length 9 no column holds two slices of 5, so 3 x 4 = 12 columns are needed, and 11 are there.
        core = _core(11, Part("a", 4, 5, 3), Part("b", 1, 1))
        assert column_bound(core).length == 10

    def test_subset_sees_that_rows_stay_together(self) -> None:
        # Three of 3 x 3 on a strip of 6: row by row 4.5 would do; whole, two share and one waits.
        # On a print, for plain fabric is searched through without the solver.
        strip = Strip(6, repeat=Repeat(1))
        parts = Part("a", 3, 3, 3, match=Match("one")), Part("b", 1, 1)
        core = reduce(Problem((strip,), parts), set_apart=False)
        assert core is not None
        assert row_bound(core).length == 5
        assert bound_by("rows of subsets", core).length == 6


def copies_in(kind: Kind, part: int) -> int:
    """How many copies of a part are in a kind."""
    return sum(number == part for number, _ in kind.members)


def heaviest(capacity: int, items: list[tuple[int, int, int]]) -> int:
    """The largest weight that fits, by a plain table of its own."""
    best = [0] * (capacity + 1)
    for size, weight, copies in items:
        for _ in range(copies):
            for room in range(capacity, size - 1, -1):
                best[room] = max(best[room], best[room - size] + weight)
    return best[capacity]


class TestBarProof:
    """The weights, not the linear program, carry the proof."""

    @pytest.mark.parametrize("seed", seeds(10, 40))
    def test_its_sums_are_right(self, seed: int) -> None:
        rng = random.Random(seed)
        parts = tuple(
            Part(str(i), rng.randint(1, 20), rng.randint(1, 20), rng.randint(1, 3), rng.random() < 0.4)
            for i in range(rng.randint(1, 7))
        )
        core = _core(rng.randint(20, 40), *parts)
        for bars, capacity in ((bars_across(core), core.width), (bars_along(core), 40)):
            proof = prove(bars, capacity, never)
            assert all(type(weight) is int and weight >= 0 for weight in proof.weights)
            items = [(b.size, w, b.copies) for b, w in zip(bars, proof.weights, strict=True)]
            assert heaviest(capacity, items) <= proof.most
            lightest = [
                min(w * b.bars for b, w in zip(bars, proof.weights, strict=True) if b.kind == index)
                for index in range(len(core.kinds))
            ]
            counted = sum(w * kind.copies for w, kind in zip(lightest, core.kinds, strict=True))
            assert proof.total <= counted
            assert (proof.rows - 1) * proof.most < proof.total, "no row more than the weights prove"

    def test_any_time_gives_a_proof(self) -> None:
        core = _core(40, *(Part(str(i), 3 + i, 20 - i, 2) for i in range(12)))
        hurried, patient = prove(bars_across(core), 40, lambda: True), prove(bars_across(core), 40, never)
        assert 0 < hurried.rows <= patient.rows

    def test_nothing_weighs_nothing(self) -> None:
        assert BarProof((0,), 0, 0).rows == 0

    @pytest.mark.parametrize("seed", seeds(10, 20))
    def test_the_certificate_of_the_rows_can_be_added_up_again(self, seed: int) -> None:
        core = reduce(guillotine_cutting(random.Random(seed), 20, 30, 8))
        assert core is not None
        bound, weights = rows(core, never)
        if not core.kinds:
            assert bound.length == 0
            return
        said, kinds = bound.certificate, core.kinds
        assert isinstance(said, RowWeights)
        kind_of = {part: kind for kind in kinds for part, _ in kind.members}
        found = [(kind_of[w.part], w.upright or 0, copies_in(kind_of[w.part], w.part)) for w in said.weights]
        most = heaviest(core.width, [(kind.width, weight, copies) for kind, weight, copies in found])
        # No part here may turn, so each entry is a part with as many bars as it is long.
        total = sum(weight * kind.length * copies for kind, weight, copies in found)
        assert bound.length == -(-total // most)
        assert weights is not None
        assert {weights[0][index, False] for index in range(len(kinds))} == {w.upright for w in said.weights}

    def test_the_certificate_of_the_columns_refutes_the_length_before(self) -> None:
        bound = column_bound(_core(11, Part("a", 4, 5, 3), Part("b", 3, 2)))
        said = bound.certificate
        assert isinstance(said, ColumnWeights)
        assert said.refuted == bound.length - 1
        sizes = {0: (4, 5, 3), 1: (3, 2, 1)}
        most = heaviest(
            said.refuted, [(sizes[w.part][1], w.upright or 0, sizes[w.part][2]) for w in said.weights]
        )
        total = sum((w.upright or 0) * sizes[w.part][0] * sizes[w.part][2] for w in said.weights)
        assert total > most * 11


class TestKnapsack:
    @pytest.mark.parametrize("seed", seeds(15, 50))
    def test_it_finds_the_best_of_all_sets(self, seed: int) -> None:
        rng = random.Random(seed)
        capacity = rng.randint(0, 25)
        items = [(rng.randint(1, 12), rng.randint(0, 9), rng.randint(1, 4)) for _ in range(rng.randint(0, 4))]
        ranges = [range(copies + 1) for _, _, copies in items]
        sums = [
            sum(n * value for n, (_, value, _) in zip(counts, items, strict=True))
            for counts in itertools.product(*ranges)
            if sum(n * size for n, (size, _, _) in zip(counts, items, strict=True)) <= capacity
        ]
        assert best_value(capacity, items) == max(sums) == heaviest(capacity, items)
        value, counts = best_pattern(capacity, *([item[i] for item in items] for i in range(3)))
        assert value == max(sums)
        assert sum(n * v for n, (_, v, _) in zip(counts, items, strict=True)) == max(sums)
        assert sum(n * s for n, (s, _, _) in zip(counts, items, strict=True)) <= capacity
        assert all(0 <= n <= copies for n, (_, _, copies) in zip(counts, items, strict=True))


@pytest.mark.parametrize("seed", some(range(8), 3))
def test_weights_as_a_rule_of_the_model_cut_off_no_shortest_layout(seed: int) -> None:
    problem = made(100 + seed)
    core, shortest = reduce(problem), optimal_length(problem)
    assert core is not None, "these seeds have a layout"
    assert shortest is not None
    weights = rows(core, never)[1]
    rest = shortest // core.step_y - core.lone_length
    model = LayoutModel(core, rest, decide=True, weights=weights)
    outcome = model.solve(Race(Budget(0, 20)), 20, 1)
    assert outcome.layout is not None
    assert core.length_of(outcome.layout) == rest


def panel_in_columns() -> Problem:
    """A full width and five strips of one panel, as a pattern of two columns lets them lie.

    The full width has its one place at 0, so the group's phase is 0. A strip of 5 that begins 3 into the
    pattern lies at 3 or at 11, and never three in a row, although 3 x 5 = 15 of 16.
    """
    parts = [Part("full", 16, 10, match=Match("room", "panel"))]
    parts.append(Part("strip", 5, 10, copies=5, match=Match("room", "panel", x=3)))
    return Problem((Strip(16, repeat=Repeat(10, 8)),), tuple(parts))


def test_places_across_count_in_a_row() -> None:
    problem = panel_in_columns()
    core = reduce(problem)
    assert core is not None
    # Bars: one row of 10 for the full width, 5 / 3 for the strips: 2 2/3, so 3. In place: 1 + 5 / 2, so 4.
    assert core.ticks(rows(core, never)[0].length) == 30
    assert core.ticks(placed_rows(core, never)[0].length) == 40
    result = pack(problem, workers=1, work_limit=2)
    assert result.length == 40
    assert result.bound.certificate is not None
    assert result.bound.certificate["rule"] == "placed row weights"
    assert proven_length(problem, result.bound.certificate) == 40


@pytest.mark.parametrize("block", seeds(1, 8))
def test_phases_settled_one_after_another_lose_no_layout(block: int, monkeypatch: pytest.MonkeyPatch) -> None:
    """All phases, in halves, allow the most, those of layouts pushed together less; the best is allowed."""
    compared = 0
    for seed in range(12 * block, 12 * block + 12):
        rng = random.Random(seed)
        problem = tiny_problem(
            rng, True, parts=rng.randint(2, 4), width=rng.randint(3, 9), margins=seed % 2 == 1
        )
        core = reduce(problem)
        assert core is not None
        optimum = optimal_length(problem)
        if optimum is None or core.open_arrows or all(kind.match is None for kind in core.kinds):
            continue
        for weights in families(core, rows(core, never)[1]):
            found = []
            for most in (0, 10**9):
                monkeypatch.setattr(gaps, "MOST_SETTLED", most)
                gap = GapBound(core, weights)
                if gap.worthwhile:
                    found.append(gap.raised(0, core.stacked, never).length)
            if found:
                assert found[0] <= found[1]
                assert core.ticks(found[1]) <= optimum
                compared += 1
    assert compared


def test_full_widths_alone_are_settled_at_once() -> None:
    # prints/54 of the families: 25 parts as wide as the fabric or half of it, in three rooms. A layout as
    # short as the bound is found in some seconds; with phases in halves a gap of 1 % is left after ten.
    result = pack(make("prints", 54).problem, workers=1, work_limit=1.0)
    assert result.bound.length == 5_184_880
    assert result.bound.method.startswith("fabric skipped to reach the next repeat")
    assert result.length is not None
    assert result.length - result.bound.length < 8_000


@pytest.mark.parametrize("seed", seeds(2, 8))
def test_asked_for_more_the_waits_begin_anew_and_say_the_same(seed: int) -> None:
    """Phases met for a short length were once not met again for a long one, so that no box was left."""
    rng = random.Random(seed)
    width, period = rng.randint(3, 6), rng.randint(4, 7)
    parts = tuple(
        Part(str(i), rng.randint(2, width), rng.randint(1, 6), 2, match=Match(rng.choice("ab"), y=i))
        for i in range(4)
    )
    core = reduce(Problem((Strip(width, repeat=Repeat(period)),), parts), set_apart=False)
    assert core is not None
    for weights in families(core, None):
        gap = GapBound(core, weights)
        if not gap.worthwhile:
            continue
        fresh = gap.raised(0, 90, never).length
        for first in range(5, 40, 3):
            gap = GapBound(core, weights)
            gap.raised(0, first, never)
            if not gap.settled:
                assert gap.raised(0, 90, never).length == fresh


@pytest.mark.nightly
def test_waits_of_many_lanes_are_added_up_beyond_64_bits() -> None:
    """The flow's own sum ends at 2**63 - 1, and waste is counted in quarters, lane by lane.

    By hand: 3 long and 5 long at one height of a pattern that repeats every 2,900,000 begin a repeat apart,
    so with the longer first the least is 2,900,003. Each of 9 * 10**11 lanes wastes 2,899,995 steps, which is
    1.04 * 10**19 quarters, more than 9.2 * 10**18. The lanes are the unit of the weights and change nothing.
    """
    period = 2_900_000
    parts = Part("a", 4, 3, match=Match("one")), Part("b", 4, 5, match=Match("one"))
    core = reduce(Problem((Strip(4, repeat=Repeat(period)),), parts), set_apart=False)
    assert core is not None
    for lanes in (1, 9 * 10**11):
        weights = {(kind, False): lanes for kind in range(2)}, lanes
        assert GapBound(core, weights).raised(0, 3 * period, never).length == period + 3
