"""A handout for a class on one heading: no job is needed."""

from __future__ import annotations

from datetime import date
from enum import StrEnum
from typing import Annotated

import typer

from nesting.commands import output
from nesting.commands.app import app
from nesting.commands.flags import Folder
from nesting.commands.streams import answer
from nesting.errors import Fault, JobError
from nesting.headings import HEADINGS


class ClassUnits(StrEnum):
    """What the class measures with."""

    INCH = "in"
    CENTIMETER = "cm"


@app.command()
def lesson(
    heading: Annotated[str, typer.Argument(metavar="HEADING", help=f"One of {', '.join(HEADINGS)}.")],
    units: Annotated[
        ClassUnits, typer.Option("--units", help="What the class measures in; decides the paper too.")
    ] = ClassUnits.INCH,
    folder: Folder = None,
) -> None:
    """A handout for a class: measuring, sums, blanks to fill, a sample to sew, and the answer key."""
    from nesting.lesson import lesson_files
    from nesting.lesson.handout import lesson as handout
    from nesting.lesson.plain import packet_text

    if heading not in HEADINGS:
        raise JobError([Fault("HEADING", heading, f"one of {', '.join(HEADINGS)}")])
    today = date.today()
    if folder is None:
        answer(packet_text(handout(heading, units.value, made=today)))
        return
    output.require_folder(folder)
    files = lesson_files(heading, units.value, made=today)
    output.tell(folder, output.write_all(folder, files, f"lesson-{heading}"))
