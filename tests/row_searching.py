"""What tests of the searches of rows share: turns without end, and cores with nothing set apart."""

from __future__ import annotations

from collections.abc import Callable

from nesting.packing import Problem
from nesting.packing.bounds import Contiguous, Stood, Turn
from nesting.packing.race import Budget, Race
from nesting.packing.reduce import Core, reduce


def never() -> bool:
    return False


def always(share: float) -> Callable[[], bool]:
    """A trial without end."""
    return never


def no_layout(stood: Stood, length: int) -> None:
    """No layout is made of any rows."""


def race() -> Race:
    return Race(Budget(0, 30.0))


def core_of(problem: Problem) -> Core:
    core = reduce(problem, set_apart=False)
    assert core is not None
    return core


def raised(core: Core, least: int, limit: int) -> list[int]:
    """The bounds by rows and columns in one piece."""
    turn = Turn(race(), never, always, no_layout)
    return [bound.length for bound in Contiguous(core, never).raised(least, limit, turn)]
