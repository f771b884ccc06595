"""All pages under their addresses."""

from __future__ import annotations

import asyncio
import contextlib
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import AbstractAsyncContextManager
from importlib import import_module
from typing import Final

from starlette.applications import Starlette
from starlette.exceptions import HTTPException
from starlette.middleware import Middleware
from starlette.requests import Request
from starlette.responses import Response
from starlette.routing import Route

from nesting.web.asking import Answers
from nesting.web.bench import SolveQueue
from nesting.web.clerk import Clerk
from nesting.web.gate import Gate, phone
from nesting.web.guard import Guard, TooMuchError, TooSlowError, too
from nesting.web.lesson_line import Lessons
from nesting.web.phone import Pairing
from nesting.web.remembered import Memory
from nesting.web.rendering import message
from nesting.web.shelf import Shelf
from nesting.web.start import start, static

#: Seconds until the page gets ready for more than its first page.
_AFTER_FIRST: Final = 1.0
#: Names under which this machine knows itself.
LOOPBACK: Final = frozenset({"127.0.0.1", "localhost", "::1"})


def _later(module: str, name: str) -> Callable[[Request], Awaitable[Response]]:
    """A page whose module is brought in when it is first asked for: the first page needs none of them."""

    async def answer(request: Request) -> Response:
        made: Response = await getattr(import_module(f"nesting.web.{module}"), name)(request)
        return made

    return answer


_ROUTES: Final = [
    Route("/", start),
    Route("/job/new", _later("jobs", "new_job")),
    Route("/job/sample/{name}", _later("jobs", "sample_job")),
    Route("/job/open", _later("jobs", "open_job"), methods=["POST"]),
    Route("/job", _later("jobs", "change_job"), methods=["POST"]),
    Route("/job/save", _later("jobs", "save_job"), methods=["POST"]),
    Route("/keep", _later("kept", "keep"), methods=["POST"]),
    Route("/kept/{job}", _later("kept", "open_kept")),
    Route("/kept/{job}/file", _later("kept", "file_of_kept")),
    Route("/kept/{job}/remove", _later("kept", "remove_kept"), methods=["POST"]),
    Route("/kept/{job}/back", _later("kept", "bring_back"), methods=["POST"]),
    Route("/kept/{job}/forget", _later("kept", "forget_kept"), methods=["POST"]),
    Route("/lesson/{heading}", _later("lessons", "lesson")),
    Route("/live", _later("following", "live"), methods=["POST"]),
    Route("/first", _later("following", "first"), methods=["POST"]),
    Route("/weigh", _later("following", "weigh"), methods=["POST"]),
    Route("/plan", _later("works", "plan_job"), methods=["POST"]),
    Route("/compare", _later("works", "compare_job"), methods=["POST"]),
    Route("/solve/{token}", _later("works", "show")),
    Route("/solve/{token}/now", _later("works", "now")),
    Route("/solve/{token}/job", _later("works", "job_of")),
    Route("/solve/{token}/file/{name}", _later("works", "file")),
    Route("/solve/{token}/take", _later("works", "take"), methods=["POST"]),
    Route("/solve/{token}/compare", _later("works", "compare_more"), methods=["POST"]),
    Route("/solve/{token}/enough", _later("works", "enough"), methods=["POST"]),
    Route("/solve/{token}/leave", _later("works", "leave"), methods=["POST"]),
    Route("/solve/{token}/end", _later("works", "end"), methods=["POST"]),
    Route("/phone", phone, methods=["GET", "POST"]),
    Route("/solve/{token}/table", _later("table_page", "show")),
    Route("/solve/{token}/table", _later("table_page", "move"), methods=["POST"]),
    Route("/solve/{token}/table/steps", _later("table_page", "steps")),
    Route("/solve/{token}/table/wrong", _later("table_page", "wrong"), methods=["GET", "POST"]),
    Route("/solve/{token}/table/now", _later("works", "now")),
    Route("/solve/{token}/table/leave", _later("works", "leave"), methods=["POST"]),
    Route("/static/{name}", static),
]


def create_app(
    names: frozenset[str] = LOOPBACK,
    *,
    any_address: bool = False,
    pairing: Pairing | None = None,
    warm: bool = False,
    shelf: Shelf | None = None,
) -> Starlette:
    """The page as an ASGI application.

    Parameters
    ----------
    names
        Host names under which it answers.
    any_address
        Whether it answers under any plain IP address too.
    pairing
        By which codes devices of the network get in; without it whoever reaches the page may use it.
    warm
        Start the process for the sums before it is needed.
    shelf
        Where jobs are kept on disk; None: nowhere.
    """
    guards = [Middleware(Guard, names=names, any_address=any_address)]
    made = Starlette(
        routes=_ROUTES,
        middleware=guards if pairing is None else [*guards, Middleware(Gate, pairing=pairing)],
        exception_handlers={
            HTTPException: _http,
            TooMuchError: _too,
            TooSlowError: _too,
            500: _own_fault,
        },
        lifespan=_lifespan(warm),
    )
    made.state.pairing = pairing
    made.state.shelf = shelf
    return made


def _lifespan(warm: bool) -> Callable[[Starlette], AbstractAsyncContextManager[None]]:
    @contextlib.asynccontextmanager
    async def lifespan(app: Starlette) -> AsyncIterator[None]:
        app.state.clerk, app.state.reader, app.state.planner = Clerk(), Clerk(), Clerk("nesting.web.first")
        app.state.bench, app.state.memory = SolveQueue(), Memory()
        app.state.answers = Answers()
        app.state.lessons = Lessons()
        app.state.bench.start()
        warming = asyncio.create_task(_warm(app.state.clerk, app.state.planner)) if warm else None
        try:
            yield
        finally:
            if warming is not None:
                warming.cancel()
            await app.state.bench.close()
            await app.state.answers.close()
            await app.state.clerk.close()
            await app.state.reader.close()
            await app.state.planner.close()

    return lifespan


async def _warm(*clerks: Clerk) -> None:
    """What the second page needs, brought in while the first is read."""
    await asyncio.sleep(_AFTER_FIRST)
    for clerk in clerks:
        await clerk.warm()
    await asyncio.to_thread(import_module, "nesting.web.works")


async def _http(request: Request, error: Exception) -> Response:
    status = error.status_code if isinstance(error, HTTPException) else 400
    words = {
        404: ("There is nothing here", "The start page leads everywhere."),
        405: ("Not allowed", "That request is not allowed here."),
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
