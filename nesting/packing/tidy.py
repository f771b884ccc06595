"""Among layouts of one length, one that is easier to cut: the length is settled and never changes.

Small pieces are taken up and laid again in grids of equal ones; bands across are laid in many orders, where
one is as short; then whole bands, and pieces one by one, are moved. What is easier, `yardstick` says.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace

from nesting.packing.cut_order import CutRule, bands_of
from nesting.packing.ease import Rectangle, in_bands
from nesting.packing.guillotine.bands import BandSearch
from nesting.packing.problem import Part, Problem
from nesting.packing.race import Herald, Stopped
from nesting.packing.reduce import Core, Layout, reduce
from nesting.packing.regroup import Regrouping
from nesting.packing.result import Incumbent, Observer, Placement, Result
from nesting.packing.turn import Budget
from nesting.packing.yardstick import Yardstick
from nesting.repeat import Repeat

#: Units of work for one look at the lines of a layout, and at its offcuts, per piece.
WORK_PER_LINES = 4e-6
#: Sets of pieces laid again in vain before it ends; and in how many ways each is laid.
ENOUGH, WAYS = 300, 2
#: Of more pieces one look takes too long for a stage that must not be felt.
MOST_TIDIED = 2000
#: With more pieces than this they are not moved one by one.
MOST_MOVED = 120
#: Of more bands no other order is tried.
MOST_BANDS = 40
#: The part of what is left for whole new layouts in bands; where only these can be cut.
FOR_BANDS, FOR_BANDS_ALONE = 0.15, 0.5


def tidy(
    problem: Problem,
    result: Result,
    *,
    across: bool = False,
    cut_rules: Sequence[CutRule] = (),
    seconds: float = 1.0,
    work: float | None = None,
    seed: int = 0,
    on_progress: Observer | None = None,
) -> Result:
    """The result with places that are easier to cut, as long as it was; the same where none are found.

    Parameters
    ----------
    problem, result
        One open strip, without choices or optional parts, and a layout of it; one with flaws is left alone.
    across
        Keep to layouts that are cut across first.
    cut_rules
        Of each part, how it is cut; without it all are cut like any.
    seconds, work, seed
        What it may take; ``work`` in units of about a second of one core, whatever the clock says.
    on_progress
        Told some ten times a second that the work goes on; its False ends it with what it has.
    """
    if not can_be_tidied(problem, result):
        return result
    budget = _Attended(seconds, work, result, on_progress)
    bench = _Tidying(problem, result, across, budget, cut_rules, seed)
    bench.regroup(0.5)
    bench.try_bands(seed)
    bench.move_bands()
    bench.regroup(0.7)
    bench.move_pieces()
    bench.move_bands()
    return replace(result, placements=tuple(sorted(bench.best, key=lambda at: (at.part, at.copy))))


def tidy_lengths(
    problem: Problem,
    result: Result,
    strips: Sequence[int],
    *,
    cut_rules: Sequence[CutRule] = (),
    seconds: float = 1.0,
    work: float | None = None,
    seed: int = 0,
    on_progress: Observer | None = None,
) -> Result:
    """The same of lengths on hand: each of these strips by itself, and no further than it was cut into.

    Parameters as for `tidy`, which each strip shares equally. Matched parts keep their phases, which those on
    other lengths may share.
    """
    found, rules = result, cut_rules or (CutRule(),) * len(problem.parts)
    for strip in strips:
        part = _OnStrip(problem, found, strip)
        if not can_be_tidied(part.problem, part.result):
            continue
        share = None if work is None else work / len(strips)
        budget = _Attended(seconds / len(strips), share, part.result, on_progress)
        bench = _Tidying(part.problem, part.result, False, budget, [rules[at] for at in part.parts], seed)
        bench.regroup(0.7)
        bench.move_bands()
        bench.move_pieces()
        found = part.put_back(found, bench.best)
    return found


class _OnStrip:
    """One strip of several as a problem of its own: what lies on it, its parts and copies counted anew."""

    def __init__(self, problem: Problem, result: Result, strip: int) -> None:
        self._strip = strip
        self._there = [at for at in result.placements if at.strip == strip]
        self.parts = sorted({at.part for at in self._there})
        copies = {part: [at for at in self._there if at.part == part] for part in self.parts}
        plain = (replace(problem.parts[part], copies=len(laid)) for part, laid in copies.items())
        self.problem = Problem((replace(problem.strips[strip], length=None),), tuple(plain))
        numbered = ((n, enumerate(copies[part], 1)) for n, part in enumerate(self.parts))
        self._was = {(n, copy): at for n, laid in numbered for copy, at in laid}
        placements = tuple(replace(at, part=n, copy=copy, strip=0) for (n, copy), at in self._was.items())
        length = max((_box(problem.parts[at.part], at)[3] for at in self._there), default=None)
        self.result = replace(result, length=length, placements=placements)

    def put_back(self, result: Result, placements: Sequence[Placement]) -> Result:
        """The result with these places on the strip."""
        moved = (replace(self._was[at.part, at.copy], x=at.x, y=at.y) for at in placements)
        others = (at for at in result.placements if at.strip != self._strip)
        return replace(result, placements=tuple(sorted((*others, *moved), key=lambda at: (at.part, at.copy))))


def can_be_tidied(problem: Problem, result: Result) -> bool:
    """Whether `tidy` looks at such a layout at all: it has no flaws, and at most `MOST_TIDIED` pieces."""
    few = 0 < len(result.placements) <= MOST_TIDIED
    return result.length is not None and few and not problem.strips[0].flaws


class _Attended(Budget):
    """A budget of which nothing is left once the observer asks for an end; whoever looks at it, tells it."""

    def __init__(self, seconds: float, work: float | None, result: Result, observer: Observer | None) -> None:
        super().__init__(seconds, work)
        self._result, self._herald, self._over = result, Herald(self, observer), False

    @property
    def left(self) -> float:
        """Seconds left, or units of work left."""
        try:
            self._herald.breathe(self._now)
        except Stopped:
            self._over = True
        return 0.0 if self._over else super().left

    def _now(self) -> Incumbent:
        result = self._result
        seconds = round(result.seconds + self.elapsed, 3)
        return Incumbent(result.length, result.bound.length, "places that are easier to cut", seconds)


class _Tidying:
    """The best layout so far, and the budget."""

    def __init__(
        self,
        problem: Problem,
        result: Result,
        across: bool,
        budget: Budget,
        cut_rules: Sequence[CutRule],
        seed: int,
    ) -> None:
        self._problem, self._across = problem, across
        self._width, self._length = problem.strips[0].width, result.length or 0
        self._cut_rules = cut_rules or (CutRule(),) * len(problem.parts)
        self._yardstick = Yardstick(problem, self._length, cut_rules)
        self.budget = budget
        self.best: list[Placement] = list(result.placements)
        shapes = self._yardstick.shapes(self.best)
        self._order = self._yardstick.order(shapes, self._yardstick.count(shapes))
        self._grouping = Regrouping(problem, self._length, self._cut_rules, seed)

    def _boxes(self, placements: Sequence[Placement]) -> list[Rectangle]:
        return [_box(self._problem.parts[at.part], at) for at in placements]

    def _take(self, placements: list[Placement], *, level: bool = False) -> bool:
        """Keep a layout of the same length if it is easier to cut; ``level``: if it is no harder."""
        shapes = self._yardstick.shapes(placements)
        if max(shape.high for shape in shapes) != self._length:
            return False
        count = self._yardstick.count(shapes)
        worse = count[:2] > self._order[:2] or (self._across and not in_bands([s[:4] for s in shapes]))
        order = self._order if worse else self._yardstick.order(shapes, count)
        self.budget.charge(self._yardstick.spent)
        self._yardstick.spent = 0.0
        if worse or order > self._order or (order == self._order and not level):
            return False
        better = order < self._order
        self.best, self._order = placements, order
        return better

    # What a search of bands needs of its host.

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """A layout in bands, if it is as long as the one to be tidied."""
        if layout is None or core.ticks(core.length_of(layout)) != self._length:
            return False
        return self._take(list(core.placements(layout)))

    def try_bands(self, seed: int) -> None:
        """Bands across in every order, then in better ones, no longer than the layout."""
        if self.budget.left <= 0:
            return
        core = reduce(self._problem)
        if core is None or not core.kinds or (self._length // core.step_y - core.lone_length) <= 0:
            return
        turned = {self._problem.parts[at.part].arrow: at.turned for at in self.best}
        for arrow in core.open_arrows:
            core = core.settled(arrow, turned.get(arrow, False))
        search = BandSearch(core, seed, self._length // core.step_y - core.lone_length)
        end = self.budget.left * (1 - (FOR_BANDS_ALONE if self._across else FOR_BANDS))
        search.first(self)
        search.run(self, lambda: self.budget.left <= end or search.exhausted)

    def move_bands(self) -> None:
        """Stretches between cuts from edge to edge in another order, or mirrored, until none gets better."""
        better = True
        while better and self.budget.left > 0:
            better = False
            bands = self._bands()
            if not 1 < len(bands) <= MOST_BANDS:
                return
            for tried in self._other_orders(bands):
                if self.budget.left <= 0:
                    return
                if self._take(tried):
                    better = True
                    break

    def _bands(self) -> list[list[Placement]]:
        return [[self.best[number] for number in band] for band in self._numbers_of_bands()]

    def _other_orders(self, bands: list[list[Placement]]) -> Iterator[list[Placement]]:
        """Each band at each other place, the end first; then each mirrored where nothing binds it."""
        count = len(bands)
        for to in reversed(range(count)):
            for one in range(count):
                if one != to:
                    order = [*bands[:one], *bands[one + 1 :]]
                    order.insert(to, bands[one])
                    yield self._one_after_another(order)
        for one, band in enumerate(bands):
            parts = self._problem.parts
            if all(parts[at.part].match is None and not any(parts[at.part].clear) for at in band):
                mirrored = [replace(at, x=self._width - _box(parts[at.part], at)[2]) for at in band]
                yield [at for here in (*bands[:one], mirrored, *bands[one + 1 :]) for at in here]

    def _one_after_another(self, bands: list[list[Placement]]) -> list[Placement]:
        """The bands in that order, each as near to the squared end as the pattern allows."""
        repeat, base, found = self._problem.strips[0].repeat, 0, list[Placement]()
        for band in bands:
            shift = base - min(at.y for at in band)
            if repeat is not None and any(self._problem.parts[at.part].match is not None for at in band):
                shift = -(-shift // repeat.length) * repeat.length
            moved = [replace(at, y=at.y + shift) for at in band]
            base = max(_box(self._problem.parts[at.part], at)[3] for at in moved)
            found += moved
        return found

    def regroup(self, share: float) -> None:
        """Pieces taken up and laid again in grids of equal ones, for a share of what is left."""
        end, vain, grouping = self.budget.left * (1 - share), 0, self._grouping
        while self.budget.left > end and vain < ENOUGH:
            vain += 1
            layout, left = self.best, WAYS if grouping.choose(self.best, self._numbers_of_bands()) else 0
            while left:
                left -= 1
                laid = grouping.laid(layout)
                if laid is not None and self._take(laid, level=True):
                    vain = left = 0
            self.budget.charge(grouping.spent + WORK_PER_LINES)
            grouping.spent = 0.0

    def _numbers_of_bands(self) -> list[list[int]]:
        bands = bands_of(self._yardstick.shapes(self.best))
        return [[shape.number for shape in band] for band in bands]

    def move_pieces(self) -> None:
        """Pieces moved one by one to where it is easier to cut, until none gets better."""
        if len(self.best) > MOST_MOVED:
            return
        better = True
        while better and self.budget.left > 0:
            better = False
            for number in range(len(self.best)):
                if self.budget.left <= 0:
                    return
                better |= self._move(number)

    def _move(self, number: int) -> bool:
        """One piece at the best of its places."""
        at, moved = self.best[number], False
        others = [*self.best[:number], *self.best[number + 1 :]]
        for x, y in self._places(at, self._boxes(others)):
            if self.budget.left <= 0:
                return moved
            moved |= self._take([*others[:number], replace(at, x=x, y=y), *others[number:]])
        return moved

    def _places(self, at: Placement, boxes: Sequence[Rectangle]) -> Iterator[tuple[int, int]]:
        """Free places for a piece with an edge along those of others, in phase where it is matched."""
        part, repeat = self._problem.parts[at.part], self._problem.strips[0].repeat
        width, length = part.size(at.turned)
        low, high = part.clear[0], self._width - part.clear[1]
        xs = {low, high - width, at.x, *(b[2] for b in boxes), *(b[0] - width for b in boxes)}
        ys = {0, self._length - length, at.y, *(b[3] for b in boxes), *(b[1] - length for b in boxes)}
        self.budget.charge(WORK_PER_LINES * len(boxes))
        found = set[tuple[int, int]]()
        for x in sorted(x for x in xs if low <= x <= high - width):
            beside = sorted((b[1], b[3]) for b in boxes if b[0] < x + width and x < b[2])
            for y in sorted(ys):
                place = (x, y) if part.match is None or repeat is None else _in_phase(part, repeat, at, x, y)
                if place is None or place in found or not 0 <= place[1] <= self._length - length:
                    continue
                found.add(place)
                free = all(end <= place[1] or place[1] + length <= start for start, end in beside)
                if free and place != (at.x, at.y):
                    yield place


def _box(part: Part, at: Placement) -> Rectangle:
    width, length = part.size(at.turned)
    return at.x, at.y, at.x + width, at.y + length


def _in_phase(part: Part, repeat: Repeat, at: Placement, x: int, y: int) -> tuple[int, int] | None:
    """The first place from ``y`` on with the phases that the piece has; None where x keeps it from them."""
    match = part.match
    assert match is not None
    _, phase = repeat.columns(at.x, match.x)
    if (match.seam is not None or repeat.step) and repeat.columns(x, match.x)[1] != phase:
        return None
    return x, repeat.first_y(y, x, match.x, match.y, repeat.phase_y(at.x, at.y, match.x, match.y))
