"""The contiguous relaxation, searched through: parts keep their rows together, but no place across.

Under a repeat the places across may be searched too, as far as the pattern settles them
(`nesting.packing.bounds.standing`), and what waiting costs is known beforehand
(`nesting.packing.bounds.waiting`).

Whatever a layout does, its wider parts alone still lie in it, each in rows that follow one another, and in
no row are they wider than the strip together. Pushed toward the squared end one after another, each begins
where another ends. So the parts can be begun in the order of their rows, and every order is tried: a length
is refuted when none ends within it. What keeps the trials few are row weights of linear bounds: at a length
near the bound they leave little fabric to spare, and most trials have spent it soon.

CP-SAT, asked the same, needs minutes where this takes a moment, as long as the parts are few or the
length is near the linear bound.

References
----------
Martello, Monaci, Vigo, INFORMS J. Computing 15 (2003) 310-319 (contiguous relaxation). Demeulemeester,
Herroelen, Management Science 38 (1992) 1803-1818 (search of timetables by the events).
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from operator import add, mul
from random import Random
from types import MappingProxyType
from typing import Any

import numpy as np

from nesting.packing.bounds.bars import WIDEST, bars_across, prove
from nesting.packing.bounds.dual import strongest
from nesting.packing.bounds.gaps import families
from nesting.packing.bounds.places import MOST_CELLS, placed_rows
from nesting.packing.bounds.settling import Named, Phases, named
from nesting.packing.bounds.standing import (
    MOST_STANDINGS,
    Standing,
    alike,
    apart,
    as_any,
    as_one,
    few_standings,
    narrowed,
    standings,
    strangers,
)
from nesting.packing.bounds.waiting import Waiting, WaitPrices, prices, waits
from nesting.packing.kernels.compiled import KERNELS, KernelForm
from nesting.packing.kernels.row_cases import BITS, Begun, Cases, RowLevels, RowLog, RowPrices, RowWays
from nesting.packing.reduce import Core
from nesting.packing.turn import Turn, Weights

#: Kinds are kept from one part of the strip's width on, and fewer and fewer are left out.
SHARES = (2, 4, 6, 8, 12, 24, 1000)
#: More rectangles than this are not searched through.
MOST = 120
#: Row weights by dual feasible functions.
RULES = 6
#: Cases remembered, and numbers that they may take up.
SLOTS, NUMBERS = 1 << 18, 1 << 22
#: Numbers of the search stay below this, so that sums of them stay within 64 bits.
LARGEST = 2**61
#: Nodes between two looks at the clock; plain functions are some sixty times slower.
NODES, PLAIN_NODES = 200_000, 3_000
#: Row weights of which waiting is priced.
PRICED = 3
#: Searches of one set of kinds, at other lengths or phases, that can be taken up again.
REMEMBERED = 3
#: Units of work of a search before its first node.
WORK_TO_BEGIN = 0.005
#: Units of work of a node, per kind and rule.
WORK_PER_KIND = 6e-9

Asked = tuple[int, Named]
"""A length and phases."""
Stood = tuple[tuple[int, Standing, int], ...]
"""``(kind, way to stand, y)`` of each part begun."""


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


@dataclass(frozen=True, slots=True)
class _State:
    """How far a search is: its form, its rules, parts begun, what was written of it, and arrays."""

    form: KernelForm
    rules: tuple[RowRule, ...]
    begun: Begun
    log: RowLog
    arguments: tuple[Any, ...]


@dataclass(frozen=True, slots=True)
class RowRule:
    """Row weights of the groups, what may go unused, and what of that is left when waiting is paid for.

    ``number`` is that of the rule, whatever their order. ``spent``: less than nothing is left, which refutes
    the length; ``left`` is for the order of trial only.
    """

    number: int
    weights: list[int]
    most: int
    spare: int
    left: float
    spent: bool
    strict: bool
    prices: WaitPrices


def written(copies: Sequence[int]) -> tuple[list[int], list[int], int]:
    """How what is left of all kinds is written in few numbers, none of more than `BITS` bits.

    Of each kind in which number, and how much a copy counts there; and how many numbers there are.
    """
    digit, unit, base = list[int](), list[int](), 1
    at = 0
    for count in copies:
        if base * (count + 1) > 2**BITS:
            at, base = at + 1, 1
        digit.append(at)
        unit.append(base)
        base *= count + 1
    return digit, unit, at + 1


class RowSearch:
    """A search of the rows of some kinds, which can be taken up again at the lengths it was at last.

    Parameters
    ----------
    core
        The problem; all arrow groups of the kinds decided.
    kinds
        Those that count; others are forgotten.
    stop
        Ends the search for row weights.
    standing
        Whether the columns of the pattern in which parts lie are searched too, where they settle anything.
    numbers
        So many whole numbers the cases remembered may take up; 0: none is remembered.
    words
        So many words are written of what it does, for a proof; see `RowLog`.
    """

    def __init__(
        self,
        core: Core,
        kinds: Sequence[int],
        stop: Callable[[], bool],
        *,
        standing: bool = False,
        numbers: int = NUMBERS,
        words: int = 0,
    ) -> None:
        self.core, self._numbers, self._words = core, numbers, words
        self.kinds = tuple(kinds)
        self._copies = sum(core.kinds[i].copies for i in kinds)
        self.part = part = replace(core, kinds=tuple(core.kinds[i] for i in kinds), lone=())
        bars = prove(bars_across(part), core.width, stop)
        rules = dict.fromkeys([(bars.weights, bars.most), *strongest(core, RULES, kinds)])
        self._stand(standing)
        placed = placed_rows(part, stop)[1] if self._apart else None
        if placed is not None:
            rule = tuple(placed[0].get((at, False), 0) for at in range(len(kinds))), placed[1]
            rules.pop(rule, None)
            rules[rule] = None
        self._rules = [(weights, most) for weights, most in rules if most > 0]
        #: The one that holds for places across only.
        self._strict = len(self._rules) - 1 if placed is not None and placed[1] > 0 else None
        self.work = WORK_PER_KIND * (len(self._ways) + len(self._rules))
        self.reorder(0)

    def _stand(self, standing: bool) -> None:
        """The ways of the kinds to stand, which of them share no row, and kinds that count as one."""
        core, ways, repeat = self.core, standings(self.core, self.kinds), self.core.repeat
        bound = repeat is not None and repeat.width is not None and repeat.width * len(ways) <= MOST_CELLS
        #: All ranges of places, and which were left out for which other.
        self.ranges, self.dropped = ways, list[tuple[int, int]]()
        if standing and few_standings(core, self.kinds):
            self.ranges, self.dropped = narrowed(core, ways)
            gone = {number for number, _ in self.dropped}
            ways = [way for number, way in enumerate(self.ranges) if number not in gone]
        separate = apart(core, ways) if bound else np.zeros((len(ways), len(ways)), dtype=np.bool_)
        self.standing = bound and standing and len(self.kinds) < len(ways) <= MOST_STANDINGS
        if not self.standing:
            separate = strangers(ways, separate)
            ways = [as_any([way for way in ways if way.kind == kind]) for kind in self.kinds]
        groups = alike(core, ways, separate)
        #: Kinds of one group may be exchanged in any rows; the first stands for them.
        self._groups = [[self.kinds.index(kind) for kind in group] for group in groups]
        self._ways, found = as_one(core, ways, separate, groups)
        #: Of each way, those of the other kinds of its group.
        self._own = [
            {kind: [other for other in ways if other.kind == kind][at] for kind in group}
            for group in groups
            for at in range(sum(way.kind == group[0] for way in ways))
        ]
        self._apart: list[list[int]] = found.astype(int).tolist() if found.any() else []

    @property
    def method(self) -> str:
        """What a bound of it is called."""
        return f"rows in one piece{', places across' if self.standing else ''}, not re-checked"

    @property
    def placed(self) -> bool:
        """Whether some ways to stand share no row."""
        return bool(self._apart)

    @property
    def ordered(self) -> list[list[int]]:
        """The groups in the order of the search, by numbers of ``kinds``."""
        return [self._groups[at] for at in self._order]

    @property
    def written(self) -> tuple[tuple[RowRule, ...], list[int]]:
        """The rules of what was decided last, and what was written of it."""
        log = self._state.log
        return self._state.rules, [int(log.said[at]) for at in range(min(log.at[0], len(log.said)))]

    @property
    def full(self) -> bool:
        """Whether more was to be written than there is room for."""
        return any(state.log.at[0] > self._words for state in self._states.values())

    def stands(self) -> Iterator[tuple[int, list[list[Standing]]]]:
        """Of each way, in order, the number of its group, and the ranges of each of its kinds."""
        gone = {number for number, _ in self.dropped}
        left = [one for number, one in enumerate(self.ranges) if number not in gone]
        for number, k in self._stood:
            kinds, own = [self.kinds[at] for at in self.ordered[k]], self._own[number]
            every = [[own[kind]] if self.standing else [r for r in left if r.kind == kind] for kind in kinds]
            yield k, every

    def reorder(self, seed: int) -> None:
        """Begin anew, with kinds in another order: 0 the widest first, else with some luck in it."""
        dice = Random(seed)
        sizes = [self.part.kinds[group[0]].ways[0] for group in self._groups]
        noise = [1.0 if seed == 0 else dice.uniform(0.5, 1.5) for _ in sizes]
        self._order = sorted(range(len(sizes)), key=lambda k: (-sizes[k][0] * noise[k], -sizes[k][1]))
        #: Of each way to stand, in order, its number and that of its group in order.
        self._stood = [
            (number, k)
            for k, at in enumerate(self._order)
            for number, way in enumerate(self._ways)
            if way.kind == self.kinds[self._groups[at][0]]
        ]
        self._sizes = self._in_order()
        self._states: dict[Asked, _State] = {}

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
        self, longest: int, turn: Turn, phases: Phases = MappingProxyType({}), most: int | None = None
    ) -> bool | None:
        """Whether the kinds kept have room within ``longest`` by their rows alone; None: not found out.

        ``phases`` of level groups are kept to; matched kinds of other groups may begin anywhere. Asked again
        the same it goes on: after True, to another way to begin them all. ``most``: nodes between two looks.
        """
        KERNELS.refresh()
        if max((most for _, most in self._rules), default=0) * (longest + 1) * (self._copies + 2) > LARGEST:
            turn.charge(WORK_TO_BEGIN)
            return None
        asked = longest, named(phases)
        state = self._states.pop(asked, None)
        # Where work is counted, the form that happens to be ready must not change what is searched.
        if state is None or (state.form is not KERNELS.form and not turn.counted):
            state = self._begin(longest, phases)
            turn.charge(WORK_TO_BEGIN)
        self._state = self._states[asked] = state
        while len(self._states) > REMEMBERED:
            self._states.pop(next(iter(self._states)))
        if any(rule.spent for rule in state.rules):
            return False
        while not turn.over():
            if self._words and state.log.at[0] > self._words:
                return None
            counted = turn.counted
            nodes = NODES // 10 if counted else NODES if state.form.compiled else PLAIN_NODES
            nodes = nodes if most is None else min(nodes, most)
            found = self._run(longest, nodes)
            turn.charge(nodes * self.work)
            if found == 0:
                self._states.pop(asked)
            if found >= 0:
                return bool(found)
        return None

    def rest(self) -> None:
        """Let go of what takes room in memory; asked again, it begins anew."""
        self._states.clear()

    def _begin(self, longest: int, phases: Phases) -> _State:
        form = KERNELS.form
        ways = [self._ways[number] for number, _ in self._stood]
        wide, long, copies = self._sizes
        rules = self._sorted_rules(longest, phases)
        levels = 2 * self._copies + 3
        room = min(self._copies, self.core.width // min(wide)) + 1
        array, zeros, many = form.array, form.zeros, len(rules)
        wait = any(any(rule.prices.before) or any(rule.prices.after) for rule in rules)
        strict = next((m for m, rule in enumerate(rules) if rule.strict), -1)
        period = self.core.repeat.length if self.core.repeat is not None else 1
        first, starts = [0], list[int]()
        for way in ways:
            starts += self._starts(way, phases)
            first.append(len(starts))
        begun = Begun(zeros(2), *(zeros(self._copies) for _ in range(3)))
        gap = zeros(levels)
        gap[0] = self.core.width
        words = -(-len(ways) // BITS)
        digit, unit, digits = written(copies)
        size = 1 + digits + room
        slots = min(SLOTS, self._numbers // (size + 2))
        log = RowLog(zeros(2), zeros(self._words), zeros(slots if self._words else 0))
        separate = list[int]()
        for a, _ in self._stood if self._apart else ():
            bits = sum(self._apart[a][b] << number for number, (b, _) in enumerate(self._stood))
            separate += [bits >> word * BITS & 2**BITS - 1 for word in range(words)]
        arguments = (
            RowWays(
                self.core.width,
                period,
                array(wide[k] for _, k in self._stood),
                array(long[k] for _, k in self._stood),
                array(k for _, k in self._stood),
                *map(array, (first, starts, separate)),
            ),
            array(copies),
            RowPrices(
                strict,
                min(PRICED * wait, many),
                array(rule.weights[k] for rule in rules for _, k in self._stood),
                array(rule.most for rule in rules),
                array(rule.spare for rule in rules),
                array(price for rule in rules for price in rule.prices.before),
                array(price for rule in rules for price in rule.prices.after),
                array(rule.prices.last for rule in rules),
                zeros(len(copies)),
            ),
            begun,
            RowLevels(
                room,
                *(zeros(levels), zeros(levels), zeros(levels * words), gap, zeros(levels), zeros(levels)),
                *(zeros(levels * room) for _ in range(2)),
                *(zeros(levels * many) for _ in range(2)),
            ),
            Cases(
                *(digits, slots, array(digit), array(unit), zeros(levels * size)),
                form.memory(slots * (size + 2)),
            ),
            log,
        )
        return _State(form, tuple(rules), begun, log, arguments)

    def _in_order(self) -> tuple[list[int], list[int], list[int]]:
        """Across, along and copies of each group, in order."""
        groups = [self._groups[at] for at in self._order]
        ways = [self.part.kinds[group[0]].ways[0] for group in groups]
        copies = [sum(self.part.kinds[at].copies for at in group) for group in groups]
        return [wide for wide, _, _ in ways], [long for _, long, _ in ways], copies

    def _sorted_rules(self, longest: int, phases: Phases) -> list[RowRule]:
        """With what is left to spare when all waiting is paid for; the least first."""
        _, long, copies = self._sizes
        wait = self._waits(longest, phases)
        found = []
        for number, (weight, most) in enumerate(self._rules):
            # Less weight does no harm, so kinds of a group count with the least of theirs.
            weights = [min(weight[at] for at in self._groups[group]) for group in self._order]
            all_of_one = list(map(mul, weights, copies))
            priced = WaitPrices([0] * len(long), [0] * len(long), 0, 0)
            if wait is not None:
                priced = prices(wait, all_of_one, most)
            spare = most * longest - sum(map(mul, all_of_one, long))
            due = sum(map(mul, all_of_one, map(add, priced.before, priced.after)))
            due += most * (priced.first + priced.last)
            left, strict = (spare - due) / most, number == self._strict
            found.append(RowRule(number, weights, most, spare, left, spare < due, strict, priced))
        return sorted(found, key=lambda rule: rule.left)

    def _waits(self, longest: int, phases: Phases) -> Any | None:
        """What parts wait for one another; None where the pattern binds none."""
        repeat, (_, long, _) = self.core.repeat, self._sizes
        if repeat is None or not phases:
            return None
        begins: list[set[int]] = [set() for _ in long]
        for number, k in self._stood:
            way = self._ways[number]
            begins[k] |= set(self._starts(way, phases))
        classes = list(map(Waiting, map(tuple, map(sorted, begins)), long))
        return waits(classes, longest, repeat.length)

    def _starts(self, way: Standing, phases: Phases) -> tuple[int, ...]:
        """Where a part may begin modulo the repeat; none where anywhere, its phase unsettled."""
        match, repeat = self.core.kinds[way.kind].match, self.core.repeat
        if match is None or repeat is None or match.level not in phases:
            return ()
        return tuple((at + phases[match.level]) % repeat.length for at in way.starts)

    def _run(self, longest: int, nodes: int) -> int:
        search = self._state.form.functions["contiguous_search"]
        return int(search(longest, nodes, *self._state.arguments))

    @property
    def stood(self) -> Stood:
        """After True: the kind of each part, how it stands, and where it begins."""
        members = [
            [self.kinds[at] for at in self._groups[group] for _ in range(self.part.kinds[at].copies)]
            for group in self._order
        ]
        found = list[tuple[int, Standing, int]]()
        for way, y in zip(self._state.begun.way, self._state.begun.start, strict=True):
            number, group = self._stood[int(way)]
            kind = members[group].pop(0)
            found.append((kind, self._own[number][kind], int(y)))
        return tuple(found)
