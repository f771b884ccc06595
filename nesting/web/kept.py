"""Jobs kept on disk: handed in while they are typed, opened again, removed, brought back."""

from __future__ import annotations

import asyncio
import dataclasses
import re
import secrets
from collections.abc import Callable
from typing import Final, TypeVar
from urllib.parse import urlencode

from starlette.exceptions import HTTPException
from starlette.requests import Request
from starlette.responses import JSONResponse, RedirectResponse, Response

from nesting.errors import JobError
from nesting.headings import USUAL
from nesting.web.draft import Draft, look_up, packed, shown
from nesting.web.job_page import form_page, job_file, refused
from nesting.web.posted import Entries, entries_of
from nesting.web.rendering import message
from nesting.web.shelf import KeptJob, Shelf, ShelfError, Writer
from nesting.web.start import shelf_of
from nesting.web.told_job import SearchSettings, draft_of, job_text_of, search_of

_T = TypeVar("_T")
#: Entries that say who hands a job in, which are no part of it.
_OF_THE_WRITER: Final = frozenset({"do", "seen", "keep", "writer", "when", "before"})
_WHEN: Final = re.compile(r"[0-9]{1,15}")


async def keep(request: Request) -> Response:
    """Keep a job as it is typed, for the script of its page; says under which name, and which version."""
    try:
        entries = await entries_of(request)
        draft, _ = draft_of(entries)
    except JobError as error:
        return JSONResponse({"trouble": str(error)}, 422)
    said = dict(entries)
    writer = Writer(said.get("writer", "")[:60], said.get("seen", "")[:60])
    when = int(said["when"]) if _WHEN.fullmatch(said.get("when", "")) else 0
    search = search_of(entries)
    if not search.kept:
        return JSONResponse({"trouble": "This job has no name to be kept under."}, 422)
    try:
        kept = await _put_away(request, entries, draft, search, writer, when)
    except ShelfError as error:
        return JSONResponse({"trouble": str(error)})
    return JSONResponse({"kept": kept.name, "seen": kept.version})


async def kept_as_posted(
    request: Request, entries: Entries, draft: Draft, search: SearchSettings
) -> tuple[SearchSettings, tuple[str, ...]]:
    """Keep the job of a page without script, which hands it in with each button.

    Returns
    -------
    tuple
        How the search is set, with the name and version the job now has, and what is to be told.
    """
    if dict(entries).get("keep") != "yes" or shelf_of(request) is None:
        return search, ()
    if not search.kept and await job_text_of(request, draft) == draft.base:
        # It was only looked at.
        return search, ()
    if not search.kept:
        search = dataclasses.replace(search, kept=secrets.token_hex(12))
    try:
        whole = await _as_entries(request, draft, entries)
        kept = await _put_away(request, whole, draft, search, Writer(seen=search.seen))
    except ShelfError as error:
        return search, (f"This job is not kept on this computer: {error}. Save it as a file.",)
    return dataclasses.replace(search, kept=kept.name, seen=kept.version), ()


async def _as_entries(request: Request, draft: Draft, entries: Entries) -> Entries:
    """The form of a draft that has been changed since it was posted: its job file, and what it has aside."""
    posted = dict(entries)
    found = [("base", packed(await job_text_of(request, draft)))]
    found += [(name, posted[name]) for name in ("seconds", "seed", "work") if name in posted]
    kinds = {f"{name.rpartition('.')[0]}.{kind}" for name in draft.aside for kind in ("selvage", "drop")}
    return [*found, *draft.aside.items(), *((name, posted[name]) for name in sorted(kinds) if name in posted)]


async def _put_away(
    request: Request, entries: Entries, draft: Draft, search: SearchSettings, writer: Writer, when: int = 0
) -> KeptJob:
    """What is kept of a posted form: all of it but who posted it."""
    shelf = _shelf_of(request)
    windows = draft.table.get("window")
    fabrics = draft.table.get("fabric")
    first = str(next(iter(fabrics), "")) if isinstance(fabrics, dict) else ""
    job = KeptJob(
        name=search.kept,
        entries=urlencode([(name, text) for name, text in entries if name not in (*_OF_THE_WRITER, "kept")]),
        title=shown(draft.table.get("title")),
        windows=len(windows) if isinstance(windows, list) else 0,
        fabric=shown(look_up(draft.table, ("fabric", first, "name"))) or first,
        heading=shown(look_up(draft.table, ("window", 0, "heading"))) or USUAL,
        when=when,
        writer=writer,
    )
    return await asyncio.to_thread(shelf.keep, job)


async def open_kept(request: Request) -> Response:
    """The form of a kept job, as it was left."""
    job = await _found(request)
    if job is None or job.removed:
        return _gone(job)
    try:
        draft, notes = draft_of(job.pairs)
    except JobError as error:
        return refused(error)
    search = dataclasses.replace(search_of(job.pairs), kept=job.name, seen=job.version)
    return await form_page(request, draft, notes, search, opened=job.when)


async def file_of_kept(request: Request) -> Response:
    """A kept job as a file."""
    job = await _found(request)
    if job is None:
        return _gone(job)
    try:
        return await job_file(request, draft_of(job.pairs)[0])
    except JobError as error:
        return refused(error)


async def remove_kept(request: Request) -> Response:
    """Take a job off the list."""
    return await _done(request, "removed", lambda shelf, wanted: shelf.remove(wanted))


async def bring_back(request: Request) -> Response:
    """Put a removed job back on the list."""
    return await _done(request, "back", lambda shelf, wanted: shelf.bring_back(wanted))


async def forget_kept(request: Request) -> Response:
    """Delete a removed job for good."""
    return await _done(request, "gone", lambda shelf, wanted: shelf.forget(wanted))


async def _done(request: Request, said: str, act: Callable[[Shelf, str], _T]) -> Response:
    shelf, wanted = _shelf_of(request), request.path_params["job"]
    try:
        await asyncio.to_thread(act, shelf, wanted)
    except ShelfError as error:
        return message("Nothing was changed", f"The list of kept jobs cannot be changed: {error}.", 503)
    # An id that is none finds nothing there either.
    known = wanted if wanted.isalnum() and len(wanted) == 64 else ""
    return RedirectResponse(f"/?{urlencode({said: known})}#jobs", 303)


async def _found(request: Request) -> KeptJob | None:
    return await asyncio.to_thread(_shelf_of(request).find, request.path_params["job"])


def _shelf_of(request: Request) -> Shelf:
    shelf = shelf_of(request)
    if shelf is None:
        raise HTTPException(404)
    return shelf


def _gone(job: KeptJob | None) -> Response:
    if job is not None:
        return message("This job was removed", "The start page can bring it back.", 404)
    text = "This job is not kept here any more. The start page lists those that are."
    return message("No longer here", text, 404)
