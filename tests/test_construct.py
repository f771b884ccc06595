"""First layouts and those of the order search keep every rule, however crowded the fabric."""

from __future__ import annotations

import random
from fractions import Fraction

import pytest

from nesting.check import check_layout
from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout, reduce
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import bands, fill, orders
from nesting.packing.searches.orders import OrderSearch, _Fill
from nesting.packing.searches.tight import TightSearch
from nesting.packing.turn import Budget
from tests.benchmarks.families import make
from tests.instances import guillotine_cutting
from tests.seeds import seeds, some
from tests.turns import turn_of


def larger_problem(seed: int) -> Problem:
    """Twenty to thirty copies in a pattern or on plain fabric, with flaws and turns."""
    rng = random.Random(seed)
    width = rng.randint(40, 90)
    drop = rng.choice((Fraction(0), Fraction(1, 2), Fraction(1, 3)))
    pattern = Repeat(6 * rng.randint(1, 5), rng.choice((None, 20, 35)) if not drop else 27, drop)
    strip = Strip(
        width,
        repeat=pattern if seed % 3 else None,
        flaws=tuple(
            Flaw(rng.randrange(-3, width), rng.randrange(60), rng.randint(1, 15), rng.randint(1, 15))
            for _ in range(rng.choice((0, 2, 5)))
        ),
        start=rng.randrange(30) if seed % 3 and rng.random() < 0.5 else None,
    )
    return Problem((strip,), tuple(_part(rng, i, width, seed % 3 > 0) for i in range(14)))


def _part(rng: random.Random, number: int, width: int, pattern: bool) -> Part:
    # At most a third of the strip wide, so that every seam group has a phase with room for all.
    w, h, copies = rng.randint(2, width // 3), rng.randint(2, 40), rng.randint(1, 3)
    if pattern and rng.random() < 0.6:
        match = Match(
            rng.choice(("room", "hall")),
            rng.choice((None, "left", "right")),
            rng.randint(-30, 60),
            rng.randint(-9, 30),
        )
        return Part(str(number), w, h, copies, match=match)
    return Part(str(number), w, min(h, width), copies, turnable=rng.random() < 0.5)


def assert_lies(problem: Problem, core: Core, layout: Layout | None) -> None:
    assert layout is not None
    broken = check_layout(problem, core.placements(layout), core.ticks(core.length_of(layout)))
    assert broken == (), "\n".join(map(str, broken))


@pytest.mark.parametrize("seed", seeds(6, 40))
class TestLargerProblems:
    def test_every_order_and_the_bands_lie(self, seed: int) -> None:
        problem = larger_problem(seed)
        core = reduce(problem)
        assert core is not None
        room = SeamRoom(core)
        tried = list(orders(core))
        assert len(tried) >= 4
        for _, order in tried:
            assert_lies(problem, core, fill(core, order, room))
        assert_lies(problem, core, bands(core, room))

    def test_a_random_order_lies(self, seed: int) -> None:
        problem = larger_problem(seed)
        core = reduce(problem)
        assert core is not None
        order = list(next(iter(orders(core)))[1])
        random.Random(seed).shuffle(order)
        assert_lies(problem, core, fill(core, tuple(order), SeamRoom(core)))

    def test_the_search_of_orders_lies_and_is_no_worse(self, seed: int) -> None:
        problem = larger_problem(seed)
        core = reduce(problem)
        assert core is not None
        race = Race(Budget(0, 0.2))
        first = fill(core, next(iter(orders(core)))[1], SeamRoom(core))
        assert first is not None
        OrderSearch(core, seed).run(turn_of(core, race))
        assert race.best is not None
        assert_lies(problem, *race.best)
        assert race.length is not None
        assert race.length <= core.ticks(core.length_of(first))


class TestFill:
    def _core(self, *parts: Part, strip: Strip | None = None) -> Core:
        core = reduce(Problem((strip or Strip(10),), parts), set_apart=False)
        assert core is not None
        return core

    def test_a_hole_is_filled(self) -> None:
        # The bridge of 11 lies on the pillar of 4 and leaves 7 x 5 below it.
        parts = (Part("pillar", 4, 5), Part("bridge", 11, 7), Part("small", 7, 4))
        core = self._core(*parts, strip=Strip(11))
        order = tuple(next(i for i, k in enumerate(core.kinds) if k.width == p.width) for p in parts)
        layout = fill(core, order, SeamRoom(core))
        assert layout is not None
        assert core.length_of(layout) == 12

    def test_it_gives_up_beyond_the_limit(self) -> None:
        core = self._core(Part("a", 10, 7), Part("b", 3, 3))
        order = (0, 1)
        assert fill(core, order, SeamRoom(core), limit=10) is not None
        assert fill(core, order, SeamRoom(core), limit=9) is None

    def test_a_part_width_laid_first_leaves_its_neighbor_a_place(self) -> None:
        # The full width has one place, 0; the part-width of place 9 then has x = 9 - 8 n only.
        strip = Strip(10, repeat=Repeat(4, 8))
        full = Part("full", 10, 5, match=Match("room", "panel", 0))
        rest = Part("rest", 3, 5, match=Match("room", "panel", 9))
        core = self._core(full, rest, strip=strip)
        order = (1, 0) if core.kinds[0].width == 10 else (0, 1)
        layout = fill(core, order, SeamRoom(core))
        assert layout is not None
        assert {spot.x for spot in layout if core.kinds[spot.kind].width == 3} == {1}


class TestNiches:
    @pytest.mark.parametrize("seed", some(range(10), 4))
    def test_what_it_finds_is_as_short_as_asked_and_lies(self, seed: int) -> None:
        rng = random.Random(seed)
        problem = guillotine_cutting(rng, 24, 30, 9)
        core = reduce(problem)
        assert core is not None
        rest = 30 // core.step_y - core.lone_length
        race = Race(Budget(0, 1))
        if core.kinds:
            TightSearch(core, seed).run(turn_of(core, race, rest, until=lambda: race.best is not None))
            assert race.best is not None
            assert_lies(problem, core, race.best[1])
            assert race.length == 30


def test_looking_at_the_best_order_changes_nothing_in_the_search() -> None:
    core = reduce(make("prints", 9).problem)
    assert core is not None
    looked, left_alone = _Fill(core), _Fill(core)
    order = next(order for _, order in orders(core))
    for way in (looked, left_alone):
        assert way.begin(order, 0, 7, core.stacked) is not None
    lengths = list[int]()
    for _ in range(12):
        looked.layout()
        lengths.append(looked.search(60, 0))
        assert left_alone.search(60, 0) == lengths[-1]
    assert len(set(lengths)) > 3
    assert looked.layout() == left_alone.layout()
