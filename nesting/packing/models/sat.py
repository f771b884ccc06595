"""The solver's names, brought in when a model is first built.

Bringing them in takes longer than planning a small job, and what is proved by counting needs no model.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable

    from ortools.sat.python.cp_model import (
        FEASIBLE,
        INFEASIBLE,
        OPTIMAL,
        UNKNOWN,
        BoundedLinearExpression,
        CpModel,
        CpSolver,
        CpSolverSolutionCallback,
        CpSolverStatus,
        IntervalVar,
        IntVar,
        LinearExpr,
    )

    Expression = LinearExpr | int
    #: The value of a variable in a solution.
    Values = Callable[[IntVar | Expression], int]

__all__ = [
    "FEASIBLE",
    "INFEASIBLE",
    "OPTIMAL",
    "UNKNOWN",
    "BoundedLinearExpression",
    "CpModel",
    "CpSolver",
    "CpSolverSolutionCallback",
    "CpSolverStatus",
    "IntVar",
    "IntervalVar",
    "LinearExpr",
]


def __getattr__(name: str) -> Any:
    if name not in __all__:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    from ortools.sat.python import cp_model

    globals().update({each: getattr(cp_model, each) for each in __all__})
    return globals()[name]
