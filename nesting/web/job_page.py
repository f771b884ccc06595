"""The page of a draft with its sums, and the answers that hand a file over or refuse a form."""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, cast
from urllib.parse import quote

from starlette.requests import Request
from starlette.responses import Response

from nesting.errors import JobError
from nesting.names import slug
from nesting.web.asking import Answers
from nesting.web.caps import SMALL
from nesting.web.draft import Draft, packed, shown
from nesting.web.form import form_of
from nesting.web.form_faults import awaited, in_a_row, still_to_type, told_faults
from nesting.web.pictures import picture
from nesting.web.rendering import message, page
from nesting.web.sketch import sketch
from nesting.web.start import shelf_of
from nesting.web.strip import SideBySide
from nesting.web.told_job import BUSY, SearchSettings, job_text_of, sums_of


async def form_page(
    request: Request,
    draft: Draft,
    notes: Iterable[str] = (),
    search: SearchSettings | None = None,
    status: int = 200,
    strip: SideBySide | None = None,
    before: str = "",
    opened: int = 0,
) -> Response:
    """The page of a draft with its faults and sums; with another status than 200 a plan was asked for.

    ``strip``: its alternatives, where they are shown at once; ``before``: the job file to which one that was
    just taken can be taken back; ``opened``: when the job was last changed, where it was kept on disk.
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
        wrong=wrong_of(sums, form.summary),
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
        later=sums is BUSY or pending,
        opened=opened,
        shelf=shelf_of(request) is not None,
    )
    return passing(made, sums is BUSY or pending)


def asked_of(
    request: Request, draft: Draft, sums: Mapping[str, Any]
) -> tuple[Mapping[str, tuple[str, ...]], bool]:
    """What is asked at each field, and whether its amounts are still being worked out."""
    asked: Mapping[str, tuple[str, ...]] = sums["open"]
    if not asked:
        return asked, False
    answers = cast(Answers, request.app.state.answers).of(draft.table)
    return (asked, True) if answers is None else (answers.get("asked") or asked, False)


def passing(answer: Response, again: bool) -> Response:
    """The answer, with the bidding to ask again where its sums or amounts must wait."""
    if again:
        answer.headers["retry-after"] = "1"
    return answer


def wrong_of(sums: Mapping[str, Any], summary: Iterable[object]) -> int:
    """How many things are wrong: more than are shown where not all are, none where all is only not typed."""
    told = len(tuple(summary))
    return told + max(0, sums["wrong"] - len(sums["faults"])) if told else 0


def status_line(sums: Mapping[str, Any], *, pressed: bool = False) -> str:
    """How the job stands, in a few words."""
    _, summary = told_faults(sums["faults"], pressed=pressed)
    count, missing = wrong_of(sums, summary), still_to_type(sums["faults"])
    if missing and not count:
        return f"Still to type: {in_a_row(missing)}"
    if count:
        return "1 thing needs putting right" if count == 1 else f"{count} things need putting right"
    if sums is BUSY:
        return "The sums follow in a moment"
    if sums["stuck"]:
        return "This cannot be cut as it stands"
    pieces = f"{sums['count']} piece{'' if sums['count'] == 1 else 's'} to cut"
    asked = sums["asked"] + len(sums["open"])
    if asked:
        things = "1 thing to check" if asked == 1 else f"{asked} things to check"
        return f"{pieces}; {things} before you plan"
    return f"{pieces}; ready to plan"


async def job_file(request: Request, draft: Draft) -> Response:
    """The job of a draft as a file to keep or to send.

    Raises
    ------
    JobError
        It takes too long to write.
    """
    text = await job_text_of(request, draft)
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
