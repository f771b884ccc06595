"""Linear programs by GLOP, brought in when the first is set up."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from ortools.linear_solver import pywraplp


def linear_program() -> pywraplp.Solver:
    """An empty linear program, to be filled in and solved again and again."""
    from ortools.linear_solver import pywraplp

    return pywraplp.Solver.CreateSolver("GLOP")


def solved(program: pywraplp.Solver) -> bool:
    """Solve it, from where it stood; whether it could be, which it always should."""
    return bool(program.Solve() == program.OPTIMAL)
