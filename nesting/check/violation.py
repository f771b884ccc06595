"""A rule of the layout that was broken: which, where and by how much."""

from __future__ import annotations

import itertools
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from enum import StrEnum
from typing import Final

#: Missing copies of one part that are named one by one.
ENOUGH_MISSING: Final = 200


class Breach(StrEnum):
    """The rule that was broken."""

    MISSING_COPY = "missing copy"
    EXTRA_COPY = "extra copy"
    UNKNOWN_PART = "unknown part"
    WRONG_SIZE = "wrong size"
    OUTSIDE = "outside"
    OVERLAP = "overlap"
    FLAW = "flaw"
    FORBIDDEN_TURN = "forbidden turn"
    TURN = "turn against the order"
    HEM = "hem on the selvage"
    ARROW = "arrow"
    LOT = "lot"
    BUNDLE = "bundle"
    PHASE_ALONG = "phase along"
    PHASE_ACROSS = "phase across"
    LENGTH = "length"
    BOUND = "bound"
    STATUS = "status"
    BUY = "buy"
    COST = "cost"
    CHOICE = "choice"
    PANEL = "panel"
    HANGING = "hanging"
    SEWING = "sewing"
    SUM = "sum"
    CUTTING = "cutting"
    PULL = "pull"
    SEQUENCE = "sequence"
    DISAGREE = "checkers disagree"


@dataclass(frozen=True, slots=True)
class Violation:
    """One broken rule.

    Attributes
    ----------
    kind
        The rule.
    what
        The copy, or the figure, that breaks it.
    other
        What it collides or disagrees with; empty where there is nothing.
    amount
        How far it is broken: ticks for lengths (phases: the smaller way round), hundredths of the
        currency for a cost, else a count; 0 where there is no measure.
    at
        Where to look: ``strip 0, x 12, y 340``; empty where it has no place.
    """

    kind: Breach
    what: str
    other: str = ""
    amount: int = 0
    at: str = ""

    def __str__(self) -> str:
        other = f" against {self.other}" if self.other else ""
        amount = f" by {self.amount}" if self.amount else ""
        at = f" ({self.at})" if self.at else ""
        return f"{self.kind}: {self.what}{other}{amount}{at}"


def missing_copies(copies: int, laid: Mapping[int, int]) -> int:
    """How many of the copies from 1 on lie nowhere."""
    return copies - sum(1 <= copy <= copies for copy in laid)


def count_copies(name: str, copies: int, laid: Mapping[int, int]) -> Iterator[Violation]:
    """What is wrong where copies 1 to ``copies`` should each lie once; ``laid`` counts each number.

    Of missing ones the first `ENOUGH_MISSING` are named, and the rest are one violation together.
    """
    lacking = missing_copies(copies, laid)
    absent = (copy for copy in range(1, copies + 1) if copy not in laid)
    for copy in itertools.islice(absent, ENOUGH_MISSING):
        yield Violation(Breach.MISSING_COPY, f'"{name}" copy {copy}', amount=1)
    if lacking > ENOUGH_MISSING:
        more = lacking - ENOUGH_MISSING
        yield Violation(Breach.MISSING_COPY, f'"{name}", {more} more copies', amount=more)
    for copy, count in laid.items():
        over = count - (1 <= copy <= copies)
        if over:
            yield Violation(Breach.EXTRA_COPY, f'"{name}" copy {copy}', amount=over)


def odd_ones_out(
    group: str, members: Sequence[tuple[str, str]], kind: Breach = Breach.ARROW
) -> Iterator[Violation]:
    """Those of a group's ``(name, way it lies)`` that do not lie the way most of it does."""
    usual = Counter(way for _, way in members).most_common(1)[0][0]
    for name, way in members:
        if way != usual:
            yield Violation(kind, f"{name}, {way}", f"{group}, {usual}")
