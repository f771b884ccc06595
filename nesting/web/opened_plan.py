"""A plan that was sent here: its job as a form, and the plan itself once it is checked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path
from typing import Any, Final

from nesting.errors import JobError, NestingError
from nesting.files import in_words_of_now, job_text_of, read_plan
from nesting.files.plan_sending import holds_plan, plan_inside
from nesting.packing.result import TOLD
from nesting.plan.plan import Plan
from nesting.web.caps import (
    MOST_BROKEN,
    MOST_FAULTS,
    MOST_PLAN,
    MOST_PLANNED,
    MOST_TOLD_LETTERS,
    over_limits,
)
from nesting.web.draft import from_text
from nesting.web.wire import Message

#: What a plan without a name is called in what is told of it.
_NAME: Final = Path("plan.json")


def is_plan(text: str) -> bool:
    """Whether what was sent is a plan, or a page with a plan in it, and not a job file."""
    return text.lstrip("\ufeff \t\r\n").startswith("{") or holds_plan(text)


def opened_plan(text: str) -> Message:
    """The job of a plan as a draft, and the plan's own JSON in words of now; read in a process with limits.

    Returns
    -------
    dict
        ``draft`` (None where it cannot be read), ``notes``, and ``plan``.
    """
    try:
        if holds_plan(text):
            text = plan_inside(text, MOST_PLAN)
        text = in_words_of_now(text, _NAME.name)
        plan = read_plan(_NAME, text.encode())
        if sum(piece.copies for piece in plan.pieces) > MOST_PLANNED:
            raise NestingError(f"this plan has more than {MOST_PLANNED} pieces: open it on the command line")
        draft = from_text(job_text_of(plan.job))
        if faults := over_limits(draft.table):
            raise JobError(faults)
    except JobError as error:
        told = tuple(str(fault) for fault in error.faults[:MOST_FAULTS])
        return {"draft": None, "notes": told, "plan": None}
    except (NestingError, RecursionError, ValueError, ArithmeticError) as error:
        said = str(error).replace(f"{_NAME}: ", "", 1)[:MOST_TOLD_LETTERS]
        return {"draft": None, "notes": (f"This plan cannot be opened: {said}",), "plan": None}
    return {"draft": draft, "notes": (), "plan": text}


def as_told(plan: Plan, document: Mapping[str, Any]) -> Plan:
    """The plan of a document, with what was proved of its lengths only where that was replayed here.

    A file may say anything of a proof that it does not carry, or of aims for lengths on hand.
    """
    from nesting.check.verdict import Proof, verdicts

    proved = {verdict.place for verdict in verdicts(document) if verdict.proof is Proof.REPLAYED}
    layouts = (
        layout if f"layouts[{at}]" in proved else replace(layout, bound=replace(layout.bound, method=TOLD))
        for at, layout in enumerate(plan.layouts)
    )
    return replace(plan, layouts=tuple(layouts))


def broken_rules(document: object) -> str:
    """What a plan document breaks, in words; empty where it keeps every rule."""
    from nesting.check import check_plan_document

    broken = check_plan_document(document)  # type: ignore[arg-type]
    if not broken:
        return ""
    lines = [str(one) for one in broken[:MOST_BROKEN]]
    more = len(broken) - len(lines)
    return "\n".join((
        "This plan was opened from a file, and it does not keep every rule, so it is not shown. Its job can "
        "be planned again.",
        *lines,
        *([f"{more} more like these."] if more > 0 else []),
    ))  # fmt: skip
