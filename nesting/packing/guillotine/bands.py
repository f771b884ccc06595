"""First layouts in bands, at once at any size, and better ones by chance."""

from __future__ import annotations

import math
import random
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field

from nesting.packing.reduce import Core, Kind, Layout, Spot
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.turn import Taker

#: Units of work for one look at one kind; see `nesting.packing.turn.Budget`.
WORK_PER_LOOK = 2e-6
#: Of an order, so much is exchanged before it is bettered, from one start to the next.
SKIPS = (0.0, 0.1, 0.3, 1.0)
#: Of so many copies each has its own place in an order; of more, kinds have.
MOST_COPIES = 250
#: Changes in vain before a fresh start.
ENOUGH = 400
#: Of so few orders it is counted which were laid.
MOST_ORDERS = 400
#: How often a change is one of phase.
OTHER_PHASE = 0.15


@dataclass(slots=True)
class BandBed:
    """The strip while bands are laid on it: phases as they were settled, and pieces.

    Attributes
    ----------
    core
        The problem, no arrow group open.
    seams
        The phase across of each seam group.
    levels
        The phase along of each level group that lies already.
    """

    core: Core
    seams: dict[str, int]
    levels: dict[str, int] = field(default_factory=dict)
    spots: list[Spot] = field(default_factory=list)
    looks: int = 0

    def place(self, index: int, left: int, right: int, low: int, high: int | None) -> Spot | None:
        """The lowest place of a kind in a box without a top, or below ``high``; None where it has none."""
        kind, best = self.core.kinds[index], None
        left, right = max(left, kind.clear[0]), min(right, self.core.width - kind.clear[1])
        self.looks += 1
        for width, length, turned in kind.ways:
            if width > right - left:
                continue
            x = self._next_x(kind, left)
            if x + width > right:
                continue
            y = self._next_y(kind, x, low)
            if high is not None and y + length > high:
                continue
            if best is None or (y + length, width) < best[0]:
                best = ((y + length, width), Spot(index, x, y, turned))
        return None if best is None else best[1]

    def lay(self, spot: Spot) -> int:
        """Lay a piece there; its far end."""
        kind = self.core.kinds[spot.kind]
        match, repeat = kind.match, self.core.repeat
        if match is not None and repeat is not None:
            self.levels.setdefault(match.level, repeat.phase_y(spot.x, spot.y, match.x, match.y))
        self.spots.append(spot)
        return spot.y + self.core.size(spot)[1]

    def _next_x(self, kind: Kind, least: int) -> int:
        match, repeat = kind.match, self.core.repeat
        if match is None or match.seam is None or repeat is None:
            return least
        return repeat.first_x(least, match.x, self.seams.get(match.seam, 0))

    def _next_y(self, kind: Kind, x: int, least: int) -> int:
        match, repeat = kind.match, self.core.repeat
        if match is None or repeat is None:
            return least
        phase = -self.core.start if self.core.start is not None else self.levels.get(match.level)
        return least if phase is None else repeat.first_y(least, x, match.x, match.y, phase)


class BandSearch:
    """Bands laid one after the other, each as long as its first piece and filled from what is left.

    Parameters
    ----------
    core
        The problem; arrow groups decided.
    seed
        Same seed, same layouts.
    longest
        Layouts beyond are given up.

    References
    ----------
    Coffman, Garey, Johnson, Tarjan, SIAM J. Computing 9 (1980) 808-826 (levels by decreasing length).
    """

    def __init__(self, core: Core, seed: int = 0, longest: int | None = None) -> None:
        self._core = core
        self._chance = random.Random(seed)
        room = SeamRoom(core)
        patterned = core.repeat is not None and core.repeat.width is not None
        self._phases = {seam: room.phases(seam) for seam in room.seams} if patterned else {}
        kinds = range(len(core.kinds))
        keys: tuple[Callable[[Kind], tuple[int, ...]], ...] = (
            lambda k: (-max(length for _, length, _ in k.ways), -k.width),
            lambda k: (-k.area, -k.length),
            lambda k: (-k.width, -k.length),
            lambda k: (k.match is None, -k.length, -k.width),
        )
        self._orders = [sorted(kinds, key=lambda i, key=key: key(core.kinds[i])) for key in keys]  # type: ignore[misc]
        self._tries = self._patience = 0
        self._order, self._chosen = list[int](), dict[str, int]()
        self._longest = longest
        self._length: int | None = None
        self._seen = set[tuple[tuple[int, ...], tuple[tuple[str, int], ...]]]()
        self._count = _count_of_orders(core) * math.prod(len(found) or 1 for found in self._phases.values())

    @property
    def exhausted(self) -> bool:
        """Every order of the copies was laid, in every phase: more of it brings nothing new.

        Told only of so few that they can all be met by chance, `MOST_ORDERS` at most.
        """
        return len(self._seen) >= self._count

    def first(self, race: Taker) -> None:
        """Every order once, nothing left to chance."""
        for order in self._orders:
            first = {seam: found[0] for seam, found in self._phases.items() if found}
            race.offer(self._core, self._build(race, order, first), "bands across")

    def run(self, race: Taker, stop: Callable[[], bool]) -> None:
        """Small changes to an order, kept when not worse, until ``stop()``; now and then a fresh one."""
        while not stop():
            if self._patience <= 0:
                self._restart(race)
            order, phases = list(self._order), dict(self._chosen)
            for _ in range(self._chance.choice((1, 1, 2, 3))):
                self._change(order, phases)
            if self._count <= MOST_ORDERS and (self._length is None or self._length == self._longest):
                # Beyond the shortest known, layouts are given up: those orders are not looked at to the end.
                self._seen.add((tuple(order), tuple(sorted(phases.items()))))
            layout = self._build(race, order, phases=phases)
            self._patience -= 1
            length = None if layout is None else self._core.length_of(layout)
            if length is not None and (self._length is None or length <= self._length):
                if self._length is None or length < self._length:
                    self._patience = ENOUGH
                self._order, self._chosen, self._length = order, phases, length
                race.offer(self._core, layout, "bands across, better orders")

    def _restart(self, race: Taker) -> None:
        """The next sorted order, copy by copy where they are few, so that equal pieces may part."""
        order = self._orders[self._tries % len(self._orders)]
        if self._core.copies <= MOST_COPIES:
            order = [index for index in order for _ in range(self._core.kinds[index].copies)]
        self._order = list(order)
        self._chosen = {seam: self._chance.choice(found) for seam, found in self._phases.items() if found}
        skip = SKIPS[self._tries % len(SKIPS)]
        for _ in range(int(skip * len(order))):
            self._change(self._order, self._chosen)
        layout = self._build(race, self._order, phases=self._chosen)
        race.offer(self._core, layout, "bands across")
        self._length = None if layout is None else self._core.length_of(layout)
        self._tries += 1
        self._patience = ENOUGH

    def _change(self, order: list[int], phases: dict[str, int]) -> None:
        """Exchange two entries, move one, or take another phase for the widths of a panel."""
        open_seams = [seam for seam, found in self._phases.items() if len(found) > 1]
        if open_seams and self._chance.random() < OTHER_PHASE:
            seam = self._chance.choice(open_seams)
            phases[seam] = self._chance.choice(self._phases[seam])
            return
        one, two = self._chance.randrange(len(order)), self._chance.randrange(len(order))
        if self._chance.random() < 0.5:
            order[one], order[two] = order[two], order[one]
        else:
            order.insert(two, order.pop(one))

    def _build(self, race: Taker, order: Sequence[int], phases: Mapping[str, int]) -> Layout | None:
        if not all(self._phases.values()):
            return None
        making = _BandMaking(BandBed(self._core, dict(phases)), order)
        known = [length for length in (self._length, self._longest) if length is not None]
        layout = making.bands(min(known, default=None))
        race.budget.charge(WORK_PER_LOOK * making.bench.looks)
        return layout


def _count_of_orders(core: Core) -> int:
    """How many orders of all copies there are, equal ones counted once; more than can be met where many."""
    if core.copies > MOST_COPIES:
        return MOST_ORDERS + 1
    return math.factorial(core.copies) // math.prod(math.factorial(kind.copies) for kind in core.kinds)


class _BandMaking:
    """One layout being made."""

    def __init__(self, bench: BandBed, order: Sequence[int]) -> None:
        self.bench = bench
        self._queue = list(order)
        self._left = [kind.copies for kind in bench.core.kinds]
        self._blocks = len(self._queue) == len(self._left)
        self._named = [self._queue.count(index) for index in range(len(self._left))]

    def bands(self, limit: int | None) -> Layout | None:
        """The layout; None where a piece has no place, or beyond ``limit``."""
        bench, base, width = self.bench, 0, self.bench.core.width
        while self._queue:
            spot = bench.place(self._queue[0], 0, width, base, None)
            if spot is None or (limit is not None and spot.y + bench.core.size(spot)[1] > limit):
                return None
            made, start = len(bench.spots), base
            if spot.y > base:
                base = self._between(base, spot.y)
            end = self._lay(spot)
            self._columns(0, spot.x, base, end)
            self._columns(spot.x + bench.core.size(spot)[0], width, base, end)
            base = end + (self._again(made, start, end) if self._blocks else 0)
        return tuple(bench.spots)

    def _between(self, base: int, end: int) -> int:
        """Pieces of no pattern in the fabric before the next point of the pattern; where they end."""
        before = len(self.bench.spots)
        self._columns(0, self.bench.core.width, base, end, plain=True)
        new = self.bench.spots[before:]
        return max((spot.y + self.bench.core.size(spot)[1] for spot in new), default=base)

    def _columns(self, left: int, right: int, base: int, end: int, *, plain: bool = False) -> None:
        """Columns side by side between two places, none of them longer than the band.

        Fabric that a column leaves on its left, where it waits for the pattern, is filled like the rest.
        """
        bench = self.bench
        while left < right:
            spot = self._next(left, right, base, end, plain)
            if spot is None:
                return
            edge, top = spot.x + bench.core.size(spot)[0], self._lay(spot)
            while (more := self._next(spot.x, edge, top, end, plain)) is not None:
                top = self._lay(more)
            self._columns(left, spot.x, base, end, plain=plain)
            left = edge

    def _next(self, left: int, right: int, low: int, high: int, plain: bool) -> Spot | None:
        """The first piece in the order that has a place in the box."""
        kinds = self.bench.core.kinds
        for index in dict.fromkeys(self._queue):
            if plain and kinds[index].match is not None:
                continue
            spot = self.bench.place(index, left, right, low, high)
            if spot is not None:
                return spot
        return None

    def _lay(self, spot: Spot) -> int:
        self._take(spot.kind, 1)
        return self.bench.lay(spot)

    def _take(self, index: int, count: int) -> None:
        """Count copies off; an order names a kind once, or once for each copy."""
        self._left[index] -= count
        while self._named[index] > self._left[index]:
            self._queue.remove(index)
            self._named[index] -= 1

    def _again(self, made: int, start: int, end: int) -> int:
        """The same stretch as often as copies are left for it; how much longer the layout gets.

        Under a pattern only where it is so many whole repeats long, so that the pattern comes again.
        """
        bench, repeat = self.bench, self.bench.core.repeat
        band = bench.spots[made:]
        matched = any(bench.core.kinds[spot.kind].match is not None for spot in band)
        if matched and repeat is not None and (end - start) % repeat.length:
            return 0
        used = dict[int, int]()
        for spot in band:
            used[spot.kind] = used.get(spot.kind, 0) + 1
        times = min(self._left[index] // count for index, count in used.items())
        for number in range(1, times + 1):
            shift = number * (end - start)
            bench.spots += (Spot(s.kind, s.x, s.y + shift, s.turned) for s in band)
        for index, count in used.items():
            self._take(index, times * count)
        return times * (end - start)
