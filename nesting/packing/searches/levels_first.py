"""Levels first, the rest freely above them: for many copies of few kinds on plain fabric.

Of the levels that the linear program met (see `levels`), CP-SAT takes whole numbers that
hold most of the parts and not a copy too many. What they leave is a fair share of each kind, so that it can
be packed about as well as the whole; it is searched like any small problem, and is no larger for a larger
order.

References
----------
Waescher, Gau, OR Spektrum 18 (1996) 131-144 (whole numbers from the linear program, the rest solved for
itself); keeping the rest fair is common sense, no source.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import replace
from typing import ClassVar

from nesting.packing.models import sat
from nesting.packing.models.solver import set_parameters, watched
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.searches.fitting import FitSearch
from nesting.packing.searches.levels import GAIN, Level, LevelPricing, LevelProgram
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.searches.search import Search
from nesting.packing.turn import Budget, Goal, Turn

#: With more kinds, or fewer copies of each on average, hardly any level is left whole.
MOST_KINDS, LEAST_EACH, LEAST_COPIES = 40, 8, 100
#: On strips of more steps knapsacks are too slow to be worth it.
WIDEST = 50_000
#: Levels at most so many times as long as the longest part, one limit after the other.
STACKED = (1, 2, 3, 4, 6, 8, 12, 16)
#: No level is longer than this part of what all parts need by their area.
LEAST_LEVELS = 8
#: Cells of all knapsacks along the strip of one pricing.
MOST_STACKED = 8_000_000
#: The rest is taken to need this much more than its area, in thousandths.
LOSS = 30
#: So many copies of each kind are left to the rest on average at the least, one turn after the other.
RESTS = (3, 5, 4, 7)
#: Of each kind the rest has this many times its share at the most (and as many more as lie side by side), and
#: its share divided by it at the least.
SPREAD = 3
#: Share of a turn's time for the linear program, and for whole numbers; what is left is for the rest.
PRICES, WHOLE = 0.2, 0.25
#: Seconds, or units of work, of a search of orders of the rest; a fixed length is then given twice as much.
TURN = 0.2

Chosen = Sequence[tuple[Level, int]]
"""Levels, and how many of each."""


class LevelsFirst(Search):
    """Turns of the search that can be taken up again.

    Parameters
    ----------
    core
        The problem.
    seed
        Same seed, same turns.
    """

    name: ClassVar[str] = "levels first"

    def __init__(self, core: Core, seed: int) -> None:
        self._core, self._seed, self._turns = core, seed, 0
        self._pricing: LevelPricing | None = None
        self._program: LevelProgram | None = None
        self._limits: list[int] = []

    @classmethod
    def applies(cls, core: Core) -> bool:
        """On plain fabric with several kinds, all directions decided."""
        return core.plain and not core.open_arrows and len(core.kinds) > 1

    @property
    def worthwhile(self) -> bool:
        """Whether there are many copies of few kinds, on plain fabric with all arrow groups decided."""
        core = self._core
        if not core.plain or core.open_arrows or not 1 < len(core.kinds) <= MOST_KINDS:
            return False
        if core.copies < max(LEAST_COPIES, LEAST_EACH * len(core.kinds)) or core.width > WIDEST:
            return False
        return self._longest >= self._longest_part

    @property
    def _longest_part(self) -> int:
        return max(length for kind in self._core.kinds for _, length, _ in kind.ways)

    @property
    def _longest(self) -> int:
        """Of a level."""
        core = self._core
        ways = sum(len(kind.ways) for kind in core.kinds)
        needed = sum(kind.area * kind.copies for kind in core.kinds) // core.width
        return min(STACKED[-1] * self._longest_part, needed // LEAST_LEVELS, MOST_STACKED // ways**2)

    def run(self, turn: Turn) -> bool:
        """Offer layouts until the turn is over.

        False when levels by themselves, even in fractions, are longer than the best layout.
        """
        if not self.worthwhile:
            return False
        target = turn.least
        levels, length = self.levels(turn)
        limit = turn.longest
        if limit is not None and (1 - GAIN) * length > limit:
            # A program that was cut short may still come down.
            return bool(self._limits)
        each = RESTS[self._turns % len(RESTS)]
        self._turns += 1
        if turn.over():
            return True
        chosen = self.chosen(levels, each, turn)
        if chosen and not turn.over():
            self._lay(chosen, turn, target)
        return True

    def levels(self, turn: Turn) -> tuple[tuple[Level, ...], float]:
        """Levels for the least length by the linear program, and that length, as far as it comes.

        Asked again it goes on, until no more levels are priced above their length.
        """
        if self._pricing is None or self._program is None:
            self._pricing = LevelPricing(self._core, self._longest)
            self._program = LevelProgram(self._pricing.alone(), [kind.copies for kind in self._core.kinds])
            limits = (min(self._longest, stacked * self._longest_part) for stacked in STACKED)
            self._limits = sorted(set(limits), reverse=True)
        pricing = turn.part(PRICES)
        while self._limits and not pricing.over():
            longest = self._limits[-1]
            turn.charge(self._pricing.work(longest))
            if not self._program.grow(self._pricing.best(self._program.prices(), longest)):
                self._limits.pop()
        return self._program.levels, self._program.length

    def chosen(self, levels: Sequence[Level], each: int, turn: Turn) -> Chosen:
        """Whole numbers of levels without a copy too many, a rest costing more than its area.

        Parameters
        ----------
        levels
            To choose from.
        each
            Copies of each kind that are left to the rest, on average by area, at the least.
        turn
            Of which the solver has a share.

        Returns
        -------
        Chosen
            Empty when the time was too short for any.
        """
        model, core = sat.CpModel(), self._core
        held = [level.counts() for level in levels]
        most = [min(core.kinds[kind].copies // many for kind, many in counts.items()) for counts in held]
        amounts = [model.new_int_var(0, many, "") for many in most]
        rests = []
        parts = each * len(core.kinds)
        for number, kind in enumerate(core.kinds):
            fair = parts * kind.copies
            # With as many more as lie side by side, levels of one kind alone always leave few enough.
            beside = core.width // kind.least_width
            highest = min(kind.copies, -(-SPREAD * fair // core.copies) + beside)
            rest = model.new_int_var(fair // (SPREAD * core.copies), highest, "")
            laid = sum(counts[number] * amount for counts, amount in zip(held, amounts, strict=True))
            model.add(laid + rest == kind.copies)
            rests.append(rest)
        area = sat.LinearExpr.weighted_sum(rests, [kind.area for kind in core.kinds])
        model.add(area >= parts * sum(kind.area * kind.copies for kind in core.kinds) // core.copies)
        length = sat.LinearExpr.weighted_sum(amounts, [level.length for level in levels])
        model.minimize(1000 * core.width * length + (1000 + LOSS) * area)
        solver = sat.CpSolver()
        set_parameters(solver, turn, WHOLE * turn.seconds, turn.threads, 0, weak=True)
        status = watched(solver, model, turn, None)
        turn.charge(solver.response_proto.deterministic_time)
        if status not in (sat.OPTIMAL, sat.FEASIBLE):
            return []
        taken = [(level, solver.value(amount)) for level, amount in zip(levels, amounts, strict=True)]
        return [(level, many) for level, many in taken if many]

    def _lay(self, chosen: Chosen, turn: Turn, target: int) -> None:
        """The levels one after another, and the rest above them by searches in turn."""
        core, base = self._core, 0
        left = Counter({number: kind.copies for number, kind in enumerate(core.kinds)})
        spots = list[Spot]()
        for level, many in chosen:
            for _ in range(many):
                spots += level.spots(base, left)
                base += level.length
        above = Above(turn, tuple(spots), base, left)
        rest = above.rest
        above.offer(rest, shelves(rest, SeamRoom(rest)), "shelves")
        if len(rest.kinds) < 2:
            return
        seed = self._seed + self._turns - 1
        orders, fits = OrderSearch(rest, seed), FitSearch(rest, seed)
        needed = -(-sum(kind.area * kind.copies for kind in rest.kinds) // core.width)
        least, seconds = max(needed, target - base), TURN
        while not turn.over():
            orders.run(turn.capped(seconds).of(above, Goal(rest, least)))
            limit = turn.longest
            if limit is None or limit - base < least:
                return
            fits.run(turn.capped(2 * seconds).of(above, Goal(rest, least, limit - base)))
            seconds *= 2


class Above:
    """Where searches of the rest hand in what they find; it is laid above the levels.

    Parameters
    ----------
    turn
        Told of the whole.
    spots
        What lies in the levels.
    base
        Where they end.
    left
        Copies of each kind that are left for the rest.
    """

    def __init__(self, turn: Turn, spots: Layout, base: int, left: Counter[int]) -> None:
        self._turn, self._spots, self._base = turn, spots, base
        self._core = core = turn.core
        self._kinds = [number for number in range(len(core.kinds)) if left[number]]
        kinds = (replace(core.kinds[n], members=core.kinds[n].members[: left[n]]) for n in self._kinds)
        self.rest = replace(core, kinds=tuple(kinds), lone=())

    @property
    def seed(self) -> int:
        """Of the turn."""
        return self._turn.seed

    @property
    def budget(self) -> Budget:
        """Of the turn."""
        return self._turn.budget

    def pulse(self) -> None:
        """Let the observer breathe."""
        self._turn.pulse()

    def post(self, core: Core, layout: Layout, method: str) -> None:
        """Hand on the whole from another thread."""
        self._turn.post(self._core, self._whole(layout), f"levels first, then {method}")

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Take a layout of the rest if with the levels it is shorter than the best."""
        longest = self._turn.longest
        if layout is None or (longest is not None and self._base + core.length_of(layout) > longest):
            return False
        return self._turn.offer(self._core, self._whole(layout), f"levels first, then {method}")

    def _whole(self, layout: Layout) -> Layout:
        """The levels, and a layout of the rest above them."""
        moved = (replace(spot, kind=self._kinds[spot.kind], y=spot.y + self._base) for spot in layout)
        return (*self._spots, *moved)
