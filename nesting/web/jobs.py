"""The pages on which a job is written: new, a sample, opened, changed, saved."""

from __future__ import annotations

from starlette.requests import Request
from starlette.responses import Response

from nesting.errors import JobError
from nesting.web.clerk import BusyError
from nesting.web.draft import (
    Draft,
    from_text,
    loc_of,
    look_up,
    new_draft,
    unpacked,
    with_copy,
    with_lining,
    with_row,
    without_row,
)
from nesting.web.job_page import form_page, job_file, refused
from nesting.web.kept import kept_as_posted
from nesting.web.listed import with_list
from nesting.web.posted import entries_of, files_of
from nesting.web.remembered import remembered
from nesting.web.rendering import message
from nesting.web.samples import samples
from nesting.web.start import start_page
from nesting.web.strip import all_weighed, taken
from nesting.web.told_job import draft_of, job_text_of, reader_of, search_of, sums_of
from nesting.web.works import open_plan


@remembered
async def new_job(request: Request) -> Response:
    """An empty job in the units asked for."""
    unit = request.query_params.get("units", "in")
    return await form_page(request, new_draft(unit if unit in ("in", "cm", "mm") else "in"))


@remembered
async def sample_job(request: Request) -> Response:
    """One of the samples."""
    wanted = request.path_params["name"]
    for sample in samples():
        if sample.name == wanted:
            draft, notes = from_text(sample.text), tuple[str, ...]()
            for name, text in sample.lists:
                draft, notes = with_list(draft, name, text)
            return await form_page(request, draft, notes)
    return message("No such sample", "The start page lists those there are.", 404)


async def open_job(request: Request) -> Response:
    """The form of an uploaded job file, of a measurement list, or of a job with its list; or a plan."""
    try:
        sent = await files_of(request)
    except JobError as error:
        return await start_page(request, tuple(str(fault) for fault in error.faults), 422)
    job = sent["file"]
    alone = job.name.lower().endswith((".csv", ".txt", ".tsv"))
    listed = job if alone else sent.get("list")
    named = None if listed is None else (listed.name[:100] or "The list", listed.text)
    try:
        draft, notes, plan = await reader_of(request).opened(None if alone else job.text, named)
    except BusyError:
        return await start_page(request, ("Many files are being read. Open yours again in a moment.",), 503)
    if draft is None:
        return await start_page(request, notes, 422)
    if plan is not None:
        return await open_plan(request, draft, plan)
    return await form_page(request, draft, notes)


async def change_job(request: Request) -> Response:
    """The form once more, after a button of it was pressed."""
    try:
        entries = await entries_of(request)
    except JobError as error:
        return refused(error)
    if dict(entries).get("keep") == "yes":
        # What is kept has a name of its own, which no other reader is told.
        return await _changed_page(request)
    return await _change_remembered(request)


async def _changed_page(request: Request) -> Response:
    try:
        entries = await entries_of(request)
        draft, notes = draft_of(entries)
    except JobError as error:
        return refused(error)
    wish, _, place = dict(entries).get("do", "update").partition(":")
    search, strip, before = search_of(entries), None, ""
    try:
        if wish == "take":
            before = await job_text_of(request, draft)
            draft, said = await taken(request, draft, place)
            notes = (*notes, *said)
        elif wish == "back":
            draft = from_text(unpacked(dict(entries).get("before", "")))
    except JobError as error:
        return refused(error)
    if wish == "weigh":
        strip = await all_weighed(request, draft, await sums_of(request, draft))
    draft = _changed(draft, wish, place)
    search, said = await kept_as_posted(request, entries, draft, search)
    return await form_page(request, draft, (*notes, *said), search, strip=strip, before=before)


_change_remembered = remembered(_changed_page)


def _changed(draft: Draft, wish: str, place: str) -> Draft:
    """The draft after a wish; one that cannot be granted changes nothing."""
    if not place or wish not in ("add", "copy", "remove", "line"):
        return draft
    loc = loc_of(place)
    try:
        if wish == "add":
            return with_row(draft, loc)
        if wish == "line":
            return with_lining(draft, loc)
        # Only rows and fabrics are copied or taken away, whatever a form says.
        row = loc[-1] if isinstance(loc[-1], int) or loc[:-1] == ("fabric",) else None
        if row is None or look_up(draft.table, loc) is None:
            return draft
        return with_copy(draft, loc) if wish == "copy" else without_row(draft, loc)
    except (LookupError, TypeError, AttributeError):
        return draft


async def save_job(request: Request) -> Response:
    """The job as a file to keep."""
    try:
        entries = await entries_of(request)
        draft, _ = draft_of(entries)
        await kept_as_posted(request, entries, draft, search_of(entries))
        return await job_file(request, draft)
    except JobError as error:
        return refused(error)
