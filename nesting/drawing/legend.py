"""The legend of pieces that show a number without a name, in as many columns as its sheet has room for."""

from __future__ import annotations

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from nesting.drawing.lettering import PITCH, text_width, wrapped, write
from nesting.drawing.palette import CHALK, FADED, INK
from nesting.drawing.pieces import tag
from nesting.drawing.rows import in_order
from nesting.drawing.wording import across_words, run_words, size_words
from nesting.plan.numbering import in_order_of_number, runs_of
from nesting.plan.plan import FabricLayout
from nesting.units import Unit, format_length

_SIZE: Final = 7.0
_LINE: Final = _SIZE * PITCH + 0.8
_GUTTER: Final = 9.0
_BETWEEN: Final = 22.0
#: Differences of height below this are none, in points.
_FINE: Final = 0.01
_NUMBER_ROOM: Final = 84.0
_NAME_ROOM: Final = 170.0
_WHERE_ROOM: Final = 190.0
_HEADS: Final = ("cut", "piece", "cut size", "count", "where on the bolt")
#: Height of the line of column heads, in points.
HEAD: Final = 15.0


@dataclass(frozen=True, slots=True)
class LegendLine:
    """One line of the legend: identical pieces with the numbers of the cuts that free them."""

    number: str
    piece: str
    name: str
    size: str
    count: int
    where: str


@dataclass(frozen=True, slots=True)
class Setting:
    """Legend entries set in columns.

    Attributes
    ----------
    widths
        Of the five fields, in points.
    columns
        For each column, its entries, each with the lines of its five fields.
    height
        Of the whole, heads included, in points.
    """

    widths: tuple[float, ...]
    columns: tuple[tuple[tuple[LegendLine, tuple[tuple[str, ...], ...]], ...], ...]
    height: float


def entries(
    layout: FabricLayout, unit: Unit, explained: Collection[str], numbers: Mapping[str, str]
) -> tuple[LegendLine, ...]:
    """One entry for each piece that is explained, in the order of their first numbers.

    ``explained`` are piece ids, ``numbers`` what each piece is called, by `pieces.tag`.
    """
    found = []
    ordered = in_order(layout)
    ranks = {number: at for at, number in enumerate(in_order_of_number(numbers.values()))}
    own: dict[str, list[str]] = {}
    for laid in ordered:
        if laid.piece.id in explained:
            own.setdefault(laid.piece.id, []).append(numbers[tag(laid)])
    for piece_id, called in sorted(own.items(), key=lambda pair: min(ranks[number] for number in pair[1])):
        copies = [laid for laid in ordered if laid.piece.id == piece_id]
        number = runs_of(in_order_of_number(called))
        turned = sum(laid.turn == 90 for laid in copies)
        size = size_words(copies[0], unit)
        if turned:
            size += ", turned" if turned == len(copies) else f", {turned} turned"
        if len(copies) == 1:
            words = (run_words(copies[0], unit), across_words(copies[0], unit))
            where = ", ".join(word for word in words if word)
        else:
            first, last = min(c.y for c in copies), max(c.y + c.length for c in copies)
            where = f"between {format_length(first, unit, name=False)} and {format_length(last, unit)}"
            across = across_words(copies[0], unit)
            if across and len({(c.x, c.width) for c in copies}) == 1:
                where += f", {across}"
        found.append(LegendLine(number, piece_id, copies[0].piece.name, size, len(copies), where))
    return tuple(found)


def set_entries(
    listed: Sequence[LegendLine], width: float, *, tallest: float | None = None
) -> Setting | None:
    """The entries set on a sheet ``width`` points wide; None where they need more than ``tallest``."""
    rows = [(entry, _fields(entry)) for entry in listed]
    widths = tuple(
        max([text_width(head, _SIZE), *(_widest(fields[n], n) for _, fields in rows)])
        for n, head in enumerate(_HEADS)
    )
    block = sum(widths) + _GUTTER * (len(widths) - 1)
    most = max(1, int((width + _BETWEEN) // (block + _BETWEEN)))
    columns = _balanced(rows, most)
    height = HEAD + max((_height(column) for column in columns), default=0.0) + 2
    if tallest is not None and height > tallest:
        return None
    return Setting(widths, columns, height)


def pages(listed: Sequence[LegendLine], width: float, height: float) -> tuple[Setting, ...]:
    """The entries set on as many sheets of that size as they need."""
    done, rest = [], list(listed)
    while rest:
        # One entry more never needs less room, so the largest number that fits is found by halving.
        fits, over = 1, len(rest) + 1
        while over - fits > 1:
            half = (fits + over) // 2
            if set_entries(rest[:half], width, tallest=height) is None:
                over = half
            else:
                fits = half
        done.append(set_entries(rest[:fits], width) or Setting((), (), 0.0))
        rest = rest[fits:]
    return tuple(done)


def _fields(entry: LegendLine) -> tuple[tuple[str, ...], ...]:
    return (
        wrapped(entry.number, _SIZE, _NUMBER_ROOM, bold=True),
        wrapped(entry.name, _SIZE, _NAME_ROOM, bold=True),
        (entry.size,),
        (str(entry.count),),
        wrapped(entry.where, _SIZE, _WHERE_ROOM),
    )


def _widest(lines: tuple[str, ...], field: int) -> float:
    return max(text_width(line, _SIZE, bold=field < 2) for line in lines)


def _tall(fields: tuple[tuple[str, ...], ...]) -> float:
    return max(len(lines) for lines in fields) * _LINE + 1.5


def _height(column: Sequence[tuple[LegendLine, tuple[tuple[str, ...], ...]]]) -> float:
    return sum(_tall(fields) for _, fields in column)


def _balanced(
    rows: Sequence[tuple[LegendLine, tuple[tuple[str, ...], ...]]], most: int
) -> tuple[tuple[tuple[LegendLine, tuple[tuple[str, ...], ...]], ...], ...]:
    """The rows in at most ``most`` columns, in reading order, the tallest as low as can be."""
    if not rows:
        return ()
    heights = [_tall(fields) for _, fields in rows]
    low, high = max(heights), sum(heights)
    while high - low > _FINE:
        middle = (low + high) / 2
        if len(_breaks(heights, middle)) <= most:
            high = middle
        else:
            low = middle
    starts = _breaks(heights, low if len(_breaks(heights, low)) <= most else high)
    return tuple(tuple(rows[a:b]) for a, b in itertools.pairwise((*starts, len(rows))))


def _breaks(heights: Sequence[float], limit: float) -> list[int]:
    """Where each column begins, filled in turn up to the limit."""
    starts, tall = [0], 0.0
    for number, height in enumerate(heights):
        if number > starts[-1] and tall + height > limit + _FINE:
            starts.append(number)
            tall = 0.0
        tall += height
    return starts


def draw_legend(ax: Axes, setting: Setting, *, left: float = 0.0, top: float = 0.0) -> Axes:
    """The legend on Axes measured in points downwards, its corner at ``(left, top)``."""
    block = sum(setting.widths) + _GUTTER * (len(setting.widths) - 1)
    for number, column in enumerate(setting.columns):
        x, y = left + number * (block + _BETWEEN), top + HEAD
        for field, head in enumerate(_HEADS):
            at = x + sum(setting.widths[:field]) + _GUTTER * field
            write(ax, at, y - HEAD / 2 - 1, head, _SIZE - 0.5, color=FADED, ha="left", gid="legend-head")
        ax.add_artist(Line2D((x, x + block), (y - 2, y - 2), color=FADED, linewidth=0.6))
        for entry, fields in column:
            _draw_entry(ax, setting, entry, fields, (x, y))
            y += _tall(fields)
    return ax


def _draw_entry(
    ax: Axes,
    setting: Setting,
    entry: LegendLine,
    fields: tuple[tuple[str, ...], ...],
    corner: tuple[float, float],
) -> None:
    for field, lines in enumerate(fields):
        x = corner[0] + sum(setting.widths[:field]) + _GUTTER * field
        for number, line in enumerate(lines):
            write(
                ax,
                x,
                corner[1] + (number + 0.5) * _LINE,
                line,
                _SIZE,
                bold=field < 2,
                color=CHALK if field == 0 else INK,
                ha="left",
                gid=f"legend:{entry.piece}:{('number', 'name', 'size', 'count', 'where')[field]}:{number}",
            )
