"""Commands for one job or plan."""

from __future__ import annotations

import contextlib
import time
from collections.abc import Iterator, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated

import typer
from rich.console import Console

from nesting.commands import output, tables
from nesting.commands.answer_forms import FORMS, USUAL_FORM
from nesting.commands.flags import (
    BoltsAtOnce,
    Cluster,
    Folder,
    FormatFlag,
    JobFile,
    MeasuredFlag,
    PaperFlag,
    Patience,
    PlanFile,
    SafetyFlag,
    Seed,
    StartFlag,
    TimeLimit,
    Units,
    Workers,
    WorkLimit,
    sheet_of,
)
from nesting.commands.live import Watch
from nesting.commands.running import new_app, run
from nesting.commands.said import job_of, remeasured, widths_said, with_hang_first, with_margin
from nesting.commands.streams import (
    INTERRUPTED,
    answer,
    end,
    end_if_short,
    say,
)
from nesting.errors import CheckError, DoesNotFitError, Fault, JobError
from nesting.files import PLAN, as_json, digest_of, write_new
from nesting.order.job import Job
from nesting.plan.comparison import Comparison
from nesting.plan.plan import Plan
from nesting.units import Unit

if TYPE_CHECKING:
    from nesting.planning.effort import Effort

app = new_app()


def main() -> None:
    """Run the command line."""
    run(app)


@contextlib.contextmanager
def watching(unit: Unit) -> Iterator[Watch]:
    """A search whose progress is shown on the terminal."""
    console = Console(stderr=True, highlight=False, markup=False, emoji=False)
    with Watch(console, unit) as watch:
        yield watch


def time_left(context: typer.Context, seconds: float) -> float:
    """What is left of the command's time."""
    started = context.obj if isinstance(context.obj, float) else time.monotonic()
    return max(0.0, seconds - (time.monotonic() - started))


def _require_folder(folder: Path | None) -> None:
    """Refuse a file named as folder before any work is done for it."""
    if folder is not None:
        output.require_folder(folder)


def _write(folder: Path | None, name: str, files: dict[str, bytes]) -> None:
    if folder is None:
        return
    plan = digest_of(files["plan.json"]) if name == PLAN else ""
    written = output.write_all(folder, files, name, plan)
    for path in written.paths:
        say(f"written: {path}")
    for line in output.beside(folder, written):
        say(line)


def planned_remarks(plan: Plan) -> None:
    """What a person should know of a plan, beside the answer."""
    for line in tables.advice_lines(plan.advice, ranked=True):
        say(line)
    for layout in plan.layouts:
        if layout.buy is not None:
            say(
                f"{layout.fabric.title}: buy {tables.bought(layout.buy)}; "
                f"proven least {tables.proven(layout, plan.job.units)}"
            )


@app.command()
def plan(
    context: typer.Context,
    job_file: JobFile,
    form: FormatFlag = USUAL_FORM,
    folder: Folder = None,
    time_limit: TimeLimit = 10.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    paper: PaperFlag = None,
    safety: SafetyFlag = None,
    measured: MeasuredFlag = None,
    starts: StartFlag = None,
    first: Annotated[
        str | None,
        typer.Option(
            "--hang-first",
            metavar="WINDOW,PANEL",
            help='Cut the widths of this panel first, to hang it before the rest is cut: "Bay, left".',
        ),
    ] = None,
    ask: Annotated[
        bool,
        typer.Option(
            "--what-if", help="Also say which small changes would save fabric, within as much again."
        ),
    ] = False,
) -> None:
    """Plan a job: what to buy, and where every piece lies; checked before it is shown."""
    from nesting.planning.planner import Effort
    from nesting.planning.planner import plan as make_plan

    _require_folder(folder)
    job = remeasured(with_margin(job_of(job_file), safety), measured or (), starts or ())
    job = with_hang_first(job, first)
    with watching(job.units) as watch:
        effort = Effort(time_left(context, time_limit), work_limit, workers, seed, watch.tell)
        made = make_plan(job, effort=effort)
        if ask and not watch.interrupted:
            from nesting.planning.what_if import what_if

            budget = Effort(
                max(1.0, time_left(context, 2 * time_limit)), work_limit, workers, seed, watch.tell
            )
            made = replace(made, what_if=what_if(made, effort=budget))
    # Every layout is checked as it is made; with the document that the drapes come out as ordered.
    document = cache(lambda: output.checked_document(made))
    unsewn = output.unsewn(made)
    if made.sewing and not unsewn:
        document()
    if folder is not None:
        _write(folder, PLAN, output.plan_files(made, sheet_of(paper), document()))
        if said := output.too_large(made):
            say(f"note: {said}")
    answer(FORMS[form].plan(made, document))
    planned_remarks(made)
    if unsewn and not document.cache_info().currsize:
        say(f"note: {unsewn}")
    if ask and not made.what_if:
        say("what if: no small change that would save fabric was found")
    if watch.interrupted:
        end("interrupted: the best layout found so far is given", INTERRUPTED)
    end_if_short(made)


@app.command()
def compare(
    context: typer.Context,
    job_file: JobFile,
    widths: Annotated[
        str, typer.Option("--widths", metavar="W,W,...", help="Further full widths, in the job's units.")
    ] = "",
    form: FormatFlag = USUAL_FORM,
    folder: Folder = None,
    time_limit: TimeLimit = 20.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    safety: SafetyFlag = None,
    at_once: BoltsAtOnce = None,
    cluster: Cluster = None,
    patience: Patience = 60.0,
) -> None:
    """Compare the widths in which the fabrics of a job are sold."""
    from nesting.planning.compare import NOT_FINISHED
    from nesting.planning.effort import Effort

    _require_folder(folder)
    job = with_margin(job_of(job_file), safety)
    further = widths_said(job, widths)
    for line in tables.remark_lines(remark for remark in job.remarks if remark.asks):
        say(line)
    effort = Effort(time_left(context, time_limit), work_limit, workers, seed)
    if cluster is None and (at_once or 1) == 1:
        made, code, said = _compared_in_turn(job, further, effort)
    else:
        from nesting.commands.comparing import compared_by_workers

        made, code, said = compared_by_workers(job, further, effort, at_once, cluster, patience)
    _write(folder, "comparison", output.comparison_files(made) if folder is not None else {})
    answer(FORMS[form].comparison(made))
    if all(option.layout is None and option.reason != NOT_FINISHED for option in made.options):
        reasons = "\n".join(f"  - {option.reason}" for option in made.options)
        raise DoesNotFitError(f"no bolt can hold this job:\n{reasons}")
    if code:
        end(said, code)


def _compared_in_turn(job: Job, widths: Sequence[int], effort: Effort) -> tuple[Comparison, int, str]:
    """The comparison with its progress on the terminal; where it was interrupted, the exit code and why."""
    from nesting.planning.compare import compare

    with watching(job.units) as watch:
        made = compare(job, widths=widths, effort=replace(effort, listener=watch.tell))
    if watch.interrupted:
        return made, INTERRUPTED, "interrupted: the best layouts found so far are given"
    return made, 0, ""


@app.command()
def pieces(job_file: JobFile, form: FormatFlag = USUAL_FORM, folder: Folder = None) -> None:
    """List every piece to cut with its arithmetic; nothing is laid."""
    from nesting.cutting.cut import cut, open_turns
    from nesting.cutting.offers import fullness_offers
    from nesting.planning.doubts import telling

    _require_folder(folder)
    job = job_of(job_file)
    bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    with telling(job):
        cutting = cut(job, bolts)
    _write(folder, "pieces", output.piece_files(cutting.pieces, job.units) if folder is not None else {})
    answer(FORMS[form].pieces(cutting.pieces, job.units))
    offered = (offer.advice for offer in fullness_offers(job, bolts))
    advice = (*cutting.advice, *offered, *open_turns(job, bolts, cutting))
    for line in (
        *tables.question_lines(job), *tables.remark_lines(job.remarks), *tables.advice_lines(advice)
    ):  # fmt: skip
        say(line)


@app.command()
def check(
    file: Annotated[Path, typer.Argument(metavar="FILE", help="A job (TOML) or a plan (JSON).")],
    convert: Annotated[
        Path | None,
        typer.Option(
            "--convert",
            metavar="NEW",
            help="Write a file of an earlier version here with the names of now, and check that one.",
        ),
    ] = None,
) -> None:
    """Check a file: a job is validated, a plan is verified from its numbers alone.

    Of a plan two things are said: that its layouts keep every rule, and how far their lengths are proved.
    """
    from nesting.check import check_plan_document, unjudged
    from nesting.files import read_job, read_plan_document

    if convert is not None:
        from nesting.commands.converting import converted, to_check

        for line in converted(file, convert):
            say(line)
        file = convert
        if not to_check(file):
            answer(f"{file}: in the names of now\n")
            return
    if file.suffix.lower() != ".json":
        from nesting.planning.planner import require_possible

        job = read_job(file)
        for line in (*tables.question_lines(job), *tables.remark_lines(job.remarks)):
            say(line)
        require_possible(job)
        counts = f"{_count(len(job.windows), 'window')}, {_count(len(job.extras), 'extra')}"
        answer(f"{file}: a job that can be planned ({counts})\n")
        return
    from nesting.commands.proofs import proof_lines

    document = read_plan_document(file)
    violations = check_plan_document(document)
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{file}: rules broken: {len(violations)}\n{listed}")
    answer(f"{file}: layout verified, a plan that keeps every rule\n")
    for line in (*proof_lines(document), *unjudged(document)):
        answer(f"  {line}\n")


def _count(number: int, noun: str) -> str:
    return f"{number} {noun}" if number == 1 else f"{number} {noun}s"


@app.command()
def draw(plan_file: PlanFile, folder: Folder = None, paper: PaperFlag = None) -> None:
    """Draw a plan's markers again, without solving: PNG, SVG, and PDF pages."""
    from nesting.check import check_plan_document
    from nesting.files import read_plan, read_plan_document

    if folder is None:
        raise JobError([Fault("-o", "", "the folder for the drawings, such as -o marker")])
    violations = check_plan_document(read_plan_document(plan_file))
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{plan_file} is not drawn, for it breaks rules\n{listed}")
    output.require_folder(folder)
    shown = output.drawings(read_plan(plan_file), sheet_of(paper))
    written = output.write_all(folder, shown, "drawings", digest_of(plan_file.read_bytes()))
    output.tell(folder, written)


@app.command()
def start(
    units: Annotated[Units, typer.Option("--units", help="What you measure in.")] = Units.INCH,
    csv: Annotated[
        bool, typer.Option("--csv", help="A measurement list instead: its columns, for a spreadsheet.")
    ] = False,
    folder: Folder = None,
) -> None:
    """Write a commented starter job that runs as it stands; standard output without -o."""
    from nesting.files import empty_list, starter_job

    name, text = ("windows.csv", empty_list(units.value)) if csv else ("job.toml", starter_job(units.value))
    if folder is None:
        answer(text)
        return
    path = folder / name
    output.require_folder(folder)
    try:
        # From now on it is the person's own file, of no set.
        write_new(path, text.encode())
    except FileExistsError:
        there = Fault("-o", str(folder), f"a folder without a {name}: {path} is there already")
        raise JobError([there]) from None
    answer(f"{path}\n")
    if csv:
        say('fill in one window a row, and name the list above the fabrics of a job: windows = "windows.csv"')


@app.command()
def schema() -> None:
    """Print the JSON Schema of the job file, for editors."""
    from nesting.files import job_schema

    answer(as_json(job_schema()))
