"""The cut pieces of a window on the sewing table: their sizes, edges, nap and print as the rectangles lie.

Which way the nap runs on a piece, and what of the print it shows, follows from how it lies on the fabric and
from what the order says of that fabric; nothing is read of what the document says of either.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Any, Final, Literal

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, TableReader
from nesting.check.sewing_ordered import WindowOrdered, percent_kept
from nesting.check.violation import Breach, Violation
from nesting.repeat import Repeat
from nesting.sewing import Bench, Work, cut_piece

#: What is sewn to a window; extras are cut and handed over.
SEWN: Final = frozenset({"panel", "lining", "interlining", "facing", "tab", "band", "tieback"})
Way = Literal["up", "down", "left", "right", "none"]
#: Edges of the fabric on which the left, right, lower and upper edge of a piece lie, by where its top lies.
_EDGES: Final[Mapping[str, tuple[str, str, str, str]]] = {
    "up": ("left", "right", "start", "end"),
    "down": ("right", "left", "end", "start"),
    "left": ("start", "end", "right", "left"),
    "right": ("end", "start", "left", "right"),
}
_TURNED: Final[Mapping[str, Mapping[str, Way]]] = {
    "up": {"up": "up", "down": "down", "left": "right", "right": "left"},
    "down": {"up": "down", "down": "up", "left": "left", "right": "right"},
}


@dataclass(frozen=True, slots=True)
class PieceCut:
    """A piece of a window as the document lists it, and every copy of it as it lies.

    ``own``: which of its edges is to be that of the fabric; None: none. ``beside``: the ids of the
    pieces that its label has it sewn to, each with the edge of it, right side up; empty where it tells none.
    """

    id: str
    role: str
    window: str
    copies: int
    size: tuple[int, int]
    fabric: str
    lies: tuple[tuple[LaidEntry, LayoutEntry], ...]
    place: str
    optional: bool = False
    own: Any = None
    beside: tuple[tuple[str, str], ...] = ()

    @property
    def number(self) -> int | None:
        """Which of several windows it is cut for alone, from 1; None where for all of them alike."""
        parts = self.id.split("/")
        return int(parts[1]) if len(parts) > 2 and parts[1].isdecimal() else None

    @property
    def panel(self) -> str:
        """The panel it is labeled for: ``left``; empty where it is for none."""
        return label_of(self.id)


def label_of(id: str) -> str:
    """The panel that an id names: ``left`` of ``east/2/left/1`` and ``east/left/1``; empty where none."""
    parts = [part for part in id.split("/")[1:] if not part.isdecimal()]
    labeled = len(id.split("/")) > 2 and parts and parts[0].partition("-")[0] in ("left", "right", "single")
    return parts[0] if labeled else ""


def pieces_cut(plan: PlanDocument, document: Mapping[str, Any]) -> dict[str, list[PieceCut]]:
    """The pieces of each window, by its name."""
    lies: dict[str, list[tuple[LaidEntry, LayoutEntry]]] = {piece.id: [] for piece in plan.pieces}
    for layout in plan.layouts:
        for entry in layout.entries:
            lies[entry.piece.id].append((entry, layout))
    found = dict[str, list[PieceCut]]()
    listed = TableReader(document, "", plan.units).tables("pieces")
    for piece, table in zip(plan.pieces, listed, strict=True):
        role, window = table.text_or_none("role", None) or "", table.text_or_none("window", None) or ""
        there = sorted(lies[piece.id], key=lambda each: each[0].copy)
        size = (piece.width, piece.length)
        found.setdefault(window, []).append(
            PieceCut(
                piece.id,
                role,
                window,
                piece.copies,
                size,
                piece.fabric,
                tuple(there),
                table.place,
                piece.optional,
                piece.hem_edge,
                _beside(table),
            )
        )
    return found


def _beside(table: TableReader) -> tuple[tuple[str, str], ...]:
    ids, edges = table.value("joined_to", ()), table.value("joined_at", ())
    if not isinstance(ids, list | tuple) or not isinstance(edges, list | tuple) or len(ids) != len(edges):
        return ()
    return tuple((str(id), str(edge)) for id, edge in zip(ids, edges, strict=True))


def bench_of(
    window: WindowOrdered, pieces: list[PieceCut], number: int, repeats: Mapping[str, Repeat | None]
) -> tuple[Bench, tuple[Violation, ...]]:
    """What lies on the table of the window of that number, and what is wrong with how much that is.

    Pieces cut for one of several windows alone are called by the name of the first one's; ``repeats`` are the
    prints of the fabrics by the place of each layout.
    """
    works, wrong = dict[str, Work](), list[Violation]()
    for piece in pieces:
        if piece.role not in SEWN or piece.number not in (None, number):
            continue
        count, over = divmod(piece.copies, 1 if piece.number is not None else window.count)
        if over or not count:
            what = f'"{piece.id}": {piece.copies} cut'
            wrong.append(Violation(Breach.SEWING, what, f"{window.count} windows alike", at=piece.place))
            continue
        name = first_name(piece)
        works[name] = _work(window, piece, name, count, number, repeats)
    shrinkage = {
        key: (1 - percent_kept(fabric, "width", "after"), 1 - percent_kept(fabric, "length", "after"))
        for key, fabric in window.fabrics.items()
    }
    return Bench(works, {key: each for key, each in shrinkage.items() if any(each)}), tuple(wrong)


def first_name(piece: PieceCut) -> str:
    """The id of a piece; of one that is cut for one of several windows alone, that of the first one's."""
    if piece.number is None:
        return piece.id
    slug, _, rest = piece.id.split("/", 2)
    return f"{slug}/1/{rest}"


def _work(
    window: WindowOrdered,
    piece: PieceCut,
    name: str,
    count: int,
    number: int,
    repeats: Mapping[str, Repeat | None],
) -> Work:
    """The piece as it comes from the table; of several windows alike, the copy of the one of that number."""
    fabric = window.fabrics.get(piece.fabric)
    at = number - 1 if piece.number is None and piece.copies == window.count else 0
    lies = piece.lies[at] if at < len(piece.lies) else None
    width, length = piece.size
    if lies is None or fabric is None:
        # Not cut yet: it is taken to keep the edge of the fabric that it is listed with.
        own: set[Any] = {"bottom" if window.hem("bottom_hem").selvage else piece.own} if piece.own else set()
        return cut_piece(name, piece.fabric, width, length, count=count, selvages=frozenset(own))
    entry, layout = lies
    repeat, place = None, None
    if piece.role == "panel":
        repeat, place = print_of(entry, layout, repeats.get(layout.place))
    return cut_piece(
        name,
        piece.fabric,
        width,
        length,
        count=count,
        selvages=frozenset(_selvages(window, piece, entry, layout)),
        nap=nap_of(fabric, entry),
        repeat=repeat,
        at=place,
    )


def _selvages(window: WindowOrdered, piece: PieceCut, entry: LaidEntry, layout: LayoutEntry) -> Iterator[Any]:
    """Its edges that lie on an edge of the fabric, of a panel of which one was ordered as a hem.

    Of all others the selvage is cut off, or lies in a seam.
    """
    whole = int(layout.bolt_width * percent_kept(window.fabrics[piece.fabric], "width", "before"))
    hems = (window.hem(key) for key in ("bottom_hem", "leading_hem", "outer_hem"))
    if piece.role != "panel" or layout.strip.width < whole or not any(hem.selvage for hem in hems):
        return
    own = {"left": entry.x == 0, "right": entry.x + entry.width == layout.strip.width}
    for side, edge in zip(("left", "right", "bottom", "top"), _EDGES[entry.arrow], strict=True):
        if own.get(edge, False):
            yield side


def nap_of(fabric: TableReader, entry: LaidEntry) -> Way:
    """Where the nap runs on a piece, seen from the room: as ordered on all that lie with their top away."""
    if fabric.value("nap", "none") != "one-way":
        return "none"
    return _TURNED["down" if fabric.value("arrow", "up") == "down" else "up"][entry.arrow]


def print_of(
    entry: LaidEntry, layout: LayoutEntry, repeat: Repeat | None
) -> tuple[Repeat | None, tuple[Fraction, Fraction] | None]:
    """The print of a fabric as it shows on a piece, and the point of it at the piece's lower left corner.

    A piece that lies sideways shows the print turned: what runs along the fabric runs across it.
    """
    if repeat is None:
        return None, None
    low = entry.y + (layout.strip.start or 0)
    if entry.arrow in ("up", "down"):
        return repeat, (Fraction(entry.x), Fraction(low))
    if repeat.step or repeat.width is None:
        return None, None
    across, up = low, -(entry.x + entry.width)
    if entry.arrow == "right":
        across, up = -(low + entry.length), entry.x
    return Repeat(repeat.width, repeat.length), (Fraction(across), Fraction(up))
