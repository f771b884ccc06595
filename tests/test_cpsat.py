"""The model says yes at the least length, no a step before, and takes its own layouts as hints."""

from __future__ import annotations

import random
from functools import cache

import pytest
from ortools.sat.python import cp_model

from nesting.check import check_layout
from nesting.packing import Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.models.cpsat import LayoutModel, SolverAnswer
from nesting.packing.race import Race, Stopped
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Incumbent
from nesting.packing.turn import Budget
from tests.brute_force import optimal_length
from tests.instances import shelf_layout, tiny_problem
from tests.seeds import some

SEEDS = some(range(30), 6)


@cache
def made(seed: int) -> tuple[Problem, Core, int]:
    """A tiny problem with a layout, its core, and the core's least length in steps."""
    rng = random.Random(1000 + seed)
    while True:
        problem = tiny_problem(
            rng,
            seed % 3 > 0,
            parts=rng.randint(2, 4),
            width=rng.randint(3, 7),
            turns=rng.random() < 0.5,
            arrows=rng.random() < 0.5,
            flaws=rng.choice((0, 0, 1, 2)),
            start=rng.random() < 0.4,
            margins=seed % 4 == 3,
        )
        core, shortest = reduce(problem), optimal_length(problem)
        if core is not None and shortest is not None and core.kinds and not core.lone:
            assert shortest % core.step_y == 0, "the least length is a whole number of steps"
            return problem, core, shortest // core.step_y


def solved(model: LayoutModel, *, weak: bool = False) -> SolverAnswer:
    return model.solve(Race(Budget(0, 30)), 30, 1, weak=weak)


@pytest.mark.parametrize("seed", SEEDS)
class TestExact:
    def test_yes_at_the_least_length(self, seed: int) -> None:
        problem, core, shortest = made(seed)
        outcome = solved(LayoutModel(core, shortest, decide=True))
        assert outcome.layout is not None
        assert check_layout(problem, core.placements(outcome.layout), core.ticks(shortest)) == ()

    def test_no_a_step_before(self, seed: int) -> None:
        _, core, shortest = made(seed)
        outcome = solved(LayoutModel(core, shortest - 1, decide=True), weak=seed % 2 == 0)
        assert outcome.infeasible
        assert outcome.closed
        assert outcome.layout is None
        assert outcome.bound == shortest

    def test_the_least_length_is_found_and_proven(self, seed: int) -> None:
        problem, core, shortest = made(seed)
        outcome = solved(LayoutModel(core, core.stacked))
        assert outcome.closed
        assert outcome.bound == shortest
        assert outcome.layout is not None
        assert check_layout(problem, core.placements(outcome.layout), core.ticks(shortest)) == ()

    def test_rules_left_out_never_lengthen(self, seed: int) -> None:
        _, core, shortest = made(seed)
        sliced = solved(LayoutModel(core, core.stacked, rows_only=True))
        assert sliced.closed
        assert sliced.bound <= shortest
        few = tuple(range(0, len(core.kinds), 2))
        assert solved(LayoutModel(core, core.stacked, kinds=few)).bound <= shortest

    def test_its_own_layout_is_a_whole_hint(self, seed: int) -> None:
        # Fixed to the hint alone the model must still hold: every variable has its right value.
        _, core, shortest = made(seed)
        found = solved(LayoutModel(core, shortest)).layout
        assert found is not None
        model = LayoutModel(core, core.stacked)
        model.hint(found)
        solver = cp_model.CpSolver()
        solver.parameters.fix_variables_to_their_hinted_value = True
        solver.parameters.num_workers = 1
        assert solver.solve(model.model) in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        assert round(solver.objective_value) == shortest


class TestStacked:
    """The length up to which a model without a layout looks."""

    @pytest.mark.parametrize("seed", SEEDS)
    def test_it_is_never_below_the_least_length(self, seed: int) -> None:
        _, core, shortest = made(seed)
        assert core.stacked >= shortest

    def test_flaws_and_a_known_start_are_passed(self) -> None:
        # Two full widths above a flaw that ends at 7; the pattern begins at 9 mod 10: 9 + 3 -> 19 + 3.
        strip = Strip(5, repeat=Repeat(10), flaws=(Flaw(0, 0, 5, 7),), start=1)
        core = reduce(Problem((strip,), (Part("a", 5, 3, 2, match=Match("room")),)))
        assert core is not None
        assert solved(LayoutModel(core, core.stacked)).bound == 22


def test_an_interrupt_stops_the_solver() -> None:
    problem = shelf_layout(random.Random(3), 12, width=60).problem
    core = reduce(problem)
    assert core is not None

    def end(_: Incumbent) -> bool:
        return False

    race = Race(Budget(0, 1000), end)
    with pytest.raises(Stopped):
        LayoutModel(core, core.stacked).solve(race, 1000, 1)
