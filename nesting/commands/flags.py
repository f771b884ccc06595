"""Flags and arguments that several commands share."""

from __future__ import annotations

import math
from enum import StrEnum
from pathlib import Path
from typing import Annotated

import typer

from nesting.commands.answer_forms import FORMS
from nesting.plan.paper import Paper as Sheet


class Paper(StrEnum):
    """The paper of printed pages."""

    A4 = "a4"
    LETTER = "letter"


def sheet_of(paper: Paper | None) -> Sheet | None:
    """The paper that was asked for, as the core knows it; None: that of the job's units."""
    return None if paper is None else paper.value


class Units(StrEnum):
    """What a starter job is measured in."""

    INCH = "in"
    CENTIMETER = "cm"
    MILLIMETER = "mm"


def _finite(number: float | None) -> float | None:
    """A number that is one: neither nan nor without end."""
    if number is not None and not math.isfinite(number):
        raise typer.BadParameter(f"{number} is no amount: give a number, such as 30")
    return number


def _known_form(name: str) -> str:
    """The name of a form in which answers come."""
    if name not in FORMS:
        known = ", ".join(f"'{each}'" for each in FORMS)
        raise typer.BadParameter(f"'{name}' is not one of {known}.")
    return name


JobFile = Annotated[
    Path,
    typer.Argument(metavar="JOB", help="The job file (TOML; see `nesting start`), or a plan to make again."),
]
JobFiles = Annotated[
    list[Path], typer.Argument(metavar="JOBS...", help="Job files (TOML), and folders of them.")
]
PlanFile = Annotated[Path, typer.Argument(metavar="PLAN.json", help="A plan written by `nesting plan`.")]
FormatFlag = Annotated[
    str,
    typer.Option(
        "--format",
        metavar=f"[{'|'.join(FORMS)}]",
        callback=_known_form,
        help="Output format.",
    ),
]
Folder = Annotated[
    Path | None,
    typer.Option(
        "-o", "--output", metavar="FOLDER", help="Folder for the files; without it none are written."
    ),
]
TimeLimit = Annotated[
    float,
    typer.Option("--time-limit", metavar="SECONDS", min=0.0, callback=_finite, help="For the whole command."),
]
TimeLimitEach = Annotated[
    float, typer.Option("--time-limit", metavar="SECONDS", min=0.0, callback=_finite, help="For each job.")
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Random seed.")]
Workers = Annotated[
    int | None, typer.Option("--workers", min=1, max=256, help="Threads; default: all cores.")
]
WorkLimit = Annotated[
    float | None,
    typer.Option(
        "--work-limit",
        metavar="UNITS",
        min=0.0,
        callback=_finite,
        help="Limit work instead of time: the same result on any machine.",
    ),
]
SafetyFlag = Annotated[
    str | None,
    typer.Option(
        "--safety",
        metavar="MARGIN",
        help='Buy a margin of every fabric: usual, none, "10 %" or "1 yd"; else as the job says.',
    ),
]
MeasuredFlag = Annotated[
    list[str] | None,
    typer.Option(
        "--measured",
        metavar="FABRIC=REPEAT",
        help='The repeat as measured on the bolt: "face=25 3/8", or over several: "face=127 over 5".',
    ),
]
StartFlag = Annotated[
    list[str] | None,
    typer.Option(
        "--start",
        metavar="FABRIC=HEIGHT",
        help='How high the pattern stands at the squared end, as chosen on the table: "face=6".',
    ),
]
JobsAtOnce = Annotated[
    int | None,
    typer.Option(
        "--at-once", metavar="N", min=1, max=100_000, help="Jobs at a time; default: as many as cores."
    ),
]
BoltsAtOnce = Annotated[
    int | None,
    typer.Option(
        "--at-once",
        metavar="N",
        min=1,
        max=100_000,
        help="Bolts at a time; default: in turn, or a cluster's.",
    ),
]
Cluster = Annotated[
    str | None,
    typer.Option("--cluster", metavar="ADDRESS", help="A Dask cluster to run on: tcp://HOST:PORT."),
]
Patience = Annotated[
    float,
    typer.Option(
        "--patience",
        metavar="SECONDS",
        min=1.0,
        callback=_finite,
        help="How long to wait for a cluster without workers.",
    ),
]
PaperFlag = Annotated[
    Paper | None,
    typer.Option(
        "--paper", help="For printed pages. Default: letter for jobs in inches, a4 for metric ones."
    ),
]
