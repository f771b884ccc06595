"""How what the plain selection leaves is dealt out to the ways of searching on: to each by what it brings.

In each round every way has a turn, of its share of a slice that doubles from round to round. A way that found
something shorter, or proved more, has another turn at once and its full due from then on; one that brought
nothing has half its due, a tenth at least. It is the rule by which the searches of one case are dealt
their time (`nesting.packing.pace.Credits`), so a plan in which nothing better is met by other options goes
on with the selection it has.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from nesting.packing import packer
from nesting.packing.branch import Branch
from nesting.packing.pace import Credits
from nesting.packing.parallel.companion import Companion
from nesting.packing.race import Race


@dataclass(frozen=True, slots=True)
class Pursuit:
    """One way of searching on.

    Attributes
    ----------
    name
        Tells it from the others.
    work
        Has a turn of so many seconds, or units of work; False: there was nothing to do.
    share
        Of the slice of a round.
    """

    name: str
    work: Callable[[float], bool]
    share: float = 1.0


class Allotment:
    """Turns for each of some ways, until the budget of a race is spent.

    Parameters
    ----------
    race
        Its length and bound tell what a turn has brought.
    ways
        In the order of their turns.
    """

    def __init__(self, race: Race, ways: Iterable[Pursuit]) -> None:
        self._race, self._ways = race, tuple(ways)
        self._slice = race.params.choices_round * race.budget.left
        self._credits = Credits(race.params.least_credit)

    def run(self) -> None:
        """Rounds until the budget is spent, or nobody has anything to do."""
        while self._race.budget.left > 0 and self.round():
            pass

    def round(self) -> bool:
        """A turn for each way, more for one that brings something; False: none had anything to do."""
        worked = [self._turns(way) for way in self._ways]
        self._slice *= self._race.params.growth
        return any(worked)

    def _turns(self, way: Pursuit) -> bool:
        """Up to a few turns, while they bring something."""
        worked = gained = False
        for number in range(self._race.params.companion_turns):
            if self._race.budget.left <= 0 or (number and not gained):
                break
            before = self._stands
            worked = way.work(self._credits.share(way.name) * way.share * self._slice) or worked
            gained = self._stands != before
            if gained or number == 0:
                self._credits.tell(way.name, gained=gained)
        return worked

    @property
    def _stands(self) -> tuple[int | None, int]:
        return self._race.length, self._race.bound.length


def search_cases(
    race: Race, branches: Sequence[Branch], threads: int, companion: Companion | None, seconds: float
) -> bool:
    """A turn of the ordinary search of cases, from where it was left; False where nothing was left to do."""
    with race.budget.lent(seconds):
        packer.search(race, branches, threads, companion)
        return race.budget.left <= 0
