"""Advice that can be taken: what it changes in a job, as it would be typed."""

from __future__ import annotations

import copy
from collections.abc import Iterable, Mapping
from decimal import Decimal
from typing import Any, Final

from nesting.cutting.cut import cut
from nesting.errors import NestingError
from nesting.files import read_job_table
from nesting.order.job import Job
from nesting.pieces.piece import Advice
from nesting.plan.plan import WhatIf
from nesting.units import format_length

Table = Mapping[str, Any]
#: The window or the fabric it is about, the key, and what is typed there.
Change = dict[str, str]
#: Keys whose values are numbers and no lengths.
_NUMBERS: Final = {"fullness": Decimal, "part_pieces": int}


def of_advice(table: Table, advice: Advice) -> Change | None:
    """What a remark changes; None where nothing can be typed for it."""
    if advice.change is None:
        return None
    key, text = advice.change
    about = {"window": advice.window} if advice.window else {"fabric": advice.fabric or ""}
    return _possible(table, {**about, "key": key, "text": text})


def of_what_if(table: Table, job: Job, found: WhatIf) -> Change | None:
    """What a small change types: a length, a fullness, or another bolt made the first."""
    if found.kind == "wider bolt":
        return _possible(table, _bolt(job, found))
    window = next((one for one in job.windows if one.name == found.window), None)
    if window is None:
        return None
    key = "finished_length" if found.kind == "shorter" else "fullness"
    if key == "finished_length" and window.finished_length is None:
        # Its length comes from a height that was measured: that stands.
        return None
    if key == "fullness" and window.flat_width is not None:
        key = "flat_width"
    return _possible(table, {"window": window.name, "key": key, "text": found.now})


def _bolt(job: Job, found: WhatIf) -> Change | None:
    """The bolt on offer that was meant, where its panels need no seams as they lie without being told to."""
    bolts = job.fabric(found.fabric).bolts
    for number, bolt in enumerate(bolts[1:], 1):
        if format_length(bolt.width, job.units) != found.now:
            continue
        chosen = {fabric.key: fabric.bolts[0] for fabric in job.fabrics} | {found.fabric: bolt}
        try:
            pieces = cut(job, chosen).pieces
        except NestingError:
            return None
        if any(one.joined_to for one in pieces if one.role == "panel" and one.fabric == found.fabric):
            return None
        return {"fabric": found.fabric, "key": "bolt", "text": str(number)}
    return None


def _possible(table: Table, change: Change | None) -> Change | None:
    """The change, where the job with it can be read."""
    made = None if change is None else changed(table, change)
    try:
        return None if made is None or read_job_table(made) is None else change
    except (NestingError, ArithmeticError, ValueError):
        return None


def changed(table: Table, change: Change) -> dict[str, Any] | None:
    """The table of a job with a change typed into it; None where it has no such place."""
    made = copy.deepcopy(dict(table))
    key, text = change["key"], change["text"]
    if "window" in change:
        rows: Iterable[Any] = made.get("window") or ()
        row = next((one for one in rows if one.get("name") == change["window"]), None)
        if row is None:
            return None
        row[key] = _NUMBERS.get(key, str)(text)
        return made
    fabric = (made.get("fabric") or {}).get(change["fabric"])
    if fabric is None:
        return None
    if key == "bolt":
        fabric["bolt"].insert(0, fabric["bolt"].pop(int(text)))
    else:
        fabric[key] = _NUMBERS.get(key, str)(text)
    return made
