"""The layout rules as a CP-SAT model, and the run of the solver.

The model is exact: every rule of the problem is in it, and nothing else but redundant constraints
and orders among equal parts. Its projection (rows only, or a subset of the parts) leaves rules out and
therefore bounds the whole from below.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field

from nesting.packing.models import sat
from nesting.packing.models.solver import proven_bound, set_parameters, watched
from nesting.packing.problem import Match
from nesting.packing.reduce import Core, Kind, Layout, Spot
from nesting.packing.turn import Host, Weights

#: Units of work for building the rules of one copy; a question answered at once is not free.
WORK_PER_COPY = 6e-4


@dataclass(slots=True)
class _Copy:
    """One copy in the model."""

    kind: int
    x: sat.IntVar
    y: sat.Expression
    turn: sat.IntVar | None
    across: sat.Expression
    along: sat.Expression
    columns: sat.IntVar | int = 0
    hints: dict[str, sat.IntVar] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class SolverAnswer:
    """What the solver came back with, in core steps.

    Attributes
    ----------
    layout
        The best found, or None.
    bound
        Proven least length; None when the decision was proven impossible.
    infeasible
        Proven: nothing within the length asked for.
    closed
        The solver proved its answer.
    """

    layout: Layout | None
    bound: int
    infeasible: bool
    closed: bool


class LayoutModel:
    """The rules of a layout.

    Parameters
    ----------
    core
        What is to be laid.
    longest
        No layout longer than this is looked for.
    least
        A proven lower bound.
    decide
        Ask only whether ``longest`` can be kept (its length then is a constant for all propagation).
    kinds
        The kinds to lay; others are forgotten, which can only shorten the layout.
    rows_only
        Forget that a part keeps its place across: parts may be sliced crosswise and moved sideways.
    weights
        Row weights of a linear bound, as a redundant rule.
    """

    def __init__(
        self,
        core: Core,
        longest: int,
        least: int = 0,
        *,
        decide: bool = False,
        kinds: Sequence[int] | None = None,
        rows_only: bool = False,
        weights: Weights | None = None,
    ) -> None:
        self._core = core
        self._longest = longest
        self._least = least
        self._decide = decide
        self._kinds = tuple(range(len(core.kinds))) if kinds is None else tuple(kinds)
        self._rows_only = rows_only
        self._weights = weights
        self.model = sat.CpModel()
        self._copies: list[_Copy] = []
        self._phase_y: dict[str, sat.IntVar] = {}
        self._phase_x: dict[str, sat.IntVar] = {}
        self._arrows: dict[str, sat.IntVar] = {}
        self._hinted: list[tuple[sat.IntVar, Callable[[Spot], int]]] = []
        self._build()

    def _build(self) -> None:
        """Every rule of the layout, in the order of the pattern."""
        self._add_length()
        self._add_positions()
        self._add_intervals()
        self._add_no_overlap()
        self._add_lone_columns()
        self._add_row_weights()
        self._add_order_of_copies()
        self._add_mirror()

    def _add_length(self) -> None:
        if self._decide:
            self._length: sat.Expression = self._longest
        else:
            self._length = self.model.new_int_var(self._least, self._longest, "length")
            self.model.minimize(self._length)

    def _add_positions(self) -> None:
        """Starts and sizes: inside the strip, in phase, turned only where allowed."""
        for index in self._kinds:
            for number in range(self._core.kinds[index].copies):
                self._copies.append(self._copy(index, number))

    def _copy(self, index: int, number: int) -> _Copy:
        kind, model = self._core.kinds[index], self.model
        name = f"{index}.{number}"
        turn = self._turn(kind, name)
        if turn is None:
            across, along, _ = kind.ways[0]
            x = model.new_int_var(*self._core.across(kind, across), f"x{name}")
            copy = _Copy(index, x, 0, None, across, along)
        else:
            across_expr = kind.width + (kind.length - kind.width) * turn
            along_expr = kind.length + (kind.width - kind.length) * turn
            x = model.new_int_var(*self._core.across(kind, kind.least_width), f"x{name}")
            model.add(x + across_expr <= self._core.width - kind.clear[1])
            copy = _Copy(index, x, 0, turn, across_expr, along_expr)
        copy.y = self._start_along(kind, copy, name)
        model.add(copy.y + copy.along <= self._length)
        return copy

    def _turn(self, kind: Kind, name: str) -> sat.IntVar | None:
        """One yes or no for each arrow group, or for the copy alone; None where there is no choice."""
        if len(kind.ways) == 1 and kind.arrow is None:
            return None
        if kind.arrow is None:
            return self.model.new_bool_var(f"turn{name}")
        if kind.arrow not in self._arrows:
            self._arrows[kind.arrow] = self.model.new_bool_var(f"turn {kind.arrow}")
        return self._arrows[kind.arrow]

    def _start_along(self, kind: Kind, copy: _Copy, name: str) -> sat.Expression:
        latest = self._longest - kind.least_length
        if kind.match is None or self._core.repeat is None:
            return self.model.new_int_var(0, max(0, latest), f"y{name}")
        return self._aligned(kind.match, copy, latest, name)

    def _aligned(self, match: Match, copy: _Copy, latest: int, name: str) -> sat.Expression:
        """Matched copies keep the phase of their group.

        Where nothing but the number of repeats is open the start is affine in it: no sum to propagate.
        """
        repeat, model = self._core.repeat, self.model
        assert repeat is not None
        columns = self._align_across(match, copy, name)
        fixed = self._core.start is not None and (repeat.step == 0 or isinstance(columns, int))
        if fixed:
            assert self._core.start is not None
            shift = columns if isinstance(columns, int) else 0
            base = (match.y - self._core.start + shift * repeat.step) % repeat.length
            rows = model.new_int_var(0, max(0, (latest - base) // repeat.length), f"k{name}")
            copy.hints["k"] = rows
            return rows * repeat.length + base
        reach = self._longest // repeat.length + 2
        drift = 0 if isinstance(columns, int) else self._core.width // (repeat.width or 1) + 2
        rows = model.new_int_var(-drift - 2, reach + drift, f"k{name}")
        y = model.new_int_var(0, max(0, latest), f"y{name}")
        phase = -self._core.start if self._core.start is not None else self._phase_along(match.level)
        model.add(y == match.y + phase + columns * repeat.step + rows * repeat.length)
        copy.hints.update(k=rows, y=y)
        return y

    def _phase_along(self, level: str) -> sat.IntVar:
        repeat = self._core.repeat
        assert repeat is not None
        if level not in self._phase_y:
            self._phase_y[level] = self.model.new_int_var(0, repeat.length - 1, f"phase {level}")
        return self._phase_y[level]

    def _align_across(self, match: Match, copy: _Copy, name: str) -> sat.IntVar | int:
        """The number of repeats across; widths of one seam group share their phase."""
        repeat, model = self._core.repeat, self.model
        assert repeat is not None
        if repeat.width is None or (match.seam is None and repeat.step == 0):
            return 0
        most = self._core.width // repeat.width + 1
        columns = model.new_int_var(-most - 1, most, f"n{name}")
        if match.seam is None:
            phase = model.new_int_var(0, repeat.width - 1, f"own phase {name}")
        else:
            if match.seam not in self._phase_x:
                self._phase_x[match.seam] = model.new_int_var(0, repeat.width - 1, f"phase {match.seam}")
            phase = self._phase_x[match.seam]
        model.add(copy.x == match.x + phase + columns * repeat.width)
        copy.columns = columns
        copy.hints.update(n=columns, phase=phase)
        return columns

    def _add_intervals(self) -> None:
        model = self.model
        longest, width = self._longest, self._core.width
        self._rows = [self._interval(c.y, c.along, longest) for c in self._copies]
        self._cols = [self._interval(c.x, c.across, width) for c in self._copies]
        flaws = self._core.flaws
        self._flaw_rows = [model.new_fixed_size_interval_var(f.y, f.length, "") for f in flaws]
        self._flaw_cols = [model.new_fixed_size_interval_var(f.x, f.width, "") for f in flaws]

    def _interval(self, start: sat.Expression, size: sat.Expression, latest: int) -> sat.IntervalVar:
        if isinstance(size, int):
            return self.model.new_interval_var(start, size, start + size, "")
        # An end must be affine in one variable; start and size are two, so it gets its own.
        end = self.model.new_int_var(0, latest, "")
        self.model.add(end == start + size)
        return self.model.new_interval_var(start, size, end, "")

    def _add_no_overlap(self) -> None:
        """No two parts share fabric, no part touches a flaw; projected sums on both axes as well."""
        model, copies = self.model, self._copies
        across = [copy.across for copy in copies]
        if not self._rows_only:
            model.add_no_overlap_2d(self._cols + self._flaw_cols, self._rows + self._flaw_rows)
            model.add_cumulative(self._cols, [copy.along for copy in copies], self._length)
        # Flaws stand at fixed rows and apart from one another, so their widths count like those of parts.
        widths: list[sat.Expression] = [*across, *(flaw.width for flaw in self._core.flaws)]
        model.add_cumulative(self._rows + self._flaw_rows, widths, self._core.width)

    def _add_lone_columns(self) -> None:
        """Parts wider than half the strip lie one above the other."""
        wide = [
            row
            for row, copy in zip(self._rows, self._copies, strict=True)
            if 2 * self._core.kinds[copy.kind].least_width > self._core.width
        ]
        if len(wide) > 1:
            self.model.add_no_overlap(wide)

    def _add_row_weights(self) -> None:
        """In every row the weights of a linear bound add up to at most its capacity."""
        if self._weights is None:
            return
        weights, capacity = self._weights
        demands: list[sat.Expression] = []
        for copy in self._copies:
            upright, turned = (weights.get((copy.kind, way), 0) for way in (False, True))
            if copy.turn is None:
                demands.append(turned if self._core.kinds[copy.kind].ways[0][2] else upright)
            else:
                demands.append(upright + (turned - upright) * copy.turn)
        self.model.add_cumulative(self._rows, demands, capacity)

    def _add_order_of_copies(self) -> None:
        """Equal copies come in order along the strip; those too wide to pair, one above the other."""
        for before, after in zip(self._copies, self._copies[1:], strict=False):
            if before.kind != after.kind:
                continue
            kind = self._core.kinds[before.kind]
            if before.turn is None and 2 * kind.least_width > self._core.width:
                self.model.add(before.y + before.along <= after.y)
            else:
                self.model.add(before.y <= after.y)

    def _add_mirror(self) -> None:
        """A plain layout may be mirrored left to right, so one part lies in the left half."""
        if self._rows_only or not self._core.plain or not self._copies:
            return
        first = max(self._copies, key=lambda c: self._core.kinds[c.kind].area)
        if first.turn is None:
            self.model.add(2 * first.x <= self._core.width - first.across)

    def hold_outside(self, layout: Layout, free: frozenset[int], center: int) -> None:
        """Let spots of a layout be, but those of the indices ``free``; what lies above ``center`` comes down.

        It comes down as a whole by one step or more, under a repeat by whole repeats.
        """
        core = self._core
        period = core.repeat.length if core.repeat is not None and not core.plain else 1
        down = self.model.new_int_var(1, max(1, self._longest // period + 1), "down")
        for copy, number in self._paired(layout):
            spot = layout[number]
            if number not in free:
                above = 2 * spot.y + core.size(spot)[1] > 2 * center
                self.model.add(copy.x == spot.x)
                self.model.add(copy.y == spot.y - (period * down if above else 0))
                if copy.turn is not None:
                    self.model.add(copy.turn == int(spot.turned))

    def _paired(self, layout: Layout) -> Iterator[tuple[_Copy, int]]:
        """Copies with the numbers of their spots: of each kind in order along the strip, then across."""
        by_kind: dict[int, list[int]] = defaultdict(list)
        for number in sorted(range(len(layout)), key=lambda i: (-layout[i].y, -layout[i].x)):
            by_kind[layout[number].kind].append(number)
        for copy in self._copies:
            yield copy, by_kind[copy.kind].pop()

    def hint(self, layout: Layout) -> None:
        """Start from a layout of the same core."""
        by_kind: dict[int, list[Spot]] = defaultdict(list)
        for spot in sorted(layout, key=lambda s: (-s.y, -s.x)):
            by_kind[spot.kind].append(spot)
        seen: set[int] = set()
        for copy in self._copies:
            self._hint_copy(copy, by_kind[copy.kind].pop(), seen)
        if not self._decide and isinstance(self._length, sat.IntVar):
            self._give(self._length, self._core.length_of(layout), seen)

    def _hint_copy(self, copy: _Copy, spot: Spot, seen: set[int]) -> None:
        self._give(copy.x, spot.x, seen)
        if copy.turn is not None:
            self._give(copy.turn, int(spot.turned), seen)
        match, repeat = self._core.kinds[copy.kind].match, self._core.repeat
        if match is None or repeat is None:
            if isinstance(copy.y, sat.IntVar):
                self._give(copy.y, spot.y, seen)
            return
        columns, phase_x = repeat.columns(spot.x, match.x)
        phase_y = repeat.phase_y(spot.x, spot.y, match.x, match.y)
        known = {"n": columns, "phase": phase_x, "y": spot.y}
        if self._core.start is None:
            self._give(self._phase_along(match.level), phase_y, seen)
        else:
            phase_y = -self._core.start
        step = columns * repeat.step if "n" in copy.hints else 0
        known["k"] = (spot.y - match.y - phase_y - step) // repeat.length
        if "y" not in copy.hints:
            known["k"] = spot.y // repeat.length
        for name, variable in copy.hints.items():
            self._give(variable, known[name], seen)

    def _give(self, variable: sat.IntVar, value: int, seen: set[int]) -> None:
        if variable.index not in seen:
            seen.add(variable.index)
            self.model.add_hint(variable, value)

    def solve(
        self, race: Host, seconds: float, workers: int, *, weak: bool = False, method: str = "CP-SAT"
    ) -> SolverAnswer:
        """Run the solver for at most ``seconds`` (or units of work) of the race's budget.

        Layouts are handed to the race as they are found, in the name of ``method``.
        """
        solver = sat.CpSolver()
        set_parameters(solver, race, seconds, workers, len(self._copies), weak=weak)
        status = watched(solver, self.model, race, self._reporter(race, method))
        race.budget.charge(solver.response_proto.deterministic_time + WORK_PER_COPY * len(self._copies))
        found = status in (sat.OPTIMAL, sat.FEASIBLE)
        layout = self.layout_at(solver.value) if found else None
        infeasible = status == sat.INFEASIBLE
        if infeasible:
            bound = self._longest + 1
        elif self._decide:
            bound = self._least
        else:
            bound = max(self._least, proven_bound(solver, status, most=False) or 0)
        return SolverAnswer(layout, bound, infeasible, status in (sat.OPTIMAL, sat.INFEASIBLE))

    def _reporter(self, race: Host, method: str) -> Callable[[sat.Values], None] | None:
        """Hands every layout to the race as it is found; None where the model is a relaxation."""
        if self._rows_only or self._decide or len(self._kinds) < len(self._core.kinds):
            return None

        def found(value: sat.Values) -> None:
            race.post(self.core, self.layout_at(value), method)

        return found

    def layout_at(self, value: sat.Values) -> Layout:
        """The layout that the variables' values stand for."""
        return tuple(self._spot(value, copy) for copy in self._copies)

    @property
    def core(self) -> Core:
        """What is laid."""
        return self._core

    def _spot(self, value: sat.Values, copy: _Copy) -> Spot:
        kind = self._core.kinds[copy.kind]
        turned = kind.ways[0][2] if copy.turn is None else bool(value(copy.turn))
        return Spot(copy.kind, value(copy.x), value(copy.y), turned)
