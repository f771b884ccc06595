"""What the table has shown of fabric that is not cut yet: flaws, its repeat, its width, how much is left."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.order.fabric import FabricFlaw, LengthOnHand
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import round_nearest


@dataclass(frozen=True, slots=True)
class Uncut:
    """What is now known of the uncut part of a length, as it lies on the table; None: as planned.

    Attributes
    ----------
    flaws
        Places to keep clear of, ``at`` from the squared end of the length, ``from_left`` as in a job.
    repeat
        The repeat along, as measured on it.
    usable
        The width that is fit to cut, where it is narrower.
    left
        How much is left behind the last cut, as measured.
    """

    flaws: tuple[FabricFlaw, ...] = ()
    repeat: int | None = None
    usable: int | None = None
    left: int | None = None

    def on(self, there: LengthOnHand, along: Fraction, across: Fraction) -> LengthOnHand:
        """The length with all of it; ``along``, ``across``: the parts that washing before cutting leaves."""
        flaws = (
            replace(
                flaw,
                at=round_nearest(flaw.at / along),
                length=round_nearest(flaw.length / along),
                from_left=round_nearest(flaw.from_left / across),
            )
            for flaw in self.flaws
        )
        repeat = there.repeat if self.repeat is None else round_nearest(self.repeat / along)
        usable = there.usable if self.usable is None else round_nearest(self.usable / across)
        return replace(there, flaws=(*there.flaws, *flaws), repeat=repeat, usable=usable)

    def height(self, layout: FabricLayout, cut: Iterable[Laid], start: int, low: int) -> int:
        """The height of the pattern at a cut across, ``low`` from the squared end.

        Each piece of a print is cut from its start line, wherever the pattern has drifted to. So the height
        is known at the last start line before the cut, and from there on goes by the repeat as measured.

        Parameters
        ----------
        layout
            A print, as it was planned.
        cut
            What is cut of it.
        start
            The height at the squared end by the plan.
        low
            Where it is cut across.
        """
        repeat = layout.fabric.repeat
        assert repeat is not None
        if self.repeat is None:
            return (start + low) % repeat.length
        before = ((laid.y + laid.length, start_line(layout, laid)) for laid in cut)
        lines = [(end, line) for end, line in before if line is not None and end <= low]
        line = max(lines)[1] if lines else 0
        return ((start + line) % repeat.length + low - line) % self.repeat


#: Nothing was found.
AS_PLANNED: Final = Uncut()
