"""The contiguous relaxation, searched through: parts keep their rows together, but no place across.

Whatever a layout does, its wider parts alone still lie in it, each in rows that follow one another, and in no
row are they wider than the strip together. Pushed towards the squared end one after another, each begins
where another ends. So the parts can be begun in the order of their rows, and every order is tried: a length is
refuted when none ends within it. What keeps the trials few are row weights of linear bounds: at a length near
the bound they leave little cloth to spare, and most trials have spent it soon.

CP-SAT, asked the same, needs minutes where this takes a moment, as long as the parts are few or the
length is near the linear bound.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (contiguous relaxation). Demeulemeester,
Herroelen, Management Science 38 (1992) 1803-1818 (search of timetables by the events).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import replace
from random import Random
from typing import Any

from nesting.packing.bounds.bars import bars_across, prove
from nesting.packing.bounds.dual import strongest
from nesting.packing.compiled import KERNELS
from nesting.packing.kernels.contiguous import PRIME
from nesting.packing.race import Host
from nesting.packing.reduce import Core

#: Kinds are kept from one part of the strip's width on, and fewer and fewer are left out.
SHARES = (2, 4, 6, 8, 12, 24, 1000)
#: More rectangles than this are not searched through.
MOST = 120
#: Row weights by dual feasible functions.
RULES = 6
#: Cases remembered.
SLOTS = 1 << 16
#: Nodes between two looks at the clock; plain functions are some sixty times slower.
NODES, PLAIN_NODES = 200_000, 3_000
#: Units of work of a node, per kind and rule.
WORK_PER_KIND = 6e-9

Begun = tuple[tuple[int, int], ...]
"""``(kind, y)`` of each part begun."""


def kept(core: Core) -> Iterator[tuple[int, ...]]:
    """Kinds to keep: those that lie one way, the widest first, ever more of them."""
    seen: set[tuple[int, ...]] = set()
    for share in SHARES:
        kinds = tuple(
            i
            for i, kind in enumerate(core.kinds)
            if len(kind.ways) == 1 and kind.arrow is None and share * kind.least_width > core.width
        )
        count = sum(core.kinds[i].copies for i in kinds)
        if len(kinds) > 1 and count <= MOST and kinds not in seen:
            seen.add(kinds)
            yield kinds


class RowSearch:
    """A search of the rows of some kinds, which can be taken up again at the length it was at.

    Parameters
    ----------
    core
        Plain; all arrow groups of the kinds decided.
    kinds
        Those that count; others are forgotten.
    stop
        Ends the search for row weights.
    seed
        In what order kinds are begun; 0: the widest first.
    """

    def __init__(self, core: Core, kinds: Sequence[int], stop: Callable[[], bool], seed: int = 0) -> None:
        self.core = core
        self.kinds = tuple(kinds)
        self._copies = sum(core.kinds[i].copies for i in kinds)
        part = replace(core, kinds=tuple(core.kinds[i] for i in kinds), lone=())
        bars = prove(bars_across(part), core.width, stop)
        rules = dict.fromkeys([(bars.weights, bars.most), *strongest(core, RULES, kinds)])
        self._rules = [(weights, most) for weights, most in rules if most > 0]
        dice = Random(seed)
        ways = [core.kinds[i].ways[0] for i in kinds]
        self._order = sorted(
            range(len(ways)), key=lambda k: (-ways[k][0] * (1 if seed == 0 else dice.uniform(0.5, 1.5)), -ways[k][1])
        )
        self._wide = [ways[k][0] for k in self._order]
        self._long = [ways[k][1] for k in self._order]
        self._mix = [dice.randrange(1, PRIME) for _ in range(12 * len(ways))]
        self._longest: int | None = None
        self._form = KERNELS.form
        self.work = WORK_PER_KIND * (len(ways) + len(self._rules))

    def decide(self, longest: int, host: Host, stop: Callable[[], bool]) -> bool | None:
        """Whether the kinds kept have room within ``longest`` by their rows alone; None: not found out.

        Asked again for the same length it goes on: after True, to another way to begin them all.
        """
        KERNELS.refresh()
        if longest != self._longest or self._form is not KERNELS.form:
            self._begin(longest)
        if any(spare < 0 for spare in self._spare):
            return False
        while not stop():
            counted = host.budget.work is not None
            nodes = NODES // 10 if counted else NODES if self._form.compiled else PLAIN_NODES
            found = self._run(nodes)
            host.budget.charge(nodes * self.work)
            if found >= 0:
                return bool(found)
        return None

    def _begin(self, longest: int) -> None:
        self._longest, self._form = longest, KERNELS.form
        copies = [self.core.kinds[self.kinds[k]].copies for k in self._order]
        total = [count * length for count, length in zip(copies, self._long, strict=True)]
        weights = [[rule[k] for k in self._order] for rule, _ in self._rules]
        self._spare = [
            most * longest - sum(w * t for w, t in zip(rule, total, strict=True))
            for rule, (_, most) in zip(weights, self._rules, strict=True)
        ]
        levels = 2 * self._copies + 3
        room = min(self._copies, self.core.width // min(self._wide)) + 1
        array, zeros, rules = self._form.array, self._form.zeros, len(self._rules)
        self._at, self._started, self._begun = zeros(2), zeros(self._copies), zeros(self._copies)
        self._time, before, gap = zeros(levels), zeros(levels), zeros(levels)
        before[0], gap[0] = -1, self.core.width
        self._arguments: list[Any] = [
            *(array(self._wide), array(self._long), array(copies), rules),
            array(value for rule in weights for value in rule),
            array(most for _, most in self._rules),
            *(array(self._spare), array(self._mix), room, self._at, self._started, self._begun, self._time),
            *(before, gap, zeros(levels), zeros(levels), zeros(levels * room), zeros(levels * room)),
            *(zeros(levels * rules), zeros(levels * rules), zeros(3 * levels), SLOTS, zeros(5 * SLOTS)),
        ]

    def _run(self, nodes: int) -> int:
        search = self._form.functions["contiguous_search"]
        return int(search(self.core.width, self._longest, nodes, *self._arguments))

    @property
    def begun(self) -> Begun:
        """After True: where each part begins."""
        kinds = [self.kinds[self._order[int(k)]] for k in self._started]
        return tuple((kind, int(self._time[int(at)])) for kind, at in zip(kinds, self._begun, strict=True))


class Contiguous:
    """The bound by row searches of ever more kinds, taken up again with more time.

    A length is asked for halfway between bound and best layout, then nearer to the bound where that is not
    settled in its time, and farther from it where it is refuted.
    """

    def __init__(self, core: Core, stop: Callable[[], bool], seed: int = 0) -> None:
        self._searches = [RowSearch(core, kinds, stop) for kinds in kept(core)]
        #: For each search the least length at which its parts are known to have room.
        self._fits: dict[int, int] = {}

    @property
    def searches(self) -> Sequence[RowSearch]:
        """Those of the fewest kinds first."""
        return self._searches

    def open(self, least: int) -> bool:
        """Whether some search may still refute a length of ``least``."""
        return any(self._fits.get(number, least + 1) > least for number in range(len(self._searches)))

    def raised(
        self, least: int, limit: int, host: Host, seconds: Callable[[], Callable[[], bool]]
    ) -> Iterator[int]:
        """Ever higher bounds from ``least`` on, at most ``limit`` + 1.

        ``seconds()`` gives the time of one trial.
        """
        for number, search in enumerate(self._searches):
            trial = top = min(limit, self._fits.get(number, limit + 1) - 1)
            while least <= trial:
                answer = search.decide(trial, host, seconds())
                if answer is False:
                    least = trial + 1
                    yield least
                    trial = (least + top) // 2 if top > least else top
                    continue
                if answer is True:
                    self._fits[number] = trial
                if trial == least:
                    break
                top = trial - 1
                trial = (3 * least + top) // 4
