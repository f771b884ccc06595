"""The job that a command is about: from its file or from an earlier plan, with what flags say beyond it."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Final

from nesting.errors import Fault, JobError, LengthError
from nesting.order.job import Job
from nesting.order.remeasure import with_measured_repeat, with_start
from nesting.plan.margin import safety_of
from nesting.units import Unit, inches, parse_length, round_nearest, unit_ticks

_WIDEST: Final = inches(1200)
#: Drapery fabric is wider than this (common practice, no source).
_NARROWEST_FABRIC: Final = inches(20)
_UNCLEAR_WIDTHS: Final = (
    "widths between commas; this comma may part two widths or begin decimals: write a point for a decimal "
    "(137.5), or a space behind each comma (137, 280)"
)
_TIGHT_COMMA: Final = re.compile(r"(?<![\d./])(\d{1,4})(?=,(\d{1,4})(?![\d./]))")
_OVER: Final = re.compile(r"(?P<length>.+?)\s+over\s+(?P<count>[1-9]\d{0,2})")


def job_of(file: Path) -> Job:
    """The job of a TOML file, or the order that a plan (JSON) was made for, to be planned again.

    Raises
    ------
    JobError
        The file is no job, or a plan that does not carry its order.
    """
    if file.suffix.lower() != ".json":
        from nesting.files import read_job

        return read_job(file)
    from nesting.files import read_plan

    plan = read_plan(file)
    job = plan.job
    if job.hung:
        wanted = "a plan of which nothing is cut yet: `nesting hung` corrects this one further"
        raise JobError([Fault("order.hung", "", wanted)], file)
    if any(laid.done for layout in plan.layouts for laid in layout.placements):
        wanted = "a plan of which nothing is cut yet: `nesting recut` plans the rest of this one again"
        raise JobError([Fault("layouts", "", wanted)], file)
    if not job.windows and not job.extras:
        raise JobError([Fault("order", "", "a plan that carries its order, or the job file itself")], file)
    return job


def with_margin(job: Job, safety: str | None) -> Job:
    """The job with another margin for every fabric, where the command asks for one."""
    if safety is None:
        return job
    try:
        margin = safety_of(safety, job.units)
    except LengthError as error:
        raise JobError([Fault("--safety", safety, str(error))]) from error
    fabrics = tuple(replace(fabric, safety=None) for fabric in job.fabrics)
    return replace(job, fabrics=fabrics, safety=margin)


def with_hang_first(job: Job, panel: str | None) -> Job:
    """The job with the panel that is to hang first, as the command names it: ``Bay, left``."""
    if panel is None:
        return job
    from nesting.cutting.measures import hangings, settle

    name, _, key = (word.strip() for word in panel.rpartition(","))
    known = {window.name: [one.key for one in hangings(settle(job, window))] for window in job.windows}
    if key not in known.get(name, ()):
        listed = ", ".join(f'"{window}, {one}"' for window, keys in known.items() for one in keys)
        raise JobError([Fault("--hang-first", f'"{panel}"', f"a window and its panel: {listed or 'none'}")])
    return replace(job, hang_first=(name, key))


def remeasured(job: Job, repeats: Iterable[str], starts: Iterable[str]) -> Job:
    """The job with the repeats and starts that were measured on the table."""
    for text in repeats:
        key, said = _split("--measured", text)
        several = _OVER.fullmatch(said)
        length = _length(job, "--measured", text, several["length"] if several else said)
        job = with_measured_repeat(job, key, length / int(several["count"]) if several else length)
    for text in starts:
        key, said = _split("--start", text)
        job = with_start(job, key, round_nearest(_length(job, "--start", text, said)))
    return job


def widths_said(job: Job, text: str) -> tuple[int, ...]:
    """The widths asked for beside those on offer, in ticks, each once."""
    found: list[int] = []
    unclear = _unclear_comma(text, job.units)
    if unclear:
        raise JobError([Fault("--widths", unclear, _UNCLEAR_WIDTHS)])
    for word in text.split(",") if text.strip() else ():
        try:
            width = round_nearest(parse_length(word, job.units))
        except LengthError as error:
            raise JobError([Fault("--widths", word.strip(), f"widths between commas: {error}")]) from error
        if not 0 < width <= _WIDEST:
            raise JobError([Fault("--widths", word.strip(), "a width above 0, such as 54")])
        found.append(width)
    return tuple(dict.fromkeys(found))


def _unclear_comma(text: str, unit: Unit) -> str:
    """The two numbers whose comma may begin decimals or part thousands; empty where every comma is clear.

    One of the two is narrower than any drapery fabric: ``137,5`` in a job in cm, ``1,372`` in one in mm.
    """
    for found in _TIGHT_COMMA.finditer(text):
        if any(int(number) * unit_ticks(unit) < _NARROWEST_FABRIC for number in found.groups()):
            return f"{found[1]},{found[2]}"
    return ""


def _split(flag: str, text: str) -> tuple[str, str]:
    key, sign, said = text.partition("=")
    if not (sign and key.strip() and said.strip()):
        raise JobError([Fault(flag, text, 'a fabric and a length, such as "face=25 3/8"')])
    return key.strip(), said.strip()


def _length(job: Job, flag: str, text: str, said: str) -> Fraction:
    try:
        return parse_length(said, job.units)
    except LengthError as error:
        raise JobError([Fault(flag, text, f"a length behind the sign: {error}")]) from error
