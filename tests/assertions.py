"""What every layout from anywhere must pass."""

from __future__ import annotations

from dataclasses import replace

from nesting.check import check_layout
from nesting.packing.problem import Problem
from nesting.packing.result import Result, Status
from nesting.plan.plan import FabricLayout


def assert_valid(problem: Problem, result: Result) -> None:
    """The layout keeps every rule, and status, length and bound tell one story."""
    if result.length is None:
        assert result.placements == (), "a layout without a length"
        assert result.status is (Status.INFEASIBLE if result.infeasible else Status.NO_LAYOUT)
        return
    assert not result.infeasible, f"a layout of {result.length} for a problem called infeasible"
    broken = check_layout(problem, result.placements, result.length, result.bound.length)
    assert broken == (), "\n".join(["the layout breaks:", *map(str, broken)])
    met = result.length == result.bound.length and all(s.value == s.bound for s in result.stages)
    expected = Status.OPTIMAL if met else Status.FEASIBLE
    assert result.status is expected


def timeless(layout: FabricLayout) -> FabricLayout:
    """A layout without what the clock decides."""
    steps = tuple(replace(step, seconds=0) for step in layout.incumbents)
    return replace(layout, seconds=0, incumbents=steps)
