"""Whatever is registered as a bound or a search keeps its promise, without a test of its own."""

from __future__ import annotations

import random
import subprocess
import sys
from collections import Counter
from contextlib import suppress
from dataclasses import replace

import pytest

from nesting.check import check_layout
from nesting.errors import ProblemError
from nesting.packing import Part, Problem, Strip, pack
from nesting.packing.bounds import BOUNDS, COUNTING
from nesting.packing.branch import Branch, CaseGoal, stages_of
from nesting.packing.choices.exchange import _Judged
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.parallel.companion import Desk
from nesting.packing.race import Finished, Race
from nesting.packing.reduce import Core, Layout, closed_arrows, reduce
from nesting.packing.schedule import PARAMS, SCHEDULE, Stage, TimeShare, When, load_params
from nesting.packing.searches import SEARCHES
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.searches.levels_first import Above
from nesting.packing.turn import Budget, Goal, Turn
from tests.benchmarks.families import make
from tests.brute_force import optimal_length
from tests.instances import guillotine_cutting, tiny_problem


def made(seed: int) -> Problem:
    """A tiny problem of any kind."""
    rng = random.Random(seed)
    turns, arrows, start = (rng.random() < 0.4 for _ in range(3))
    return tiny_problem(
        rng, seed % 2 == 0, parts=rng.randint(2, 5), width=rng.randint(4, 9), turns=turns, arrows=arrows,
        flaws=rng.choice((0, 0, 1)), start=start, margins=seed % 3 == 2,
    )  # fmt: skip


class Judging(Race):
    """Every layout that is offered must keep all rules, be it the shortest or not."""

    problem: Problem
    offered = 0

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        if layout is not None:
            self.offered += 1
            length = core.ticks(core.length_of(layout))
            assert check_layout(self.problem, core.placements(layout), length) == (), method
        return super().offer(core, layout, method)


def searched(name: str, problem: Problem, seed: int) -> list[Judging]:
    """Of each case a race in which first layouts are laid, and one search has its turns."""
    core, races = reduce(problem), list[Judging]()
    for case in [] if core is None else closed_arrows(core):
        race = Judging(Budget(0, 1.0), seed=seed)
        race.problem = problem
        races.append(race)
        branch = Branch(case, 0, seed)
        goal = CaseGoal(race, branch, alone=True)
        for each in dict.fromkeys(("first layouts", name)):
            kept = branch.search(each)
            for _ in range(3):
                if kept is not None and race.budget.left > 0:
                    with suppress(Finished):
                        kept.search.run(Turn(race, goal, 0.1))
    return races


@pytest.mark.parametrize("name", SEARCHES)
@pytest.mark.parametrize("block", range(3))
def test_whatever_a_search_offers_is_a_layout_and_no_shorter_than_brute_force(name: str, block: int) -> None:
    KERNELS.refresh()
    laid = 0
    for seed in range(8 * block, 8 * block + 8):
        problem = made(seed)
        optimum = optimal_length(problem)
        if optimum is None:
            continue
        races = searched(name, problem, seed)
        for race in races:
            laid += race.offered
            assert race.length is None or race.length >= optimum
        assert min(race.bound.length for race in races) <= optimum
    assert laid


@pytest.mark.parametrize("name", SEARCHES)
def test_same_seed_and_work_give_the_same_layout(name: str) -> None:
    problem = guillotine_cutting(random.Random(5), 20, 30, 9)
    [first], [again] = searched(name, problem, 3), searched(name, problem, 3)
    assert first.best == again.best
    assert first.budget.spent == again.budget.spent


@pytest.mark.parametrize("name", BOUNDS)
def test_a_bound_that_says_so_carries_its_certificate_and_that_proves_it(name: str) -> None:
    carried = 0
    for seed in range(40):
        problem = made(seed) if seed % 4 else guillotine_cutting(random.Random(seed), 20, 30, 8)
        core = reduce(problem)
        if core is None or core.open_arrows or not core.kinds or not BOUNDS[name].applies(core):
            continue
        race = Race(Budget(0, 5.0))
        branch = Branch(core, 0)
        goal = CaseGoal(race, branch, alone=True)
        try:
            for each in ("first layouts", "bars"):
                if each in SEARCHES:
                    SEARCHES[each](core, 0).run(Turn(race, goal, 1.0))
                else:
                    BOUNDS[each](core).raised(Turn(race, goal, 1.0))
            raised = BOUNDS[name](core).raised(Turn(race, goal, 1.0))
        except Finished:
            continue
        if raised is None or raised.length <= 0 or raised.certificate is None:
            continue
        carried += 1
        kind = BOUNDS[name].certificate
        assert kind is not None
        assert isinstance(raised.certificate, kind)
        proven = raised.certificate.proven(problem)
        assert proven >= core.ticks(raised.length)
    assert carried > 0 or BOUNDS[name].certificate is None or name in RARE


#: Of these, no tiny problem shows anything; `tests/test_dual.py` and `tests/test_bounds.py` have some.
RARE = {"bars in place", "pairs of scales", "bars along the strip"}


def test_every_stage_names_what_is_registered_and_names_are_told_apart() -> None:
    assert not BOUNDS.keys() & SEARCHES.keys()
    assert {stage.search for stage in SCHEDULE} <= BOUNDS.keys() | SEARCHES.keys()
    assert {"area", "tallest part", "pieces too wide to lie side by side"} <= COUNTING
    assert all(each.__doc__ for each in (*BOUNDS.values(), *SEARCHES.values()))


def test_what_has_no_stage_comes_last_in_each_round() -> None:
    fewer = tuple(stage for stage in SCHEDULE if stage.search != "niches")
    params = load_params("")
    assert params == PARAMS
    usual, with_it = stages_of(PARAMS, When.ROUND), stages_of(replace(PARAMS, stages=fewer), When.ROUND)
    [added] = [stage for stage in with_it if stage not in usual]
    assert (added.search, added.when) == ("niches", When.ROUND)
    assert with_it.index(added) >= len([stage for stage in SCHEDULE if stage.when is When.ROUND])
    # Not proven soon, so that there are rounds.
    problem = make("rooms", 48).problem
    params = replace(PARAMS, stages=fewer, first_slice=0.01)
    assert "niches" in {
        report.name for report in pack(problem, workers=1, work_limit=1, params=params).statistics
    }
    off = replace(PARAMS, stages=fewer).without("niches")
    assert "niches" not in {stage.search for stage in stages_of(off, When.ROUND)}


def test_a_search_switched_off_has_no_turn_and_every_stage_says_what_it_brought() -> None:
    problem = guillotine_cutting(random.Random(1), 40, 60, 14)
    full = pack(problem, workers=1, work_limit=0.5)
    names = [report.name for report in full.statistics]
    assert names[:4] == ["tallest part", "area", "pieces too wide to lie side by side", "first layouts"]
    assert len(names) == len(set(names))
    assert sum(report.layouts for report in full.statistics) + sum(r.bounds for r in full.statistics) == len(
        full.incumbents
    )
    assert full.statistics[3].layouts > 0
    assert all(report.turns > 0 and report.seconds >= 0 for report in full.statistics)
    some = pack(problem, workers=1, work_limit=0.5, params=PARAMS.without("orders", "area"))
    assert {"orders", "area"} & {report.name for report in some.statistics} == set()


class TestParams:
    def test_from_toml(self) -> None:
        params = load_params(
            'off = ["niches"]\nfirst_slice = 1\n[share."orders"]\nseconds = 2\nwhen = "companion"\n'
        )
        assert params.off == {"niches"}
        assert params.first_slice == 1
        orders = {stage.when: stage.share for stage in params.stages if stage.search == "orders"}
        assert orders[When.COMPANION] == TimeShare(seconds=2)
        assert orders[When.ALONE] == TimeShare(slices=1, most=0.3)

    @pytest.mark.parametrize(
        ("text", "said"),
        [
            ("= 3", "tuning numbers"),
            ("pace = 3", "pace = 3: expected one of off, share, first_slice"),
            ('growth = "fast"', "growth = 'fast': expected a number"),
            ("most_split = 2.5", "most_split = 2.5: expected a whole number"),
            ("growth = -1", "growth = -1"),
            ('[share."orders"]\nsecond = 1', 'share."orders": expected slices, most or seconds'),
            ('[share."order"]\nseconds = 1', 'share."order": expected a table named as one of'),
            ('[share."orders"]\nseconds = 1\nwhen = "soon"', "when = 'soon': expected one of at once"),
            ('[share."orders"]\nseconds = 1\nwhen = ["round"]', "when = ['round']: expected one of at once"),
        ],
    )
    def test_what_is_not_known_is_refused(self, text: str, said: str) -> None:
        with pytest.raises(ProblemError) as caught:
            load_params(text)
        assert said in str(caught.value)

    def test_a_stage_that_nobody_registered_is_refused(self) -> None:
        problem = guillotine_cutting(random.Random(1), 10, 10, 3)
        wrong = replace(PARAMS, stages=(Stage("magic", TimeShare(seconds=1), When.ROUND),))
        for params in (wrong, PARAMS.without("magic")):
            with pytest.raises(ProblemError, match='stage "magic": expected one of area'):
                pack(problem, work_limit=0.1, params=params)

    def test_a_share_is_the_least_of_what_is_given(self) -> None:
        assert TimeShare(slices=2, most=0.5).of(10, 1) == 2
        assert TimeShare(slices=20, most=0.5).of(10, 1) == 5
        assert TimeShare(seconds=1, most=0.5).of(1, 9) == 0.5


def test_bounds_load_no_solver() -> None:
    script = "import sys, nesting.packing.bounds; print(*(m for m in sys.modules if m.startswith('ortools')))"
    run = subprocess.run([sys.executable, "-c", script], capture_output=True, text=True, check=True)
    assert run.stdout.split() == []


def test_a_layout_from_another_thread_reaches_the_race_through_every_host() -> None:
    core = reduce(Problem((Strip(10),), (Part("a", 5, 7, copies=2), Part("b", 4, 3))))
    assert core is not None
    laid = shelves(core, SeamRoom(core))
    assert laid is not None
    length = core.ticks(core.length_of(laid))
    for host in (Desk, lambda race: _Judged(race, ", an option exchanged")):
        race = Race(Budget(30))
        host(race).post(core, laid, "a solver")
        assert race.length is None
        race.collect()
        assert race.length == length
        assert race.incumbents[-1].method.startswith("a solver")
    race = Race(Budget(30))
    kinds = Counter({number: kind.copies for number, kind in enumerate(core.kinds)})
    above = Above(Turn(race, Goal(core), 1), (), core.length_of(laid), kinds)
    above.post(above.rest, laid, "a solver")
    race.collect()
    assert race.length == 2 * length


def test_the_companion_may_ask_the_solver() -> None:
    problem = Problem((Strip(10),), tuple(Part(f"p{n}", 2 + n % 4, 3 + n % 5) for n in range(12)))
    core = reduce(problem)
    assert core is not None
    race, first = Race(Budget(600)), shelves(core, SeamRoom(core))
    assert first is not None
    goal = Goal(core, 0, core.length_of(first) - 1)
    assert SEARCHES["whole model"](core, 0).run(Turn(Desk(race), goal, 600, threads=1))
    race.collect()
    assert race.best is not None
    assert race.length == core.ticks(goal.least)
    assert check_layout(problem, core.placements(race.best[1]), race.length) == ()
