"""Layouts grown side by side, and places across for rows that are settled."""

import itertools
import os
import random
import subprocess
import sys
from pathlib import Path

import pytest
from brute_force import optimal_length
from instances import guillotine_cutting, tiny_problem
from test_kernels import Checked, core_of

from nesting.packing import Part, Problem, Strip
from nesting.packing.bounds.bars import rows
from nesting.packing.kernels.abreast import Places, Settled
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout
from nesting.packing.searches import beam, rows_first
from nesting.packing.searches.beam import BeamSearch
from nesting.packing.turn import Budget
from tests.seeds import seeds, some
from tests.turns import turn_of

ROOT = Path(__file__).parents[1]


def never() -> bool:
    return False


def many_copies(seed: int) -> Problem:
    """Few large parts and many small ones, some of which may be turned."""
    rng = random.Random(seed)
    large = [Part(f"{i}", rng.randint(8, 25), rng.randint(8, 30), rng.randint(1, 2)) for i in range(5)]
    small = [Part(f"s{i}", rng.randint(2, 5), rng.randint(1, 6), rng.randint(3, 9), i == 0) for i in range(3)]
    return Problem((Strip(31),), (*large, *small))


def grow(core: Core, race: Race, seed: int, runs: int = 1) -> None:
    """So many runs, each to its end."""
    search = BeamSearch(core, seed)
    for _ in range(runs):
        limit = race.limit_in(core)
        started = False

        def over() -> bool:
            nonlocal started
            ended = started and not search.running
            started = True
            return ended

        longest = core.stacked if limit is None else limit
        search.run(turn_of(core, race, 0, longest, weights=rows(core, never)[1], until=over))


def grown(number: int) -> list[tuple[int, int, int, bool]]:
    """The best layout of a small run, as plain numbers."""
    beam.STAGES, beam.BEAM = (40,), 3
    core, race = core_of(many_copies(number)), Race(Budget(60.0))
    grow(core, race, number, runs=4)
    assert race.best is not None
    return [(s.kind, s.x, s.y, s.turned) for s in race.best[1]]


@pytest.mark.nightly
@pytest.mark.parametrize("number", range(3))
def test_plain_and_compiled_grow_alike(number: int) -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests')\n"
        "from test_beam import grown, KERNELS\n"
        "assert KERNELS.compiled == (sys.argv[1] == '1'); print(grown(int(sys.argv[2])))"
    )
    said = {
        subprocess.run(
            [sys.executable, "-c", code, form, str(number)],
            cwd=ROOT,
            env=os.environ | {"NESTING_COMPILED": form},
            capture_output=True,
            text=True,
            check=True,
        ).stdout
        for form in ("0", os.environ["NESTING_COMPILED"])
    }
    assert len(said) == 1


@pytest.mark.parametrize("seed", seeds(5, 20))
def test_every_layout_grown_is_valid(seed: int) -> None:
    problem = many_copies(seed)
    core, race = core_of(problem), Checked(Budget(60.0))
    race.problem = problem
    grow(core, race, seed, runs=2)
    assert race.offered


class Descending(Race):
    """Every layout offered is shorter than those before."""

    lengths: list[int]

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        assert layout is not None
        self.lengths.append(core.length_of(layout))
        return super().offer(core, layout, method)


@pytest.mark.parametrize("seed", seeds(0, 12))
def test_no_layout_takes_the_place_of_a_shorter_one(seed: int) -> None:
    # One that waits may end beyond a layout found meanwhile.
    core, race = core_of(many_copies(seed)), Descending(Budget(60.0))
    race.lengths = []
    grow(core, race, seed, runs=4)
    assert race.lengths == sorted(set(race.lengths), reverse=True)


@pytest.mark.parametrize("seed", seeds(10, 40))
def test_nothing_grown_beats_brute_force(seed: int) -> None:
    problem = tiny_problem(random.Random(seed), repeat=False, parts=4, flaws=0)
    core, race = core_of(problem), Checked(Budget(60.0))
    race.problem = problem
    if BeamSearch(core, seed).worthwhile and not core.open_arrows:
        grow(core, race, seed)
        assert race.length is not None
        assert race.length >= optimal_length(problem)


@pytest.mark.parametrize("seed", some(range(6), 2))
def test_layouts_without_waste_are_grown(seed: int) -> None:
    # Cut from 20 x 30 without waste, so no layout is shorter than 30.
    problem = guillotine_cutting(random.Random(seed), 20, 30, 8)
    core, race = core_of(problem), Race(Budget(60.0))
    for again in range(20):
        if race.length != 30:
            grow(core, race, 100 * seed + again)
    assert race.length == 30


def test_only_plain_fabric_with_a_choice_is_grown_on() -> None:
    assert not BeamSearch(core_of(Problem((Strip(9),), (Part("a", 4, 3, 5),))), 0).worthwhile
    assert not BeamSearch(core_of(Problem((Strip(9),), ())), 0).worthwhile
    assert BeamSearch(core_of(Problem((Strip(9),), (Part("a", 4, 3, 5), Part("b", 3, 2)))), 0).worthwhile


Row = tuple[int, int, int]
"""``(width, begin, end)`` of a part whose rows are settled."""


def abreast(
    width: int,
    parts: list[Row],
    low: list[int] | None = None,
    high: list[int] | None = None,
    steps: int = 2_000,
) -> list[int] | None:
    form, n = KERNELS.form, len(parts)
    px, room = form.zeros(n), 2 * n * (n + 1)
    wide, begin, end = ([part[at] for part in parts] for at in range(3))
    lows = [0] * n if low is None else low
    highs = [width - across for across in wide] if high is None else high
    settled = Settled(*map(form.array, (wide, lows, highs, begin, end)))
    places = Places(*map(form.zeros, (n, n + 1, room, room, n)))
    found = form.functions["abreast_search"](width, settled, steps, form.array([7]), px, places)
    return [int(x) for x in px] if found else None


@pytest.mark.parametrize("seed", some(range(60), 20))
def test_places_across_keep_parts_apart(seed: int) -> None:
    # The rows of a layout that exists, so there are places; in rows of three or four nearly all are found.
    rng = random.Random(seed)
    parts = list[Row]()
    for shelf in range(5):
        left = 40
        while left > 4:
            wide = rng.randint(4, left)
            parts.append((wide, 10 * shelf, 10 * shelf + rng.randint(2, 10)))
            left -= wide
    parts.sort(key=lambda part: (part[1], -part[0]))
    places = abreast(40, parts)
    assert places is not None
    for (i, one), (j, other) in itertools.combinations(enumerate(parts), 2):
        if one[1] < other[2] and other[1] < one[2]:
            assert places[i] + one[0] <= places[j] or places[j] + other[0] <= places[i]
    assert all(0 <= x <= 40 - part[0] for x, part in zip(places, parts, strict=True))


def test_places_across_keep_to_what_is_allowed() -> None:
    # 4 wide on a strip of 10 beside 3 that may begin at 5 only: to its left, if it may begin at 1 at most.
    parts = [(4, 0, 5), (3, 0, 5)]
    assert abreast(10, parts, [0, 5], [6, 5]) == [0, 5]
    assert abreast(10, parts, [1, 5], [6, 5]) == [1, 5]
    assert abreast(10, parts, [2, 5], [6, 5]) is None
    assert abreast(11, parts, [2, 5], [7, 5]) is None
    assert abreast(12, parts, [2, 5], [8, 5]) == [8, 5]


def test_rows_too_wide_have_no_places() -> None:
    assert abreast(10, [(6, 0, 5), (5, 2, 4)]) is None
    assert abreast(10, [(11, 0, 5)]) is None
    # Three stay side by side in three rows, and a fourth takes the place of one that ends.
    assert abreast(6, [(2, 0, 9), (2, 0, 3), (2, 0, 9), (2, 3, 9)]) is not None
    assert abreast(6, [(2, 0, 9), (2, 0, 9), (2, 0, 9)], steps=2) is None


@pytest.mark.parametrize("seed", some(range(12), 2))
def test_small_parts_are_laid_beside_large_ones(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    problem = many_copies(seed)
    core, race = core_of(problem), Checked(Budget(1.0))
    race.problem = problem
    search = rows_first.RowsFirst(core, seed)
    assert search.worthwhile
    monkeypatch.setattr(rows_first, "CHANGES", 5)
    area = sum(kind.area * kind.copies for kind in core.kinds)
    least = -(-area // core.width)
    search.run(turn_of(core, race, least, 2 * least, seconds=1.0))
    assert race.offered
