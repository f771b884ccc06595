"""The page at the table: a plan step by step, what went wrong, and the rest planned again."""

from __future__ import annotations

import asyncio
import pickle
from typing import Any, cast

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from nesting.errors import Fault, JobError, LengthError
from nesting.planning.at_table import CutSoFar, faults_of
from nesting.planning.miscut import miscut
from nesting.units import Unit, parse_length, round_nearest
from nesting.web.bench import FullError, Solve
from nesting.web.caps import MOST_FLAWS
from nesting.web.posted import entries_of, whole_number
from nesting.web.rendering import message, page
from nesting.web.table_found import Typed, standing_of, typed
from nesting.web.table_progress import AtTable
from nesting.web.works import FULL, bench_of, solve_of


def _gone() -> Response:
    text = (
        "This plan is not remembered any more. Plan the job again: where it comes out the same, this browser "
        "goes on at the step where you were."
    )
    return message("No longer here", text, 404)


async def show(request: Request) -> Response:
    """The step where the cutting stands, or the one that is asked for."""
    solve = solve_of(request)
    if solve is None or solve.kind == "compare":
        return _gone()
    table = solve.table
    if table is None or solve.view is None:
        return page("table_wait.html", 422 if solve.over else 200, solve=solve, title=solve.title)
    at = min(whole_number(request.query_params.get("at", ""), table.at), len(table.steps) - 1)
    return page("table.html", **_shown(solve, table, at))


def _shown(solve: Solve, table: AtTable, at: int) -> dict[str, Any]:
    step, done = table.steps[min(at, len(table.steps) - 1)], table.done
    frees = {one["frees"]: number for number, one in enumerate(table.steps) if one["frees"]}
    # Only of a plan of what is left there is news at the table.
    view = (solve.view or {}) if solve.kind == "recut" else {}
    return {
        "solve": solve,
        "title": solve.title,
        "told": table.told,
        "at": at,
        "step": step,
        "view": Markup(step["view"]),
        "count": len(table.steps),
        "done": done,
        "cuts": [{**cut, "at": frees.get(cut["name"])} for cut in table.told["cuts"]],
        "warnings": [one for one in view.get("to_decide", ()) if one["kind"] == "warning"],
        "news": view.get("notes", ()),
    }


async def move(request: Request) -> Response:
    """On, back, to a step, or the cuts that are made; a script is told those that all together have made."""
    solve = solve_of(request)
    if solve is None or solve.table is None:
        return _gone()
    try:
        entries = await entries_of(request)
    except JobError as error:
        return message("That did not work", str(error), 422)
    table, fields = solve.table, dict(entries)
    cut = [text for name, text in entries if name == "cut"]
    at, when = whole_number(fields.get("at", "")), whole_number(fields.get("when", ""))
    do = fields.get("do", "")
    if do == "ticked":
        knew = [text for name, text in entries if name == "knew"]
        table.take_in(at if "at" in fields else None, cut, knew, when)
        return JSONResponse({"cut": sorted(table.cut)})
    table.go(at)
    if do == "next":
        table.next()
    elif do == "back":
        table.go(at - 1)
    elif do == "again":
        table.go(0)
        table.cut.clear()
    elif do == "ticks":
        table.cut = set(cut) & set(table.names)
    return RedirectResponse(f"/solve/{solve.token}/table", 303)


async def steps(request: Request) -> Response:
    """All steps, for the script of the page."""
    solve = solve_of(request)
    if solve is None or solve.table is None:
        return JSONResponse({"steps": []}, 404)
    return JSONResponse({"steps": solve.table.steps})


async def wrong(request: Request) -> Response:
    """The form for what went wrong; posted, the rest is planned again, or it says what can be done."""
    solve = solve_of(request)
    if solve is None or solve.table is None:
        return _gone()
    table = solve.table
    if request.method != "POST":
        at = whole_number(request.query_params.get("at", ""), table.at)
        now = table.steps[min(at, len(table.steps) - 1)]
        fields = {"length": str(now["length"]), "piece": now["cut"]}
        return _form(solve, table, Typed(fields, frozenset(table.done), frozenset()))
    try:
        entries = await entries_of(request)
    except JobError as error:
        return message("That did not work", str(error), 422)
    said = typed(entries)
    if said["do"] == "measure":
        return await _measured(solve, table, said)
    return await _again(request, solve, table, said)


def _form(
    solve: Solve,
    table: AtTable,
    said: Typed,
    faults: tuple[str, ...] = (),
    help: tuple[str, ...] = (),
    status: int = 200,
) -> Response:
    return page(
        "table_wrong.html",
        status,
        solve=solve,
        title=solve.title,
        told=table.told,
        said=said,
        faults=faults,
        help=help,
        flaws=range(MOST_FLAWS),
        further=any(
            text and name.startswith("flaw-") and not name.startswith("flaw-0")
            for name, text in said.fields.items()
        ),
    )


async def _measured(solve: Solve, table: AtTable, said: Typed) -> Response:
    """What can be done with a piece that came out in another size."""
    unit, faults, sizes = cast(Unit, table.told["unit"]), list[str](), list[int]()
    for name, what in (("wide", "wide"), ("long", "long")):
        try:
            sizes.append(round_nearest(parse_length(said[name], unit)))
        except LengthError as error:
            faults.append(f"{what}: {error}")
    if faults:
        return _form(solve, table, said, tuple(faults), status=422)

    def asked() -> tuple[str, ...]:
        return miscut(pickle.loads(table.plan), said["piece"], sizes[0], sizes[1], said.cut or table.done)

    try:
        return _form(solve, table, said, help=await asyncio.to_thread(asked))
    except JobError as error:
        return _form(solve, table, said, _words(error), status=422)


async def _again(request: Request, solve: Solve, table: AtTable, said: Typed) -> Response:
    """The rest is planned again, in a solve of its own."""
    try:
        standing = standing_of(said, table.told)
        found = await asyncio.to_thread(_faults, table.plan, standing)
        if found:
            raise JobError(found)
    except JobError as error:
        return _form(solve, table, said, _words(error), status=422)
    order = dict(solve.order) | {
        "kind": "recut",
        "begun": pickle.dumps((pickle.loads(table.plan), standing)),
        "from": solve.token,
    }
    try:
        new = bench_of(request).add(order, solve.draft, solve.owner)
    except FullError:
        return _form(solve, table, said, (FULL,), status=503)
    table.cut, table.after = set(standing.cut), f"/solve/{new.token}/table"
    return RedirectResponse(table.after, 303)


def _faults(plan: bytes, standing: CutSoFar) -> tuple[Fault, ...]:
    return faults_of(pickle.loads(plan), standing)


def _words(error: JobError) -> tuple[str, ...]:
    return tuple(str(fault) for fault in error.faults)
