"""The packet of a plan, made again without solving; a practice sample or true-scale markers on request."""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path
from typing import Annotated

import typer

from nesting.commands import output
from nesting.commands.app import app
from nesting.commands.flags import Folder, PaperFlag, PlanFile, sheet_of
from nesting.errors import CheckError, Fault, JobError
from nesting.files import digest_of

_SMALLEST = Fraction(1, 20)


@app.command()
def packet(
    plan_file: PlanFile,
    folder: Folder = None,
    paper: PaperFlag = None,
    comparison: Annotated[
        Path | None,
        typer.Option(
            "--comparison", metavar="COMPARISON.json", help="Of `nesting compare`, for the buying list."
        ),
    ] = None,
    practice: Annotated[
        str,
        typer.Option(
            "--practice", metavar="1/3", help="Add a practice sample of one panel, so much smaller."
        ),
    ] = "",
    scale: Annotated[
        str, typer.Option("--scale", metavar="1:1", help="Add the markers in real millimeters.")
    ] = "",
) -> None:
    """Print a plan: packet as HTML and PDF, labels; a plan needs no solving, a practice sample a little."""
    from nesting.check import check_plan_document
    from nesting.files import read_comparison, read_plan, read_plan_document

    if folder is None:
        raise JobError([Fault("-o", "", "the folder for the packet, such as -o packet")])
    output.require_folder(folder)
    part = _fraction(practice) if practice else None
    full_size = _full_size(scale)
    violations = check_plan_document(read_plan_document(plan_file))
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{plan_file} is not printed, for it breaks rules\n{listed}")
    plan = read_plan(plan_file)
    compared = None if comparison is None else read_comparison(comparison, plan.job)
    files = output.packet_files(plan, sheet_of(paper), comparison=compared, practice=part)
    if full_size:
        files |= output.full_size_files(plan, sheet_of(paper))
    written = output.write_all(folder, files, "packet", digest_of(plan_file.read_bytes()))
    output.tell(folder, written)


def _fraction(text: str) -> Fraction:
    """How much smaller a practice sample is."""
    expected = "a fraction from 1/20 and below 1, such as 1/3"
    try:
        found = Fraction(text.strip()) if len(text) <= 12 else None
    except (ValueError, ZeroDivisionError):
        found = None
    if found is None or not _SMALLEST <= found < 1:
        raise JobError([Fault("--practice", text, expected)])
    return found


def _full_size(text: str) -> bool:
    """Whether the markers are wanted at true scale; no other scale is known."""
    if text.replace(" ", "") not in ("", "1:1"):
        raise JobError([Fault("--scale", text, "1:1, for markers in real millimeters")])
    return bool(text.strip())
