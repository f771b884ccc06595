"""The contiguous relaxation, searched through: parts keep their rows together, but no place across.

Whatever a layout does, its wider parts alone still lie in it, each in rows that follow one another, and in
no row are they wider than the strip together. Pushed towards the squared end one after another, each begins
where another ends. So the parts can be begun in the order of their rows, and every order is tried: a length
is refuted when none ends within it. What keeps the trials few are row weights of linear bounds: at a length
near the bound they leave little cloth to spare, and most trials have spent it soon.

CP-SAT, asked the same, needs minutes where this takes a moment, as long as the parts are few or the
length is near the linear bound.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (contiguous relaxation). Demeulemeester,
Herroelen, Management Science 38 (1992) 1803-1818 (search of timetables by the events).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from random import Random
from types import MappingProxyType
from typing import Any

from nesting.packing.bounds.bars import WIDEST, bars_across, prove
from nesting.packing.bounds.dual import strongest
from nesting.packing.bounds.gaps import families
from nesting.packing.bounds.places import placed_rows, starts_of
from nesting.packing.bounds.strangers import strangers
from nesting.packing.compiled import KERNELS
from nesting.packing.cpsat import Weights
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
#: Units of work of a search before its first node.
WORK_TO_BEGIN = 0.005
#: Units of work of a node, per kind and rule.
WORK_PER_KIND = 6e-9

Phases = Mapping[str, int]
"""The phase along of some level groups."""
Begun = tuple[tuple[int, int], ...]
"""``(kind, y)`` of each part begun."""


def kept(core: Core) -> Iterator[tuple[int, ...]]:
    """Kinds to keep: those that lie one way, the widest first, ever more of them.

    Under a repeat once without, once with the unmatched among them. None on a strip of too many steps.
    """
    if core.width > WIDEST:
        return
    seen: set[tuple[int, ...]] = set()
    one_way = [i for i, kind in enumerate(core.kinds) if len(kind.ways) == 1 and kind.arrow is None]
    bound = any(kind.match is not None for kind in core.kinds)
    for share in SHARES:
        wide = tuple(i for i in one_way if share * core.kinds[i].least_width > core.width)
        matched = tuple(i for i in wide if core.kinds[i].match is not None)
        for kinds in (matched, wide) if bound else (wide,):
            count = sum(core.kinds[i].copies for i in kinds)
            if len(kinds) > 1 and count <= MOST and kinds not in seen:
                seen.add(kinds)
                yield kinds


class RowSearch:
    """A search of the rows of some kinds, which can be taken up again at the length it was at.

    Parameters
    ----------
    core
        The problem; all arrow groups of the kinds decided.
    kinds
        Those that count; others are forgotten.
    stop
        Ends the search for row weights.
    """

    method = "rows in one piece, not re-checked"

    def __init__(self, core: Core, kinds: Sequence[int], stop: Callable[[], bool]) -> None:
        self.core = core
        self.kinds = tuple(kinds)
        self._copies = sum(core.kinds[i].copies for i in kinds)
        self.part = part = replace(core, kinds=tuple(core.kinds[i] for i in kinds), lone=())
        bars = prove(bars_across(part), core.width, stop)
        rules = dict.fromkeys([(bars.weights, bars.most), *strongest(core, RULES, kinds)])
        self._apart = strangers(core, kinds)
        if self._apart is not None:
            placed = placed_rows(part, stop)[1]
            if placed is not None:
                rules[tuple(placed[0].get((at, False), 0) for at in range(len(kinds))), placed[1]] = None
        self._rules = [(weights, most) for weights, most in rules if most > 0]
        self._form = KERNELS.form
        rooms: dict[str, Any] = {}
        self._starts = [
            () if core.kinds[i].match is None else starts_of(core, core.kinds[i], rooms) for i in kinds
        ]
        self.work = WORK_PER_KIND * (len(kinds) + len(self._rules))
        self.reorder(0)

    def reorder(self, seed: int) -> None:
        """Begin anew, with kinds in another order: 0 the widest first, else with some luck in it."""
        dice = Random(seed)
        ways = [kind.ways[0] for kind in self.part.kinds]
        noise = [1.0 if seed == 0 else dice.uniform(0.5, 1.5) for _ in ways]
        self._order = sorted(range(len(ways)), key=lambda k: (-ways[k][0] * noise[k], -ways[k][1]))
        self._wide = [ways[k][0] for k in self._order]
        self._long = [ways[k][1] for k in self._order]
        self._mix = [dice.randrange(1, PRIME) for _ in range(12 * len(ways) + 6)]
        self._asked: tuple[int, Phases] | None = None

    @property
    def weights(self) -> tuple[Weights, ...]:
        """Row weights of the kinds kept, by their numbers in ``part``."""
        ways = [kind.ways[0][2] for kind in self.part.kinds]
        bars, placed = self._rules[0], self._rules[-1]
        named = [
            ({(at, turned): weight for at, (weight, turned) in enumerate(zip(rule, ways, strict=True))}, most)
            for rule, most in dict.fromkeys((bars, placed))
        ]
        return (*families(self.part, named[0]), *named[1:])

    def decide(
        self, longest: int, host: Host, stop: Callable[[], bool], phases: Phases = MappingProxyType({})
    ) -> bool | None:
        """Whether the kinds kept have room within ``longest`` by their rows alone; None: not found out.

        ``phases`` of level groups are kept to; matched kinds of other groups may begin anywhere. Asked again
        the same it goes on: after True, to another way to begin them all.
        """
        KERNELS.refresh()
        asked = longest, dict(phases)
        # Where work is counted, the form that happens to be ready must not change what is searched.
        changed = self._form is not KERNELS.form and host.budget.work is None
        if asked != self._asked or changed:
            self._begin(longest, phases)
            self._asked = asked
            host.budget.charge(WORK_TO_BEGIN)
        if any(spare < 0 for spare in self._spare):
            return False
        while not stop():
            counted = host.budget.work is not None
            nodes = NODES // 10 if counted else NODES if self._form.compiled else PLAIN_NODES
            found = self._run(longest, nodes)
            host.budget.charge(nodes * self.work)
            if found >= 0:
                return bool(found)
        return None

    def _begin(self, longest: int, phases: Phases) -> None:
        self._form = KERNELS.form
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
        period = self.core.repeat.length if self.core.repeat is not None else 1
        first, starts = [0], list[int]()
        for k in self._order:
            match = self.core.kinds[self.kinds[k]].match
            if match is not None and match.level in phases:
                starts += [(at + phases[match.level]) % period for at in self._starts[k]]
            first.append(len(starts))
        self._at = zeros(2)
        self._started, begun, self._begun = (zeros(self._copies) for _ in range(3))
        time, barred, gap = zeros(levels), zeros(levels), zeros(levels)
        gap[0] = self.core.width
        apart = [] if self._apart is None else [self._apart[k][j] for k in self._order for j in self._order]
        self._arguments: list[Any] = [
            *(array(self._wide), array(self._long), array(copies), period, array(first), array(starts)),
            *(array(apart), rules),
            array(value for rule in weights for value in rule),
            array(most for _, most in self._rules),
            *(array(self._spare), array(self._mix), room, self._at, self._started, begun, self._begun, time),
            *(barred, gap, zeros(levels), zeros(levels), zeros(levels * room), zeros(levels * room)),
            *(zeros(levels * rules), zeros(levels * rules), zeros(3 * levels), SLOTS, zeros(5 * SLOTS)),
        ]

    def _run(self, longest: int, nodes: int) -> int:
        search = self._form.functions["contiguous_search"]
        return int(search(self.core.width, longest, nodes, *self._arguments))

    @property
    def begun(self) -> Begun:
        """After True: where each part begins."""
        kinds = [self.kinds[self._order[int(k)]] for k in self._started]
        return tuple((kind, int(y)) for kind, y in zip(kinds, self._begun, strict=True))
