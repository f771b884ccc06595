"""A plan as the document that is given of it: one that keeps every rule, its drapes sewn by the check."""

from __future__ import annotations

from typing import Any

from nesting.check import check_plan_document
from nesting.errors import CheckError
from nesting.files.plan_writing import plan_document
from nesting.plan.plan import Plan

#: Broken rules that are told.
_MOST_TOLD = 20


def checked_document(plan: Plan) -> dict[str, Any]:
    """The plan as a document that keeps every rule.

    Raises
    ------
    CheckError
        It breaks one: a fault of this program.
    """
    document = plan_document(plan)
    broken = check_plan_document(document)
    if broken:
        told = "\n".join(f"  - {one}" for one in broken[:_MOST_TOLD])
        raise CheckError(f"the plan failed its check:\n{told}")
    return document
