"""One case of a problem on its way: what has been tried on it, and the searches that go on."""

from __future__ import annotations

import itertools
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field

from nesting.packing.bounds import Contiguous, GapBound
from nesting.packing.models.cpsat import Weights
from nesting.packing.pace import Credits
from nesting.packing.race import Host
from nesting.packing.reduce import Core
from nesting.packing.result import Bound
from nesting.packing.searches.beam import BeamSearch
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.fitting import FitSearch
from nesting.packing.searches.levels_first import LevelsFirst
from nesting.packing.searches.neighborhoods import WindowSearch
from nesting.packing.searches.orders import OrderSearch
from nesting.packing.searches.rows_first import RowsFirst
from nesting.packing.searches.tight import TightSearch

#: With more rectangles than this no two-dimensional model is built.
MOST_IN_MODEL = 400
#: The tight search is worth trying when at most this part of the fabric would stay unused.
TIGHT = 0.04
#: The least share of its time that a stage without success is given.
LEAST_CREDIT = 0.1
#: With more open arrow groups than this the directions are left to CP-SAT instead of tried one by one.
MOST_SPLIT = 3


def branches_of(core: Core) -> list[Core]:
    """The core once for each direction of its open arrow groups, where there are few."""
    arrows = core.open_arrows
    if not arrows or len(arrows) > MOST_SPLIT:
        return [core]
    cases = []
    for turns in itertools.product((False, True), repeat=len(arrows)):
        case = core
        for arrow, turned in zip(arrows, turns, strict=True):
            case = case.decided(arrow, turned)
        cases.append(case)
    return cases


def seams_have_room(branches: Sequence[Core]) -> bool:
    """Some phase across leaves room for all widths of each seam group."""
    core = branches[0]
    if core.repeat is None or core.repeat.width is None:
        return True
    room = SeamRoom(core)
    return all(room.phases(seam) for seam in room.seams)


@dataclass(slots=True)
class Branch:
    """One case of the search."""

    core: Core
    number: int
    room: SeamRoom = field(init=False)
    search: OrderSearch = field(init=False)
    fit: FitSearch = field(init=False)
    beam: BeamSearch = field(init=False)
    beam_beside: BeamSearch = field(init=False)
    tight: TightSearch = field(init=False)
    rows_first: RowsFirst = field(init=False)
    rows_beside: RowsFirst = field(init=False)
    levels_first: LevelsFirst = field(init=False)
    windows: WindowSearch = field(init=False)
    seed: int = 0
    weights: Weights | None = None
    gaps: list[GapBound] | None = None
    contiguous: Contiguous | None = None
    slice: float = 0.5
    begun: bool = False
    proved: Bound | None = None
    credits: Credits = field(default_factory=lambda: Credits(LEAST_CREDIT))
    round: int = 0
    lock: threading.Lock = field(default_factory=threading.Lock)

    def __post_init__(self) -> None:
        self.room = SeamRoom(self.core)
        self.search = OrderSearch(self.core, self.seed)
        self.fit = FitSearch(self.core, self.seed)
        self.beam = BeamSearch(self.core, self.seed)
        self.beam_beside = BeamSearch(self.core, self.seed + 1)
        self.tight = TightSearch(self.core, self.seed)
        self.rows_first = RowsFirst(self.core, self.seed)
        self.rows_beside = RowsFirst(self.core, self.seed + 1)
        self.levels_first = LevelsFirst(self.core, self.seed)
        self.windows = WindowSearch(self.core, self.seed)

    def search_orders(self, host: Host, target: int, stop: Callable[[], bool]) -> bool:
        """Search orders until ``stop()``; False where there is nothing to search."""
        if self.core.open_arrows or not self.search.worthwhile:
            return False
        with self.lock:
            self.search.run(host, target, stop)
        return True

    def search_fits(self, host: Host, target: int, longest: int, stop: Callable[[], bool]) -> bool:
        """Search layouts from ``target`` to ``longest`` long until ``stop()``; where `Core.phases`."""
        core = self.core
        if core.phases is None or core.open_arrows or not self.fit.worthwhile or longest < target:
            return False
        with self.lock:
            self.fit.run(host, target, longest, stop)
        return True

    def search_beams(
        self, host: Host, target: int, longest: int, stop: Callable[[], bool], *, beside: bool = False
    ) -> bool:
        """Grow layouts from ``target`` to ``longest`` long until ``stop()``; orders go on from the best.

        ``beside`` the companion the same is done with other luck, and its orders are left alone.
        """
        search = self.beam_beside if beside else self.beam
        if self.core.open_arrows or not search.worthwhile or longest < target:
            return False
        if beside:
            search.run(host, target, longest, self.weights, stop)
            return True
        with self.lock:
            found = search.run(host, target, longest, self.weights, stop)
            if found is not None:
                self.search.begin_with(found)
        return True

    def search_rows(
        self,
        host: Host,
        target: int,
        longest: int,
        seconds: float,
        until: Callable[[float], Callable[[], bool]],
        *,
        beside: bool = False,
    ) -> bool:
        """Rows first, then places across, for so many seconds; plain fabric only, where rows say most."""
        core, search = self.core, self.rows_beside if beside else self.rows_first
        if not core.plain or core.open_arrows or core.copies > MOST_IN_MODEL or not search.worthwhile:
            return False
        if longest >= target:
            search.run(host, target, longest, seconds, until)
        return True

    def search_niches(self, host: Host, target: int, stop: Callable[[], bool]) -> bool:
        """Search niches where the target leaves next to no waste; False elsewhere."""
        core = self.core
        if core.phases is None or core.open_arrows or not core.kinds or core.copies > MOST_IN_MODEL:
            return False
        if self.tight.slack(target) > TIGHT * core.width * target:
            return False
        with self.lock:
            self.tight.run(host, target, stop)
        return True
