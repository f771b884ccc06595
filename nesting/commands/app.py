"""Commands, flags and exit codes."""

from __future__ import annotations

import contextlib
import io
import math
import os
import sys
import time
from collections.abc import Iterator
from enum import StrEnum
from pathlib import Path
from typing import Annotated, NoReturn

import typer
from rich.console import Console

from nesting.commands import output, tables
from nesting.commands.live import Watch
from nesting.errors import (
    CheckError,
    DoesNotFitError,
    Fault,
    JobError,
    LengthError,
    NestingError,
    NothingFoundError,
)
from nesting.job import Job
from nesting.plan import Plan
from nesting.units import Unit, round_nearest

OWN_FAULT, BAD_USAGE, IMPOSSIBLE, NOTHING_FOUND, INTERRUPTED = 1, 2, 3, 4, 130

app = typer.Typer(
    name="nesting",
    help="Cutting plans for drapes: what to cut, how to lay it on the bolt, how little to buy, and proof.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)


class Format(StrEnum):
    """In which form the answer comes."""

    TABLE = "table"
    JSON = "json"
    CSV = "csv"


class Paper(StrEnum):
    """The paper a marker is printed on."""

    A4 = "a4"
    LETTER = "letter"


class Units(StrEnum):
    """What a starter job is measured in."""

    INCH = "in"
    CENTIMETRE = "cm"
    MILLIMETRE = "mm"


def _finite(number: float | None) -> float | None:
    """A number that is one: neither nan nor without end."""
    if number is not None and not math.isfinite(number):
        raise typer.BadParameter(f"{number} is no amount: give a number, such as 30")
    return number


JobFile = Annotated[Path, typer.Argument(metavar="JOB", help="The job file (TOML); see `nesting start`.")]
PlanFile = Annotated[Path, typer.Argument(metavar="PLAN.json", help="A plan written by `nesting plan`.")]
FormatFlag = Annotated[Format, typer.Option("--format", help="In which form the answer comes.")]
Folder = Annotated[
    Path | None, typer.Option("-o", "--output", metavar="FOLDER", help="Write files here; else none.")
]
TimeLimit = Annotated[
    float,
    typer.Option("--time-limit", metavar="SECONDS", min=0.0, callback=_finite, help="For the whole command."),
]
Seed = Annotated[int, typer.Option("--seed", min=0, help="Of all random choices.")]
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
        help="Instead of seconds: free of the clock.",
    ),
]
PaperFlag = Annotated[Paper, typer.Option("--paper", help="For printed pages.")]


def main() -> None:
    """Run the command line; every fault leaves one readable message and the exit code of its kind."""
    started = time.monotonic()
    _speak_unicode()
    try:
        app(standalone_mode=True, obj=started)
    except NestingError as error:
        _end(str(error), _code(error))
    except (KeyboardInterrupt, typer.Abort):
        _end("interrupted", INTERRUPTED)
    except Exception as error:
        if os.environ.get("NESTING_TRACEBACK"):
            raise
        _end(
            f"a fault of this program, not of your job: {type(error).__name__}: {error}\n"
            "set NESTING_TRACEBACK=1, run it again, and report what it says",
            OWN_FAULT,
        )


def _speak_unicode() -> None:
    """Arrows and currency signs must come through whatever the locale: as UTF-8 into pipes and files."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")


def _code(error: NestingError) -> int:
    if isinstance(error, CheckError):
        return OWN_FAULT
    if isinstance(error, DoesNotFitError):
        return IMPOSSIBLE
    return NOTHING_FOUND if isinstance(error, NothingFoundError) else BAD_USAGE


def _end(message: str, code: int) -> NoReturn:
    print(f"nesting: {message}", file=sys.stderr)
    sys.exit(code)


def _say(text: str) -> None:
    """A remark for the person, beside the answer."""
    print(text, file=sys.stderr)


def _answer(renderable: object) -> None:
    """The answer itself: a table on a terminal's width, plain text as it is."""
    text = renderable if isinstance(renderable, str) else _set(renderable)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader went away; what it has read is right. Nothing is left to be written at exit either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _set(renderable: object) -> str:
    """A table as text, as wide as the terminal, or for a pipe as wide as a printed page."""
    page = io.StringIO()
    terminal = sys.stdout.isatty()
    width = Console(file=sys.stdout).width if terminal else 140
    console = Console(
        file=page, width=width, force_terminal=terminal, highlight=False, markup=False, emoji=False
    )
    console.print(renderable)
    return "".join(f"{line.rstrip()}\n" for line in page.getvalue().splitlines())


@contextlib.contextmanager
def _watching(unit: Unit) -> Iterator[Watch]:
    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    with Watch(console, unit) as watch:
        yield watch


def _left(context: typer.Context, seconds: float) -> float:
    """What is left of the command's time."""
    started = context.obj if isinstance(context.obj, float) else time.monotonic()
    return max(0.0, seconds - (time.monotonic() - started))


def _require_folder(folder: Path | None) -> None:
    """Refuse a file named as folder before any work is done for it."""
    if folder is not None:
        output.require_folder(folder)


def _write(folder: Path | None, files: dict[str, bytes]) -> None:
    if folder is not None:
        for path in output.write_all(folder, files):
            _say(f"written: {path}")


def _remarks(plan: Plan) -> None:
    for line in tables.advice_lines(plan.advice):
        _say(line)
    for layout in plan.layouts:
        if layout.buy is not None:
            _say(
                f"{layout.cloth.title}: buy {tables.bought(layout.buy)}; "
                f"proven least {tables.proven(layout, plan.job.units)}"
            )


@app.command()
def plan(
    context: typer.Context,
    job_file: JobFile,
    form: FormatFlag = Format.TABLE,
    folder: Folder = None,
    time_limit: TimeLimit = 10.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    paper: PaperFlag = Paper.A4,
) -> None:
    """Plan a job: what to buy, and where every piece lies; checked before it is shown."""
    from nesting.check import check_plan_document
    from nesting.files import cut_list_csv, plan_document, read_job
    from nesting.planner import Effort
    from nesting.planner import plan as make_plan

    _require_folder(folder)
    job = read_job(job_file)
    with _watching(job.units) as watch:
        effort = Effort(_left(context, time_limit), work_limit, workers, seed, watch.tell)
        made = make_plan(job, effort=effort)
    document = plan_document(made)
    violations = check_plan_document(document)
    if violations:
        raise CheckError("the plan failed its check:\n" + "\n".join(f"  - {v}" for v in violations[:20]))
    _write(folder, output.plan_files(made, paper.value) if folder is not None else {})
    answers = {Format.JSON: lambda: output.as_json(document), Format.CSV: lambda: cut_list_csv(made)}
    _answer(answers[form]() if form in answers else tables.plan_table(made))
    _remarks(made)
    if watch.interrupted:
        _end("interrupted: the best layout found so far is given", INTERRUPTED)


@app.command()
def compare(
    context: typer.Context,
    job_file: JobFile,
    widths: Annotated[
        str, typer.Option("--widths", metavar="W,W,...", help="Further full widths, in the job's units.")
    ] = "",
    form: FormatFlag = Format.TABLE,
    folder: Folder = None,
    time_limit: TimeLimit = 20.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
) -> None:
    """Compare the widths in which the cloths of a job are sold."""
    from nesting.files import read_job
    from nesting.planner import Effort
    from nesting.planner import compare as make_comparison

    _require_folder(folder)
    job = read_job(job_file)
    further = _widths(job, widths)
    with _watching(job.units) as watch:
        effort = Effort(_left(context, time_limit), work_limit, workers, seed, watch.tell)
        made = make_comparison(job, widths=further, effort=effort)
    _write(folder, output.comparison_files(made) if folder is not None else {})
    if form is Format.JSON:
        _answer(output.as_json(output.comparison_document(made)))
    elif form is Format.CSV:
        _answer(output.comparison_csv(made))
    else:
        _answer(tables.comparison_table(made))
    if all(option.layout is None for option in made.options):
        reasons = "\n".join(f"  - {option.reason}" for option in made.options)
        raise DoesNotFitError(f"no bolt can hold this job:\n{reasons}")
    if watch.interrupted:
        _end("interrupted: the best layouts found so far are given", INTERRUPTED)


def _widths(job: Job, text: str) -> tuple[int, ...]:
    """The widths asked for beside those on offer."""
    from nesting.units import parse_length

    found: list[int] = []
    for word in text.split(",") if text.strip() else ():
        try:
            width = round_nearest(parse_length(word, job.units))
        except LengthError as error:
            raise JobError([Fault("--widths", word.strip(), f"widths between commas: {error}")]) from error
        if not 0 < width <= 100 * 12 * 2032:
            raise JobError([Fault("--widths", word.strip(), "a width above 0, such as 54")])
        found.append(width)
    return tuple(dict.fromkeys(found))


@app.command()
def pieces(job_file: JobFile, form: FormatFlag = Format.TABLE, folder: Folder = None) -> None:
    """List every piece to cut with its arithmetic; nothing is laid."""
    from nesting.cutting import cut
    from nesting.files import piece_documents, pieces_csv, read_job

    _require_folder(folder)
    job = read_job(job_file)
    cutting = cut(job, {cloth.key: cloth.bolts[0] for cloth in job.cloths})
    listed = pieces_csv(cutting.pieces, job.units)
    document = output.as_json(piece_documents(cutting.pieces, job.units))
    _write(folder, {"pieces.csv": listed.encode(), "pieces.json": document.encode()})
    if form is Format.TABLE:
        _answer(tables.pieces_table(cutting.pieces, job.units))
    else:
        _answer(listed if form is Format.CSV else document)
    for line in tables.advice_lines(cutting.advice):
        _say(line)


@app.command()
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A job (TOML) or a plan (JSON).")],
) -> None:
    """Check a file: a job is validated, a plan is verified from its numbers alone."""
    from nesting.check import check_plan_document
    from nesting.files import read_job, read_plan_document

    if file.suffix.lower() != ".json":
        from nesting.planner import require_possible

        job = read_job(file)
        for remark in job.remarks:
            _say(f"warning: {remark}")
        require_possible(job)
        counts = f"{_count(len(job.windows), 'window')}, {_count(len(job.extras), 'extra')}"
        _answer(f"{file}: a job that can be planned ({counts})\n")
        return
    violations = check_plan_document(read_plan_document(file))
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{file}: rules broken: {len(violations)}\n{listed}")
    _answer(f"{file}: a plan that keeps every rule\n")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


@app.command()
def draw(plan_file: PlanFile, folder: Folder = None, paper: PaperFlag = Paper.A4) -> None:
    """Draw a plan's markers again, without solving: PNG, SVG, and PDF pages."""
    from nesting.check import check_plan_document
    from nesting.files import read_plan, read_plan_document

    if folder is None:
        raise JobError([Fault("-o", "", "the folder for the drawings, such as -o marker")])
    violations = check_plan_document(read_plan_document(plan_file))
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{plan_file} is not drawn, for it breaks rules\n{listed}")
    for path in output.write_all(folder, output.drawings(read_plan(plan_file), paper.value)):
        _answer(f"{path}\n")


@app.command()
def start(
    units: Annotated[Units, typer.Option("--units", help="What you measure in.")] = Units.INCH,
    folder: Folder = None,
) -> None:
    """Write a commented starter job that runs as it stands; standard output without -o."""
    from nesting.files import starter_job

    text = starter_job(units.value)
    if folder is None:
        _answer(text)
        return
    path = folder / "job.toml"
    if path.exists():
        raise JobError([Fault("-o", str(folder), f"a folder without a job.toml: {path} is there already")])
    for written in output.write_all(folder, {"job.toml": text.encode()}):
        _answer(f"{written}\n")


@app.command()
def schema() -> None:
    """Print the JSON Schema of the job file, for editors."""
    from nesting.files import job_schema

    _answer(output.as_json(job_schema()))
