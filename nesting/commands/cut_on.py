"""A plan that is being cut and went wrong: what is left of it, planned again."""

from __future__ import annotations

from typing import TYPE_CHECKING, Annotated

import typer

from nesting.commands.answer_forms import USUAL_FORM
from nesting.commands.app import app, time_left
from nesting.commands.first_panel import give, length_of, names_of, plan_cut_by
from nesting.commands.flags import (
    Folder,
    FormatFlag,
    PaperFlag,
    PlanFile,
    Seed,
    TimeLimit,
    Workers,
    WorkLimit,
)
from nesting.errors import Fault, JobError, LengthError
from nesting.units import Unit, parse_length, round_nearest

if TYPE_CHECKING:
    from nesting.planning.at_table import Spoiled

_FLAW = "where it begins from the squared end, how long; then from the left, how wide: 100,2 or 100,2,10,3"


@app.command()
def recut(
    context: typer.Context,
    plan_file: PlanFile,
    cut: Annotated[str, typer.Option("--cut", metavar="1-3", help="The cuts that are made.")] = "",
    again: Annotated[
        str, typer.Option("--again", metavar="2", help="Those that went wrong and are cut again.")
    ] = "",
    fabric: Annotated[
        str,
        typer.Option(
            "--fabric", metavar="KEY", help="On which fabric something was found; default: the only."
        ),
    ] = "",
    on_hand: Annotated[
        str,
        typer.Option(
            "--on-hand", metavar="NAME", help="On which of its lengths on hand; default: as bought."
        ),
    ] = "",
    flaw: Annotated[
        list[str] | None,
        typer.Option("--flaw", metavar="AT,LONG,LEFT,WIDE", help=f"A flaw: {_FLAW}."),
    ] = None,
    repeat: Annotated[
        str, typer.Option("--repeat", metavar="LENGTH", help="The repeat as measured along the fabric.")
    ] = "",
    usable: Annotated[
        str, typer.Option("--usable", metavar="WIDTH", help="The usable width, where it is narrower.")
    ] = "",
    lost: Annotated[
        str,
        typer.Option("--lost", metavar="LENGTH", help="All that is uncut up to there is lost, from the end."),
    ] = "",
    left: Annotated[
        str, typer.Option("--left", metavar="LENGTH", help="What is still there behind the last cut.")
    ] = "",
    form: FormatFlag = USUAL_FORM,
    folder: Folder = None,
    time_limit: TimeLimit = 10.0,
    seed: Seed = 0,
    workers: Workers = None,
    work_limit: WorkLimit = None,
    paper: PaperFlag = None,
) -> None:
    """Plan the rest of a plan again that is being cut: cut pieces stay, the rest avoids what went wrong."""
    from nesting.planning.at_table import CutSoFar, Finding, replanned
    from nesting.planning.effort import Effort

    before = plan_cut_by(plan_file, folder)
    unit, keys = before.job.units, [one.key for one in before.job.fabrics]
    if fabric and fabric not in keys:
        raise JobError([Fault("--fabric", f'"{fabric}"', f"a fabric of this plan: {', '.join(keys)}")])
    found = Finding(
        fabric or keys[0],
        on_hand or None,
        flaws=tuple(_flaw(text, unit) for text in flaw or ()),
        repeat=length_of("--repeat", repeat, unit) if repeat else None,
        usable=length_of("--usable", usable, unit) if usable else None,
        lost=length_of("--lost", lost, unit) if lost else 0,
        left=length_of("--left", left, unit) if left else None,
    )
    empty = found == Finding(found.fabric, found.on_hand)
    if not empty and not fabric and len(keys) > 1:
        raise JobError([Fault("--fabric", "", f"the fabric it was found on: {', '.join(keys)}")])
    wrong = names_of("--again", again)
    made_cuts = (names_of("--cut", cut) if cut else frozenset[str]()) | wrong
    so_far = CutSoFar(made_cuts, wrong, () if empty else (found,))
    effort = Effort(time_left(context, time_limit), work_limit, workers, seed)
    give(lambda effort: replanned(before, so_far, effort=effort).plan, effort, unit, folder, paper, form)


def _flaw(text: str, unit: Unit) -> Spoiled:
    """A flaw: two lengths or four, with commas between."""
    from nesting.planning.at_table import Spoiled

    try:
        sides = [round_nearest(parse_length(part, unit)) for part in text.split(",")]
    except LengthError as error:
        raise JobError([Fault("--flaw", text, str(error))]) from error
    if len(sides) not in (2, 4):
        raise JobError([Fault("--flaw", text, _FLAW)])
    return Spoiled(*sides)
