"""What the plain selection leaves, dealt out to the ways of searching on."""

from __future__ import annotations

import itertools
import random
from collections.abc import Callable
from dataclasses import replace

import pytest

from nesting.packing import Choice, Match, Part, Problem, Repeat, Strip
from nesting.packing.choices.allotment import Allotment, Pursuit
from nesting.packing.choices.exchange import BEGUN_ANEW, EXCHANGED, Exchange, order_of
from nesting.packing.choices.menu import menu_of
from nesting.packing.race import Race
from nesting.packing.result import Bound
from nesting.packing.schedule import PARAMS
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.turn import Budget

#: A slice of 8 units, and turns that double from round to round.
ROUNDS = replace(PARAMS, choices_round=0.08, growth=2, least_credit=0.1, companion_turns=3)


def many_sizes(repeat: Repeat | None) -> Problem:
    """Parts of twenty sizes, of which shelves make a poor layout; under a repeat half are in phase."""
    dice = random.Random(5)
    match = None if repeat is None else Match("room")
    parts = tuple(
        Part(f"{at}", dice.randrange(10, 60), dice.randrange(10, 60), match=match if at % 2 else None)
        for at in range(20)
    )
    return Problem((Strip(100, repeat=repeat),), parts, (Choice("last", ((18,), (19,))),))


def race_of(work: float = 100.0) -> Race:
    return Race(Budget(0, work), params=ROUNDS)


def turns_of(race: Race, taken: list[float], bring: Callable[[int], bool] = lambda number: False) -> Pursuit:
    """A way that keeps what it was given, spends it, and raises the bound in its turns of some numbers."""

    def work(share: float) -> bool:
        taken.append(share)
        race.budget.charge(share)
        if bring(len(taken)):
            race.raise_bound(Bound(race.bound.length + 1, "told"))
        return True

    return Pursuit(f"way {id(taken)}", work)


def test_what_brings_nothing_has_half_of_its_due_and_a_tenth_at_least() -> None:
    race, taken = race_of(1e9), list[float]()
    allotment = Allotment(race, [turns_of(race, taken)])
    for _ in range(6):
        assert allotment.round()
    # The slice doubles, the part of it halves until it is a tenth.
    slices = [8e7 * 2**number for number in range(6)]
    due = [1, 1 / 2, 1 / 4, 1 / 8, 1 / 10, 1 / 10]
    assert taken == pytest.approx([slice_ * part for slice_, part in zip(slices, due, strict=True)])


def test_what_brings_something_goes_on_at_once_and_has_its_full_due() -> None:
    race, one, other = race_of(1e6), list[float](), list[float]()
    allotment = Allotment(
        race, [turns_of(race, one), turns_of(race, other, lambda number: number in (1, 3, 4))]
    )
    for _ in range(2):
        allotment.round()
    # The other brings something in its first turn, has one more at once, which brings nothing and is not
    # held against it; in the second round it has all of its due, and three turns, which are the most.
    assert one == pytest.approx([8e4, 8e4])
    assert other == pytest.approx([8e4, 8e4, 16e4, 16e4, 16e4])


def test_ways_have_turns_of_their_share_until_the_budget_is_spent() -> None:
    race, taken = race_of(), list[float]()
    way = turns_of(race, taken)
    allotment = Allotment(race, [replace(way, share=2), replace(way, share=11), replace(way, share=5)])
    assert allotment.round()
    # 8 times 2; then, by one name, half of 8 times 11 and a fourth of 8 times 5.
    assert taken == pytest.approx([16, 44, 10])
    while allotment.round():
        assert len(taken) < 20
    assert race.budget.left <= 0


def test_a_round_in_which_there_was_nothing_to_do_says_so() -> None:
    race = race_of()
    assert not Allotment(
        race, [Pursuit("idle", lambda share: False), Pursuit("idle too", lambda share: False)]
    ).round()


@pytest.mark.parametrize("repeat", [None, Repeat(25)], ids=["plain", "lines"])
def test_the_best_order_is_searched_anew_and_is_never_left_for_a_longer_one(repeat: Repeat | None) -> None:
    menu = menu_of(many_sizes(repeat))
    assert menu is not None
    race = Race(Budget(0, 9.0), seed=3)
    core = menu.core(menu.plain)
    assert core is not None
    race.offer(core, shelves(core, SeamRoom(core)), "shelves")
    assert race.length is not None
    lengths = [race.length]
    exchange = Exchange(menu, race, lambda selection: 0)
    for _ in range(3):
        assert exchange.anew(race.until(0.1))
        lengths.append(race.length)
    assert lengths == sorted(lengths, reverse=True)
    assert lengths[-1] < lengths[0]
    assert race.best is not None
    assert race.best[0].copies == core.copies
    assert any(BEGUN_ANEW in told.method for told in race.incumbents)
    assert not any(EXCHANGED in told.method for told in race.incumbents)


def test_each_time_the_order_begins_where_the_best_layout_stands_and_is_searched_longer(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    menu = menu_of(many_sizes(Repeat(25)))
    assert menu is not None
    core = menu.core(menu.plain)
    assert core is not None
    begun = list[tuple[tuple[int, ...], int]]()
    begin = OrderSearch.begin_with_order

    def told(self: OrderSearch, order: tuple[int, ...], times: int = 0) -> None:
        assert race.best is not None
        kind_of = {member: number for number, kind in enumerate(core.kinds) for member in kind.members}
        assert order == tuple(kind_of[copy] for copy in order_of(*race.best))
        begun.append((order, times))
        begin(self, order, times)

    monkeypatch.setattr(OrderSearch, "begin_with_order", told)
    race = Race(Budget(0, 9.0), seed=3)
    race.offer(core, shelves(core, SeamRoom(core)), "shelves")
    Exchange(menu, race, lambda selection: 0).anew(race.until(0.5))
    for (before, times), (after, next_times) in itertools.pairwise(begun):
        assert next_times == (times + 1 if before == after else 1)
    assert max(times for _, times in begun) > 2


def test_without_an_order_to_search_nothing_is_begun_anew() -> None:
    # One kind of parts has one order.
    menu = menu_of(Problem((Strip(10),), (Part("a", 5, 7, copies=4),)))
    assert menu is not None
    race = Race(Budget(0, 9.0))
    exchange = Exchange(menu, race, lambda selection: 0)
    assert not exchange.anew(race.until(0.1)), "there is no layout yet"
    core = menu.core(menu.plain)
    assert core is not None
    race.offer(core, shelves(core, SeamRoom(core)), "shelves")
    assert not exchange.anew(race.until(0.1))
