"""The yardstick itself: hand-worked cases, and a still plainer search that tries every place."""

from __future__ import annotations

import itertools
import random
from dataclasses import replace
from fractions import Fraction

import pytest
from brute_force import best_order_length, optimal_layout, optimal_length
from instances import guillotine_cutting, tiny_problem

from nesting.check import check_layout
from nesting.packing.problem import Flaw, Match, Part, Problem, Repeat, Strip
from nesting.packing.result import Placement
from tests.seeds import seeds


def full_widths(cut: int, repeat: int, kinds: dict[int, int], drop: Fraction = Fraction(0)) -> Problem:
    """Full widths of fabric 4 wide, repeat width 4; ``kinds``: how many start in which column."""
    return Problem(
        (Strip(4, repeat=Repeat(repeat, 4, drop)),),
        tuple(
            Part(f"column {column}", 4, cut, copies, match=Match("room", None, 4 * column, 0))
            for column, copies in kinds.items()
        ),
    )


HALF = Fraction(1, 2)
# Derived by trying every order; in half inches, so that 12 1/2 is whole.
CHECK_VALUES = [
    # 3 x 125 + 116
    pytest.param(full_widths(232, 50, {0: 4}), 982, id="cut 116, repeat 25, straight: 491"),
    # A A B B: 125 + 137 1/2 + 125 + 116; from A to B it is 112 1/2 and one repeat more
    pytest.param(full_widths(232, 50, {0: 2, 1: 2}, HALF), 1007, id="cut 116, half drop: 503.5"),
    # E34 (PRT; half-drop total derived): 3 x 96 + 87 and 3 x 90 + 87
    pytest.param(full_widths(174, 24, {0: 4}), 750, id="cut 87, repeat 12, straight: 375"),
    pytest.param(full_widths(174, 24, {0: 2, 1: 2}, HALF), 714, id="cut 87, half drop: 357"),
    # 3 x 112.5 + 108
    pytest.param(full_widths(216, 50, {0: 2, 1: 2}, HALF), 891, id="cut 108, half drop: 445.5"),
]


@pytest.mark.parametrize(("problem", "length"), CHECK_VALUES)
def test_check_values_of_the_trade_by_order_and_by_place(problem: Problem, length: int) -> None:
    assert best_order_length(problem) == length
    assert optimal_length(problem) == length


def test_two_levels_may_each_choose_their_height() -> None:
    # Two cuts of 5 at repeat 4: on one level the second waits for 8 (13 in all), on two it does not.
    parts = [Part(name, 4, 5, match=Match(name)) for name in ("room", "hall")]
    strip = Strip(4, repeat=Repeat(4))
    assert best_order_length(Problem((strip,), tuple(parts))) == 10
    assert optimal_length(Problem((strip,), tuple(parts))) == 10
    one_level = tuple(replace(part, match=Match("room")) for part in parts)
    assert optimal_length(Problem((strip,), one_level)) == 13


def test_a_seam_group_is_held_across() -> None:
    # Strip 4, repeat width 4, two parts 2 wide at p = 0 and 1. In one seam group their x differ by 1 or
    # 3: never side by side, so 3 + 3. Each with a phase of its own they lie at 0 and 2: 3.
    def at(seam: str | None) -> Problem:
        parts = tuple(Part(f"p {p}", 2, 3, match=Match("room", seam, p)) for p in (0, 1))
        return Problem((Strip(4, repeat=Repeat(1, 4)),), parts)

    assert optimal_length(at("panel")) == 6
    assert optimal_length(at(None)) == 3


@pytest.mark.parametrize(("drop", "expected"), [(Fraction(1, 3), 4), (Fraction(2, 3), 5)])
def test_a_third_drop_steps_up_to_the_right(drop: Fraction, expected: int) -> None:
    # Strip 4, repeat 3 x 2, start 0: the cut in column 0 begins at y = 0, the one in column 1 beside it
    # a third of 3 higher (1 + 3 = 4) or two thirds (2 + 3 = 5). A step down would give 5 and 4.
    cut = Part("cut", 2, 3, copies=2, match=Match("room", "panel"))
    problem = Problem((Strip(4, repeat=Repeat(3, 2, drop), start=0),), (cut,))
    assert optimal_length(problem) == expected


def test_turns_flaws_and_a_known_start() -> None:
    lying = Problem((Strip(6),), (Part("long", 2, 6, turnable=True),))
    assert optimal_length(lying) == 2
    grouped = replace(lying, parts=(replace(lying.parts[0], arrow="room"), Part("fixed", 2, 3, arrow="room")))
    assert optimal_length(grouped) == 6
    flawed = Problem((Strip(3, flaws=(Flaw(1, 1, 1, 1),)),), (Part("wide", 3, 2),))
    assert optimal_length(flawed) == 4
    # Start 1 of repeat 4: level line at -1, 3, 7: a cut of height line 0 begins at 3.
    known = Problem((Strip(3, repeat=Repeat(4), start=1),), (Part("cut", 3, 2, match=Match("room")),))
    assert optimal_length(known) == 5


def test_no_layout_exists() -> None:
    assert optimal_length(Problem((Strip(3),), (Part("too wide", 4, 1),))) is None
    assert optimal_length(Problem((Strip(3, 3),), (Part("too much", 2, 2, 2),))) is None


@pytest.mark.parametrize("seed", seeds(4, 8))
def test_a_rectangle_cut_up_is_put_together_again(seed: int) -> None:
    problem = guillotine_cutting(random.Random(seed), 6, 5, 5)
    assert problem.copies == 5
    assert optimal_length(problem) == 5


SETTINGS = [
    {},
    {"turns": True},
    {"turns": True, "arrows": True},
    {"flaws": 2},
    {"repeat": True},
    {"repeat": True, "flaws": 1, "start": True},
    {"repeat": True, "turns": True, "arrows": True},
]


@pytest.mark.parametrize("setting", SETTINGS, ids=str)
@pytest.mark.parametrize("seed", seeds(2, 6))
def test_it_agrees_with_trying_every_place(seed: int, setting: dict[str, object]) -> None:
    problem = tiny_problem(random.Random(seed), parts=2 + seed % 2, width=4, **setting)
    best = optimal_layout(problem)
    assert best is not None
    assert check_layout(problem, best[1], best[0]) == ()
    assert not any_layout_within(problem, best[0] - 1)
    assert any_layout_within(problem, best[0])


def any_layout_within(problem: Problem, length: int) -> bool:
    """Whether any placing of all copies at whole places ends within ``length``, judged by the checker."""
    every = [(at, copy) for at, part in enumerate(problem.parts) for copy in range(1, part.copies + 1)]
    (strip,) = problem.strips
    choices = []
    for at, copy in every:
        part = problem.parts[at]
        choices.append([
            Placement(at, copy, x, y, turned)
            for turned in ((False, True) if part.turnable else (False,))
            for y in range(length - part.size(turned)[1] + 1)
            for x in range(strip.width - part.size(turned)[0] + 1)
        ])  # fmt: skip
    return any(_clear(problem, layout) for layout in itertools.product(*choices))


def _clear(problem: Problem, layout: tuple[Placement, ...]) -> bool:
    for one, two in itertools.combinations(layout, 2):
        (w1, h1), (w2, h2) = (problem.parts[p.part].size(p.turned) for p in (one, two))
        if one.x < two.x + w2 and two.x < one.x + w1 and one.y < two.y + h2 and two.y < one.y + h1:
            return False
    return check_layout(problem, layout) == ()
