"""Chalked lines, hems and all that is folded or sewn along one edge of a work."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from types import MappingProxyType
from typing import ClassVar, Literal

from nesting.sewing.operation import Operation
from nesting.sewing.work import Bench, ChalkLine, Edge, Held, SewingError, Side

#: Two lines drawn and measured by hand are one where they are no further apart: ticks.
SAME: Fraction = Fraction(2)


@dataclass(frozen=True, slots=True)
class Chalk(Operation):
    """Chalk a line ``inward`` of an edge, at both ends and in the middle: the fold comes on it later."""

    word: ClassVar[str] = "chalk"
    on: str
    edge: Side
    inward: Fraction

    def done(self, bench: Bench) -> Bench:
        """The line is on the work."""
        work = bench.work(self.on)
        if not 0 <= self.inward < work.across(self.edge):
            raise SewingError(
                f"{self.on}: a line {float(self.inward):g} inside its {self.edge} edge is not on it"
            )
        lines = (*(one for one in work.lines if one.edge != self.edge), ChalkLine(self.edge, self.inward))
        return bench.put(replace(work, lines=lines))


@dataclass(frozen=True, slots=True)
class Fold(Operation):
    """Fold an edge to the back, one turn after the other, the last fold on its chalked line if it has one.

    Attributes
    ----------
    turns
        How deep each turn is, the first one first: a hem of 4 in turned twice is ``(4, 4)``.
    held
        What holds it then.
    over
        What is folded in: ``buckram``; empty without.
    """

    word: ClassVar[str] = "fold"
    on: str
    edge: Side
    turns: tuple[Fraction, ...]
    held: Held = "sewn"
    over: str = ""

    def done(self, bench: Bench) -> Bench:
        """The work smaller by all turns, a fold at its edge."""
        work = bench.work(self.on)
        edge, taken = work.edge(self.edge), sum(self.turns, Fraction(0))
        if not self.turns or min(self.turns) <= 0:
            raise SewingError(f"{self.on}: a turn of nothing at its {self.edge}")
        if edge.finish == "fold" or edge.finish == "seam":
            raise SewingError(f"{self.on}: its {self.edge} edge is folded or sewn already")
        if any(first > second for first, second in zip(self.turns, self.turns[1:], strict=False)):
            raise SewingError(f"{self.on}: the first turn at its {self.edge} is deeper than the next one")
        for line in work.lines:
            if line.edge == self.edge and abs(line.inward - taken) > SAME:
                raise SewingError(f"{self.on}: the last fold at its {self.edge} does not come on its line")
        lines = tuple(line for line in work.lines if line.edge != self.edge)
        inner = edge.finish if len(self.turns) == 1 else "fold"
        folded = Edge("fold", self.turns, inner, self.held, self.over)
        return bench.put(replace(work.shortened(self.edge, taken), lines=lines).with_edge(self.edge, folded))


@dataclass(frozen=True, slots=True)
class Sew(Operation):
    """Sew a fold that was pinned or basted, with all that lies under it."""

    word: ClassVar[str] = "sew"
    on: str
    edge: Side

    def done(self, bench: Bench) -> Bench:
        """The fold is held for good."""
        work = bench.work(self.on)
        if work.edge(self.edge).finish != "fold":
            raise SewingError(f"{self.on}: there is no fold at its {self.edge} to sew")
        return bench.put(work.with_edge(self.edge, replace(work.edge(self.edge), held="sewn")))


@dataclass(frozen=True, slots=True)
class SewTube(Operation):
    """Fold strips lengthwise right sides together, sew ``allowance`` from the long raw edges, turn.

    ``halved`` is the size that is folded in two: the width of a tab, the length of a tie-back, which is cut
    across the fabric.
    """

    word: ClassVar[str] = "tube"
    on: str
    allowance: Fraction
    halved: Literal["width", "length"] = "width"

    def done(self, bench: Bench) -> Bench:
        """A flat tube, half as wide as the strip less its two allowances."""
        work = bench.work(self.on)
        lengthwise = self.halved == "width"
        size = work.width if lengthwise else work.length
        half = (size - 2 * self.allowance) / 2
        if half <= 0:
            raise SewingError(f"{self.on}: its seam takes all of it")
        sides: tuple[Side, Side] = ("left", "right") if lengthwise else ("top", "bottom")
        fold = Edge("fold", inner="seam")
        edges = MappingProxyType({**work.edges, sides[0]: fold, sides[1]: fold})
        width, length = (half, work.length) if lengthwise else (work.width, half)
        return bench.put(replace(work, width=width, length=length, edges=edges, tube=True, strips=()))
