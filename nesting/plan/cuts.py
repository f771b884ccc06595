"""The cuts that free every piece of a layout, in an order that hands can follow. Lengths in ticks.

A region of fabric is cut across from edge to edge wherever a line meets no piece, each band then lengthwise,
each column across again, and so on. Where no line runs from edge to edge, one piece is freed by cuts that
stop at its corners. That is always possible: nothing lies between the lowest piece and the squared end, so
both its sides can be cut from that end, and its far edge from side to side.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Literal

from nesting.packing.ease import Ease, Rectangle, ease_of
from nesting.pieces.piece import LAYERS
from nesting.plan.blocks import Block
from nesting.plan.plan import FabricLayout, Laid

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


@dataclass(frozen=True, slots=True)
class Step:
    """The cuts that free one piece, or equal small ones edge to edge.

    ``number`` counts from 1 on each bolt; ``cuts`` may be empty, where those before freed it as well.
    `nesting.plan.numbering` lets the numbers run on from length to length, and gives the ``name``: ``B3``.
    """

    number: int
    cuts: tuple[Cut, ...]
    frees: Block
    name: str = ""


def ease_of_layout(layout: FabricLayout) -> Ease:
    """How easily a bolt is cut, in figures; flaws of a length on hand spoil its offcuts."""
    length, usable = layout.length or 0, layout.usable
    boxes = [(laid.x, laid.y, laid.x + laid.width, laid.y + laid.length) for laid in layout.placements]
    spoiled = list[Rectangle]()
    for flaw in layout.flaws:
        right, end = min(usable, flaw.x + flaw.width), min(length, flaw.y + flaw.length)
        if flaw.x < right and flaw.y < end:
            spoiled.append((flaw.x, flaw.y, right, end))
    return ease_of(boxes, usable, length, spoiled)


@dataclass(frozen=True, slots=True)
class _Region:
    left: int
    low: int
    right: int
    high: int


_Task = Cut | tuple[_Region, list[Laid]]


def cutting_steps(layout: FabricLayout) -> tuple[Step, ...]:
    """Every cut of a bolt, from the squared end on; each placement is freed by exactly one step."""
    return layout.once("cutting steps", lambda: _cutting_steps(layout))


def _cutting_steps(layout: FabricLayout) -> tuple[Step, ...]:
    steps, pending = list[Step](), list[Cut]()
    # The bolt goes on beyond the layout, so its end is cut like that of any band.
    whole = _Region(0, 0, layout.usable, (layout.length or 0) + 1)
    tasks: list[_Task] = [(whole, sorted(layout.placements, key=lambda laid: (laid.y, laid.x)))]
    while tasks:
        task = tasks.pop()
        if isinstance(task, Cut):
            pending.append(task)
            continue
        region, pieces = task
        block = _grid(pieces)
        beside = None if block is None else _beside(region, block)
        if block is not None and beside is not None:
            steps.append(Step(len(steps) + 1, (*pending, *beside, *_inside(block)), block))
            pending = []
        elif pieces:
            tasks += reversed(
                _across(region, pieces, of_bolt=region is whole)
                or _lengthwise(region, pieces)
                or _corner(region, pieces)
            )
    return tuple(steps)


def _right(laid: Laid) -> int:
    return laid.x + laid.width


def _high(laid: Laid) -> int:
    return laid.y + laid.length


def _box(pieces: Sequence[Laid]) -> _Region:
    first = pieces[0]
    left, low, right, high = first.x, first.y, first.x + first.width, first.y + first.length
    for laid in pieces:
        x, y = laid.x, laid.y
        if x < left:
            left = x
        if y < low:
            low = y
        if x + laid.width > right:
            right = x + laid.width
        if y + laid.length > high:
            high = y + laid.length
    return _Region(left, low, right, high)


def _beside(region: _Region, block: Block) -> list[Cut] | None:
    """The cuts lengthwise that leave nothing of a region but a block; None where it takes others."""
    first = block.first
    if (first.y, block.end) != (region.low, region.high):
        return None
    edges, right = (region.left, region.right), first.x + block.across * first.width
    return [Cut("lengthwise", x, region.low, region.high) for x in (first.x, right) if x not in edges]


def _grid(pieces: Sequence[Laid]) -> Block | None:
    """The pieces as one grid of equal ones without gaps; a panel's widths are never taken together."""
    if len(pieces) <= 1:
        return Block(pieces[0]) if pieces else None
    one, last = pieces[0], pieces[-1]
    # The last is the likeliest to differ, and one that does is enough.
    if one.piece.role in LAYERS or _kind(one) != _kind(last) or len({_kind(laid) for laid in pieces}) > 1:
        return None
    xs, ys = ({laid.x for laid in pieces}, {laid.y for laid in pieces})
    across, along = len(xs), len(ys)
    width, length = one.width, one.length
    left, low = min(xs), min(ys)
    gapless = across * width == max(xs) + width - left and along * length == max(ys) + length - low
    if not gapless or across * along != len(pieces):
        return None
    if (one.x, one.y) != (left, low):
        one = min(pieces, key=lambda laid: (laid.y, laid.x))
    return Block(one, across, along)


def _kind(laid: Laid) -> object:
    return laid.piece.id, laid.turn, laid.arrow, laid.letter, laid.done


def _inside(block: Block) -> tuple[Cut, ...]:
    """Cuts between the pieces of a grid: strips lengthwise, then all strips across."""
    first = block.first
    right, end = first.x + block.across * first.width, block.end
    strips = (Cut("lengthwise", first.x + n * first.width, first.y, end) for n in range(1, block.across))
    rows = (Cut("across", first.y + n * first.length, first.x, right) for n in range(1, block.along))
    return (*strips, *rows)


def _across(region: _Region, pieces: list[Laid], *, of_bolt: bool) -> list[_Task]:
    """Bands and the cuts between them, from the squared end on; empty where the region is one band."""
    parts = _parts(pieces, lambda laid: (laid.y, _high(laid)))
    tasks, low = list[_Task](), region.low
    # Straight cuts of the bolt itself are made one by one from its squared end, so that it can be drawn on.
    for part in parts if of_bolt else _together(parts):
        box = _box(part)
        if box.low > low:
            tasks.append(Cut("across", box.low, region.left, region.right))
        if box.high < region.high:
            tasks.append(Cut("across", box.high, region.left, region.right))
        low = box.high
        tasks.append((_Region(region.left, box.low, region.right, box.high), part))
    return tasks if len(tasks) > 1 else []


def _parts(pieces: Sequence[Laid], span: Callable[[Laid], tuple[int, int]]) -> list[list[Laid]]:
    """The pieces, sorted by where they begin, parted wherever a line meets none of them."""
    parts, reached = list[list[Laid]](), 0
    for laid in pieces:
        start, end = span(laid)
        if not parts or start >= reached:
            parts.append([])
            reached = end
        parts[-1].append(laid)
        reached = max(reached, end)
    return parts


def _lengthwise(region: _Region, pieces: list[Laid]) -> list[_Task]:
    """Columns and the cuts beside them, those with panels first; empty where the region is one column."""
    parts = _parts(sorted(pieces, key=lambda laid: laid.x), lambda laid: (laid.x, _right(laid)))
    columns = _together(parts)
    for part in columns:
        part.sort(key=lambda laid: (laid.y, laid.x))
    columns.sort(key=_turn_of)
    tasks, made = list[_Task](), {region.left, region.right}
    for part in columns:
        box = _box(part)
        for x in (box.left, box.right):
            if x not in made:
                made.add(x)
                tasks.append(Cut("lengthwise", x, region.low, region.high))
        tasks.append((_Region(box.left, region.low, box.right, region.high), part))
    return tasks if len(tasks) > 1 else []


def _turn_of(part: list[Laid]) -> tuple[bool, bool]:
    """What is to hang first, then what panels are made of, then all else."""
    first = any(laid.piece.first for laid in part)
    return not first, all(laid.piece.role not in LAYERS for laid in part)


def _together(parts: list[list[Laid]]) -> list[list[Laid]]:
    """Neighbors that are one grid of equal pieces, as one part."""
    joined = list[list[Laid]]()
    ends: tuple[Block, Block] | None = None
    for part in parts:
        block = _grid(part)
        if block is not None and ends is not None and _goes_on(ends[0], ends[1], block):
            joined[-1] += part
            ends = (ends[0], block)
        else:
            joined.append(list(part))
            ends = None if block is None or block.first.piece.role in LAYERS else (block, block)
    return joined


def _goes_on(first: Block, last: Block, block: Block) -> bool:
    """Whether a block carries on the grid that begins with ``first`` and has reached ``last``."""
    one, two, laid = first.first, last.first, block.first
    if _kind(one) != _kind(laid):
        return False
    if (first.across, one.x) == (block.across, laid.x) and last.end == laid.y:
        return one.x == two.x
    right = two.x + last.across * two.width
    return (first.along, one.y) == (block.along, laid.y) and right == laid.x and one.y == two.y


def _corner(region: _Region, pieces: list[Laid]) -> list[_Task]:
    """One piece freed by cuts that stop at its corners, then the rest."""
    nearest = pieces[:_NEAREST]
    loose = [
        laid
        for at, laid in enumerate(nearest)
        if not any(other.x < _right(laid) and laid.x < _right(other) for other in nearest[:at])
    ]
    freed = min(loose, key=lambda laid: (len(_round(region, laid)), laid.y, laid.x))
    box = _box([freed])
    rest = [laid for laid in pieces if laid is not freed]
    return [*_round(region, freed), (box, [freed]), (region, rest)]


def _round(region: _Region, laid: Laid) -> list[Cut]:
    """The cuts round a piece with nothing between it and the region's lower edge."""
    box = _box([laid])
    stops = box.high < region.high
    cuts = [
        Cut("lengthwise", x, region.low, box.high, stops)
        for x in (box.left, box.right)
        if x not in (region.left, region.right)
    ]
    if stops:
        inner = box.left != region.left or box.right != region.right
        cuts.append(Cut("across", box.high, box.left, box.right, inner))
    if box.low > region.low:
        cuts.append(Cut("across", box.low, box.left, box.right))
    return cuts
