"""Layouts on several strips put together piece by piece: each group into the lot where it costs least."""

from __future__ import annotations

import random
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field, replace

from nesting.packing.on_hand.stock_core import Berthed, Item, Stock, StockLayout
from nesting.packing.problem import Flaw
from nesting.packing.reduce import Core, Kind
from nesting.packing.searches.bed import Bed, Place, SeamRoom

Phases = dict[str, int]
Clear = tuple[int, int]
"""What is kept clear of at the left and the right edge."""
NO_MARGIN: Clear = (0, 0)


@dataclass(frozen=True, slots=True)
class FillPlan:
    """In which order a filling goes.

    Attributes
    ----------
    groups
        Items that must lie in one lot, or all or none.
    strips
        Those that are tried first come first.
    turned
        Arrow groups that lie turned.
    tight
        Within a lot the lowest place counts, not the first strip with room.
    picks
        The option of each choice.
    """

    groups: tuple[tuple[int, ...], ...]
    strips: tuple[int, ...]
    turned: frozenset[str] = frozenset()
    tight: bool = False
    picks: tuple[int, ...] = ()


class Filler:
    """Fills the strips of one stock, again and again."""

    def __init__(self, stock: Stock) -> None:
        self.stock = stock
        #: What is kept clear of at the left and the right edge, by some item at least.
        self.margins = tuple(dict.fromkeys((NO_MARGIN, *(item.clear for item in stock.items))))
        self.rooms: dict[tuple[int, Clear], tuple[Core, SeamRoom]] = {}
        self._strips = [{way[0] for way in item.ways} for item in stock.items]
        by_print = {printed: self._kinds(printed=printed) for printed in (False, True)}
        for berth in stock.berths:
            kinds = by_print[berth.repeat is not None]
            for clear in self.margins:
                core = Core(berth.width, kinds, berth.repeat, self._flaws(berth.number, clear), berth.start)
                self.rooms[berth.number, clear] = core, self._room(berth.number, core)

    def _kinds(self, *, printed: bool) -> tuple[Kind, ...]:
        """A kind for each item, so that its number is its kind's; on strips with a print, or without."""
        found = []
        for item in self.stock.items:
            upright = next(((w, h) for _, w, h, turned in item.ways if not turned), None)
            turned = next(((h, w) for _, w, h, turned in item.ways if turned), None)
            width, length = upright or turned or (1, 1)
            match = item.match if printed else None
            if match is not None and self.stock.shared_phase:
                match = replace(match, level="")
            found.append(Kind(width, length, (), upright is not None, turned is not None, match))
        return tuple(found)

    def _flaws(self, strip: int, clear: Clear) -> tuple[Flaw, ...]:
        """Those of the strip, and what is kept clear of as far as the strip reaches."""
        berth, (left, right) = self.stock.berths[strip], clear
        end = self.stock.longest if berth.length is None else berth.length
        if sum(clear) >= berth.width or end == 0:
            # Nothing that keeps clear has room here, nor does anything else on a strip shorter than a step.
            return berth.flaws
        fences = [Flaw(x, 0, wide, end) for x, wide in ((0, left), (berth.width - right, right)) if wide]
        return (*berth.flaws, *fences)

    def _room(self, strip: int, core: Core) -> SeamRoom:
        """Only what fits this strip asks for a phase on it."""
        here = [kind for kind, strips in zip(core.kinds, self._strips, strict=True) if strip in strips]
        return SeamRoom(replace(core, kinds=tuple(here)))

    def fill(self, plan: FillPlan, optional: bool = True) -> StockLayout | None:
        """A layout by that order; None where something required found no place."""
        filling = _Filling(self, plan)
        for whole in plan.groups:
            group = [number for number in whole if self.stock.picked(number, plan.picks)]
            if not group:
                continue
            first = self.stock.items[group[0]]
            if first.bundle is not None and len(group) < len(whole):
                # All of a bundle or none, and some of it is of an option that is not taken.
                continue
            if first.value is not None and not optional:
                continue
            if not filling.lay(group) and first.value is None:
                return None
        return filling.layout

    def bed(self, strip: int, clear: Clear, phases: tuple[Phases, Phases]) -> Bed:
        """An empty strip."""
        core, room = self.rooms[strip, clear]
        return Bed(core, room, phases)

    def place(self, bed: Bed, number: int, strip: int, turned: frozenset[str]) -> Place | None:
        """The lowest place on a strip, inside it."""
        item = self.stock.items[number]
        ways = {way[3] for way in item.ways if way[0] == strip}
        if item.arrow is not None:
            ways &= {item.arrow in turned}
        limit = self.stock.berths[strip].length
        found = []
        for way in ways:
            kind = replace(self.rooms[strip, NO_MARGIN][0].kinds[number], upright=not way, turned=way)
            place = bed.lowest(kind)
            if place is not None and (limit is None or place[2] <= limit):
                found.append(place)
        return min(found, default=None)

    def plans(self, dice: random.Random) -> Iterator[FillPlan]:
        """Orders worth trying: a few by rule, then chance."""
        groups = groups_of(self.stock)
        by_rule = [self._by_length(groups), self._by_area(groups)]
        arrows = {item.arrow for item in self.stock.items if item.arrow and any(way[3] for way in item.ways)}
        sides = (
            [frozenset[str](), frozenset(a for a in arrows if a is not None)]
            if arrows
            else [frozenset[str]()]
        )
        strips = self._strip_orders()
        first_picks = (0,) * len(self.stock.choices)
        for order in by_rule:
            for tight in (False, True):
                for turned in sides:
                    for strip_order in strips:
                        yield FillPlan(order, strip_order, turned, tight, first_picks)
        while True:
            mixed = self._mixed(by_rule[dice.randrange(2)], dice)
            side = frozenset(a for a in sides[-1] if dice.random() < 0.5)
            order_of_strips = list(strips[0])
            dice.shuffle(order_of_strips)
            picks = tuple(dice.randrange(count) for count in self.stock.choices)
            yield FillPlan(mixed, self._open_last(order_of_strips), side, dice.random() < 0.5, picks)

    def _strip_orders(self) -> list[tuple[int, ...]]:
        numbers = range(len(self.stock.berths))
        length = {n: self.stock.berths[n].length or 0 for n in numbers}
        orders = [
            sorted(numbers, key=lambda n: length[n]),
            sorted(numbers, key=lambda n: -length[n]),
            [*numbers],
        ]
        return list(dict.fromkeys(self._open_last(order) for order in orders))

    def _open_last(self, order: Sequence[int]) -> tuple[int, ...]:
        return (*(n for n in order if n != self.stock.open), *(n for n in order if n == self.stock.open))

    def _by_length(self, groups: Sequence[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
        return self._sorted(groups, lambda item: (-max((way[2] for way in item.ways), default=0), -item.area))

    def _by_area(self, groups: Sequence[tuple[int, ...]]) -> tuple[tuple[int, ...], ...]:
        return self._sorted(groups, lambda item: (-item.area, -max((way[2] for way in item.ways), default=0)))

    def _sorted(
        self, groups: Sequence[tuple[int, ...]], key: Callable[[Item], tuple[int, int]]
    ) -> tuple[tuple[int, ...], ...]:
        """Required ones first, then the most valued, then the largest; the same inside each group."""
        items = self.stock.items
        ordered = [
            tuple(
                sorted(
                    group, key=lambda n: (items[n].clear != (0, 0) and not self._held(n), *key(items[n]), n)
                )
            )
            for group in groups
        ]

        def rank(group: tuple[int, ...]) -> tuple[object, ...]:
            first = items[group[0]]
            value = sum(items[n].value or 0 for n in group)
            area = sum(items[n].area for n in group)
            return (
                first.value is not None,
                first.spare,
                not self._held(group[0]),
                -value,
                -area,
                *key(first),
                group,
            )

        return tuple(sorted(ordered, key=rank))

    def _held(self, number: int) -> bool:
        """Whether an item keeps so clear of the edges that it has one place across."""
        item, berths = self.stock.items[number], self.stock.berths
        return any(width + sum(item.clear) == berths[strip].width for strip, width, _, _ in item.ways)

    def _mixed(self, groups: Sequence[tuple[int, ...]], dice: random.Random) -> tuple[tuple[int, ...], ...]:
        """Neighbors changed at random: required ones stay before the others, spare ones behind."""
        items = self.stock.items

        def rank(at: int) -> tuple[object, ...]:
            first = items[groups[at][0]]
            return first.value is not None, first.spare, at + dice.gauss(0, 1 + len(groups) / 4)

        order = sorted(range(len(groups)), key=rank)
        mixed = []
        for at in order:
            group = list(groups[at])
            if dice.random() < 0.3:
                dice.shuffle(group)
            mixed.append(tuple(group))
        return tuple(mixed)


@dataclass(slots=True)
class _Filling:
    """One filling on its way."""

    filler: Filler
    plan: FillPlan
    layout: StockLayout = field(default_factory=dict)
    beds: dict[tuple[int, Clear], Bed] = field(default_factory=dict)
    phases: dict[tuple[str, object], Phases] = field(default_factory=dict)
    lots: dict[str, str | None] = field(default_factory=dict)
    ends: list[int] = field(default_factory=list)

    def __post_init__(self) -> None:
        self.ends = self.ends or [0] * len(self.filler.stock.berths)

    def lay(self, group: Sequence[int]) -> bool:
        """The group into the lot where it costs least; False where no lot has room for it."""
        best: tuple[tuple[int, ...], _Filling] | None = None
        for strips in self._choices(group):
            trial = self._fork(strips)
            if all(trial._lay_one(number, strips) for number in group):
                cost = trial._cost()
                if best is None or cost < best[0]:
                    best = cost, trial
        if best is None:
            return False
        won = best[1]
        self.layout, self.beds, self.phases, self.lots = won.layout, won.beds, won.phases, won.lots
        self.ends = won.ends
        return True

    def _choices(self, group: Sequence[int]) -> Iterator[list[int]]:
        """The strips of each lot it may lie in; for a group without a lot, each strip by itself, then all."""
        stock, named = self.filler.stock, {self.filler.stock.items[n].lot for n in group} - {None}
        by_lot: dict[str | None, list[int]] = defaultdict(list)
        for number in self.plan.strips:
            by_lot[stock.berths[number].lot].append(number)
        if not named:
            yield from ([number] for number in self.plan.strips)
            if len(group) > 1:
                yield list(self.plan.strips)
            return
        known = {self.lots[lot] for lot in named if lot in self.lots}
        for lot, strips in by_lot.items():
            if not known or known == {lot}:
                yield strips

    def _fork(self, strips: Sequence[int]) -> _Filling:
        phases = {key: dict(known) for key, known in self.phases.items()}
        other = _Filling(
            self.filler,
            self.plan,
            dict(self.layout),
            dict(self.beds),
            phases,
            dict(self.lots),
            list(self.ends),
        )
        for key, bed in self.beds.items():
            if key[0] in strips:
                other.beds[key] = bed.fork(other._phases_on(key[0]))
        return other

    def _phases_on(self, strip: int) -> tuple[Phases, Phases]:
        """Shared by the strips of one repeat whose start is not known."""
        berth = self.filler.stock.berths[strip]
        across = None if berth.repeat is None else berth.repeat.width
        along = None if berth.repeat is None else (berth.repeat.length, berth.start)
        return self.phases.setdefault(("x", across), {}), self.phases.setdefault(("y", along), {})

    def _lay_one(self, number: int, strips: Sequence[int]) -> bool:
        item = self.filler.stock.items[number]
        found: tuple[int, Place] | None = None
        for strip in strips:
            place = self._place(number, item, strip)
            if place is None:
                continue
            if found is None or (self.plan.tight and place[2] < found[1][2]):
                found = strip, place
            if not self.plan.tight:
                break
        if found is None:
            return False
        strip, place = found
        for clear in self.filler.margins:
            self._bed(strip, clear).put(number, place)
        self.layout[number] = Berthed(strip, place[1], place[0], place[3])
        self.ends[strip] = max(self.ends[strip], place[2])
        if item.lot is not None:
            self.lots[item.lot] = self.filler.stock.berths[strip].lot
        return True

    def _place(self, number: int, item: Item, strip: int) -> Place | None:
        if item.spare and not self.ends[strip]:
            return None
        place = self.filler.place(self._bed(strip, item.clear), number, strip, self.plan.turned)
        if place is None or not item.spare or self.filler.stock.berths[strip].length is not None:
            return place
        return place if place[2] <= self.ends[strip] else None

    def _bed(self, strip: int, clear: Clear) -> Bed:
        if (strip, clear) not in self.beds:
            self.beds[strip, clear] = self.filler.bed(strip, clear, self._phases_on(strip))
        return self.beds[strip, clear]

    def _cost(self) -> tuple[int, int, int]:
        """What the layout so far takes: of the open strip, of lengths started, of what they are cut into."""
        berths, opened = self.filler.stock.berths, self.filler.stock.open
        started = sum(berth.weight for berth in berths if self.ends[berth.number])
        bought = 0 if opened is None else self.ends[opened]
        return bought, started, sum(self.ends) - bought


def groups_of(stock: Stock) -> tuple[tuple[int, ...], ...]:
    """Items that are laid together: of one bundle, or required and of one lot group; others singly."""
    groups: dict[object, list[int]] = defaultdict(list)
    for number, item in enumerate(stock.items):
        key: object = number
        if item.bundle is not None:
            key = ("bundle", item.bundle)
        elif item.value is None and item.lot is not None:
            key = ("lot", item.lot)
        groups[key].append(number)
    return tuple(tuple(group) for group in groups.values())
