"""What follows the typing of a job: sums beside the fields, a first layout, other ways to make it."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any, cast

from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from nesting.errors import JobError
from nesting.units import Unit
from nesting.web.clerk import BusyError, Clerk
from nesting.web.draft import leaves, look_up, name_of, shown
from nesting.web.form_faults import awaited, told_faults
from nesting.web.job_page import asked_of, passing, status_line, wrong_of
from nesting.web.measure_fields import understood
from nesting.web.posted import entries_of
from nesting.web.remembered import remembered
from nesting.web.rendering import text_of
from nesting.web.strip import next_weighed
from nesting.web.told_job import BUSY, draft_of, search_of, sums_of


@remembered
async def live(request: Request) -> Response:
    """What changes beside the fields and in the sums, while somebody types."""
    try:
        entries = await entries_of(request)
        draft, _ = draft_of(entries)
    except JobError as error:
        return JSONResponse({"status": str(error)}, 422)
    sums = await sums_of(request, draft, search_of(entries).kept)
    beside, summary = told_faults(sums["faults"])
    wrong = wrong_of(sums, summary)
    asked, pending = asked_of(request, draft, sums)
    told: dict[str, dict[str, Any]] = {
        name: {"read": "", "faults": faults} for name, faults in beside.items()
    }
    unit = cast(Unit, draft.unit)
    for loc, key in leaves(draft.table):
        read = understood(shown(look_up(draft.table, loc)), unit) if key.kind == "length" else ""
        if read and (name := name_of(loc)) not in beside:
            told[name] = {"read": f"read as {read}", "faults": ()}
    for name, lines in asked.items():
        told.setdefault(name, {"read": "", "faults": ()})["asked"] = lines
    answer = {
        "status": status_line(sums),
        "busy": sums is BUSY or pending,
        "told": told,
        "regions": {
            "sums": text_of("sums.html", sums=sums),
            "summary": text_of("summary.html", summary=summary, wrong=wrong),
            "rule": text_of("rule.html", sums=sums, waits=awaited(sums["faults"])),
        },
        "ready": not (sums["faults"] or sums["stuck"] or sums is BUSY) and bool(sums["count"]),
    }
    made = Response(json.dumps(answer, ensure_ascii=False), media_type="application/json")
    return passing(made, sums is BUSY or pending)


async def first(request: Request) -> Response:
    """What is to be bought by a first layout, and its marker, while somebody types."""
    try:
        entries = await entries_of(request)
        draft, _ = draft_of(entries)
    except JobError as error:
        return JSONResponse({"status": str(error)}, 422)
    sums = await sums_of(request, draft)
    if sums["faults"] or sums["stuck"] or sums is BUSY:
        return JSONResponse({"regions": {"answer": "", "buy": ""}, "proven": True})
    turn = {"1": 1, "2": 2}.get(dict(entries).get("turn", ""), 0)
    try:
        found = await cast(Clerk, request.app.state.planner).first(draft.table, turn)
    except BusyError:
        found = {"ended": True}
    if "ended" in found:
        return JSONResponse({"regions": {}, "proven": False})
    return JSONResponse({
        "regions": {"answer": text_of("answer.html", found=_drawn(found)), "buy": _in_short(found)},
        "proven": found["proven"],
    })  # fmt: skip


def _in_short(found: Mapping[str, Any]) -> str:
    """What is to be bought in a few words, and how good that is, as markup: nothing in it was typed."""
    bought = " and ".join(one["buy"].partition(" (")[0] for one in found["lines"])
    if not bought:
        return ""
    much = f"{bought}, {found['cost']}" if found["cost"] else bought
    gap = Markup('<span class="gap">{}</span>').format(found["gap"]) if found["gap"] else ""
    return f"{escape(much)} {gap}"


def _drawn(found: Mapping[str, Any]) -> Mapping[str, Any]:
    """The markers as what they are: drawings of our own, in which all that was typed is escaped."""
    return {**found, "markers": [{**one, "svg": Markup(one["svg"])} for one in found["markers"]]}


async def weigh(request: Request) -> Response:
    """One more alternative of the job beside those that were planned before, while somebody reads."""
    try:
        draft, _ = draft_of(await entries_of(request))
    except JobError as error:
        return JSONResponse({"status": str(error)}, 422)
    strip = await next_weighed(request, draft, await sums_of(request, draft))
    regions = {"strip": text_of("strip.html", strip=strip)}
    return JSONResponse({"regions": regions, "more": strip.more, "said": strip.said})
