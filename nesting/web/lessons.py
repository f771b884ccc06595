"""The pages of handouts: `/lesson/back-tab`, in inches or centimeters, to read or to download as PDF."""

from __future__ import annotations

from datetime import date
from typing import Final, cast

from starlette.requests import Request
from starlette.responses import Response

from nesting.headings import HEADINGS
from nesting.web.guard import PRINT_POLICY
from nesting.web.job_page import download
from nesting.web.lesson_line import Lessons
from nesting.web.rendering import message

_UNITS: Final = ("in", "cm")


async def lesson(request: Request) -> Response:
    """The handout of a heading; ``units=cm`` and ``form=pdf`` choose another."""
    heading = request.path_params["heading"]
    units = request.query_params.get("units", _UNITS[0])
    if heading not in HEADINGS or units not in _UNITS:
        return message("There is no such lesson", "The start page lists those there are.", 404)
    lessons = cast(Lessons, request.app.state.lessons)
    made = await lessons.of(heading, units, date.today())
    if made is None:
        return message("That took too long", "Other work has the computer. Go back and try again.", 503)
    if request.query_params.get("form") == "pdf":
        return download(made["pdf"], f"lesson-{heading}-{units}.pdf", "application/pdf")
    return Response(
        made["html"], media_type="text/html; charset=utf-8", headers={"content-security-policy": PRINT_POLICY}
    )
