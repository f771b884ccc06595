"""The bound by rows in one piece: lengths refuted by row searches, under a repeat over all phases.

See `nesting.packing.bounds.row_search` for the search, and for why it may be believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import Protocol

from nesting.packing.bounds.gaps import GapBound
from nesting.packing.bounds.lengthwise import columns_in_one_piece
from nesting.packing.bounds.row_search import RowSearch, kept
from nesting.packing.bounds.settling import Settling
from nesting.packing.race import Host
from nesting.packing.reduce import Core
from nesting.packing.result import Bound

#: Repeats of more steps than this do not have their phases ruled out by waits before these are searched.
LONGEST_RULED = 8_000


class PhasedRows:
    """A search of rows over the phases of the level groups.

    Those that count are few (`nesting.packing.bounds.settling`): one group is settled after another,
    while the parts of the rest may begin anywhere.

    Parameters
    ----------
    search
        Of the kinds that count.
    """

    method = RowSearch.method

    def __init__(self, search: RowSearch) -> None:
        core = search.core
        assert core.repeat is not None
        self._search = search
        # Of these parts alone: pushed together without the others they have other phases than in a layout.
        # Their tables grow with the repeat, so finely measured ones go without.
        ruled = search.weights if core.repeat.length <= LONGEST_RULED else ()
        gaps = (GapBound(search.part, weights) for weights in ruled)
        self._gaps = [gap for gap in gaps if gap.worthwhile]
        self._settling = Settling(core, search.kinds)
        #: For each length asked for, the phases still to be searched, and those met.
        self._asked: dict[int, tuple[list[dict[str, int]], set[tuple[tuple[str, int], ...]]]] = {}

    @property
    def worthwhile(self) -> bool:
        """Whether the phases to be tried are few."""
        return self._settling.worthwhile

    def decide(self, longest: int, host: Host, stop: Callable[[], bool]) -> bool | None:
        """As `RowSearch.decide`, over all phases; asked again it goes on with those that are left."""
        core = self._search.core
        known = {}
        if core.start is not None and core.repeat is not None:
            known = dict.fromkeys(self._settling.levels, -core.start % core.repeat.length)
        left, met = self._asked.setdefault(longest, ([known], set()))
        while left and not stop():
            phases = left[-1]
            host.budget.charge(sum(gap.work for gap in self._gaps))
            if any(gap.least_at(phases, longest) > longest for gap in self._gaps):
                left.pop()
                continue
            answer = self._search.decide(longest, host, stop, phases)
            if answer is True and len(phases) == len(self._settling.levels):
                return True
            if answer is None:
                return None
            left.pop()
            if answer is True:
                for settled in self._settling.one_more(phases):
                    name = tuple(sorted(settled.items()))
                    if name not in met:
                        met.add(name)
                        left.append(settled)
        return None if left else False


class InOnePiece(Protocol):
    """A search of rows, of one phase or of all, or of columns."""

    @property
    def method(self) -> str:
        """What a bound of it is called."""

    def decide(self, longest: int, host: Host, stop: Callable[[], bool]) -> bool | None:
        """Whether the parts have room within ``longest``; None: not found out."""


def row_search(core: Core, kinds: Sequence[int], stop: Callable[[], bool]) -> InOnePiece | None:
    """A search of some kinds, under a repeat with the phases of the design; None where these are too many."""
    search = RowSearch(core, kinds, stop)
    if all(core.kinds[i].match is None for i in kinds):
        return search
    phased = PhasedRows(search)
    return phased if phased.worthwhile else None


class Contiguous:
    """The bound by searches of rows, then of columns, of ever more kinds, taken up again with more time.

    Lengths are asked for from the best layout down until one is refuted in its time, then up again. The next
    turn begins with the next search.

    Parameters
    ----------
    core
        The problem; all arrow groups decided.
    stop
        Ends the search for row weights.
    """

    def __init__(self, core: Core, stop: Callable[[], bool]) -> None:
        searches = (row_search(core, kinds, stop) for kinds in kept(core))
        self._searches: list[InOnePiece] = [search for search in searches if search is not None]
        self._searches += columns_in_one_piece(core)
        #: For each search the least length at which its parts are known to have room.
        self._fits: dict[int, int] = {}
        self._next = 0

    def open(self, least: int) -> bool:
        """Whether some search may still refute a length of ``least``."""
        return any(self._fits.get(number, least + 1) > least for number in range(len(self._searches)))

    def raised(
        self,
        least: int,
        limit: int,
        host: Host,
        stop: Callable[[], bool],
        trial: Callable[[], Callable[[], bool]],
    ) -> Iterator[Bound]:
        """Ever higher bounds from ``least`` on, at most ``limit`` + 1, until ``stop()``.

        ``trial()`` gives the end of the next trial.
        """
        for _ in self._searches:
            if stop() or least > limit:
                return
            number = self._next % len(self._searches)
            self._next += 1
            for length in self._raised_by(number, least, limit, host, trial):
                least = length
                yield Bound(least, self._searches[number].method)

    def _raised_by(
        self, number: int, least: int, limit: int, host: Host, trial: Callable[[], Callable[[], bool]]
    ) -> Iterator[int]:
        length = top = min(limit, self._fits.get(number, limit + 1) - 1)
        while least <= length:
            answer = self._searches[number].decide(length, host, trial())
            if answer is False:
                least = length + 1
                yield least
                length = (least + top) // 2 if top > least else top
                continue
            if answer is True:
                self._fits[number] = length
            if length == least:
                break
            top = length - 1
            length = (3 * least + top) // 4
