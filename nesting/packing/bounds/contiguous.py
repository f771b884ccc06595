"""The bound by rows in one piece: lengths refuted by row searches, under a repeat over all phases.

Where places across are searched as well, the rows found are offered to be made a layout of.
See `nesting.packing.bounds.row_search` for the search, and for why it may be believed.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from typing import ClassVar, Protocol

from nesting.packing.bounds.gaps import GapBound
from nesting.packing.bounds.lengthwise import columns_in_one_piece
from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.bounds.row_search import RowSearch, Stood, kept
from nesting.packing.bounds.settling import Named, Settling, named
from nesting.packing.bounds.standing import can_stand, few_standings
from nesting.packing.reduce import Core
from nesting.packing.result import Bound
from nesting.packing.turn import Turn

#: Layouts are made of so many rows of one length.
TRIES = 8
#: Repeats of more steps than this do not have their phases ruled out by waits before these are searched.
LONGEST_RULED = 8_000
#: Share of a turn for one trial.
TRIAL = 0.5


class PhasedRows:
    """A search of rows over the phases of the level groups.

    Those that count are few (`nesting.packing.bounds.settling`): one group is settled after another,
    while the parts of the rest may begin anywhere.

    Parameters
    ----------
    search
        Of the kinds that count.
    """

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
        self._asked: dict[int, tuple[list[dict[str, int]], set[Named]]] = {}
        #: Phases and lengths with rows.
        self._found: set[tuple[Named, int]] = set()
        #: The longest length refuted for some phases, so that shorter ones need not be asked.
        self._refuted: dict[Named, int] = {}

    @property
    def method(self) -> str:
        """What a bound of it is called."""
        return self._search.method

    @property
    def worthwhile(self) -> bool:
        """Whether the phases to be tried are few."""
        return self._settling.worthwhile

    @property
    def stood(self) -> Stood:
        """After True: how each part stands, and where it begins."""
        return self._search.stood

    @property
    def layable(self) -> bool:
        """Whether places across are searched of all parts of the pattern, and nothing else binds them."""
        core = self._search.core
        matched = {number for number, kind in enumerate(core.kinds) if kind.match is not None}
        return self._search.standing and not core.flaws and matched <= set(self._search.kinds)

    def rest(self) -> None:
        """Let go of what takes room in memory."""
        self._search.rest()

    def decide(self, longest: int, turn: Turn) -> bool | None:
        """As `RowSearch.decide`, over all phases; asked again it goes on with those that are left."""
        core = self._search.core
        known = {}
        if core.start is not None and core.repeat is not None:
            known = dict.fromkeys(self._settling.levels, -core.start % core.repeat.length)
        left, met = self._asked.setdefault(longest, ([known], set()))
        while left and not turn.over():
            phases = left[-1]
            name = named(phases)
            if self._refuted.get(name, -1) >= longest:
                left.pop()
                continue
            turn.charge(sum(gap.work for gap in self._gaps))
            # With some phases open little waits, so it is soon refuted or never.
            settled = len(phases) == len(self._settling.levels)
            answer: bool | None = False
            if all(gap.least_at(phases, longest) <= longest for gap in self._gaps):
                answer = self._search.decide(longest, turn if settled else turn.glance(), phases)
            if settled and answer is not False:
                if answer:
                    self._found.add((name, longest))
                return answer
            left.pop()
            if answer is False:
                # After rows that were found there are no others, which refutes nothing.
                if (name, longest) not in self._found:
                    self._refuted[name] = longest
                continue
            for more in self._settling.one_more(phases):
                if named(more) not in met:
                    met.add(named(more))
                    left.append(more)
        return None if left else False


class InOnePiece(Protocol):
    """A search of rows, of one phase or of all, or of columns."""

    @property
    def method(self) -> str:
        """What a bound of it is called."""

    def decide(self, longest: int, turn: Turn) -> bool | None:
        """Whether the parts have room within ``longest``; None: not found out."""

    def rest(self) -> None:
        """Let go of what takes room in memory."""


def row_searches(core: Core, kinds: Sequence[int], stop: Callable[[], bool]) -> Iterator[InOnePiece]:
    """Searches of some kinds, under a repeat with the phases of the pattern; none where these are too many.

    First of the rows alone, then with places across; none where a kind has no place across at all.
    """
    if not can_stand(core, kinds):
        return
    search = RowSearch(core, kinds, stop)
    if all(core.kinds[i].match is None for i in kinds):
        yield search
    elif (phased := PhasedRows(search)).worthwhile:
        yield phased
        if few_standings(core, kinds):
            standing = RowSearch(core, kinds, stop, standing=True)
            if standing.standing:
                yield PhasedRows(standing)


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
        self._searches = [search for kinds in kept(core) for search in row_searches(core, kinds, stop)]
        self._searches += columns_in_one_piece(core)
        #: For each search the least length at which its parts are known to have room.
        self._fits: dict[int, int] = {}
        #: For each search lengths at which it had no answer in its time: the longest, and a short one.
        self._long: dict[int, int] = {}
        self._short: dict[int, int] = {}
        self._turns = self._next = self._floor = 0

    def open(self, least: int) -> bool:
        """Whether some search may still refute a length of ``least``."""
        return any(self._fits.get(number, least + 1) > least for number in range(len(self._searches)))

    def raised(self, least: int, limit: int, turn: Turn) -> Iterator[Bound]:
        """Ever higher bounds from ``least`` on, at most ``limit`` + 1, until the turn is over."""
        self._turns += 1
        self._floor = least
        count = len(self._searches)
        # Fewer parts are searched through sooner, so every second turn begins with the fewest.
        first = self._next if self._turns % 2 == 0 else 0
        for number in (each % count for each in range(first, first + count)):
            if turn.over() or least > limit:
                return
            for length in self._raised_by(number, least, limit, turn):
                least = length
                yield Bound(least, self._searches[number].method)
            if number not in self._long:
                self._searches[number].rest()
            if self._turns % 2 == 0:
                self._next = (number + 1) % count

    def _raised_by(self, number: int, least: int, limit: int, turn: Turn) -> Iterator[int]:
        search = self._searches[number]
        top = min(limit, self._fits.get(number, limit + 1) - 1)
        # The longest would settle all; where it was asked before, it is gone on with.
        length = self._long.get(number, top)
        length, first = length if least <= length <= top else top, True
        while least <= top and not turn.over():
            answer = search.decide(length, turn.part(TRIAL))
            if answer is not None and length == self._long.get(number):
                del self._long[number]
            if answer is False:
                least = length + 1
                yield least
            elif answer is True:
                made = self._made(search, length, turn)
                self._fits[number] = length if made is None else made
                top = self._fits[number] - 1
            elif first:
                self._long[number] = length
            else:
                # Then shorter ones, shorter still where they find no answer either.
                met = self._short.get(number) == length
                self._short[number] = least + (length - least) // 4 if met else length
                return
            length, first = self._short.get(number, -1), False
            length = length if least <= length <= top else least + (top - least) // 8

    def _made(self, search: InOnePiece, length: int, turn: Turn) -> int | None:
        """The length of a layout of the rows found, or of those found next; None where none was made."""
        if not isinstance(search, PhasedRows) or not search.layable:
            return None
        for _ in range(TRIES):
            made = turn.lay(search.stood, self._floor, length)
            if made is not None:
                return made
            if not search.decide(length, turn.part(TRIAL)):
                break
        return None


class RowsInOnePiece(LowerBound):
    """By `Contiguous`: rows and columns in one piece, searched through."""

    name: ClassVar[str] = "rows in one piece"

    def __init__(self, core: Core) -> None:
        super().__init__(core)
        self._searches: Contiguous | None = None

    @classmethod
    def applies(cls, core: Core) -> bool:
        """Where all directions are decided."""
        return not core.open_arrows

    def raised(self, turn: Turn) -> Bound | None:
        """From the best layout down, then from the bound up."""
        least, longest, bound = turn.least, turn.longest, None
        if longest is None:
            return None
        if self._searches is None:
            self._searches = Contiguous(self.core, turn.over)
            turn = turn.renewed()
        for bound in self._searches.raised(least, longest, turn):
            turn.take(bound)
        return bound

    def open(self, turn: Turn) -> bool:
        """Whether some search may still refute the least length."""
        return self._searches is not None and turn.longest is not None and self._searches.open(turn.least)
