"""The reductions: same lengths, coarser units, equal parts together, lone rows set apart."""

from __future__ import annotations

import random
from dataclasses import replace
from fractions import Fraction

import pytest

from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip, misfits
from nesting.packing.reduce import Core, Spot, reduce
from tests.brute_force import optimal_length
from tests.instances import tiny_problem
from tests.seeds import seeds, some


def _core(strip: Strip, *parts: Part) -> Core:
    core = reduce(Problem((strip,), parts))
    assert core is not None
    return core


class TestSteps:
    """What all sizes are multiples of, across and along each for itself."""

    def test_sizes_are_divided_by_what_they_share(self) -> None:
        core = _core(Strip(65), Part("a", 20, 21), Part("b", 30, 14))
        assert (core.step_x, core.step_y) == (10, 7)
        assert core.width == 6, "what is left of the strip beyond whole steps is never needed"
        assert {(kind.width, kind.length) for kind in core.kinds} == {(2, 3), (3, 2)}

    def test_a_part_that_may_turn_asks_for_one_step_both_ways(self) -> None:
        core = _core(Strip(60), Part("a", 20, 30), Part("b", 30, 20, turnable=True))
        assert (core.step_x, core.step_y) == (10, 10)

    def test_a_part_that_can_only_lie_turned_keeps_two_steps(self) -> None:
        # 90 is wider than the strip: it lies turned, 20 across and 90 along, which shares 10 and 45.
        core = _core(Strip(60), Part("a", 30, 45), Part("b", 90, 20, turnable=True))
        assert (core.step_x, core.step_y) == (10, 45)
        (turned,) = [kind for kind in core.kinds if kind.turned]
        assert turned.ways == ((2, 2, True),)

    def test_places_repeats_flaws_and_the_start_count_too(self) -> None:
        matched = Part("a", 20, 40, match=Match("room", None, 6, 10))
        core = _core(Strip(60, repeat=Repeat(20, 12), flaws=(Flaw(4, 0, 2, 30),), start=15), matched)
        assert (core.step_x, core.step_y) == (2, 5)

    def test_half_a_drop_is_no_whole_step_of_the_repeat(self) -> None:
        matched = Part("a", 20, 40, match=Match("room"))
        core = _core(Strip(60, repeat=Repeat(20, 20, Fraction(1, 2))), matched)
        assert core.step_y == 10
        assert core.repeat is not None
        assert core.repeat.step == 1


class TestEqualParts:
    def test_parts_of_equal_size_and_rule_become_copies_of_one_kind(self) -> None:
        core = _core(Strip(9), Part("a", 4, 5, 2), Part("b", 3, 3), Part("c", 4, 5, 3))
        assert [(kind.width, kind.copies) for kind in core.kinds] == [(4, 5), (3, 1)]
        assert core.kinds[0].members == ((0, 1), (0, 2), (2, 1), (2, 2), (2, 3))

    def test_places_a_whole_repeat_apart_are_the_same_place(self) -> None:
        # One column further right a half drop is 3 higher, so (2, 1) is (2 + 5, 1 + 3) of the lattice.
        strip = Strip(9, repeat=Repeat(6, 5, Fraction(1, 2)))
        one = Part("a", 4, 5, match=Match("room", "panel", 2, 1))
        other = Part("b", 4, 5, match=Match("room", "panel", 7, 4))
        assert len(_core(strip, one, other).kinds) == 1
        assert len(_core(strip, one, replace(other, match=Match("room", "panel", 7, 1))).kinds) == 2

    def test_every_copy_comes_back_once(self) -> None:
        core = _core(Strip(4), Part("a", 2, 3, 2), Part("b", 2, 3, 2))
        layout = tuple(Spot(0, i % 2, i // 2) for i in range(4))
        laid = core.placements(layout)
        assert [(p.part, p.copy) for p in laid] == [(0, 1), (0, 2), (1, 1), (1, 2)]
        assert {(p.x, p.y) for p in laid} == {(0, 0), (2, 0), (0, 3), (2, 3)}


class TestLoneRows:
    def test_a_part_beside_which_nothing_fits_is_laid_first(self) -> None:
        core = _core(Strip(10), Part("wide", 8, 5, 2), Part("a", 3, 4), Part("b", 6, 4))
        assert [kind.width for kind in core.lone] == [8]
        assert core.lone_length == 10
        assert core.ticks(core.length_of((Spot(0, 0, 0), Spot(1, 6, 0)))) == 14

    def test_nothing_is_left_to_search_where_no_two_parts_share_a_row(self) -> None:
        core = _core(Strip(10), Part("a", 9, 2), Part("b", 8, 3), Part("c", 7, 4))
        assert core.kinds == ()
        assert core.lone_length == 9

    @pytest.mark.parametrize(
        "strip", [Strip(10, flaws=(Flaw(0, 3, 1, 1),)), Strip(10, repeat=Repeat(4))], ids=["flaw", "repeat"]
    )
    def test_none_is_set_apart_beside_flaws_or_in_a_pattern(self, strip: Strip) -> None:
        match = Match("room") if strip.repeat else None
        assert _core(strip, Part("wide", 10, 5, match=match), Part("a", 3, 4)).lone == ()

    def test_a_part_that_may_lie_both_ways_is_not_set_apart(self) -> None:
        assert _core(Strip(10), Part("a", 7, 9, turnable=True)).lone == ()


class TestFlaws:
    """Flaws that overlap are cut apart: two fixed rectangles on one place would contradict each other."""

    @pytest.mark.parametrize("seed", seeds(10, 40))
    def test_the_same_fabric_is_spoiled_and_none_of_it_twice(self, seed: int) -> None:
        rng = random.Random(seed)
        flaws = tuple(
            Flaw(rng.randrange(-2, 8), rng.randrange(-2, 8), rng.randint(1, 5), rng.randint(1, 5))
            for _ in range(rng.randint(2, 6))
        )
        cells = [
            [(x, y) for x in range(f.x, f.x + f.width) for y in range(f.y, f.y + f.length)]
            for f in _core(Strip(8, flaws=flaws), Part("a", 1, 1)).flaws
        ]
        spoiled = [cell for flaw in cells for cell in flaw]
        wanted = {
            (x, y)
            for f in flaws
            for x in range(max(0, f.x), min(8, f.x + f.width))
            for y in range(max(0, f.y), f.y + f.length)
        }
        assert len(spoiled) == len(set(spoiled))
        assert set(spoiled) == wanted

    def test_flaws_beside_the_fabric_are_left_out(self) -> None:
        aside = (Flaw(8, 0, 2, 2), Flaw(-3, 0, 3, 2), Flaw(0, -4, 8, 4))
        assert _core(Strip(8, flaws=aside), Part("a", 1, 1)).flaws == ()


class TestWhatCannotLie:
    def test_too_wide_each_way(self) -> None:
        problem = Problem((Strip(10),), (Part("a", 11, 12, turnable=True), Part("b", 4, 4)))
        assert reduce(problem) is None
        assert [part.name for part in misfits(problem)] == ["a"]

    def test_a_group_that_agrees_on_no_direction(self) -> None:
        # One fits upright only, the other turned only; each could lie alone.
        parts = (
            Part("a", 8, 12, turnable=True, arrow="room"),
            Part("b", 12, 8, turnable=True, arrow="room"),
        )
        assert reduce(Problem((Strip(10),), parts)) is None
        assert misfits(Problem((Strip(10),), parts)) == ()


@pytest.mark.parametrize("seed", some(range(24), 8))
def test_the_reduced_problem_has_the_same_least_length(seed: int) -> None:
    rng = random.Random(seed)
    margins = seed % 4 > 1
    problem = tiny_problem(rng, parts=4, width=5, repeat=seed % 2 == 0, turns=seed % 3 == 0, margins=margins)
    core = reduce(problem)
    if core is None:
        assert optimal_length(problem) is None
        return
    parts = tuple(
        Part(
            str(i),
            kind.width,
            kind.length,
            kind.copies,
            kind.upright and kind.turned,
            kind.match,
            clear=kind.clear,
        )
        for i, kind in enumerate(core.kinds)
        if kind.upright
    )
    assert sum(part.copies for part in parts) == core.copies, "the seeds here give no part that must turn"
    strip = Strip(core.width, None, core.repeat, core.flaws, start=core.start)
    rest = optimal_length(Problem((strip,), parts))
    whole = optimal_length(problem)
    assert (None if rest is None else core.ticks(rest)) == whole
