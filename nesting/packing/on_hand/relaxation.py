"""Lengths on hand as sums of whole numbers that every layout keeps, where in a strip it lies forgotten.

The numbers count copies of a part that lie a way in a *section*, which is what a strip has between two flaws
across its whole width, and how far sections and strips are cut into. `nesting.packing.on_hand.stock_cases`
looks for a proof in them; `nesting.check.stock_sums` works the same sums out anew, by the names given here.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, Final

from nesting.packing.certificates.knapsack import best_choice
from nesting.packing.on_hand.stock_core import (
    CUT_INTO,
    EXTRAS,
    STARTED,
    TO_BUY,
    Berth,
    Item,
    Stock,
)
from nesting.packing.problem import Flaw, Part, Problem, Strip
from nesting.packing.result import Aim

Name = tuple[Any, ...]
#: Kinds of weights that are tried; see `weighing`.
KINDS: Final = (0, 1, 2, 3, -3, -4)
#: Knapsacks of more units times ways than this are too slow to be worth it, in all sections together.
WIDEST: Final = 4_000_000
#: Rounds of drawing what follows from a case.
ROUNDS: Final = 5


@dataclass(frozen=True, slots=True)
class StripSection:
    """What a strip has between two flaws across it; flaws from its own beginning, disjoint, all in steps."""

    berth: Berth
    begin: int
    length: int
    flaws: tuple[Flaw, ...]

    def free(self, end: int) -> int:
        """Area without flaws up to an end."""
        return self.berth.width * end - sum(
            flaw.width * min(flaw.length, end - flaw.y) for flaw in self.flaws if flaw.y < end
        )


@dataclass(frozen=True, slots=True)
class StockSum:
    """``sum(weight * number) <= most``, or equal; ``area`` and ``room``: as the limits of an end let it."""

    key: Name
    weights: Mapping[int, int]
    most: int
    exact: bool = False
    section: int | None = None


@dataclass(frozen=True, slots=True)
class LyingWay:
    """A part lying one way in a section; ``reach`` is how far it takes the section at least."""

    part: int
    turned: bool
    section: int
    wide: int
    long: int
    reach: int


Limits = list[tuple[int, int]]


class Relaxation:
    """The numbers and sums of one stage: those before are held, something better is asked of the last."""

    def __init__(self, problem: Problem, stock: Stock, stages: Sequence[Aim]) -> None:
        self._problem, self.stock, self._stages = problem, stock, stages
        self.items: dict[int, Item] = {item.part: item for item in reversed(stock.items)}
        self.sections = [each for berth in stock.berths for each in self._sections(berth)]
        self.names: list[Name] = []
        self.limits: Limits = []
        self.at: dict[Name, int] = {}
        self.lying: dict[int, LyingWay] = {}
        self._lots = list(dict.fromkeys(berth.lot for berth in stock.berths))
        self._add_numbers()
        self.sums = list(self._sums())
        self.dual = list[dict[str, Any]]()
        self.sums += self._dual_sums()

    def _longest(self) -> int:
        """Of the open strip, as what is bought is limited."""
        first = self._stages[0]
        most = first.bound - 1 if len(self._stages) == 1 else first.value
        return max(0, most // self.stock.step_y)

    def _sections(self, berth: Berth) -> Iterator[StripSection]:
        end = self._longest() if berth.length is None else berth.length
        flaws, begin = slabs(self._problem.strips[berth.number], berth, self.stock), 0
        whole = sorted((flaw.y, flaw.y + flaw.length) for flaw in flaws if flaw.width == berth.width)
        for low, high in [*whole, (end, end)]:
            if min(low, end) > begin:
                stop = min(low, end)
                inside = tuple(
                    replace(flaw, y=flaw.y - begin, length=min(flaw.y + flaw.length, stop) - flaw.y)
                    for flaw in flaws
                    if begin <= flaw.y < stop
                )
                yield StripSection(berth, begin, stop - begin, inside)
            begin = max(begin, high)

    def _number(self, name: Name, most: int) -> None:
        if name not in self.at:
            self.at[name] = len(self.names)
            self.names.append(name)
            self.limits.append((0, most))

    def _add_numbers(self) -> None:
        problem, berths = self._problem, self.stock.berths
        for index, item in sorted(self.items.items()):
            for number, section in enumerate(self.sections):
                for strip, wide, long, turned in item.ways:
                    reach = long + self._first(item, section)
                    if strip == section.berth.number and reach <= section.length:
                        self._number(("lies", index, int(turned), number), problem.parts[index].copies)
                        lying = LyingWay(index, turned, number, wide, long, reach)
                        self.lying[len(self.names) - 1] = lying
        for number, section in enumerate(self.sections):
            self._number(("end", number), section.length)
            self._number(("used", number), 1)
        for berth in berths:
            mine = [each.begin + each.length for each in self.sections if each.berth is berth]
            self._number(("cut", berth.number), max(mine, default=0))
            if berth.length is not None:
                self._number(("started", berth.number), 1)
        for item in self.items.values():
            if item.bundle is not None:
                self._number(("bundle", item.bundle), 1)
            if item.arrow is not None:
                self._number(("turned", item.arrow), 1)
            for lot in range(len(self._lots)) if item.lot is not None else ():
                self._number(("of lot", item.lot, lot), 1)
        for choice, count in enumerate(self.stock.choices):
            for option in range(count):
                self._number(("option", choice, option), 1)

    def _first(self, item: Item, section: StripSection) -> int:
        """Where an item begins in a section at the soonest, the start of the pattern being known."""
        match, berth = item.match, section.berth
        if match is None or berth.repeat is None or berth.start is None:
            return 0
        drift = {0}
        if berth.repeat.width is not None and berth.repeat.step:
            width, repeat = self._problem.strips[berth.number].width, berth.repeat
            part, across = self._problem.parts[item.part], self.stock.step_x
            period, place = repeat.width * across, match.x * across  # type: ignore[operator]
            near = (part.clear[0] - place - period + 1) // period
            far = (width - part.clear[1] - part.width - place) // period
            drift = {column * repeat.step % repeat.length for column in range(near, far + 1)} or {0}
        due = match.y - berth.start - section.begin
        return min((due + step) % berth.repeat.length for step in drift)

    def _sums(self) -> Iterator[StockSum]:
        """All but those of weights, in the order in which what follows from them is drawn."""
        for stage in self._stages[:-1]:
            yield self._objective(("as good", stage.name), stage, stage.value, better=False)
        yield self._objective(("better",), self._stages[-1], self._stages[-1].bound, better=True)
        for index in range(len(self._problem.parts)):
            yield from self._of_part(index, self.items[index])
        for choice, count in enumerate(self.stock.choices):
            options = {self.at["option", choice, option]: 1 for option in range(count)}
            yield StockSum(("one", choice), options, 1, exact=True)
        for group in dict.fromkeys(item.lot for item in self.items.values() if item.lot is not None):
            mine = {self.at["of lot", group, lot]: 1 for lot in range(len(self._lots))}
            yield StockSum(("of one lot", group), mine, 1, exact=True)
        for at, way in self.lying.items():
            copies = self._problem.parts[way.part].copies
            key = way.part, int(way.turned), way.section
            yield StockSum(("used", *key), {at: 1, self.at["used", way.section]: -copies}, 0)
            yield StockSum(("reaches", *key), {at: way.reach, self.at["end", way.section]: -copies}, 0)
        for number, section in enumerate(self.sections):
            yield from self._of_section(number, section)

    def _of_part(self, index: int, item: Item) -> Iterator[StockSum]:
        mine = {at: 1 for at, way in self.lying.items() if way.part == index}
        copies = self._problem.parts[index].copies
        picked = None
        if item.options is not None:
            choice, options = item.options
            picked = {**mine, **{self.at["option", choice, each]: -copies for each in options}}
        if item.bundle is not None:
            yield StockSum(("laid", index), {**mine, self.at["bundle", item.bundle]: -copies}, 0, exact=True)
        elif picked is None:
            yield StockSum(("laid", index), mine, copies, exact=item.value is None)
        if picked is not None:
            yield StockSum(("picked", index), picked, 0, exact=item.value is None)
        if item.lot is not None:
            for number, lot in enumerate(self._lots):
                there = {at: 1 for at in mine if self.sections[self.lying[at].section].berth.lot == lot}
                yield StockSum(
                    ("in lot", index, number), {**there, self.at["of lot", item.lot, number]: -copies}, 0
                )
        if item.arrow is not None:
            group = self.at["turned", item.arrow]
            ways = [{at: 1 for at in mine if self.lying[at].turned == turned} for turned in (False, True)]
            yield StockSum(("upright", index), {**ways[0], group: copies}, copies)
            yield StockSum(("turned", index), {**ways[1], group: -copies}, 0)

    def _of_section(self, number: int, section: StripSection) -> Iterator[StockSum]:
        end, used = self.at["end", number], self.at["used", number]
        strip = section.berth.number
        yield StockSum(("ends", number), {end: 1, used: -section.length}, 0)
        if section.berth.length is not None:
            yield StockSum(("starts", number), {used: 1, self.at["started", strip]: -1}, 0)
        weights = {end: 1, used: section.begin, self.at["cut", strip]: -1}
        yield StockSum(("cut", number), {at: weight for at, weight in weights.items() if weight}, 0)
        areas = {at: way.wide * way.long for at, way in self.lying.items() if way.section == number}
        yield StockSum(("area", number), {**areas, end: -section.berth.width}, 0, section=number)
        yield StockSum(("room", number), areas, 0, section=number)

    def _objective(self, key: Name, stage: Aim, worth: int, *, better: bool) -> StockSum:
        parts, berths = self._problem.parts, self.stock.berths
        if stage.most:
            spare = stage.name == EXTRAS
            points = {
                at: parts[way.part].value or 0
                for at, way in self.lying.items()
                if parts[way.part].value and parts[way.part].spare == spare
            }
            unit = math.gcd(*points.values()) or 1
            least = worth // unit + 1 if better else -(-worth // unit)
            return StockSum(key, {at: -each // unit for at, each in points.items()}, -least)
        unit = self.stock.step_y
        if stage.name == STARTED:
            unit = math.gcd(*(berth.weight for berth in berths)) or 1
            weights = {
                self.at["started", berth.number]: berth.weight // unit for berth in berths if berth.weight
            }
        else:
            asked = stage.name == TO_BUY
            assert asked or stage.name == CUT_INTO
            weights = {self.at["cut", berth.number]: 1 for berth in berths if (berth.length is None) == asked}
        return StockSum(key, weights, (worth - 1) // unit if better else worth // unit)

    def _dual_sums(self) -> Iterator[StockSum]:
        """Products of weights across and along, which the heaviest sets side by side and in file limit."""
        seen = set[tuple[Any, ...]]()
        for number, section in enumerate(self.sections):
            mine = {at: way for at, way in self.lying.items() if way.section == number}
            across = self._weighings(mine, section.berth.width, _wide)
            along = self._weighings(mine, section.length, _long)
            for (one, first), (two, second) in itertools.product(across, [(None, 0), *along[1:]]):
                if one is None and two is None:
                    continue
                weights = {
                    at: (way.wide if one is None else one[way.wide])
                    * (way.long if two is None else two[way.long])
                    for at, way in mine.items()
                }
                weights = {at: weight for at, weight in weights.items() if weight}
                most = 0 if two is None else first * second
                mark = number, tuple(weights.items()), most or -first
                if not weights or mark in seen:
                    continue
                seen.add(mark)
                self.dual.append(
                    {"stretch": number, "across": _said(mine, one, _wide), "along": _said(mine, two, _long)}
                )
                if two is None:
                    weights[self.at["end", number]] = -first
                yield StockSum(("weighed", len(self.dual) - 1), weights, most)

    def _weighings(
        self, mine: Mapping[int, LyingWay], room: int, size: Callable[[LyingWay], int]
    ) -> list[Weighed]:
        """Tables of weights by size with the heaviest set that fits; first the sizes themselves."""
        sizes, found = sorted({size(way) for way in mine.values()}), list[Weighed]([(None, room)])
        unit = math.gcd(*sizes) or 1
        fits = room // unit * len(mine) * len(self.sections) <= WIDEST
        for kind in KINDS if fits else ():
            table = weighing(room, sizes, kind)
            ways: dict[int, list[tuple[int, int, int]]] = {}
            for way in mine.values():
                entry = size(way) // unit, table[size(way)], self._problem.parts[way.part].copies
                ways.setdefault(way.part, []).append(entry)
            heaviest = best_choice(room // unit, list(ways.values()))
            if heaviest > 0 and not (kind == 0 and heaviest == room):
                found.append((table, heaviest))
        return found

    def most(self, row: StockSum, limits: Limits) -> int:
        """The right side of a sum within limits."""
        if row.section is None:
            return row.most
        section = self.sections[row.section]
        low, high = limits[self.at["end", row.section]]
        return section.free(low) - section.berth.width * low if row.key[0] == "area" else section.free(high)

    def narrowed(self, limits: Limits) -> Limits | None:
        """What follows of limits; None where nothing is left within them."""
        found = list(limits)
        for _ in range(ROUNDS):
            before = list(found)
            self._reach(found)
            for row in self.sums:
                if row.section is None and row.key[0] != "weighed" and not draw(row, found):
                    return None
            if found == before:
                break
        return None if any(low > high for low, high in found) else found

    def _reach(self, found: Limits) -> None:
        for number, section in enumerate(self.sections):
            end = self.at["end", number]
            cut = found[self.at["cut", section.berth.number]][1]
            found[end] = found[end][0], min(found[end][1], max(0, cut - section.begin))
        for at, way in self.lying.items():
            end = self.at["end", way.section]
            if way.reach > found[end][1]:
                found[at] = found[at][0], min(found[at][1], 0)
            if found[at][0] > 0:
                found[end] = max(found[end][0], way.reach), found[end][1]

    def alone(self, number: int, laid: Iterable[tuple[int, bool, int]], longest: int) -> Problem:
        """Copies of parts in a section as a problem of one open strip; flaws are parts that lie anywhere."""
        section, parts = self.sections[number], list[Part]()
        berth = section.berth
        start = berth.start
        if start is not None and berth.repeat is not None:
            start = (start + section.begin) % berth.repeat.length
        for index, turned, copies in laid:
            item = self.items[index]
            way = next(each for each in item.ways if each[0] == berth.number and each[3] == turned)
            match = None if berth.repeat is None else item.match
            name = self._problem.parts[index].name
            parts.append(Part(name, way[1], way[2], copies=copies, match=match, clear=item.clear))
        parts += [
            Part("flaw", flaw.width, min(flaw.length, longest - flaw.y))
            for flaw in section.flaws
            if flaw.y < longest
        ]
        return Problem((Strip(berth.width, None, berth.repeat, start=start),), tuple(parts))


def draw(row: StockSum, limits: Limits) -> bool:
    """Narrow limits by one sum; False where it cannot be kept within them."""
    for sign in (1, -1) if row.exact else (1,):
        weights = [(at, sign * weight) for at, weight in row.weights.items()]
        left = sign * row.most - sum(weight * limits[at][weight < 0] for at, weight in weights)
        if left < 0:
            return False
        for at, weight in weights:
            low, high = limits[at]
            if weight > 0:
                limits[at] = low, min(high, low + left // weight)
            elif weight < 0:
                limits[at] = max(low, high - left // -weight), high
    return True


def slabs(strip: Strip, berth: Berth, stock: Stock) -> list[Flaw]:
    """The flaws of a strip in steps, disjoint: slabs along, in each slab runs across."""
    boxes = []
    for flaw in strip.flaws:
        left, right = max(0, flaw.x // stock.step_x), (flaw.x + flaw.width) // stock.step_x
        low, high = max(0, flaw.y // stock.step_y), (flaw.y + flaw.length) // stock.step_y
        if left < min(right, berth.width) and low < high:
            boxes.append((left, min(right, berth.width), low, high))
    found = list[Flaw]()
    for low, high in itertools.pairwise(sorted({edge for box in boxes for edge in box[2:]})):
        runs = list[tuple[int, int]]()
        for left, right, _, _ in sorted(box for box in boxes if box[2] <= low and high <= box[3]):
            if runs and left <= runs[-1][1]:
                runs[-1] = runs[-1][0], max(right, runs[-1][1])
            else:
                runs.append((left, right))
        found += [Flaw(left, low, right - left, high - low) for left, right in runs]
    return found


Weighed = tuple[Mapping[int, int] | None, int]
"""Weights by size, None being the sizes themselves, and the heaviest set that fits."""


def weighing(room: int, sizes: Sequence[int], kind: int) -> Mapping[int, int]:
    """Weights of sizes by a dual feasible function.

    Above 0 u(k); at 0 the size itself; below 0 U(epsilon) at epsilon = room / -kind: what leaves less than
    that beside it counts whole, and what is smaller not at all. Fekete, Schepers, doi:10.1007/s001860400376.
    """
    if kind > 0:
        shares = {size: divmod((kind + 1) * size, room) for size in sizes}
        return {size: (kind + bool(rest)) * whole for size, (whole, rest) in shares.items()}
    if kind == 0:
        return {size: size for size in sizes}
    small = -(-room // -kind)
    return {size: room if size > room - small else size * (size >= small) for size in sizes}


def _said(
    mine: Mapping[int, LyingWay], table: Mapping[int, int] | None, size: Callable[[LyingWay], int]
) -> list[list[int]] | None:
    """Weights as a certificate lists them, by part and way."""
    if table is None:
        return None
    return [[way.part, int(way.turned), table[size(way)]] for way in mine.values() if table[size(way)]]


def _wide(way: LyingWay) -> int:
    return way.wide


def _long(way: LyingWay) -> int:
    return way.long
