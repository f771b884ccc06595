"""A job file made of a settled job, such as that of a plan: it reads back as the very same job."""

from __future__ import annotations

from dataclasses import MISSING, fields, replace
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final

from nesting.errors import JobError, NestingError
from nesting.files.amending import amend_job_text
from nesting.files.keys import Key, job_keys
from nesting.files.reading import read_job_table
from nesting.order.fabric import Bolt, Fabric, Safety
from nesting.order.job import Hem, Job, Window
from nesting.repeat import Repeat
from nesting.units import Unit, format_exact, parse_length

#: Keys that a settled job holds under another name.
_HELD_AS: Final = {"band": "bands", "tieback": "tiebacks"}
#: Keys that are written apart, since what they settle into looks otherwise.
_OF_JOB: Final = frozenset({"windows", "fabric", "window", "extra", "safety"})
_OF_FABRIC: Final = frozenset({"repeat", "measured_repeat", "bolt", "safety", "level"})
_OF_WINDOW: Final = frozenset({"side_hem"})


def job_text_of(job: Job) -> str:
    """The job file of a job: sizes and choices as they were settled, without remarks and questions.

    Parameters
    ----------
    job
        What panels that hang have shown of it (``hung``, ``hang_first``) has no place in a job file.

    Raises
    ------
    NestingError
        It holds something that a job file cannot say.
    """
    table = _JobTable(job.units).table(job)
    try:
        again = read_job_table(table)
    except (JobError, NestingError) as error:
        raise NestingError(f"the job of this plan cannot be written as a job file: {error}") from None
    if _bare(again) != _bare(job):
        told = "the job of this plan cannot be written as a job file: it would not be the same job"
        raise NestingError(told)
    return amend_job_text("", table)


def _bare(job: Job) -> Job:
    """The job without what it was asked and told."""
    return replace(job, remarks=(), hung=(), hang_first=None)


class _JobTable:
    """Writes lengths in the unit of the job."""

    def __init__(self, unit: Unit) -> None:
        self._unit = unit

    def table(self, job: Job) -> dict[str, Any]:
        """Everything."""
        keys = job_keys()
        made = {**self._row(job, keys, _OF_JOB), "units": job.units}
        if job.safety is not None:
            made["safety"] = self._safety(job.safety)
        made["fabric"] = {one.key: self._fabric(one, _inner(keys, "fabric")) for one in job.fabrics}
        made["window"] = [self._window(one, _inner(keys, "window")) for one in job.windows]
        made["extra"] = [self._row(one, _inner(keys, "extra")) for one in job.extras]
        return {key: value for key, value in made.items() if value not in ({}, [])}

    def _row(self, held: Any, key: Key, apart: frozenset[str] = frozenset()) -> dict[str, Any]:
        """What of a settled thing is not as it is by default."""
        usual = {each.name: each.default for each in fields(held)}
        made = dict[str, Any]()
        for inner in key.keys:
            name = _HELD_AS.get(inner.name, inner.name)
            value = None if inner.name in apart else getattr(held, name, None)
            if value is None or (name in usual and usual[name] is not MISSING and value == usual[name]):
                continue
            written = self._value(value, inner)
            if written not in ({}, [], ""):
                made[inner.name] = written
        return made

    def _value(self, value: Any, key: Key) -> Any:
        if key.kind == "rows":
            return [self._row(one, key) for one in value]
        if isinstance(value, Hem):
            return "selvage" if value.selvage else {"turn": self._length(value.turn), "turns": value.turns}
        if key.kind == "table":
            return self._row(value, key)
        if key.kind == "length" and isinstance(value, int | Fraction):
            return self._length(value)
        return _number(value) if isinstance(value, Fraction) else value

    def _length(self, ticks: int | Fraction) -> str:
        if (
            ticks.denominator == 1
            and parse_length(made := format_exact(ticks, self._unit), self._unit) == ticks
        ):
            return made
        # Finer than a decimal says: as a fraction of an inch or a millimeter, which is read as it stands.
        exact, unit = (ticks / Fraction(2032), "in") if self._unit == "in" else (Fraction(ticks, 80), "mm")
        whole, rest = divmod(exact.numerator, exact.denominator)
        return f"{whole} {rest}/{exact.denominator} {unit}"

    def _safety(self, safety: Safety) -> str:
        if safety.length is not None:
            return self._length(safety.length)
        return "none" if not safety.percent else f"{_number(safety.percent)} %"

    def _fabric(self, fabric: Fabric, key: Key) -> dict[str, Any]:
        made = self._row(fabric, key, _OF_FABRIC)
        if fabric.motif is None and fabric.level != Fabric.__dataclass_fields__["level"].default:
            made["level"] = fabric.level
        if fabric.safety is not None:
            made["safety"] = self._safety(fabric.safety)
        printed = fabric.labeled or fabric.repeat
        if printed is not None:
            made["repeat"] = self._repeat(fabric, printed)
        if fabric.labeled is not None and fabric.repeat is not None:
            made["measured_repeat"] = {"length": self._length(fabric.repeat.length)}
        made["bolt"] = [self._bolt(one, _inner(key, "bolt")) for one in fabric.bolts]
        return made

    def _repeat(self, fabric: Fabric, repeat: Repeat) -> dict[str, Any]:
        made: dict[str, Any] = {"length": self._length(repeat.length - fabric.repeat_rounding)}
        if repeat.width is not None:
            made["width"] = self._length(repeat.width)
        if repeat.drop:
            made["drop"] = str(repeat.drop)
        if fabric.drop_from is not None:
            made["drop_from"] = fabric.drop_from
        if fabric.sideways_print:
            made["sideways"] = True
        return made

    def _bolt(self, bolt: Bolt, key: Key) -> dict[str, Any]:
        made = self._row(bolt, key)
        if not bolt.usable_said:
            made.pop("usable", None)
        if not bolt.match_said:
            made.pop("match", None)
        return made

    def _window(self, window: Window, key: Key) -> dict[str, Any]:
        made = self._row(window, key, _OF_WINDOW)
        return made | {name: self._length(ticks) for name, ticks in window.own}


def _inner(key: Key, name: str) -> Key:
    found = key.key(name)
    assert found is not None
    return found


def _number(value: Fraction) -> Any:
    """A fraction as a number where it ends, else as it stands."""
    rest = value.denominator
    for prime in (2, 5):
        while rest % prime == 0:
            rest //= prime
    if rest == 1:
        return Decimal(value.numerator) / Decimal(value.denominator)
    return str(value)
