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

from nesting.shown import HTML

if TYPE_CHECKING:
    from nesting.check import check_layout, check_plan_document
    from nesting.cutting.cut import Cutting, cut
    from nesting.errors import DoesNotFitError, JobError, NestingError, NothingFoundError
    from nesting.files import job_schema, plan_document, read_job, read_job_text, read_plan
    from nesting.order.job import Job
    from nesting.pieces.piece import Piece
    from nesting.plan.comparison import Comparison
    from nesting.plan.plan import Plan
    from nesting.planning.planner import Effort
    from nesting.planning.planner import compare as compare_bolts
    from nesting.planning.planner import plan as plan_job
    from nesting.planning.what_if import what_if
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
    "nesting.planning.what_if": ("what_if",),
    "nesting.check": ("check_layout", "check_plan_document"),
    "nesting.cutting.cut": ("Cutting", "cut"),
    "nesting.errors": ("DoesNotFitError", "JobError", "NestingError", "NothingFoundError"),
    "nesting.files": ("job_schema", "plan_document", "read_job", "read_job_text", "read_plan"),
    "nesting.order.job": ("Job",),
    "nesting.pieces.piece": ("Piece",),
    "nesting.plan.comparison": ("Comparison",),
    "nesting.plan.plan": ("Plan",),
    "nesting.planning.planner": ("Effort", "compare_bolts", "plan_job"),
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


def _plan_html(plan: Any) -> str:
    text: str = import_module("nesting.packet.notebook").plan_html(plan)
    return text


HTML["plan"] = _plan_html
