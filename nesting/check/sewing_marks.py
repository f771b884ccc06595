"""The finished top of a panel, and how far what was set along it may be from what was ordered."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from fractions import Fraction
from math import isqrt

from nesting.check.sewing_ordered import PanelOrdered, WindowOrdered
from nesting.check.violation import Breach, Violation
from nesting.sewing import SewingError, Work, hang
from nesting.units import round_nearest


@dataclass(frozen=True, slots=True)
class Top:
    """A finished panel, and what was ordered of it."""

    window: WindowOrdered
    panel: PanelOrdered
    work: Work
    name: str

    @property
    def slack(self) -> Fraction:
        """How far a mark may be out: a quarter of a step of the tape."""
        return Fraction(self.window.step, 4)

    def near_flat(self) -> Iterator[Fraction]:
        """Its width, and a step of the tape less and more: a count that hangs on so little may be either."""
        for off in (0, -self.window.step, self.window.step):
            yield self.work.width + off

    def wrong(self, what: str, asked: object, amount: Fraction | int = 0) -> Violation:
        """Something that is not as ordered."""
        return Violation(
            Breach.SEWING, f"{self.name}: {what}", f"{asked} ordered", abs(round_nearest(Fraction(amount)))
        )

    def differs(
        self, what: str, made: Fraction, asked: Fraction | int, slack: Fraction | int
    ) -> Iterator[Violation]:
        """A size that is further from what was ordered than it may be."""
        if abs(made - asked) > slack:
            yield self.wrong(f"{what} {in_ticks(made)}", in_ticks(asked), made - asked)

    def carried_by(self, kind: str, count: set[int]) -> Iterator[Violation]:
        """What carries it is of that kind and number, and of no other."""
        kinds = {one.kind for one in self.work.carriers}
        if kinds != {kind}:
            yield self.wrong(f"carried by {', '.join(sorted(kinds)) or 'nothing'}", kind)
        elif len(self.work.carriers) not in count:
            yield self.wrong(
                f"{len(self.work.carriers)} {kind}s", " or ".join(map(str, sorted(count))),
                len(self.work.carriers) - min(count),
            )  # fmt: skip

    def marks(self, what: str, made: Sequence[Fraction], asked: Sequence[Fraction]) -> Iterator[Violation]:
        """Where marks come."""
        if len(made) != len(asked):
            return
        for number, (one, other) in enumerate(zip(made, asked, strict=True), 1):
            yield from self.differs(f"{what} {number} at", one, other, self.slack)

    def passes(self) -> Iterator[Violation]:
        """The rod goes through what carries the panel."""
        try:
            room = hang(self.work, self.window.rod).room
        except SewingError as fault:
            yield self.wrong(str(fault), "level, from its rod")
            return
        carrier, rod = self.work.carriers[0], self.window.rod
        if carrier.kind == "ring" and rod.depth is not None:
            # Through a round hole a flat rod goes from corner to corner.
            across = isqrt(int(rod.thick**2 + rod.depth**2))
            room = min(one.length for one in self.work.carriers) - across
        # A circle is taken a hair too large: nothing that is just wide enough is found too tight.
        if room is not None and (room < -1 or (carrier.kind == "ring" and room < 1)):
            yield self.wrong(f"its {carrier.kind}s leave no room", "a rod that passes", room)

    def folded(self, turns: Sequence[Fraction | int], over: str = "") -> Iterator[Violation]:
        """Its top is folded so, around what was asked."""
        edge = self.work.edge("top")
        if edge.finish != "fold" or len(edge.turns) != len(turns) or edge.over != over:
            made = f"{edge.finish} of {len(edge.turns)} turns {edge.over}".strip()
            yield self.wrong(f"top: {made}", f"{len(turns)} turns {over}".strip())
            return
        for number, (one, other) in enumerate(zip(edge.turns, turns, strict=True), 1):
            yield from self.differs(f"top, turn {number},", one, other, 2)


def in_ticks(ticks: Fraction | int) -> str:
    """A length in messages."""
    return f"{float(ticks):.10g}"


def evenly(first: Fraction | int, last: Fraction | int, count: int) -> list[Fraction]:
    """So many points from the first to the last, all gaps alike."""
    if count == 1:
        return [Fraction(first + last) / 2]
    return [first + Fraction(last - first) * number / (count - 1) for number in range(count)]
