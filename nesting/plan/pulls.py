"""How a bolt moves over the cutting table: pull by pull, each with a fold at the table's end. Ticks."""

from __future__ import annotations

import itertools
from bisect import bisect_left, bisect_right
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from typing import Final

from nesting.headings.making import measure
from nesting.order.job import Job
from nesting.packing.ease import across_lines
from nesting.plan.plan import FabricLayout
from nesting.units import Unit, format_length

#: A table two yards or two meters long, as most homes can lay out (common practice, no source).
USUAL_TABLE: Final = measure("72", "200")


@dataclass(frozen=True, slots=True)
class Pull:
    """The stretch of the bolt that lies on the table at once.

    Attributes
    ----------
    number
        From 1.
    start
        What lies at the head of the table.
    end
        Where the fabric goes over the table's end: the fold, or the end of the layout.
    """

    number: int
    start: int
    end: int


@dataclass(frozen=True, slots=True)
class Run:
    """Part of a cut that is made within one pull."""

    pull: int
    start: int
    end: int


def table_length(job: Job) -> int:
    """How long the job's table is; two yards or two meters where nothing was said."""
    return USUAL_TABLE.of(job.units) if job.table is None else job.table.length


def pulls(layout: FabricLayout, table: int) -> tuple[Pull, ...]:
    """The pulls of a layout over a table of that length; see `pulls_of`."""
    spans = [(laid.y, laid.y + laid.length) for laid in layout.placements]
    return pulls_of(spans, layout.length or 0, table)


def pulls_of(spans: Sequence[tuple[int, int]], length: int, table: int) -> tuple[Pull, ...]:
    """Pulls in which every piece that the table can hold lies on it whole.

    The fold lies at the last straight cut within reach. Where there is none, the fabric is folded where the
    table ends, and a piece that the fold would cross lies whole in the next pull, in one of two ways: the
    fold is shifted back to where that piece begins, or, where another piece is in the way, the next pull
    begins there and the two overlap. Only a piece longer than the table is folded; its long cuts are made
    in `runs`.

    Parameters
    ----------
    spans
        Where each piece begins and ends.
    length
        Of the layout.
    table
        How much fabric the table holds, above 0.

    Returns
    -------
    tuple of Pull
        Together they cover the layout, none longer than the table, each beginning beyond the one before.
    """
    return tuple(Pull(number, *pull) for number, pull in enumerate(_pulls(spans, length, table), 1))


def _pulls(spans: Iterable[tuple[int, int]], length: int, table: int) -> Iterator[tuple[int, int]]:
    ordered = sorted(spans)
    straight = across_lines(ordered)
    short = [(low, high) for low, high in ordered if high - low <= table]
    short_starts = [low for low, _ in short]
    at = 0
    while length - at > table:
        reach = at + table
        last = straight[bisect_right(straight, reach) - 1] if straight[0] <= reach else 0
        if last > at:
            yield at, last
            at = last
            continue
        within = short[bisect_left(short_starts, at) : bisect_left(short_starts, reach)]
        back = min((low for low, high in within if reach < high), default=reach)
        crossed = any(low < back < high for low, high in within)
        yield at, reach if crossed else back
        at = back
    yield at, length


def lying(at: int, made: Sequence[Pull]) -> Sequence[Pull]:
    """The pulls in which a place of the fabric lies on the table, in order.

    Both starts and ends grow from pull to pull: where the next pull begins before a fold, it begins with a
    piece that crosses the fold, so it ends at neither a straight cut nor a shifted fold before that one.
    """
    first = bisect_left(made, at, key=lambda pull: pull.end)
    return made[first : bisect_right(made, at, key=lambda pull: pull.start)]


def runs(start: int, end: int, made: Sequence[Pull]) -> tuple[Run, ...]:
    """A cut along the fabric, or at one place of it, in as few runs as the pulls allow, in order."""
    found, at = list[Run](), start
    while True:
        here = lying(at, made)
        whole = bisect_left(here, end, key=lambda pull: pull.end)
        pull = here[whole] if whole < len(here) else here[-1]
        found.append(Run(pull.number, at, min(end, pull.end)))
        if end <= pull.end:
            return tuple(found)
        at = pull.end


def fold_words(made: Sequence[Pull], unit: Unit) -> tuple[str, ...]:
    """``fold 1 at 72 in``, and where the next pull begins if it begins before the fold."""
    found = list[str]()
    for pull, after in itertools.pairwise(made):
        back = "" if after.start == pull.end else f", then from {format_length(after.start, unit)}"
        found.append(f"fold {pull.number} at {format_length(pull.end, unit)}{back}")
    return tuple(found)
