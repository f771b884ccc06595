"""Whole jobs, planned as `nesting plan` does, beside their plain plan packed alone: the figure of record.

What a maker gets comes from a whole job, in which seam plans, facing pieces and directions are open. Beside
it stands the same job cut by its plain plan, upright, packed by itself for half of that time and for all of
it: an open choice must not make the layout longer than a settled one. Also measured is how much longer the
layout still was half a second after the pieces were cut, for the page plans again as one types.
"""

from __future__ import annotations

import time
from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting import Effort as Settings
from nesting import plan_job
from nesting.check import check_plan_document
from nesting.files import plan_document, read_job_text
from nesting.packing import pack
from nesting.planning.ways import cases_of
from tests.benchmarks.families import SIZES, job_text
from tests.benchmarks.figures import gap, percent, whole
from tests.benchmarks.processes import ProcessError, apart
from tests.benchmarks.running import PATIENCE, Effort
from tests.benchmarks.sums import WINDOWS

#: Seconds after which there is to be a layout, and how much longer than the last it may be, in percent.
SOON, SOON_LONGER = 0.5, 3.0
#: Families whose jobs buy what they take of one open bolt.
FAMILIES = ("rooms", "prints")

_ROW = "{:<12} {:>7} {:>7} {:>9} {:>9} {:>7} {:>9} {:>9} {:>7} {:>7} {:>7} {:>6}  {}"
_SUM = "{:<24} {:>5} {:>7} {:>7} {:>9} {:>11} {:>11} {:>9} {:>9} {:>9} {:>7}"


@dataclass(frozen=True, slots=True)
class Whole:
    """What came of one job; lengths of its face in ticks.

    Attributes
    ----------
    half, full
        Of its plain plan packed alone, in half of the time and in all of it.
    soon
        Of the whole job, `SOON` seconds after its pieces were cut; None: there was none yet.
    later
        Of the whole job given more time, where that was asked for: what of the gap is the layout's.
    """

    family: str
    number: int
    windows: int = 0
    options: int = 1
    step: int = 1
    length: int | None = None
    bound: int = 0
    half: int | None = None
    full: int | None = None
    soon: int | None = None
    later: int | None = None
    seconds: float = 0.0
    fault: str = ""

    @property
    def soon_over(self) -> float | None:
        """How much longer the layout was that was there soon, in percent of the last."""
        return None if not self.length or self.soon is None else 100 * (self.soon - self.length) / self.length

    def steps_over(self, other: int | None) -> float | None:
        """By how many selling steps the whole job is longer."""
        return None if self.length is None or other is None else (self.length - other) / self.step


def named(patterns: Sequence[str]) -> list[tuple[str, int]]:
    """Jobs by family (``prints``) or by number (``prints/7``); all families without a name."""
    chosen = list[tuple[str, int]]()
    for pattern in patterns or FAMILIES:
        family, _, number = pattern.partition("/")
        if family in FAMILIES and (not number or (number.isdecimal() and 0 < int(number) <= SIZES[family])):
            chosen += [(family, n) for n in ([int(number)] if number else range(1, SIZES[family] + 1))]
    return list(dict.fromkeys(chosen))


def run_whole(family: str, number: int, effort: Effort, longer: float | None = None) -> Whole:
    """One job in a process of its own, and what is wrong with what came back."""
    patience = PATIENCE * (3 * effort.time_limit + (longer or 0.0)) + 60
    try:
        made: Whole = apart(planned, family, number, effort, longer, patience=patience)
    except ProcessError as failed:
        return Whole(family, number, fault=str(failed))
    return made


def planned(family: str, number: int, effort: Effort, longer: float | None = None) -> Whole:
    """Plan the job, pack its plain plan, and check, in this process."""
    job = read_job_text(job_text(family, number))
    face, bolts = job.fabric("face"), {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    case = cases_of(job, face, bolts)[0]
    options = 1
    for choice in case.lay.choices:
        options *= len(choice.options)
    plain = case.lay_by((0,) * len(case.choices)) if case.choices else case.lay

    def alone(seconds: float) -> int | None:
        found = pack(plain.problem, time_limit=seconds, workers=effort.workers, seed=effort.seed)
        return found.length

    settings = Settings(effort.time_limit, workers=effort.workers, seed=effort.seed)
    # What is loaded once for all must not count against whoever comes first.
    alone(0.1)
    began = time.monotonic()
    made = plan_job(job, effort=settings)
    seconds = time.monotonic() - began
    layout = next(one for one in made.layouts if one.fabric.key == "face")
    broken = check_plan_document(plan_document(made))
    later = None
    if longer is not None:
        given = plan_job(job, effort=replace(settings, seconds=longer))
        later = next(one for one in given.layouts if one.fabric.key == "face").length
    return Whole(
        family=family,
        number=number,
        windows=sum(window.count for window in job.windows),
        options=options,
        step=bolts["face"].sold_by,
        length=layout.length,
        bound=layout.bound.length,
        half=alone(effort.time_limit / 2),
        full=alone(effort.time_limit),
        soon=min((at.length for at in layout.incumbents if at.seconds <= SOON and at.length), default=None),
        later=later,
        seconds=seconds,
        fault="; ".join(str(violation) for violation in broken[:3]),
    )


def heading() -> str:
    """Above the rows."""
    return _ROW.format(
        *(
            "job",
            "windows",
            "options",
            "length",
            "bound",
            "gap %",
            "half",
            "full",
            "- half",
            "- full",
            "soon %",
            "sec",
        ),
        "found later, % of the gap",
    )


def row(run: Whole) -> str:
    """One job; differences in selling steps, below 0 where the whole job is the shorter."""
    name = f"{run.family}/{run.number}"
    if run.fault:
        return f"{name:<12} FAULT: {run.fault}"
    share = ""
    if run.later is not None and run.length is not None and run.length > run.bound:
        share = f"{100 * max(0, run.length - run.later) / (run.length - run.bound):.0f}"
    return _ROW.format(
        *(name, run.windows, run.options, whole(run.length), run.bound, percent(gap(run.length, run.bound))),
        *(whole(run.half), whole(run.full)),
        *(
            _signed(run.steps_over(run.half)),
            _signed(run.steps_over(run.full)),
            percent(run.soon_over),
            f"{run.seconds:.1f}",
        ),
        share,
    )


def _signed(steps: float | None) -> str:
    return "-" if steps is None else f"{steps:+.1f}"


def summary(runs: Sequence[Whole]) -> str:
    """A line for each family and how many windows: gaps, and where the plain plan alone was shorter."""
    names = (
        "jobs",
        "runs",
        "proven",
        "gap %",
        "in a step",
        "over half",
        "over full",
        "by a step",
        "by most",
        "not soon",
    )
    lines = [_SUM.format(*names, "faults")]
    for family in dict.fromkeys(run.family for run in runs):
        members = [run for run in runs if run.family == family]
        for low, high in WINDOWS:
            some = [run for run in members if low <= run.windows <= high]
            if some:
                lines.append(_sum(f"{family}, {low}-{high} windows", some))
        lines.append(_sum(family, members))
    return "\n".join(lines)


def _sum(name: str, runs: Sequence[Whole]) -> str:
    laid = [run for run in runs if run.length is not None]
    gaps = [gap(run.length, run.bound) or 0.0 for run in laid]
    over = [steps for run in laid if (steps := run.steps_over(run.full)) is not None]
    return _SUM.format(
        name,
        len(runs),
        sum(run.length == run.bound for run in laid),
        percent(sum(gaps) / len(gaps) if gaps else None),
        sum((run.length or 0) - run.bound <= run.step for run in laid),
        sum((run.steps_over(run.half) or 0) > 0 for run in laid),
        sum(steps > 0 for steps in over),
        sum(steps > 1 for steps in over),
        _signed(max(over, default=None)),
        sum(run.soon_over is None or run.soon_over > SOON_LONGER for run in laid),
        sum(bool(run.fault) for run in runs),
    )
