"""The pages on which a job is written: start, form, live sums, opening and saving a job file."""

from __future__ import annotations

import dataclasses
import json
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any, Final, cast
from urllib.parse import quote

from markupsafe import Markup, escape
from starlette.requests import Request
from starlette.responses import JSONResponse, Response

from nesting.errors import Fault, JobError
from nesting.headings import HEADINGS
from nesting.names import slug
from nesting.units import Unit
from nesting.web.asking import Answers
from nesting.web.caps import MOST_SECONDS, MOST_WORK, SMALL
from nesting.web.clerk import BusyError, Clerk
from nesting.web.draft import (
    REWORDED,
    Draft,
    from_form,
    from_text,
    leaves,
    loc_of,
    look_up,
    name_of,
    new_draft,
    packed,
    shown,
    unpacked,
    with_copy,
    with_lining,
    with_row,
    without_row,
)
from nesting.web.form import form_of
from nesting.web.form_faults import awaited, in_a_row, still_to_type, told_faults
from nesting.web.listed import with_list
from nesting.web.measure_fields import understood, with_units
from nesting.web.pictures import picture
from nesting.web.posted import Entries, entries_of, files_of
from nesting.web.remembered import remembered
from nesting.web.rendering import message, page, text_of
from nesting.web.samples import samples
from nesting.web.sketch import sketch
from nesting.web.strip import SideBySide, all_weighed, next_weighed, taken

_KEPT: Final = re.compile(r"[a-z0-9-]{0,60}")
_BUSY: Final = {
    "faults": [],
    "wrong": 0,
    "stuck": "Many sums wait already. They come with the next change.",
    "groups": [],
    "rules": [],
    "advice": [],
    "sundries": [],
    "count": 0,
    "asked": 0,
    "open": {},
    "ways": [],
}


@dataclass(frozen=True, slots=True)
class SearchSettings:
    """How long to search, as typed and as meant, and what rides with the form beside the job.

    ``kept`` is the name under which the browser keeps what was typed; empty before the first change.
    """

    seconds: str = "20"
    seed: str = "0"
    work: str = ""
    kept: str = ""

    @property
    def faults(self) -> dict[str, tuple[str, ...]]:
        """What is wrong with it, by field."""
        return {
            "seconds": _amount(self.seconds, 0.1, MOST_SECONDS, "seconds"),
            "seed": _amount(self.seed, 0, 2**31 - 2, "", whole=True),
            "work": _amount(self.work, 0.01, MOST_WORK, "units of work") if self.work else (),
        }

    @property
    def sound(self) -> bool:
        """Whether a search can begin."""
        return not any(self.faults.values())


def _amount(text: str, least: float, most: float, noun: str, whole: bool = False) -> tuple[str, ...]:
    expected = (
        f"Expected {'a whole number' if whole else 'a number'} from {least:g} to {most} {noun}".rstrip() + "."
    )
    try:
        number = float(text) if not whole else int(text)
    except ValueError:
        return (expected,)
    return () if least <= number <= most else (expected,)


def search_of(entries: Entries) -> SearchSettings:
    """How long to search, of a posted form."""
    texts = {name: text.strip() for name, text in entries}
    usual = SearchSettings()
    kept = texts.get("kept", "")
    return SearchSettings(
        texts.get("seconds") or usual.seconds,
        texts.get("seed") or usual.seed,
        texts.get("work", ""),
        kept if _KEPT.fullmatch(kept) else "",
    )


def draft_of(entries: Entries) -> tuple[Draft, tuple[str, ...]]:
    """The draft of a posted form, and notes on a change of units.

    Raises
    ------
    JobError
        The form is none of ours.
    """
    draft = from_form(entries)
    before, after = draft.began, draft.unit
    said = (REWORDED,) if draft.reworded else ()
    if before == after:
        return draft, said
    # What was typed with the new unit was typed under the old one.
    draft = dataclasses.replace(draft, table=draft.table | {"units": before})
    draft, notes = with_units(draft, cast(Unit, after))
    return draft, (*said, *notes)


def clerk_of(request: Request) -> Clerk:
    """Who does the sums."""
    return cast(Clerk, request.app.state.clerk)


def reader_of(request: Request) -> Clerk:
    """Who reads and writes job files that are none of the page's own."""
    return cast(Clerk, request.app.state.reader)


async def job_text_of(request: Request, draft: Draft) -> str:
    """The job file of a draft; a long one is written apart from the page.

    Raises
    ------
    JobError
        It takes too long.
    """
    if len(draft.base) <= SMALL:
        return draft.text
    try:
        return await reader_of(request).amended(draft.base, draft.table)
    except BusyError:
        raise JobError([Fault("this job", "", "a moment without others: try again")]) from None


async def sums_of(request: Request, draft: Draft) -> Mapping[str, Any]:
    """The sums of a draft, or word that they must wait."""
    try:
        return await clerk_of(request).sums(draft.table)
    except BusyError:
        return _BUSY


async def form_page(
    request: Request,
    draft: Draft,
    notes: Iterable[str] = (),
    search: SearchSettings | None = None,
    status: int = 200,
    strip: SideBySide | None = None,
    before: str = "",
) -> Response:
    """The page of a draft with its faults and sums; with another status than 200 a plan was asked for.

    ``strip``: its alternatives, where they are shown at once; ``before``: the job file to which one that was
    just taken can be taken back.
    """
    try:
        base = await job_text_of(request, draft)
    except JobError as error:
        return refused(error)
    sums = await sums_of(request, draft)
    asked, pending = asked_of(request, draft, sums)
    pressed = status != 200
    form = form_of(draft, sums["faults"], asked, pressed=pressed)
    made = page(
        "job.html",
        status,
        title=shown(draft.table.get("title")) or "Drapes",
        form=form,
        summary=form.summary,
        wrong=_wrong(sums, form.summary),
        sums=sums,
        waits=awaited(sums["faults"]),
        strip=strip,
        before=packed(before) if len(before) <= SMALL else "",
        base=packed(base),
        notes=tuple(notes),
        search=search or SearchSettings(),
        state=status_line(sums, pressed=pressed),
        picture=picture,
        sketch=sketch,
        later=sums is _BUSY or pending,
    )
    return _passing(made, sums is _BUSY or pending)


def asked_of(
    request: Request, draft: Draft, sums: Mapping[str, Any]
) -> tuple[Mapping[str, tuple[str, ...]], bool]:
    """What is asked at each field, and whether its amounts are still being worked out."""
    asked: Mapping[str, tuple[str, ...]] = sums["open"]
    if not asked:
        return asked, False
    answers = cast(Answers, request.app.state.answers).of(draft.table)
    return (asked, True) if answers is None else (answers.get("asked") or asked, False)


def _passing(answer: Response, again: bool) -> Response:
    """The answer, with the bidding to ask again where its sums or amounts must wait."""
    if again:
        answer.headers["retry-after"] = "1"
    return answer


def _wrong(sums: Mapping[str, Any], summary: Iterable[object]) -> int:
    """How many things are wrong: more than are shown where not all are, none where all is only not typed."""
    told = len(tuple(summary))
    return told + max(0, sums["wrong"] - len(sums["faults"])) if told else 0


def status_line(sums: Mapping[str, Any], *, pressed: bool = False) -> str:
    """How the job stands, in a few words."""
    _, summary = told_faults(sums["faults"], pressed=pressed)
    count, missing = _wrong(sums, summary), still_to_type(sums["faults"])
    if missing and not count:
        return f"Still to type: {in_a_row(missing)}"
    if count:
        return "1 thing needs putting right" if count == 1 else f"{count} things need putting right"
    if sums is _BUSY:
        return "The sums follow in a moment"
    if sums["stuck"]:
        return "This cannot be cut as it stands"
    pieces = f"{sums['count']} piece{'' if sums['count'] == 1 else 's'} to cut"
    asked = sums["asked"] + len(sums["open"])
    if asked:
        things = "1 thing to check" if asked == 1 else f"{asked} things to check"
        return f"{pieces}; {things} before you plan"
    return f"{pieces}; ready to plan"


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
    """The form of an uploaded job file, of a measurement list, or of a job with its list."""
    try:
        sent = await files_of(request)
    except JobError as error:
        return _start(tuple(str(fault) for fault in error.faults))
    job = sent["file"]
    alone = job.name.lower().endswith((".csv", ".txt", ".tsv"))
    listed = job if alone else sent.get("list")
    named = None if listed is None else (listed.name[:100] or "The list", listed.text)
    try:
        draft, notes = await reader_of(request).opened(None if alone else job.text, named)
    except BusyError:
        return _start(("Many files are being read. Open yours again in a moment.",), 503)
    return _start(notes) if draft is None else await form_page(request, draft, notes)


def _start(notes: tuple[str, ...], status: int = 422) -> Response:
    """The start page with what is wrong."""
    return page("start.html", status, samples=samples(), lessons=HEADINGS, notes=notes)


@remembered
async def change_job(request: Request) -> Response:
    """The form once more, after a button of it was pressed."""
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
    return await form_page(request, draft, notes, search, strip=strip, before=before)


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


@remembered
async def live(request: Request) -> Response:
    """What changes beside the fields and in the sums, while somebody types."""
    try:
        draft, _ = draft_of(await entries_of(request))
    except JobError as error:
        return JSONResponse({"status": str(error)}, 422)
    sums = await sums_of(request, draft)
    beside, summary = told_faults(sums["faults"])
    wrong = _wrong(sums, summary)
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
        "busy": sums is _BUSY or pending,
        "told": told,
        "regions": {
            "sums": text_of("sums.html", sums=sums),
            "summary": text_of("summary.html", summary=summary, wrong=wrong),
            "rule": text_of("rule.html", sums=sums, waits=awaited(sums["faults"])),
        },
        "ready": not (sums["faults"] or sums["stuck"] or sums is _BUSY) and bool(sums["count"]),
    }
    made = Response(json.dumps(answer, ensure_ascii=False), media_type="application/json")
    return _passing(made, sums is _BUSY or pending)


async def first(request: Request) -> Response:
    """What is to be bought by a first layout, and its marker, while somebody types."""
    try:
        entries = await entries_of(request)
        draft, _ = draft_of(entries)
    except JobError as error:
        return JSONResponse({"status": str(error)}, 422)
    sums = await sums_of(request, draft)
    if sums["faults"] or sums["stuck"] or sums is _BUSY:
        return JSONResponse({"regions": {"answer": "", "buy": ""}, "proven": True})
    turn = {"1": 1, "2": 2}.get(dict(entries).get("turn", ""), 0)
    try:
        found = await cast(Clerk, request.app.state.planner).first(draft.table, turn)
    except BusyError:
        return JSONResponse({"regions": {}, "proven": False})
    return JSONResponse({
        "regions": {"answer": text_of("answer.html", found=_drawn(found)), "buy": _in_short(found)},
        "proven": found["proven"],
    })  # fmt: skip


def _in_short(found: Mapping[str, Any]) -> str:
    """What is to be bought in a few words, as markup: nothing in it was typed."""
    bought = " and ".join(one["buy"].partition(" (")[0] for one in found["lines"])
    return str(escape(f"{bought}, {found['cost']}" if bought and found["cost"] else bought))


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


async def save_job(request: Request) -> Response:
    """The job as a file to keep."""
    try:
        draft, _ = draft_of(await entries_of(request))
        text = await job_text_of(request, draft)
    except JobError as error:
        return refused(error)
    name = slug(shown(draft.table.get("title"))) or "job"
    return download(text.encode(), f"{name[:60]}.toml", "application/toml; charset=utf-8")


def download(data: bytes, name: str, media: str) -> Response:
    """A file to be saved."""
    plain = name.encode("ascii", "replace").decode().replace("?", "-")
    told = f"attachment; filename=\"{plain}\"; filename*=UTF-8''{quote(name)}"
    return Response(data, media_type=media, headers={"content-disposition": told})


def refused(error: JobError) -> Response:
    """A form that cannot be read at all."""
    return message("This form cannot be read", " ".join(str(fault) for fault in error.faults), 422)
