"""What tests of the searches of rows share: turns without end, and cores with nothing set apart."""

from __future__ import annotations

from nesting.packing import Problem
from nesting.packing.bounds.contiguous import Contiguous
from nesting.packing.race import Race
from nesting.packing.reduce import Core, reduce
from nesting.packing.turn import Budget
from tests.turns import turn_of


def never() -> bool:
    return False


def race() -> Race:
    return Race(Budget(0, 30.0))


def core_of(problem: Problem) -> Core:
    core = reduce(problem, set_apart=False)
    assert core is not None
    return core


def raised(core: Core, least: int, limit: int) -> list[int]:
    """The bounds by rows and columns in one piece."""
    return [bound.length for bound in Contiguous(core, never).raised(least, limit, turn_of(core))]
