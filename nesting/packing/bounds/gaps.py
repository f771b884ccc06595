"""What a pattern makes wait: fabric that must stay unused between matched parts.

Weights are given to the parts such that in no row they add up to more than a capacity F: their widths with
the strip's width, or the weights of the bar relaxation. Then there are F lanes such that each part keeps as
many of them as it weighs for its whole length, because in any row enough are free when a part begins. On a
lane the matched parts follow one another, and the gap from one to the next is what the repeat allows: its
length is known modulo the repeat once the phases of the level groups are. Unmatched parts may fill a gap as
far as their lengths add up; what they cannot fill is waste. The cheapest way for all lanes together is a
transportation problem: from each matched part to the next, lane by lane.

The phases of the level groups are free, and so is the length modulo the repeat, on which the last gap of each
lane depends. Where unmatched parts are few, so are the phases (see `nesting.packing.bounds.settling`), and
one group after another is settled; else boxes of phases are cut in two. The one that allows the shortest
layout is first; within a box every gap counts with the least waste it may have. All in whole numbers.

References
----------
Ford, Fulkerson, "Flows in Networks" (1962) (transportation). Land, Doig, Econometrica 28 (1960) 497-520
(branch and bound). The lanes: Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319, for widths.
"""

from __future__ import annotations

import heapq
from collections.abc import Callable, Iterator
from operator import mul
from typing import Any, ClassVar

import numpy as np

from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.bounds.settling import Named, Phases, Settling, named
from nesting.packing.bounds.standing import starts_of
from nesting.packing.reduce import Core
from nesting.packing.result import Bound
from nesting.packing.turn import Turn, Weights

#: Prices of filling are tried in quarters.
QUARTERS = 4
PRICES = (0, 2, 4)
#: Gaps longer than this are taken to waste nothing but what filling is priced at.
LONGEST_GAP = 3_000_000
#: More matched classes than this make the transportation problem slow.
MOST_CLASSES = 60
#: With more boxes than this groups are not settled one after another any longer; boxes are halved anew.
MOST_SETTLED = 6_000
#: A cost that no flow takes.
_NEVER = 10**12
#: Units of work of one box, per pair of classes.
WORK_PER_PAIR = 4e-6


def families(core: Core, bars: Weights | None) -> tuple[Weights, ...]:
    """Weights worth trying: widths, wide parts one above the other, halves, and those of the bars."""
    ways = [(i, t, w) for i, kind in enumerate(core.kinds) for w, _, t in kind.ways]
    found: list[Weights] = [({(i, t): w for i, t, w in ways}, core.width)]
    found.append(({(i, t): 1 for i, t, w in ways if 2 * w > core.width}, 1))
    if any(2 * w == core.width for _, _, w in ways):
        found.append(({(i, t): min(2, 2 * w // core.width + (2 * w > core.width)) for i, t, w in ways}, 2))
    return tuple(found) if bars is None else (*found, bars)


class GapBound:
    """The bound for one set of weights, which can be taken up again with more time.

    Parameters
    ----------
    core
        The problem; matched parts under a repeat.
    weights
        Of each way each kind may lie, and what they add up to in a row at most.
    """

    def __init__(self, core: Core, weights: Weights) -> None:
        assert core.repeat is not None
        self._core = core
        self._period = core.repeat.length
        self._weight, self._lanes = weights
        self._fillers: list[tuple[int, set[int]]] = []
        self._matched = self._filled = 0
        self._levels = sorted({kind.match.level for kind in core.kinds if kind.match is not None})
        self._settling = Settling(core, range(len(core.kinds)))
        #: Whether groups are settled one after another, and what was met so.
        self._few = self._settling.worthwhile
        self._met: set[Named] = set()
        self._classes = self._sorted()
        self._boxes: list[tuple[int, int, Any, Any]] = []
        self._made = 0
        #: Gaps are known for layouts up to this length.
        self._longest = 0
        self.settled = False
        if self.worthwhile:
            self._build_arcs()

    @property
    def worthwhile(self) -> bool:
        """Whether there is anything to wait for."""
        return 0 < len(self._classes) <= MOST_CLASSES and all(starts for _, starts, *_ in self._classes)

    @property
    def work(self) -> float:
        """Units of work of one box."""
        return WORK_PER_PAIR * (len(self._classes) + 1) ** 2 + 1e-4

    def _sorted(self) -> list[tuple[int, tuple[int, ...], int, int]]:
        """``(level, starts, length, lanes)``, all but the lanes modulo the repeat, equal ones together."""
        classes: dict[tuple[int, tuple[int, ...], int], int] = {}
        rooms: dict[str, Any] = {}
        for index, kind in enumerate(self._core.kinds):
            if kind.match is None:
                taken = [(self._weight.get((index, t), 0), along) for _, along, t in kind.ways]
                self._filled += min(weight * along for weight, along in taken) * kind.copies
                if any(weight for weight, _ in taken):
                    self._fillers.append((kind.copies, {along for weight, along in taken if weight}))
            elif weight := self._weight.get((index, False), 0):
                starts = starts_of(self._core, index, rooms)
                key = (self._levels.index(kind.match.level), starts, kind.length % self._period)
                classes[key] = classes.get(key, 0) + weight * kind.copies
                self._matched += weight * kind.length * kind.copies
        return [(*key, lanes) for key, lanes in classes.items()]

    def _build_arcs(self) -> None:
        """Each way one matched part may follow another, as an offset and the levels it depends on.

        Level -1 is the squared end, -2 the end of the layout.
        """
        offsets: list[tuple[int, int, int]] = []
        self._first: list[int] = []
        count = len(self._classes)
        for level, starts, length, _ in self._classes:
            for next_level, next_starts, _, _ in self._classes:
                self._first.append(len(offsets))
                gaps = {(after - at - length) % self._period for at in starts for after in next_starts}
                offsets += [(gap, level, next_level) for gap in sorted(gaps)]
        for level, starts, _, _ in self._classes:
            self._first.append(len(offsets))
            offsets += [(at, -1, level) for at in starts]
        for level, starts, length, _ in self._classes:
            self._first.append(len(offsets))
            offsets += [((-at - length) % self._period, level, -2) for at in starts]
        table = np.array(offsets)
        self._offset, self._before, self._after = table[:, 0], table[:, 1], table[:, 2]
        pairs = [(i, j) for i in range(count) for j in range(count)]
        pairs += [(count, j) for j in range(count)] + [(i, count) for i in range(count)] + [(count, count)]
        self._tails = np.array([i for i, _ in pairs])
        self._heads = np.array([j for _, j in pairs]) + count + 1
        self._room = np.full(len(pairs), _NEVER)
        self._supplies = np.array([*(lanes for *_, lanes in self._classes), self._lanes])

    def raised(
        self, least: int, longest: int, stop: Callable[[], bool], pulse: Callable[[], None] = lambda: None
    ) -> Bound:
        """The bound found until ``stop()``, from ``least`` to ``longest`` + 1; `settled` once it is final.

        ``pulse`` is called while tables are made, which ``stop`` cannot end.
        """
        method = "fabric skipped to reach the next repeat, not re-checked"
        if not self.worthwhile:
            return Bound(least, method)
        if not self._boxes or longest > self._longest:
            self._begin(longest, pulse)
        while self._boxes[0][0] <= longest and not self.settled and not stop():
            key, _, low, high = self._boxes[0]
            if (low == high).all():
                self.settled = True
                break
            if self._few and self._made > MOST_SETTLED:
                self._few, self._boxes = False, []
                self._open()
                continue
            heapq.heappop(self._boxes)
            for at, first, last in self._one_more(low, high) if self._few else self._halves(low, high):
                box = low.copy(), high.copy()
                box[0][at], box[1][at] = first, last
                self._push(key, *box)
        return Bound(max(least, min(self._boxes[0][0], longest + 1)), method)

    def _halves(self, low: Any, high: Any) -> Iterator[tuple[int, int, int]]:
        """A box cut in two where it is widest: which phase, from where, to where."""
        widest = int(np.argmax(high - low))
        middle = (low[widest] + high[widest]) // 2
        yield widest, low[widest], middle
        yield widest, middle + 1, high[widest]

    def _one_more(self, low: Any, high: Any) -> Iterator[tuple[int, int, int]]:
        """Each phase of one more group that a layout pushed together may have, and last where it may end."""
        phases = {level: int(low[at]) for at, level in enumerate(self._levels) if low[at] == high[at]}
        if len(phases) == len(self._levels):
            yield from ((-1, end, end) for end in sorted(self._settling.ends(phases)))
        for settled in self._settling.one_more(phases):
            name = named(settled)
            if name not in self._met:
                self._met.add(name)
                level = next(iter(settled.keys() - phases.keys()))
                yield self._levels.index(level), settled[level], settled[level]

    def least_at(self, phases: Phases, longest: int) -> int:
        """A bound on layouts up to ``longest`` with these phases; level groups not named may have any."""
        if not self._boxes or longest > self._longest:
            self._begin(longest)
        low, high = self._whole[0].copy(), self._whole[1].copy()
        for level, phase in phases.items():
            at = self._levels.index(level)
            low[at] = high[at] = phase
        return self._least(0, low, high)

    def _begin(self, longest: int, pulse: Callable[[], None] = lambda: None) -> None:
        """The tables of waste in gaps up to ``longest``, and the first box."""
        self._longest, self._boxes = longest, []
        total = sum(copies * max(lengths) for copies, lengths in self._fillers)
        reach = min(longest, total + self._period)
        known = min(reach, LONGEST_GAP)
        gaps, filled = np.arange(known + 1), self._most_filled(known)
        self._tables = []
        for price in PRICES if self._fillers else PRICES[:1]:
            pulse()
            waste = QUARTERS * gaps - (QUARTERS - price) * filled
            # A gap of g can be filled by g at most, which costs its price.
            self._tables.append((price, *self._runs(waste, _NEVER if known == reach else price * known)))
        self._open()

    def _open(self) -> None:
        """All phases, in one box; what was met of others is forgotten, for it is met again."""
        self._met.clear()
        levels = len(self._levels)
        low = np.zeros(levels + 1, dtype=np.int64)
        high = np.full(levels + 1, self._period - 1)
        if self._core.start is not None:
            low[:levels] = high[:levels] = -self._core.start % self._period
        if not self._few:
            for level in set(range(levels)) - {level for level, *_ in self._classes}:
                high[level] = low[level]
        self._whole = low, high
        self._push(0, low, high)

    def _push(self, key: int, low: Any, high: Any) -> None:
        """Keep a box by the shortest length that it allows."""
        self._made += 1
        heapq.heappush(self._boxes, (self._least(key, low, high), self._made, low, high))

    def _least(self, key: int, low: Any, high: Any) -> int:
        """The shortest length from ``key`` on that a box allows."""
        weight = QUARTERS * (self._matched + self._filled) + self._waste(low, high)
        least = max(key, -(-weight // (QUARTERS * self._lanes)))
        residue = least % self._period
        if not low[-1] <= residue <= high[-1]:
            least += int(low[-1] - residue) % self._period
        return least

    def _runs(self, waste: Any, beyond: int) -> tuple[Any, int]:
        """The least waste in a gap of each residue, by runs of residues of length 2**k; and of all."""
        period = self._period
        rows = -(-len(waste) // period)
        padded = np.full(rows * period, _NEVER)
        padded[: len(waste)] = waste
        least = np.minimum(padded.reshape(rows, period).min(0), beyond)
        runs, size = [np.concatenate([least, least])], 1
        while 2 * size <= period:
            run = np.full(2 * period, _NEVER)
            run[: 2 * period - size] = np.minimum(runs[-1][: 2 * period - size], runs[-1][size:])
            runs.append(run)
            size *= 2
        return np.array(runs), int(least.min())

    def _most_filled(self, longest: int) -> Any:
        """Of a gap of each length, how much unmatched parts can fill."""
        reached = np.zeros(longest + 1, dtype=np.bool_)
        reached[0] = True
        for copies, lengths in self._fillers:
            for length in lengths:
                left, block = min(copies, longest // length), 1
                while left > 0:
                    taken = min(block, left)
                    reached[taken * length :] |= reached[: longest + 1 - taken * length].copy()
                    left -= taken
                    block *= 2
        return np.maximum.accumulate(np.where(reached, np.arange(longest + 1), 0))

    def _waste(self, low: Any, high: Any) -> int:
        """The least waste of all lanes, in quarters, with phases in the box."""
        from ortools.graph.python.min_cost_flow import SimpleMinCostFlow

        most, count = 0, len(self._classes) + 1
        # One level more: the squared end is at 0. Levels are counted from 0, the ends from the last.
        low, high = np.append(low, 0), np.append(high, 0)
        at = (self._offset + low[self._after] - high[self._before]) % self._period
        open_ends = (high - low)[self._after] + (high - low)[self._before]
        any_gap = open_ends >= self._period - 1
        open_ends = np.where(any_gap, 0, open_ends)
        # Exact: whole numbers below 2**53 keep their leading bit as floats.
        run = np.frexp(open_ends + 1)[1] - 1
        for price, runs, least in self._tables:
            waste = np.minimum(runs[run, at], runs[run, at + open_ends + 1 - (1 << run)])
            waste = np.minimum.reduceat(np.where(any_gap, least, waste), self._first)
            flow = SimpleMinCostFlow()
            flow.add_arcs_with_capacity_and_unit_cost(
                self._tails, self._heads, self._room, np.append(waste, 0)
            )
            nodes = np.arange(2 * count)
            flow.set_nodes_supplies(nodes, np.concatenate([self._supplies, -self._supplies]))
            if flow.solve() != flow.OPTIMAL:
                continue
            # Added up here: the solver's own sum ends at 64 bits, which many lanes of long gaps exceed.
            flows = flow.flows(np.arange(len(waste) + 1))
            taken = np.nonzero(flows[:-1])[0]
            cost = sum(map(mul, flows[taken].tolist(), waste[taken].tolist()))
            most = max(most, cost - price * self._filled)
        return most


class WaitsForTheRepeat(LowerBound):
    """By `GapBound`, for one set of weights after another."""

    name: ClassVar[str] = "waits for the repeat"

    def __init__(self, core: Core) -> None:
        super().__init__(core)
        self._gaps: list[GapBound] | None = None

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Under a repeat."""
        return any(kind.match is not None for kind in core.kinds) and not core.open_arrows

    def raised(self, turn: Turn) -> Bound | None:
        """With as much time for each set of weights."""
        bound = None
        for gap in self._open(turn):
            longest = turn.longest
            if longest is None or turn.goal.closed:
                return None
            turn = turn.renewed().charging(gap.work)
            bound = gap.raised(turn.least, longest, turn.over, turn.pulse)
            turn.take(bound)
        return bound

    def open(self, turn: Turn) -> bool:
        """Whether some weights have not said all they can."""
        return turn.longest is not None and not turn.goal.closed and bool(self._open(turn))

    def _open(self, turn: Turn) -> list[GapBound]:
        if self._gaps is None:
            known = turn.goal.weights
            sets = families(self.core, known.get("bars"))
            placed = known.get("bars in place")
            self._gaps = [GapBound(self.core, one) for one in (sets if placed is None else (placed, *sets))]
        self._gaps = [gap for gap in self._gaps if gap.worthwhile and not gap.settled]
        return self._gaps
