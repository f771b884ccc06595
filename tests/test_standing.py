"""Where across the pattern lets parts lie, rows searched with that, and prices of waiting."""

from __future__ import annotations

import itertools
import math
import random
from collections.abc import Sequence
from fractions import Fraction
from typing import Any

import pytest

from nesting.check import check_layout
from nesting.packing import Match, Part, Problem, Repeat, Strip
from nesting.packing.bounds.contiguous import Contiguous, PhasedRows, row_searches
from nesting.packing.bounds.row_search import RowSearch, kept
from nesting.packing.bounds.standing import alike, apart, as_one, narrowed, standings, strangers
from nesting.packing.bounds.waiting import Waiting, prices, waits
from nesting.packing.race import Race
from nesting.packing.reduce import Core, reduce
from nesting.packing.searches.rows_first import RowsFirst
from nesting.packing.turn import Budget, Goal, Turn
from tests.brute_force import optimal_length
from tests.instances import tiny_problem
from tests.row_searching import core_of, never, raised
from tests.seeds import seeds, some
from tests.turns import turn_of


def seamed(width: int, repeat: Repeat, *parts: tuple[int, int, int]) -> Core:
    """Parts ``(width, length, x)`` of one seam group, all different, the first as wide as the strip."""
    return core_of(
        Problem(
            (Strip(width, repeat=repeat),),
            tuple(
                Part(str(at), wide, long, match=Match("room", "panel", x, at))
                for at, (wide, long, x) in enumerate(parts)
            ),
        )
    )


def numbered(core: Core, *sizes: tuple[int, int]) -> list[int]:
    """Numbers of the kinds of these sizes."""
    return [next(i for i, kind in enumerate(core.kinds) if kind.ways[0][:2] == size) for size in sizes]


def test_a_seam_settled_leaves_one_place_in_each_column() -> None:
    # Columns of 4 on a strip of 9, the second 3 further along (half of 6). A is 9 wide, so its seam begins at
    # 0, and B, 3 wide and 1 to its right, at 1 or 5; not at 9, where it would end at 12.
    core = seamed(9, Repeat(6, 4, Fraction(1, 2)), (9, 5, 0), (3, 4, 1))
    found = [(way.near, way.far, way.starts) for way in standings(core, numbered(core, (3, 4)))]
    assert found == [(1, 1, (1,)), (5, 5, (4,))]


def test_without_a_seam_a_column_is_a_range() -> None:
    # The same pattern; a part 3 wide whose left edge lies 1 into a column begins the column anywhere from
    # there to the next: from 0 (in the column before), 1 to 4, 5 and 6 (where it ends at 9).
    part = Part("a", 3, 4, match=Match("room", None, 1, 2))
    core = core_of(Problem((Strip(9, repeat=Repeat(6, 4, Fraction(1, 2))),), (part,)))
    found = [(way.near, way.far, way.starts) for way in standings(core, [0])]
    assert found == [(0, 0, (5,)), (1, 4, (2,)), (5, 6, (5,))]


def test_widths_whose_places_cross_share_no_row() -> None:
    # Columns of 6 on a strip of 11. A is 11 wide, so its seam begins at 0; B and C of the same seam are 4
    # wide, 4 and 3 to its right. They begin at 4 and 3 only: side by side in no row, though 4 + 4 < 11.
    strip = Strip(11, repeat=Repeat(1, 6))
    parts = tuple(
        Part(name, width, 5, match=Match("room", "panel", x))
        for name, width, x in (("a", 11, 0), ("b", 4, 4), ("c", 4, 3))
    )
    core = core_of(Problem((strip,), parts))
    ways = standings(core, (0, 1, 2))
    assert strangers(ways, apart(core, ways)).all()
    assert raised(core, 5, 99)[-1] == 15


def between() -> Core:
    """On a strip of 13 with columns of 13: A is 13 x 1, so its seam begins at 0.

    L and R of that seam are 3 x 4, at the left and the right edge; F is 10 x 6 and may lie anywhere across.
    """
    panel = (("a", 13, 1, 0), ("l", 3, 4, 0), ("r", 3, 4, 10))
    parts = [Part(name, wide, long, match=Match("room", "panel", x)) for name, wide, long, x in panel]
    parts.append(Part("f", 10, 6, match=Match("room")))
    return core_of(Problem((Strip(13, repeat=Repeat(1, 13)),), tuple(parts)))


def test_one_part_lies_beside_two_only_where_both_leave_it_room() -> None:
    # By rows alone F (6) has L beside it and R from where L ends to 8, and A makes 9. But F beside L lies at
    # 3, and beside R at 0, so it has one of them only: 6 + 4 + 1 = 11.
    core = between()
    cut, dropped = narrowed(core, standings(core, range(len(core.kinds))))
    ways = [way for number, way in enumerate(cut) if number not in dict(dropped)]
    wide = core.kinds[numbered(core, (10, 6))[0]]
    assert [(way.near, way.far) for way in ways if core.kinds[way.kind] is wide] == [(0, 0), (3, 3)]
    assert raised(core, 1, 99)[-1] == 11
    kinds = tuple(range(len(core.kinds)))
    assert PhasedRows(RowSearch(core, kinds, never)).decide(9, turn_of(core)) is True
    standing = PhasedRows(RowSearch(core, kinds, never, standing=True))
    assert standing.layable
    assert standing.decide(10, turn_of(core)) is False
    assert standing.decide(11, turn_of(core)) is True


def test_parts_that_change_places_count_as_one_kind() -> None:
    # Two panels in the same pattern: their widths of 11 lie alike and share rows with nothing. The one of 4
    # begins at 4, the other at 0 or 6.
    strip = Strip(11, repeat=Repeat(1, 6))
    parts = tuple(
        Part(f"{panel}{width}", width, 5, match=Match("room", panel, x))
        for panel, at in (("left", 4), ("right", 0))
        for width, x in ((11, 0), (4, at))
    )
    core = core_of(Problem((strip,), parts))
    kinds = tuple(range(len(core.kinds)))
    ways = standings(core, kinds)
    separate = apart(core, ways)
    groups = alike(core, ways, separate)
    assert sorted(map(len, groups)) == [1, 1, 2]
    of_one, found = as_one(core, ways, separate, groups)
    assert len(of_one) == len(found) == 4
    assert found.all(axis=1).sum() == 1, "the two of 11 share a row with nothing, nor with one another"


@pytest.mark.parametrize("block", some(range(12), 2))
def test_places_across_refute_no_length_that_a_print_can_have(block: int) -> None:
    # 15,600 more such problems were tried with up to five parts; none was refuted.
    searched = 0
    for seed in range(9_000 + 20 * block, 9_020 + 20 * block):
        rng = random.Random(seed)
        parts, width = rng.randint(2, 4), rng.randint(3, 10)
        problem = tiny_problem(rng, True, parts=parts, width=width, margins=seed % 3 == 2)
        shortest, core = optimal_length(problem), reduce(problem, set_apart=False)
        if shortest is None or core is None:
            continue
        for search in (each for kinds in kept(core) for each in row_searches(core, kinds, never)):
            if isinstance(search, PhasedRows):
                searched += 1
                assert search.decide(shortest // core.step_y, turn_of(core)) is True
                assert_stands(core, search, shortest // core.step_y)
    assert searched > 20


@pytest.mark.parametrize("block", some(range(4), 1))
def test_what_is_refuted_with_a_phase_open_is_so_with_every_phase(block: int) -> None:
    refuted = 0
    for seed in range(20 * block, 20 * block + 20):
        rng = random.Random(seed)
        period, width = rng.randint(4, 9), rng.randint(4, 9)
        parts = tuple(
            Part(
                str(at), rng.randint(1, width), rng.randint(1, 12),
                match=Match(rng.choice("ab") if at > 1 else "ab"[at], y=rng.randrange(period)),
            )
            for at in range(rng.randint(4, 6))
        )  # fmt: skip
        core = core_of(Problem((Strip(width, repeat=Repeat(period)),), parts))
        assert core.repeat is not None
        search = RowSearch(core, range(len(core.kinds)), never)
        least = sum(kind.area * kind.copies for kind in core.kinds) // core.width
        for longest in range(least, least + 2 * period, 2):
            phase = rng.randrange(core.repeat.length)
            if search.decide(longest, turn_of(core), {"a": phase}) is False:
                refuted += 1
                for other in range(core.repeat.length):
                    assert search.decide(longest, turn_of(core), {"a": phase, "b": other}) is False
    assert refuted > 40


def assert_stands(core: Core, search: PhasedRows, longest: int) -> None:
    """Each copy once, where its column and the phases say, and no two where they cannot be in one row."""
    assert core.repeat is not None
    stood = search.stood
    phases: dict[str, set[int]] = {}
    for kind, way, y in stood:
        part = core.kinds[kind]
        assert way.kind == kind
        assert 0 <= y <= longest - part.ways[0][1]
        if part.match is not None:
            found = {(y - start) % core.repeat.length for start in way.starts}
            phases[part.match.level] = phases.get(part.match.level, found) & found
    assert all(phases.values())
    if search.layable:
        ways = [way for _, way, _ in stood]
        separate = apart(core, ways)
        for (a, one), (b, other) in itertools.combinations(enumerate(stood), 2):
            if one[2] < other[2] + core.kinds[other[0]].ways[0][1] and (
                other[2] < one[2] + core.kinds[one[0]].ways[0][1]
            ):
                assert not separate[a][b]


class Laying(Goal):
    """Layouts are made of all rows that are found."""

    def __init__(self, core: Core, seed: int) -> None:
        super().__init__(core)
        self._search = RowsFirst(core, seed)

    def lay(self, turn: Turn, stood: Sequence[Any], least: int, length: int) -> int | None:
        layout = self._search.completed(tuple(stood), turn, least, length)
        turn.offer(self.core, layout, "test")
        return None if layout is None else self.core.length_of(layout)


@pytest.mark.nightly
def test_layouts_are_made_of_rows_with_places_across() -> None:
    made = 0
    for seed in range(200):
        rng = random.Random(seed)
        parts, width = rng.randint(2, 4), rng.randint(3, 10)
        problem = tiny_problem(rng, True, parts=parts, width=width, margins=seed % 3 == 2)
        shortest, core = optimal_length(problem), reduce(problem, set_apart=False)
        if shortest is None or core is None or all(kind.match is None for kind in core.kinds):
            continue
        state = Race(Budget(0, 30.0))
        turn = Turn(state, Laying(core, seed), math.inf)
        list(Contiguous(core, never).raised(0, core.stacked, turn))
        if state.best is not None:
            made += 1
            assert state.length is not None
            assert state.length >= shortest
            assert check_layout(problem, core.placements(state.best[1]), state.length, shortest) == ()
    assert made > 60


@pytest.mark.parametrize("seed", seeds(10, 40))
def test_prices_of_waiting_are_what_the_cheapest_order_pays(seed: int) -> None:
    """One lane for each unit of weight: the cheapest way that each part is followed by one, by trying all."""
    rng = random.Random(seed)
    period, most = rng.randint(2, 12), rng.randint(1, 2)
    longest = rng.randint(30, 60)
    classes = [
        Waiting(
            tuple(sorted(rng.sample(range(period), rng.randint(0, min(2, period))))),
            rng.randint(1, 20),
        )
        for _ in range(rng.randint(1, 2))
    ]
    weights = [rng.randint(1, 2) for _ in classes]
    found = prices(waits(classes, longest, period), weights, most)
    of_class = [c for c, weight in enumerate(weights) for _ in range(weight)]
    ends = [*(classes[c] for c in of_class), *[Waiting((0,), 0)] * most]
    begins = [*(classes[c] for c in of_class), *[Waiting((longest,), 0)] * most]

    def wait(i: int, j: int) -> int:
        if i >= len(ends) - most and j >= len(begins) - most:
            return longest
        one, other = ends[i], begins[j]
        if not one.begins or not other.begins:
            return 0
        return min((b - a - one.length) % period for a in one.begins for b in other.begins)

    cheapest = min(
        sum(wait(i, j) for i, j in enumerate(order)) for order in itertools.permutations(range(len(ends)))
    )
    after = [found.after[c] for c in of_class] + [found.first] * most
    before = [found.before[c] for c in of_class] + [found.last] * most
    for i, j in itertools.product(range(len(ends)), range(len(begins))):
        assert after[i] + before[j] <= wait(i, j)
    assert sum(after) + sum(before) == cheapest
