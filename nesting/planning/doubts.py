"""What is to be asked of the prints of a job: their match, and where the step of a drop is."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.errors import NestingError
from nesting.order.bolts import bolt_of_width, seam_of
from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric, Job
from nesting.order.print_width import filled_width, is_print_wide, leaves_much
from nesting.plan.pattern import DROPS, next_letter
from nesting.plan.question import Answer, Question
from nesting.repeat import Repeat
from nesting.units import format_exact, format_length

#: A print this much wider than stated, at most, is what a label may well call by a smaller width.
NEAR: Final = Fraction(1, 20)


@dataclass(frozen=True, slots=True)
class OpenQuestion:
    """A question without amounts, and what the answer that is not planned makes of fabric and bolt."""

    question: Question
    fabric: Fabric
    bolt: Bolt


def open_questions(job: Job, bolts: Mapping[str, Bolt]) -> tuple[OpenQuestion, ...]:
    """What is to be asked of the prints of a job, each on the bolt it is cut from."""
    found = list[OpenQuestion]()
    for fabric in job.fabrics:
        if fabric.repeat is not None and any(job.windows_of(fabric.key)):
            found += _of_match(job, fabric, fabric.repeat, bolts[fabric.key])
            found += _of_drop(job, fabric, fabric.repeat, bolts[fabric.key])
    return tuple(found)


def asked_of(job: Job) -> tuple[str, ...]:
    """All that is asked of a job before it is planned: what is seldom meant, what only a print can tell."""
    opened = open_questions(job, {fabric.key: fabric.bolts[0] for fabric in job.fabrics})
    meant = (remark.text for remark in job.remarks if remark.asks)
    return (*meant, *(one.question.told(job.currency) for one in opened))


@contextmanager
def telling(job: Job) -> Iterator[None]:
    """Whatever refuses the job within says what is asked of it, for the answer may be the remedy."""
    try:
        yield
    except NestingError as error:
        error.asked = error.asked or asked_of(job)
        raise


def _of_match(job: Job, fabric: Fabric, repeat: Repeat, bolt: Bolt) -> Iterator[OpenQuestion]:
    """A match that nobody said, where the label may well mean a wider one."""
    if repeat.width is None or bolt.match is None or bolt.match_said or bolt.printed:
        return
    unit, width, across = job.units, bolt.width, repeat.width
    wider = _wider(job, fabric, repeat, bolt)
    more = (wider.bolt.match or 0) - bolt.match
    much = leaves_much(Fraction(bolt.match), Fraction(width))
    if more <= 0 or (not much and 2 * more <= defaults_for(unit).label_worth):
        return
    changed = replace(fabric, repeat=replace(repeat, width=wider.across))
    count = bolt.match // across
    yield OpenQuestion(
        Question(
            about="match",
            fabric=fabric.key,
            bolt=fabric.bolts.index(bolt) if bolt in fabric.bolts else None,
            text=(
                f"{fabric.title}, {format_length(width, unit)} wide: whole repeats of "
                f"{format_exact(across, unit)} leave {format_exact(width - bolt.match, unit)} of each width "
                "unused."
            ),
            check="Measure from motif to motif across the whole width before you buy.",
            answers=(
                Answer(f"match {format_exact(bolt.match, unit)}, {_repeats(count)} across", planned=True),
                Answer(wider.text, planned=False, enter=wider.enter),
            ),
        ),
        replace(changed, bolts=tuple(wider.bolt if each == bolt else each for each in fabric.bolts)),
        wider.bolt,
    )


@dataclass(frozen=True, slots=True)
class _Wider:
    """A bolt whose print is as wide as it may be, its repeat across, in words, and what to enter then."""

    bolt: Bolt
    across: int
    text: str
    enter: str


def _wider(job: Job, fabric: Fabric, repeat: Repeat, bolt: Bolt) -> _Wider:
    """What else the label may mean: seams in the selvage, a wider print, or another repeat across."""
    unit, width, across = job.units, bolt.width, repeat.width or 1
    filled, seam = filled_width(Fraction(width), Fraction(across), unit), Fraction(seam_of(job, fabric))
    if bolt.usable_said and filled and is_print_wide(filled, Fraction(width), Fraction(across), seam, unit):
        wide = bolt_of_width(job, fabric, width)
        text = f"the pattern runs from selvage to selvage, {format_exact(filled, unit)}, seams in the selvage"
        return _Wider(_as(bolt, wide), across, text, "then leave the usable width empty")
    count = max(1, round(Fraction(width, across)))
    whole = count * across
    if bolt.match is not None and whole > bolt.match and whole <= width * (1 + NEAR):
        said = format_exact(whole, unit)
        text = f"the fabric is printed {said} wide, {_repeats(count)} across"
        wide = bolt_of_width(job, fabric, whole)
        return _Wider(_as(bolt, wide), across, text, f"then enter {said} as its width")
    each = width // count
    wide = bolt_of_width(job, replace(fabric, repeat=replace(repeat, width=each)), width)
    said = format_exact(each, unit)
    text = f"the pattern fills the width, {format_exact(width, unit)}, with {_repeats(count)} of {said}"
    return _Wider(_as(bolt, wide), each, text, f"then enter {said} as the repeat across")


def _as(bolt: Bolt, other: Bolt) -> Bolt:
    """The other bolt at the price of the first."""
    return replace(other, price=bolt.price, sold_by=bolt.sold_by)


def _repeats(count: int) -> str:
    return "1 repeat" if count == 1 else f"{count} repeats"


def _of_drop(job: Job, fabric: Fabric, repeat: Repeat, bolt: Bolt) -> Iterator[OpenQuestion]:
    """Where the step of a drop is, on a fabric that holds several columns across."""
    if not repeat.drop or repeat.width is None or bolt.match is None or fabric.drop_from is not None:
        return
    columns = bolt.match // repeat.width
    if columns < 2:
        return
    drop = DROPS.get(repeat.drop, f"drop of {repeat.drop}")
    inside = next_letter(repeat, bolt.match)
    stepped = next_letter(replace(repeat, width=bolt.match), bolt.match)
    yield OpenQuestion(
        Question(
            about="drop_from",
            fabric=fabric.key,
            bolt=fabric.bolts.index(bolt) if bolt in fabric.bolts else None,
            text=f"{fabric.title}: {drop}, {columns} columns across. Where is its step?",
            check=(
                "Look at two columns side by side on the fabric: with the step inside the width their motifs "
                "stand at different heights, else at one height."
            ),
            answers=(
                Answer(
                    f"from column to column inside the width, so that the next width begins with {inside}",
                    planned=True,
                ),
                Answer(
                    f"only from selvage to selvage, so that the next width begins with {stepped}",
                    planned=False,
                    enter="then enter that the drop steps from selvage to selvage",
                ),
            ),
        ),
        replace(fabric, drop_from="selvage"),
        bolt,
    )
