"""The same problem made smaller, exactly: coarser units, equal parts together, lone rows set apart.

Three reductions, each with its argument:

* **common divisor.** All sizes, places and repeats across are multiples of g; moving every part to the
  multiple of g at or below its x keeps parts apart (their widths are multiples), inside the strip, and
  in phase (all parts of a group move by the same remainder). The same holds along the strip.
* **equal parts.** Parts of equal size and equal rules may be exchanged, so they are copies of one kind.
* **lone rows.** Without flaws and matched parts a part beside which nothing fits has its rows to itself;
  closing up the layout without it shortens it by exactly the part's length, so it is laid first and
  left out of the search.
* **margins of all.** Where all that is left keeps as far from the edges, the strip is so much narrower.
"""

from __future__ import annotations

import gc
import math
from collections import defaultdict
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace

from nesting.packing.lone import LoneWay, lone_in_turn
from nesting.packing.problem import Flaw, Match, Part, Problem, Strip
from nesting.packing.result import Placement
from nesting.repeat import Repeat


@contextmanager
def uncollected() -> Iterator[None]:
    """No collection of garbage meanwhile: among 100,000 parts just made it would take most of the time."""
    collects = gc.isenabled()
    try:
        gc.disable()
        yield
    finally:
        if collects:
            gc.enable()


@dataclass(frozen=True, slots=True)
class Kind:
    """Equal parts, in the units of the reduced problem.

    Attributes
    ----------
    width, length
        Upright.
    members
        ``(part, copy)`` of the original problem, one for each copy.
    upright, turned
        Which ways it may lie, the strip's width considered.
    match
        Its place in the pattern, reduced to the first repeat.
    arrow
        Its arrow group while that group's direction is still open.
    clear
        How far it keeps from the left and the right edge of the strip.
    """

    width: int
    length: int
    members: tuple[tuple[int, int], ...]
    upright: bool = True
    turned: bool = False
    match: Match | None = None
    arrow: str | None = None
    clear: tuple[int, int] = (0, 0)

    @property
    def copies(self) -> int:
        """How many there are."""
        return len(self.members)

    @property
    def ways(self) -> tuple[tuple[int, int, bool], ...]:
        """``(width, length, turned)`` of each way it may lie; a square lies one way."""
        ways = [(self.width, self.length, False)] if self.upright else []
        if self.turned and not (self.upright and self.width == self.length):
            ways.append((self.length, self.width, True))
        return tuple(ways)

    @property
    def least_width(self) -> int:
        """The least it takes across the strip."""
        return min(width for width, _, _ in self.ways)

    @property
    def least_length(self) -> int:
        """The least it takes along the strip."""
        return min(length for _, length, _ in self.ways)

    @property
    def area(self) -> int:
        """Of one copy."""
        return self.width * self.length


@dataclass(frozen=True, slots=True)
class Spot:
    """Where one copy of a kind lies, in the units of the reduced problem."""

    kind: int
    x: int
    y: int
    turned: bool = False


Layout = tuple[Spot, ...]
"""One `Spot` for each copy of each kind."""


@dataclass(frozen=True, slots=True)
class Core:
    """What is left to search.

    Attributes
    ----------
    width
        Of the strip, in steps of ``step_x``.
    kinds
        Largest area first.
    repeat, flaws, start
        Of the strip, in steps.
    step_x, step_y
        Ticks of one step across and along.
    lone
        Kinds laid one after another before the core, in steps.
    left
        Where its left edge lies on the strip, in steps.
    """

    width: int
    kinds: tuple[Kind, ...]
    repeat: Repeat | None = None
    flaws: tuple[Flaw, ...] = ()
    start: int | None = None
    step_x: int = 1
    step_y: int = 1
    lone: tuple[Kind, ...] = ()
    left: int = 0

    @property
    def copies(self) -> int:
        """How many rectangles are to be laid."""
        return sum(kind.copies for kind in self.kinds)

    @property
    def lone_length(self) -> int:
        """What the lone rows take, in steps."""
        return sum(kind.ways[0][1] * kind.copies for kind in self.lone)

    @property
    def plain(self) -> bool:
        """No repeat binds any part, none keeps further from an edge, and there is no flaw."""
        return not self.flaws and all(kind.match is None and not any(kind.clear) for kind in self.kinds)

    @property
    def bordered(self) -> bool:
        """Some parts keep further from an edge than others."""
        return any(any(kind.clear) for kind in self.kinds)

    @property
    def phases(self) -> tuple[int, tuple[int, ...]] | None:
        """A period, and for each kind where it begins along, modulo that; -1 anywhere.

        None where a kind may begin depends on where others lie, or across; or there are flaws or margins.
        """
        if self.plain or self.repeat is None:
            return (1, (-1,) * len(self.kinds)) if self.plain else None
        if self.flaws or self.bordered or self.repeat.width is not None or self.start is None:
            return None
        period = self.repeat.length
        places = [None if kind.match is None else (kind.match.y - self.start) % period for kind in self.kinds]
        return period, tuple(-1 if place is None else place for place in places)

    @property
    def open_arrows(self) -> tuple[str, ...]:
        """Arrow groups whose direction is still open, in a fixed order."""
        return tuple(sorted({kind.arrow for kind in self.kinds if kind.arrow is not None}))

    @property
    def stacked(self) -> int:
        """A length at which every layout rule can be kept: all parts one above the other."""
        pitch = self.repeat.length if self.repeat else 0
        tops = max((flaw.y + flaw.length for flaw in self.flaws), default=0)
        return tops + sum(kind.copies * (max(kind.width, kind.length) + pitch) for kind in self.kinds)

    def length_of(self, layout: Layout) -> int:
        """The layout's length in steps, lone rows left out."""
        return max((spot.y + self.size(spot)[1] for spot in layout), default=0)

    def size(self, spot: Spot) -> tuple[int, int]:
        """``(width, length)`` as laid."""
        kind = self.kinds[spot.kind]
        return (kind.length, kind.width) if spot.turned else (kind.width, kind.length)

    def across(self, kind: Kind, width: int) -> tuple[int, int]:
        """The first and the last place across for a kind that lies so wide."""
        return kind.clear[0], self.width - kind.clear[1] - width

    def ticks(self, length: int) -> int:
        """A core length as the original problem's length, lone rows included."""
        return (length + self.lone_length) * self.step_y

    def placements(self, layout: Layout) -> tuple[Placement, ...]:
        """The layout in the original problem, sorted by part and copy."""
        with uncollected():
            placed, at = list[tuple[int, int, int, int, bool]](), 0
            for kind in self.lone:
                _, length, turned = kind.ways[0]
                for part, copy in kind.members:
                    placed.append((part, copy, kind.clear[0] * self.step_x, at * self.step_y, turned))
                    at += length
            members = [member for kind in self.kinds for member in kind.members]
            spots = sorted((spot.kind, spot.y, spot.x, spot.turned) for spot in layout)
            for (part, copy), (_, y, x, turned) in zip(members, spots, strict=True):
                placed.append((part, copy, (self.left + x) * self.step_x, (y + at) * self.step_y, turned))
            return tuple(Placement(*each) for each in sorted(placed))

    def decided(self, arrow: str, turned: bool) -> Core:
        """The core with one arrow group's direction settled, and lone rows found anew."""
        return _within_margins(_set_lone_rows_apart(self.settled(arrow, turned)))

    def settled(self, arrow: str, turned: bool) -> Core:
        """The core with one arrow group's direction settled."""
        kinds = []
        for kind in self.kinds:
            if kind.arrow == arrow:
                kind = replace(kind, arrow=None, upright=not turned, turned=turned)
            kinds.append(kind)
        return replace(self, kinds=tuple(kinds))


def closed_arrows(core: Core, *, set_apart: bool = True) -> list[Core]:
    """The core itself, or with all arrow groups one way where their directions are still open.

    ``set_apart`` False leaves lone rows among the parts to be searched.
    """
    if not core.open_arrows:
        return [core]
    cases = []
    for turned in (False, True):
        case = core
        for arrow in core.open_arrows:
            case = case.decided(arrow, turned) if set_apart else case.settled(arrow, turned)
        cases.append(case)
    return cases


def misfits(problem: Problem) -> tuple[Part, ...]:
    """The parts that no strip of the problem can hold in any way allowed, each for its own sake."""
    width = max(strip.width for strip in problem.strips)
    return tuple(part for part in problem.parts if not any(_ways(part, width)))


def reduce(problem: Problem, *, set_apart: bool = True) -> Core | None:
    """The core of the problem, or None when a part or an arrow group cannot lie in any way.

    ``set_apart`` False leaves lone rows among the parts to be searched, and the strip as wide as it is.
    """
    strip = problem.strips[0]
    ways = _ways_of_parts(problem, strip.width)
    if ways is None:
        return None
    step_x, step_y = _steps(problem, ways)
    repeat = None
    if strip.repeat is not None:
        width = strip.repeat.width
        repeat = Repeat(
            strip.repeat.length // step_y, None if width is None else width // step_x, strip.repeat.drop
        )
    core = Core(
        width=strip.width // step_x,
        kinds=_kinds(problem, ways, step_x, step_y, repeat),
        repeat=repeat,
        flaws=flaws_in_steps(strip, step_x, step_y),
        start=None if strip.start is None or repeat is None else strip.start // step_y % repeat.length,
        step_x=step_x,
        step_y=step_y,
    )
    return _within_margins(_set_lone_rows_apart(core)) if set_apart else core


def flaws_in_steps(strip: Strip, step_x: int, step_y: int) -> tuple[Flaw, ...]:
    """What of the flaws lies on the strip, in steps, no two of them overlapping."""
    flaws: list[Flaw] = []
    for flaw in strip.flaws:
        left, right = max(0, flaw.x // step_x), min(strip.width, flaw.x + flaw.width) // step_x
        low, high = max(0, flaw.y // step_y), (flaw.y + flaw.length) // step_y
        if strip.length is not None:
            high = min(high, strip.length // step_y)
        if left < right and low < high:
            pieces = [Flaw(left, low, right - left, high - low)]
            for known in tuple(flaws):
                pieces = [rest for piece in pieces for rest in _outside(piece, known)]
            flaws += pieces
    return tuple(flaws)


def _outside(flaw: Flaw, known: Flaw) -> Iterator[Flaw]:
    """What of a flaw lies outside another: below and above it, then to its left and right."""
    left, right = flaw.x, flaw.x + flaw.width
    low, high = flaw.y, flaw.y + flaw.length
    from_y, to_y = max(low, known.y), min(high, known.y + known.length)
    if from_y >= to_y or max(left, known.x) >= min(right, known.x + known.width):
        yield flaw
        return
    far = known.x + known.width
    for x, y, x_end, y_end in (
        (left, low, right, from_y),
        (left, to_y, right, high),
        (left, from_y, known.x, to_y),
        (far, from_y, right, to_y),
    ):
        if x < x_end and y < y_end:
            yield Flaw(x, y, x_end - x, y_end - y)


def _ways(part: Part, strip_width: int) -> tuple[bool, bool]:
    """Whether the part may lie upright, and turned."""
    room = strip_width - sum(part.clear)
    return part.width <= room, part.turnable and part.length <= room


def _ways_of_parts(problem: Problem, width: int) -> list[tuple[bool, bool]] | None:
    """The ways of each part, what its arrow group allows considered; None if one cannot lie."""
    ways = [_ways(part, width) for part in problem.parts]
    groups: dict[str, list[int]] = defaultdict(list)
    for index, part in enumerate(problem.parts):
        if part.arrow is not None:
            groups[part.arrow].append(index)
    for members in groups.values():
        upright = all(ways[index][0] for index in members)
        turned = all(ways[index][1] for index in members)
        for index in members:
            ways[index] = (upright, turned)
    return ways if all(any(way) for way in ways) else None


def _steps(problem: Problem, ways: list[tuple[bool, bool]]) -> tuple[int, int]:
    """The common divisors across and along."""
    strip = problem.strips[0]
    across: list[int] = []
    along: list[int] = []
    for part, (upright, turned) in zip(problem.parts, ways, strict=True):
        if upright:
            across.append(part.width)
            along.append(part.length)
        if turned:
            across.append(part.length)
            along.append(part.width)
        if part.match is not None:
            across.append(part.match.x)
            along.append(part.match.y)
        across.append(part.clear[0])
    for flaw in strip.flaws:
        across += [flaw.x, flaw.width]
        along += [flaw.y, flaw.length]
    if strip.repeat is not None:
        along += [strip.repeat.length, strip.repeat.step]
        across.append(strip.repeat.width or 0)
    if strip.start is not None:
        along.append(strip.start)
    if any(upright and turned for upright, turned in ways):
        both = math.gcd(*across, *along) or 1
        return both, both
    return math.gcd(*across) or 1, math.gcd(*along) or 1


def _kinds(
    problem: Problem, ways: list[tuple[bool, bool]], step_x: int, step_y: int, repeat: Repeat | None
) -> tuple[Kind, ...]:
    """Equal parts together, largest first."""
    groups: dict[Kind, list[tuple[int, int]]] = defaultdict(list)
    for index, (part, (upright, turned)) in enumerate(zip(problem.parts, ways, strict=True)):
        # Where a part may lie both ways the two steps are equal, so either divides its sizes.
        width, length = part.width // step_x, part.length // step_y
        if turned and not upright:
            width, length = part.width // step_y, part.length // step_x
        kind = Kind(
            width=width,
            length=length,
            members=(),
            upright=upright,
            turned=turned,
            match=_reduced(part.match, repeat, step_x, step_y),
            arrow=part.arrow if upright and turned else None,
            clear=_margins(problem.strips[0].width, part, step_x),
        )
        groups[kind] += [(index, copy) for copy in range(1, part.copies + 1)]
    kinds = [replace(kind, members=tuple(members)) for kind, members in groups.items()]
    return tuple(sorted(kinds, key=lambda k: (-k.area, -k.length, -k.width, k.members)))


def _margins(width: int, part: Part, step: int) -> tuple[int, int]:
    """What a part keeps clear of, in steps; what the strip has beyond whole steps is at its right edge."""
    left, right = part.clear
    return left // step, width // step - (width - right) // step


def _reduced(match: Match | None, repeat: Repeat | None, step_x: int, step_y: int) -> Match | None:
    """The place moved into the first repeat, which names the same points of the lattice."""
    if match is None or repeat is None:
        return None
    x, y, columns = match.x // step_x, match.y // step_y, 0
    if repeat.width is not None:
        columns, x = divmod(x, repeat.width)
    else:
        x = 0
    return Match(match.level, match.seam, x, (y - columns * repeat.step) % repeat.length)


def _set_lone_rows_apart(core: Core) -> Core:
    """Take out the kinds beside which nothing fits (without flaws and matched parts only)."""
    if core.flaws or any(kind.match is not None for kind in core.kinds):
        return core
    lone = _lone(core)
    if not lone:
        return core
    gone = set(lone)
    apart = (core.kinds[at] for at in lone)
    return replace(
        core,
        kinds=tuple(kind for at, kind in enumerate(core.kinds) if at not in gone),
        # Their place is told from the edge of the strip.
        lone=(*core.lone, *(replace(k, clear=(core.left + k.clear[0], k.clear[1])) for k in apart)),
    )


def _lone(core: Core) -> list[int]:
    """Numbers of the kinds beside which nothing fits, where each time the first such kind is taken out."""
    kinds = core.kinds
    single = [kind.arrow is None and len(kind.ways) == 1 for kind in kinds]
    standing = [
        LoneWay(kind.least_width, kind.clear, kind.copies > 1, one_way)
        for kind, one_way in zip(kinds, single, strict=True)
    ]
    return lone_in_turn(standing, core.width)


def _within_margins(core: Core) -> Core:
    """The strip between the margins that all kinds keep (without flaws and matched parts only)."""
    if core.flaws or not core.bordered or any(kind.match is not None for kind in core.kinds):
        return core
    left, right = (min(kind.clear[side] for kind in core.kinds) for side in (0, 1))
    kinds = tuple(replace(kind, clear=(kind.clear[0] - left, kind.clear[1] - right)) for kind in core.kinds)
    return replace(core, width=core.width - left - right, kinds=kinds, left=core.left + left)
