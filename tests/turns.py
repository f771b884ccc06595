"""Turns for bounds and searches that are tested by themselves."""

from __future__ import annotations

import math
from collections.abc import Callable

from nesting.packing.branch import Branch, CaseGoal
from nesting.packing.race import Race
from nesting.packing.reduce import Core
from nesting.packing.turn import Budget, Goal, Turn, Weights


def turn_of(
    core: Core,
    race: Race | None = None,
    least: int = 0,
    longest: int | None = None,
    *,
    weights: Weights | None = None,
    until: Callable[[], bool] | None = None,
    seconds: float = math.inf,
) -> Turn:
    """A turn for lengths that are settled; of a race with 30 units of work, if none is given."""
    goal = Goal(core, least, longest, None if weights is None else {"bars": weights})
    return Turn(race or Race(Budget(0, 30.0)), goal, seconds, until=until)


def racing(core: Core, race: Race, seconds: float = math.inf, seed: int = 0) -> Turn:
    """A turn for what is shorter than the race has, and may still exist."""
    return Turn(race, CaseGoal(race, Branch(core, 0, seed), alone=True), seconds)
