"""Parts for several lengths of fabric, copy by copy and in coarser steps; what a layout of them is worth.

The steps are the common divisors of all sizes, places, flaws and repeats, across and along apart. Moving
every copy to the multiple at or below its place keeps copies apart, off the flaws (which are multiples
too), inside their strips and in phase, so nothing is lost; see `nesting.packing.reduce`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

from nesting.errors import ProblemError
from nesting.packing.problem import Flaw, Match, Problem, Strip
from nesting.packing.reduce import flaws_in_steps
from nesting.packing.result import Placement
from nesting.repeat import Repeat

#: The stages in their order.
TO_BUY: Final = "to buy"
VALUE: Final = "value"
STARTED: Final = "fabric started"
EXTRAS: Final = "extras"
CUT_INTO: Final = "cut into"
#: Of these, more is better.
MOST: Final = frozenset({VALUE, EXTRAS})

Way = tuple[int, int, int, bool]
"""Strip, width and length as laid, turned."""


@dataclass(frozen=True, slots=True)
class Berth:
    """A strip in steps.

    Attributes
    ----------
    number
        Its index in the problem.
    weight
        Its length in the problem's units, which is what starting it costs.
    """

    number: int
    width: int
    length: int | None
    weight: int
    repeat: Repeat | None = None
    flaws: tuple[Flaw, ...] = ()
    lot: str | None = None
    start: int | None = None

    def phase_key(self, level: str, shared: bool) -> tuple[str, int] | None:
        """Which phase along a matched copy keeps here; None where the start of the pattern settles it."""
        if self.repeat is None or self.start is not None:
            return None
        return ("" if shared else level, self.repeat.length)


@dataclass(frozen=True, slots=True)
class Item:
    """One copy of a part, sizes in steps.

    Attributes
    ----------
    part, copy
        Of the problem.
    kind
        Copies of one kind may be exchanged.
    ways
        Where and how it may lie.
    value
        None: it must be laid.
    options
        Where a choice names it: the choice, and those of its options that lay it.
    """

    part: int
    copy: int
    kind: int
    ways: tuple[Way, ...]
    match: Match | None = None
    arrow: str | None = None
    lot: str | None = None
    value: int | None = None
    bundle: str | None = None
    spare: bool = False
    clear: tuple[int, int] = (0, 0)
    options: tuple[int, tuple[int, ...]] | None = None

    @property
    def required(self) -> bool:
        """It must be laid, whatever is chosen."""
        return self.value is None and self.options is None

    @property
    def area(self) -> int:
        """Of its upright size or, where it lies only turned, of that."""
        return self.ways[0][1] * self.ways[0][2] if self.ways else 0


@dataclass(frozen=True, slots=True)
class Berthed:
    """Where an item lies, in steps."""

    strip: int
    x: int
    y: int
    turned: bool = False


StockLayout = dict[int, Berthed]
"""By the item's number; items that are left out are missing."""


@dataclass(frozen=True, slots=True)
class Stock:
    """Strips and items of one problem.

    Attributes
    ----------
    berths
        In the order of the problem's strips.
    shared_phase
        Some strip's start is known, so the pattern is prescribed: on the others all level groups share
        what phase they have.
    choices
        How many options each has.
    only
        The stages that are asked for; none: all.
    """

    berths: tuple[Berth, ...]
    items: tuple[Item, ...]
    step_x: int
    step_y: int
    shared_phase: bool = False
    choices: tuple[int, ...] = ()
    only: tuple[str, ...] = ()

    def picked(self, item: int, picks: Sequence[int]) -> bool:
        """Whether a selection of options lays an item."""
        options = self.items[item].options
        return options is None or picks[options[0]] in options[1]

    def picks(self, layout: StockLayout) -> tuple[int, ...]:
        """The option of each choice that a layout holds."""
        found = []
        for choice, count in enumerate(self.choices):
            named = [n for n, item in enumerate(self.items) if item.options and item.options[0] == choice]
            found.append(next(o for o in range(count) if all(self._suits(layout, n, o) for n in named)))
        return tuple(found)

    def _suits(self, layout: StockLayout, item: int, option: int) -> bool:
        options, value = self.items[item].options, self.items[item].value
        asked = options is None or option in options[1]
        return (item in layout) == asked or (value is not None and item not in layout)

    @property
    def open(self) -> int | None:
        """The open strip's number."""
        return next((berth.number for berth in self.berths if berth.length is None), None)

    @property
    def stages(self) -> tuple[str, ...]:
        """The objectives of this problem, in their order."""
        fixed = any(berth.length is not None for berth in self.berths)
        wanted = {
            TO_BUY: self.open is not None,
            VALUE: any(item.value is not None and not item.spare for item in self.items),
            STARTED: fixed,
            EXTRAS: any(item.spare for item in self.items),
            CUT_INTO: fixed,
        }
        return tuple(name for name, asked in wanted.items() if asked and name in (self.only or wanted))

    @property
    def measured(self) -> str | None:
        """The stage that is a result's length: what the open strip needs, or of a single one is cut into."""
        return TO_BUY if self.open is not None else CUT_INTO if len(self.berths) == 1 else None

    @property
    def longest(self) -> int:
        """A length at which every rule can be kept on an open strip: all items one above the other."""
        pitch = max((berth.repeat.length for berth in self.berths if berth.repeat), default=0)
        tops = max((flaw.y + flaw.length for berth in self.berths for flaw in berth.flaws), default=0)
        return tops + sum(pitch + max(way[2] for way in item.ways) for item in self.items if item.ways)

    def size(self, item: int, at: Berthed) -> tuple[int, int]:
        """``(width, length)`` as laid."""
        for strip, width, length, turned in self.items[item].ways:
            if strip == at.strip and turned == at.turned:
                return width, length
        raise ValueError(f"item {item} may not lie as {at}")

    def ends(self, layout: StockLayout) -> list[int]:
        """How far each strip is cut into, in steps."""
        ends = [0] * len(self.berths)
        for item, at in layout.items():
            ends[at.strip] = max(ends[at.strip], at.y + self.size(item, at)[1])
        return ends

    def worth(self, layout: StockLayout) -> dict[str, int]:
        """What the layout reaches in each stage, lengths in the problem's units."""
        ends = self.ends(layout)
        laid = [self.items[item] for item in layout]
        fixed = [berth for berth in self.berths if berth.length is not None]
        found = {
            TO_BUY: 0 if self.open is None else ends[self.open] * self.step_y,
            VALUE: sum(item.value or 0 for item in laid if not item.spare),
            STARTED: sum(berth.weight for berth in fixed if ends[berth.number]),
            EXTRAS: sum(item.value or 0 for item in laid if item.spare),
            CUT_INTO: sum(ends[berth.number] for berth in fixed) * self.step_y,
        }
        return {name: found[name] for name in self.stages}

    def rank(self, layout: StockLayout) -> tuple[int, ...]:
        """Smaller is better, stage by stage."""
        return tuple(-worth if name in MOST else worth for name, worth in self.worth(layout).items())

    def phases(self, layout: StockLayout) -> tuple[dict[tuple[str, int], int], dict[tuple[str, int], int]]:
        """The phases along and across of the groups that are laid, by group and repeat."""
        along: dict[tuple[str, int], int] = {}
        across: dict[tuple[str, int], int] = {}
        for item, at in layout.items():
            match, berth = self.items[item].match, self.berths[at.strip]
            if match is None or berth.repeat is None:
                continue
            key = berth.phase_key(match.level, self.shared_phase)
            if key is not None:
                along.setdefault(key, berth.repeat.phase_y(at.x, at.y, match.x, match.y))
            if match.seam is not None and berth.repeat.width is not None:
                phase = berth.repeat.columns(at.x, match.x)[1]
                across.setdefault((match.seam, berth.repeat.width), phase)
        return along, across

    def layout_of(self, placements: Iterable[Placement]) -> StockLayout:
        """A layout in the problem's units, in steps."""
        number_of = {(item.part, item.copy): number for number, item in enumerate(self.items)}
        return {
            number_of[at.part, at.copy]: Berthed(
                at.strip, at.x // self.step_x, at.y // self.step_y, at.turned
            )
            for at in placements
        }

    def placements(self, layout: StockLayout) -> tuple[Placement, ...]:
        """The layout in the problem's units, sorted by part and copy.

        Copies of one kind are numbered in the order in which they come, so that no number says more
        than it must.
        """
        placed = [
            Placement(
                self.items[item].part,
                self.items[item].copy,
                at.x * self.step_x,
                at.y * self.step_y,
                at.turned,
                at.strip,
            )
            for item, at in layout.items()
        ]
        return tuple(sorted(placed, key=lambda at: (at.part, at.copy)))


def stock_of(problem: Problem) -> Stock:
    """The problem copy by copy, in steps.

    Raises
    ------
    ProblemError
        Several strips are open.
    """
    if sum(strip.length is None for strip in problem.strips) > 1:
        raise ProblemError("several open strips: give at most one with length=None")
    directions = _directions(problem)
    step_x, step_y = _steps(problem, directions)
    berths = tuple(_berth(strip, number, step_x, step_y) for number, strip in enumerate(problem.strips))
    kinds: dict[tuple[object, ...], int] = {}
    options = _options(problem)
    items = []
    for index, part in enumerate(problem.parts):
        clear = (-(-part.clear[0] // step_x), -(-part.clear[1] // step_x))
        ways = tuple(
            way
            for turned in directions[index]
            for way in _ways(part.size(turned), turned, clear, berths, step_x, step_y)
        )
        match = _match(part.match, step_x, step_y)
        rules = (match, part.arrow, part.lot, part.value, part.bundle, part.spare, clear, options.get(index))
        kind = kinds.setdefault((ways, *rules), len(kinds))
        items += [Item(index, copy, kind, ways, *rules) for copy in range(1, part.copies + 1)]
    known = any(strip.start is not None for strip in problem.strips)
    counts = tuple(len(choice.options) for choice in problem.choices)
    return Stock(berths, tuple(items), step_x, step_y, known, counts)


def _options(problem: Problem) -> dict[int, tuple[int, tuple[int, ...]]]:
    """By part: the choice that names it, and the options that lay it."""
    found = {}
    for at, choice in enumerate(problem.choices):
        for part in {part for option in choice.options for part in option}:
            found[part] = at, tuple(o for o, option in enumerate(choice.options) if part in option)
    return found


def _directions(problem: Problem) -> list[tuple[bool, ...]]:
    """The ways of each part, upright and turned, as far as its arrow group surely allows.

    A part that is left out binds nobody, so only those that are laid whatever is chosen bind their group;
    the model keeps the others to it. A square turns with its group, and lies the same without one.
    """
    doubtful = _options(problem)
    bound_upright = {
        part.arrow
        for index, part in enumerate(problem.parts)
        if not part.turnable and part.value is None and index not in doubtful
    }
    return [
        (False, True)
        if part.turnable
        and (part.width != part.length if part.arrow is None else part.arrow not in bound_upright)
        else (False,)
        for part in problem.parts
    ]


def _steps(problem: Problem, directions: Sequence[tuple[bool, ...]]) -> tuple[int, int]:
    """The common divisors across and along, one and the same where a part may turn."""
    across: list[int] = []
    along: list[int] = []
    for part, ways in zip(problem.parts, directions, strict=True):
        for turned in ways:
            width, length = part.size(turned)
            across.append(width)
            along.append(length)
        across += part.clear
        if part.match is not None:
            across.append(part.match.x)
            along.append(part.match.y)
    for strip in problem.strips:
        for flaw in strip.flaws:
            across += [flaw.x, flaw.width]
            along += [flaw.y, flaw.length]
        if strip.repeat is not None:
            along += [strip.repeat.length, strip.repeat.step]
            across.append(strip.repeat.width or 0)
        along.append(strip.start or 0)
    if any(len(ways) > 1 for ways in directions):
        both = math.gcd(*across, *along) or 1
        return both, both
    return math.gcd(*across) or 1, math.gcd(*along) or 1


def _berth(strip: Strip, number: int, step_x: int, step_y: int) -> Berth:
    repeat = strip.repeat
    if repeat is not None:
        width = None if repeat.width is None else repeat.width // step_x
        repeat = Repeat(repeat.length // step_y, width, repeat.drop)
    return Berth(
        number=number,
        width=strip.width // step_x,
        length=None if strip.length is None else strip.length // step_y,
        weight=strip.length or 0,
        repeat=repeat,
        flaws=flaws_in_steps(strip, step_x, step_y),
        lot=strip.lot,
        start=None if strip.start is None else strip.start // step_y,
    )


def _ways(
    size: tuple[int, int],
    turned: bool,
    clear: tuple[int, int],
    berths: Iterable[Berth],
    step_x: int,
    step_y: int,
) -> Iterable[Way]:
    width, length = size[0] // step_x, size[1] // step_y
    for berth in berths:
        if width + sum(clear) <= berth.width and (berth.length is None or length <= berth.length):
            yield berth.number, width, length, turned


def _match(match: Match | None, step_x: int, step_y: int) -> Match | None:
    return None if match is None else Match(match.level, match.seam, match.x // step_x, match.y // step_y)
