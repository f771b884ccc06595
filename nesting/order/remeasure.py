"""A job planned again from what was measured on the table: the repeat as it is, the start of the bolt."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from nesting.errors import Fault, JobError
from nesting.order.job import Fabric, Job
from nesting.units import Unit, format_exact, round_nearest

#: A repeat is woven or printed to within a few percent; further off it was measured over another number.
FARTHEST = Fraction(1, 10)


def measured_fabric(fabric: Fabric, length: Fraction) -> Fabric:
    """The fabric with its repeat as measured along the bolt; what the label says is kept beside it.

    Parameters
    ----------
    fabric
        A print.
    length
        One repeat in ticks, exact; rounded to a multiple of the drop's parts as any repeat is.
    """
    label = fabric.labeled or fabric.repeat
    if label is None:
        return fabric
    parts = label.drop.denominator
    ticks = max(parts, round_nearest(length, parts))
    return replace(fabric, repeat=replace(label, length=ticks), repeat_rounding=ticks - length, labeled=label)


def far_from(label: Fraction | int, measured: Fraction) -> bool:
    """Whether a measured repeat can hardly be the one on the label."""
    return abs(measured - label) > label * FARTHEST


def with_measured_repeat(job: Job, key: str, length: Fraction) -> Job:
    """The job with the repeat of one fabric as measured.

    Raises
    ------
    JobError
        There is no such fabric, it has no repeat, or the measure is far from its label.
    """
    fabric = _print(job, key, "measured_repeat")
    label = fabric.labeled or fabric.repeat
    if label is None or length <= 0 or far_from(label.length, length):
        said, value = _say(label.length if label else 0, job.units), format_exact(length, job.units)
        raise JobError([Fault(f'fabric "{key}": measured_repeat', value, near(said))])
    return _with(job, measured_fabric(fabric, length))


def near(label: str) -> str:
    """What is said of a measure that is too far from the label."""
    return f"a length within a tenth of the repeat, {label}; of several repeats say how many they are"


def with_start(job: Job, key: str, start: int) -> Job:
    """The job with the height of the pattern at the squared end of one fabric as chosen on the table.

    Raises
    ------
    JobError
        There is no such fabric, it has no repeat, or the start is below 0.
    """
    fabric = _print(job, key, "start")
    if start < 0:
        raise JobError([Fault(f'fabric "{key}": start', _say(start, job.units), "a length of 0 or more")])
    return _with(job, replace(fabric, start=start))


def _print(job: Job, key: str, what: str) -> Fabric:
    found = next((fabric for fabric in job.fabrics if fabric.key == key), None)
    if found is None or found.repeat is None:
        prints = ", ".join(fabric.key for fabric in job.fabrics if fabric.repeat is not None)
        wanted = f"a fabric of this job with a repeat: {prints}" if prints else "a job with a printed fabric"
        raise JobError([Fault(what, f'"{key}"', wanted)])
    return found


def _with(job: Job, fabric: Fabric) -> Job:
    return replace(job, fabrics=tuple(fabric if old.key == fabric.key else old for old in job.fabrics))


def _say(ticks: int, unit: Unit) -> str:
    return format_exact(ticks, unit)
