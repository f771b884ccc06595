"""What a file of the set holds: problems, the best layouts known, bounds, and what was spent on them."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from nesting.packing import Placement, Problem

FORM, TICK = "nesting-set/1", "1/80 mm"


@dataclass(frozen=True, slots=True)
class Claim:
    """A length that no layout is said to undercut.

    Attributes
    ----------
    by, rests_on
        The name of the argument, and of the three kinds of proof which one.
    certificate
        What replays it; None: nothing does, or it is ``left_out``, which says why.
    found
        The day.
    """

    length: int
    by: str
    rests_on: str
    found: str
    certificate: Mapping[str, Any] | None = None
    left_out: str = ""


@dataclass(frozen=True, slots=True)
class Goal:
    """One of several objectives of lengths on hand, each counting only where all before are equal.

    Attributes
    ----------
    certificate
        What replays the bound, those of the goals before being given; None: nothing does.
    """

    name: str
    value: int
    bound: int
    by: str
    certificate: Mapping[str, Any] | None = None


@dataclass(frozen=True, slots=True)
class Known:
    """The best layout known.

    Attributes
    ----------
    length
        What it takes of the open strip.
    goals
        With lengths on hand: all objectives in their order, the first of them that length.
    work, seed
        What the run that found it was given, in units of work of the engine.
    """

    length: int
    layout: tuple[Placement, ...]
    by: str
    found: str
    work: float
    seed: int
    goals: tuple[Goal, ...] = ()


@dataclass(frozen=True, slots=True)
class Run:
    """One run that was spent on an instance, with what it came to by itself."""

    work: float
    seed: int
    day: str
    length: int | None = None
    bound: int = 0


@dataclass(frozen=True, slots=True)
class Entry:
    """An instance and what is known of it.

    Attributes
    ----------
    across
        Layouts are cut across first: bands, columns in a band, rows in a column.
    bounds
        The highest first; a second one only where the first has no certificate and the second has.
    runs
        All that was spent on it.
    """

    family: str
    name: str
    problem: Problem
    windows: int
    sold_by: int
    unit: str
    thumb: int | None = None
    across: bool = False
    known: Known | None = None
    bounds: tuple[Claim, ...] = ()
    runs: tuple[Run, ...] = ()

    @property
    def bound(self) -> int:
        """The highest bound; 0 where there is none."""
        return self.bounds[0].length if self.bounds else 0

    @property
    def replayed(self) -> int:
        """The highest bound that carries its certificate; 0 where none does."""
        return max((claim.length for claim in self.bounds if claim.certificate is not None), default=0)

    @property
    def closed_by_certificate(self) -> bool:
        """It is closed, and every bound that this rests on carries its certificate."""
        if self.known is not None and self.known.goals:
            return self.closed and all(goal.certificate is not None for goal in self.known.goals)
        return self.closed and self.replayed == self.bound

    @property
    def closed(self) -> bool:
        """Length and bound have met, in every objective."""
        if self.known is None:
            return False
        if self.known.goals:
            return all(goal.value == goal.bound for goal in self.known.goals)
        return self.known.length == self.bound


@dataclass(frozen=True, slots=True)
class Family:
    """The instances of one file."""

    name: str
    about: str
    entries: tuple[Entry, ...]
