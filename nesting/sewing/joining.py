"""Washing, trimming, neatening and joining: what is done before anything is folded."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import ClassVar, Literal

from nesting.sewing.operation import Operation
from nesting.sewing.work import Bench, Edge, PieceOfWork, Seam, SewingError, Side, Work


@dataclass(frozen=True, slots=True)
class Wash(Operation):
    """Wash and dry every piece of a fabric; how much it loses is the fabric's."""

    word: ClassVar[str] = "wash"
    fabric: str

    def done(self, bench: Bench) -> Bench:
        """All its pieces smaller, their print with them."""
        if self.fabric not in bench.shrinkage:
            raise SewingError(f"{self.fabric}: nothing is known of what a wash takes")
        across, along = (1 - part for part in bench.shrinkage[self.fabric])
        washed = [_washed(work, across, along) for work in bench if work.fabric == self.fabric]
        if not washed:
            raise SewingError(f"{self.fabric}: no piece of it lies on the table")
        return bench.put(*washed)


def _washed(work: Work, across: Fraction, along: Fraction) -> Work:
    if work.seams or work.layers:
        raise SewingError(f"{work.name}: washed when it was sewn already")
    strips = tuple(
        replace(
            strip,
            start=strip.start * across,
            end=strip.end * across,
            at=None if strip.at is None else (strip.at[0] * across, strip.at[1] * along),
        )
        for strip in work.strips
    )
    return replace(work, width=work.width * across, length=work.length * along, strips=strips)


@dataclass(frozen=True, slots=True)
class Trim(Operation):
    """Cut ``off`` at an edge; what is left there is a raw edge."""

    word: ClassVar[str] = "trim"
    on: str
    edge: Side
    off: Fraction

    def done(self, bench: Bench) -> Bench:
        """The work smaller by so much."""
        work = bench.work(self.on)
        if self.off < 0:
            raise SewingError(f"{self.on}: fabric cannot be put on at the {self.edge}")
        if work.edge(self.edge).finish not in ("raw", "selvage"):
            raise SewingError(f"{self.on}: its {self.edge} edge is finished and is not cut off")
        return bench.put(work.shortened(self.edge, self.off).with_edge(self.edge, Edge("raw")))


@dataclass(frozen=True, slots=True)
class Overcast(Operation):
    """Neaten a raw edge so that it does not fray; it is no smaller for it."""

    word: ClassVar[str] = "overcast"
    on: str
    edge: Side

    def done(self, bench: Bench) -> Bench:
        """The edge overcast: the outermost one, or the end of the fabric behind a fold turned once."""
        work = bench.work(self.on)
        edge = work.edge(self.edge)
        if edge.finish == "fold":
            return bench.put(work.with_edge(self.edge, replace(edge, inner="overcast")))
        if edge.finish != "raw":
            raise SewingError(f"{self.on}: its {self.edge} edge is not raw")
        return bench.put(work.with_edge(self.edge, Edge("overcast")))


@dataclass(frozen=True, slots=True)
class LayOut(Operation):
    """Lay a cut piece out by its label: alone it is what others are joined to.

    Attributes
    ----------
    piece
        Its id.
    into
        What it is called from now on.
    """

    word: ClassVar[str] = "lay out"
    piece: str
    into: str

    def done(self, bench: Bench) -> Bench:
        """The piece under its new name."""
        work = bench.work(self.piece)
        if self.into in bench.works:
            raise SewingError(f"{self.into}: lies on the table already")
        return bench.take(self.piece, 1).put(replace(work, name=self.into, count=1))


@dataclass(frozen=True, slots=True)
class Join(Operation):
    """Sew works side by side, right sides together, their lower edges level.

    Attributes
    ----------
    parts
        Names from left to right, seen from the room; one that is made more than once may stand more than
        once.
    into
        What the joined work is called.
    allowance
        From the raw edges to the seam, on both sides of it.
    finish
        How the allowances are finished.
    """

    word: ClassVar[str] = "join"
    parts: tuple[str, ...]
    into: str
    allowance: Fraction
    finish: Literal["open", "together", "french", "selvage"] = "together"

    def done(self, bench: Bench) -> Bench:
        """One work as wide as its parts less two allowances a seam."""
        if len(self.parts) < 2:
            raise SewingError(f"{self.into}: one piece has nothing to be joined to")
        works = [bench.work(name) for name in self.parts]
        first = works[0]
        for work in works:
            if work.fabric != first.fabric:
                raise SewingError(f"{self.into}: {work.name} is of another fabric than {first.name}")
            if work.width <= 2 * self.allowance:
                raise SewingError(f"{self.into}: {work.name} is no wider than its seams")
        if self.into in bench.works and self.into not in self.parts:
            raise SewingError(f"{self.into}: lies on the table already")
        for name in dict.fromkeys(self.parts):
            bench = bench.take(name, self.parts.count(name))
        return bench.put(_joined(works, self))


def _joined(works: list[Work], join: Join) -> Work:
    strips, seams, at = list[PieceOfWork](), list[Seam](), Fraction(0)
    for number, work in enumerate(works):
        left = join.allowance if number else Fraction(0)
        right = join.allowance if number < len(works) - 1 else Fraction(0)
        shown = work.shortened("left", left) if left else work
        shown = shown.shortened("right", right) if right else shown
        strips += [replace(one, start=one.start + at, end=one.end + at) for one in shown.strips]
        seams += [replace(one, at=one.at + at) for one in shown.seams]
        at += shown.width
        if number < len(works) - 1:
            seams.append(Seam(at, join.allowance, join.finish))
    edges: Mapping[Side, Edge] = MappingProxyType({
        "left": works[0].edge("left"),
        "right": works[-1].edge("right"),
        "top": works[0].edge("top"),
        "bottom": works[0].edge("bottom"),
    })  # fmt: skip
    # Lower edges lie level: what reaches higher is cut off with the working allowance.
    shortest = min(work.length for work in works)
    return Work(join.into, works[0].fabric, at, shortest, edges, tuple(strips), tuple(seams))
