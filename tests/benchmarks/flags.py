"""What each flag of CP-SAT's two-dimensional propagation brings at the worker count in use.

``python -m tests.benchmarks.flags [INSTANCE ...] --time-limit 10 --workers 2``: the whole model of each
instance, from the same first layout and the same bounds, once without any flag, once with each alone and once
with all. A line for each: the length reached, the bound, the seconds, and whether it was proven.
"""

from __future__ import annotations

import argparse
import os
import sys
import time
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from pathlib import Path

from ortools.sat.python import cp_model

from nesting.packing.bounds.bars import rows
from nesting.packing.bounds.simple import tallest
from nesting.packing.branch import branches_of
from nesting.packing.kernels.compiled import KERNELS
from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.models.solver import BOOLEANS, STRONG
from nesting.packing.race import Finished, Race, in_ticks
from nesting.packing.reduce import Core, Layout, reduce
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import fill, orders, shelves
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.turn import Budget, Goal, Turn, Weights
from tests.benchmarks.__main__ import FOLDER
from tests.benchmarks.families import generated
from tests.benchmarks.instances import Instance, in_folder, wanted

#: Small and middling jobs, plain and printed; all have layouts longer than their linear bounds.
USUAL = ("rooms/4", "rooms/7", "rooms/16", "rooms/29", "prints/2", "prints/4", "prints/15", "prints/20")
#: Seconds of search for the first layout.
SEARCH = 0.5


@dataclass(frozen=True, slots=True)
class Asked:
    """A model's question: what to lay, from which layout on, and what is known of it."""

    core: Core
    layout: Layout
    least: int
    weights: Weights | None

    def answer(self, flags: dict[str, bool | int], seconds: float, workers: int) -> tuple[int, int, float]:
        """Length, bound and seconds, by a model of its own."""
        model = LayoutModel(self.core, self.core.length_of(self.layout), self.least, weights=self.weights)
        model.hint(self.layout)
        solver = cp_model.CpSolver()
        solver.parameters.num_workers = workers
        solver.parameters.max_time_in_seconds = seconds
        for name, value in flags.items():
            setattr(solver.parameters, name, value)
        began = time.monotonic()
        status = solver.solve(model.model)
        took = time.monotonic() - began
        found = status in (cp_model.OPTIMAL, cp_model.FEASIBLE)
        length = round(solver.objective_value) if found else self.core.length_of(self.layout)
        return length, max(self.least, round(solver.best_objective_bound)), took


def asked_of(instance: Instance) -> Asked | None:
    """The question of an instance; None where the first layout is at the bound already."""
    core = reduce(instance.problem)
    if core is None or not core.kinds:
        return None
    core = branches_of(core)[0]
    race = Race(Budget(SEARCH + 5))
    room = SeamRoom(core)
    stop = _after(SEARCH)
    bound, weights = rows(core, stop)
    try:
        race.offer(core, shelves(core, room), "shelves")
        for name, order in orders(core):
            race.offer(core, fill(core, order, room), name)
        race.raise_bound(in_ticks(core, bound), 0)
        KERNELS.refresh()
        OrderSearch(core, 0).run(Turn(race, Goal(core, bound.length), SEARCH))
    except Finished:
        return None
    assert race.best is not None
    return Asked(core, race.best[1], max(bound.length, tallest(core).length), weights)


def _after(seconds: float) -> Callable[[], bool]:
    end = time.monotonic() + seconds
    return lambda: time.monotonic() > end


def settings() -> list[tuple[str, dict[str, bool | int]]]:
    """What is compared, by name."""
    every = {**STRONG, **BOOLEANS}
    return [("none", {}), *((name, {name: value}) for name, value in every.items()), ("all", every)]


def main(arguments: Sequence[str] | None = None) -> int:
    """0 when something was measured, 2 when nothing was named."""
    parser = argparse.ArgumentParser(prog="python -m tests.benchmarks.flags", description=__doc__)
    parser.add_argument("instances", nargs="*", metavar="INSTANCE")
    parser.add_argument("--folder", type=Path, default=os.environ.get(FOLDER))
    parser.add_argument("--time-limit", type=float, default=10.0, metavar="S")
    parser.add_argument("--workers", type=int, default=2, metavar="N")
    asked = parser.parse_args(arguments)
    known = [*generated(), *(in_folder(Path(asked.folder)) if asked.folder else ())]
    KERNELS.prepare()
    sums = {name: [0, 0, 0.0, 0.0] for name, _ in settings()}
    for read in wanted(known, asked.instances or USUAL):
        instance = read()
        question = asked_of(instance)
        if question is None:
            print(f"{instance.set}/{instance.name}: the first layout is at the bound", flush=True)
            continue
        for name, flags in settings():
            length, bound, took = question.answer(flags, asked.time_limit, asked.workers)
            proven = length == bound
            sums[name][0] += 1
            sums[name][1] += proven
            sums[name][2] += 100 * (length - bound) / bound
            sums[name][3] += took
            print(
                f"{instance.set}/{instance.name:12} {name:55} {length:8} {bound:8} {took:6.1f} s "
                f"{'proven' if proven else ''}",
                flush=True,
            )
    for name, (count, closed, gap, took) in sums.items():
        if count:
            print(f"{name:55} proven {closed} of {count}, mean gap {gap / count:.2f} %, {took / count:.1f} s")
    return 0 if any(count for count, *_ in sums.values()) else 2


if __name__ == "__main__":
    sys.exit(main())
