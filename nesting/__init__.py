"""Cutting plans for drapes: what to cut, how to lay it on the bolt, how little to buy, and proof.

    >>> from pathlib import Path
    >>> import nesting
    >>> job = nesting.read_job(Path("samples/reading-nook.toml"))
    >>> plan = nesting.plan_job(job)
    >>> [str(layout.status) for layout in plan.layouts]
    ['optimal', 'optimal']

Lengths are whole ticks of 1/80 mm; see `nesting.units`. Everything is loaded when first used, so
``import nesting`` alone costs next to nothing.
"""

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from nesting.changes import what_if
    from nesting.check import check_layout, check_plan_document
    from nesting.cutting import Cutting, cut
    from nesting.errors import DoesNotFitError, JobError, NestingError, NothingFoundError
    from nesting.files import job_schema, plan_document, read_job, read_job_text, read_plan
    from nesting.job import Job
    from nesting.piece import Piece
    from nesting.plan import Comparison, Plan
    from nesting.planner import Effort
    from nesting.planner import compare as compare_bolts
    from nesting.planner import plan as plan_job
    from nesting.units import format_length, parse_length

__all__ = [
    "Comparison",
    "Cutting",
    "DoesNotFitError",
    "Effort",
    "Job",
    "JobError",
    "NestingError",
    "NothingFoundError",
    "Piece",
    "Plan",
    "check_layout",
    "check_plan_document",
    "compare_bolts",
    "cut",
    "format_length",
    "job_schema",
    "parse_length",
    "plan_document",
    "plan_job",
    "read_job",
    "read_job_text",
    "read_plan",
    "what_if",
]

_HOMES = {
    "nesting.changes": ("what_if",),
    "nesting.check": ("check_layout", "check_plan_document"),
    "nesting.cutting": ("Cutting", "cut"),
    "nesting.errors": ("DoesNotFitError", "JobError", "NestingError", "NothingFoundError"),
    "nesting.files": ("job_schema", "plan_document", "read_job", "read_job_text", "read_plan"),
    "nesting.job": ("Job",),
    "nesting.piece": ("Piece",),
    "nesting.plan": ("Comparison", "Plan"),
    "nesting.planner": ("Effort", "compare_bolts", "plan_job"),
    "nesting.units": ("format_length", "parse_length"),
}
_HOME_OF = {name: home for home, names in _HOMES.items() for name in names}
_INNER = {"compare_bolts": "compare", "plan_job": "plan"}


def __getattr__(name: str) -> Any:
    if name not in _HOME_OF:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    value = getattr(import_module(_HOME_OF[name]), _INNER.get(name, name))
    globals()[name] = value
    return value
