"""What every layout on several lengths keeps, as sums of whole numbers, worked out from the problem alone.

A strip is taken apart at flaws that reach across it: no part lies over one, so each lies in one *stretch*.
What is unknown of a layout: how many copies of a part lie a way in a stretch (``"lies"``), how far a
stretch is cut into from its beginning (``"end"``) and a strip (``"cut"``), whether a stretch or a strip is
cut into at all (``"used"``, ``"started"``), whether a bundle is laid, of which lot a lot group is, whether
an arrow group is turned, which option of a choice is laid. Sums of these that hold of every layout are
*rows*: what is laid of each part, lots, bundles, directions, choices; that no stretch holds more than its
area, or more than weights allow of which the heaviest set that fits is known. All of it forgets where in a
stretch anything lies, so what no numbers fulfill is no layout.

Everything is in the steps of `nesting.check.stock_steps`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from nesting.check.row_weighing import WeighedSlices, heaviest_of
from nesting.check.stock_steps import BetweenFlaws, options_of, require, steps_of, stretches_of, ways_of
from nesting.packing.problem import Match, Part, Problem, Strip
from nesting.packing.result import Aim
from nesting.repeat import Repeat

Unknown = tuple[Any, ...]
"""The name of a number that is unknown of a layout."""
Box = dict[Unknown, tuple[int, int]]
"""From where to where each may be."""

TO_BUY, VALUE, STARTED, EXTRAS, CUT_INTO = "to buy", "value", "fabric started", "extras", "cut into"
ORDER: Final = (TO_BUY, VALUE, STARTED, EXTRAS, CUT_INTO)
MOST: Final = frozenset({VALUE, EXTRAS})
#: More parts times strips are not gone through.
MOST_WAYS: Final = 20_000
#: Weights beyond this are not believed.
HEAVIEST: Final = 2**40


@dataclass(frozen=True, slots=True)
class StockRow:
    """``sum(weight * unknown) <= most`` or, where it is exact, ``==``."""

    weights: Mapping[Unknown, int]
    most: int
    exact: bool = False


class StockSums:
    """The unknowns of a problem and the rows that every layout keeps, with what is asked.

    Parameters
    ----------
    problem
        Strips on hand and at most one open strip.
    stages
        All but the last are held; than the last something better is asked for.

    Raises
    ------
    UnfoundedError
        The problem or the stages are none that this understands.
    """

    def __init__(self, problem: Problem, stages: Sequence[Aim]) -> None:
        require(len(problem.parts) * len(problem.strips) <= MOST_WAYS)
        self.problem = problem
        names = [stage.name for stage in stages]
        require(bool(names) and names == [name for name in ORDER if name in names])
        require(all(stage.most == (stage.name in MOST) for stage in stages))
        self._held = {stage.name: stage.value for stage in stages[:-1]}
        self._asked = stages[-1]
        open_strips = [at for at, strip in enumerate(problem.strips) if strip.length is None]
        require(not open_strips or (len(open_strips) == 1 and names[0] == TO_BUY))
        require(bool(open_strips) or TO_BUY not in names)
        self.open = open_strips[0] if open_strips else None
        self.options = options_of(problem)
        self.ways = ways_of(problem, self.options)
        self.across, self.along = steps_of(problem, self.ways)
        self.lots = list(dict.fromkeys(strip.lot for strip in problem.strips))
        self.widths = [strip.width // self.across for strip in problem.strips]
        self.stretches = [each for at in range(len(problem.strips)) for each in self._stretches(at)]
        self.reach: dict[Unknown, int] = {}
        self._of_part: dict[int, list[Unknown]] = {}
        self._of_stretch: dict[int, list[Unknown]] = {}
        self.box = self._box()
        self.narrowing = [self.row(key, self.box) for key in self._keys()]

    def _stretches(self, at: int) -> Iterator[BetweenFlaws]:
        strip = self.problem.strips[at]
        # Open, it is no longer than is bought in what is held or asked for, which is all that is spoken of.
        end = self._longest if strip.length is None else strip.length // self.along
        return stretches_of(strip, at, end, self.across, self.along)

    @property
    def _longest(self) -> int:
        """How far the open strip is cut into at most, by what is bought."""
        if TO_BUY in self._held:
            return max(0, self._held[TO_BUY] // self.along)
        return max(0, (self._asked.bound - 1) // self.along)

    def _box(self) -> Box:
        """The least and the most of every unknown."""
        box: Box = {}
        for index, part in enumerate(self.problem.parts):
            for number, stretch in enumerate(self.stretches):
                for turned in self.ways[index]:
                    self._add_way(box, index, part, number, stretch, turned)
        for number, stretch in enumerate(self.stretches):
            box["end", number] = 0, stretch.length
            box["used", number] = 0, 1
        for at, strip in enumerate(self.problem.strips):
            ends = [each.begin + each.length for each in self.stretches if each.strip == at]
            box["cut", at] = 0, max(ends, default=0)
            if strip.length is not None:
                box["started", at] = 0, 1
        for part in self.problem.parts:
            if part.bundle is not None:
                box["bundle", part.bundle] = 0, 1
            if part.arrow is not None:
                box["turned", part.arrow] = 0, 1
            if part.lot is not None:
                box |= {("of lot", part.lot, lot): (0, 1) for lot in range(len(self.lots))}
        for at, choice in enumerate(self.problem.choices):
            box |= {("option", at, option): (0, 1) for option in range(len(choice.options))}
        return box

    def _add_way(
        self, box: Box, index: int, part: Part, number: int, stretch: BetweenFlaws, turned: bool
    ) -> None:
        wide, long = self.size(index, turned)
        if wide + sum(-(-side // self.across) for side in part.clear) > self.widths[stretch.strip]:
            return
        reach = self._first(index, stretch) + long
        if reach <= stretch.length:
            name: Unknown = ("lies", index, int(turned), number)
            box[name] = 0, part.copies
            self.reach[name] = reach
            self._of_part.setdefault(index, []).append(name)
            self._of_stretch.setdefault(number, []).append(name)

    def size(self, index: int, turned: bool) -> tuple[int, int]:
        """Across and along as laid, in steps."""
        wide, long = self.problem.parts[index].size(turned)
        return wide // self.across, long // self.along

    def _first(self, index: int, stretch: BetweenFlaws) -> int:
        """How far into a stretch a part begins at least, where the start of the pattern is known."""
        part, strip = self.problem.parts[index], self.problem.strips[stretch.strip]
        if part.match is None or strip.repeat is None or strip.start is None:
            return 0
        rises = [0]
        if strip.repeat.width is not None and strip.repeat.step:
            # The column in which it begins counts from that of its place in the pattern.
            last = strip.width - part.clear[1] - part.width
            columns = range(
                (part.clear[0] - part.match.x - strip.repeat.width + 1) // strip.repeat.width,
                (last - part.match.x) // strip.repeat.width + 1,
            )
            rises = sorted({column * strip.repeat.step % strip.repeat.length for column in columns}) or [0]
        begin = stretch.begin * self.along
        waits = ((part.match.y - strip.start + rise - begin) % strip.repeat.length for rise in rises)
        return min(waits) // self.along

    def in_steps(self, number: int) -> tuple[int, Repeat | None, int | None]:
        """Width, repeat and start of a stretch as a strip of its own."""
        stretch = self.stretches[number]
        strip = self.problem.strips[stretch.strip]
        repeat, start = strip.repeat, strip.start
        if repeat is not None:
            width = None if repeat.width is None else repeat.width // self.across
            repeat = Repeat(repeat.length // self.along, width, repeat.drop)
            start = None if start is None else (start // self.along + stretch.begin) % repeat.length
        return self.widths[stretch.strip], repeat, start

    def alone(self, number: int, laid: Iterable[tuple[int, bool, int]], longest: int) -> Problem:
        """So many copies of parts in a stretch, with its flaws up to a length, as a problem of its own.

        Flaws are parts that may lie anywhere: where they lie is one way to lay them.
        """
        width, repeat, start = self.in_steps(number)
        parts = list[Part]()
        for index, turned, copies in laid:
            part = self.problem.parts[index]
            match = None
            if part.match is not None and repeat is not None:
                x, y = part.match.x // self.across, part.match.y // self.along
                match = Match(part.match.level, part.match.seam, x, y)
            clear = (-(-part.clear[0] // self.across), -(-part.clear[1] // self.across))
            parts.append(Part(part.name, *self.size(index, turned), copies=copies, match=match, clear=clear))
        for flaw in self.stretches[number].flaws:
            if flaw.y < longest:
                parts.append(Part("flaw", flaw.width, min(flaw.length, longest - flaw.y)))
        return Problem((Strip(width, None, repeat, start=start),), tuple(parts))

    def names(self, index: int) -> list[Unknown]:
        """Every way in which a part may lie."""
        return self._of_part.get(index, [])

    def row(self, key: Unknown, box: Box) -> StockRow:
        """The row of a name; of those that speak of areas as the box lets them."""
        kind = key[0]
        require(isinstance(kind, str) and kind in _ROWS)
        found: StockRow = getattr(self, _ROWS[kind])(box, *key[1:])
        return StockRow(
            {name: weight for name, weight in found.weights.items() if weight}, found.most, found.exact
        )

    def _keys(self) -> Iterator[Unknown]:
        """The rows from which what follows of a box is drawn, in their order: all but areas and weights."""
        yield from (("as good", name) for name in self._held)
        yield ("better",)
        for index, part in enumerate(self.problem.parts):
            if part.bundle is not None or index not in self.options:
                yield "laid", index
            if index in self.options:
                yield "picked", index
            if part.lot is not None:
                yield from (("in lot", index, lot) for lot in range(len(self.lots)))
            if part.arrow is not None:
                yield from (("upright", index), ("turned", index))
        yield from (("one", at) for at in range(len(self.problem.choices)))
        yield from (
            ("of one lot", lot)
            for lot in dict.fromkeys(p.lot for p in self.problem.parts if p.lot is not None)
        )
        for _, *way in self.reach:
            yield from (("used", *way), ("reaches", *way))
        for number, stretch in enumerate(self.stretches):
            yield "ends", number
            if ("started", stretch.strip) in self.box:
                yield "starts", number
            yield "cut", number

    def _laid(self, box: Box, index: int) -> StockRow:
        """What must be laid of a part is laid; of what is optional no more than there is."""
        part = self._part(index)
        weights = dict.fromkeys(self.names(index), 1)
        if part.bundle is not None:
            return StockRow({**weights, ("bundle", part.bundle): -part.copies}, 0, exact=True)
        if index in self.options:
            return self._picked(box, index)
        return StockRow(weights, part.copies, exact=part.value is None)

    def _picked(self, box: Box, index: int) -> StockRow:
        """A part of a choice is laid with its options."""
        part = self._part(index)
        require(index in self.options)
        choice, options = self.options[index]
        weights = dict.fromkeys(self.names(index), 1)
        weights |= {("option", choice, option): -part.copies for option in options}
        return StockRow(weights, 0, exact=part.value is None)

    def _one(self, box: Box, choice: int) -> StockRow:
        """One option of a choice."""
        require(choice in range(len(self.problem.choices)))
        return StockRow({name: 1 for name in box if name[:2] == ("option", choice)}, 1, exact=True)

    def _part(self, index: int) -> Part:
        require(index in range(len(self.problem.parts)))
        return self.problem.parts[index]

    def _in_lot(self, box: Box, index: int, lot: int) -> StockRow:
        """A part lies on fabric of a lot only if its group is of that lot."""
        part = self._part(index)
        require(part.lot is not None and lot in range(len(self.lots)))
        there = [name for name in self.names(index) if self._strip(name).lot == self.lots[lot]]
        return StockRow({**dict.fromkeys(there, 1), ("of lot", part.lot, lot): -part.copies}, 0)

    def _strip(self, name: Unknown) -> Strip:
        return self.problem.strips[self.stretches[name[3]].strip]

    def _of_one(self, box: Box, group: str) -> StockRow:
        """A lot group is of one lot."""
        require(("of lot", group, 0) in box)
        return StockRow({("of lot", group, lot): 1 for lot in range(len(self.lots))}, 1, exact=True)

    def _upright(self, box: Box, index: int) -> StockRow:
        """Nothing lies upright in a group that is turned."""
        part = self._part(index)
        require(part.arrow is not None)
        mine = [name for name in self.names(index) if not name[2]]
        return StockRow({**dict.fromkeys(mine, 1), ("turned", part.arrow): part.copies}, part.copies)

    def _turned(self, box: Box, index: int) -> StockRow:
        """Nothing lies turned in a group that is not."""
        part = self._part(index)
        require(part.arrow is not None)
        mine = [name for name in self.names(index) if name[2]]
        return StockRow({**dict.fromkeys(mine, 1), ("turned", part.arrow): -part.copies}, 0)

    def _used(self, box: Box, index: int, turned: int, number: int) -> StockRow:
        """Where something lies the stretch is cut into."""
        name: Unknown = ("lies", index, turned, number)
        require(name in self.reach)
        return StockRow({name: 1, ("used", number): -self._part(index).copies}, 0)

    def _reaches(self, box: Box, index: int, turned: int, number: int) -> StockRow:
        """Where something lies the stretch is cut into as far as it reaches."""
        name: Unknown = ("lies", index, turned, number)
        require(name in self.reach)
        return StockRow({name: self.reach[name], ("end", number): -self._part(index).copies}, 0)

    def _ends(self, box: Box, number: int) -> StockRow:
        """A stretch that is not cut into ends at its beginning."""
        return StockRow({("end", number): 1, ("used", number): -self._stretch(number).length}, 0)

    def _stretch(self, number: int) -> BetweenFlaws:
        require(number in range(len(self.stretches)))
        return self.stretches[number]

    def _starts(self, box: Box, number: int) -> StockRow:
        """A stretch is cut into on a strip that is."""
        strip = self._stretch(number).strip
        require(("started", strip) in box)
        return StockRow({("used", number): 1, ("started", strip): -1}, 0)

    def _cut(self, box: Box, number: int) -> StockRow:
        """A strip is cut into as far as each of its stretches."""
        stretch = self._stretch(number)
        return StockRow({("end", number): 1, ("used", number): stretch.begin, ("cut", stretch.strip): -1}, 0)

    def _area(self, box: Box, number: int) -> StockRow:
        """No more lies up to the end than there is room beside flaws, the end being this far at least."""
        stretch = self._stretch(number)
        width, least = self.widths[stretch.strip], box["end", number][0]
        weights = self._areas(number) | {("end", number): -width}
        return StockRow(weights, stretch.free(width, least) - width * least)

    def _room(self, box: Box, number: int) -> StockRow:
        """No more lies in a stretch than there is room between the flaws as far as it may end."""
        stretch = self._stretch(number)
        return StockRow(self._areas(number), stretch.free(self.widths[stretch.strip], box["end", number][1]))

    def _areas(self, number: int) -> dict[Unknown, int]:
        sizes = {name: self.size(name[1], bool(name[2])) for name in self._of_stretch.get(number, ())}
        return {name: wide * long for name, (wide, long) in sizes.items()}

    def weighed(
        self,
        number: int,
        across: Mapping[tuple[int, int], int] | None,
        along: Mapping[tuple[int, int], int] | None,
    ) -> StockRow:
        """What weights across and along make of a stretch; None: the sizes themselves.

        With A the heaviest set side by side and B that one after another, the products of the weights of all
        that lies there add up to A B at most; see `nesting.check.proof`. With the sizes along, B is the end.
        """
        stretch = self._stretch(number)
        every = (*(across or {}).values(), *(along or {}).values())
        require(all(0 <= weight <= HEAVIEST for weight in every))
        mine = {name: (name[1], name[2]) for name in self._of_stretch.get(number, ())}
        sizes = {name: self.size(way[0], bool(way[1])) for name, way in mine.items()}
        width = self.widths[stretch.strip]
        first = {n: sizes[n][0] if across is None else across.get(way, 0) for n, way in mine.items()}
        most = width if across is None else self._heaviest(first, {n: s[0] for n, s in sizes.items()}, width)
        if along is None:
            weights = {name: weight * sizes[name][1] for name, weight in first.items()}
            return StockRow({**weights, ("end", number): -most}, 0)
        second = {n: along.get(way, 0) for n, way in mine.items()}
        most *= self._heaviest(second, {n: s[1] for n, s in sizes.items()}, stretch.length)
        return StockRow({name: first[name] * second[name] for name in mine}, most)

    def _heaviest(self, weights: Mapping[Unknown, int], sizes: Mapping[Unknown, int], room: int) -> int:
        bars = [
            WeighedSlices(name[1], sizes[name], 1, weight, self._part(name[1]).copies)
            for name, weight in weights.items()
        ]
        found = heaviest_of(bars, room)
        require(found > 0 or not any(weights.values()))
        return found

    def _better(self, box: Box) -> StockRow:
        """What is asked is better than is said to be possible."""
        return self._objective(self._asked.name, self._asked.bound, better=True)

    def _as_good(self, box: Box, name: str) -> StockRow:
        """A stage before it is as good."""
        require(name in self._held)
        return self._objective(name, self._held[name], better=False)

    def _objective(self, name: str, worth: int, *, better: bool) -> StockRow:
        """A stage at least as good as something, or better."""
        if name in MOST:
            laid = [each for each in self.reach if self._counts(each, name)]
            weights = {each: self._part(each[1]).value or 0 for each in laid}
            unit = math.gcd(*weights.values()) or 1
            least = worth // unit + 1 if better else -(-worth // unit)
            return StockRow({each: -weight // unit for each, weight in weights.items()}, -least)
        unit = self.along
        if name == STARTED:
            weights = {("started", at): s.length for at, s in enumerate(self.problem.strips) if s.length}
            unit = math.gcd(*weights.values()) or 1
            weights = {each: length // unit for each, length in weights.items()}
        elif name == TO_BUY:
            weights = {("cut", self.open): 1}
        else:
            weights = {("cut", at): 1 for at in range(len(self.problem.strips)) if at != self.open}
        return StockRow(weights, (worth - 1) // unit if better else worth // unit)

    def _counts(self, name: Unknown, stage: str) -> bool:
        part = self._part(name[1])
        return part.value is not None and part.spare == (stage == EXTRAS)


_ROWS: Final = {
    "laid": "_laid", "picked": "_picked", "one": "_one", "in lot": "_in_lot", "of one lot": "_of_one",
    "upright": "_upright", "turned": "_turned", "used": "_used", "reaches": "_reaches", "ends": "_ends",
    "starts": "_starts", "cut": "_cut", "area": "_area", "room": "_room", "better": "_better",
    "as good": "_as_good",
}  # fmt: skip
