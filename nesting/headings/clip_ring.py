"""Clip rings: a plain hemmed top, held by rings with clips."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.counting import SPACING as SPACING_LABEL
from nesting.headings.counting import by_rule, one_more, ordered
from nesting.headings.hanging import ring_note, ring_passages
from nesting.headings.heading import FinishedPanel, Heading, evenly, point_spots
from nesting.headings.look import ROD_Y, Drape, MarkLook, Picture, Ring, RodBar, Sits, Stroke, edge
from nesting.headings.making import Making, measure
from nesting.headings.passage import Passage
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, Steps, Sundry
from nesting.sewing import SewingStep

BELOW_ROD: Final = measure("7/4", "9/2")
TOP_HEM: Final = measure("2", "5")
EDGE: Final = measure("1/2", "1")
SPACING: Final = measure("6", "15")
LEAST_SPACING: Final = measure("4", "10")
MOST_SPACING: Final = measure("8", "20")

_PICTURE: Final[Picture] = (
    RodBar(ROD_Y),
    Drape(29),
    edge(29),
    *(
        shown
        for x in (20, 39, 57, 76)
        for shown in (Ring(x, ROD_Y + 1, 5), Stroke(f"M{x} 22v4m-2.5 0h5v4h-5z"))
    ),
)


@dataclass(frozen=True, slots=True)
class ClipRing(Heading):
    """A top hem turned twice, clipped to rings, an even number for a pair. Common practice, no source."""

    name: str = "clip-ring"
    top_name: str = "top hem"
    cover_name: str = "top hem"
    on_the_rod: str = "Slide the rings on the rod and clip them at the marks, the outer ones at the corners."
    fullness: Fraction = Fraction(3, 2)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rings",)
    sits: Sits = "at"
    picture: Picture = _PICTURE

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "ring.spacing", f"about {making.say(SPACING.of(making.unit))}"
        yield "ring_drop", f"{making.say(self.usual_drop(making).total)} is assumed"
        yield "heading_depth", making.say(self.top_cover(making))

    def needs_diameter(self, making: Making) -> bool:
        """The fabric hangs below the rod."""
        window = making.window
        return window.finished_length is None and window.ring_drop is None

    def above_hanger(self, making: Making) -> Steps:
        """The clip holds the very edge."""
        return Steps("top edge above the clips")

    def usual_drop(self, making: Making) -> Steps:
        """Ring and clip below the rod."""
        return (
            Steps("below the rod")
            .add("rod", making.rod_diameter)
            .add("ring and clip below the rod", BELOW_ROD.of(making.unit))
        )

    def passages(self, making: Making) -> Iterator[Passage]:
        """The rings."""
        return ring_passages(making, "rings")

    def hem(self, making: Making) -> int:
        """Finished depth of the top hem."""
        depth = making.window.heading_depth
        return TOP_HEM.of(making.unit) if depth is None else depth

    def top_allowance(self, making: Making) -> Steps:
        """A hem turned twice."""
        return Steps("top").add("top hem", self.hem(making), 2)

    def top_cover(self, making: Making) -> int:
        """The top hem."""
        return self.hem(making)

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Rings from corner to corner."""
        edge = min(EDGE.of(making.unit), panel.flat // 2)
        rings = self._rings(making, panel, edge)
        number = rings.total
        gap = (
            Steps("rings apart")
            .add("finished panel", panel.flat)
            .take("outer ring from the edge", edge, 2)
            .over("gaps", number - 1)
        )
        spots = point_spots("ring", evenly(edge, panel.flat - edge, number))
        remark = by_rule(making, rings, f"{number} rings, {making.say(gap.exact)} apart")
        sums = (rings, one_more("gaps", "rings", number, more=-1), gap)
        return HeadingPlan(making.window.name, panel.side, panel.flat, spots, sums, (remark,))

    def _rings(self, making: Making, panel: FinishedPanel, edge: int) -> Steps:
        """How many on a panel: one at each end of every gap, an even number for a pair."""
        order = making.window.ring
        if order.count:
            return ordered("rings", max(2, order.count))
        rings = (
            Steps("rings")
            .add("finished panel", panel.flat)
            .take("outer ring from the edge", edge, 2)
            .per(SPACING_LABEL, order.spacing or SPACING.of(making.unit))
            .nearest()
            .number("", 1)
        )
        if making.window.draw == "pair":
            rings = rings.up_to(2, "up to an even number")
        return rings.at_least(2, "at least 2")

    def mark_look(self, making: Making) -> MarkLook:
        """Rings at the top edge."""
        return MarkLook("eye")

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """A hem turned twice, clips at its edge."""
        hem = self.hem(sewn.making)
        yield SewingStep("top", tuple(sewn.fold_top(hem, hem)))
        yield SewingStep("marks", ())
        yield SewingStep("rings", tuple(sewn.set_at_marks("clip", 0)))

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """Rings with clips."""
        count = sum(len(self.arrange(making, panel).spots) for panel in panels)
        window = making.window
        yield Sundry("clip rings", count=count * window.count, window=window.name, note=ring_note(making))

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Rings too close or too far apart."""
        least, most = LEAST_SPACING.of(making.unit), MOST_SPACING.of(making.unit)
        for panel in panels[:1]:
            spots = self.arrange(making, panel).spots
            apart = spots[1].start - spots[0].start
            if not least <= apart <= most:
                usual = f"{making.say(least)} to {making.say(most)} is usual"
                text = f"clip rings come {making.say(apart)} apart: {usual}"
                yield Advice("warning", text, making.window.name)
