"""Bounds over all selections of options against brute force on each selection by itself.

The problems are panels of a print: a width as wide as the strip, or nearly, with narrow ones in phase beside
it, so that places across bind; one or two choices between two or three such panels, whose seam groups may be
named alike.
"""

from __future__ import annotations

import random
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from nesting.packing import Choice, Match, Part, Problem, Repeat, Strip
from nesting.packing.choices.linear_bounds import Demand, LinearBound, bars_over_all, counting, demand_of
from nesting.packing.choices.menu import Menu, menu_of
from nesting.packing.choices.options_in_place import placed_bars_over_all
from tests.brute_force import optimal_length


def problem_of(seed: int) -> Problem:
    """Three to eight parts, of which a selection lays up to six."""
    rng, parts, choices = random.Random(seed), list[Part](), list[Choice]()
    width, length = rng.randint(3, 7), rng.choice((1, 2, 2, 3))
    columns = rng.choice((width, width, max(2, width - 1), max(2, width // 2)))
    drop = Fraction(1, 2) if length == 2 and rng.random() < 0.5 else Fraction(0)

    def panel(seam: str, level: str, long: int) -> tuple[int, ...]:
        first, narrow = len(parts), rng.choice((1, 1, 1, 2)) if len(parts) < 5 else 1
        wide = [rng.choice((width, width, width, width - 1))]
        for each in (*wide, *(rng.randint(1, width // 2) for _ in range(narrow))):
            match = Match(level, seam, rng.randint(0, columns - 1), rng.randint(0, length - 1))
            parts.append(Part(f"p{len(parts)}", each, long, match=match))
        return tuple(range(first, len(parts)))

    for window in range(rng.choice((1, 1, 2))):
        long, level = rng.randint(1, 2), rng.choice("ab")
        if window == 0 or rng.random() < 0.5:
            seams = [rng.choice((f"{window}", f"{window}/{at}")) for at in range(rng.choice((1, 2, 2, 3)))]
            choices.append(Choice(f"{window}", tuple(panel(seam, level, long) for seam in seams)))
        else:
            panel(rng.choice((f"{window}", "0")), level, long)
    if rng.random() < 0.3:
        parts.append(Part("small", rng.randint(1, width // 2), 1))
    return Problem((Strip(width, repeat=Repeat(length, columns, drop)),), tuple(parts), tuple(choices))


def bounds_of(menu: Menu, demand: Demand) -> Iterator[LinearBound]:
    """Every linear bound there is."""
    yield from counting(demand)
    for bound in (bars_over_all(demand, _never), placed_bars_over_all(menu, demand, _never)):
        if bound is not None:
            yield bound


def above(problem: Problem) -> list[str] | None:
    """Bounds above the least length of a selection; None where none can be laid."""
    menu = menu_of(problem)
    demand = None if menu is None else demand_of(menu)
    if menu is None or demand is None:
        return None
    bounds, step = list(bounds_of(menu, demand)), demand.core.step_y
    found = []
    for selection in menu.selections():
        parts = tuple(problem.parts[number] for number in menu.parts(selection))
        least = optimal_length(replace(problem, parts=parts, choices=()))
        for each in bounds if least is not None else ():
            if each.on(demand).over(selection) * step > least or each.bound(demand).length * step > least:
                found.append(f"{each.method} {selection}")
    return found


def _never() -> bool:
    return False


def run(cases: int, seed: int) -> tuple[int, list[str]]:
    """How many problems can be laid, and the bounds that are above a layout, with their seeds."""
    tried, wrong = 0, list[str]()
    for number in range(seed, seed + cases):
        found = above(problem_of(number))
        tried += found is not None
        wrong += [f"{number}: {each}" for each in found or ()]
    return tried, wrong
