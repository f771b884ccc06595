"""Shorter layouts from better orders: small changes to the order of laying, kept when not worse.

Two ways to lay an order. On plain fabric the *skyline* way fills the lowest niche with the part that fits it
best, the order deciding ties: quick, and strong where parts are many. Where a pattern, a flaw or a hole
matters the *fill* way gives each part of the order the lowest free place; on plain fabric with small parts
among large ones the two take turns.

References
----------
Wei, Hu, Leung, Zhang, "An improved skyline based heuristic for the 2D strip packing problem and its efficient
implementation", Computers & Operations Research 80 (2017) 113-127 (random exchanges, not worse is kept).
"""

from __future__ import annotations

import time
from abc import ABC, abstractmethod
from typing import Any, ClassVar

from nesting.packing.kernels.compiled import KERNELS, KernelForm
from nesting.packing.kernels.fill import Binding, Ground, Occupied, Orders
from nesting.packing.kernels.skyline import ROWS, RULES, Queue, Sizes, Sky, Spots
from nesting.packing.pace import Pace
from nesting.packing.reduce import Core, Layout, Spot, uncollected
from nesting.packing.searches.construct import Order, orders
from nesting.packing.searches.search import Search
from nesting.packing.turn import Turn

#: Units of work, as machine code, of one laid part: per kind (skyline) or per part lying (fill).
#: See `nesting.packing.turn.Budget`.
SKYLINE_WORK = 3e-9
FILL_WORK = 2e-7
#: A kind is minor when the largest is more than this many times as large.
MINOR = 20
#: An order that takes more units of work than this to lay is not searched.
MOST_WORK = 1.0
#: Laid in one go by plain functions, which are some sixty times slower.
MOST_PLAIN_WORK = 0.003
#: With more parts than this holes are not looked back at on plain fabric.
MOST_FILLED = 200
#: From so many copies of a kind on average, rows of copies are laid as well.
ENOUGH_COPIES = 2
#: Changes of an order when it is searched first.
FIRST_ROUNDS = 500
#: Changes per pair of parts in one go: a few parts have few orders, and the proof is waiting.
ENOUGH = 100


class _LayingWay(ABC):
    """One way to lay an order."""

    work: float
    _best: Any
    _places: Spots
    _length: int

    @abstractmethod
    def begin(self, order: Order, rule: int, state: int, limit: int) -> int | None:
        """Lay an order; its length, or None past the limit."""

    @abstractmethod
    def search(self, rounds: int, target: int) -> int:
        """Try that many changes; the length of the best order met."""

    @abstractmethod
    def _pass(self, order: Any, limit: int) -> int:
        """Lay an order into ``_places``; its length, or more than the limit."""

    def layout(self) -> Layout:
        """Of the best order met."""
        again = self._pass(self._best, self._length)
        assert again == self._length, f"an order laid again is {again} long instead of {self._length}"
        return _spots(self._best, self._places)


class _Skyline(_LayingWay):
    """Niches filled best fit first."""

    def __init__(self, core: Core) -> None:
        self._core = core
        self.work = SKYLINE_WORK * core.copies * len(core.kinds) + 1e-6

    def begin(self, order: Order, rule: int, state: int, limit: int) -> int | None:
        core, n = self._core, len(order)
        form = KERNELS.form
        self._functions = form.functions
        self._rule, self._state = rule, form.array([state])
        self._sizes = _sizes(core, form)
        self._order, self._best = form.array(order), form.array(order)
        self._places = Spots(*(form.zeros(n) for _ in range(3)))
        queue = Queue(*(form.zeros(count) for count in (n, len(core.kinds), len(core.kinds))))
        self._scratch = queue, Sky(*(form.zeros(n + 2) for _ in range(3)))
        self._length = self._pass(self._order, limit)
        return None if self._length > limit else self._length

    def _pass(self, order: Any, limit: int) -> int:
        width = self._core.width
        passed = self._functions["skyline_pass"]
        return int(passed(width, order, self._sizes, self._rule, limit, self._places, *self._scratch))

    def search(self, rounds: int, target: int) -> int:
        self._length = int(
            self._functions["skyline_search"](
                self._core.width, self._order, self._sizes, self._rule, self._length, target, rounds,
                self._state, self._best, self._places, *self._scratch,
            )
        )  # fmt: skip
        return self._length


class _Fill(_LayingWay):
    """The lowest free place for each part."""

    def __init__(self, core: Core) -> None:
        self._core = core
        self._minor = _minor(core)
        self._majors = sum(kind.copies for k, kind in enumerate(core.kinds) if k not in self._minor)
        self.work = FILL_WORK * self._majors * (self._majors + len(core.flaws)) + 1e-6

    def begin(self, order: Order, rule: int, state: int, limit: int) -> int | None:
        core, n = self._core, len(order)
        form = KERNELS.form
        self._functions = form.functions
        flaws = sorted((f.y, f.x, f.width, f.length) for f in core.flaws)
        listed = form.array([value for y, x, w, h in flaws for value in (x, y, w, h)])
        self._ground = Ground(core.width, *_lattice(core), listed)
        groups, seams, levels = _groups(core)
        binding = Binding(*(form.array(values) for values in (*_margins(core), *groups)))
        self._kinds = _sizes(core, form), binding
        room = n + len(flaws) + 2
        self._state = form.array([state])
        order = tuple(sorted(order, key=self._minor.__contains__))
        self._orders = Orders(form.array(order), form.array(order), form.zeros(n))
        self._best = self._orders.best
        self._places = Spots(*(form.zeros(n) for _ in range(3)))
        self._taken = Occupied(*map(form.zeros, (*[room] * 6, seams, levels)))
        self._again = form.zeros(2)
        self._length = self._pass(self._orders.now, limit)
        # Of the order the search stands at; laying the best again must leave it alone.
        self._score = self._again.copy()
        return None if self._length > limit else self._length

    def _pass(self, order: Any, limit: int) -> int:
        passed, never = self._functions["fill_pass"], limit + 1
        scratch = self._places, self._taken, self._again
        return int(passed(self._ground, order, *self._kinds, limit, self._majors, never, 0, *scratch))

    def search(self, rounds: int, target: int) -> int:
        self._length = int(
            self._functions["fill_search"](
                self._ground, self._orders, *self._kinds, self._length, self._majors, target, rounds,
                self._state, self._places, self._taken, self._score,
            )
        )  # fmt: skip
        return self._length


def _minor(core: Core) -> frozenset[int]:
    """Small kinds that are laid last, into what is left between the others; none where all are small."""
    largest = max((kind.area for kind in core.kinds), default=0)
    return frozenset(
        k
        for k, kind in enumerate(core.kinds)
        if kind.match is None and MINOR * kind.area < largest and 4 * kind.width < core.width
    )


def _spots(order: Any, places: Spots) -> Layout:
    kinds, xs, ys, turns = (_whole(values) for values in (order, *places))
    with uncollected():
        return tuple(map(Spot, kinds, xs, ys, map(bool, turns)))


def _whole(values: Any) -> list[int]:
    """Numbers of a kernel's array, in either form."""
    return values if isinstance(values, list) else list(map(int, values.tolist()))


def _sizes(core: Core, form: KernelForm) -> Sizes:
    """The sizes of the kinds for the kernels."""
    wide, long, may = [], [], []
    for kind in core.kinds:
        ways = {turned for _, _, turned in kind.ways}
        wide += [kind.width, kind.length]
        long += [kind.length, kind.width]
        may += [int(False in ways), int(True in ways)]
    return Sizes(*map(form.array, (wide, long, may)))


def _margins(core: Core) -> tuple[list[int], list[int]]:
    """``near, far`` of the kernels: how far kinds keep from the edges."""
    return [kind.clear[0] for kind in core.kinds], [kind.clear[1] for kind in core.kinds]


def _lattice(core: Core) -> tuple[int, int, int, int]:
    """``R, H, step, start`` of the kernels."""
    repeat = core.repeat
    if repeat is None:
        return 1, 0, 0, -1
    return repeat.length, repeat.width or 0, repeat.step, -1 if core.start is None else core.start


def _groups(core: Core) -> tuple[tuple[list[int], ...], int, int]:
    """``matched, place_x, place_y, level, seam, first, members`` of the kernels, and how many groups."""
    matches = [kind.match for kind in core.kinds]
    levels = sorted({m.level for m in matches if m is not None})
    seams = sorted({m.seam for m in matches if m is not None and m.seam is not None})
    first, members = [0], list[int]()
    for seam in seams:
        members += [k for k, m in enumerate(matches) if m is not None and m.seam == seam]
        first.append(len(members))
    kinds = (
        [int(m is not None) for m in matches],
        [m.x if m is not None else 0 for m in matches],
        [m.y if m is not None else 0 for m in matches],
        [levels.index(m.level) if m is not None else -1 for m in matches],
        [seams.index(m.seam) if m is not None and m.seam is not None else -1 for m in matches],
        first,
        members,
    )
    return kinds, len(seams), len(levels)


def laid_orders(core: Core, turn: Turn, target: int, limit: int, changes: int, seed: int) -> Layout | None:
    """Orders worth a try in the lowest free places, with so many changes; the shortest up to ``limit``."""
    KERNELS.refresh()
    way = _Fill(core)
    if not KERNELS.compiled and not turn.counted and way.work > MOST_PLAIN_WORK:
        return None
    best: Layout | None = None
    pace = Pace()
    for number, (_, order) in enumerate(orders(core)):
        turn.charge(way.work)
        length = way.begin(order, 0, (seed + number) * 7919 % 2147483646 + 1, limit)
        left = changes
        while length is not None and length > target and left > 0 and not turn.over():
            rounds = min(left, pace.rounds(turn, way.work))
            began = time.monotonic()
            length = way.search(rounds, target)
            pace.took(time.monotonic() - began)
            turn.charge(rounds * way.work)
            left -= rounds
        if length is not None:
            best, limit = way.layout(), length - 1
        if turn.over() or limit < target:
            break
    return best


class OrderSearch(Search):
    """A search of orders that can be taken up again.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    seed
        Same seed, same search, whatever form the kernels are in.
    """

    name: ClassVar[str] = "orders"

    def __init__(self, core: Core, seed: int) -> None:
        self._core = core
        self._ways: list[_LayingWay] = [_Skyline(core)] if core.plain else [_Fill(core)]
        if core.plain and core.copies <= MOST_FILLED and _minor(core):
            # Small parts go into holes that the skyline has passed.
            self._ways.append(_Fill(core))
        self._way = self._ways[0]
        self._starts = [order for _, order in orders(core)]
        self._state = seed * 7919 % 2147483646 + 1
        self._rules = RULES if core.copies >= ENOUGH_COPIES * len(core.kinds) else ROWS
        self._cycle = 0
        #: Of each way the starts it has had, and its shortest length.
        self._turns, self._reached = [0] * len(self._ways), [core.stacked] * len(self._ways)
        self._number = 0
        self._rounds_left = 0
        self._known: int | None = None
        #: Orders of layouts found elsewhere, by which way each is laid, how many times as long as at first.
        self._given: list[tuple[Order, int, int]] = []
        self._pace = Pace()

    def begin_with(self, layout: Layout) -> None:
        """Search the order of a layout found elsewhere next."""
        self.begin_with_order(tuple(spot.kind for spot in sorted(layout, key=lambda spot: (spot.y, spot.x))))

    def begin_with_order(self, order: Order, times: int = 0) -> None:
        """Search this order next, by each way of laying one; so many times as long as a first start.

        0: as long as the next start of that way is searched.
        """
        self._given = [(order, number, times) for number in range(len(self._ways))]
        self._rounds_left = 0

    @property
    def through(self) -> bool:
        """All orders that were given have been searched."""
        return not self._given and self._rounds_left <= 0

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Where all directions are decided."""
        return not core.open_arrows

    @property
    def worthwhile(self) -> bool:
        """Whether there are orders to search, and laying one does not take the time of everything else."""
        whole_pass = (
            SKYLINE_WORK * len(self._core.kinds) if self._core.plain else FILL_WORK * self._core.copies
        )
        return len(self._core.kinds) > 1 and whole_pass * self._core.copies <= MOST_WORK

    def run(self, turn: Turn) -> bool:
        """Search until the turn is over or for a while, offering every shorter layout."""
        target, handed = turn.least, turn.handed()
        if handed is not None:
            self.begin_with(handed)
        if not self.worthwhile:
            return False
        rounds_here = 0 if len(set(self._starts[0])) > 1 else ENOUGH * self._core.copies**2
        while rounds_here < ENOUGH * self._core.copies**2 and not turn.over():
            if self._rounds_left <= 0 and not self._restart(turn):
                rounds_here += 1
                continue
            rounds = min(self._rounds_left, self._pace.rounds(turn, self._way.work))
            began = time.monotonic()
            length = self._way.search(rounds, target)
            self._pace.took(time.monotonic() - began)
            turn.charge(rounds * self._way.work)
            self._rounds_left -= rounds
            rounds_here += rounds
            self._reached[self._number] = min(self._reached[self._number], length)
            if self._known is None or length < self._known:
                self._known = length
                turn.offer(self._core, self._way.layout(), "order search")
        return True

    def _next_way(self) -> int:
        """Both by turns until each has had every start; then mostly the one that came further."""
        if len(self._ways) == 1:
            return 0
        if self._cycle < 2 * len(self._starts):
            return self._cycle % 2
        further = int(self._reached[1] < self._reached[0])
        return further if self._cycle % 4 else 1 - further

    def _restart(self, turn: Turn) -> bool:
        """A fresh order, by the next sort and rule; ever more rounds for each."""
        KERNELS.refresh()
        start: Order
        times = 0
        if self._given:
            start, number, times = self._given.pop()
            had = self._turns[number]
        else:
            number = self._next_way()
            had = self._turns[number]
            start = self._starts[had % len(self._starts)]
            self._turns[number] += 1
            self._cycle += 1
        self._way = self._ways[number]
        rule = had // len(self._starts) % self._rules
        self._state = self._state * 48271 % 2147483647
        turn.charge(self._way.work)
        length = self._way.begin(start, rule, self._state, self._core.stacked)
        self._number = number
        self._rounds_left = FIRST_ROUNDS * (times or 1 + had // len(self._starts))
        if length is None:
            self._rounds_left = 0
            return False
        if self._known is None or length < self._known:
            self._known = length
            turn.offer(self._core, self._way.layout(), "order search")
        return True
