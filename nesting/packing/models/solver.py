"""A run of CP-SAT: its parameters, and listening to the observer meanwhile."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import Protocol

from nesting.packing.beside import beside
from nesting.packing.models import sat
from nesting.packing.turn import Budget

#: Propagation in two dimensions that CP-SAT leaves out with few workers; measured by tests.benchmarks.flags.
STRONG: dict[str, bool | int] = {
    "use_timetabling_in_no_overlap_2d": True,
    "use_energetic_reasoning_in_no_overlap_2d": True,
    "use_area_energetic_reasoning_in_no_overlap_2d": True,
    "max_pairs_pairwise_reasoning_in_no_overlap_2d": 5000,
}
#: An order for each pair of boxes, where they are few.
BOOLEANS: dict[str, bool | int] = {"no_overlap_2d_boolean_relations_limit": 31}
MOST_BOXES = 30


class Watcher(Protocol):
    """What a run of the solver needs of whoever waits for it."""

    @property
    def seed(self) -> int:
        """Of the solver's own choices."""

    @property
    def budget(self) -> Budget:
        """Charged for work done."""

    def pulse(self) -> None:
        """Called some twenty times a second; what it raises ends the run."""


def set_parameters(
    solver: sat.CpSolver, race: Watcher, seconds: float, workers: int, boxes: int, *, weak: bool
) -> None:
    """With few workers CP-SAT runs none of its strong two-dimensional propagation, so it is asked for."""
    parameters = solver.parameters
    parameters.num_workers = workers
    parameters.random_seed = race.seed
    parameters.catch_sigint_signal = False
    if race.budget.work is None:
        parameters.max_time_in_seconds = max(0.05, min(seconds, race.budget.left))
    else:
        parameters.max_deterministic_time = max(0.01, min(seconds, race.budget.left))
    if weak:
        return
    for name, value in (STRONG | BOOLEANS if boxes <= MOST_BOXES else STRONG).items():
        setattr(parameters, name, value)


def proven_bound(solver: sat.CpSolver, status: sat.CpSolverStatus, *, most: bool) -> int | None:
    """The bound on the objective that a run has proven, a whole number; None where it has proven none.

    ``most`` tells that more is better. With OPTIMAL and FEASIBLE the solver has a bound. With UNKNOWN it has
    one or none, and where it has none the number reads 0: of a length that is true anyway, of what is made
    as much as possible it would be a false proof, so there UNKNOWN proves nothing. INFEASIBLE and
    MODEL_INVALID carry no bound.
    """
    carrying = {sat.OPTIMAL, sat.FEASIBLE} | (set() if most else {sat.UNKNOWN})
    bound = solver.best_objective_bound if status in carrying else math.inf
    if not math.isfinite(bound) or abs(bound) >= 2**52:
        return None
    # A float that holds a whole number, or lies a rounding error beside it: then the weaker neighbor.
    return math.ceil(bound - 1e-6) if most else math.floor(bound + 1e-6)


def watched(
    solver: sat.CpSolver,
    model: sat.CpModel,
    race: Watcher,
    found: Callable[[sat.Values], object] | None,
) -> sat.CpSolverStatus:
    """Solve beside this thread, which goes on listening to the observer and to an interrupt.

    ``found`` is told each solution while the solver goes on, so that an interrupt loses nothing: in a thread
    of the solver's, by what reads the value of a variable in it.
    """
    reporter = None if found is None else _reporter(found)
    return beside(lambda: solver.solve(model, reporter), race.pulse, solver.stop_search)


def _reporter(found: Callable[[sat.Values], object]) -> sat.CpSolverSolutionCallback:
    class Reporter(sat.CpSolverSolutionCallback):
        def on_solution_callback(self) -> None:
            found(self.value)

    return Reporter()
