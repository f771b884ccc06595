"""The pages of a solve: the wait, the search, the plan with its marker, the comparison, the files."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Final, cast

from markupsafe import Markup
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from nesting.errors import Fault, JobError, LengthError
from nesting.names import slug
from nesting.outputs import of_page
from nesting.units import Unit, format_exact, parse_length, round_nearest
from nesting.web.bench import FullError, Solve, SolveQueue, order_of
from nesting.web.caps import MOST_WIDTHS
from nesting.web.chart import chart
from nesting.web.draft import Draft, from_text
from nesting.web.guard import PRINT_POLICY
from nesting.web.job_page import download, form_page, refused
from nesting.web.kept import kept_as_posted
from nesting.web.plans import named, remember, stands
from nesting.web.posted import Entries, entries_of, whole_number
from nesting.web.rendering import message, page, text_of
from nesting.web.taking import changed
from nesting.web.told_job import SearchSettings, draft_of, job_text_of, search_of, sums_of

#: What is said to one who is turned away.
FULL: Final = (
    "So many solves wait already that one more would take too long. Nothing is lost: try again in a while."
)
#: What is said of a file that is not there yet.
SOON: Final = "This takes a few seconds more. Go back and try again."
LATER: Final = (
    "Others wait for their first layout, and this is printed after them. Go back and try again later."
)
_SORTS: Final = ("order", "cost", "fabric")
#: What can be taken away of a plan, with its words: pages first, then lists.
FILES: Final[Mapping[str, str]] = {
    each.name: each.title for each in sorted(of_page(), key=lambda each: not each.pages)
}


def bench_of(request: Request) -> SolveQueue:
    """Where solves are worked on."""
    return cast(SolveQueue, request.app.state.bench)


async def plan_job(request: Request) -> Response:
    """Begin to plan a posted job."""
    return await _begin(request, "plan")


async def compare_job(request: Request) -> Response:
    """Begin to compare the bolts of a posted job."""
    return await _begin(request, "compare")


async def _begin(request: Request, kind: str) -> Response:
    try:
        entries = await entries_of(request)
        draft, notes = draft_of(entries)
        search, said = await kept_as_posted(request, entries, draft, search_of(entries))
    except JobError as error:
        return refused(error)
    sums = await sums_of(request, draft)
    if sums["faults"] or sums["stuck"] or not search.sound:
        return await form_page(request, draft, (*notes, *said), search, 422)
    return await _lined_up(request, draft, order_of(kind, draft.table, search), search)


async def open_plan(request: Request, draft: Draft, plan: str) -> Response:
    """Begin to check a plan that was sent here; its job is at hand whatever comes of it."""
    search = SearchSettings()
    return await _lined_up(request, draft, order_of("opened", draft.table, search) | {"plan": plan}, search)


async def _lined_up(
    request: Request, draft: Draft, order: dict[str, Any], search: SearchSettings
) -> Response:
    try:
        owner = named(request)
        solve = bench_of(request).add(order, await job_text_of(request, draft), owner)
    except JobError as error:
        return refused(error)
    except FullError:
        return await form_page(request, draft, (FULL,), search, 503)
    return _led_to(solve)


def _led_to(solve: Solve) -> Response:
    """To the page of a solve; the browser that asked for it will find it again."""
    answer = RedirectResponse(f"/solve/{solve.token}", 303)
    remember(answer, solve.owner)
    return answer


async def take(request: Request) -> Response:
    """The job once more with a piece of advice taken; the plan before stays, so that it can be taken back."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    try:
        place = dict(await entries_of(request)).get("take", "")
        draft, advice = from_text(solve.draft), _advice_at(solve, place)
        table = None if advice is None else changed(draft.table, advice["change"])
        if table is None:
            return message("Not on offer", "Go back to the plan and choose again.", 422)
        draft = replace(draft, table=table)
        order = dict(solve.order) | {"table": table, "kind": "plan"}
        again = bench_of(request).add(order, await job_text_of(request, draft), named(request))
    except JobError as error:
        return refused(error)
    except FullError:
        return message("Not now", FULL, 503)
    assert advice is not None
    again.before, again.taken = solve.token, advice["text"]
    return _led_to(again)


def _advice_at(solve: Solve, place: str) -> dict[str, Any] | None:
    """The advice of a place such as ``what:0`` that can be taken; None where there is none."""
    name, _, number = place.partition(":")
    view = solve.view or {}
    lists = {
        "what": solve.what_if, "decide": view.get("to_decide"), "offer": view.get("offers"),
        "note": view.get("notes"),
    }  # fmt: skip
    found = lists.get(name) or []
    at = whole_number(number, len(found))
    return found[at] if at < len(found) and found[at]["change"] else None


async def compare_more(request: Request) -> Response:
    """The same comparison with one width more, or a comparison of a plan's job."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    try:
        entries = await entries_of(request)
        widths = _widths(solve, entries)
    except JobError as error:
        if solve.view is None:
            return refused(error)
        return _result(request, solve, tuple(fault.expected for fault in error.faults), 422)
    order = dict(solve.order) | {"kind": "compare", "widths": widths}
    order.pop("plan", None)
    try:
        again = bench_of(request).add(order, solve.draft, named(request))
    except FullError:
        return message("Not now", FULL, 503)
    return _led_to(again)


def _widths(solve: Solve, entries: Entries) -> tuple[int, ...]:
    """The widths compared so far, and the one asked for.

    Raises
    ------
    JobError
        It is no width.
    """
    known = tuple(solve.order["widths"]) if solve.kind == "compare" else ()
    text = dict(entries).get("width", "").strip()
    if not text:
        return known
    unit = cast(Unit, from_text(solve.draft).unit)
    try:
        width = round_nearest(parse_length(text, unit))
    except LengthError as error:
        raise JobError([Fault("width", text, f"This is no width: {error}")]) from None
    if not 0 < width <= 100 * 12 * 2032:
        raise JobError([Fault("width", text, f'"{text}" is no width of fabric: a width above 0, such as 54')])
    if len(known) >= MOST_WIDTHS:
        raise JobError([Fault("width", text, f"At most {MOST_WIDTHS} further widths at a time")])
    return tuple(dict.fromkeys((*known, width)))


async def show(request: Request) -> Response:
    """A solve as it stands: waiting, searching, or done."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    if solve.view is not None:
        return _result(request, solve)
    if solve.over:
        return page("failed.html", 200 if solve.state == "ended" else 422, solve=solve, title=solve.title)
    told = _progress(solve) | {"markers": _markers(solve)}
    return page("work.html", title=solve.title, solve=solve, said=_said(request, solve), **told)


async def now(request: Request) -> Response:
    """What is new of a solve, for the script of its page."""
    solve = solve_of(request)
    if solve is None:
        return JSONResponse({"over": True})
    version = f"{solve.state}-{solve.version}"
    told: dict[str, Any] = {
        "over": solve.over,
        "printing": solve.printing,
        "version": version,
        "said": _said(request, solve),
        "regions": {},
        "markers": [],
    }
    if not solve.over and request.query_params.get("seen") != version:
        known = _progress(solve)
        told["regions"] = {
            "progress": text_of("progress.html", **known), "course": text_of("course.html", **known),
        }  # fmt: skip
        told["markers"] = [text_of("now.html", token=solve.token, **one) for one in _markers(solve, request)]
    return JSONResponse(told)


def _markers(solve: Solve, request: Request | None = None) -> list[dict[str, Any]]:
    """The markers so far, or those that came after what the page has."""
    seen = "" if request is None else request.query_params.get("seen", "").rpartition("-")[2]
    after = whole_number(seen, -1)
    return [
        {"one": view, "drawn": Markup(view["svg"]), "less": told["less"]}
        for told in list(solve.markers.values())
        if told["version"] > after
        for view in told["views"]
    ]


def _progress(solve: Solve) -> dict[str, Any]:
    unit = from_text(solve.draft).unit if solve.course else "in"
    return {
        "charts": [chart(points, unit, fabric) for fabric, points in solve.course.items()],
        "news": solve.news,
    }


def _said(request: Request, solve: Solve) -> str:
    """How it stands, in a line that is read aloud when it changes."""
    before = bench_of(request).place(solve)
    if solve.state == "waiting":
        return f"Waiting: {before} before it." if before else "It begins now."
    if solve.over:
        return "It is over."
    if solve.kind == "opened":
        return "The plan is being checked."
    if solve.stopped:
        return "Stopping; the best layout is kept."
    fabric = solve.news.get("fabric")
    return f"Searching: {fabric}." if fabric else "Cutting and measuring."


def _result(request: Request, solve: Solve, notes: tuple[str, ...] = (), status: int = 200) -> Response:
    assert solve.view is not None
    common = {"title": solve.title, "solve": solve, "view": solve.view, "notes": notes}
    if solve.kind == "compare":
        sort = request.query_params.get("sort", "order")
        unit = cast(Unit, from_text(solve.draft).unit)
        return page(
            "compare.html",
            status,
            options=_sorted(solve.view["options"], sort if sort in _SORTS else "order"),
            sort=sort,
            drawn=Markup(solve.view["svg"]),
            further=[format_exact(width, unit) for width in solve.order["widths"]],
            **common,
        )
    measured = from_text(solve.draft).unit
    layouts = [
        layout
        | {"drawn": Markup(layout["svg"]), "chart": chart(layout["course"], measured, layout["fabric"])}
        for layout in solve.view["layouts"]
    ]
    hung = [one | {"drawn": Markup(one["svg"])} for one in solve.view["hung"]]
    shown = {
        "layouts": layouts,
        "hung": hung,
        "files": FILES,
        "offers": solve.what_if or (),
        # What was bought before its advice was taken: a search from the start may miss what was promised.
        "was": _was(request, solve),
    }
    return page("plan.html", status, **shown, **common)


def _was(request: Request, solve: Solve) -> str:
    """What the plan before takes, where advice was taken and that plan is still known."""
    before = bench_of(request).find(solve.before) if solve.before else None
    return "" if before is None else stands(before)


def _sorted(options: list[dict[str, Any]], sort: str) -> list[dict[str, Any]]:
    """By cost or by fabric bought, fabric by fabric; what is not known comes last."""
    if sort == "order":
        return options
    key = "price" if sort == "cost" else "area"
    order = {fabric: number for number, fabric in enumerate(dict.fromkeys(o["fabric"] for o in options))}
    return sorted(options, key=lambda o: (order[o["fabric"]], o[key] is None, o[key] or 0.0))


async def enough(request: Request) -> Response:
    """Good enough: stop, and keep the best."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    await bench_of(request).enough(solve)
    return RedirectResponse(f"/solve/{solve.token}", 303)


async def leave(request: Request) -> Response:
    """The page was left."""
    solve = solve_of(request)
    if solve is not None:
        bench_of(request).leave(solve)
    return Response(status_code=204)


async def end(request: Request) -> Response:
    """Give up, and go back to the form."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    await bench_of(request).end(solve)
    return RedirectResponse(f"/solve/{solve.token}/job", 303)


async def job_of(request: Request) -> Response:
    """The form from which a solve began."""
    solve = solve_of(request)
    if solve is None:
        return _gone()
    order = solve.order
    work = "" if order["work"] is None else f"{order['work']:g}"
    search = SearchSettings(f"{order['seconds']:g}", str(order["seed"]), work, order["kept"], order["seen"])
    return await form_page(request, from_text(solve.draft), (), search)


async def file(request: Request) -> Response:
    """Something to take away."""
    solve, name = solve_of(request), request.path_params["name"]
    if solve is None:
        return _gone()
    if name == "job.toml":
        return download(
            solve.draft.encode(), f"{slug(solve.title)[:60]}.toml", "application/toml; charset=utf-8"
        )
    found = solve.files.get(name)
    if found is None:
        if name in FILES and solve.printing:
            return message("Being printed", LATER if solve.standing else SOON, 503)
        return message("There is no such file", "The plan's page lists those there are.", 404)
    media, data = found
    if request.query_params.get("view") == "page" and name == "packet.html":
        return Response(data, media_type=media, headers={"content-security-policy": PRINT_POLICY})
    return download(data, f"{slug(solve.title)[:60]}-{name}", media)


def solve_of(request: Request) -> Solve | None:
    """The one whose page is asked for; None where it is not remembered."""
    return bench_of(request).find(request.path_params["token"])


def _gone() -> Response:
    text = (
        "This solve is not remembered any more: the program was restarted since then, or many others came "
        "after it. The start page lists your jobs, so that you can plan it again."
    )
    return message("No longer here", text, 404)
