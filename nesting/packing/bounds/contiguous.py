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
from typing import Any, Protocol

import numpy as np

from nesting.packing.bounds.bars import WIDEST, bars_across, prove
from nesting.packing.bounds.dual import strongest
from nesting.packing.bounds.gaps import GapBound, families, starts_of
from nesting.packing.bounds.places import MOST_CELLS, placed_rows, places
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

#: With more piles of unmatched parts than this, modulo the repeat, there are too many phases to try.
MOST_PILES = 12

#: Repeats of more steps than this do not have their phases ruled out by waits before these are searched.
LONGEST_RULED = 8_000

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


def strangers(core: Core, kinds: Sequence[int]) -> list[list[int]] | None:
    """Which kinds can share no row, for their places across do not allow it; None where all can."""
    if core.repeat is None or core.repeat.width is None or core.width * len(kinds) > MOST_CELLS:
        return None
    rooms: dict[str, Any] = {}
    flags = [places(core, core.kinds[i], rooms) for i in kinds]
    found = [[0] * len(kinds) for _ in kinds]
    for a, i in enumerate(kinds):
        for b, j in enumerate(kinds[: a + 1]):
            if not _side_by_side(core, (i, j), (flags[a], flags[b]), rooms):
                found[a][b] = found[b][a] = 1
    return found if any(map(any, found)) else None


def _side_by_side(core: Core, kinds: tuple[int, int], flags: tuple[Any, Any], rooms: dict[str, Any]) -> bool:
    """Whether two kinds have places beside one another; widths of one panel share their phase."""
    one, other = (core.kinds[i] for i in kinds)
    if flags[0] is None or flags[1] is None or one.match is None or other.match is None:
        ends = [
            (_ends(core, kind.width, at), kind.width) for kind, at in zip((one, other), flags, strict=True)
        ]
        return _clear(*ends[0], *ends[1])
    if one.match.seam != other.match.seam:
        return _clear(
            _ends(core, one.width, flags[0]), one.width, _ends(core, other.width, flags[1]), other.width
        )
    assert core.repeat is not None
    assert core.repeat.width is not None
    column = core.repeat.width
    for phase in np.nonzero(rooms[str(one.match.seam)])[0]:
        ends = []
        for kind, match in ((one, one.match), (other, other.match)):
            first = int(phase + match.x) % column
            ends.append(((first, first + (core.width - kind.width - first) // column * column), kind.width))
        if _clear(*ends[0], *ends[1]):
            return True
    return False


def _ends(core: Core, width: int, flags: Any) -> tuple[int, int]:
    """The first and the last place across."""
    if flags is None:
        return 0, core.width - width
    at = np.nonzero(flags)[0]
    return int(at[0]), int(at[-1])


def _clear(one: tuple[int, int], width: int, other: tuple[int, int], other_width: int) -> bool:
    return one[0] + width <= other[1] or other[0] + other_width <= one[1]


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
    seed
        In what order kinds are begun; 0: the widest first.
    """

    def __init__(self, core: Core, kinds: Sequence[int], stop: Callable[[], bool], seed: int = 0) -> None:
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
        dice = Random(seed)
        ways = [core.kinds[i].ways[0] for i in kinds]
        noise = [1.0 if seed == 0 else dice.uniform(0.5, 1.5) for _ in ways]
        self._order = sorted(range(len(ways)), key=lambda k: (-ways[k][0] * noise[k], -ways[k][1]))
        self._wide = [ways[k][0] for k in self._order]
        self._long = [ways[k][1] for k in self._order]
        self._mix = [dice.randrange(1, PRIME) for _ in range(12 * len(ways) + 6)]
        self._asked: tuple[int, Phases] | None = None
        self._form = KERNELS.form
        rooms: dict[str, Any] = {}
        self._starts = [
            () if core.kinds[i].match is None else starts_of(core, core.kinds[i], rooms) for i in kinds
        ]
        self.work = WORK_PER_KIND * (len(ways) + len(self._rules))

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
        if asked != self._asked or self._form is not KERNELS.form:
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


class PhasedRows:
    """A search of rows over the phases of the level groups.

    Pushed towards the squared end, groups as a whole and other parts one by one, some part of every group
    begins at 0 or where a part of another group ends, or a pile of unmatched parts on it. So the phases that
    count are few, and do not depend on how fine the repeat is measured: one group is settled after another
    against the end and those settled, while the parts of the rest may begin anywhere.

    Parameters
    ----------
    search
        Of the kinds that count.
    """

    def __init__(self, search: RowSearch) -> None:
        core = search.core
        assert core.repeat is not None
        self._search = search
        # Of these parts alone: pushed together without the others they have other phases than in a layout.
        # Their tables grow with the repeat, so finely measured ones go without.
        ruled = search.weights if core.repeat.length <= LONGEST_RULED else ()
        gaps = (GapBound(search.part, weights) for weights in ruled)
        self._gaps = [gap for gap in gaps if gap.worthwhile]
        self._period = core.repeat.length
        rooms: dict[str, Any] = {}
        #: ``(start, length)`` modulo the repeat of the parts of each level group.
        self._classes: dict[str, set[tuple[int, int]]] = {}
        self._piles = {0}
        for kind in (core.kinds[i] for i in search.kinds):
            if kind.match is None:
                for _ in range(kind.copies):
                    self._piles |= {(pile + kind.ways[0][1]) % self._period for pile in self._piles}
                    if len(self._piles) > MOST_PILES:
                        break
            else:
                starts = starts_of(core, kind, rooms)
                known = self._classes.setdefault(kind.match.level, set())
                known |= {(start, kind.length % self._period) for start in starts}
        #: For each length asked for, the phases still to be searched, and those met.
        self._asked: dict[int, tuple[list[dict[str, int]], set[tuple[tuple[str, int], ...]]]] = {}

    @property
    def worthwhile(self) -> bool:
        """Whether the phases to be tried are few."""
        return len(self._piles) <= MOST_PILES

    @property
    def kinds(self) -> tuple[int, ...]:
        """Those that count."""
        return self._search.kinds

    @property
    def begun(self) -> Begun:
        """After True: where each part begins."""
        return self._search.begun

    def decide(self, longest: int, host: Host, stop: Callable[[], bool]) -> bool | None:
        """As `RowSearch.decide`, over all phases; asked again it goes on with those that are left."""
        start = self._search.core.start
        known = {} if start is None else dict.fromkeys(self._classes, -start % self._period)
        left, met = self._asked.setdefault(longest, ([known], set()))
        while left and not stop():
            phases = left[-1]
            host.budget.charge(sum(gap.work for gap in self._gaps))
            if any(gap.least_at(phases, longest) > longest for gap in self._gaps):
                left.pop()
                continue
            answer = self._search.decide(longest, host, stop, phases)
            if answer is True and len(phases) == len(self._classes):
                return True
            if answer is None:
                return None
            left.pop()
            if answer is True:
                left += self._settled(phases, met)
        return None if left else False

    def _settled(
        self, phases: dict[str, int], met: set[tuple[tuple[str, int], ...]]
    ) -> Iterator[dict[str, int]]:
        """With every phase of one more group that a settled one, or the end, allows, but those met."""
        ends = {0} | {
            phase + start + length
            for level, phase in phases.items()
            for start, length in self._classes[level]
        }
        for level in sorted(self._classes.keys() - phases.keys()):
            begins = {start for start, _ in self._classes[level]}
            found = {
                (end + pile - begin) % self._period
                for end in ends
                for pile in self._piles
                for begin in begins
            }
            for phase in sorted(found):
                settled = phases | {level: phase}
                name = tuple(sorted(settled.items()))
                if name not in met:
                    met.add(name)
                    yield settled


class Rows(Protocol):
    """A search of rows, of one phase or of all."""

    @property
    def kinds(self) -> tuple[int, ...]:
        """Those that count."""

    @property
    def begun(self) -> Begun:
        """After True: where each part begins."""

    def decide(self, longest: int, host: Host, stop: Callable[[], bool]) -> bool | None:
        """Whether the parts have room within ``longest``; None: not found out."""


def row_search(core: Core, kinds: Sequence[int], stop: Callable[[], bool]) -> Rows | None:
    """A search of some kinds, under a repeat with the phases of the design; None where these are too many."""
    search = RowSearch(core, kinds, stop)
    if all(core.kinds[i].match is None for i in kinds):
        return search
    phased = PhasedRows(search)
    return phased if phased.worthwhile else None


class Contiguous:
    """The bound by row searches of ever more kinds, taken up again with more time.

    Lengths are asked for from the best layout down until one is refuted in its time, then up again. The next
    turn begins with the next search.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    stop
        Ends the search for row weights.
    """

    def __init__(self, core: Core, stop: Callable[[], bool]) -> None:
        searches = (row_search(core, kinds, stop) for kinds in kept(core))
        self._searches = [search for search in searches if search is not None]
        #: For each search the least length at which its parts are known to have room.
        self._fits: dict[int, int] = {}
        self._next = 0

    def open(self, least: int) -> bool:
        """Whether some search may still refute a length of ``least``."""
        return any(self._fits.get(number, least + 1) > least for number in range(len(self._searches)))

    def raised(
        self,
        least: int,
        limit: int,
        host: Host,
        stop: Callable[[], bool],
        trial: Callable[[], Callable[[], bool]],
    ) -> Iterator[int]:
        """Ever higher bounds from ``least`` on, at most ``limit`` + 1, until ``stop()``.

        ``trial()`` gives the end of the next trial.
        """
        for _ in self._searches:
            if stop() or least > limit:
                return
            number = self._next % len(self._searches)
            self._next += 1
            for length in self._raised_by(number, least, limit, host, trial):
                least = length
                yield least

    def _raised_by(
        self, number: int, least: int, limit: int, host: Host, trial: Callable[[], Callable[[], bool]]
    ) -> Iterator[int]:
        length = top = min(limit, self._fits.get(number, limit + 1) - 1)
        while least <= length:
            answer = self._searches[number].decide(length, host, trial())
            if answer is False:
                least = length + 1
                yield least
                length = (least + top) // 2 if top > least else top
                continue
            if answer is True:
                self._fits[number] = length
            if length == least:
                break
            top = length - 1
            length = (3 * least + top) // 4
