"""Whose plans are whose: a browser finds those it asked for on the start page, and nobody else does."""

from __future__ import annotations

import re
import secrets
from typing import Any, Final, cast

from starlette.requests import Request
from starlette.responses import Response

from nesting.web.bench import Solve, SolveQueue

#: The name of a browser, made up here and told to nobody.
_COOKIE: Final = "nesting-plans"
_NAME: Final = re.compile(r"[A-Za-z0-9_-]{24}")
#: Seconds for which a browser remembers it; the plans themselves go with the program.
_REMEMBERED: Final = 30 * 24 * 3600


def owner_of(request: Request) -> str:
    """The name of the browser that asks; empty for one without."""
    said = request.cookies.get(_COOKIE, "")
    return said if _NAME.fullmatch(said) else ""


def named(request: Request) -> str:
    """The name of the browser that asks, a new one where it has none."""
    return owner_of(request) or secrets.token_urlsafe(18)


def remember(answer: Response, owner: str) -> None:
    """Let the browser carry its name; no script reads it, and no other site is told."""
    answer.set_cookie(_COOKIE, owner, max_age=_REMEMBERED, path="/", httponly=True, samesite="strict")


def plans_of(request: Request) -> list[dict[str, Any]]:
    """What the browser has asked for and can still be opened, the latest first."""
    bench = cast(SolveQueue, request.app.state.bench)
    return [
        {"address": f"/solve/{solve.token}", "title": solve.title, "stands": stands(solve)}
        for solve in bench.of_owner(owner_of(request))
    ]


def stands(solve: Solve) -> str:
    """How it stands: waiting, searching with the best so far, or what to buy."""
    if solve.state == "waiting":
        return "waiting for its turn"
    if solve.view is None:
        best = solve.news.get("length")
        return f"searching, best so far {best}" if best else "searching"
    if solve.kind == "compare":
        return "bolt widths compared"
    bought = [one["buy"] for one in solve.view["layouts"] if not one["on_hand"]]
    amounts = [*bought, solve.view["cost"]] if bought else ["from fabric on hand"]
    return ", ".join(part for part in amounts if part)
