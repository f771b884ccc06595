"""One option exchanged for another in a layout that is known, the order of everything else kept.

A selection judged by a search of its own, from nothing, looks worse than one that has been searched for long,
whatever it is worth. So a neighbor begins where the best layout stands: its parts in the order in which they
lie, the new option's parts in the places of the old one's. Those that come out best are searched further.

References
----------
Wei, Hu, Leung, Zhang, "An improved skyline based heuristic for the 2D strip packing problem and its efficient
implementation", Computers & Operations Research 80 (2017) 113-127 (the search of orders; here they carry
their options along).
"""

from __future__ import annotations

import random
from collections.abc import Callable, Collection, Iterator, Sequence
from dataclasses import dataclass
from functools import partial

from nesting.packing.branch import branches_of
from nesting.packing.choices.menu import Menu, Selection
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout, closed_arrows
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.turn import Goal, Turn

#: Seconds, or units of work, for the first look at a neighbor; each further look at one is twice as long.
GLANCE = 0.05
#: So many neighbors are looked at before one of those looked at is searched further.
FRESH = 4
#: Neighbors that differ in two choices, for each choice.
PAIRS = 4
#: A neighbor searched twice as long as another is taken to be this part longer than it is.
IMPATIENCE = 0.002

#: Behind the method of a layout found so.
EXCHANGED = ", an option exchanged"
BEGUN_ANEW = ", from the best layout's order"

Copies = tuple[tuple[int, int], ...]
"""Parts with their copies, in the order in which they lie along the strip."""


def order_of(core: Core, layout: Layout) -> Copies:
    """The parts of a layout from the squared end on; those with rows of their own come first."""
    members = [list(kind.members) for kind in core.kinds]
    spots = sorted(layout, key=lambda spot: (spot.y, spot.x))
    lone = (member for kind in core.lone for member in kind.members)
    return (*lone, *(members[spot.kind].pop(0) for spot in spots))


def parts_of(core: Core) -> frozenset[int]:
    """The parts of the original problem that a core holds."""
    return frozenset(part for kind in (*core.kinds, *core.lone) for part, _ in kind.members)


def exchanged(order: Copies, gone: Collection[int], new: Copies, area: Callable[[int], int]) -> Copies:
    """The order with ``new`` in the places of the parts of ``gone``, the largest in that of the largest.

    What is left of ``new`` comes behind the first place that was free, or at the end.
    """
    free = sorted(
        (at for at, (part, _) in enumerate(order) if part in gone), key=lambda at: -area(order[at][0])
    )
    coming = sorted(new, key=lambda copy: -area(copy[0]))
    places = dict(zip(free, coming, strict=False))
    rest, first = coming[len(free) :], min(free, default=None)
    made = list[tuple[int, int]]()
    for at, copy in enumerate(order):
        if copy[0] not in gone:
            made.append(copy)
        elif at in places:
            made.append(places[at])
        if at == first:
            made += rest
    return tuple(made) if first is not None else (*made, *rest)


class _Judged:
    """Takes the layouts of one selection on their way to the race."""

    def __init__(self, race: Race, how: str) -> None:
        self._race, self._how = race, how
        self.budget, self.seed = race.budget, race.seed
        self.length: int | None = None

    def pulse(self) -> None:
        """Let the observer breathe."""
        self._race.pulse()

    def post(self, core: Core, layout: Layout, method: str) -> None:
        """Hand a layout on from another thread; whoever searches offers its last one here as well."""
        self._race.post(core, layout, f"{method}{self._how}")

    def offer(self, core: Core, layout: Layout | None, method: str) -> bool:
        """Hand a layout on; True if it is the shortest of this selection."""
        if layout is None:
            return False
        length = core.ticks(core.length_of(layout))
        if self.length is not None and length >= self.length:
            return False
        self.length = length
        self._race.offer(core, layout, f"{method}{self._how}")
        return True


@dataclass(slots=True)
class _Neighbor:
    """A selection with its searches of orders, as far as they have come, and how long the next look is."""

    selection: Selection
    searches: tuple[tuple[Core, OrderSearch], ...]
    look: _Judged
    slice: float = GLANCE


@dataclass(slots=True)
class _Anew:
    """The best layout of the race with its order, the searches of it, and how often they began."""

    best: tuple[Core, Layout]
    order: Copies
    searches: tuple[tuple[Core, OrderSearch], ...]
    look: _Judged
    times: int = 0


class Exchange:
    """A walk from the best layout to better ones with other options.

    Parameters
    ----------
    menu
        The choices.
    race
        Has a layout already, and gets every shorter one.
    least
        A bound on the length of a selection: those that may be shortest are looked at first.
    """

    def __init__(self, menu: Menu, race: Race, least: Callable[[Selection], int]) -> None:
        self._menu, self._race, self._least = menu, race, least
        self._rng = random.Random(race.seed)
        self._known: dict[object, _Neighbor] = {}
        self._stands: tuple[Core, Layout] | None = None
        self._coming: Iterator[Selection] = iter(())
        self._anew: _Anew | None = None

    def run(self, stop: Callable[[], bool]) -> bool:
        """Walk until ``stop()``; False when there is nothing to look at any more."""
        while not stop():
            fresh = [self._look_at_next(stop) for _ in range(FRESH)]
            if not self._search_on(stop) and not any(fresh):
                return False
        return True

    def anew(self, stop: Callable[[], bool]) -> bool:
        """Search the order of the best layout from its beginning, again and again, each time by other luck.

        Until ``stop()``; False where no order of it can be searched.
        """
        if self._race.best is None:
            return False
        while not stop():
            if self._anew is None or self._anew.best is not self._race.best:
                self._anew = self._begun_anew(self._race.best)
            if not self._anew.searches:
                return False
            self._anew.times += 1
            for core, search in self._anew.searches:
                search.begin_with_order(_kinds(core, self._anew.order), self._anew.times)
                goal = Goal(core, self._race.target_in(core))
                search.run(Turn(self._anew.look, goal, _all, until=partial(_either, search, stop)))
        return True

    def look_at(self, selection: Selection) -> None:
        """A first look at a selection that somebody else proposes."""
        sign = self._menu.signature(selection)
        if self._race.best is not None and sign not in self._known:
            self._known[sign] = self._neighbor(selection)
            self._search(self._known[sign])

    def best(self, count: int) -> list[Selection]:
        """The selections with the shortest layouts met."""
        met = [one for one in self._known.values() if one.look.length is not None]
        met.sort(key=lambda one: (one.look.length or 0, one.selection))
        return [one.selection for one in met[:count]]

    def _look_at_next(self, stop: Callable[[], bool]) -> bool:
        """A first look at the next neighbor of the best layout; False where all were looked at."""
        if self._race.best is None or stop():
            return False
        if self._race.best is not self._stands:
            self._stands = self._race.best
            self._coming = self._neighbors(self._menu.taken(self._parts_laid()))
        for selection in self._coming:
            if self._menu.signature(selection) not in self._known:
                self.look_at(selection)
                return True
        return False

    def _search_on(self, stop: Callable[[], bool]) -> bool:
        """The neighbor that is shortest for the time it had is searched twice as long; False without any."""
        met = [one for one in self._known.values() if one.look.length is not None and one.searches]
        if not met or stop():
            return False

        def rank(one: _Neighbor) -> tuple[float, Selection]:
            return (one.look.length or 0) * (1 + IMPATIENCE * one.slice / GLANCE), one.selection

        one = min(met, key=rank)
        one.slice *= 2
        self._search(one)
        return True

    def _search(self, neighbor: _Neighbor) -> None:
        for core, search in neighbor.searches:
            goal = Goal(core, self._race.target_in(core))
            search.run(Turn(neighbor.look, goal, neighbor.slice / len(neighbor.searches)))

    def _neighbor(self, selection: Selection) -> _Neighbor:
        """A selection whose orders begin with that of the best layout."""
        core, parts = self._menu.core(selection), self._menu.problem.parts
        assert self._race.best is not None
        before, after = self._parts_laid(), frozenset(self._menu.parts(selection))
        coming = sorted(after - before)
        new = tuple((part, copy) for part in coming for copy in range(1, parts[part].copies + 1))
        order = exchanged(order_of(*self._race.best), before - after, new, self._area)
        searches = []
        for case in () if core is None else branches_of(core):
            for closed in closed_arrows(case):
                search = OrderSearch(closed, self._race.seed)
                if search.worthwhile:
                    search.begin_with_order(_kinds(closed, order))
                    searches.append((closed, search))
        return _Neighbor(selection, tuple(searches), _Judged(self._race, EXCHANGED))

    def _begun_anew(self, best: tuple[Core, Layout]) -> _Anew:
        """The order of a layout; searches of its case go on with the luck they have."""
        before = self._anew
        if before is not None and before.best[0] is best[0]:
            searches = before.searches
        else:
            made = [(core, OrderSearch(core, self._race.seed)) for core in closed_arrows(best[0])]
            searches = tuple((core, search) for core, search in made if search.worthwhile)
        return _Anew(best, order_of(*best), searches, _Judged(self._race, BEGUN_ANEW))

    def _area(self, part: int) -> int:
        return self._menu.problem.parts[part].width * self._menu.problem.parts[part].length

    def _parts_laid(self) -> frozenset[int]:
        """The parts of the best layout."""
        assert self._race.best is not None
        return parts_of(self._race.best[0])

    def _neighbors(self, selection: Selection) -> Iterator[Selection]:
        """Selections that differ in one choice, by their bounds, then in two, in random order."""
        offers = self._menu.offers
        one = [
            (*selection[:at], other, *selection[at + 1 :])
            for at in range(len(offers))
            for other in range(len(offers[at]))
            if other != selection[at]
        ]
        self._rng.shuffle(one)
        yield from sorted(one, key=self._least)
        for _ in range(PAIRS * len(offers)):
            two = list(selection)
            for at in self._rng.sample(range(len(offers)), min(len(offers), 2)):
                two[at] = self._rng.randrange(len(offers[at]))
            yield tuple(two)


def _all(left: float) -> float:
    """Of the time that is left."""
    return left


def _either(search: OrderSearch, stop: Callable[[], bool]) -> bool:
    """The order given was searched, or there is no more time."""
    return search.through or stop()


def _kinds(core: Core, order: Sequence[tuple[int, int]]) -> tuple[int, ...]:
    """The order told by the kinds of a core; lone rows are not in it."""
    kind_of = {member: number for number, kind in enumerate(core.kinds) for member in kind.members}
    return tuple(kind_of[copy] for copy in order if copy in kind_of)
