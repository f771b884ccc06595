"""One case of a problem on its way: its bounds and searches, and what is asked of it."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from nesting.errors import ProblemError
from nesting.packing.bounds import BOUNDS, LowerBound
from nesting.packing.pace import Credits
from nesting.packing.problem import Problem
from nesting.packing.race import Race, in_ticks
from nesting.packing.reduce import Core, Layout, misfits, reduce
from nesting.packing.result import Bound
from nesting.packing.schedule import PARAMS, USUAL, Params, Stage, When
from nesting.packing.searches import SEARCHES, Search
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.rows_first import RowsFirst
from nesting.packing.turn import Goal, Turn, Weights


def branches_of(core: Core, most_split: int = PARAMS.most_split) -> list[Core]:
    """The core once for each direction of its open arrow groups, where there are few."""
    arrows = core.open_arrows
    if not arrows or len(arrows) > most_split:
        return [core]
    cases = []
    for turns in itertools.product((False, True), repeat=len(arrows)):
        case = core
        for arrow, turned in zip(arrows, turns, strict=True):
            case = case.decided(arrow, turned)
        cases.append(case)
    return cases


def stages_of(params: Params, when: When) -> list[Stage]:
    """The stages of a place in the order of work; last in a round what is registered without a stage."""
    stages = list(params.at(when))
    if when is When.ROUND:
        known = {stage.search for stage in params.stages} | params.off
        stages += [Stage(name, USUAL, when) for name in (*BOUNDS, *SEARCHES) if name not in known]
    return stages


def require_known(params: Params) -> None:
    """Refuse tuning numbers that name a bound or a search that there is not.

    Raises
    ------
    ProblemError
        Names it, and what there is.
    """
    known = BOUNDS.keys() | SEARCHES.keys()
    for name in sorted({stage.search for stage in params.stages} | params.off):
        if name not in known:
            raise ProblemError(f'stage "{name}": expected one of {", ".join(sorted(known))}')


def seams_have_room(branches: Sequence[Core]) -> bool:
    """Some phase across leaves room for all widths of each seam group."""
    core = branches[0]
    if core.repeat is None or core.repeat.width is None:
        return True
    room = SeamRoom(core)
    return all(room.phases(seam) for seam in room.seams)


def unplaced(problem: Problem, branches: Sequence[Core] = ()) -> tuple[str, ...]:
    """The names of parts that have no place: each by itself, in its arrow group, or in its seam group.

    Parameters
    ----------
    problem
        One that has no layout.
    branches
        Its cases, where each part has a place by itself.
    """
    alone = misfits(problem)
    if alone:
        return tuple(part.name for part in alone)
    if branches and branches[0].repeat is not None and branches[0].repeat.width is not None:
        room = SeamRoom(branches[0])
        seams = {seam for seam in room.seams if not room.phases(seam)}
        return tuple(p.name for p in problem.parts if p.match is not None and p.match.seam in seams)
    arrows = dict.fromkeys(part.arrow for part in problem.parts if part.arrow is not None)
    for arrow in arrows:
        group = tuple(part for part in problem.parts if part.arrow == arrow)
        if reduce(replace(problem, parts=group, choices=())) is None:
            return tuple(part.name for part in group)
    return ()


@dataclass(slots=True)
class Kept:
    """A search, and who may go on with it."""

    search: Search
    lock: threading.Lock = field(default_factory=threading.Lock)


@dataclass(slots=True)
class Branch:
    """One case of the search; its bounds and searches are made when first asked for."""

    core: Core
    number: int
    seed: int = 0
    weights: dict[str, Weights] = field(default_factory=dict)
    slice: float = PARAMS.first_slice
    begun: bool = False
    proved: Bound | None = None
    credits: Credits = field(default_factory=lambda: Credits(PARAMS.least_credit))
    round: int = 0
    #: A layout whose order is worth searching next.
    handed: Layout | None = None
    _rows: RowsFirst | None = None
    _bounds: dict[str, LowerBound] = field(default_factory=dict)
    _searches: dict[tuple[str, int], Kept] = field(default_factory=dict)

    @classmethod
    def of(cls, core: Core, number: int, seed: int, params: Params) -> Branch:
        """A case as the tuning numbers want it."""
        return cls(core, number, seed, slice=params.first_slice, credits=Credits(params.least_credit))

    @property
    def rows(self) -> RowsFirst:
        """Makes layouts of the rows that a bound found, on prints too."""
        if self._rows is None:
            self._rows = RowsFirst(self.core, self.seed)
        return self._rows

    def bound(self, name: str) -> LowerBound | None:
        """The bound of that name; None where it does not apply."""
        if name not in self._bounds and BOUNDS[name].applies(self.core):
            self._bounds[name] = BOUNDS[name](self.core)
        return self._bounds.get(name)

    def search(self, name: str, luck: int = 0) -> Kept | None:
        """The search of that name and luck; None where it does not apply."""
        if (name, luck) not in self._searches and SEARCHES[name].applies(self.core):
            # Two threads may make one at the same time: the first that is entered counts.
            self._searches.setdefault((name, luck), Kept(SEARCHES[name](self.core, self.seed + luck)))
        return self._searches.get((name, luck))


class CaseGoal(Goal):
    """What is asked of a case as a race stands.

    Parameters
    ----------
    race
        Has the best layout and the bounds.
    branch
        The case.
    alone
        It is the only one: a certificate speaks of one case, the bound on all is the least of several.
    """

    def __init__(self, race: Race, branch: Branch, *, alone: bool) -> None:
        super().__init__(branch.core, weights=branch.weights)
        self._race, self._branch, self._alone = race, branch, alone

    @property
    def handed(self) -> Layout | None:
        """Of the case, which keeps it from one search to the next."""
        return self._branch.handed

    @handed.setter
    def handed(self, layout: Layout | None) -> None:
        """Hand one on, or say that it was taken."""
        self._branch.handed = layout

    @property
    def least(self) -> int:
        """By the bound on the case."""
        return self._race.target_in(self.core, self._branch.number)

    @property
    def longest(self) -> int | None:
        """By the best layout of all cases."""
        return self._race.limit_in(self.core)

    @property
    def closed(self) -> bool:
        """By the bound on the case."""
        return self._race.closed(self._branch.number)

    @property
    def best(self) -> Layout | None:
        """Of all cases, where it is of this one."""
        best = self._race.best
        return None if best is None or best[0] is not self.core else best[1]

    def take(self, bound: Bound) -> bool:
        """Hand it to the race."""
        if not self._alone:
            bound = Bound(bound.length, bound.method)
        return self._race.raise_bound(in_ticks(self.core, bound), self._branch.number)

    def lay(self, turn: Turn, stood: Sequence[Any], least: int, length: int) -> int | None:
        """Places across for rows found by a bound, and the small parts beside."""
        layout = self._branch.rows.completed(tuple(stood), turn, least, length)
        if layout is None:
            return None
        turn.offer(self.core, layout, "rows with places across")
        return self.core.length_of(layout)
