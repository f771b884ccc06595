"""A safety margin: fabric bought beyond what the plan needs. Offered, never silent. Lengths in ticks.

The larger of 1 yd (in metric jobs 1 m) and one repeat is common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from dataclasses import replace
from fractions import Fraction

from nesting.errors import LengthError
from nesting.order.job import Fabric, Job, Safety
from nesting.pieces.piece import Advice
from nesting.plan.plan import Allowance, FabricLayout
from nesting.repeat import Repeat
from nesting.units import (
    Unit,
    format_exact,
    format_quantity,
    grid,
    parse_length,
    round_up,
    selling_unit,
    space_left_out,
    unit_ticks,
)

#: What a maker may write for a margin.
ACCEPTED = (
    '"usual" (the larger of 1 yd, or 1 m, and one repeat), a percentage such as "10 %", "1 yd" or "none"'
)
#: How the line of a margin begins on the buying sum.
MARGIN = "safety margin"
#: More than this nobody means.
MOST_PERCENT = 100
_PERCENT = re.compile(
    r"(?P<number>\d{1,3}(?:\.\d{1,8}|,\d{1,2})?)|(?P<top>\d{1,5})\s*/\s*(?P<bottom>\d{1,5})"
)


def safety_of(value: object, unit: Unit) -> Safety:
    """The margin that a person wrote: ``usual``, ``none``, ``10 %``, or a length.

    Raises
    ------
    LengthError
        It is none of these, below 0, or above 100 %.
    """
    if isinstance(value, str):
        word = value.strip().casefold()
        if word == "usual":
            return Safety()
        if word == "none":
            return Safety(length=0)
        if word.endswith("%"):
            return Safety(percent=_percent(word[:-1].strip()))
    if isinstance(value, bool) or not isinstance(value, str | int | float | Fraction):
        raise LengthError(f"a margin: {ACCEPTED}")
    try:
        length = round_up(parse_length(value, unit), 1)
    except LengthError as error:
        raise LengthError(f"a margin: {ACCEPTED} ({error})") from None
    if length < 0:
        raise LengthError(f"a margin of 0 or more: {ACCEPTED}")
    return Safety(length=length)


def _percent(text: str) -> Fraction:
    found = _PERCENT.fullmatch(text)
    percent = Fraction(-1)
    if found and found["top"] and int(found["bottom"]) and not space_left_out(found["top"], found["bottom"]):
        percent = Fraction(int(found["top"]), int(found["bottom"]))
    elif found and found["number"]:
        percent = Fraction(found["number"].replace(",", "."))
    if not 0 <= percent <= MOST_PERCENT:
        raise LengthError(f'a percentage from 0 to {MOST_PERCENT}, such as "10 %"')
    return percent


def asked(job: Job, fabric: Fabric) -> Safety | None:
    """The margin asked for a fabric: its own, else the job's; None where nothing was said."""
    return fabric.safety if fabric.safety is not None else job.safety


def margin(job: Job, fabric: Fabric, repeat: Repeat | None, needed: int) -> Allowance | None:
    """The margin as a line of its own on the buying sum; None where none was asked for.

    Parameters
    ----------
    job, fabric
        As ordered.
    repeat
        The pattern as it is bought, or None where nothing is matched.
    needed
        Layout and all other allowances; a percentage is taken of it, up to the tape.
    """
    safety = asked(job, fabric)
    if safety is None or safety.length == 0 or safety.percent == 0:
        return None
    return _allowance(job, safety, repeat, needed)


def _allowance(job: Job, safety: Safety, repeat: Repeat | None, needed: int) -> Allowance:
    if safety.percent is not None:
        percent = f"{float(safety.percent):g} %"
        return Allowance(f"{MARGIN} ({percent})", round_up(needed * safety.percent / 100, grid(job.units)))
    if safety.length is not None:
        return Allowance(f"{MARGIN} (as ordered)", safety.length)
    one, unit = unit_ticks(selling_unit(job.units)), selling_unit(job.units)
    if repeat is not None and repeat.length > one:
        return Allowance(f"{MARGIN} (one repeat)", repeat.length)
    return Allowance(f"{MARGIN} (1 {unit})", one)


def offers(job: Job, layouts: Iterable[FabricLayout]) -> Iterator[Advice]:
    """An offer for each fabric that is bought without a margin and was never asked about one."""
    for layout in layouts:
        buy, fabric = layout.buy, job.fabric(layout.fabric.key)
        if buy is None or asked(job, fabric) is not None:
            continue
        line = _allowance(job, Safety(), fabric.repeat if layout.fabric.repeat else None, buy.needed)
        more = replace(buy, allowances=(*buy.allowances, line))
        money, now, then = None, *(format_quantity(each.total, each.unit) for each in (buy, more))
        if more.cost is not None and buy.cost is not None:
            money = more.cost - buy.cost
            now, then = f"{now}, {job.currency}{buy.cost:.2f}", f"{then}, {job.currency}{more.cost:.2f},"
        text = (
            f"{fabric.title} has no safety margin for a cutting error or a flaw: the usual one "
            f"would add {format_exact(line.length, job.units)}, so {then} instead of {now} "
            '(safety = "usual")'
        )
        yield Advice("offer", text, fabric=fabric.key, money=money, change=("safety", "usual"))
