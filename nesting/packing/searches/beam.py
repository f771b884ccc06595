"""Layouts grown side by side on plain fabric, again and again with other estimates of what is promising.

One layout grown by the best fit alone spends the small parts early, and is left with large ones that leave
fabric unused at the end. Grown by the dozen, those are kept on which the rows finished so far lose least, by
the row weights of the bounds, and which have small parts left. How much a part left counts for depends on the
job, so it is drawn anew for each run, as are the number of stages and some luck.

References
----------
See `nesting.packing.kernels.growing`; the row weights are those of `nesting.packing.bounds.bars`.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from random import Random
from typing import ClassVar

from nesting.packing.kernels import growing as at
from nesting.packing.kernels.compiled import KERNELS, KernelForm
from nesting.packing.kernels.skyline import Sky
from nesting.packing.pace import Pace
from nesting.packing.reduce import Core, Layout, Spot
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn, Weights

#: Layouts that wait in one stage.
BEAM = 8
#: Stages of a run.
STAGES = (300, 600)
#: What a part left counts for, as a share of the length that parts take on average.
KEEP = (0.005, 0.01, 0.02, 0.04, 0.08)
#: Luck in an estimate, as a share of the length.
NOISE = (0.000_3, 0.001, 0.003, 0.01)
#: More parts, ways or parts side by side than this make growing slow.
MOST_PARTS, MOST_WAYS, MOST_ABREAST = 400, 80, 60
#: Estimates up to this are told apart in 64 bits.
LARGEST = 2**62
#: A few parts have few layouts, and the proof is waiting: no more runs than this for each pair of parts.
ENOUGH = 1
#: Stages for each part, at most.
STAGES_A_PART = 20
#: Units of work to begin a run, for each stage.
WORK_PER_STAGE = 2e-6
#: Units of work of a layout grown, per way and number of it.
WORK_PER_NUMBER = 1.5e-9


class BeamSearch(Search):
    """Runs of the search that can be taken up again.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    seed
        Same seed, same runs, whatever form the kernels are in.
    """

    name: ClassVar[str] = "side by side"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._dice = Random(seed)
        self._ways = [(i, w, h, t) for i, kind in enumerate(core.kinds) for w, h, t in kind.ways]
        self._abreast = core.width // min((w for _, w, _, _ in self._ways), default=1) + 1
        self._form: KernelForm | None = None
        self._runs = 0
        #: Whether a run has not come to its end.
        self.running = False

    @classmethod
    def applies(cls, core: Core) -> bool:
        """On plain fabric, all directions decided."""
        return core.plain and not core.open_arrows

    @property
    def worthwhile(self) -> bool:
        """Whether this is plain fabric, with parts to choose among, not too many, and runs are left."""
        core = self._core
        if self._runs >= ENOUGH * core.copies**2:
            return False
        few = core.copies <= MOST_PARTS and len(self._ways) <= MOST_WAYS and self._abreast <= MOST_ABREAST
        return core.plain and len(core.kinds) > 1 and few

    def run(self, turn: Turn) -> bool:
        """Search until the turn is over; searches of orders go on from the shortest layout found."""
        least, longest, weights = turn.least, turn.longest, turn.goal.best_weights
        if longest is None or longest < least or not self.worthwhile:
            return False
        found = self._grow(turn, least, longest, weights)
        if found is not None:
            turn.hand_on(found)
        return True

    def _grow(self, turn: Turn, least: int, longest: int, weights: Weights | None) -> Layout | None:
        """Layouts from ``least`` to ``longest`` long; the shortest found."""
        layout = None
        if self._heaviest(longest, weights) >= LARGEST:
            return None
        while least <= longest and self.worthwhile and not turn.over():
            KERNELS.refresh()
            # Where work is counted, the form that happens to be ready must not change what is searched.
            changed = self._form is not KERNELS.form and not turn.counted
            if changed or not self.running:
                turn.charge(self._begin(longest, weights))
            self._state[at.WANTED] = min(int(self._state[at.WANTED]), longest)
            steps = self._pace.rounds(turn, self._work)
            began = time.monotonic()
            self.running = not self._search(*self._rules, steps, *self._arrays)
            self._runs += not self.running
            self._pace.took(time.monotonic() - began)
            turn.charge((steps - int(self._state[at.UNUSED])) * self._work)
            if self._state[at.FOUND]:
                self._state[at.FOUND] = 0
                layout = self._layout()
                longest = self._core.length_of(layout) - 1
                turn.offer(self._core, layout, "grown side by side")
        return layout

    def _heaviest(self, longest: int, weights: Weights | None) -> int:
        """No number in a run is larger."""
        most = max(self._core.width, 0 if weights is None else weights[1])
        return max(2 * at.FINE, *STAGES) * most * longest

    def _begin(self, longest: int, weights: Weights | None) -> float:
        """Make a run ready; the work of that."""
        core, ways, dice = self._core, self._ways, self._dice
        kinds, stages = len(core.kinds), min(dice.choice(STAGES), STAGES_A_PART * core.copies)
        keep = dice.choice(KEEP) * longest / core.copies
        noise = dice.choice(NOISE) * longest
        rules = [([w for _, w, _, _ in ways], core.width)]
        if weights is not None and weights[1] > 0:
            rules.append(([weights[0].get((i, bool(t)), 0) for i, _, _, t in ways], weights[1]))
        segments = 2 * self._abreast + 3
        size = at.HEAD + len(rules) + kinds + 3 * segments + 2 * self._abreast
        self._work = WORK_PER_NUMBER * size * len(ways)
        form = self._form = KERNELS.form
        self._pace = Pace()
        array, zeros = form.array, form.zeros
        self._search = form.functions["beam_search"]
        layouts = stages * BEAM + 2
        node, self._state = zeros(layouts * size), zeros(at.STATE)
        first = at.HEAD + len(rules)
        for i, kind in enumerate(core.kinds):
            node[first + i] = kind.copies
        node[at.LEFT], node[at.SEGMENTS], node[at.WAY] = core.copies, 1, -1
        node[first + kinds + 2] = core.width
        self._state[at.TRAIL], self._state[at.WANTED], self._state[at.FREE] = 1, longest, layouts - 1
        self._trail = zeros(at.STEP * (stages * at.GROWTH * BEAM + 2))
        filled = zeros(stages)
        filled[0] = 1
        kind, wide, long = (array(way[item] for way in ways) for item in range(3))
        alone = array(int(len(core.kinds[way[0]].ways) == 1) for way in ways)
        self._rules = (
            at.Growable(kind, wide, long, alone),
            at.RowRules(
                array(weight for rule, _ in rules for weight in rule),
                array(most for _, most in rules),
                array(self._total(rule) for rule, _ in rules),
            ),
            at.Growth(
                stages,
                BEAM,
                noise=1 + int(at.FINE * noise),
                keep=int(at.FINE * keep),
                area=sum(kind.area * kind.copies for kind in core.kinds),
            ),
        )
        free, waiting, rank = array([*range(1, layouts), 0]), zeros(stages * BEAM), zeros(stages * BEAM)
        self._arrays = (
            array([dice.randrange(1, 2**31 - 1)]),
            self._state,
            at.Nursery(size, kinds, node, free, self._trail, waiting, rank, filled),
            Sky(*(zeros(segments) for _ in range(3))),
        )
        return WORK_PER_STAGE * stages

    def _total(self, rule: Sequence[int]) -> int:
        """What all parts weigh, times length, each the way that counts least."""
        least: dict[int, int] = {}
        for (kind, _, long, _), weight in zip(self._ways, rule, strict=True):
            least[kind] = min(least.get(kind, weight * long), weight * long)
        return sum(self._core.kinds[kind].copies * value for kind, value in least.items())

    def _layout(self) -> Layout:
        """Of the trail that ends at its step 0."""
        spots, step = list[Spot](), 0
        while True:
            before, way, row, x, y = (int(self._trail[at.STEP * step + i]) for i in range(at.STEP))
            if way >= 0:
                kind, wide, _, turned = self._ways[way]
                spots += [Spot(kind, x + i * wide, y, turned) for i in range(row)]
            if len(spots) == self._core.copies:
                return tuple(spots[::-1])
            step = before
