"""Reads a job file: TOML in, `nesting.order.job.Job` out, or every fault of it at once."""

from __future__ import annotations

import logging
import re
import tomllib
from collections.abc import Iterator, Mapping, Sized
from contextlib import suppress
from dataclasses import replace
from pathlib import Path
from typing import Any, Final, cast

from pydantic import ValidationError

from nesting.errors import Fault, JobError, NestingError
from nesting.files.checks import check_job
from nesting.files.content import content_of
from nesting.files.faults import Faults, Loc, as_decimal, prune
from nesting.files.measurement_list import MeasurementList, read_list
from nesting.files.order import WORDS_OF_UNITS
from nesting.files.outline import outline_of
from nesting.files.renamed import old_names
from nesting.files.sense import check_sense, questions
from nesting.files.settle import settle_job
from nesting.files.window_order import JobEntry
from nesting.order.job import Job
from nesting.units import Unit

_LOG = logging.getLogger(__name__)
_MOST_BYTES: Final = 2 * 1024 * 1024
#: Tables within tables that are still read, so that a job with some too many gets its own faults.
_MOST_DEPTH: Final = 60
#: Of a whole number: some more than those of 10^30, from which on no number is shown.
_MOST_BITS: Final = 128
_PLACE: Final = re.compile(r"\s*\(at (?:line (\d+), column (\d+)|end of document)\)")
_BARE_FRACTION: Final = re.compile(
    r"=\s*\d+(?:[ -]\d+)?\s*/\s*\d+|=\s*\d+(?:\.\d+)?\s*(?:[a-z]{1,2}\b|[\"'½¼¾])"
)


def read_job(path: Path) -> Job:
    """The job of a TOML file, settled as far as job, fabric and bolt decide it.

    Parameters
    ----------
    path
        The job file, at most 2 MiB of UTF-8 text.

    Returns
    -------
    Job
        Lengths in ticks: sizes to the nearest, usable widths down to the grid of the tape, the repeat to
        a multiple of its drop's parts. What was taken for granted stands in ``remarks``.

    Raises
    ------
    JobError
        The file cannot be read, or the job has faults; it carries all of them.
    """
    return read_job_text(_text_of(path), path)


def read_job_text(text: str, source: Path | None = None) -> Job:
    """The job that a TOML text describes; see `read_job`.

    A fabric with a repeat but no repeat width keeps ``repeat.width`` None, and whoever cuts it takes
    H = the bolt's match. Only where the pattern drops from column to column is H needed here: it is then
    the match that all bolts of the fabric share, and a fault where they share none.

    Parameters
    ----------
    text
        The whole job file.
    source
        Where it came from, for the error.

    Raises
    ------
    JobError
        With every fault, in the order of the file.
    """
    return read_job_table(job_table(text, source), source)


def read_job_table(raw: Mapping[str, Any], source: Path | None = None) -> Job:
    """The job that a parsed TOML table describes; see `read_job_text`.

    Parameters
    ----------
    raw
        Tables, lists, texts, whole numbers, decimals and flags, as `job_table` gives them.
    source
        Where it came from, for the error.

    Raises
    ------
    JobError
        With every fault, in the order of the table; keys of earlier versions come alone.
    """
    old = old_names(raw)
    if old:
        raise JobError(old, source)
    listed, before = _listed(raw, source), raw.get("window", [])
    raw = _with_list(raw, listed)
    faults = Faults(raw, lambda loc: _in_list(loc, listed, before))
    for loc, fault in listed.faults:
        faults.note(("window", len(before) + int(loc[0]), *loc[1:]) if loc else ("windows",), fault)
    said = raw.get("units", "in")
    known = isinstance(said, str) and said in WORDS_OF_UNITS
    unit = cast(Unit, said) if known else "in"
    order = _entries(raw, {"unit": unit, "limits": known}, faults)
    check_job(order, faults, unit)
    error = faults.error(source)
    if error is not None:
        raise error
    job = settle_job(order, unit, source.stem if source else "Drapes")
    check_sense(job, faults)
    error = faults.error(source)
    if error is not None:
        with suppress(NestingError, ArithmeticError, ValueError):
            # What cannot be may be too odd to be asked about as well.
            error.asked = tuple(remark.text for remark in questions(job))
        raise error
    job = replace(job, remarks=(*questions(job), *job.remarks))
    _LOG.debug("read %d windows, %d extras, %d fabrics", len(job.windows), len(job.extras), len(job.fabrics))
    return job


def _listed(raw: Mapping[str, Any], source: Path | None) -> MeasurementList:
    """The measurement list that the job names; one without windows where it names none."""
    name, windows = raw.get("windows"), raw.get("window", [])
    if not isinstance(name, str) or not isinstance(windows, list):
        return MeasurementList("")
    return read_list(name.strip(), source) if name.strip() else MeasurementList("")


def _with_list(raw: Mapping[str, Any], listed: MeasurementList) -> Mapping[str, Any]:
    """The job as if the windows of the list stood behind its own."""
    return {**raw, "window": [*raw.get("window", []), *listed.windows]} if listed.windows else raw


def _in_list(loc: Loc, listed: MeasurementList, before: Sized) -> tuple[str, str] | None:
    """Where in the list something stands, and what; None where it stands in the job file."""
    if not listed.windows or loc[:1] != ("window",) or len(loc) < 2:
        return None
    number = int(loc[1]) - len(before)
    return listed.place(number, loc[2:]) if number >= 0 else None


def _entries(raw: Mapping[str, Any], context: dict[str, object], faults: Faults) -> JobEntry:
    """All entries that can be read; what cannot is noted and left out."""
    while True:
        try:
            return JobEntry.model_validate(raw, context=context)
        except ValidationError as error:
            faults.add_invalid(error)
            raw = prune(raw, [tuple(detail["loc"]) for detail in error.errors(include_url=False)])


def _text_of(path: Path) -> str:
    try:
        data = content_of(path, _MOST_BYTES)
    except IsADirectoryError:
        raise _whole("a folder stands here", "a job file, such as garden-room.toml", path) from None
    except FileNotFoundError:
        raise _whole("there is no such file", "a job file; `nesting start` writes one", path) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise _whole(f"the file cannot be read ({reason})", "a job file you may read", path) from None
    if len(data) > _MOST_BYTES:
        raise _whole("the file is over 2 MiB", "a job file, which is a few kilobytes of text", path)
    try:
        return data.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise _whole("the file is not UTF-8 text", "a job file saved as UTF-8 text", path) from None


def job_table(text: str, source: Path | None = None) -> dict[str, Any]:
    """What a TOML text says, before any of it is judged; numbers with a point are exact decimals.

    Raises
    ------
    JobError
        It is empty or no TOML.
    """
    if not text.strip():
        raise _whole("the file is empty", "a job; `nesting start` writes one", source)
    if "\0" in text:
        raise _whole("the file is not text", "a job file in TOML", source)
    if outline_of(text).depth > _MOST_DEPTH:
        raise _whole("it nests too deep", "a job file in TOML, with tables at most 5 deep", source)
    try:
        table = tomllib.loads(text, parse_float=as_decimal)
    except tomllib.TOMLDecodeError as error:
        raise _syntax(str(error), text, source) from None
    except (RecursionError, ValueError):
        raise _whole(
            "it nests too deep or holds a number too large to use", "a job file in TOML", source
        ) from None
    faults = [_huge(loc) for loc in _absurd(table, ())]
    if faults:
        raise JobError(faults, source)
    return table


def _absurd(value: Any, loc: Loc) -> Iterator[Loc]:
    """Where whole numbers stand that no measure needs, and that are too long even to be printed."""
    if isinstance(value, dict | list):
        for step, inner in value.items() if isinstance(value, dict) else enumerate(value):
            yield from _absurd(inner, (*loc, step))
    elif isinstance(value, int) and value.bit_length() > _MOST_BITS:
        yield loc


def _huge(loc: Loc) -> Fault:
    place = ": ".join(str(step + 1) if isinstance(step, int) else step for step in loc)
    return Fault(place, "a number too large to use", "a number of at most 30 digits", loc)


def _syntax(message: str, text: str, source: Path | None) -> JobError:
    found = _PLACE.search(message)
    reason = _PLACE.sub("", message)
    lines = text.splitlines()
    number = int(found[1]) if found and found[1] else len(lines)
    line = lines[number - 1].strip() if 0 < number <= len(lines) else ""
    place = f"line {number}, column {found[2]}" if found and found[1] else f"line {number}, at the end"
    remedy = _remedy(reason, line)
    return JobError((Fault(place, line[:60], f"{remedy} ({reason[:1].lower()}{reason[1:]})"),), source)


def _remedy(reason: str, line: str) -> str:
    if "overwrite" in reason or "twice" in reason or "mutate" in reason:
        return "each key and each table once: remove or rename the second one"
    if _BARE_FRACTION.search(line):
        return 'fractions and units in quotes, such as rod = "84 1/2"'
    if line.count('"') % 2:
        return 'a closing quote, such as title = "Garden room"'
    if line.startswith("[") and line.count("[") != line.count("]"):
        return "a closing bracket, such as [[window]]"
    if "=" not in line and not line.startswith("["):
        return 'a key and its value, such as rod = 84 or heading = "tab-top"'
    return 'numbers bare and texts in quotes, such as rod = 84 or heading = "tab-top"'


def _whole(place: str, expected: str, source: Path | None) -> JobError:
    return JobError((Fault(place, "", expected),), source)
