"""A layout on several strips by CP-SAT, one stage of the objective after the other."""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from nesting.packing.models import sat
from nesting.packing.models.solver import Watcher, proven_bound, set_parameters, watched
from nesting.packing.on_hand.stock_core import CUT_INTO, EXTRAS, MOST, STARTED, TO_BUY, Berthed, StockLayout
from nesting.packing.on_hand.stock_rules import CopyInModel, StockRules


@dataclass(frozen=True, slots=True)
class StageOutcome:
    """What the solver came back with.

    Attributes
    ----------
    layout
        The best found, or None.
    bound
        Of the stage, in the problem's units; None where nothing was proven.
    infeasible
        Proven: no layout that is as good in the stages held.
    """

    layout: StockLayout | None
    bound: int | None
    infeasible: bool


class StockModel(StockRules):
    """The rules, with what is asked of them."""

    def _objective(self, stage: str) -> tuple[sat.Expression, int]:
        """The stage in whole units of the model, and how much one of them is."""
        if stage == TO_BUY:
            number = self.stock.open
            return (0 if number is None else self._ends.get(number, 0)), self.stock.step_y
        if stage == CUT_INTO:
            return sum(self._ends[b.number] for b in self._berths if b.length is not None), self.stock.step_y
        if stage == STARTED:
            scale = math.gcd(*(berth.weight for berth in self._berths)) or 1
            started = [
                (b.weight // scale, self._started[b.number]) for b in self._berths if b.length is not None
            ]
            return sum(weight * lies for weight, lies in started), scale
        spare = stage == EXTRAS
        valued = [
            (c.item.value or 0, c.present) for c in self._copies if c.item.value and c.item.spare == spare
        ]
        scale = math.gcd(*(value for value, _ in valued)) or 1
        return sum(value // scale * present for value, present in valued), scale

    def hold(self, stage: str, worth: int) -> None:
        """From now on nothing worse than ``worth`` in a stage, in the problem's units."""
        expression, scale = self._objective(stage)
        if isinstance(expression, int):
            return
        if stage in MOST:
            self.model.add(expression >= -(-worth // scale))
        else:
            self.model.add(expression <= worth // scale)

    def leave_out_spares(self) -> None:
        """No spare item is laid: they come after the fabric started."""
        for copy in self._copies:
            if copy.item.spare:
                self.model.add(copy.present == 0)

    def hint(self, layout: StockLayout) -> None:
        """Start from a layout."""
        self.model.clear_hints()  # type: ignore[no-untyped-call]
        seen: set[int] = {self._true.index, self._false.index}

        def give(variable: sat.Expression, value: int) -> None:
            if isinstance(variable, sat.IntVar) and variable.index not in seen:
                seen.add(variable.index)
                self.model.add_hint(variable, value)

        ends = self.stock.ends(layout)
        phases_y, phases_x = self.stock.phases(layout)
        for number, end in self._ends.items():
            give(end, ends[number])
        for number, started in self._started.items():
            give(started, int(ends[number] > 0))
        for phases, known in ((self._phases_y, phases_y), (self._phases_x, phases_x)):
            for key, variable in phases.items():
                if key in known:
                    give(variable, known[key])
        for copy in self._copies:
            at = layout.get(copy.number)
            for way, lies in copy.ways.items():
                give(lies, int(at is not None and way[0] == at.strip and way[3] == at.turned))
            for strip, lies in copy.on.items():
                give(lies, int(at is not None and at.strip == strip))
            give(copy.present, int(at is not None))
            if at is not None and not self._flat:
                self._hint_place(copy, at, give)

    def _hint_place(
        self, copy: CopyInModel, at: Berthed, give: Callable[[sat.Expression, int], None]
    ) -> None:
        give(copy.x, at.x)
        give(copy.y, at.y)
        match = copy.item.match
        for berth, columns, rows in copy.aligned:
            if berth.number != at.strip or berth.repeat is None or match is None:
                continue
            column, _ = (0, 0) if isinstance(columns, int) else berth.repeat.columns(at.x, match.x)
            give(columns, column)
            give(rows, (at.y - match.y - column * berth.repeat.step) // berth.repeat.length)

    def solve(
        self, stage: str, watch: Watcher, seconds: float, workers: int, found: Callable[[StockLayout], object]
    ) -> StageOutcome:
        """The best layout in one stage, by at most ``seconds`` (or units of work).

        Every layout on the way is handed to ``found``, in a thread of the solver's.
        """
        expression, scale = self._objective(stage)
        if stage in MOST:
            self.model.maximize(expression)
        else:
            self.model.minimize(expression)
        solver = sat.CpSolver()
        set_parameters(solver, watch, seconds, workers, len(self._copies), weak=True)
        told = None if self._flat else lambda value: found(self.layout_at(value))
        status = watched(solver, self.model, watch, told)
        watch.budget.charge(solver.response_proto.deterministic_time)
        if status == sat.INFEASIBLE:
            return StageOutcome(None, None, True)
        layout = None
        if status in (sat.OPTIMAL, sat.FEASIBLE) and not self._flat:
            layout = self.layout_at(solver.value)
        bound = proven_bound(solver, status, most=stage in MOST)
        return StageOutcome(layout, None if bound is None else bound * scale, False)

    def layout_at(self, value: sat.Values) -> StockLayout:
        """The layout that the variables' values stand for."""
        layout: StockLayout = {}
        for copy in self._copies:
            for way, lies in copy.ways.items():
                if value(lies):
                    layout[copy.number] = Berthed(way[0], value(copy.x), value(copy.y), way[3])
        return layout
