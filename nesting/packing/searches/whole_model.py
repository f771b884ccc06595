"""The whole problem as a model for CP-SAT, asked for a layout at the bound, or for anything shorter."""

from __future__ import annotations

from typing import ClassVar

from nesting.packing.models.cpsat import LayoutModel
from nesting.packing.reduce import Core
from nesting.packing.result import SOLVER, UNCHECKED, Bound
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

_METHOD = f"{SOLVER}, {UNCHECKED}"


class _Asked(Search):
    """A question to the solver.

    Parameters
    ----------
    core
        The problem.
    seed
        The turn's host has the solver's own.
    """

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core


class ModelAtTheBound(_Asked):
    """Is there a layout exactly as long as the bound? A no raises the bound by one step."""

    name: ClassVar[str] = "model at the bound"

    def run(self, turn: Turn) -> bool:
        """Ask once; False where the model would be too large, or a bound is hardly ever met."""
        core, target, limit = self._core, turn.least, turn.longest
        if core.copies > turn.params.most_in_model:
            return False
        if not core.plain and limit is not None and limit - target > turn.params.near * target:
            # Under a repeat a bound that far off is hardly ever met; the time is better spent on raising it.
            return False
        model = LayoutModel(core, target, target, decide=True, weights=turn.goal.best_weights)
        outcome = model.solve(turn, turn.seconds, turn.threads, weak=turn.number % 2 == 0)
        turn.offer(core, outcome.layout, f"{SOLVER} at the bound")
        if outcome.infeasible:
            turn.take(Bound(target + 1, _METHOD))
        return True


class WholeModel(_Asked):
    """Is there anything shorter than the best? Often the quickest way to a proof."""

    name: ClassVar[str] = "whole model"

    def run(self, turn: Turn) -> bool:
        """Ask once; False where the model would be too large."""
        core, limit = self._core, turn.longest
        if core.copies > turn.params.most_in_model:
            return False
        longest = core.stacked if limit is None else limit
        model = LayoutModel(core, longest, turn.least, weights=turn.goal.best_weights)
        if turn.goal.best is not None:
            model.hint(turn.goal.best)
        outcome = model.solve(turn, turn.seconds, turn.threads, weak=turn.number % 2 == 0)
        turn.offer(core, outcome.layout, SOLVER)
        if outcome.infeasible and limit is not None:
            turn.take(Bound(limit + 1, _METHOD))
        elif not outcome.infeasible:
            turn.take(Bound(outcome.bound, _METHOD))
        return True
