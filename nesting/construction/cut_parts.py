"""The cut pieces of one window sorted to what is sewn of them, and what is cut off before that."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final, Literal

from nesting.construction.lower_edge import PLAIN_EDGE, LowerEdge, lower_edge
from nesting.construction.windows_made import WindowFacts
from nesting.cutting.layers import lining_width, needed_interlining_length, needed_lining_length, tube_width
from nesting.cutting.measures import MORE_HEM, Hanging, left_hem, needed_length, right_hem
from nesting.headings.sewn import Parts
from nesting.headings.tab_sewing import FACING
from nesting.order.job import Fabric, Hem
from nesting.pieces.piece import Piece, Role, Steps
from nesting.pieces.washing import LEFT, kept

#: What the layers of a panel are called on the sewing table.
LINING: Final = "{} lining"
INTERLINING: Final = "{} interlining"

Away = Literal["left", "right"]
Part = tuple[Piece, ...]
"""The pieces of one layer of one panel."""


@dataclass(frozen=True, slots=True)
class CutWindow:
    """The pieces of one window as they are sewn; of windows that are made more than once, of the first."""

    facts: WindowFacts
    pieces: tuple[Piece, ...]
    _fabrics: Mapping[str, Fabric]
    _of_panel: Mapping[tuple[Role, str], Part]

    @classmethod
    def of(cls, facts: WindowFacts) -> CutWindow:
        """The cut pieces of a window; where each of several has faces of its own, those of the first."""
        count = facts.window.count
        own = [piece for piece in facts.pieces if piece.role != "extra"]
        if any(piece.copies % count for piece in own if piece.role == "panel"):
            own = [piece for piece in own if piece.role != "panel" or _segments(piece)[1] == "1"]
        of_panel = defaultdict[tuple[Role, str], list[Piece]](list)
        for piece in own:
            of_panel[piece.role, _panel_of(piece)].append(piece)
        fabrics = {fabric.key: fabric for fabric in facts.fabrics}
        by_panel = {key: tuple(sorted(mine, key=_number)) for key, mine in of_panel.items()}
        return cls(facts, tuple(own), fabrics, by_panel)

    def each(self, piece: Piece) -> int:
        """How many of a piece one window takes."""
        return max(1, piece.copies // self.facts.window.count)

    def fabric(self, piece: Piece) -> Fabric:
        """What it is cut from."""
        return self._fabrics[piece.fabric]

    def of_panel(self, role: Role, hanging: Hanging) -> Part:
        """The pieces of one role that belong to a panel, in the order of their numbers."""
        return self._of_panel.get((role, hanging.key), ())

    def washed(self) -> Iterator[Fabric]:
        """The fabrics whose pieces are washed before they are sewn."""
        used = {piece.fabric for piece in self.pieces}
        for fabric in self.facts.fabrics:
            if fabric.key in used and min(_kept(fabric)) < 1:
                yield fabric

    def panel(self, hanging: Hanging, flat: int) -> Parts:
        """The widths of a face; what is more of them is cut off at the outer edge, but for a selvage."""
        making, hems = self.facts.making, self.hems(hanging)
        sides: tuple[Away, Away] = ("left", "right") if hanging.leading == "right" else ("right", "left")
        side = next((one for one in sides if not hems[one].selvage), sides[0])
        wide = Fraction(flat + sum(hem.allowance for hem in hems.values()))
        lower = self.lower("panel", hanging)
        parts = self._joined(hanging.key, ("panel", hanging), wide, needed_length(making), side, lower)
        # Between two selvages nothing can be cut off: the panel stays as wide as its widths give.
        return replace(parts, wider=Fraction(0)) if hems[side].selvage else parts

    def lower(self, role: Literal["panel", "lining"], hanging: Hanging) -> LowerEdge:
        """The lower edge of a layer of a panel that has a hem."""
        making, pieces = self.facts.making, self.of_panel(role, hanging)
        left = _kept(self.fabric(pieces[0]))[1] if pieces else Fraction(1)
        return lower_edge(pieces, making.bottom_hem if role == "panel" else making.lining_hem, left)

    def hems(self, hanging: Hanging) -> dict[Away, Hem]:
        """The side hems of a panel."""
        making = self.facts.making
        return {"left": left_hem(making, hanging), "right": right_hem(making, hanging)}

    def lining(self, hanging: Hanging, flat: int) -> Parts:
        """The widths of a lining, its hem not yet turned."""
        making = self.facts.making
        left, right = (hem.allowance for hem in self.hems(hanging).values())
        wide = (
            tube_width(flat, left, right, making.seam)
            if making.window.lining_style == "tube"
            else lining_width(flat + left + right, left, right)
        )
        length = needed_lining_length(making)
        into, lower = LINING.format(hanging.key), self.lower("lining", hanging)
        return self._joined(into, ("lining", hanging), wide.exact, length, lower=lower)

    def interlining(self, hanging: Hanging, flat: int) -> Parts:
        """The widths of an interlining."""
        length, layer = needed_interlining_length(self.facts.making), INTERLINING.format(hanging.key)
        return self._joined(layer, ("interlining", hanging), Fraction(flat), length)

    def facing(self, hanging: Hanging) -> Parts | None:
        """The facing of a panel; None where its heading has none."""
        return self._component(FACING.format(hanging.key), self.of_panel("facing", hanging))

    def band(self, hanging: Hanging, name: str) -> Parts | None:
        """The pieces of a band along the hem of a panel, which is called ``band`` or ``band-2``."""
        mine = [piece for piece in self.of_panel("band", hanging) if name in _segments(piece)]
        return self._component(f"{hanging.key} {name.replace('-', ' ')}", mine)

    def bands_alike(self, hanging: Hanging, name: str) -> Parts | None:
        """The bands along the sides of a panel, made alike."""
        mine = [piece for piece in self.of_panel("band", hanging) if name in _segments(piece)]
        return self.alike(mine[0]) if mine else None

    def tabs(self) -> Parts | None:
        """Its tabs; None where its heading has none."""
        found = [piece for piece in self.pieces if piece.role == "tab"]
        return self.alike(found[0]) if found else None

    def tiebacks(self) -> Iterator[Parts]:
        """Its tie-backs, those of one size together."""
        return (self.alike(piece) for piece in self.pieces if piece.role == "tieback")

    def alike(self, piece: Piece) -> Parts:
        """Several pieces that are made alike and never joined, under the id of their piece."""
        wide, long = self._size(piece)
        return Parts(piece.id, (piece.id,), wide - _sewn(piece.width_steps), long - _sewn(piece.length_steps))

    def _component(self, into: str, pieces: Sequence[Piece]) -> Parts | None:
        """Pieces that are joined to one work in the order they come in; None where there are none."""
        mine = [piece for piece in pieces for _ in range(self.each(piece))]
        if not mine:
            return None
        wider = sum((self._size(piece)[0] - _sewn(piece.width_steps) for piece in mine), Fraction(0))
        longer = min(self._size(piece)[1] for piece in mine) - _sewn(mine[0].length_steps)
        seam = Fraction(self.facts.making.seam)
        return Parts(into, tuple(piece.id for piece in mine), wider, longer, seam)

    def _joined(
        self,
        into: str,
        layer: tuple[Role, Hanging],
        wide: Fraction,
        long: Steps,
        side: Away = "right",
        lower: LowerEdge = PLAIN_EDGE,
    ) -> Parts:
        """The widths of a layer of a panel, and what is more of them than is sewn."""
        pieces = in_line(self.of_panel(*layer), layer[1])
        sizes = [self._size(piece) for piece in pieces]
        seam = Fraction(self.facts.making.seam)
        if any(piece.match for piece in pieces):
            # Sewn where the pattern meets, wherever a wash has brought that line.
            seam *= _kept(self.fabric(pieces[0]))[0]
        wider = sum((size[0] for size in sizes), Fraction(0)) - 2 * seam * (len(pieces) - 1) - wide
        ends = (size[1] - lower.off_of(piece.id) for size, piece in zip(sizes, pieces, strict=True))
        longer = min(ends, default=Fraction(0)) - long.exact + lower.less
        return Parts(into, tuple(piece.id for piece in pieces), wider, longer, seam, side)

    def _size(self, piece: Piece) -> tuple[Fraction, Fraction]:
        """Width and length of a piece when it is sewn: washed, if it is washed."""
        across, along = _kept(self.fabric(piece))
        return piece.width * across, piece.length * along


def in_line(pieces: Iterable[Piece], hanging: Hanging) -> Part:
    """The widths of one layer of one panel from left to right, seen from the room.

    Width 1 is at the leading edge, and what a piece is joined to says on which side of it its neighbor lies;
    a lining turns its right side away from the room.
    """
    mine = sorted(pieces, key=_number)
    ids = {piece.id: piece for piece in mine}
    mirrored = bool(mine) and mine[0].role == "lining"
    beside = dict[str, str]()
    for piece in mine:
        for other, side in zip(piece.joined_to, piece.joined_at, strict=False):
            if (side == "right") != mirrored:
                beside[piece.id] = other
    starts = [one for one in ids if one not in beside.values()]
    if len(beside) == len(mine) - 1 and len(starts) == 1:
        line = [starts[0]]
        while line[-1] in beside and len(line) < len(mine):
            line.append(beside[line[-1]])
        if len(line) == len(mine) and ids.keys() == set(line):
            return tuple(ids[one] for one in line)
    return tuple(reversed(mine)) if hanging.leading == "right" else tuple(mine)


def _kept(fabric: Fabric) -> tuple[Fraction, Fraction]:
    """The parts of width and length that a wash of the pieces leaves."""
    shrinkage = fabric.shrinkage
    if shrinkage is None or shrinkage.washed != "after":
        return Fraction(1), Fraction(1)
    return kept(shrinkage.width), kept(shrinkage.length)


def _sewn(steps: Steps) -> Fraction:
    """What of a cut size is sewn: its sum before a wash is reckoned in and before it goes up to the tape.

    What was cut too long before a panel hung is no part of it.
    """
    terms = [term for term in steps.terms if term.label != MORE_HEM]
    washes = [at for at, term in enumerate(terms) if term.label == LEFT]
    if washes:
        terms = terms[: washes[0]]
    while terms and terms[-1].sign == "up to":
        terms.pop()
    return Steps(steps.target, tuple(terms)).exact


def _segments(piece: Piece) -> list[str]:
    return piece.id.split("/")


def _panel_of(piece: Piece) -> str:
    """The key of the panel a piece belongs to: the last part of its id that is no layer and no number."""
    named = [part for part in _segments(piece)[1:] if not part.isdigit()]
    return named[0] if named else ""


def _number(piece: Piece) -> int:
    last = _segments(piece)[-1]
    return int(last) if last.isdigit() else 0
