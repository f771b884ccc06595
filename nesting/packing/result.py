"""What comes out of packing: a layout, a bound on every layout, and how the search ended."""

from __future__ import annotations

from abc import abstractmethod
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Any, ClassVar

from nesting.packing.problem import Problem


class Status(StrEnum):
    """What you hold."""

    OPTIMAL = "optimal"
    FEASIBLE = "feasible"
    INFEASIBLE = "infeasible"
    NO_LAYOUT = "no_layout"


class Stop(StrEnum):
    """Why the search ended.

    ``TARGET``: the layout is as short as was asked for. ``EXHAUSTED``: the search had proved its best, and
    what had to be moved off the selvages afterwards made it longer. ``FAULT``: a bound contradicted a layout
    that keeps every rule; the layout counts, no bound does.
    """

    PROVED = "proved"
    TIME_LIMIT = "time_limit"
    TARGET = "target"
    INTERRUPTED = "interrupted"
    EXHAUSTED = "exhausted"
    FAULT = "fault"


CONTRADICTED = "nothing proven: a bound contradicted this layout"
"""The method of the bound that is left after a `Stop.FAULT`."""


@dataclass(frozen=True, slots=True)
class Placement:
    """Where one copy of a part lies.

    Attributes
    ----------
    part
        Index into ``Problem.parts``.
    copy
        From 1 to the part's copies.
    x, y
        The lower-left corner: across from the left edge, along from the squared end.
    turned
        By a quarter.
    strip
        Index into ``Problem.strips``.
    """

    part: int
    copy: int
    x: int
    y: int
    turned: bool = False
    strip: int = 0


#: Stands in the method of a bound that nothing replays, and in that of one that rests on the solver.
UNCHECKED, SOLVER = "not re-checked", "CP-SAT"
#: Of a bound that was read from somebody's file and not replayed.
TOLD = "as its file says"


class Certificate(Mapping[str, Any]):
    """What re-proves a bound: a record of whole numbers that adds itself up from the problem alone.

    It reads as the mapping that a document holds, which `nesting.check.proof` replays by code of its own.
    """

    __slots__ = ()
    rule: ClassVar[str]
    """The name of the argument, as the check knows it."""

    @abstractmethod
    def proven(self, problem: Problem) -> int:
        """The length that no layout of the problem can undercut by this argument; 0 where it says nothing."""

    @abstractmethod
    def told(self) -> dict[str, Any]:
        """As a document holds it."""

    def __getitem__(self, key: str) -> Any:
        return self.told()[key]

    def __iter__(self) -> Iterator[str]:
        return iter(self.told())

    def __len__(self) -> int:
        return len(self.told())


@dataclass(frozen=True, slots=True)
class Bound:
    """A length that no layout can undercut.

    Attributes
    ----------
    length
        Never above the optimum.
    method
        The name of the argument, such as ``area`` or ``bar relaxation``. Without a certificate it says
        "not re-checked", unless the bound says nothing.
    certificate
        What a reader needs to re-prove it, or None where only our search or the solver vouches for it. Of the
    engine a `Certificate`; as it stands in a document, where it was read from one.
    open_certificate
        The same of all that was open when it was proved, options and ways to cut, of which what is laid is
        one case. Who has what is laid only cannot replay it.
    """

    length: int
    method: str
    certificate: Mapping[str, Any] | None = None
    open_certificate: Mapping[str, Any] | None = None

    def __post_init__(self) -> None:
        if self.certificate is None and self.length > 0 and UNCHECKED not in self.method:
            object.__setattr__(self, "method", f"{self.method}, {UNCHECKED}")

    @property
    def told(self) -> bool:
        """Whether nothing vouches for it but the file that it was read from."""
        return TOLD in self.method

    @property
    def rests_on(self) -> str:
        """What it rests on, in words for a person: of the three kinds of proof which one."""
        if self.told:
            return "the word of its file"
        if self.certificate is not None:
            return "re-proved from its certificate"
        return "the solver's word" if SOLVER in self.method else "proved by our search"

    def checked(self, problem: Problem) -> bool:
        """Whether its certificate, added up anew from the problem alone, proves this length.

        False for one read from a document, which `nesting.check.check_bound` replays.
        """
        said = self.certificate
        return isinstance(said, Certificate) and said.proven(problem) >= self.length


@dataclass(frozen=True, slots=True)
class Incumbent:
    """A layout's length and the bound known when it was found.

    Attributes
    ----------
    length
        None while only a bound is known.
    bound
        The best lower bound so far.
    method
        What found the layout or raised the bound.
    seconds
        Since the start of the search.
    """

    length: int | None
    bound: int
    method: str
    seconds: float


Observer = Callable[[Incumbent], object]
"""Told of each better layout or bound; returning False asks the search to stop."""

Viewer = Callable[[int, tuple[Placement, ...]], object]
"""Shown each better layout: its length and where everything lies; what it returns does not matter."""


@dataclass(frozen=True, slots=True)
class Aim:
    """One objective of several, each of which counts only where all before it are equal.

    Attributes
    ----------
    name
        ``to buy``, ``value``, ``fabric started``, ``extras`` or ``cut into``.
    value
        What the layout reaches.
    bound
        What no layout can better that is as good in the stages before.
    most
        Whether more is better.
    method
        The name of the argument behind the bound.
    certificate
        What re-proves the bound from the problem alone; see `nesting.check.proof_stock`.
    """

    name: str
    value: int
    bound: int
    most: bool = False
    method: str = ""
    certificate: Mapping[str, Any] | None = field(default=None, compare=False)

    @property
    def closed(self) -> bool:
        """Value and bound have met."""
        return self.value == self.bound


@dataclass(frozen=True, slots=True)
class StageReport:
    """What one bound or search brought in all its turns.

    Attributes
    ----------
    name
        Of the bound or the search, as `nesting.packing.schedule` has it.
    turns
        How many it had.
    seconds
        What they took; units of work, where work is counted.
    layouts, bounds
        How often it found a shorter layout, and raised the bound.
    """

    name: str
    turns: int
    seconds: float
    layouts: int
    bounds: int


def status_of(length: int | None, bound: int, stages: tuple[Aim, ...] = ()) -> Status:
    """What you hold; optimality is derived here, from length = bound in every stage, and nowhere else."""
    if length is None:
        return Status.NO_LAYOUT
    met = length == bound and all(stage.closed for stage in stages)
    return Status.OPTIMAL if met else Status.FEASIBLE


@dataclass(frozen=True, slots=True)
class Result:
    """The best layout found and the best bound proved.

    Attributes
    ----------
    length
        What the open strip needs; None without a layout.
    bound
        The largest lower bound that was proved.
    stop
        Why the search ended.
    seconds
        How long it took.
    placements
        One for each copy of each part that is laid.
    chosen
        For each choice, the index of the option laid.
    incumbents
        How length and bound met over time.
    infeasible
        Proven: no layout exists at any length.
    stages
        With fabric on hand or optional parts: the objectives in their order. What is optional may be missing
        from ``placements``.
    free_length
        The best length found for the same parts cut in any way, where the layout is cut across first.
    unplaced
        Where ``infeasible``: the names of the parts that have no place, or not together.
    statistics
        What each stage of the search brought.
    """

    length: int | None
    bound: Bound
    stop: Stop
    seconds: float
    placements: tuple[Placement, ...] = ()
    chosen: tuple[int, ...] = ()
    incumbents: tuple[Incumbent, ...] = ()
    infeasible: bool = False
    stages: tuple[Aim, ...] = ()
    free_length: int | None = None
    unplaced: tuple[str, ...] = ()
    statistics: tuple[StageReport, ...] = field(default=(), compare=False)

    @property
    def status(self) -> Status:
        """What you hold; see `status_of`."""
        return (
            Status.INFEASIBLE if self.infeasible else status_of(self.length, self.bound.length, self.stages)
        )
