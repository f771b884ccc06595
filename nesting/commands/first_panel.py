"""A plan whose first panel hangs: the rest of it by the length that was measured."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from dataclasses import replace
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Annotated, Final

import typer

from nesting.commands import output
from nesting.commands.answer_forms import FORMS, USUAL_FORM
from nesting.commands.app import app, planned_remarks, time_left, watching
from nesting.commands.flags import (
    Folder,
    FormatFlag,
    Paper,
    PaperFlag,
    PlanFile,
    Seed,
    TimeLimit,
    Workers,
    WorkLimit,
    sheet_of,
)
from nesting.commands.streams import INTERRUPTED, answer, end, end_if_short, say
from nesting.errors import CheckError, Fault, JobError, LengthError
from nesting.files import PLAN, digest_of
from nesting.units import Unit, parse_length, round_nearest

if TYPE_CHECKING:
    from nesting.plan.plan import Plan
    from nesting.planning.effort import Effort

_RUN: Final = re.compile(r"([A-Z]*)(\d{1,6})(?:\s*(?:-|to)\s*([A-Z]*)(\d{1,6}))?", re.IGNORECASE)
_MOST_CUTS: Final = 100_000
_CUTS: Final = "cuts by their names in this plan, such as 1-3, or A1-A3, B2 where there are several fabrics"


@app.command()
def hung(
    context: typer.Context,
    plan_file: PlanFile,
    window: Annotated[str, typer.Option("--window", metavar="NAME", help="The window whose panel hangs.")],
    panel: Annotated[str, typer.Option("--panel", metavar="left|right|single", help="Which of its panels.")],
    length: Annotated[
        str,
        typer.Option(
            "--length",
            metavar="LENGTH",
            help="From its top edge to the wanted hem as it hangs, measured.",
        ),
    ],
    cut: Annotated[str, typer.Option("--cut", metavar="1-3", help="The cuts that are made.")],
    again: Annotated[
        str, typer.Option("--again", metavar="2", help="Of those, the ones to cut again: they are too short.")
    ] = "",
    hem: Annotated[
        str,
        typer.Option("--hem", metavar="DEPTH", help="Another depth of the bottom hem, on all its panels."),
    ] = "",
    lining_gap: Annotated[
        str,
        typer.Option(
            "--lining-gap", metavar="LENGTH", help="How far its linings end above the hem edge instead."
        ),
    ] = "",
    also: Annotated[
        list[str] | None,
        typer.Option("--also", metavar="NAME", help="Another window that is longer or shorter by as much."),
    ] = None,
    alone: Annotated[
        bool,
        typer.Option("--alone", help="Correct this window only, not those of its room with a level print."),
    ] = False,
    hems_only: Annotated[
        bool,
        typer.Option("--hems-only", help="Cut the rest as planned: only its hems are turned otherwise."),
    ] = False,
    left: Annotated[
        list[str] | None,
        typer.Option(
            "--left",
            metavar="FABRIC=LENGTH",
            help='What is still on the bolt, measured: "face=6 yd"; default: by the plan.',
        ),
    ] = None,
    whole_from: Annotated[
        list[str] | None,
        typer.Option(
            "--whole-from",
            metavar="FABRIC=LENGTH",
            help='From where the fabric is whole, measured: "face=104"; default: by the cuts that are made.',
        ),
    ] = None,
    form: FormatFlag = USUAL_FORM,
    folder: Folder = None,
    time_limit: TimeLimit = 10.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    paper: PaperFlag = None,
) -> None:
    """Correct a plan by its first panel that hangs: cut pieces stay, the rest is cut to the new length."""
    from nesting.planning.effort import Effort
    from nesting.planning.rehung import Measured, hung

    before = plan_cut_by(plan_file, folder)
    unit = before.job.units
    measured = Measured(
        window=window,
        panel=panel,
        length=length_of("--length", length, unit),
        cut=names_of("--cut", cut),
        again=names_of("--again", again),
        hem=length_of("--hem", hem, unit) if hem else None,
        lining_gap=length_of("--lining-gap", lining_gap, unit) if lining_gap else None,
        also=tuple(also or ()),
        alone=alone,
        hems_only=hems_only,
        left=_by_fabric("--left", left or (), unit, [fabric.key for fabric in before.job.fabrics]),
        whole_from=_by_fabric(
            "--whole-from", whole_from or (), unit, [fabric.key for fabric in before.job.fabrics]
        ),
    )
    effort = Effort(time_left(context, time_limit), work_limit, workers, seed)
    give(lambda effort: hung(before, measured, effort=effort).plan, effort, unit, folder, paper, form)


def plan_cut_by(plan_file: Path, folder: Path | None) -> Plan:
    """The plan that is cut by, checked; it is kept, so what comes of it goes to another folder.

    Raises
    ------
    CheckError
        It breaks a rule.
    JobError
        The folder is its own, or has a plan.
    """
    from nesting.check import check_plan_document
    from nesting.files import read_plan, read_plan_document

    if folder is not None:
        output.require_folder(folder)
        _require_other(folder, plan_file)
    if violations := check_plan_document(read_plan_document(plan_file)):
        listed = "\n".join(f"  - {violation}" for violation in violations)
        raise CheckError(f"{plan_file} is not planned on, for it breaks rules\n{listed}")
    return read_plan(plan_file)


def give(
    planned: Callable[[Effort], Plan],
    effort: Effort,
    unit: Unit,
    folder: Path | None,
    paper: Paper | None,
    form: str,
) -> None:
    """The plan of what is left, watched while it is made: as an answer, and its files in a folder, if any.

    Parameters
    ----------
    planned
        Makes it with an effort that tells of its progress.
    effort
        How long to search.
    unit
        In which its lengths are told.
    folder, paper, form
        As the flags say.
    """
    with watching(unit) as watch:
        made = planned(replace(effort, listener=watch.tell))
    document = cache(lambda: output.checked_document(made))
    checked = document()
    if folder is not None:
        files = output.plan_files(made, sheet_of(paper), checked)
        written = output.write_all(folder, files, PLAN, digest_of(files["plan.json"]))
        for path in written.paths:
            say(f"written: {path}")
        for line in output.beside(folder, written):
            say(line)
    answer(FORMS[form].plan(made, document))
    planned_remarks(made)
    if watch.interrupted:
        end("interrupted: the best layout found so far is given", INTERRUPTED)
    end_if_short(made)


def _require_other(folder: Path, plan_file: Path) -> None:
    """Refuse the folder of a plan: the one that the cuts were made by is kept, with all its files."""
    there = folder / "plan.json"
    if there.exists() or plan_file.resolve().parent == folder.resolve():
        wanted = f"a folder without a plan, such as {folder / 'hung'}: the plan that was cut by is kept"
        raise JobError([Fault("-o", str(folder), wanted)])


def length_of(flag: str, text: str, unit: Unit) -> int:
    """The length that a flag says, in ticks, above 0."""
    try:
        found = round_nearest(parse_length(text, unit))
    except LengthError as error:
        raise JobError([Fault(flag, text, str(error))]) from error
    if found <= 0:
        raise JobError([Fault(flag, text, "a length above 0, such as 94 3/4")])
    return found


def names_of(flag: str, text: str) -> frozenset[str]:
    """The names of cuts in a text: ``1-3, B2``."""
    found = set[str]()
    for word in re.split(r"[,;]", text) if text.strip() else ():
        run = _RUN.fullmatch(word.strip())
        if run is None:
            raise JobError([Fault(flag, word.strip() or text, _CUTS)])
        letter, first = run[1].upper(), int(run[2])
        other, last = (run[3] or "").upper(), int(run[4] or run[2])
        if other not in ("", letter) or not first <= last <= first + _MOST_CUTS:
            raise JobError([Fault(flag, word.strip(), _CUTS)])
        found |= {f"{letter}{number}" for number in range(first, last + 1)}
    if not found and flag == "--cut":
        raise JobError([Fault(flag, text, _CUTS)])
    return frozenset(found)


def _by_fabric(flag: str, texts: Sequence[str], unit: Unit, keys: Sequence[str]) -> Mapping[str, int]:
    found = dict[str, int]()
    for text in texts:
        key, sign, said = (part.strip() for part in text.partition("="))
        if not sign or key not in keys:
            raise JobError([Fault(flag, text, f"a fabric and a length: {keys[0]}=104, of {', '.join(keys)}")])
        found[key] = length_of(flag, said, unit)
    return found
