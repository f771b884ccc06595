"""A job planned again from what was measured on the table: the repeat as it is, the start of the bolt."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

from nesting.errors import Fault, JobError
from nesting.order.job import Cloth, Job
from nesting.units import Unit, format_exact, round_nearest

#: A repeat is woven or printed to within a few percent; further off it was measured over another number.
FARTHEST = Fraction(1, 10)


def measured_cloth(cloth: Cloth, length: Fraction) -> Cloth:
    """The cloth with its repeat as measured along the bolt; what the label says is kept beside it.

    Parameters
    ----------
    cloth
        A print.
    length
        One repeat in ticks, exact; rounded to a multiple of the drop's parts as any repeat is.
    """
    label = cloth.labelled or cloth.repeat
    if label is None:
        return cloth
    parts = label.drop.denominator
    ticks = max(parts, round_nearest(length, parts))
    return replace(cloth, repeat=replace(label, length=ticks), repeat_rounding=ticks - length, labelled=label)


def far_from(label: Fraction | int, measured: Fraction) -> bool:
    """Whether a measured repeat can hardly be the one on the label."""
    return abs(measured - label) > label * FARTHEST


def with_measured_repeat(job: Job, key: str, length: Fraction) -> Job:
    """The job with the repeat of one cloth as measured.

    Raises
    ------
    JobError
        There is no such cloth, it has no repeat, or the measure is far from its label.
    """
    cloth = _print(job, key, "measured_repeat")
    label = cloth.labelled or cloth.repeat
    if label is None or length <= 0 or far_from(label.length, length):
        said, value = _say(label.length if label else 0, job.units), format_exact(length, job.units)
        raise JobError([Fault(f'cloth "{key}": measured_repeat', value, near(said))])
    return _with(job, measured_cloth(cloth, length))


def near(label: str) -> str:
    """What is said of a measure that is too far from the label."""
    return f"a length within a tenth of the repeat, {label}; of several repeats say how many they are"


def with_start(job: Job, key: str, start: int) -> Job:
    """The job with the height of the design at the squared end of one cloth as chosen on the table.

    Raises
    ------
    JobError
        There is no such cloth, it has no repeat, or the start is below 0.
    """
    cloth = _print(job, key, "start")
    if start < 0:
        raise JobError([Fault(f'cloth "{key}": start', _say(start, job.units), "a length of 0 or more")])
    return _with(job, replace(cloth, start=start))


def _print(job: Job, key: str, what: str) -> Cloth:
    found = next((cloth for cloth in job.cloths if cloth.key == key), None)
    if found is None or found.repeat is None:
        prints = ", ".join(cloth.key for cloth in job.cloths if cloth.repeat is not None)
        wanted = f"a cloth of this job with a repeat: {prints}" if prints else "a job with a printed cloth"
        raise JobError([Fault(what, f'"{key}"', wanted)])
    return found


def _with(job: Job, cloth: Cloth) -> Job:
    return replace(job, cloths=tuple(cloth if old.key == cloth.key else old for old in job.cloths))


def _say(ticks: int, unit: Unit) -> str:
    return format_exact(ticks, unit)
