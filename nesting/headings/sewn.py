"""A window whose pieces are cut and whose panels are hemmed: what a heading tells its sewing by."""

from __future__ import annotations

from dataclasses import dataclass

from nesting.headings.making import Making
from nesting.pieces.piece import HeadingPlan, PanelPlan


@dataclass(frozen=True, slots=True)
class Sewn:
    """One window at the moment its top is sewn.

    Attributes
    ----------
    making
        What was ordered and settled.
    panels, plans
        Of one such window, from left to right: how each is made up, and what goes where along its heading.
    facings
        How many pieces of facing were cut for all ``count`` windows.
    piles
        Keys of the fabrics with a pile.
    """

    making: Making
    panels: tuple[PanelPlan, ...]
    plans: tuple[HeadingPlan, ...]
    facings: int = 0
    piles: frozenset[str] = frozenset()

    def pressed(self, key: str | None = None) -> str:
        """How a fold of that fabric, or of the face, is set: ``press``, or ``steam`` where it has a pile."""
        return "steam" if (key or self.making.window.fabric) in self.piles else "press"

    @property
    def count(self) -> str:
        """How many of its marks come on each panel: ``8``, or ``7 or 8``."""
        counts = sorted({sum(spot.kind != "space" for spot in plan.spots) for plan in self.plans})
        return " or ".join(str(count) for count in counts) or "the"

    def mark(self, what: str, start: str = "left edge, as seen from the front,") -> str:
        """The step that marks the ``what`` of its heading, and how to check them."""
        return (
            f"Mark the {what} from the strip and table of the arithmetic page, {self.count} on each panel, "
            f"measured from the {start} each time and not from mark to mark, so that small faults do not add "
            f"up. {self._check_of_marks()}"
        )

    def _check_of_marks(self) -> str:
        """Folding shows a fault only where the marks are alike from both ends."""
        say = self.making.say
        if all(_mirrored(plan) for plan in self.plans):
            return (
                "To check by folding: bring the very first line and the very last line together; all others "
                "must meet in pairs, and a line in the middle must lie in the fold."
            )
        ends = [
            f"{'it' if plan.side == 'single' else f'on the {plan.side} panel it'} is "
            f"{say(plan.spots[-1].end)} from the left edge of {say(plan.width)}"
            for plan in self.plans
            if plan.spots
        ]
        return (
            "Do not check by folding: the marks are not alike from both ends, because they keep clear of the "
            f"seams. Measure the very last line once more instead: {'; '.join(ends)}."
        )


def _mirrored(plan: HeadingPlan) -> bool:
    """Whether its marks are alike from both ends, so that folding can check them."""
    marks = [spot for spot in plan.spots if spot.kind != "space"]
    sums = [one.start + other.end for one, other in zip(marks, reversed(marks), strict=True)]
    return not sums or max(sums) - min(sums) <= 2
