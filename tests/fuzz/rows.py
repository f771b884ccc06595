"""Searches of rows that remember cases against the same search without memory.

What decides is what was remembered: with many equal copies most cases are met again. Each problem is asked
for ever greater lengths, from one that is surely too short to the first that has rows; both searches must
say no, no, ..., yes to the same lengths.
"""

from __future__ import annotations

import random
from collections.abc import Callable
from dataclasses import dataclass

from nesting.packing import Match, Part, Problem, Repeat, Strip
from nesting.packing.bounds.contiguous import PhasedRows
from nesting.packing.bounds.row_search import NUMBERS, RowSearch
from nesting.packing.bounds.simple import area, tallest
from nesting.packing.race import Race
from nesting.packing.reduce import Core, reduce
from nesting.packing.turn import Budget
from tests.turns import turn_of

#: Looks at the clock of one search for one length, of 20,000 nodes each; then the case is left undecided.
MOST_LOOKS = 40
#: Lengths asked for, from the plain bounds on.
MOST_LENGTHS = 60


@dataclass(frozen=True, slots=True)
class Answer:
    """The least length that has rows, of both searches; None where one of them did not come to an end."""

    remembering: int | None
    forgetting: int | None

    @property
    def decided(self) -> bool:
        return self.remembering is not None and self.forgetting is not None

    @property
    def agrees(self) -> bool:
        return self.remembering == self.forgetting


def problem_of(seed: int) -> Problem:
    """Eight to twelve copies of two to four kinds, under a repeat three times out of four."""
    rng = random.Random(seed)
    width, copies = rng.randint(4, 9), rng.randint(8, 12)
    count = rng.randint(2, 4)
    cuts = sorted(rng.sample(range(1, copies), count - 1))
    shares = [last - first for first, last in zip([0, *cuts], [*cuts, copies], strict=True)]
    period = rng.choice((None, rng.randint(3, 12), rng.randint(3, 12), rng.randint(5, 9)))
    start = rng.choice((0, rng.randint(0, 4), None)) if period else None
    parts = []
    for number, share in enumerate(shares):
        matched = period is not None and rng.random() < 0.8
        level = rng.choice(("one", "one", "other"))
        match = Match(level, y=rng.randint(0, (period or 1) - 1)) if matched else None
        wide = rng.randint(1, max(1, width // 2 + (rng.random() < 0.2)))
        parts.append(Part(f"p{number}", wide, rng.randint(2, 20), share, match=match))
    if all(part.match is None for part in parts):
        period = start = None
    repeat = None if period is None else Repeat(period)
    return Problem((Strip(width, repeat=repeat, start=start),), tuple(parts))


def compare(problem: Problem) -> Answer:
    """Both searches on one problem."""
    core = reduce(problem, set_apart=False)
    assert core is not None
    return Answer(least(core, NUMBERS), least(core, 0))


def least(core: Core, numbers: int) -> int | None:
    """The least length that has rows, by a search that remembers as much as that."""
    search = RowSearch(core, range(len(core.kinds)), lambda: False, numbers=numbers)
    matched = any(kind.match is not None for kind in core.kinds)
    rows = PhasedRows(search) if matched else search
    shortest = max(area(core).length, tallest(core).length)
    for length in range(shortest, shortest + MOST_LENGTHS):
        answer = rows.decide(length, turn_of(core, Race(Budget(0, 1e9)), until=looks(MOST_LOOKS)))
        if answer is not False:
            return length if answer else None
    return None


def looks(most: int) -> Callable[[], bool]:
    """True once it was asked so often."""
    asked = 0

    def stop() -> bool:
        nonlocal asked
        asked += 1
        return asked > most

    return stop


def run(cases: int, seed: int) -> tuple[int, list[int]]:
    """How many of ``cases`` problems from a seed on were decided by both, and the seeds that differ."""
    decided, differ = 0, list[int]()
    for number in range(seed, seed + cases):
        answer = compare(problem_of(number))
        decided += answer.decided
        if answer.decided and not answer.agrees:
            differ.append(number)
    return decided, differ
