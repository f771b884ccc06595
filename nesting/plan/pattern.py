"""A printed pattern on the table: its line on every cut, how far it may drift, what the start decides.

The *line* of a pattern is one height of it, the same on every cut: the foot of the motif where the job
prescribes one (``motif``), else what runs along the level line of the room (hem, top edge or floor).
Lengths in ticks.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.order.job import Fabric, Job
from nesting.pieces.piece import Advice, Piece
from nesting.plan.plan import Allowance, FabricLayout, Laid
from nesting.repeat import Repeat
from nesting.units import Unit, format_exact, format_length, grid, round_nearest

#: What people call the usual drops.
DROPS: Final = {
    Fraction(1, 2): "half drop",
    Fraction(1, 3): "drop of a third",
    Fraction(2, 3): "drop of two thirds",
}
#: Rounding repeats to a multiple of the drop's parts adds no more ticks than this to one, or to a difference.
ROUNDED = 6


def line_on(piece: Piece, repeat: Repeat | None) -> int | None:
    """How far above its lower cut edge the pattern's line shows on a piece; None where it does not.

    A piece of place ``(p, q)`` has the line at ``-q`` in the column of the leading edge; in its own column
    (see `column_of`) it stands as much higher as a drop steps until there. All modulo the repeat, and
    wherever the piece lies.
    """
    if repeat is None or piece.match is None:
        return None
    above = (column_of(piece, repeat) * repeat.step - piece.match.y) % repeat.length
    return above if above <= piece.length else None


def column_of(piece: Piece, repeat: Repeat) -> int:
    """The column of the pattern in which a matched piece shows its line, that of its leading edge being 0.

    It is one at the height of the leading edge's of which the piece holds half at least, else the one of
    which it holds most: a maker looks for the line on the cut itself, and between these it is not there.
    """
    across = repeat.width
    if piece.match is None or across is None or not repeat.step:
        return 0
    left, right = piece.match.x, piece.match.x + piece.width
    columns = range(left // across, -(-right // across))

    def rank(column: int) -> tuple[bool, int, int]:
        held = min(right, (column + 1) * across) - max(left, column * across)
        stepped = column * repeat.step % repeat.length != 0
        return stepped or 2 * held < across, -held, abs(column)

    return min(columns, key=rank)


def start_line(layout: FabricLayout, laid: Laid) -> int | None:
    """Where along the bolt the pattern's line shows on a cut, from the squared end; None where none does."""
    above = None if laid.turn else line_on(laid.piece, layout.fabric.repeat)
    return None if above is None else laid.y + above


def first_lines(layout: FabricLayout) -> dict[str, int]:
    """For each level group, where its pattern's line comes first above the squared end, in column A."""
    repeat, found = layout.fabric.repeat, dict[str, int]()
    for laid in layout.placements if repeat is not None else ():
        match = laid.piece.match
        if match is not None and repeat is not None and not laid.turn:
            found.setdefault(match.level, repeat.phase_y(laid.x, laid.y, match.x, match.y))
    return found


@dataclass(frozen=True, slots=True)
class Drift:
    """How far the pattern may be from where the tape says, at worst.

    Attributes
    ----------
    each
        By how much one repeat may be longer or shorter.
    repeats, worst
        Repeats begun in the layout, and their drift summed up.
    between, apart
        Most repeats that lie between two widths of one panel, and their drift: what the two would miss
        each other by, were they cut by the tape.
    """

    each: int
    repeats: int
    worst: int
    between: int
    apart: int


def drift_of(layout: FabricLayout) -> Drift | None:
    """The drift of the pattern on a layout; None where no tolerance is given or nothing is matched."""
    repeat, tolerance = layout.fabric.repeat, layout.fabric.tolerance
    if repeat is None or tolerance is None or not tolerance.repeat or layout.length is None:
        return None
    repeats = -(-layout.length // repeat.length)
    lines = defaultdict[str, list[int]](list)
    for laid in layout.placements:
        match = laid.piece.match
        if match is not None and match.seam is not None and not laid.turn:
            lines[match.seam].append(laid.y - match.y)
    spans = (max(at) - min(at) for at in lines.values())
    between = -(-max(spans, default=0) // repeat.length)
    each = tolerance.repeat
    return Drift(each, repeats, repeats * each, between, between * each)


def print_allowances(fabric: Fabric, length: int, unit: Unit) -> Iterator[Allowance]:
    """What a print takes beyond its layout: an unknown start, drift, bow and skew.

    Parameters
    ----------
    fabric
        As it lies on the table, its repeat None where nothing is matched.
    length
        Of the layout.
    unit
        In which lengths are told.
    """
    repeat, tolerance = fabric.repeat, fabric.tolerance
    if repeat is None:
        return
    if fabric.start is None:
        yield Allowance("unknown start of the print, one repeat", repeat.length)
    if tolerance is None:
        return
    if tolerance.repeat:
        repeats = -(-length // repeat.length)
        each = format_exact(tolerance.repeat, unit)
        yield Allowance(
            f"drift of the print ({repeats} repeats, each up to {each})", repeats * tolerance.repeat
        )
    if tolerance.bow + tolerance.skew and not fabric.cutting_gap:
        yield Allowance("bow and skew of the print (once)", tolerance.bow + tolerance.skew)


def print_advice(job: Job, layouts: Iterable[FabricLayout]) -> Iterator[Advice]:
    """What the maker should know of each print before the first cut."""
    for layout in layouts:
        fabric = job.fabric(layout.fabric.key)
        if layout.fabric.repeat is None:
            continue
        yield from _of_label(fabric, job.units)
        yield from _of_drop(layout, fabric)
        yield from _of_start(layout, fabric, job.units)
        yield from _of_drift(layout, fabric, job.units)


def _of_label(fabric: Fabric, unit: Unit) -> Iterator[Advice]:
    """A repeat that measures otherwise than its label says."""
    if fabric.repeat is None or fabric.labeled is None or fabric.labeled == fabric.repeat:
        return
    more = fabric.repeat.length - fabric.labeled.length
    now, label, change = (_near(at, unit) for at in (fabric.repeat.length, fabric.labeled.length, abs(more)))
    text = (
        f"the repeat of {fabric.title} measures {now}, {change} {'more' if more > 0 else 'less'} than its "
        f"label ({label}): all cuts are planned as measured; measure across as well"
    )
    yield Advice("warning", text, fabric=fabric.key)


def next_letter(repeat: Repeat, match: int) -> str:
    """The letter of the width to the right of one that begins with A, laid at the same place across."""
    return repeat.letter(0, match)


def _of_drop(layout: FabricLayout, fabric: Fabric) -> Iterator[Advice]:
    """With which letter the next width begins."""
    repeat, match = layout.fabric.repeat, (layout.on_table or layout.bolt).match
    if repeat is None or repeat.width is None or match is None or not repeat.drop:
        return
    letter = next_letter(repeat, match)
    if not letter:
        return
    columns = match // repeat.width
    drop = DROPS.get(repeat.drop, f"drop of {repeat.drop}")
    where = "from column to column of the repeat"
    if fabric.drop_from == "selvage":
        where = "from one width to the next, at the selvage"
    elif columns == 1:
        where = "from one width to the next, for a width is one column"
    if letter == "A":
        text = f"with {columns} columns across the next width begins with A too, at the same height"
    else:
        text = f"right of a width that begins with A the next one begins with {letter}"
    yield Advice("note", f"{fabric.title}: {drop}, {where}: {text}", fabric=fabric.key)


def _near(ticks: int, unit: Unit) -> str:
    """A repeat as it was written: what rounding it to the drop's parts added is not told."""
    off = abs(ticks - round_nearest(Fraction(ticks), grid(unit)))
    return format_length(ticks, unit) if off <= ROUNDED else format_exact(ticks, unit)


def _of_start(layout: FabricLayout, fabric: Fabric, unit: Unit) -> Iterator[Advice]:
    """Where the squared end must lie in the pattern, or that it need not matter."""
    repeat, first = layout.fabric.repeat, first_lines(layout)
    if repeat is None or not first:
        return
    if layout.fabric.start is not None:
        at = format_exact(layout.fabric.start % repeat.length, unit)
        text = f"{fabric.title}: square the end where the pattern stands {at} above its line, as you gave it"
        yield Advice("note", text, fabric=fabric.key)
        return
    lines = sorted(set(first.values()))
    if fabric.motif is not None:
        stands = -lines[0] % repeat.length
        text = (
            f"{fabric.title}: square the end {format_exact(lines[0], unit)} below a foot of the motif, for "
            "which the repeat bought on top gives room. Or measure how high the pattern stands at the end of "
            f"the bolt and plan again with that start (this plan is made for {format_exact(stands, unit)})"
        )
    else:
        text = (
            f"{fabric.title}: no motif height is prescribed, so these cuts hang level from any start; the "
            "repeat bought on top leaves you the choice of what shows above the hem"
        )
    yield Advice("note", text, fabric=fabric.key)


def _of_drift(layout: FabricLayout, fabric: Fabric, unit: Unit) -> Iterator[Advice]:
    drift, tolerance = drift_of(layout), fabric.tolerance
    if drift is not None:
        text = (
            f"{fabric.title}: {drift.repeats} repeats, each up to {format_exact(drift.each, unit)} off, put "
            f"the pattern up to {format_exact(drift.worst, unit)} away from the tape at the far end"
        )
        if drift.between:
            text += f", and two widths of one panel up to {format_exact(drift.apart, unit)} from each other"
        text += ": chalk every cut by its start line on the pattern, and use the tape for its length only"
        yield Advice("warning", text, fabric=fabric.key)
    if tolerance is not None and not fabric.cutting_gap:
        text = (
            f"{fabric.title}: every cut may be made longer by bow, skew and drift of its own, to be trimmed "
            'true on the pattern (cutting_gap = "auto")'
        )
        yield Advice("offer", text, fabric=fabric.key, change=("cutting_gap", "auto"))
