"""The fabric on the table as a picture for each step: what is cut, what is next, where the cut goes.

The squared end is at the left, the left selvage on top, as on the marker. Style comes from the page's sheet.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Sequence
from html import escape
from typing import Final

from nesting.packing.cut_order import Cut
from nesting.plan.cut_rows import CutRow
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import Unit, format_length

#: A picture is at least so many times as long as the fabric is wide, and shows so much of it round a piece.
_LEAST: Final = 1.5
_ROUND: Final = 0.16
#: Letters and lines, as parts of the picture's length.
_LETTER: Final = 0.042
_DIM: Final = 0.085
#: Ticks to a unit of the picture: a millimeter.
_MM: Final = 80


class TablePicture:
    """Pictures of one length of fabric.

    Parameters
    ----------
    layout
        What lies on it.
    rows
        Its cuts in their order.
    unit
        In which lengths are told.
    """

    def __init__(self, layout: FabricLayout, rows: Sequence[CutRow], unit: Unit) -> None:
        self._layout, self._rows, self._unit = layout, rows, unit
        self._names = {(one.piece.id, one.copy): row.name for row in rows for one in row.pieces}
        self._turns = {row.name: at for at, row in enumerate(rows)}

    def whole(self) -> list[dict[str, object]]:
        """Every piece as a bar of the whole length, in parts of a thousand of it."""
        long, wide = max(1, self._layout.length or 1), self._layout.usable
        return [
            {
                "cut": self._names[one.piece.id, one.copy],
                "x": round(1000 * one.y / long, 2),
                "y": round(100 * one.x / wide, 2),
                "w": round(1000 * one.length / long, 2),
                "h": round(100 * one.width / wide, 2),
                "done": one.done,
            }
            for one in self._layout.placements
        ]

    def at(
        self, row: CutRow | None, cuts: Iterable[Cut] = (), *, freed: bool = False, find: bool = False
    ) -> str:
        """The picture of a step.

        Parameters
        ----------
        row
            The cut that is being made; None: all of the first stretch.
        cuts
            The lines that are cut in this step.
        freed
            The piece is free already.
        find
            The start line of the print is looked for.
        """
        cuts = tuple(cuts)
        low, high = self._window(row, cuts)
        line = row.line if row is not None and find else None
        return "".join(self._drawn(row, cuts, low, high, freed=freed, line=line))

    def _window(self, row: CutRow | None, cuts: Sequence[Cut]) -> tuple[int, int]:
        length, wide = self._layout.length or 1, self._layout.usable
        low, high = (0, 0) if row is None else (row.start, row.end)
        for cut in cuts:
            if cut.way == "across":
                low, high = min(low, cut.at), max(high, cut.at)
        around = max(int((high - low) * _ROUND), wide // 6)
        low, high = max(0, low - around), min(length + wide // 6, high + around)
        missing = int(_LEAST * wide) - (high - low)
        if missing > 0:
            low = max(0, low - missing // 2)
            high = low + int(_LEAST * wide)
        return low, high

    def _drawn(
        self,
        row: CutRow | None,
        cuts: Sequence[Cut],
        low: int,
        high: int,
        *,
        freed: bool,
        line: int | None,
    ) -> Iterator[str]:
        usable, span = self._layout.usable, high - low
        letter, dim = span * _LETTER, span * _DIM
        top = dim if any(cut.way == "lengthwise" for cut in cuts) else letter / 2
        box = (low, -top, span, usable + top + dim * 1.15)
        yield (
            f'<svg class="on-table" viewBox="{" ".join(_mm(side) for side in box)}" role="img" '
            f'aria-label="{escape(self._alt(row, cuts))}">'
        )
        # Beyond both ends of the picture it goes on: a screen of another shape shows some of that.
        start, end = max(0, low - span), high + span
        yield _rect("fab", start, 0, end - start, usable)
        for flaw in self._layout.flaws:
            if flaw.y < high and low < flaw.y + flaw.length:
                yield _rect("flaw", flaw.y, flaw.x, flaw.length, flaw.width)
        now = set[str]() if row is None else {row.name}
        before = -1 if row is None else self._turns[row.name]
        for one in self._layout.placements:
            if one.y < high and low < one.y + one.length:
                name = self._names[one.piece.id, one.copy]
                gone = one.done or self._turns[name] < before
                yield from self._piece(one, name, now, low, high, letter, gone=gone, freed=freed)
        for cut in cuts:
            yield _line("cut", *_ends(cut, low, high))
        if row is not None and line is not None:
            yield _line("found", line, row.across, line, row.across + row.first.width)
        yield from self._distances(row, cuts, low, high, letter, dim, line)
        yield "</svg>"

    def _piece(
        self,
        one: Laid,
        name: str,
        now: Collection[str],
        low: int,
        high: int,
        letter: float,
        *,
        gone: bool,
        freed: bool,
    ) -> Iterator[str]:
        is_now = name in now
        kind = "pc now" if is_now else "pc done" if gone else "pc"
        yield _rect(kind + (" free" if is_now and freed else ""), one.y, one.x, one.length, one.width)
        left, right = max(low, one.y), min(high, one.y + one.length)
        size = letter * (1.5 if is_now else 1)
        if one.width < size * 1.15 or right - left < size * 0.62 * len(name):
            return
        middle, line = (left + right) / 2, one.x + one.width / 2 + size * 0.36
        yield _text("name now" if is_now else "name", middle, line, size, name)
        if is_now and one.width > 3.2 * size and right - left > 6 * size:
            yield from _arrow(one, middle, one.x + one.width / 2 + 1.35 * size, size)

    def _distances(
        self,
        row: CutRow | None,
        cuts: Sequence[Cut],
        low: int,
        high: int,
        letter: float,
        dim: float,
        line: int | None,
    ) -> Iterator[str]:
        """How far each cut is from the squared end, or from the left."""
        usable, below = self._layout.usable, self._layout.usable + dim * 0.4
        if low == 0:
            yield _line("end", 0, -letter / 3, 0, usable + letter / 3)
        across = sorted(
            {cut.at for cut in cuts if cut.way == "across"} | ({line} if line is not None else set())
        )
        for at in across[-1:]:
            yield _line("dim", low, below, at, below)
            yield _line("dim", at, usable, at, below + letter / 3)
            if low:
                yield _head("dim", low, below, letter * 0.55)
            words = f"{format_length(at, self._unit)} from the squared end"
            room = letter * 0.62 * len(words)
            middle = min(max((low + at) / 2, low + room / 2), high - room / 2)
            yield _text("dim", middle, below + letter * 1.2, letter, words)
        along = sorted({cut.at for cut in cuts if cut.way == "lengthwise"})
        for at in along[:1]:
            cut = next(cut for cut in cuts if cut.way == "lengthwise")
            place = max(low, min(cut.start + letter, high - letter))
            yield _line("dim", place, 0, place, at)
            words = f"{format_length(at, self._unit)} from the left"
            room = letter * 0.62 * len(words)
            middle = min(max(place, low + room / 2 + letter / 3), high - room / 2)
            yield _text("dim", middle, -dim * 0.3, letter, words)
        if not cuts and line is None and row is not None:
            words = (
                f"{format_length(row.start, self._unit, name=False)} to {format_length(row.end, self._unit)}"
            )
            yield _text("dim", (low + high) / 2, below + letter, letter, f"{words} from the squared end")

    def _alt(self, row: CutRow | None, cuts: Sequence[Cut]) -> str:
        if row is None:
            return f"Marker of {self._layout.fabric.title}, from the squared end."
        where = f"{format_length(row.start, self._unit, name=False)} to {format_length(row.end, self._unit)}"
        return (
            f"{row.name} on the marker: {where} from the squared end, "
            f"{format_length(row.across, self._unit)} from the left"
            + (", with the line to cut." if cuts else ".")
        )


def _ends(cut: Cut, low: int, high: int) -> tuple[int, int, int, int]:
    if cut.way == "across":
        return cut.at, cut.start, cut.at, cut.end
    return max(low, cut.start), cut.at, min(high, cut.end), cut.at


def _arrow(one: Laid, x: float, y: float, size: float) -> Iterator[str]:
    """Where TOP lies."""
    ways = {"up": (1, 0), "down": (-1, 0), "left": (0, -1), "right": (0, 1)}
    dx, dy = ways[one.arrow]
    if dx:
        yield _text("top", x - dx * size, y + size * 0.3, size * 0.62, "TOP")
        yield _line("top", x - size * 0.1 * dx, y, x + dx * size * 1.6, y)
        tip, back = x + dx * size * 1.9, x + dx * size * 1.3
        yield _path("tip", f"M{_mm(tip)} {_mm(y)}L{_mm(back)} {_mm(y - size / 4)}V{_mm(y + size / 4)}Z")
    else:
        yield _text("top", x, y + size * 0.3, size * 0.62, "TOP ↑" if dy < 0 else "TOP ↓")


def _mm(ticks: float) -> str:
    return f"{ticks / _MM:.1f}".removesuffix(".0")


def _rect(kind: str, x: float, y: float, width: float, height: float) -> str:
    return f'<rect class="{kind}" x="{_mm(x)}" y="{_mm(y)}" width="{_mm(width)}" height="{_mm(height)}"/>'


def _line(kind: str, x1: float, y1: float, x2: float, y2: float) -> str:
    return f'<path class="{kind}" d="M{_mm(x1)} {_mm(y1)}L{_mm(x2)} {_mm(y2)}"/>'


def _path(kind: str, d: str) -> str:
    return f'<path class="{kind}" d="{d}"/>'


def _head(kind: str, x: float, y: float, size: float) -> str:
    """An arrow that points to the squared end, which lies outside the picture."""
    return _path(f"{kind} tip", f"M{_mm(x)} {_mm(y)}l{_mm(size)} {_mm(-size / 2)}v{_mm(size)}Z")


def _text(kind: str, x: float, y: float, size: float, words: str) -> str:
    return (
        f'<text class="{kind}" x="{_mm(x)}" y="{_mm(y)}" font-size="{_mm(size)}" text-anchor="middle">'
        f"{escape(words)}</text>"
    )
