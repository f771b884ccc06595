"""What carries a panel and what draws it in: tabs, loops, rings, hooks, pockets, pleats, tapes."""

from __future__ import annotations

from dataclasses import dataclass, replace
from fractions import Fraction
from typing import ClassVar, Literal

from nesting.sewing.folding import SAME
from nesting.sewing.operation import Operation
from nesting.sewing.work import Bench, Carrier, Edge, Pleat, SewingError, Work


@dataclass(frozen=True, slots=True)
class Insert(Operation):
    """Lay tabs, folded in half, on the right side of a work at its marks, raw ends level with its upper edge.

    The seam that follows at that edge catches both their ends.

    Attributes
    ----------
    tabs
        The strips, sewn to tubes.
    on
        The panel.
    at
        Left edge of each, measured from the left edge of the panel.
    """

    word: ClassVar[str] = "insert"
    tabs: str
    on: str
    at: tuple[Fraction, ...]

    def done(self, bench: Bench) -> Bench:
        """The tabs stand at the upper edge, not yet caught in a seam (their length is still raw)."""
        work, tab = bench.work(self.on), bench.work(self.tabs)
        if not tab.tube:
            raise SewingError(f"{self.tabs}: sewn and turned before it is set on")
        if work.edge("top").finish not in ("raw", "selvage", "overcast"):
            raise SewingError(f"{self.on}: its top is finished, so nothing can be caught in it")
        carriers = work.carriers
        for start in self.at:
            _within(work, start, start + tab.width)
            carriers += (Carrier("tab", start, start + tab.width, Fraction(0), tab.length, work=self.tabs),)
        return bench.take(self.tabs, len(self.at)).put(replace(work, carriers=carriers))


@dataclass(frozen=True, slots=True)
class Attach(Operation):
    """Sew loops flat on a work, both ends turned under.

    Attributes
    ----------
    loops, on
        The strips, and the work they are sewn to (the facing, on its right side).
    at
        Left edge of each, from the left edge of that work.
    upper, lower
        Where their ends lie, below the upper raw edge of that work.
    """

    word: ClassVar[str] = "attach"
    loops: str
    on: str
    at: tuple[Fraction, ...]
    upper: Fraction
    lower: Fraction

    def done(self, bench: Bench) -> Bench:
        """The loops carry: nothing of them is longer or shorter than the place they lie on."""
        work, loop = bench.work(self.on), bench.work(self.loops)
        if not loop.tube:
            raise SewingError(f"{self.loops}: sewn and turned before it is set on")
        for side in ("top", "bottom"):
            if loop.edge(side).shows_raw and not loop.edge(side).turns:
                raise SewingError(f"{self.loops}: its {side} end is not turned under")
        if abs(self.lower - self.upper - loop.length) > SAME:
            apart = float(self.lower - self.upper)
            raise SewingError(f"{self.loops}: {float(loop.length):g} long, its ends {apart:g} apart")
        if self.lower > work.length:
            raise SewingError(f"{self.on}: the loops reach beyond it")
        carriers = work.carriers
        for start in self.at:
            _within(work, start, start + loop.width)
            carriers += (
                Carrier("loop", start, start + loop.width, self.upper, loop.length, self.lower, self.loops),
            )
        return bench.take(self.loops, len(self.at)).put(replace(work, carriers=carriers))


@dataclass(frozen=True, slots=True)
class SetAlong(Operation):
    """Set rings, hooks or clips along the top.

    Attributes
    ----------
    what
        ``ring`` pressed through all layers, ``hook`` behind, ``clip`` on the edge.
    at
        Center of each, from the left edge of the flat work; hooks of a drawn tape are set where they fall,
        evenly.
    down
        Below the top edge: the upper edge of a ring's hole, the bend of a hook, 0 for a clip.
    size
        The hole of a ring, as it was bought.
    """

    word: ClassVar[str] = "set"
    on: str
    what: Literal["ring", "hook", "clip"]
    at: tuple[Fraction, ...]
    down: Fraction
    size: Fraction = Fraction(0)

    def done(self, bench: Bench) -> Bench:
        """They are on the work; a ring lies within the folded top, or its rim has nothing to hold."""
        work = bench.work(self.on)
        if work.edge("top").shows_raw:
            raise SewingError(f"{self.on}: its top is raw when the {self.what}s are set")
        carriers = work.carriers
        for center in self.at:
            half = self.size / 2
            _within(work, center - half, center + half)
            if self.what == "ring" and self.down + self.size > work.edge("top").depth:
                raise SewingError(f"{self.on}: the ring at {float(center):g} reaches below the folded top")
            if self.what == "hook" and work.tape and self.down > work.tape:
                raise SewingError(f"{self.on}: the hook at {float(center):g} is set below its tape")
            carriers += (Carrier(self.what, center, center, self.down, self.size),)
        return bench.put(replace(work, carriers=carriers))


@dataclass(frozen=True, slots=True)
class Stitch(Operation):
    """Stitch through the folded top so far below its edge: two rows make a pocket.

    Attributes
    ----------
    below
        Each row, below the top edge, from above; one row alone closes the pocket with the fold as its top.
    """

    word: ClassVar[str] = "stitch"
    on: str
    below: tuple[Fraction, ...]

    def done(self, bench: Bench) -> Bench:
        """A pocket between the rows, and the turned edge held."""
        work = bench.work(self.on)
        depth = work.edge("top").depth
        if not self.below or self.below[-1] > depth + SAME:
            raise SewingError(f"{self.on}: the last row does not catch the turned edge")
        upper, lower = (Fraction(0), *self.below)[-2:]
        if lower <= upper:
            raise SewingError(f"{self.on}: the rows of its pocket cross")
        pocket = Carrier("pocket", Fraction(0), work.width, upper, lower - upper, lower)
        held = work.with_edge("top", replace(work.edge("top"), held="sewn"))
        return bench.put(replace(held, carriers=(*work.carriers, pocket)))


@dataclass(frozen=True, slots=True)
class PleatUp(Operation):
    """Bring the two lines of each pleat together and sew it.

    ``lines`` are pairs, left and right, from the left edge of the flat work.
    """

    word: ClassVar[str] = "pleat"
    on: str
    lines: tuple[tuple[Fraction, Fraction], ...]

    def done(self, bench: Bench) -> Bench:
        """The work drawn in by what lies between the lines."""
        work = bench.work(self.on)
        reached, taken = Fraction(0), Fraction(0)
        if work.drawn is not None:
            raise SewingError(f"{self.on}: is drawn in already")
        for start, end in self.lines:
            _within(work, start, end)
            if start < reached or end <= start:
                raise SewingError(f"{self.on}: two pleats cross at {float(start):g}")
            reached, taken = end, taken + end - start
        pleats = tuple(Pleat(start, end) for start, end in self.lines)
        held = work.with_edge("top", replace(work.edge("top"), held="sewn"))
        return bench.put(replace(held, pleats=pleats, drawn=work.width - taken))


@dataclass(frozen=True, slots=True)
class DrawUp(Operation):
    """Sew a tape over the raw edge of the top and draw its cords up.

    Attributes
    ----------
    tape
        How deep the tape is.
    by
        How much narrower the work becomes: the cords are drawn out by so much.
    """

    word: ClassVar[str] = "draw"
    on: str
    tape: Fraction
    by: Fraction

    def done(self, bench: Bench) -> Bench:
        """The raw edge lies under the tape; the work is drawn in."""
        work = bench.work(self.on)
        edge = work.edge("top")
        if work.drawn is not None:
            raise SewingError(f"{self.on}: is drawn in already")
        if edge.turns and edge.depth > self.tape:
            raise SewingError(f"{self.on}: its turned top reaches below the tape")
        if not 0 <= self.by < work.width:
            raise SewingError(f"{self.on}: cannot be drawn in by {float(self.by):g}")
        covered = replace(edge, inner="fold", held="sewn") if edge.turns else Edge("seam")
        return bench.put(replace(work.with_edge("top", covered), drawn=work.width - self.by, tape=self.tape))


def _within(work: Work, start: Fraction, end: Fraction) -> None:
    if start < -SAME or end > work.width + SAME:
        raise SewingError(f"{work.name}: a mark from {float(start):g} to {float(end):g} is not on it")
