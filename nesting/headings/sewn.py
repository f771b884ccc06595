"""A window whose pieces are cut and whose panels are hemmed: what a heading tells its sewing by."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from typing import Literal

from nesting.headings.making import Making
from nesting.pieces.piece import HeadingPlan, HeadingSpot, PanelPlan
from nesting.sewing import Fold, Join, LayOut, Operation, Overcast, SetAlong, Trim
from nesting.sewing.folding import SAME
from nesting.sewing.work import Held

Finish = Literal["open", "together", "french", "selvage"]
"""How the allowances of a join are finished; see `Join`."""


@dataclass(frozen=True, slots=True)
class Parts:
    """The cut pieces of one work, and what of them is cut off before they are sewn: at the right, at the top.

    Attributes
    ----------
    into
        What the work is called.
    names
        Ids of its pieces from left to right, seen from the room; one that is cut more than once stands so
        often.
    wider, longer
        What they are larger by than what is sewn, joined and washed: rounding to the tape, working allowance.
    seam
        What a join takes of each of them.
    side
        At which side ``wider`` is cut off.
    """

    into: str
    names: tuple[str, ...]
    wider: Fraction = Fraction(0)
    longer: Fraction = Fraction(0)
    seam: Fraction = Fraction(0)
    side: Literal["left", "right"] = "right"

    def made(self, finish: Finish = "together") -> Iterator[Operation]:
        """Its pieces laid out or joined."""
        if len(self.names) > 1:
            yield Join(self.names, self.into, self.seam, finish)
        elif self.names[0] != self.into:
            yield LayOut(self.names[0], self.into)

    def trimmed(self) -> Iterator[Operation]:
        """What is more of it is cut off, but for what no hand sees."""
        if self.wider > SAME:
            yield Trim(self.into, self.side, self.wider)
        if self.longer > SAME:
            yield Trim(self.into, "top", self.longer)


@dataclass(frozen=True, slots=True)
class Sewn:
    """One window at the moment its top is sewn.

    Attributes
    ----------
    making
        What was ordered and settled.
    panels, plans
        Of one such window, from left to right: how each is made up, and what goes where along its heading.
    tabs
        Its tabs, all of one such window.
    facing
        The pieces of the facing of each panel, by its key.
    """

    making: Making
    panels: tuple[PanelPlan, ...]
    plans: tuple[HeadingPlan, ...]
    tabs: Parts | None = None
    facing: Mapping[str, Parts] = field(default_factory=dict)

    def hung(self) -> Iterator[tuple[str, tuple[HeadingSpot, ...]]]:
        """Each panel by its key, with its marks along the heading."""
        for panel, plan in zip(self.panels, self.plans, strict=True):
            yield panel.key, tuple(spot for spot in plan.spots if spot.kind != "space")

    def fold_top(
        self, *turns: int | Fraction, held: Held = "sewn", over: str = "", covered: bool = False
    ) -> Iterator[Operation]:
        """The top of each panel folded to the back, turn by turn; turns of nothing are left out.

        Where a raw edge would lie open, because it is folded once or not at all, it is overcast first, unless
        something ``covered`` it.
        """
        deep = tuple(Fraction(turn) for turn in turns if turn)
        for panel in self.panels:
            if len(deep) < 2 and not covered:
                yield Overcast(panel.key, "top")
            if deep:
                yield Fold(panel.key, "top", deep, held, over)

    def set_at_marks(
        self, what: Literal["ring", "hook", "clip"], down: int | Fraction, size: int | Fraction = 0
    ) -> Iterator[Operation]:
        """Rings, hooks or clips at the marks of each panel."""
        for key, spots in self.hung():
            centers = tuple(Fraction(spot.start + spot.end, 2) for spot in spots)
            yield SetAlong(key, what, centers, Fraction(down), Fraction(size))
