"""Other ways to make a job: one width less, whole widths, another fullness, turned sideways, another bolt.

Each is the table of a job like the one that was typed, so that taking one is typing it.
"""

from __future__ import annotations

import copy
import math
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from itertools import islice
from typing import Any, Final

from nesting.cutting.fullness import USUAL, times
from nesting.cutting.measures import settle
from nesting.cutting.offers import BEARABLE, Offer, fullness_offers
from nesting.cutting.railroad import can_railroad
from nesting.errors import NestingError
from nesting.files import read_job_table
from nesting.headings import HEADINGS
from nesting.order.job import Bolt, Job, Window
from nesting.units import format_exact, format_length
from nesting.web.caps import MOST_ALTERNATIVES
from nesting.web.draft import name_of

Table = dict[str, Any]
#: A fullness is tried a step below and a step above, in steps of a quarter (common practice, no source).
STEP: Final = Fraction(1, 4)
#: How part-widths are rounded, as it is said on the page.
WIDTHS: Final = {"exact": "Exact widths", "half": "Half widths", "whole": "Whole widths"}


@dataclass(frozen=True, slots=True)
class Alternative:
    """A job that is made another way.

    Attributes
    ----------
    key
        By which it is taken: of the job it was asked of.
    title
        What it is, in a maker's words.
    table
        The job as it would be typed.
    """

    key: str
    title: str
    table: Table


def alternatives_of(
    table: Mapping[str, Any], job: Job, offers: Iterable[Offer] | None = None
) -> tuple[Alternative, ...]:
    """Other ways to make a job, without a look at what they take; some may turn out to differ in nothing.

    Parameters
    ----------
    table, job
        The job as it is typed, and as it is read.
    offers
        What `nesting.cutting.offers.fullness_offers` says of it, where that was asked already.

    Returns
    -------
    tuple of Alternative
        At most `caps.MOST_ALTERNATIVES`; none where fabric on hand is cut or a panel hangs already, for then
        there is no choice of what to buy.
    """
    if job.hung or not job.windows or any(bolt.on_hand for each in job.fabrics for bolt in each.bolts[:1]):
        return ()
    return tuple(islice(_Ways(table, job, offers).all(), MOST_ALTERNATIVES))


def taken(table: Mapping[str, Any], key: str) -> Alternative | None:
    """The alternative of a job under a key; None where it has none, or is no job."""
    try:
        found = alternatives_of(table, read_job_table(dict(table)))
    except (NestingError, ArithmeticError, MemoryError, RecursionError, ValueError):
        return None
    return next((each for each in found if each.key == key), None)


def as_typed(job: Job) -> str:
    """What a job is called beside its alternatives."""
    kinds = {window.widths for window in job.windows}
    return WIDTHS[kinds.pop()] if len(kinds) == 1 else "As you typed it"


class _Ways:
    """Goes through what can be changed of a job."""

    def __init__(self, table: Mapping[str, Any], job: Job, offers: Iterable[Offer] | None) -> None:
        self._table, self._job = table, job
        self._bolts: dict[str, Bolt] = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
        self._offers = offers

    def all(self) -> Iterator[Alternative]:
        """What is most often worth a look comes first."""
        yield from self._offered()
        yield from self._other_bolts()
        yield from self._railroaded()
        yield from self._steps()
        for kind, title in WIDTHS.items():
            yield from self._with(kind, title, self._set("widths", kind))
        exact = (window.name for window in self._job.windows if window.widths == "exact")
        yield from self._with(
            "part-free", "Part-widths at any edge", self._set("part_at", "free", set(exact))
        )

    def _set(self, key: str, value: str, names: Container[str] | None = None) -> dict[int, Mapping[str, Any]]:
        """One entry for each window that says otherwise, of those named."""
        return {
            number: {key: value}
            for number, window in enumerate(self._job.windows)
            if getattr(window, key) != value and (names is None or window.name in names)
        }

    def _with(self, key: str, title: str, changes: Mapping[int, Mapping[str, Any]]) -> Iterator[Alternative]:
        """The job with entries of its windows changed, by their numbers; nothing where none is changed."""
        table = copy.deepcopy(dict(self._table))
        rows, changed = table.get("window"), False
        for number, entries in changes.items():
            if isinstance(rows, list) and number < len(rows) and isinstance(rows[number], dict):
                rows[number].update(entries)
                changed = True
        if changed:
            yield Alternative(key, title, table)

    def _offered(self) -> Iterator[Alternative]:
        """One width less, and what the same widths would bear."""
        found = fullness_offers(self._job, self._bolts) if self._offers is None else self._offers
        offers: dict[tuple[str, str], Window] = {
            (offer.kind, offer.change.name): offer.change for offer in found
        }
        for kind, title in (("less", "One width less"), ("fuller", "Fuller, same widths")):
            changes = {
                number: self._fullness(offers[kind, window.name])
                for number, window in enumerate(self._job.windows)
                if (kind, window.name) in offers
            }
            yield from self._with(kind, title, changes)

    def _fullness(self, change: Window) -> Mapping[str, Any]:
        """A fullness, or a flat width, as it is typed."""
        if change.flat_width is not None:
            return {"flat_width": format_exact(change.flat_width, self._job.units)}
        return {"fullness": Decimal(times(change.fullness or settle(self._job, change).fullness))}

    def _steps(self) -> Iterator[Alternative]:
        """A quarter less full, and a quarter fuller, within what is usual."""
        for key, down in (("step-less", True), ("step-more", False)):
            steps = {
                number: step
                for number, window in enumerate(self._job.windows)
                if (step := self._step(window, down)) is not None
            }
            said = {times(step) for step in steps.values()}
            title = f"Fullness {said.pop()}" if len(said) == 1 else "Less full" if down else "Fuller"
            changes = {number: {"fullness": Decimal(times(step))} for number, step in steps.items()}
            yield from self._with(key, title, changes)

    def _step(self, window: Window, down: bool) -> Fraction | None:
        """The next quarter, None where it is beyond what the heading and the weight of the fabric bear."""
        if window.flat_width is not None:
            return None
        style, weight = HEADINGS[window.heading], self._job.fabric(window.fabric).weight
        asked = settle(self._job, window).fullness
        least, most = max(Fraction(1), style.fullness * BEARABLE), style.fullest
        if weight is not None:
            least, most = USUAL[weight][0], min(most, USUAL[weight][1])
        step = (math.ceil(asked / STEP) - 1) * STEP if down else (math.floor(asked / STEP) + 1) * STEP
        return step if least <= step <= most else None

    def _railroaded(self) -> Iterator[Alternative]:
        """Turned sideways where it can be, and upright where it might be turned."""
        can = {
            window.name
            for window in self._job.windows
            if can_railroad(self._job, window.fabric, window.room, self._bolts[window.fabric])[0]
        }
        for key, title, way in (("sideways", "Turned sideways", "yes"), ("upright", "Upright", "no")):
            yield from self._with(key, title, self._set("railroad", way, can))

    def _other_bolts(self) -> Iterator[Alternative]:
        """Each other bolt on offer made the first, which is the one planned for."""
        unit, used = self._job.units, {window.fabric for window in self._job.windows}
        for fabric in self._job.fabrics:
            for number, bolt in enumerate(fabric.bolts[1:], 1):
                if fabric.key not in used or bolt.on_hand:
                    continue
                table = copy.deepcopy(dict(self._table))
                rows = table["fabric"][fabric.key]["bolt"]
                rows.insert(0, rows.pop(number))
                title = f"{fabric.title}, {format_length(bolt.width, unit)} wide"
                yield Alternative(f"bolt-{number}-{name_of((fabric.key,))}", title, table)
