"""Compiled or as they stand, the kernels give the same layouts, and only valid ones."""

import inspect
import itertools
import math
import os
import random
import re
import shutil
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from types import FunctionType
from typing import Any

import numpy as np
import pytest
from assertions import assert_valid
from brute_force import optimal_length
from instances import cut_pattern, guillotine_cutting, tiny_problem

import nesting
from nesting.check import check_layout
from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip, pack
from nesting.packing.bounds.places import placed_rows
from nesting.packing.bounds.row_search import RowSearch
from nesting.packing.kernels import compiled
from nesting.packing.kernels.compiled import KERNELS, KernelForm, Kernels
from nesting.packing.kernels.skyline import ROWS, RULES
from nesting.packing.pace import Credits
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout, reduce
from nesting.packing.schedule import PARAMS
from nesting.packing.searches.construct import orders
from nesting.packing.searches.fitting import FitSearch
from nesting.packing.searches.orders import OrderSearch, _Skyline
from nesting.packing.searches.tight import TightSearch
from nesting.packing.turn import Budget, Goal, Turn
from tests.seeds import seeds, some
from tests.turns import turn_of

ROOT = Path(__file__).parents[1]


def print_problem() -> Problem:
    """Two joined panels in a half drop, with facings to fill the gaps and a flaw in the way."""
    strip = Strip(55, repeat=Repeat(26, 27, Fraction(1, 2)), flaws=(Flaw(10, 60, 3, 2),))
    parts = [
        Part(f"{side}{i}", width, 104, match=Match("room", side, x=54 * i, y=-8))
        for side in ("left", "right")
        for i, width in ((0, 55), (1, 21))
    ]
    parts.append(Part("facing", 38, 5, copies=3))
    parts.append(Part("tab", 5, 4, copies=11, turnable=True))
    return Problem((strip,), tuple(parts))


def plain_problem(seed: int) -> Problem:
    rng = random.Random(seed)
    parts = tuple(
        Part(str(i), rng.randint(2, 30), rng.randint(2, 30), copies=rng.randint(1, 3), turnable=i % 3 == 0)
        for i in range(12)
    )
    return Problem((Strip(53),), parts)


def core_of(problem: Problem) -> Core:
    core = reduce(problem)
    assert core is not None
    return core


WORK = 3e-4


def searched(problem: Problem, seed: int) -> list[tuple[int, int, int, bool]]:
    """The best layout of a short search, as plain numbers."""
    core = core_of(problem)
    race = Race(Budget(0.0, WORK))
    OrderSearch(core, seed).run(turn_of(core, race))
    assert race.best is not None
    layouts = [race.best[1]]
    if core.phases is not None:
        # Two thirds of the way to the bound, so that something is found and something is not.
        race, area = Race(Budget(0.0, WORK)), sum(k.area * k.copies for k in core.kinds)
        least = -(-area // core.width)
        longest = (2 * least + core.length_of(layouts[0])) // 2
        if not core.plain:
            # The least is asked for first, and the bound would not be found.
            least = longest = core.length_of(layouts[0])
        FitSearch(core, seed).run(turn_of(core, race, least, longest))
        assert race.best is not None
        layouts.append(race.best[1])
    return [(s.kind, s.x, s.y, s.turned) for layout in layouts for s in layout]


PROBLEMS = [print_problem(), plain_problem(1), plain_problem(2), cut_pattern(random.Random(9), 53, 80, 24, 7)]


def test_the_tests_run_on_machine_code() -> None:
    # Set by conftest; without numba, or with NESTING_COMPILED=0, the next tests would compare like with like.
    assert KERNELS.compiled == (os.environ["NESTING_COMPILED"] == "1")


@pytest.mark.parametrize("number", some(range(len(PROBLEMS)), 2))
def test_plain_and_compiled_search_alike(number: int) -> None:
    code = (
        "import sys; sys.path.insert(0, 'tests')\n"
        "from test_kernels import PROBLEMS, searched, KERNELS\n"
        f"assert not KERNELS.compiled; print(searched(PROBLEMS[{number}], 5))"
    )
    plain = subprocess.run(
        [sys.executable, "-c", code],
        cwd=ROOT,
        env=os.environ | {"NESTING_COMPILED": "0"},
        capture_output=True,
        text=True,
        check=True,
    )
    assert plain.stdout.strip() == str(searched(PROBLEMS[number], 5))


#: Kernels that are longer than a hundred lines: may only shrink.
LONG: frozenset[str] = frozenset()
MOST_LINES, MOST_PARAMETERS = 100, 12


def plain_kernels() -> dict[str, FunctionType]:
    return {
        name: kernel for module in compiled.MODULES for name, kernel in compiled.kernels_of(module).items()
    }


def test_kernels_stay_small() -> None:
    kernels = plain_kernels()
    assert len(kernels) > 30
    lines = {name: len(inspect.getsource(kernel).splitlines()) for name, kernel in kernels.items()}
    assert {name for name, count in lines.items() if count > MOST_LINES} == LONG
    parameters = {name: len(inspect.signature(kernel).parameters) for name, kernel in kernels.items()}
    assert not [name for name, count in parameters.items() if count > MOST_PARAMETERS]


def test_kernels_called_from_outside_are_named_so() -> None:
    """Only these can be called from Python once they are machine code."""
    sources = (path.read_text(encoding="utf-8") for path in Path(nesting.__file__).parent.rglob("*.py"))
    asked = {name for source in sources for name in re.findall(r"""functions\["(\w+)"\]""", source)}
    assert asked == {name for name in plain_kernels() if name.endswith(compiled._CALLED)}


def test_a_kernel_is_compiled_for_what_it_says() -> None:
    for name, kernel in KERNELS.form.functions.items():
        (signature,) = kernel.signatures
        assert len(signature) == len(inspect.signature(plain_kernels()[name]).parameters)
    # A number where it asks for numbers, or a list where it asks for an array, is refused.
    with pytest.raises(TypeError, match="No matching definition"):
        KERNELS.form.functions["heaviest_row"](2, [1], [1], [0] * 3, [0] * 3, [0] * 3)


def tree(folder: Path) -> set[tuple[str, int]]:
    return {(str(path.relative_to(folder)), path.stat().st_mtime_ns) for path in folder.rglob("*")}


@pytest.mark.nightly
@pytest.mark.skipif(sys.platform != "linux", reason="where the cache of a user lies is told as on Linux")
def test_an_installation_that_is_only_read_uses_kernels_from_the_users_cache(tmp_path: Path) -> None:
    """It once looked for them beside the kernels: there a compiler ran in every run, and never to an end."""
    installed, cache = tmp_path / "installed", tmp_path / "cache"
    without = shutil.ignore_patterns("__pycache__")
    shutil.copytree(Path(nesting.__file__).parent, installed / "nesting", ignore=without)
    before = tree(installed)
    settings = {**os.environ, "PYTHONPATH": str(installed), "PYTHONDONTWRITEBYTECODE": "1"}

    def told(compiled: str, place: Path, then: str) -> str:
        code = "import nesting\nfrom nesting.packing.kernels.compiled import KERNELS, cache_folder\n" + then
        words = [sys.executable, "-P", "-c", f"import sys; sys.path.insert(0, {str(installed)!r})\n{code}"]
        more = {"NESTING_COMPILED": compiled, "XDG_CACHE_HOME": str(place)}
        ran = subprocess.run(
            words, env=settings | more, cwd=tmp_path, capture_output=True, text=True, check=True
        )
        return ran.stdout.strip()

    assert (
        told("1", cache, "print(nesting.__file__, KERNELS.compiled)")
        == f"{installed}/nesting/__init__.py True"
    )
    (place,) = (cache / "nesting" / "kernels").iterdir()
    assert (place / "complete").exists()
    assert any(place.rglob("*.nbc"))
    assert tree(installed) == before
    # Without a word they are brought from there, and no compiler is started.
    asked = "KERNELS.prepare(); print(KERNELS.compiled, KERNELS._compiler)"
    assert told("", cache, asked) == "True None"
    # Where nothing can be kept at all, plain functions it is, and no compiler either.
    assert told("", Path("/dev/null/none"), f"print(cache_folder()); {asked}") == "None\nFalse None"


def test_one_compiler_for_many_plans(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """Plans that begin before there is machine code once had a compiler each, all at once."""
    ran = list[str]()

    def compile_all() -> None:
        ran.append("began")
        time.sleep(0.05)
        ran.append("ended")
        (tmp_path / compiled._MARK).touch()

    monkeypatch.setattr(compiled, "compile_all", compile_all)
    monkeypatch.setattr(compiled, "cache_folder", lambda: tmp_path)
    started = [threading.Thread(target=compiled.compile_in_turn) for _ in range(4)]
    for thread in started:
        thread.start()
    for thread in started:
        thread.join()
    assert ran == ["began", "ended"]


def test_the_compiler_of_a_plan_waits_for_its_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    words = list[str]()

    def started(said: list[str], **more: object) -> None:
        words.extend(said)
        raise OSError

    monkeypatch.setattr(compiled, "cache_folder", lambda: Path("nowhere"))
    monkeypatch.setattr(subprocess, "Popen", started)
    monkeypatch.delenv("NESTING_COMPILED")
    Kernels().prepare()
    assert "compile_in_turn()" in words[-1]


@pytest.mark.parametrize("number", range(len(PROBLEMS)))
def test_searched_layouts_are_valid(number: int) -> None:
    problem = PROBLEMS[number]
    assert_valid(problem, pack(problem, workers=1, work_limit=0.5, seed=number))


@pytest.mark.parametrize("seed", seeds(6, 20))
def test_fill_never_beats_brute_force(seed: int) -> None:
    problem = tiny_problem(
        random.Random(seed), repeat=True, parts=4, flaws=seed % 2 == 0, margins=seed % 3 == 0
    )
    core = core_of(problem)
    race = Race(Budget(0.0, WORK))
    OrderSearch(core, seed).run(turn_of(core, race))
    if race.length is not None:
        assert race.length >= optimal_length(problem)


class Checked(Race):
    """Every layout that is offered must keep all rules, be it the shortest or not."""

    problem: Problem
    offered = 0

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        assert layout is not None
        length = core.ticks(core.length_of(layout))
        assert check_layout(self.problem, core.placements(layout), length) == (), method
        self.offered += 1
        return super().offer(core, layout, method)


@pytest.mark.parametrize("seed", some(range(30), 8))
def test_every_order_is_laid_as_it_was_found(seed: int) -> None:
    # A part may be exactly one longer than the best length; what is given up at the strip's edges must not
    # depend on that, or the best order, laid once more, gives another layout.
    rng = random.Random(seed)
    parts = [
        Part(f"{i}", rng.randint(3, 16), rng.randint(3, 16), rng.randint(3, 10), turnable=True)
        for i in range(3)
    ]
    small = Part("small", 2, 1, 9)
    problem = Problem((Strip(30),), (*parts, small) if seed % 3 == 0 else tuple(parts))
    core, race = core_of(problem), Checked(Budget(0.0, 0.02))
    race.problem = problem
    OrderSearch(core, seed).run(turn_of(core, race))
    assert race.offered


@pytest.mark.parametrize("rule", range(RULES))
@pytest.mark.parametrize("seed", some(range(10), 2))
def test_every_rule_lays_validly(rule: int, seed: int) -> None:
    rng = random.Random(seed)
    parts = [
        Part(f"{i}", rng.randint(2, 12), rng.randint(2, 12), rng.randint(1, 9), turnable=i == 1)
        for i in range(4)
    ]
    problem = Problem((Strip(30),), tuple(parts))
    core, race = core_of(problem), Checked(Budget(1.0))
    race.problem = problem
    for _, order in orders(core):
        way = _Skyline(core)
        assert way.begin(order, rule, seed + 1, core.stacked) is not None
        way.search(200, 0)
        race.offer(core, way.layout(), "skyline")


def test_rows_of_copies_are_laid_as_one() -> None:
    # Seven tabs are as wide as the fabric together, one by one none is.
    core = core_of(Problem((Strip(28),), (Part("panel", 9, 9, 2), Part("tab", 4, 3, 7))))
    panel, tab = (next(i for i, kind in enumerate(core.kinds) if kind.copies == n) for n in (2, 7))
    order = (panel, panel, *[tab] * 7)
    for rule, at_the_end in ((0, 2), (ROWS, 7)):
        way = _Skyline(core)
        assert way.begin(order, rule, 1, core.stacked) is not None
        assert sum(spot.y == 0 and spot.kind == tab for spot in way.layout()) == at_the_end


def test_with_all_rows_set_apart_there_is_no_order_to_search() -> None:
    core = core_of(Problem((Strip(5),), (Part("a", 4, 3, 2), Part("b", 3, 2))))
    assert core.kinds == ()
    assert not OrderSearch(core, 0).worthwhile


@pytest.mark.parametrize("seed", some(range(8), 3))
def test_niches_are_filled_without_waste(seed: int) -> None:
    problem, length = guillotine_cutting(random.Random(seed), 20, 30, 12), 30
    core = core_of(problem)
    race = Race(Budget(0.0, 5.0))
    search = TightSearch(core, seed)
    target = length // core.step_y - core.lone_length
    if core.kinds:
        assert search.slack(target) == 0
        search.run(turn_of(core, race, target, until=lambda: race.length is not None))
        assert race.length == length


@pytest.mark.parametrize("seed", some(range(8), 3))
def test_a_fixed_length_is_filled(seed: int) -> None:
    problem, length = guillotine_cutting(random.Random(seed), 20, 30, 12), 30
    core = core_of(problem)
    race = Race(Budget(0.0, 5.0))
    target = length // core.step_y - core.lone_length
    search = FitSearch(core, seed)
    if search.worthwhile:
        search.run(turn_of(core, race, target, target + 5, until=lambda: race.length == length))
        assert race.length == length
        assert race.best is not None
        placements = core.placements(race.best[1])
        assert check_layout(problem, placements, length, length) == ()


@pytest.mark.parametrize("way", ["niches", "fixed length"])
@pytest.mark.parametrize("seed", some(range(12), 3))
def test_a_cut_pattern_is_laid_back(seed: int, way: str) -> None:
    # Without waste every niche is filled at once, so hardly any part has its phase there but the right one.
    problem, length = cut_pattern(random.Random(seed), 20, 30, 12, 3 + seed % 5), 30
    core = core_of(problem)
    assert core.phases is not None
    race, target = Race(Budget(0.0, 5.0)), length // core.step_y
    search = TightSearch(core, seed) if way == "niches" else None

    def over() -> bool:
        return race.length == length

    if search is not None:
        assert search.slack(target) == 0
        search.run(turn_of(core, race, target, until=over))
    else:
        FitSearch(core, seed).run(turn_of(core, race, target, target + 5, until=over))
    assert race.best is not None
    assert race.length is not None
    assert check_layout(problem, core.placements(race.best[1]), race.length, length) == ()
    # A niche may be left for a part that waits; only the search niche by niche tries both.
    assert race.length == length if way == "niches" else race.length <= length + 5


def test_parts_wait_for_their_phase() -> None:
    # With room to spare niches are given up as far as a part begins; what is laid is right all the same.
    found = [0, 0]
    for seed in range(20):
        whole = cut_pattern(random.Random(seed), 7, 12, 7, 3)
        problem = replace(whole, parts=whole.parts[:5])
        core, optimum = core_of(problem), optimal_length(problem)
        assert optimum is not None
        least, longest = optimum // core.step_y, optimum // core.step_y + 4
        races = [Race(Budget(0.0, 0.2)) for _ in range(2)]
        loose = Turn(races[0], Goal(core, longest), math.inf, params=replace(PARAMS, tight=1))
        TightSearch(core, seed).run(loose)
        FitSearch(core, seed).run(turn_of(core, races[1], least, longest))
        for number, race in enumerate(races):
            if race.best is not None:
                assert race.length is not None
                broken = check_layout(problem, core.placements(race.best[1]), race.length, optimum)
                assert broken == ()
                found[number] += 1
    # A part that could begin is never made to wait when a length is filled, so that way may miss a layout.
    assert found[0] == 20
    assert found[1] >= 16


def test_a_length_below_the_area_is_refused_at_once() -> None:
    core = core_of(Problem((Strip(7),), (Part("a", 3, 5, copies=2), Part("b", 4, 2))))
    search = TightSearch(core, 0)
    race = Race(Budget(0.0, 1.0))
    search.run(turn_of(core, race, 2))
    assert search.slack(2) < 0
    assert race.length is None
    assert race.budget.spent == 0


def test_without_a_compiler_the_plain_functions_do(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("NESTING_COMPILED", "1")
    monkeypatch.setitem(sys.modules, "numba", None)
    assert not Kernels().compiled


def test_a_budget_of_work_goes_as_far_in_either_form(monkeypatch: pytest.MonkeyPatch) -> None:
    # Which form is ready depends on the clock; how long a run of the niche search may grow must not.
    core = reduce(guillotine_cutting(random.Random(4), 997, 1009, 60))
    assert core is not None
    spent = []
    for plain in (False, True):
        race = Race(Budget(0, 0.025))
        if plain:
            monkeypatch.setenv("NESTING_COMPILED", "0")
            monkeypatch.setattr("nesting.packing.searches.tight.KERNELS", Kernels())
        target = 1009 // core.step_y - core.lone_length
        TightSearch(core, 0).run(turn_of(core, race, target))
        spent.append((race.budget.spent, race.length))
    assert spent[0] == spent[1]


class Steps:
    """Lends a search of rows one node at a time, and counts them."""

    def __init__(self) -> None:
        self.race, self.taken = Race(Budget(0.0, 100.0)), 0

    def stop(self) -> bool:
        self.taken += 1
        return self.taken > 20_000


def rows_searched(core: Core) -> list[tuple[int, bool | None, int, object]]:
    """What a search of rows says from the area on, where parts begin, and after how many nodes."""
    search = RowSearch(core, range(len(core.kinds)), lambda: False)
    search.reorder(3)
    told: list[tuple[int, bool | None, int, object]] = []
    least = -(-sum(kind.area * kind.copies for kind in core.kinds) // core.width)
    answer: bool | None = False
    for longest in range(least, core.stacked):
        for _ in range(3):
            steps = Steps()
            answer = search.decide(longest, turn_of(core, steps.race, until=steps.stop))
            told.append(
                (longest, answer, steps.taken, [(kind, y) for kind, _, y in search.stood] if answer else None)
            )
            if not answer:
                break
        if answer:
            break
    return told


@pytest.mark.parametrize("seed", some(range(4), 1))
def test_rows_are_searched_node_for_node_alike(seed: int, monkeypatch: pytest.MonkeyPatch) -> None:
    rng = random.Random(seed)
    parts = tuple(Part(str(i), rng.randint(4, 30), rng.randint(2, 30), rng.randint(1, 2)) for i in range(7))
    core = core_of(Problem((Strip(53),), parts))
    monkeypatch.setattr("nesting.packing.bounds.row_search.NODES", 10)  # a tenth where work is counted
    compiled = rows_searched(core)
    assert {answer for _, answer, _, _ in compiled} >= {True, False}
    assert sum(taken for _, _, taken, _ in compiled) > 40
    monkeypatch.setenv("NESTING_COMPILED", "0")
    monkeypatch.setattr("nesting.packing.bounds.row_search.KERNELS", Kernels())
    assert rows_searched(core) == compiled


def inside(arguments: tuple[Any, ...]) -> Iterator[Any]:
    """What is handed over, named tuples opened."""
    for each in arguments:
        if isinstance(each, tuple):
            yield from inside(each)
        else:
            yield each


def only(kind: type, function: Callable[..., int]) -> Callable[..., int]:
    """The function, for arrays of one kind only."""

    def checked(*arguments: Any) -> int:
        given = {type(each) for each in inside(arguments) if not isinstance(each, int)}
        # What very many numbers are kept in gives plain ones, as a list does.
        assert given - ({memoryview} if kind is list else set()) == {kind}
        return function(*arguments)

    return checked


class Changing:
    """Kernels that change over each time they are looked at, as another thread may at any moment."""

    def __init__(self) -> None:
        plain = Kernels().form.functions
        self.compiled = False
        self._forms = itertools.cycle(
            [
                KernelForm({name: only(list, function) for name, function in plain.items()}, compiled=False),
                KernelForm(
                    {name: only(np.ndarray, function) for name, function in plain.items()}, compiled=True
                ),
            ]
        )

    @property
    def form(self) -> KernelForm:
        return next(self._forms)

    def refresh(self) -> bool:
        return False


@pytest.mark.parametrize("number", range(len(PROBLEMS)))
def test_arrays_of_one_form_never_meet_functions_of_the_other(
    number: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    wanted = searched(PROBLEMS[number], 5)
    monkeypatch.setenv("NESTING_COMPILED", "0")
    for module in (
        "searches.orders",
        "searches.fitting",
        "searches.tight",
        "bounds.places",
        "bounds.row_search",
    ):
        monkeypatch.setattr(f"nesting.packing.{module}.KERNELS", Changing())
    assert searched(PROBLEMS[number], 5) == wanted
    placed_rows(core_of(PROBLEMS[number]), lambda: False)
    rows_searched(core_of(Problem((Strip(5),), (Part("a", 2, 3), Part("b", 3, 2), Part("c", 4, 1)))))
    core = core_of(guillotine_cutting(random.Random(1), 20, 30, 12))
    race = Race(Budget(0.0, 0.01))
    TightSearch(core, 0).run(turn_of(core, race, 30))


def test_a_search_that_brings_nothing_gets_half_its_time_and_all_once_it_gains() -> None:
    credits = Credits(0.2)
    shares = []
    for gained in (False, False, False, True, False):
        shares.append(credits.share("orders"))
        credits.tell("orders", gained=gained)
    assert shares == [1.0, 0.5, 0.25, 0.2, 1.0]
    assert credits.share("orders") == 0.5
    assert credits.share("niches") == 1.0
