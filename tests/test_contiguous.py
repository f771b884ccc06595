"""Rows in one piece: the search refutes a length exactly where trying everything finds no rows."""

from __future__ import annotations

import random
from collections.abc import Sequence

import pytest

from nesting.check import check_layout
from nesting.packing import Match, Part, Placement, Problem, Repeat, Strip, pack
from nesting.packing.bounds.bars import rows
from nesting.packing.bounds.contiguous import Contiguous
from nesting.packing.bounds.lengthwise import Columns, across
from nesting.packing.bounds.row_search import RowSearch, kept, written
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.race import Race
from nesting.packing.reduce import Core, reduce
from nesting.packing.searches.rows_first import RowsFirst
from nesting.packing.turn import Budget
from tests.brute_force import optimal_length
from tests.fuzz.rows import run
from tests.instances import guillotine_cutting, tiny_problem
from tests.row_searching import core_of, never, race, raised
from tests.seeds import seeds, some
from tests.turns import turn_of


def small(seed: int) -> Problem:
    """Up to five copies, some turnable, which the search leaves out."""
    rng = random.Random(seed)
    width = rng.randint(4, 10)
    parts, left = list[Part](), rng.randint(2, 5)
    while left:
        copies = min(left, rng.choice((1, 1, 2, 3)))
        turns = rng.random() < 0.15
        parts.append(Part(str(left), rng.randint(1, width), rng.randint(1, 6), copies, turnable=turns))
        left -= copies
    return Problem((Strip(width),), tuple(parts))


def has_rows(sizes: Sequence[tuple[int, int]], width: int, longest: int) -> bool:
    """Whether parts have rows within a length, by every y of every copy; equal ones in order of y."""
    used = [0] * longest

    def lay(number: int, lowest: int) -> bool:
        if number == len(sizes):
            return True
        across, along = sizes[number]
        follows = number + 1 < len(sizes) and sizes[number + 1] == sizes[number]
        for y in range(lowest, longest - along + 1):
            if all(used[row] + across <= width for row in range(y, y + along)):
                for row in range(y, y + along):
                    used[row] += across
                if lay(number + 1, y if follows else 0):
                    return True
                for row in range(y, y + along):
                    used[row] -= across
        return False

    return lay(0, 0)


def sizes_of(core: Core, kinds: Sequence[int]) -> list[tuple[int, int]]:
    """Across and along of each copy."""
    return [core.kinds[i].ways[0][:2] for i in kinds for _ in range(core.kinds[i].copies)]


def assert_rows(core: Core, search: RowSearch, longest: int) -> None:
    """What the search says it has found: every copy once, within the length, no row too wide."""
    used = [0] * longest
    for kind, _, y in search.stood:
        across, along, _ = core.kinds[kind].ways[0]
        assert 0 <= y <= longest - along
        for row in range(y, y + along):
            used[row] += across
    assert max(used) <= core.width
    begun = sorted(kind for kind, _, _ in search.stood)
    assert begun == sorted(kind for kind in search.kinds for _ in range(core.kinds[kind].copies))


@pytest.mark.parametrize("block", seeds(2, 16))
def test_it_decides_as_trying_everything_does(block: int) -> None:
    for seed in range(25 * block, 25 * block + 25):
        problem = small(seed)
        core, optimum = core_of(problem), optimal_length(problem)
        assert optimum is not None
        for kinds in kept(core):
            search, sizes = RowSearch(core, kinds, never), sizes_of(core, kinds)
            search.reorder(seed % 3)
            least = max(along for _, along in sizes)
            while not has_rows(sizes, core.width, least):
                assert search.decide(least, turn_of(core)) is False
                least += 1
            # A layout has its rows, so they are never longer than the shortest one.
            assert core.ticks(least) <= optimum
            for longest in range(least, least + 3):
                assert search.decide(longest, turn_of(core)) is True
                assert_rows(core, search, longest)


@pytest.mark.parametrize("seed", some(range(30), 6))
def test_it_decides_larger_ones_as_cp_sat_does(seed: int) -> None:
    """Enough copies for cases to be met again; the model knows rows by a cumulative rule of its own."""
    rng = random.Random(seed)
    width = rng.randint(12, 40)
    parts = tuple(
        Part(str(i), rng.randint(2, width // 2 + 2), rng.randint(2, 15), rng.randint(1, 3)) for i in range(6)
    )
    core = core_of(Problem((Strip(width),), parts))
    kinds = list(kept(core))[-1]
    search = RowSearch(core, kinds, never)
    model = LayoutModel(core, core.stacked, kinds=kinds, rows_only=True)
    outcome = model.solve(race(), 20, 1)
    assert outcome.closed
    assert search.decide(outcome.bound - 1, turn_of(core)) is False
    assert search.decide(outcome.bound, turn_of(core)) is True
    assert_rows(core, search, outcome.bound)


def test_asked_again_it_finds_other_rows() -> None:
    # One of 2 beside one of 3 on a strip of 5, and one of 4 before or behind them: two ways at least.
    core = core_of(Problem((Strip(5),), (Part("a", 2, 3), Part("b", 3, 2), Part("c", 4, 1))))
    search, found = RowSearch(core, (0, 1, 2), never), set()
    while search.decide(4, turn_of(core)):
        assert_rows(core, search, 4)
        rows = tuple((kind, y) for kind, _, y in search.stood)
        assert rows not in found
        found.add(rows)
    assert len(found) >= 2
    assert search.decide(3, turn_of(core)) is False


def test_out_of_time_it_does_not_know() -> None:
    core = core_of(Problem((Strip(5),), (Part("a", 2, 3), Part("b", 3, 2), Part("c", 4, 1))))
    assert RowSearch(core, (0, 1, 2), never).decide(4, turn_of(core, until=lambda: True)) is None


def test_it_sees_that_bars_would_be_torn_apart() -> None:
    # Three of 3 x 3 on a strip of 6: nine bars, two in a row, so 5, and with 1 x 1 still 5. In one piece two
    # share their rows and the third waits: 6.
    core = core_of(Problem((Strip(6),), (Part("a", 3, 3, copies=3), Part("b", 1, 1))))
    assert rows(core, never)[0].length == 5
    assert raised(core, 5, 9)[-1] == 6


def test_the_bound_rises_to_the_limit_and_no_further() -> None:
    core = core_of(Problem((Strip(6),), (Part("a", 3, 3, copies=3), Part("b", 1, 1))))
    assert raised(core, 5, 5) == [6]
    assert raised(core, 6, 9) == []
    bound = Contiguous(core, never)
    assert bound.open(5)
    assert list(bound.raised(5, 9, turn_of(core)))[-1].length == 6
    assert not bound.open(6), "what has rows in 6 refutes no 6"


def test_kinds_that_may_turn_are_left_out() -> None:
    core = core_of(
        Problem((Strip(9),), (Part("a", 8, 3, 2), Part("b", 7, 2), Part("c", 9, 5, turnable=True)))
    )
    for kinds in kept(core):
        assert all(len(core.kinds[i].ways) == 1 for i in kinds)
    assert [len(kinds) for kinds in kept(core)] == [2]


def of_rows_first(problem: Problem, longest: int, target: int, seed: int) -> tuple[Core, Race]:
    """A search by rows first on its own, up to a target or the end of its work."""
    core = core_of(problem)
    search, state = RowsFirst(core, seed), Race(Budget(0, 12.0))
    assert search.worthwhile
    while state.budget.left > 0 and (state.length is None or state.length > core.ticks(target)):
        limit = state.limit_in(core)
        search.run(turn_of(core, state, target, longest if limit is None else limit, seconds=3.0))
    return core, state


@pytest.mark.parametrize("seed", range(4))
def test_rows_first_finds_layouts_without_waste(seed: int) -> None:
    # Cut from 20 x 30 without waste, so no layout is shorter than 30.
    problem = guillotine_cutting(random.Random(seed), 20, 30, 10)
    core, state = of_rows_first(problem, core_of(problem).stacked, 30 // core_of(problem).step_y, seed)
    assert state.length == 30
    assert state.best is not None
    assert check_layout(problem, core.placements(state.best[1]), 30, 30) == ()


@pytest.mark.parametrize("seed", some(range(6), 3))
def test_rows_first_meets_brute_force(seed: int) -> None:
    problem = small(1000 + seed)
    optimum, core = optimal_length(problem), core_of(problem)
    assert optimum is not None
    if len(list(kept(core))) == 0:
        return
    core, state = of_rows_first(problem, core.stacked, optimum // core.step_y, seed)
    assert state.length == optimum
    assert state.best is not None
    assert check_layout(problem, core.placements(state.best[1]), optimum, optimum) == ()


def matched(seed: int) -> Problem:
    """A tiny problem, under a repeat more often than not; the start of the bolt is known now and then."""
    rng = random.Random(seed)
    return tiny_problem(
        rng, rng.random() < 0.85, parts=rng.randint(2, 4), width=rng.randint(3, 9),
        turns=rng.random() < 0.2, arrows=False, flaws=0, start=rng.random() < 0.2, margins=seed % 3 == 2,
    )  # fmt: skip


@pytest.mark.parametrize("block", seeds(3, 10))
def test_no_length_that_a_print_can_have_is_refuted(block: int) -> None:
    # Seeds 57 and 64 gave bounds above the optimum while phases were ruled out by parts not searched.
    for seed in range(30 * block, 30 * block + 30):
        problem = matched(seed)
        core, shortest = reduce(problem), optimal_length(problem)
        if core is not None and shortest is not None:
            limit = core.stacked
            found = raised(core, 0, limit)
            assert core.ticks(found[-1] if found else 0) <= shortest


def test_phases_that_count_are_those_where_something_ends() -> None:
    # On a strip of 4 with a repeat of 5: A is 4 x 3 at the foot of the pattern, B is 4 x 4 of another room.
    # One behind the other is as short as on plain fabric, for B's phase is free: 7. Two of A must be 5 apart,
    # so with B (4, more than the 2 between them) the least is 3 + 2 + 3 + 4 = 12.
    strip = Strip(4, repeat=Repeat(5))
    rooms = Part("a", 4, 3, match=Match("one")), Part("b", 4, 4, match=Match("other"))
    assert raised(core_of(Problem((strip,), rooms)), 1, 99)[-1] == 7
    three = (Part("a", 4, 3, 2, match=Match("one")), rooms[1])
    assert raised(core_of(Problem((strip,), three)), 1, 99)[-1] == 12


@pytest.mark.parametrize("block", seeds(2, 8))
def test_columns_are_decided_as_trying_everything_does(block: int) -> None:
    for seed in range(25 * block, 25 * block + 25):
        problem = small(seed)
        core, optimum = core_of(problem), optimal_length(problem)
        assert optimum is not None
        for length in range(1, optimum // core.step_y + 2):
            turned = across(core, length)
            every = tuple(range(len(turned.kinds)))
            answer = Columns(core, every).decide(length, turn_of(core)) if every else True
            sizes = sizes_of(turned, every)
            fits = all(wide <= length for wide, _ in sizes)
            assert answer is (fits and has_rows(sizes, length, core.width))
            if core.ticks(length) >= optimum:
                assert answer, "a layout has its columns"


def test_cases_are_told_apart_by_all_their_numbers() -> None:
    """A search that remembered sums only called 54 optimal: parts that end at {8, 10} and at {7, 11} alike.

    By hand, 50 long on a strip of 5 whose pattern repeats every 7: a at (1, 5), (3, 19), (0, 40), (2, 40),
    b at (3, 5), (3, 12), (0, 26), (0, 33), c at (0, 3), (2, 17), (4, 31).
    """
    a, b, c = (Match("one", y=y) for y in (5, 5, 3))
    parts = (Part("a", 2, 8, 4, match=a), Part("b", 2, 7, 4, match=b), Part("c", 1, 19, 3, match=c))
    problem = Problem((Strip(5, repeat=Repeat(7), start=0),), parts)
    places = (
        [(1, 5), (3, 19), (0, 40), (2, 40)],
        [(3, 5), (3, 12), (0, 26), (0, 33)],
        [(0, 3), (2, 17), (4, 31)],
    )
    laid = [
        Placement(part, copy, x, y) for part, at in enumerate(places) for copy, (x, y) in enumerate(at, 1)
    ]
    assert check_layout(problem, laid, 50) == ()
    assert max(raised(core_of(problem), 0, 99)) <= 50
    found = pack(problem, work_limit=6.0, workers=1)
    assert (found.length, found.bound.length) == (50, 50)


def test_what_is_left_is_written_in_numbers_of_their_own() -> None:
    # Two kinds of 3 and 4 copies: 0 to 3 counts in ones, the other in fours; a kind of 2**61 needs a number.
    assert written([3, 4]) == ([0, 0], [1, 4], 1)
    assert written([3, 2**61, 5]) == ([0, 1, 2], [1, 1, 1], 3)
    for left in range(4):
        for other in range(5):
            assert divmod(left + 4 * other, 4) == (other, left)


@pytest.mark.parametrize("block", seeds(1, 8))
def test_what_is_remembered_changes_no_answer(block: int) -> None:
    """Many equal copies, so that cases are met again; ``python -m tests.fuzz rows`` tries more."""
    decided, differ = run(10, 10 * block)
    assert decided >= 3
    assert differ == []


def test_numbers_too_large_are_not_searched() -> None:
    long = Part("a", 3, 2**30, 40), Part("b", 2, 2**30 - 1, 40)
    core = core_of(Problem((Strip(400_000),), (*long, Part("c", 399_999, 1))))
    assert RowSearch(core, range(3), never).decide(2**36, turn_of(core)) is None
