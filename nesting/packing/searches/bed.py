"""A strip being filled: the lowest place for the next part, holes, flaws and the pattern considered."""

from __future__ import annotations

from bisect import insort
from collections import defaultdict
from collections.abc import Iterable, Iterator

from nesting.packing.problem import Match
from nesting.packing.reduce import Core, Kind, Layout, Spot

Place = tuple[int, int, int, bool]
"""``(y, x, top, turned)``: smaller is better."""


class SeamRoom:
    """Which phases across leave room for every width of a seam group.

    A full width may have one place only; a part-width laid first must not take that place's phase away.
    """

    def __init__(self, core: Core) -> None:
        self._core = core
        self._members: dict[str, list[Kind]] = defaultdict(list)
        for kind in core.kinds:
            if kind.match is not None and kind.match.seam is not None:
                self._members[kind.match.seam].append(kind)

    def suits(self, seam: str, phase: int) -> bool:
        """Every width of the group has a place with this phase."""
        repeat = self._core.repeat
        assert repeat is not None
        return all(
            repeat.first_x(kind.clear[0], kind.match.x, phase) <= self._core.across(kind, kind.width)[1]
            for kind in self._members[seam]
            if kind.match is not None
        )

    def phases(self, seam: str) -> list[int]:
        """Phases at which some width lies against an edge, those with room for all."""
        repeat = self._core.repeat
        assert repeat is not None
        assert repeat.width is not None
        found: set[int] = set()
        for kind in self._members[seam]:
            assert kind.match is not None
            for x in self._core.across(kind, kind.width):
                found.add((x - kind.match.x) % repeat.width)
        return sorted(phase for phase in found if self.suits(seam, phase))

    @property
    def seams(self) -> tuple[str, ...]:
        """The seam groups."""
        return tuple(self._members)


class Bed:
    """Parts laid so far on one strip.

    Parameters
    ----------
    core
        The problem.
    room
        Shared by all beds of one problem.
    phases
        Phases of level and seam groups, where beds of several strips share them.
    """

    def __init__(
        self, core: Core, room: SeamRoom, phases: tuple[dict[str, int], dict[str, int]] | None = None
    ) -> None:
        self._core = core
        self._room = room
        self._boxes: list[tuple[int, int, int, int]] = sorted(
            (flaw.y, flaw.y + flaw.length, flaw.x, flaw.x + flaw.width) for flaw in core.flaws
        )
        self._edges: set[int] = {0} | {flaw.x + flaw.width for flaw in core.flaws}
        self._lefts: set[int] = {core.width} | {flaw.x for flaw in core.flaws}
        self._phase_x, self._phase_y = ({}, {}) if phases is None else phases
        self.spots: list[Spot] = []
        self.length = 0

    def fork(self, phases: tuple[dict[str, int], dict[str, int]]) -> Bed:
        """The same bed to go on with by itself, with phases of its own."""
        other = Bed(self._core, self._room, phases)
        other._boxes, other.spots = list(self._boxes), list(self.spots)
        other._edges, other._lefts, other.length = set(self._edges), set(self._lefts), self.length
        return other

    def lowest(self, kind: Kind, floor: int = 0) -> Place | None:
        """The lowest place from ``floor`` on, then the leftmost; None where no phase has room."""
        best: Place | None = None
        for width, length, turned in kind.ways:
            for x in self._columns(kind, width):
                y = self._settle(kind.match, x, width, length, floor, best)
                if y is not None:
                    place = (y, x, y + length, turned)
                    if best is None or place < best:
                        best = place
        return best

    def put(self, index: int, place: Place) -> None:
        """Lay a copy of kind ``index`` there."""
        y, x, top, turned = place
        kind = self._core.kinds[index]
        width = kind.length if turned else kind.width
        insort(self._boxes, (y, top, x, x + width))
        self._edges.add(x + width)
        self._lefts.add(x)
        if kind.match is not None:
            self._fix_phases(kind.match, x, y)
        self.spots.append(Spot(index, x, y, turned))
        self.length = max(self.length, top)

    @property
    def layout(self) -> Layout:
        """What was laid."""
        return tuple(self.spots)

    def _fix_phases(self, match: Match, x: int, y: int) -> None:
        repeat = self._core.repeat
        assert repeat is not None
        self._phase_y.setdefault(match.level, repeat.phase_y(x, y, match.x, match.y))
        if match.seam is not None:
            self._phase_x.setdefault(match.seam, repeat.columns(x, match.x)[1])

    def _columns(self, kind: Kind, width: int) -> Iterable[int]:
        """The x worth trying: against an edge, or the next in phase to its right."""
        first, last = self._core.across(kind, width)
        free = {max(first, x) for x in self._edges if x <= last}
        free |= {min(last, x - width) for x in self._lefts if x - width >= first}
        match, repeat = kind.match, self._core.repeat
        if match is None or match.seam is None or repeat is None or repeat.width is None:
            return free
        if match.seam in self._phase_x:
            return self._in_phase(free, match, (self._phase_x[match.seam],), last)
        own = {x for x in free if self._room.suits(match.seam, (x - match.x) % repeat.width)}
        return own | set(self._in_phase(free, match, self._room.phases(match.seam), last))

    def _in_phase(self, free: set[int], match: Match, phases: Iterable[int], last: int) -> Iterator[int]:
        repeat = self._core.repeat
        assert repeat is not None
        for phase in phases:
            for x in {repeat.first_x(edge, match.x, phase) for edge in free}:
                if x <= last:
                    yield x

    def _settle(
        self, match: Match | None, x: int, width: int, length: int, floor: int, best: Place | None
    ) -> int | None:
        """The lowest y at ``x``, or None when it cannot beat ``best``."""
        limit = best[0] if best is not None else None
        right = x + width
        phase, period = self._phase(match, x)
        y = floor + (phase - floor) % period
        # Boxes come by their lower edge, so one pass settles: those passed lie below y already.
        for low, top, left, far in self._boxes:
            if low >= y + length:
                break
            if top > y and left < right and far > x:
                y = top + (phase - top) % period
                if limit is not None and y > limit:
                    return None
        return y

    def _phase(self, match: Match | None, x: int) -> tuple[int, int]:
        """``(phase, period)`` that y must keep: ``(0, 1)`` where it is free."""
        repeat = self._core.repeat
        if match is None or repeat is None:
            return 0, 1
        if self._core.start is not None:
            base = -self._core.start
        elif match.level in self._phase_y:
            base = self._phase_y[match.level]
        else:
            return 0, 1
        column, _ = repeat.columns(x, match.x)
        return base + match.y + column * repeat.step, repeat.length
