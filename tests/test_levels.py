"""Levels for many copies of few kinds: what they hold, what they cost, and the rest above them."""

from __future__ import annotations

import random
from collections import Counter
from dataclasses import replace
from functools import cache

import pytest

from nesting.check import check_layout
from nesting.packing import Flaw, Match, Part, Placement, Problem, Repeat, Strip, pack
from nesting.packing.bounds.bars import rows
from nesting.packing.race import Finished, Race
from nesting.packing.reduce import Core, Layout, Spot, reduce
from nesting.packing.searches.levels import Level, LevelPricing, LevelProgram
from nesting.packing.searches.levels_first import LEAST_COPIES, MOST_KINDS, LevelsFirst
from nesting.packing.turn import Budget
from tests.assertions import assert_valid
from tests.seeds import seeds, some
from tests.turns import racing


def core_of(problem: Problem) -> Core:
    core = reduce(problem, set_apart=False)
    assert core is not None
    return core


def order_of_many(seed: int, *, turns: bool = False) -> Problem:
    """Four to seven kinds of 20 to 60 copies on plain fabric."""
    dice = random.Random(seed)
    width = dice.randint(60, 140)
    parts = tuple(
        Part(
            str(number),
            dice.randint(width // 9, width // 3),
            dice.randint(8, 50),
            dice.randint(20, 60),
            turnable=turns and dice.random() < 0.6,
        )
        for number in range(dice.randint(4, 7))
    )
    return Problem((Strip(width),), parts)


def raced(core: Core, work: float, *, turns: int = 1, seed: int = 0) -> Race:
    """The race after some turns of levels, of so many units of work each."""
    race, search = Race(Budget(0, turns * work)), LevelsFirst(core, seed)
    for _ in range(turns):
        search.run(racing(core, race, work))
    return race


def laid(race: Race) -> Layout:
    assert race.best is not None
    return race.best[1]


def length_of(race: Race) -> int:
    assert race.length is not None
    return race.length


def priced(problem: Problem, longest: int) -> tuple[Core, LevelProgram]:
    """The linear program grown until no level is worth adding."""
    core = core_of(problem)
    pricing = LevelPricing(core, longest)
    program = LevelProgram(pricing.alone(), [kind.copies for kind in core.kinds])
    while program.grow(pricing.best(program.prices(), longest)):
        pass
    return core, program


def alone(core: Core, level: Level) -> Layout:
    """One level, as a layout."""
    return tuple(level.spots(0, level.counts()))


class TestLevels:
    @pytest.mark.parametrize("seed", some(range(12), 3))
    def test_a_level_holds_what_it_counts_side_by_side_within_its_length(self, seed: int) -> None:
        core, program = priced(order_of_many(seed, turns=seed % 2 > 0), 100)
        assert len(program.levels) > len(core.kinds)
        for level in program.levels:
            layout = alone(core, level)
            assert Counter(spot.kind for spot in layout) == level.counts()
            assert core.length_of(layout) <= level.length
            assert sum(column.width for column in level.columns) <= core.width
            parts = tuple(
                Part(str(kind), core.kinds[kind].width, core.kinds[kind].length, many, turnable=True)
                for kind, many in sorted(level.counts().items())
            )
            level_only = Problem((Strip(core.width),), parts)
            # The check wants the copies of each part numbered; the layout is of one level alone.
            broken = check_layout(level_only, _placements(core, layout, parts), core.length_of(layout))
            assert broken == (), "\n".join(map(str, broken))

    def test_spots_end_with_the_copies(self) -> None:
        _, program = priced(Problem((Strip(10),), (Part("a", 5, 4, 40), Part("b", 2, 4, 40))), 8)
        level = max(program.levels, key=lambda level: sum(level.counts().values()))
        kind, many = max(level.counts().items())
        left = Counter({kind: many - 1})
        assert len(list(level.spots(3, left))) == many - 1
        assert left[kind] == 0

    def test_no_level_is_worth_more_than_its_length_in_the_end(self) -> None:
        # At the optimum the prices are a dual solution: the copies at their prices cost what the levels do.
        core, program = priced(order_of_many(3), 120)
        prices = program.prices()
        for level in program.levels:
            worth = sum(prices[kind] * many for kind, many in level.counts().items())
            assert worth <= level.length * (1 + 1e-6)
        cost = sum(price * kind.copies for price, kind in zip(prices, core.kinds, strict=True))
        assert cost == pytest.approx(program.length)

    @pytest.mark.parametrize("seed", seeds(8, 25))
    def test_the_best_level_is_worth_what_trying_all_finds(self, seed: int) -> None:
        dice = random.Random(seed)
        width, longest = dice.randint(5, 12), dice.randint(5, 14)
        parts = tuple(
            Part(str(n), dice.randint(1, 5), dice.randint(1, 5), 40, turnable=dice.random() < 0.5)
            for n in range(3)
        )
        core = core_of(Problem((Strip(width),), parts))
        prices = [dice.randint(1, 20) / 2 for _ in core.kinds]
        ways = [(w, h, prices[k]) for k, kind in enumerate(core.kinds) for w, h, _ in kind.ways]

        @cache
        def stack(wide: int, room: int) -> float:
            fitting = ((h, wide // w * price) for w, h, price in ways if w <= wide and h <= room)
            return max((value + stack(wide, room - h) for h, value in fitting), default=0.0)

        @cache
        def across(room: int, length: int) -> float:
            fitting = ({w for w, _, _ in ways if w <= room}) if room > 0 else set[int]()
            return max((stack(w, length) + across(room - w, length) for w in fitting), default=0.0)

        best = 0.0
        for length in range(1, longest + 1):
            best = max(best, across(core.width, length) / length)
        found = LevelPricing(core, longest).best(prices, longest)
        ratios = [
            sum(prices[kind] * many for kind, many in level.counts().items()) / level.length
            for level in found
        ]
        assert max(ratios, default=1.0) == pytest.approx(max(best, 1.0))

    def test_stacks_beside_a_longer_part_cost_nothing_more(self) -> None:
        # 12 wide: 8 x 6 beside three of 4 x 2 above one another, or a course of two of 2 x 2 in their place.
        # 30 full levels of 6, by area no less.
        parts = (Part("long", 8, 6, 30), Part("low", 4, 2, 60), Part("narrow", 2, 2, 60))
        core, program = priced(Problem((Strip(12),), parts), 6)
        assert program.length * core.step_y == pytest.approx(180)

    def test_parts_that_may_turn_are_tried_both_ways(self) -> None:
        # On a strip of 9 no two of 5 lie side by side, so 100 of 5 x 6 upright take 600; turned, two
        # above one another fill the strip beside one of 3 x 10: 50 levels of 10, nothing wasted.
        long = Part("long", 3, 10, 50)
        upright, program = priced(Problem((Strip(9),), (long, Part("b", 5, 6, 100))), 30)
        assert program.length * upright.step_y == pytest.approx(600)
        both, program = priced(Problem((Strip(9),), (long, Part("b", 5, 6, 100, turnable=True))), 30)
        assert program.length * both.step_y == pytest.approx(500)


def _placements(core: Core, layout: Layout, parts: tuple[Part, ...]) -> tuple[Placement, ...]:
    seen, placed = Counter[int](), []
    number = {part.name: at for at, part in enumerate(parts)}
    for spot in layout:
        seen[spot.kind] += 1
        placed.append(Placement(number[str(spot.kind)], seen[spot.kind], spot.x, spot.y, spot.turned))
    return tuple(placed)


class TestLevelsFirst:
    @pytest.mark.parametrize("seed", some(range(8), 2))
    def test_layouts_hold_every_copy_once_and_keep_every_rule(self, seed: int) -> None:
        problem = order_of_many(seed, turns=seed % 2 > 0)
        core = core_of(problem)
        race = raced(core, 0.5)
        held = Counter(spot.kind for spot in laid(race))
        assert held == Counter({number: kind.copies for number, kind in enumerate(core.kinds)})
        length = length_of(race)
        broken = check_layout(problem, core.placements(laid(race)), length)
        assert broken == (), "\n".join(map(str, broken))
        assert length >= core.ticks(rows(core, lambda: False)[0].length)
        assert race.incumbents[-1].method.startswith("levels first, then ")

    def test_what_is_chosen_holds_no_copy_too_many_and_leaves_enough(self) -> None:
        core = core_of(order_of_many(5))
        race, search = Race(Budget(0, 5.0)), LevelsFirst(core, 0)
        levels, _ = search.levels(racing(core, race, 5.0))
        total = sum(kind.area * kind.copies for kind in core.kinds)
        for each in (3, 7):
            chosen = search.chosen(levels, each, racing(core, race, 2.0))
            assert chosen
            held = Counter[int]()
            for level, many in chosen:
                for kind, one in level.counts().items():
                    held[kind] += one * many
            assert all(held[number] <= kind.copies for number, kind in enumerate(core.kinds))
            rest = sum(kind.area * (kind.copies - held[number]) for number, kind in enumerate(core.kinds))
            assert rest * core.copies >= each * len(core.kinds) * total - core.copies

    def test_the_optimum_that_levels_reach(self) -> None:
        # The 30 full levels of 6 above: no fabric is wasted, so 180 is the least there can be; and the bound
        # by area says so, whereupon the race ends.
        parts = (Part("long", 8, 6, 30), Part("low", 4, 2, 60), Part("narrow", 2, 2, 60))
        result = pack(Problem((Strip(12),), parts), workers=1, work_limit=10.0)
        assert (result.length, result.bound.length) == (180, 180)

    def test_the_same_budget_and_seed_give_the_same_layout(self) -> None:
        core = core_of(order_of_many(2))
        first, again = raced(core, 0.4, turns=2), raced(core, 0.4, turns=2)
        assert laid(first) == laid(again)
        assert [i.length for i in first.incumbents] == [i.length for i in again.incumbents]
        assert first.budget.spent == again.budget.spent

    def test_nothing_is_offered_once_the_budget_is_spent(self) -> None:
        core = core_of(order_of_many(4))
        race = Race(Budget(0, 1.0))
        race.budget.charge(1.0)
        LevelsFirst(core, 0).run(racing(core, race, 1.0))
        assert race.best is None

    def test_a_turn_keeps_to_its_budget(self) -> None:
        # The last step before the end is at most a pricing, a breath of a search, or a pass of the rest.
        core = core_of(order_of_many(4))
        race = Race(Budget(0, 100.0))
        LevelsFirst(core, 0).run(racing(core, race, 0.6))
        assert race.budget.spent < 1.0

    def test_the_race_ends_as_soon_as_the_bound_is_met(self) -> None:
        core = core_of(order_of_many(6))
        longest = length_of(raced(core, 0.3))
        race = Race(Budget(0, 50.0))
        race.bounds[0] = type(race.bounds[0])(longest, "as good as found before")
        with pytest.raises(Finished):
            LevelsFirst(core, 0).run(racing(core, race, 0.3))
        assert length_of(race) == longest

    @pytest.mark.nightly
    def test_packing_goes_by_levels_and_is_repeatable(self) -> None:
        dice = random.Random(8)
        parts = tuple(
            Part(str(n), dice.randint(90, 290), dice.randint(90, 290), dice.randint(60, 120))
            for n in range(9)
        )
        problem = Problem((Strip(1000),), parts)
        result = pack(problem, workers=1, work_limit=1.5)
        assert_valid(problem, result)
        assert result.incumbents[-1].method.startswith("levels first, then ")
        again = pack(problem, workers=1, work_limit=1.5)
        assert (again.placements, again.length) == (result.placements, result.length)

    def test_levels_longer_than_the_best_are_not_gone_on_with(self) -> None:
        # 10 x 10 and 9 x 9 on a strip of 19: side by side in levels of 10, which is 1000 for 100 of each.
        problem = Problem((Strip(19),), (Part("a", 10, 10, 100), Part("b", 9, 9, 100)))
        core = core_of(problem)
        upright = tuple(Spot(0, 0, 10 * n) for n in range(100)) + tuple(
            Spot(1, 10, 9 * n) for n in range(100)
        )
        for waits, goes_on in ((0, False), (1, True)):
            race = Race(Budget(0, 10.0))
            race.offer(core, tuple(replace(spot, y=spot.y + waits) for spot in upright), "as drawn")
            assert LevelsFirst(core, 0).run(racing(core, race, 0.2)) is goes_on

    def test_the_rest_is_no_larger_for_a_larger_order(self) -> None:
        problem = order_of_many(7)
        left = []
        for times in (1, 100):
            parts = tuple(replace(part, copies=times * part.copies) for part in problem.parts)
            core = core_of(replace(problem, parts=parts))
            race, search = Race(Budget(0, 5.0)), LevelsFirst(core, 0)
            chosen = search.chosen(search.levels(racing(core, race, 5.0))[0], 3, racing(core, race, 4.0))
            left.append(core.copies - sum(many * sum(level.counts().values()) for level, many in chosen))
        assert left[1] <= 2 * left[0]


class TestWhereLevelsAreWorthIt:
    def test_not_for_few_copies(self) -> None:
        parts = tuple(Part(str(n), 5 + n, 9 + n, 8) for n in range(4))
        assert sum(part.copies for part in parts) < LEAST_COPIES
        assert not LevelsFirst(core_of(Problem((Strip(40),), parts)), 0).worthwhile

    def test_not_for_many_kinds(self) -> None:
        parts = tuple(Part(str(n), 5 + n % 7, 9 + n, 20) for n in range(MOST_KINDS + 1))
        assert not LevelsFirst(core_of(Problem((Strip(40),), parts)), 0).worthwhile

    def test_for_many_copies_of_few_kinds(self) -> None:
        assert LevelsFirst(core_of(order_of_many(0)), 0).worthwhile

    def test_not_under_a_repeat_or_with_flaws(self) -> None:
        plain = order_of_many(0)
        (strip,) = plain.strips
        flawed = Problem((Strip(strip.width, flaws=(Flaw(0, 0, 3, 3),)),), plain.parts)
        assert not LevelsFirst(core_of(flawed), 0).worthwhile
        matched = tuple(
            Part(part.name, part.width, part.length, part.copies, match=Match("room")) for part in plain.parts
        )
        printed = Problem((Strip(strip.width, repeat=Repeat(12)),), matched)
        assert not LevelsFirst(core_of(printed), 0).worthwhile
