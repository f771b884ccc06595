"""Which phases the level groups of a pattern may have in a layout that is pushed together.

Push every level group as a whole, and every unmatched part, toward the squared end until nothing moves, not
even several together. Then each group rests, through a pile of unmatched parts or none, on a part of a group
that rests likewise, or on the squared end: or all that does not so rest could be moved together. So the
groups can be settled one after another, each by the end of a part of those settled, and the phases to be
tried are few, however fine the repeat is measured. The layout ends where a pile on a part of some group ends.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Any

from nesting.packing.bounds.standing import starts_of
from nesting.packing.reduce import Core

Phases = Mapping[str, int]
"""The phase along of some level groups."""
Named = tuple[tuple[str, int], ...]
"""The same in a fixed order."""

#: With more piles of unmatched parts than this, modulo the repeat, there are too many phases to try.
MOST_PILES = 12


def named(phases: Phases) -> Named:
    """To remember them by."""
    return tuple(sorted(phases.items()))


class Settling:
    """The phases to be tried.

    Parameters
    ----------
    core
        A problem under a repeat.
    kinds
        The parts that are pushed together; no others are there.
    """

    def __init__(self, core: Core, kinds: Iterable[int]) -> None:
        assert core.repeat is not None
        self._period = core.repeat.length
        rooms: dict[str, Any] = {}
        #: ``(start, length)`` modulo the repeat of the parts of each level group.
        self._classes: dict[str, set[tuple[int, int]]] = {}
        self._piles = {0}
        for index in kinds:
            kind = core.kinds[index]
            if kind.match is None:
                self._pile({length for _, length, _ in kind.ways}, kind.copies)
            else:
                known = self._classes.setdefault(kind.match.level, set())
                known |= {(start, kind.length % self._period) for start in starts_of(core, index, rooms)}

    def _pile(self, lengths: set[int], copies: int) -> None:
        for _ in range(copies):
            more = {(pile + length) % self._period for pile in self._piles for length in lengths}
            if more <= self._piles or not self.worthwhile:
                return
            self._piles |= more

    @property
    def worthwhile(self) -> bool:
        """Whether the phases to be tried are few."""
        return len(self._piles) <= MOST_PILES

    @property
    def levels(self) -> frozenset[str]:
        """The level groups."""
        return frozenset(self._classes)

    def ends(self, phases: Phases) -> set[int]:
        """Where piles on the squared end, or on parts of the groups settled, end modulo the repeat."""
        ends = {0} | {
            phase + start + length
            for level, phase in phases.items()
            for start, length in self._classes[level]
        }
        return {(end + pile) % self._period for end in ends for pile in self._piles}

    def one_more(self, phases: Phases) -> Iterator[dict[str, int]]:
        """With every phase of one more group that those settled allow."""
        ends = self.ends(phases)
        for level in sorted(self._classes.keys() - phases.keys()):
            begins = {start for start, _ in self._classes[level]}
            for phase in sorted({(end - begin) % self._period for end in ends for begin in begins}):
                yield {**phases, level: phase}
