"""The title block of a marker and the key to its signs."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from matplotlib.axes import Axes
from matplotlib.lines import Line2D
from matplotlib.patches import Polygon, Rectangle

from nesting.drawing.fabric_strip import flaws_of, repeat_of
from nesting.drawing.frame import selvage
from nesting.drawing.lettering import PITCH, SMALLEST, shortened, text_width, wrapped, write
from nesting.drawing.palette import CHALK, FABRIC, FABRIC_WEAVE, FADED, FLAW, FLAWED, INK, LOOKS, REPEAT, RUST
from nesting.drawing.pointer import Pointer, draw_pointer
from nesting.packing.result import Status
from nesting.plan.numbering import numbering
from nesting.plan.pattern import start_line
from nesting.plan.plan import Buy, FabricLayout, Plan
from nesting.plan.sequence import price_words
from nesting.units import Unit, format_exact, format_length, format_quantity

Cell = tuple[str, tuple[str, ...]]

_TITLE: Final = 14.0
_TITLE_LINES: Final = 2
_CAPTION: Final = 6.5
_SIZE: Final = 8.5
_NOTE: Final = 7.0
_BETWEEN: Final = 16.0
_CELL: Final = _CAPTION * PITCH + 1
_DROPS: Final = {(0, 1): "straight match", (1, 2): "half drop", (1, 3): "third drop"}


def money(buy: Buy, currency: str) -> str:
    """What is paid, with the job's currency; empty without a price."""
    if buy.cost is None:
        return ""
    amount = f"{buy.cost:.2f}"
    if not currency:
        return amount
    return f"{amount} {currency}" if currency[-1].isalpha() else f"{currency}{amount}"


def proof(layout: FabricLayout, unit: Unit) -> tuple[str, str]:
    """The proven least, and how good the layout is beside it."""
    least = format_length(layout.bound.length, unit)
    if layout.bound.told:
        return least, "its file says how short it can be; that is not proved here"
    if layout.on_hand is not None:
        if layout.all_done:
            return "", "cut already"
        best = "best use of the lengths on hand"
        return "", f"proven: {best}" if layout.status is Status.OPTIMAL else f"{best} not proven"
    if layout.status is Status.OPTIMAL:
        return least, "proven: no layout is shorter"
    if layout.length is None:
        return least, "no layout was found"
    over = format_length(layout.length - layout.bound.length, unit)
    gap = f" ({float(layout.gap * 100):.1f} %)" if layout.gap is not None else ""
    return least, f"at most {over}{gap} longer than the shortest possible"


def cells(plan: Plan, layout: FabricLayout) -> tuple[Cell, ...]:
    """Caption and lines of each field of the title block."""
    unit = plan.job.units
    length = "none found" if layout.length is None else format_length(layout.length, unit)
    numbers = numbering(plan.layouts)
    listed: list[Cell] = [
        ("fabric", (numbers.fabric(layout), *_length_lines(layout, unit))),
        ("bolt width", _width_lines(layout, unit)),
        ("buy", _buy_lines(plan, layout)),
        ("length of the layout", (length, f"{float(layout.waste * 100):.1f} % of it unused")),
        ("cut across first", (price_words(layout, unit),)),
        ("proven least", proof(layout, unit)),
        ("nap", _nap_lines(layout)),
        ("repeat", _repeat_lines(layout, unit)),
    ]
    said = ((caption, tuple(line for line in lines if line)) for caption, lines in listed)
    return tuple((caption, lines) for caption, lines in said if lines)


def _length_lines(layout: FabricLayout, unit: Unit) -> tuple[str, ...]:
    """The length on hand it lies on, and the dye lot."""
    lot = (f"dye lot {layout.lot}",) if layout.lot else ()
    if layout.on_hand is None:
        return lot
    there = layout.there
    long = "" if there is None else f", {format_length(there.length, unit)} long"
    return (f"length on hand: {layout.on_hand}{long}", *lot)


def _width_lines(layout: FabricLayout, unit: Unit) -> tuple[str, ...]:
    """The width as bought, its usable width on the table, and what becomes of the selvages."""
    on_table = (layout.on_table or layout.bolt).width
    bought, full = (format_length(width, unit) for width in (layout.bolt.width, on_table))
    fit, edge = format_length(layout.fit_to_cut, unit), format_length(int(selvage(layout)), unit)
    print_ = " print" if layout.bolt.printed else ""
    widths: tuple[str, ...] = (f"{bought}{print_}, usable {fit}",)
    if on_table != layout.bolt.width:
        widths = (f"{bought}{print_} as bought", f"{full} once washed, usable {fit}")
    if layout.hem_edge is not None:
        return (*widths, f"{layout.hem_edge} selvage kept: it is the hem")
    if layout.edge_to_edge:
        return (*widths, "selvages kept at the sides of panels")
    if layout.usable > layout.fit_to_cut:
        cut = format_length(layout.usable, unit)
        return (*widths, f"full widths cut {cut}: seams reach into the selvage")
    return (*widths, f"selvage {edge} at each edge left off" if selvage(layout) else "cut from edge to edge")


def _buy_lines(plan: Plan, layout: FabricLayout) -> tuple[str, ...]:
    buy = layout.buy
    if buy is None:
        return ("nothing: fabric on hand",) if layout.on_hand else ("nothing yet",)
    first = ", ".join(
        word for word in (format_quantity(buy.total, buy.unit), money(buy, plan.job.currency)) if word
    )
    parts = [f"{a.name} {format_length(a.length, plan.job.units)}" for a in buy.allowances if a.length]
    return first, f"with {', '.join(parts)}" if parts else ""


def _nap_lines(layout: FabricLayout) -> tuple[str, ...]:
    nap = layout.fabric.nap
    if nap == "one-way" and repeat_of(layout) is not None:
        return "one-way", "all tops point the same way"
    if nap == "one-way":
        toward = "toward TOP" if layout.fabric.arrow == "up" else "away from TOP"
        return "one-way", f"stroke {toward} = smooth"
    return ("two-way", "panels of a room lie alike") if nap == "two-way" else ("none", "panels lie alike")


def _repeat_lines(layout: FabricLayout, unit: Unit) -> tuple[str, ...]:
    repeat = repeat_of(layout)
    if repeat is None:
        return ("none: plain fabric",)
    size = f"{format_exact(repeat.length, unit)} long"
    if repeat.width is not None:
        size += f", {format_exact(repeat.width, unit)} wide"
    drop = repeat.drop % 1
    name = _DROPS.get((drop.numerator, drop.denominator), f"drop {drop}")
    return size, name if repeat.width is None else f"{name}; measure it on the fabric"


def _notes(layout: FabricLayout, unit: Unit) -> str:
    """How to read the drawing on the table."""
    start = "the inner edge of the left selvage"
    if layout.print_edge is not None:
        start = f"a line {format_length(layout.print_edge, unit)} outside the left edge of the print"
    elif layout.usable > layout.fit_to_cut:
        edge = format_length(int(selvage(layout)), unit)
        start = (
            f"{edge} inside the left edge of the fabric" if selvage(layout) else "the left edge of the fabric"
        )
    return (
        "The fabric lies right side up, squared end at the left; the left selvage is the far edge, at the "
        "top. Check first at which end to begin: check 1 of the cutting sequence. "
        f"Ruler and lengths run from the squared end, across-distances from {start}. "
        "Sizes are cut sizes, width × length. The drawing is to scale; measure the fabric, not the paper."
    )


def _lines_of_cells(listed: tuple[Cell, ...], width: float) -> list[list[tuple[Cell, float, float]]]:
    """The fields row by row, each with its place and width."""
    rows: list[list[tuple[Cell, float, float]]] = [[]]
    x = 0.0
    for cell in listed:
        caption, lines = cell
        short = tuple(piece for line in lines for piece in wrapped(line, _SIZE, min(width, 260.0), bold=True))
        wide = max(
            text_width(caption, _CAPTION), *(text_width(s, _SIZE, bold=not n) for n, s in enumerate(short))
        )
        if rows[-1] and x + wide > width:
            rows.append([])
            x = 0.0
        rows[-1].append(((caption, short), x, wide))
        x += wide + _BETWEEN
    return rows


def _row_height(row: list[tuple[Cell, float, float]]) -> float:
    return _CELL + max(len(lines) for (_, lines), _, _ in row) * _SIZE * PITCH + 5


def title_height(plan: Plan, layout: FabricLayout, width: float, page: str = "") -> float:
    """How high the title block is on a sheet ``width`` points wide."""
    title = _title_lines(plan, width - _page_room(page))
    rows = _lines_of_cells(cells(plan, layout), width)
    notes = wrapped(_notes(layout, plan.job.units), _NOTE, width)
    return (
        len(title) * _TITLE * PITCH
        + 6
        + sum(_row_height(row) for row in rows)
        + len(notes) * _NOTE * PITCH
        + 4
    )


def _title_lines(plan: Plan, room: float) -> tuple[str, ...]:
    """The job's title on at most two lines; what is longer ends in an ellipsis."""
    lines = wrapped(plan.job.title or "Marker", _TITLE, room, bold=True)
    if len(lines) <= _TITLE_LINES:
        return lines
    rest = shortened(" ".join(lines[_TITLE_LINES - 1 :]), _TITLE, room, bold=True)
    return (*lines[: _TITLE_LINES - 1], rest)


def _page_room(page: str) -> float:
    return text_width(page, _SIZE) + 12 if page else 0.0


def draw_title(ax: Axes, plan: Plan, layout: FabricLayout, width: float, page: str = "") -> Axes:
    """The title block on Axes measured in points downwards; ``page`` stands at the right."""
    y = 0.0
    for number, line in enumerate(_title_lines(plan, width - _page_room(page))):
        middle = y + _TITLE * PITCH / 2
        write(ax, 0, middle, line, _TITLE, bold=True, ha="left", gid=f"title:{number}")
        y += _TITLE * PITCH
    if page:
        write(ax, width, _TITLE * PITCH / 2, page, _SIZE, ha="right", gid="page")
    ax.add_artist(Line2D((0, width), (y + 2, y + 2), color=CHALK, linewidth=1.2))
    y += 6
    for row in _lines_of_cells(cells(plan, layout), width):
        for (caption, lines), x, _ in row:
            write(
                ax,
                x,
                y + _CAPTION * PITCH / 2,
                caption,
                _CAPTION,
                color=FADED,
                ha="left",
                gid=f"cell:{caption}",
            )
            for number, line in enumerate(lines):
                middle = y + _CELL + (number + 0.5) * _SIZE * PITCH
                write(ax, x, middle, line, _SIZE, bold=number == 0, ha="left", gid=f"cell:{caption}:{number}")
        y += _row_height(row)
    for number, line in enumerate(wrapped(_notes(layout, plan.job.units), _NOTE, width)):
        write(
            ax,
            0,
            y + (number + 0.5) * _NOTE * PITCH,
            line,
            _NOTE,
            color=FADED,
            ha="left",
            gid=f"note:{number}",
        )
    return ax


Sign = tuple[str, str, str]

#: Height of a line of the key to the signs, in points.
KEY_LINE: Final = 15.0
_SWATCH: Final = 20.0


def _signs(layout: FabricLayout) -> Iterator[tuple[str, str]]:
    """Kind and words of each sign used on the drawing."""
    roles = {laid.piece.role for laid in layout.placements}
    yield from ((f"role:{role}", role) for role in LOOKS if role in roles)
    yield "unused", "unused fabric"
    yield "arrow", "points to the top of the hanging piece"
    yield "step", "number of the piece: of its cut, its label, its line in the cut list"
    if any(laid.piece.hem_line for laid in layout.placements):
        yield "hem", "finished hem line"
    if layout.fabric.repeat is not None:
        yield "repeat", "same point of the pattern"
    if any(start_line(layout, laid) is not None for laid in layout.placements):
        yield "start", "start line: the line of the pattern on this cut"
    if any(laid.letter for laid in layout.placements):
        yield "letter", "drop A, B: how far the drop steps the pattern on this cut"
    if flaws_of(layout):
        yield "flaw", "flaw, kept clear"


def _placed_signs(layout: FabricLayout, width: float) -> tuple[tuple[str, str, float, int], ...]:
    placed, x, line = [], 0.0, 0
    for kind, words in _signs(layout):
        wide = _SWATCH + 5 + text_width(words, _NOTE)
        if x and x + wide > width:
            x, line = 0.0, line + 1
        placed.append((kind, words, x, line))
        x += wide + 14
    return tuple(placed)


def signs_height(layout: FabricLayout, width: float) -> float:
    """How high the key to the signs is on a sheet ``width`` points wide."""
    return (_placed_signs(layout, width)[-1][3] + 1) * KEY_LINE


def draw_signs(ax: Axes, layout: FabricLayout, width: float) -> Axes:
    """The key to the signs on Axes measured in points downwards."""
    for kind, words, x, line in _placed_signs(layout, width):
        y = (line + 0.5) * KEY_LINE
        _draw_sign(ax, kind, x, y)
        write(ax, x + _SWATCH + 5, y, words, _NOTE, ha="left", gid=f"sign:{kind}")
    return ax


def _draw_sign(ax: Axes, kind: str, x: float, y: float) -> None:
    if kind.startswith("role:") or kind in ("unused", "flaw"):
        looks = {role: (look.tint, look.thread, look.hatch) for role, look in LOOKS.items()}
        fixed = {"unused": (FABRIC, FABRIC_WEAVE, "xxx"), "flaw": (FLAWED, FLAW, "xxxx")}
        tint, thread, hatch = fixed.get(kind) or next(
            look for role, look in looks.items() if kind == f"role:{role}"
        )
        box = ((x, y - 5), _SWATCH, 10)
        ax.add_artist(Rectangle(*box, facecolor=tint, edgecolor=thread, hatch=hatch, linewidth=0))
        ax.add_artist(Rectangle(*box, facecolor="none", edgecolor=INK, linewidth=0.7))
    elif kind == "arrow":
        pointer = Pointer(_SWATCH)
        draw_pointer(ax, pointer, "up", (x, y - pointer.thickness / 2), 1.0, "sign-arrow")
    elif kind == "start":
        ax.add_artist(Line2D((x, x + _SWATCH), (y, y), color=RUST, linewidth=1.0))
        for at, sign in ((x, 1), (x + _SWATCH, -1)):
            points = ((at, y - 2.5), (at, y + 2.5), (at + 5 * sign, y))
            ax.add_artist(Polygon(points, closed=True, facecolor=RUST, edgecolor="none"))
    elif kind == "step":
        tag = Rectangle((x + _SWATCH / 2 - 4, y - 5), 8, 10, facecolor=CHALK, edgecolor="none")
        ax.add_artist(tag)
        write(ax, x + _SWATCH / 2, y, "3", 7.5, bold=True, color="white", gid="sign-step")
    elif kind == "letter":
        write(ax, x + _SWATCH / 2, y, "drop A", SMALLEST, bold=True, color=CHALK, gid="sign-letter")
    else:
        color, dashes = (CHALK, (4.0, 2.0)) if kind == "hem" else (REPEAT, (6.0, 2.0, 1.0, 2.0))
        line = Line2D((x, x + _SWATCH), (y, y), color=color, linewidth=1.0, linestyle=(0, dashes))
        ax.add_artist(line)
