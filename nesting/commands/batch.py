"""Many job files at once: here on processes of our own, or on a cluster."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

from nesting.commands import output, summary, tables
from nesting.commands.answer_forms import FORMS, USUAL_FORM
from nesting.commands.app import app
from nesting.commands.cluster import crew_for
from nesting.commands.ending import ending_once
from nesting.commands.flags import (
    Cluster,
    Folder,
    FormatFlag,
    JobFiles,
    JobsAtOnce,
    PaperFlag,
    Patience,
    Seed,
    TimeLimitEach,
    Workers,
    WorkLimit,
    sheet_of,
)
from nesting.commands.streams import (
    IMPOSSIBLE,
    INTERRUPTED,
    OWN_FAULT,
    answer,
    end,
    exit_code,
    say,
    short_of,
)
from nesting.commands.summary import JobRow
from nesting.errors import Fault, JobError, NestingError
from nesting.files import PLAN, digest_of
from nesting.order.job import Job
from nesting.plan.paper import Paper

if TYPE_CHECKING:
    from nesting.planning.effort import Effort
    from nesting.planning.workroom import Delivered

_DRAWING = threading.Lock()
"""The plotting library draws for one thread at a time; a cluster's worker may have several."""


@app.command()
def batch(
    job_files: JobFiles,
    form: FormatFlag = USUAL_FORM,
    folder: Folder = None,
    at_once: JobsAtOnce = None,
    time_limit: TimeLimitEach = 10.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    paper: PaperFlag = None,
    cluster: Cluster = None,
    patience: Patience = 60.0,
) -> None:
    """Plan many jobs, several at once: a folder of files for each, and a summary."""
    from nesting.planning.effort import Effort
    from nesting.planning.workers import searches

    paths = found(job_files)
    if folder is not None:
        output.require_folder(folder)
    rows, jobs = _read(paths)
    with crew_for(cluster, workers) as crew, ending_once(crew.present, patience) as ending:
        outcomes = searches(
            partial(_made, folder is not None, sheet_of(paper)),
            [job for _, job in jobs],
            effort=Effort(time_limit, work_limit, crew.workers, seed),
            executor=crew.executor,
            at_once=at_once,
            stop=ending.wanted,
        )
        for outcome in outcomes:
            number = jobs[outcome.number][0]
            rows[number] = _finished(rows[number], outcome, folder)
            _tell(rows[number])
            ending.came_back()
    answer(FORMS[form].jobs(rows))
    if ending.interrupted:
        end("interrupted: what was finished is given", INTERRUPTED)
    if ending.deserted:
        raise crew.deserted(patience)
    if summary.worst(rows):
        planned = sum(row.code == 0 for row in rows)
        end(f"{planned} of {len(rows)} jobs have a plan", summary.worst(rows))


def found(places: Sequence[Path]) -> list[Path]:
    """The job files named, and those in the folders named, each once.

    Raises
    ------
    JobError
        A folder holds no job file.
    """
    files, faults = dict[Path, Path](), list[Fault]()
    for place in places:
        inside = sorted(place.glob("*.toml")) if place.is_dir() else [place]
        if not inside:
            faults.append(Fault("JOBS", str(place), "a job file, or a folder with job files (*.toml)"))
        for file in inside:
            files.setdefault(file.resolve(), file)
    if faults:
        raise JobError(faults)
    return list(files.values())


def folder_names(files: Sequence[Path]) -> list[str]:
    """A folder's name for each job file: its own without the ending, numbered where two would meet."""
    taken, names = set[str](), list[str]()
    for file in files:
        # Some file systems take great and small letters for the same.
        plain = file.stem.strip(". ") or "job"
        name, number = plain, 1
        while name.casefold() in taken:
            number += 1
            name = f"{plain}-{number}"
        taken.add(name.casefold())
        names.append(name)
    return names


def _read(files: Sequence[Path]) -> tuple[list[JobRow], list[tuple[int, Job]]]:
    """A row for each file, and the jobs that could be read with the numbers of their rows."""
    from nesting.files import read_job

    rows, jobs = list[JobRow](), list[tuple[int, Job]]()
    for number, (file, name) in enumerate(zip(files, folder_names(files), strict=True)):
        row = JobRow(name, file, INTERRUPTED)
        try:
            job = read_job(file)
        except NestingError as error:
            row = replace(row, code=exit_code(error), said=str(error))
            _ask(name, error)
            _tell(row)
        else:
            row = replace(row, title=job.title, units=job.units, currency=job.currency)
            jobs.append((number, job))
        rows.append(row)
    return rows, jobs


@dataclass(frozen=True, slots=True)
class _Errand:
    """What a worker sends back of one job: its summary, its warnings, its files."""

    lines: tuple[summary.FabricLine, ...]
    warnings: tuple[str, ...]
    files: dict[str, bytes]
    short: str = ""


def _made(printed: bool, paper: Paper | None, effort: Effort, job: Job) -> _Errand:
    """Runs in a worker: one job planned, checked as a written plan, and drawn where its files are wanted."""
    from nesting.planning.many import plan_one

    plan = plan_one(effort, job)
    document = output.checked_document(plan)
    told = (advice for advice in plan.advice if advice.kind in ("question", "warning"))
    warnings = list(tables.advice_lines(told))
    with _DRAWING:
        files = {} if not printed else output.plan_files(plan, paper, document)
    if printed and (said := output.too_large(plan)):
        warnings.append(f"note: {said}")
    return _Errand(summary.fabric_lines(plan), tuple(warnings), files, short_of(plan))


def _finished(row: JobRow, outcome: Delivered[_Errand], folder: Path | None) -> JobRow:
    """The row of a job that came back, its files written."""
    row = replace(row, code=0, seconds=outcome.seconds, attempts=outcome.attempts)
    if outcome.made is None:
        _ask(row.name, outcome.error)
        return replace(row, **_failure(outcome.error))
    for warning in outcome.made.warnings:
        say(f"{row.name}: {warning}")
    try:
        if folder is not None:
            _write(folder / row.name, row.name, outcome.made.files)
    except NestingError as error:
        row = replace(row, **_failure(error))
    if outcome.made.short and row.code == 0:
        row = replace(row, code=IMPOSSIBLE, said=outcome.made.short)
    return replace(row, lines=outcome.made.lines)


def _write(folder: Path, name: str, files: dict[str, bytes]) -> None:
    """The files of one job in their folder, and what else a person should know of it."""
    written = output.write_all(folder, files, PLAN, digest_of(files["plan.json"]))
    for line in output.beside(folder, written):
        say(f"{name}: {line}")


def _ask(name: str, error: BaseException | None) -> None:
    """What is asked of a job that is refused."""
    for line in error.asked if isinstance(error, NestingError) else ():
        say(f"{name}: question: {line}")


def _failure(error: BaseException | None) -> dict[str, Any]:
    """Code and reason of a job without a plan."""
    if isinstance(error, NestingError):
        return {"code": exit_code(error), "said": str(error)}
    return {"code": OWN_FAULT, "said": f"no fault of the job: {type(error).__name__}: {error}"}


def _tell(row: JobRow) -> None:
    """One line as a job comes back."""
    if row.code == 0:
        say(f"{row.name}: planned in {row.seconds:.1f} s")
    else:
        say(f"{row.name}: {summary.WORDS[row.code]}: {row.said.splitlines()[0] if row.said else ''}")
