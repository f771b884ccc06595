"""Dual feasible functions keep what they promise, and no pair of them refutes a length that has a layout."""

from __future__ import annotations

import random

import pytest

from nesting.check.proof import proven_length
from nesting.packing import Part, Problem, Strip, pack
from nesting.packing.bounds.bars import columns, rows
from nesting.packing.bounds.dual import ConservativeScale, PairBound, scales, strongest
from nesting.packing.bounds.simple import area, tallest
from nesting.packing.race import in_ticks
from nesting.packing.reduce import Core, reduce
from nesting.packing.result import Bound
from tests.brute_force import optimal_length
from tests.seeds import seeds, some


def never() -> bool:
    return False


def core_of(width: int, *parts: Part) -> Core:
    core = reduce(Problem((Strip(width),), parts), set_apart=False)
    assert core is not None
    return core


def pair_bound(core: Core) -> Bound:
    """As the engine asks for it: with the weights of the bars, from the tallest part on."""
    weights = rows(core, never)[1]
    pairs = PairBound(core, () if weights is None else (weights,))
    return pairs.raised(tallest(core).length, core.stacked, never)


def most_that_fits(scale: ConservativeScale, sizes: range, capacity: int) -> int:
    """The largest weight of sizes, each as often as it likes, that add up to the capacity at most."""
    best = [0] * (capacity + 1)
    for room in range(1, capacity + 1):
        best[room] = best[room - 1]
        for size, weight in zip(sizes, scale.weights, strict=True):
            if size <= room:
                best[room] = max(best[room], best[room - size] + weight)
    return best[capacity]


@pytest.mark.parametrize("capacity", some(range(1, 41), 10))
def test_every_function_is_dual_feasible(capacity: int) -> None:
    sizes = range(1, capacity + 1)
    found = scales(sizes, capacity)
    assert found[0] == ConservativeScale(tuple(sizes), capacity)
    for scale in found:
        assert all(type(weight) is int and weight >= 0 for weight in scale.weights)
        assert most_that_fits(scale, sizes, capacity) <= scale.capacity


def test_the_families_by_hand() -> None:
    found = scales((2, 3, 5, 7), 10)
    # Sizes below 3 count nothing, so 8 and more would count all; 2 x 5 may still share.
    assert ConservativeScale((0, 3, 5, 7), 10) in found
    # In steps of 3, twice: 10 holds 3, a 2 none, a 3 one, the half half, and 7 leaves one: 3 - 1 = 2.
    assert ConservativeScale((0, 2, 3, 4), 6) in found
    # In thirds (3 1/3), rounded down: 0, 0, 1 and 2, of 2 in all.
    assert ConservativeScale((0, 0, 10, 20), 20) in found


@pytest.mark.parametrize("seed", seeds(10, 40))
def test_the_strongest_are_row_weights(seed: int) -> None:
    rng = random.Random(seed)
    core = core_of(30, *(Part(str(i), rng.randint(1, 30), rng.randint(1, 9), 2) for i in range(5)))
    kinds = sorted(rng.sample(range(len(core.kinds)), min(3, len(core.kinds))))
    widths = [core.kinds[i].width for i in kinds]
    for weights, most in strongest(core, 4, kinds):
        best = [0] * (core.width + 1)
        for room in range(1, core.width + 1):
            took = [best[room - w] + u for w, u in zip(widths, weights, strict=True) if w <= room]
            best[room] = max([best[room - 1], *took])
        assert best[core.width] <= most


@pytest.mark.parametrize("seed", seeds(20, 150))
def test_no_pair_refutes_a_length_with_a_layout(seed: int) -> None:
    """Four copies or so, so that widths and lengths both bind, some of them turnable."""
    rng = random.Random(seed)
    width = rng.randint(4, 11)
    parts, left = list[Part](), 4 + seed % 2
    while left:
        copies = min(left, rng.randint(1, 3))
        turns = rng.random() < 0.3
        parts.append(Part(str(left), rng.randint(1, width), rng.randint(1, 9), copies, turnable=turns))
        left -= copies
    problem = Problem((Strip(width),), tuple(parts))
    core, shortest = core_of(width, *parts), optimal_length(problem)
    assert shortest is not None
    bound = in_ticks(core, pair_bound(core))
    assert bound.length <= shortest
    if bound.certificate is None:
        assert bound.length == core.ticks(tallest(core).length), "nothing raised"
    else:
        # What it certifies is proved from the problem alone.
        assert proven_length(problem, bound.certificate) == bound.length


def test_a_pair_sees_what_neither_axis_sees() -> None:
    # Three of 1 x 9 and three of 2 x 5 on a strip of 6. Area: 27 + 30 = 57, so 10. At most four lie side by
    # side. In a length of 13 two of 5 lie one behind another, and none behind one of 9: with weights 1 and 2
    # a column holds 2. So 3 x 1 + 3 x 2 = 9, and there is room for 4 x 2 = 8: no layout is 13 long.
    parts = (Part("a", 1, 9, copies=3), Part("b", 2, 5, copies=3))
    core = core_of(6, *parts)
    assert area(core).length == 10
    assert rows(core, never)[0].length == 11
    assert columns(core, tallest(core).length, core.stacked, never).length == 10
    assert pair_bound(core).length == optimal_length(Problem((Strip(6),), parts)) == 14


def test_a_pair_is_sharpened(monkeypatch: pytest.MonkeyPatch) -> None:
    # Three of 7 x 2 and three of 3 x 9 on a strip of 8. In a row lies one of 7 alone or two of 3: weights 2
    # and 1, of 2. In a length of 23 no more than four lie one behind another (9 + 9 + 2 + 2 = 22; a third of
    # 2 ends at 24). So 3 x 2 + 3 x 1 = 9 with room for 2 x 4 = 8. Of 24 there is a layout: 9 + 9 + 3 x 2.
    parts = (Part("a", 7, 2, copies=3), Part("b", 3, 9, copies=3))
    core = core_of(8, *parts)
    # Bars: 3 x 2 rows and 27 / 2.
    assert rows(core, never)[0].length == 20
    assert pair_bound(core).length == optimal_length(Problem((Strip(8),), parts)) == 24
    monkeypatch.setattr("nesting.packing.bounds.dual.MOST_SHARPENED", 0)
    assert pair_bound(core).length == 20


def test_the_engine_hands_out_what_can_be_proved_again() -> None:
    problem = Problem((Strip(6),), (Part("a", 1, 9, copies=3), Part("b", 2, 5, copies=3)))
    result = pack(problem, workers=1, work_limit=2)
    assert result.length == result.bound.length == 14
    assert result.bound.certificate is not None
    assert result.bound.certificate["rule"] == "scale products"
    assert proven_length(problem, result.bound.certificate) == 14


def test_it_stops_when_told() -> None:
    core = core_of(5, Part("a", 3, 7), Part("b", 1, 9, copies=3))
    assert PairBound(core).raised(3, core.stacked, lambda: True).length == 3
    assert PairBound(core).raised(3, core.stacked, lambda: True).certificate is None


def test_a_part_that_fits_no_length_asked_for_is_left_to_other_bounds() -> None:
    core = core_of(5, Part("a", 3, 7), Part("b", 1, 9, copies=3))
    assert PairBound(core).raised(3, 8, never).length == 3


def test_nothing_to_lay_needs_nothing() -> None:
    core = reduce(Problem((Strip(5),), (Part("a", 4, 7),)))
    assert core is not None
    assert not core.kinds
    assert PairBound(core).raised(0, 0, never).length == 0
