"""The cuts that free every piece of a layout, in an order that hands can follow, and how many there are.

A region of fabric is cut across from edge to edge wherever a line meets no piece, each band then lengthwise,
each column across again, and so on. Where no line runs from edge to edge, one piece is freed by cuts that
stop at its corners. That is always possible: nothing lies between the lowest piece and the squared end, so
both its sides can be cut from that end, and its far edge from side to side.

A finished plan is cut in this order, and a search that makes layouts easier to cut counts by it.
"""

from __future__ import annotations

import itertools
from collections.abc import Callable, Hashable, Iterator, Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

Way = Literal["across", "lengthwise"]
#: Of so many pieces nearest to the squared end the one with the fewest cuts is freed.
_NEAREST = 12


@dataclass(frozen=True, slots=True)
class Cut:
    """One straight cut.

    Attributes
    ----------
    way
        ``across`` the fabric, or ``lengthwise``.
    at
        Across: how far from the squared end. Lengthwise: how far from the left edge of the usable width.
    start, end
        From where to where it runs: from the left edge, or from the squared end.
    stops
        It stops at the corner of a piece; else it runs from edge to edge of what is cut.
    """

    way: Way
    at: int
    start: int
    end: int
    stops: bool = False


class Shape(NamedTuple):
    """A piece as it lies.

    Attributes
    ----------
    left, low, right, high
        Its edges.
    kind
        Those of one kind that lie edge to edge without gaps are freed together, as one grid.
    alone
        It is never freed together with another.
    turn
        Of columns side by side those with the least turn are cut first.
    number
        The caller's own.
    """

    left: int
    low: int
    right: int
    high: int
    kind: Hashable = 0
    alone: bool = False
    turn: int = 0
    number: int = 0

    @property
    def size(self) -> tuple[int, int]:
        """Across and along."""
        return self.right - self.left, self.high - self.low


class CutRule(NamedTuple):
    """How the pieces of a part are cut: ``alone`` and ``turn`` as of a `Shape`."""

    alone: bool = False
    turn: int = 0


class Grid(NamedTuple):
    """Shapes of one kind without gaps, ``across`` by ``along`` of them; ``first`` lies nearest to 0, 0."""

    first: Shape
    across: int = 1
    along: int = 1

    @property
    def right(self) -> int:
        """Where it ends across."""
        return self.first.left + self.across * (self.first.right - self.first.left)

    @property
    def high(self) -> int:
        """Where it ends along."""
        return self.first.low + self.along * (self.first.high - self.first.low)


class Freed(NamedTuple):
    """The cuts that free one grid; none where those before freed it as well."""

    cuts: tuple[Cut, ...]
    grid: Grid


class Region(NamedTuple):
    """What is to be cut apart."""

    left: int
    low: int
    right: int
    high: int


_Task = Cut | tuple[Region, list[Shape]]


class CutCount(NamedTuple):
    """How much there is to cut.

    Attributes
    ----------
    cuts
        Straight cuts, each run from one end to the other once.
    changes
        How often a grid's pieces are of another size than those of the grid freed before it.
    grids
        What is freed together counts once: the entries of the cut list.
    """

    cuts: int
    changes: int
    grids: int


def count_of(steps: Sequence[Freed]) -> CutCount:
    """The figures of an order of cuts."""
    sizes = [step.grid.first.size for step in steps]
    changes = sum(one != two for one, two in itertools.pairwise(sizes))
    return CutCount(sum(len(step.cuts) for step in steps), changes, len(steps))


def order_of_cuts(shapes: Sequence[Shape], width: int, length: int) -> list[Freed]:
    """Every cut of a strip of that width, whose layout ends at ``length``; each shape is freed once."""
    # The strip goes on beyond the layout, so its end is cut like that of any band.
    return list(freed_in(Region(0, 0, width, length + 1), sorted(shapes, key=_place), of_strip=True))


def freed_in(region: Region, shapes: list[Shape], *, of_strip: bool = False) -> Iterator[Freed]:
    """The same of one region, whose shapes come sorted by `low` and `left`.

    ``of_strip``: straight cuts of the strip itself are made one by one from its squared end, so that it can
    be drawn on.
    """
    pending, whole = list[Cut](), region
    tasks: list[_Task] = [(region, shapes)]
    while tasks:
        task = tasks.pop()
        if isinstance(task, Cut):
            pending.append(task)
            continue
        region, shapes = task
        grid = _grid(shapes)
        beside = None if grid is None else _beside(region, grid)
        if grid is not None and beside is not None:
            yield Freed((*pending, *beside, *_inside(grid)), grid)
            pending = []
        elif shapes:
            one_by_one = of_strip and region is whole
            tasks += reversed(
                _across(region, shapes, one_by_one=one_by_one)
                or _lengthwise(region, shapes)
                or _corner(region, shapes)
            )


def bands_of(shapes: Sequence[Shape]) -> list[list[Shape]]:
    """The shapes, parted wherever a cut from edge to edge meets none of them."""
    return _parts(sorted(shapes, key=_place), lambda shape: (shape.low, shape.high))


def _place(shape: Shape) -> tuple[int, int]:
    return shape.low, shape.left


def _box(shapes: Sequence[Shape]) -> Region:
    lefts, lows, rights, highs = zip(*(shape[:4] for shape in shapes), strict=True)
    return Region(min(lefts), min(lows), max(rights), max(highs))


def _beside(region: Region, grid: Grid) -> list[Cut] | None:
    """The cuts lengthwise that leave nothing of a region but a grid; None where it takes others."""
    if (grid.first.low, grid.high) != (region.low, region.high):
        return None
    edges = (region.left, region.right)
    return [
        Cut("lengthwise", x, region.low, region.high) for x in (grid.first.left, grid.right) if x not in edges
    ]


def _grid(shapes: Sequence[Shape]) -> Grid | None:
    """The shapes as one grid of equal ones without gaps."""
    if len(shapes) <= 1:
        return Grid(shapes[0]) if shapes else None
    one, last = shapes[0], shapes[-1]
    # The last is the likeliest to differ, and one that does is enough.
    if one.alone or not _alike(one, last) or not all(_alike(one, shape) for shape in shapes):
        return None
    xs, ys = {shape.left for shape in shapes}, {shape.low for shape in shapes}
    (width, length), (across, along) = one.size, (len(xs), len(ys))
    left, low = min(xs), min(ys)
    gapless = across * width == max(xs) + width - left and along * length == max(ys) + length - low
    if not gapless or across * along != len(shapes):
        return None
    return Grid(min(shapes, key=_place), across, along)


def _alike(one: Shape, two: Shape) -> bool:
    return one.kind == two.kind


def _inside(grid: Grid) -> tuple[Cut, ...]:
    """Cuts between the pieces of a grid: strips lengthwise, then all strips across."""
    first, (width, length) = grid.first, grid.first.size
    strips = (Cut("lengthwise", first.left + n * width, first.low, grid.high) for n in range(1, grid.across))
    rows = (Cut("across", first.low + n * length, first.left, grid.right) for n in range(1, grid.along))
    return (*strips, *rows)


def _across(region: Region, shapes: list[Shape], *, one_by_one: bool) -> list[_Task]:
    """Bands and the cuts between them, from the squared end on; empty where the region is one band."""
    parts = _parts(shapes, lambda shape: (shape.low, shape.high))
    tasks, low = list[_Task](), region.low
    for part in parts if one_by_one else _together(parts):
        box = _box(part)
        if box.low > low:
            tasks.append(Cut("across", box.low, region.left, region.right))
        if box.high < region.high:
            tasks.append(Cut("across", box.high, region.left, region.right))
        low = box.high
        tasks.append((Region(region.left, box.low, region.right, box.high), part))
    return tasks if len(tasks) > 1 else []


def _parts(shapes: Sequence[Shape], span: Callable[[Shape], tuple[int, int]]) -> list[list[Shape]]:
    """The shapes, sorted by where they begin, parted wherever a line meets none of them."""
    parts, reached = list[list[Shape]](), 0
    for shape in shapes:
        start, end = span(shape)
        if not parts or start >= reached:
            parts.append([])
            reached = end
        parts[-1].append(shape)
        reached = max(reached, end)
    return parts


def _lengthwise(region: Region, shapes: list[Shape]) -> list[_Task]:
    """Columns and the cuts beside them, in their turn; empty where the region is one column."""
    parts = _parts(sorted(shapes, key=lambda shape: shape.left), lambda shape: (shape.left, shape.right))
    columns = _together(parts)
    for part in columns:
        part.sort(key=_place)
    columns.sort(key=lambda part: min(shape.turn for shape in part))
    tasks, made = list[_Task](), {region.left, region.right}
    for part in columns:
        box = _box(part)
        for x in (box.left, box.right):
            if x not in made:
                made.add(x)
                tasks.append(Cut("lengthwise", x, region.low, region.high))
        tasks.append((Region(box.left, region.low, box.right, region.high), part))
    return tasks if len(tasks) > 1 else []


def _together(parts: list[list[Shape]]) -> list[list[Shape]]:
    """Neighbors that are one grid of equal pieces, as one part."""
    joined = list[list[Shape]]()
    ends: tuple[Grid, Grid] | None = None
    for part in parts:
        grid = _grid(part)
        if grid is not None and ends is not None and _goes_on(ends[0], ends[1], grid):
            joined[-1] += part
            ends = (ends[0], grid)
        else:
            joined.append(list(part))
            ends = None if grid is None or grid.first.alone else (grid, grid)
    return joined


def _goes_on(first: Grid, last: Grid, grid: Grid) -> bool:
    """Whether a grid carries on the one that begins with ``first`` and has reached ``last``."""
    one, two, shape = first.first, last.first, grid.first
    if not _alike(one, shape):
        return False
    if (first.across, one.left) == (grid.across, shape.left) and last.high == shape.low:
        return one.left == two.left
    return (first.along, one.low, last.right) == (grid.along, shape.low, shape.left) and one.low == two.low


def _corner(region: Region, shapes: list[Shape]) -> list[_Task]:
    """One piece freed by cuts that stop at its corners, then the rest."""
    nearest = shapes[:_NEAREST]
    loose = [
        shape
        for at, shape in enumerate(nearest)
        if not any(other.left < shape.right and shape.left < other.right for other in nearest[:at])
    ]
    freed = min(loose, key=lambda shape: (len(_round(region, shape)), shape.low, shape.left))
    rest = [shape for shape in shapes if shape is not freed]
    return [*_round(region, freed), (Region(*freed[:4]), [freed]), (region, rest)]


def _round(region: Region, shape: Shape) -> list[Cut]:
    """The cuts round a piece with nothing between it and the region's lower edge."""
    stops = shape.high < region.high
    cuts = [
        Cut("lengthwise", x, region.low, shape.high, stops)
        for x in (shape.left, shape.right)
        if x not in (region.left, region.right)
    ]
    if stops:
        inner = shape.left != region.left or shape.right != region.right
        cuts.append(Cut("across", shape.high, shape.left, shape.right, inner))
    if shape.low > region.low:
        cuts.append(Cut("across", shape.low, shape.left, shape.right))
    return cuts
