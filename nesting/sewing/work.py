"""What lies on the sewing table: pieces in the making, their edges, seams, layers and marks.

Lengths are exact, in ticks (1/80 mm); fractions arise where fabric is washed or halved. A work lies face up,
its top away from the sewer: ``left`` is its left edge seen from the room, heights are measured up from its
lower edge and widths from its left edge, whatever of it has been folded or sewn so far.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from fractions import Fraction
from types import MappingProxyType
from typing import Final, Literal

from nesting.errors import NestingError
from nesting.repeat import Repeat

Side = Literal["left", "right", "top", "bottom"]
SIDES: Final[tuple[Side, ...]] = ("left", "right", "top", "bottom")
OPPOSITE: Final[Mapping[Side, Side]] = MappingProxyType(
    {"left": "right", "right": "left", "top": "bottom", "bottom": "top"}
)
#: What an edge of fabric is: as it was cut, as it was woven, overcast, folded, or sewn to another layer.
Finish = Literal["raw", "selvage", "overcast", "fold", "seam"]
#: How firmly a fold is held so far.
Held = Literal["pressed", "pinned", "basted", "sewn"]
#: Where one work lies on another, seen from the room.
Face = Literal["front", "back"]


class SewingError(NestingError):
    """A step that cannot be sewn as it is told: the message names the piece and what is wrong."""


@dataclass(frozen=True, slots=True)
class Edge:
    """One edge of a work as it is now.

    Attributes
    ----------
    finish
        What the outermost edge is.
    turns
        What was folded to the back there, the first turn first.
    inner
        What the end of the fabric is that lies at the back once the edge is folded or faced.
    held
        How the fold is held.
    over
        What the fold lies around: ``buckram``; empty where it is fabric alone.
    """

    finish: Finish
    turns: tuple[Fraction, ...] = ()
    inner: Finish = "raw"
    held: Held = "sewn"
    over: str = ""

    @property
    def depth(self) -> Fraction:
        """How far the fabric folded to the back reaches in from the edge."""
        return self.turns[-1] if self.turns else Fraction(0)

    @property
    def shows_raw(self) -> bool:
        """Whether a raw end of the fabric lies open, at the edge or at the back of a fold turned once."""
        if self.finish == "fold" and len(self.turns) < 2:
            return self.inner == "raw"
        return self.finish == "raw"


@dataclass(frozen=True, slots=True)
class PieceOfWork:
    """One cut piece within a work, with the print on it.

    Attributes
    ----------
    piece
        Its id.
    start, end
        From where to where it reaches across the work, from its left edge.
    nap
        Where the nap runs, seen from the room: ``up`` is towards the top of the work; ``none`` without one.
    repeat
        Of its print; None where it is plain.
    at
        The point of the print, in the design's plane, that lies at the lower left corner of what is seen of
        it (at ``start`` and the lower edge of the work). None where it is plain.
    """

    piece: str
    start: Fraction
    end: Fraction
    nap: Literal["up", "down", "left", "right", "none"] = "none"
    repeat: Repeat | None = None
    at: tuple[Fraction, Fraction] | None = None


@dataclass(frozen=True, slots=True)
class Seam:
    """A seam that runs the length of a work: where it lies, what each side gave to it, how it is finished."""

    at: Fraction
    allowance: Fraction
    finish: Literal["open", "together", "french", "selvage"] = "together"


@dataclass(frozen=True, slots=True)
class Carrier:
    """What carries a panel at its top: a loop, a tab, a ring, a hook, a pocket, a pleat's own hook.

    Attributes
    ----------
    kind
        ``tab`` (a loop over the rod), ``loop`` (flat at the back), ``ring`` (a hole with a rim), ``hook``,
        ``clip`` or ``pocket``.
    start, end
        Across the panel, from its left edge; alike for what is told by its center.
    down
        How far below the top of the work its upper end lies: of a ring the upper edge of its hole.
    length
        Of fabric in a tab or loop, of the hole of a ring across, of a pocket between its rows.
    lower
        Lower end below the top, where it has one.
    """

    kind: Literal["tab", "loop", "ring", "hook", "clip", "pocket"]
    start: Fraction
    end: Fraction
    down: Fraction
    length: Fraction = Fraction(0)
    lower: Fraction | None = None
    work: str = ""


@dataclass(frozen=True, slots=True)
class Pleat:
    """A pleat: the lines that are brought together, from the left edge of the flat work."""

    start: Fraction
    end: Fraction


@dataclass(frozen=True, slots=True)
class LaidOn:
    """Another work on this one: its left and lower edge from this one's, and on which face it lies.

    ``tucked`` names the sides of the layer that lie under this work's folds.
    """

    work: Work
    left: Fraction
    up: Fraction
    face: Face
    tucked: tuple[Side, ...] = ()


@dataclass(frozen=True, slots=True)
class ChalkLine:
    """A chalked line: parallel to an edge of the work, ``inward`` of it when it was drawn."""

    edge: Side
    inward: Fraction


@dataclass(frozen=True, slots=True)
class Work:
    """A piece in the making, flat.

    Attributes
    ----------
    name
        What it is called on the table: the id of a cut piece until it is joined, then ``left``.
    fabric
        Key of its fabric.
    width, length
        From edge to edge as it lies now.
    edges
        Each of the four.
    strips
        The pieces it consists of, from the left.
    seams
        That run its length, from the left.
    carriers, pleats, layers, lines
        What has been set, folded, laid and chalked so far.
    drawn
        Width once pleats are sewn or a tape is drawn up; None while it is flat.
    count
        How many of them are made alike.
    tube
        Whether it was sewn to a tube, as a tab is: two layers all over.
    tape
        How deep the tape at its top is that draws it up; 0 without one.
    """

    name: str
    fabric: str
    width: Fraction
    length: Fraction
    edges: Mapping[Side, Edge]
    strips: tuple[PieceOfWork, ...] = ()
    seams: tuple[Seam, ...] = ()
    carriers: tuple[Carrier, ...] = ()
    pleats: tuple[Pleat, ...] = ()
    layers: tuple[LaidOn, ...] = ()
    lines: tuple[ChalkLine, ...] = ()
    drawn: Fraction | None = None
    count: int = 1
    tube: bool = False
    tape: Fraction = Fraction(0)

    def edge(self, side: Side) -> Edge:
        """The edge on that side."""
        return self.edges[side]

    def across(self, side: Side) -> Fraction:
        """The size at right angles to an edge: the width for left and right, else the length."""
        return self.width if side in ("left", "right") else self.length

    def with_edge(self, side: Side, edge: Edge) -> Work:
        """The same work with another edge."""
        return replace(self, edges=MappingProxyType({**self.edges, side: edge}))

    def shortened(self, side: Side, by: Fraction) -> Work:
        """The work with ``by`` taken off, or turned away, at an edge: all that lies on it keeps its place.

        Raises
        ------
        SewingError
            Nothing would be left of it.
        """
        if by >= self.across(side):
            raise SewingError(f"{self.name}: {side}: {_ticks(by)} are more than there is of it")
        left = by if side == "left" else Fraction(0)
        up = by if side == "bottom" else Fraction(0)
        top = by if side == "top" else Fraction(0)
        width = self.width - (by if side in ("left", "right") else 0)
        length = self.length - (by if side in ("top", "bottom") else 0)
        return replace(
            self,
            width=width,
            length=length,
            strips=tuple(_clipped(strip, left, up, width) for strip in self.strips),
            seams=tuple(replace(seam, at=seam.at - left) for seam in self.seams),
            carriers=tuple(_moved(carrier, left, top) for carrier in self.carriers),
            layers=tuple(replace(layer, left=layer.left - left, up=layer.up - up) for layer in self.layers),
            lines=tuple(
                replace(line, inward=line.inward - by) if line.edge == side else line for line in self.lines
            ),
        )

    def covered_at_back(self, across: Fraction, up: Fraction) -> bool:
        """Whether another layer lies over this point of its back."""
        return any(
            layer.left <= across <= layer.left + layer.work.width
            and layer.up <= up <= layer.up + layer.work.length
            for layer in self.layers
            if layer.face == "back"
        )


@dataclass(frozen=True, slots=True)
class Bench:
    """All works of one window on the sewing table, by name, and what the fabrics lose in a wash.

    ``shrinkage`` holds the part of width and of length that a wash takes, by fabric: a fact of the fabric,
    not of a step.
    """

    works: Mapping[str, Work]
    shrinkage: Mapping[str, tuple[Fraction, Fraction]] = field(default_factory=dict)

    def work(self, name: str) -> Work:
        """The work of that name.

        Raises
        ------
        SewingError
            There is none, or it has gone into another one.
        """
        if name not in self.works:
            raise SewingError(f"{name}: no such piece lies on the table")
        return self.works[name]

    def put(self, *works: Work) -> Bench:
        """With these works on it, each in the place of the one of its name."""
        return replace(self, works=MappingProxyType({**self.works, **{work.name: work for work in works}}))

    def take(self, name: str, count: int) -> Bench:
        """With so many of the works of a name gone into others.

        Raises
        ------
        SewingError
            There are not so many.
        """
        work = self.work(name)
        if count > work.count:
            raise SewingError(f"{name}: {count} are used and {work.count} were made")
        rest = {key: one for key, one in self.works.items() if key != name}
        if work.count > count:
            rest[name] = replace(work, count=work.count - count)
        return replace(self, works=MappingProxyType(rest))

    def __iter__(self) -> Iterator[Work]:
        return iter(self.works.values())


def cut_piece(
    name: str,
    fabric: str,
    width: int | Fraction,
    length: int | Fraction,
    *,
    count: int = 1,
    selvages: frozenset[Side] = frozenset(),
    nap: Literal["up", "down", "left", "right", "none"] = "none",
    repeat: Repeat | None = None,
    at: tuple[Fraction, Fraction] | None = None,
) -> Work:
    """A rectangle as it was cut: four raw edges, or selvages where it was cut to the edge of the fabric.

    Parameters
    ----------
    name, fabric
        Its id and the key of its fabric.
    width, length
        As it lies with its top away, in ticks.
    count
        How many alike.
    selvages
        Edges that are the edge of the fabric.
    nap, repeat, at
        See `PieceOfWork`.
    """
    edges: dict[Side, Edge] = {side: Edge("selvage" if side in selvages else "raw") for side in SIDES}
    strip = PieceOfWork(name, Fraction(0), Fraction(width), nap, repeat, at)
    return Work(
        name, fabric, Fraction(width), Fraction(length), MappingProxyType(edges), (strip,), count=count
    )


def _clipped(strip: PieceOfWork, left: Fraction, up: Fraction, width: Fraction) -> PieceOfWork:
    """What of a strip is still seen once its work lost ``left`` and ``up`` and is ``width`` wide."""
    start, end = strip.start - left, strip.end - left
    hidden = max(Fraction(0), -start)
    at = strip.at
    if at is not None:
        at = (at[0] + hidden, at[1] + up)
    return replace(strip, start=start + hidden, end=min(end, width), at=at)


def _moved(carrier: Carrier, left: Fraction, top: Fraction) -> Carrier:
    return replace(
        carrier,
        start=carrier.start - left,
        end=carrier.end - left,
        down=carrier.down - top,
        lower=None if carrier.lower is None else carrier.lower - top,
    )


def _ticks(length: Fraction) -> str:
    return f"{float(length):.6g} ticks"
