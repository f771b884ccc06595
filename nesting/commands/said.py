"""What flags say of a job beyond its file: a margin to buy, and what was measured on the table."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import Final

from nesting.errors import Fault, JobError, LengthError
from nesting.job import Job
from nesting.margin import safety_of
from nesting.remeasure import with_measured_repeat, with_start
from nesting.units import parse_length, round_nearest

_OVER: Final = re.compile(r"(?P<length>.+?)\s+over\s+(?P<count>[1-9]\d{0,2})")


def with_margin(job: Job, safety: str | None) -> Job:
    """The job with another margin for every cloth, where the command asks for one."""
    if safety is None:
        return job
    try:
        margin = safety_of(safety, job.units)
    except LengthError as error:
        raise JobError([Fault("--safety", safety, str(error))]) from error
    cloths = tuple(replace(cloth, safety=None) for cloth in job.cloths)
    return replace(job, cloths=cloths, safety=margin)


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


def _split(flag: str, text: str) -> tuple[str, str]:
    key, sign, said = text.partition("=")
    if not (sign and key.strip() and said.strip()):
        raise JobError([Fault(flag, text, 'a cloth and a length, such as "face=25 3/8"')])
    return key.strip(), said.strip()


def _length(job: Job, flag: str, text: str, said: str) -> Fraction:
    try:
        return parse_length(said, job.units)
    except LengthError as error:
        raise JobError([Fault(flag, text, f"a length behind the sign: {error}")]) from error
