"""All pages under their addresses."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Callable
from contextlib import AbstractAsyncContextManager
from typing import Final

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Mount, Route
from starlette.staticfiles import StaticFiles

from nesting.web import jobs, works
from nesting.web.bench import Bench
from nesting.web.clerk import Clerk
from nesting.web.guard import Guard, TooMuchError, TooSlowError, too
from nesting.web.rendering import STATIC, message

#: Names under which this machine knows itself.
LOOPBACK: Final = frozenset({"127.0.0.1", "localhost", "::1"})

_ROUTES: Final = [
    Route("/", jobs.start),
    Route("/job/new", jobs.new_job),
    Route("/job/sample/{name}", jobs.sample_job),
    Route("/job/open", jobs.open_job, methods=["POST"]),
    Route("/job", jobs.change_job, methods=["POST"]),
    Route("/job/save", jobs.save_job, methods=["POST"]),
    Route("/live", jobs.live, methods=["POST"]),
    Route("/plan", works.plan_job, methods=["POST"]),
    Route("/compare", works.compare_job, methods=["POST"]),
    Route("/work/{token}", works.show),
    Route("/work/{token}/now", works.now),
    Route("/work/{token}/job", works.job_of),
    Route("/work/{token}/file/{name}", works.file),
    Route("/work/{token}/compare", works.compare_more, methods=["POST"]),
    Route("/work/{token}/enough", works.enough, methods=["POST"]),
    Route("/work/{token}/leave", works.leave, methods=["POST"]),
    Route("/work/{token}/end", works.end, methods=["POST"]),
    Mount("/static", StaticFiles(directory=STATIC)),
]


def create_app(
    names: frozenset[str] = LOOPBACK, *, any_address: bool = False, warm: bool = False
) -> Starlette:
    """The page as an ASGI application.

    Parameters
    ----------
    names
        Host names under which it answers.
    any_address
        Whether it answers under any plain IP address too.
    warm
        Start the process for the sums before it is needed.
    """
    return Starlette(
        routes=_ROUTES,
        middleware=[Middleware(Guard, names=names, any_address=any_address)],
        exception_handlers={
            HTTPException: _http,
            TooMuchError: _too,
            TooSlowError: _too,
            500: _own_fault,
        },
        lifespan=_lifespan(warm),
    )


def _lifespan(warm: bool) -> Callable[[Starlette], AbstractAsyncContextManager[None]]:
    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        app.state.clerk, app.state.bench = Clerk(), Bench()
        app.state.bench.start()
        warming = asyncio.create_task(app.state.clerk.warm()) if warm else None
        try:
            yield
        finally:
            if warming is not None:
                warming.cancel()
            await app.state.bench.close()
            await app.state.clerk.close()

    return lifespan


async def _http(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 400
    words = {
        404: ("There is nothing here", "The start page leads everywhere."),
        405: ("Not this way", "Pages are read, and forms are sent. This was the other way round."),
    }
    title, text = words.get(status, ("That did not work", f"The page answered {status}."))
    return message(title, text, status)


async def _too(request: Request, error: Exception) -> Response:
    return too(error)


async def _own_fault(request: Request, error: Exception) -> Response:
    text = (
        "A fault of this program, not of your job. Go back: what you typed is still there. "
        f"({type(error).__name__})"
    )
    return message("That went wrong", text, 500)
