"""All options of all choices in one CP-SAT model: the solver takes one of each, and lays what it took.

Parts may leave their column (``rows``: sliced crosswise and moved sideways, the rows of a part together and
in phase) or keep it. Arrow groups are dissolved, see `linear_bounds.Demand`, so both are
relaxations: their least length is never above that of any layout of any selection.
"""

from __future__ import annotations

import itertools
import math
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from nesting.packing.choices.linear_bounds import Demand, LinearBound
from nesting.packing.choices.menu import Selection
from nesting.packing.models import sat
from nesting.packing.models.solver import proven_bound, set_parameters, watched
from nesting.packing.problem import Match
from nesting.packing.race import Race
from nesting.packing.reduce import Kind


@dataclass(frozen=True, slots=True)
class Taken:
    """What the solver came back with, in core steps.

    ``selection`` of the shortest relaxed layout, None where none was found; ``bound`` on every selection;
    ``closed`` where the solver proved its answer.
    """

    selection: Selection | None
    bound: int
    closed: bool


@dataclass(slots=True)
class _OptionCopy:
    """A copy that may be laid: ``here`` says whether it is, None where it is in any case."""

    kind: Kind
    here: sat.IntVar | None
    across: sat.Expression
    along: sat.Expression
    y: sat.IntVar
    x: sat.IntVar | None = None


class SelectionModel:
    """The rules of a layout, with the options as variables.

    Parameters
    ----------
    demand
        What may be laid.
    longest, least
        Nothing longer is looked for; no selection is shorter.
    linear
        Linear bounds, which tie the options to the length.
    rows
        Forget the columns.
    """

    def __init__(
        self, demand: Demand, longest: int, least: int, linear: Sequence[LinearBound], *, rows: bool
    ) -> None:
        self._demand, self._core = demand, demand.core
        self._longest, self._least, self._linear, self._rows_only = longest, least, linear, rows
        self.model = sat.CpModel()
        self._options: list[list[sat.IntVar]] = []
        self._copies: list[_OptionCopy] = []
        self._phases: dict[tuple[str, str], sat.IntVar] = {}
        self._build()

    def _build(self) -> None:
        """Every rule, in the order of the pattern."""
        self._add_length()
        self._add_options()
        self._add_linear_bounds()
        self._add_copies()
        self._add_no_overlap()
        self._add_order_of_copies()

    def _add_length(self) -> None:
        self._length = self.model.new_int_var(self._least, self._longest, "length")
        self.model.minimize(self._length)

    def _add_options(self) -> None:
        """Exactly one of each choice."""
        for choice, offers in enumerate(self._demand.offers):
            options = [self.model.new_bool_var(f"{choice}.{at}") for at in range(len(offers))]
            self.model.add_exactly_one(options)
            self._options.append(options)

    def _add_linear_bounds(self) -> None:
        """What is taken weighs no more than the length can hold."""
        for linear in self._linear:
            total: sat.Expression = sum(
                count * weight for count, weight in zip(self._demand.always, linear.weights, strict=True)
            )
            for options, offers in zip(self._options, self._demand.offers, strict=True):
                for option, counts in zip(options, offers, strict=True):
                    total += option * sum(c * w for c, w in zip(counts, linear.weights, strict=True))
            self.model.add(total <= linear.capacity * self._length)

    def _add_copies(self) -> None:
        """As many copies of each kind as the options ask for, the first ones first."""
        for index, kind in enumerate(self._core.kinds):
            sure = self._demand.always[index] + sum(
                min(counts[index] for counts in offers) for offers in self._demand.offers
            )
            doubtful = [self.model.new_bool_var(f"here{index}.{n}") for n in range(kind.copies - sure)]
            if doubtful:
                self.model.add(sure + sum(doubtful) == self._asked(index))
                for before, after in itertools.pairwise(doubtful):
                    self.model.add_implication(after, before)
            for number, here in enumerate([*[None] * sure, *doubtful]):
                self._copies.append(self._copy(kind, here, f"{index}.{number}"))

    def _asked(self, kind: int) -> sat.Expression:
        asked: sat.Expression = self._demand.always[kind]
        for options, offers in zip(self._options, self._demand.offers, strict=True):
            for option, counts in zip(options, offers, strict=True):
                if counts[kind]:
                    asked += counts[kind] * option
        return asked

    def _copy(self, kind: Kind, here: sat.IntVar | None, name: str) -> _OptionCopy:
        model, (across, along, _) = self.model, kind.ways[0]
        wide: sat.Expression = across
        long: sat.Expression = along
        if len(kind.ways) > 1:
            turn = model.new_bool_var(f"turn{name}")
            other_wide, other_long, _ = kind.ways[1]
            wide, long = across + (other_wide - across) * turn, along + (other_long - along) * turn
        y = model.new_int_var(0, max(0, self._longest - kind.least_length), f"y{name}")
        copy = _OptionCopy(kind, here, wide, long, y)
        if not self._rows_only:
            copy.x = model.new_int_var(*self._core.across(kind, kind.least_width), f"x{name}")
            self._say(copy, copy.x + wide <= self._core.width - kind.clear[1])
        self._say(copy, y + long <= self._length)
        if kind.match is not None and self._core.repeat is not None:
            self._add_alignment(kind.match, copy, name)
        return copy

    def _say(self, copy: _OptionCopy, rule: sat.BoundedLinearExpression | bool) -> None:
        """A rule for a copy that is laid."""
        said = self.model.add(rule)
        if copy.here is not None:
            said.only_enforce_if(copy.here)

    def _add_alignment(self, match: Match, copy: _OptionCopy, name: str) -> None:
        """Matched copies keep the phase of their groups; without a column any drop may be theirs."""
        repeat, model = self._core.repeat, self.model
        assert repeat is not None
        columns: sat.Expression = 0
        period = repeat.length
        if copy.x is None or (match.seam is None and repeat.width is not None):
            period = math.gcd(repeat.length, repeat.step) if repeat.step else repeat.length
        elif repeat.width is not None:
            most = self._core.width // repeat.width + 1
            columns = model.new_int_var(-most - 1, most, f"n{name}")
            across = self._phase("across", match.seam or "", repeat.width)
            self._say(copy, copy.x == match.x + across + columns * repeat.width)
        along: sat.Expression = -(self._core.start or 0)
        if self._core.start is None:
            along = self._phase("along", match.level, repeat.length)
        reach = self._longest // period + 2 + self._core.width // (repeat.width or self._core.width)
        rows = model.new_int_var(-reach, reach, f"k{name}")
        self._say(copy, copy.y == match.y + along + columns * repeat.step + rows * period)

    def _phase(self, axis: str, group: str, period: int) -> sat.IntVar:
        if (axis, group) not in self._phases:
            self._phases[axis, group] = self.model.new_int_var(0, period - 1, f"phase {axis} {group}")
        return self._phases[axis, group]

    def _add_no_overlap(self) -> None:
        """In no row more than fits side by side; with columns, no two parts on the same fabric."""
        model, flaws = self.model, self._core.flaws
        rows = [self._interval(c, c.y, c.along, self._longest) for c in self._copies]
        flaw_rows = [model.new_fixed_size_interval_var(f.y, f.length, "") for f in flaws]
        widths: list[sat.Expression] = [*(c.across for c in self._copies), *(f.width for f in flaws)]
        model.add_cumulative([*rows, *flaw_rows], widths, self._core.width)
        wide = [
            row
            for row, c in zip(rows, self._copies, strict=True)
            if 2 * c.kind.least_width > self._core.width
        ]
        if len(wide) > 1:
            model.add_no_overlap(wide)
        if self._rows_only:
            return
        columns = [self._interval(c, x, c.across, self._core.width) for c, x in self._placed()]
        flaw_columns = [model.new_fixed_size_interval_var(f.x, f.width, "") for f in flaws]
        model.add_no_overlap_2d([*columns, *flaw_columns], [*rows, *flaw_rows])

    def _placed(self) -> Iterator[tuple[_OptionCopy, sat.IntVar]]:
        for copy in self._copies:
            assert copy.x is not None
            yield copy, copy.x

    def _interval(
        self, copy: _OptionCopy, start: sat.IntVar, size: sat.Expression, latest: int
    ) -> sat.IntervalVar:
        end: sat.Expression = start + size
        if not isinstance(size, int):
            # An end must be affine in one variable; start and size are two, so it gets its own.
            end = self.model.new_int_var(0, latest, "")
            self._say(copy, end == start + size)
        if copy.here is None:
            return self.model.new_interval_var(start, size, end, "")
        return self.model.new_optional_interval_var(start, size, end, copy.here, "")

    def _add_order_of_copies(self) -> None:
        """Equal copies come in order along the strip; those that are not laid are the last."""
        by_kind = defaultdict[int, list[_OptionCopy]](list)
        for copy in self._copies:
            by_kind[id(copy.kind)].append(copy)
        for copies in by_kind.values():
            for before, after in itertools.pairwise(copies):
                self._say(after, before.y <= after.y)

    def solve(self, race: Race, seconds: float, workers: int) -> Taken:
        """Run the solver for at most ``seconds`` (or units of work) of the race's budget."""
        solver = sat.CpSolver()
        set_parameters(solver, race, seconds, workers, len(self._copies), weak=self._rows_only)
        status = watched(solver, self.model, race, None)
        race.budget.charge(solver.response_proto.deterministic_time)
        if status == sat.INFEASIBLE:
            return Taken(None, self._longest + 1, True)
        bound = max(self._least, proven_bound(solver, status, most=False) or 0)
        if status not in (sat.OPTIMAL, sat.FEASIBLE):
            return Taken(None, bound, False)
        selection = tuple(
            next(at for at, option in enumerate(options) if solver.boolean_value(option))
            for options in self._options
        )
        return Taken(selection, bound, status == sat.OPTIMAL)
