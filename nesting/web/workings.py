"""The sums of a job: every piece with its arithmetic, what is amiss, notes on the plan.

Runs in a process of its own (``python -m nesting.web.workings``): no job, however odd, holds up the page.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final

from nesting.cutting.cut import Cutting, cut, open_turns
from nesting.cutting.offers import Offer, fullness_offers
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.errors import Fault, JobError, NestingError
from nesting.files import read_job_table
from nesting.order.defaults import defaults_for
from nesting.order.job import Job
from nesting.pieces.piece import Piece
from nesting.planning.doubts import asked_of, open_questions
from nesting.units import Unit, format_length, format_quantity, format_run, selling_unit, unit_ticks
from nesting.web.alternatives import alternatives_of, taken
from nesting.web.asking import by_field
from nesting.web.caps import MOST_FAULTS, MOST_SUMS, MOST_WEIGHED, NICE_SUMS, SUMS_MEMORY, WARM, over_limits
from nesting.web.form_faults import without_syntax
from nesting.web.opening import amended, opened
from nesting.web.wire import Message, Outlet, keep_low


def sums_of(table: Mapping[str, Any]) -> Message:
    """What can be told of a job without laying it.

    Returns
    -------
    dict
        ``faults`` (the first of them, where it is no job) and how many are ``wrong``, ``stuck`` (why it
        cannot be cut), ``groups`` (pieces by window with the rules of their ``counts``), ``rules`` (of
        thumb), ``advice``, ``sundries``, ``count`` of pieces, how much is ``asked``, ``open`` questions by
        field, and ``ways`` (key and title of what else can be made of it); lengths as text.
    """
    faults = over_limits(table)
    if faults:
        return _answer(faults=faults)
    job: Job | None = None
    try:
        job = read_job_table(table)
        bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
        cutting = cut(job, bolts)
        offers = tuple(fullness_offers(job, bolts))
        told = (*(offer.advice for offer in offers), *open_turns(job, bolts, cutting))
        cutting = replace(cutting, advice=(*cutting.advice, *told))
    except JobError as error:
        return _answer(faults=error.faults, **_asked_of(error.asked if job is None else asked_of(job)))
    except NestingError as error:
        return _answer(
            stuck=without_syntax(str(error)), **_asked_of(error.asked if job is None else asked_of(job))
        )
    except (ArithmeticError, MemoryError, RecursionError, ValueError) as error:
        return _answer(
            stuck=f"These sizes cannot be worked out ({type(error).__name__}): look for one that is off."
        )
    return {**_told(job, cutting), "ways": _ways(table, job, offers, cutting)}


def _ways(table: Mapping[str, Any], job: Job, offers: Iterable[Offer], cutting: Cutting) -> list[Message]:
    """What else can be made of a job that is small enough for it to be planned while it is typed."""
    if sum(piece.copies for piece in cutting.pieces) > MOST_WEIGHED:
        return []
    return [{"key": each.key, "title": each.title} for each in alternatives_of(table, job, offers)]


def taken_of(asked: Message) -> Message:
    """The table of a job as an alternative makes it, and its title; no table where there is none such."""
    found = None if over_limits(asked["table"]) else taken(asked["table"], asked["key"])
    return {"table": None, "title": ""} if found is None else {"table": found.table, "title": found.title}


def _asked_of(asked: Iterable[str]) -> Message:
    """What is asked of a job that is refused, as the page tells it."""
    told = [{"kind": "question", "text": text, "window": ""} for text in asked]
    return {"advice": told, "asked": len(told)}


def _answer(faults: Iterable[Fault] = (), stuck: str = "", **more: Any) -> Message:
    found = list(faults)
    told = [
        {"place": f.place, "value": f.value, "expected": f.expected, "at": f.at} for f in found[:MOST_FAULTS]
    ]
    return {
        "faults": told,
        "wrong": len(found),
        "stuck": stuck,
        "groups": [],
        "rules": [],
        "advice": [],
        "sundries": [],
        "count": 0,
        "asked": 0,
        "open": {},
        "ways": [],
        **more,
    }


def _told(job: Job, cutting: Cutting) -> Message:
    groups: dict[str, list[Message]] = {}
    for piece in cutting.pieces[:MOST_SUMS]:
        groups.setdefault(piece.window or "", []).append(_piece(piece, job))
    return _answer(
        groups=[
            {"window": window, "pieces": pieces, "counts": tuple(_counts(window, job, cutting))}
            for window, pieces in groups.items()
        ],
        advice=[
            {"kind": "question" if remark.asks else "warning", "text": str(remark), "window": ""}
            for remark in job.remarks
        ] + [{"kind": one.kind, "text": one.plain, "window": one.window or ""} for one in cutting.advice],
        rules=[
            {"fabric": job.fabric(key).title, **_rule(job, cutting, key)}
            for key in dict.fromkeys(piece.fabric for piece in cutting.pieces)
        ],
        sundries=[
            {
                "name": sundry.name,
                "window": sundry.window or "",
                "note": sundry.note,
                "much": _much(sundry.count, sundry.length, job.units),
            }
            for sundry in cutting.sundries
        ],
        count=sum(piece.copies for piece in cutting.pieces),
        asked=sum(remark.asks for remark in job.remarks),
        open=by_field(
            (one.question for one in open_questions(job, {each.key: each.bolts[0] for each in job.fabrics})),
            job.currency,
        ),
    )  # fmt: skip


def _rule(job: Job, cutting: Cutting, key: str) -> Message:
    """What the rule of thumb asks for of a fabric, and what that costs."""
    bolt = job.fabric(key).bolts[0]
    rule = rule_of_thumb_for(job, cutting.pieces, key, bolt)
    sold = selling_unit(job.units)
    squaring = defaults_for(job.units).squaring if job.squaring is None else job.squaring
    steps = -(-(rule.length + squaring) // bolt.sold_by) * bolt.sold_by
    cost = None if bolt.price is None else bolt.price * steps / unit_ticks(sold)
    return {
        "buy": format_quantity(steps, sold),
        "cost": "" if cost is None else f"{job.currency}{cost:.2f}",
    }


def _counts(window: str, job: Job, cutting: Cutting) -> Iterator[str]:
    """By which rule the widths of a window's panels, and its tabs, rings or pleats, are so many."""
    widths = (
        steps.line(job.units)
        for panel in cutting.panels
        for steps in panel.steps
        if panel.window == window and steps.counted
    )
    marks = (remark for head in cutting.headings if head.window == window for remark in head.remarks)
    yield from dict.fromkeys((*widths, *marks))


def _piece(piece: Piece, job: Job) -> Message:
    unit = job.units
    return {
        "id": piece.id,
        "name": piece.name,
        "role": piece.role,
        "fabric": job.fabric(piece.fabric).title,
        "copies": piece.copies,
        "width": format_length(piece.width, unit),
        "length": format_length(piece.length, unit),
        "arithmetic": piece.arithmetic(unit),
        "optional": piece.optional,
        "notes": piece.notes,
    }


def _much(count: int | None, length: int | None, unit: Unit) -> str:
    parts = [str(count)] if count is not None else []
    return " ".join(parts + ([format_run(length, unit)] if length is not None else []))


def main() -> None:
    """Answer one question after the other until the page is gone."""
    keep_low(NICE_SUMS, SUMS_MEMORY, None)
    wire = Outlet()
    while (asked := wire.receive()) is not None:
        wire.answered(asked, _ANSWERS[asked["kind"]])


_ANSWERS: Final[Mapping[str, Callable[[Message], Message]]] = {
    "sums": lambda asked: sums_of(asked["table"]),
    "warm": lambda _: sums_of(WARM),
    "open": opened,
    "amend": amended,
    "take": taken_of,
}


if __name__ == "__main__":
    main()
