"""Which bounds are believed: one that a layout contradicts is dropped, and so is its source from then on."""

from __future__ import annotations

import logging
from collections.abc import Iterable, Sequence

from nesting.packing.reduce import Core
from nesting.packing.result import Bound

_LOG = logging.getLogger(__name__)


class Contradicted(Exception):  # noqa: N818 - a signal, not an error
    """A layout is shorter than a bound on its case: the search begins anew, without that bound's source."""


class Trust:
    """What layouts have been found of each case, and which sources of bounds they have contradicted.

    A bound that was raised while a false one stood may rest on it. So nothing that was said is kept: all
    bounds are found anew, by the sources that are still believed. Only the earliest false bound's source is
    dropped; what came after it may have been misled, and is dropped in its turn if it is false by itself.
    """

    def __init__(self) -> None:
        self.dropped: set[str] = set()
        self._said: dict[int, list[Bound]] = {}
        #: By identity: the cores are kept, so that no other takes the place of one.
        self._reached: dict[int, tuple[Core, int | None]] = {}

    def believes(self, bound: Bound) -> bool:
        """Whether its source has not been contradicted."""
        return bound.method not in self.dropped

    def said(self, case: int, bound: Bound) -> None:
        """A bound that was taken on a case."""
        self._said.setdefault(case, []).append(bound)

    def watch(self, cores: Iterable[Core]) -> None:
        """Remember what is reached with these cores."""
        for core in cores:
            self._reached.setdefault(id(core), (core, None))

    def reach(self, core: Core, length: int) -> bool:
        """A layout of that core, so long in ticks; True where it is watched and this is its shortest."""
        known = self._reached.get(id(core))
        if known is None or (known[1] is not None and known[1] <= length):
            return False
        self._reached[id(core)] = core, length
        return True

    def reached(self, core: Core) -> int | None:
        """The shortest layout of that very core; None while there is none."""
        found = self._reached.get(id(core))
        return None if found is None else found[1]

    def split(self, bounds: Sequence[Bound]) -> None:
        """The cases are others from now on, with these bounds."""
        self._said = {case: [bound] for case, bound in enumerate(bounds)}

    def drop(self, case: int, length: int) -> bool:
        """Believe no more the source of the earliest bound on a case that is above a layout of it.

        False where it is not believed already, so that nothing would change.
        """
        false = next((bound for bound in self._said.get(case, ()) if bound.length > length), None)
        if false is None or false.method in self.dropped:
            return False
        _LOG.error(
            "bound %d (%s) above a layout of %d: it is dropped, and its source with it",
            false.length,
            false.method,
            length,
        )
        self.dropped.add(false.method)
        return True

    def forget(self) -> None:
        """Nothing has been said of any case."""
        self._said.clear()
