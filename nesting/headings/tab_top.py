"""Tab top: visible loops over the rod, sewn between panel and facing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.heading import Component, FinishedPanel, Heading, Making, evenly, half_round, measure
from nesting.headings.tabs import (
    facing_components,
    facing_depth,
    tab_component,
    tab_spots,
    tab_width,
    tabs_by_gap,
)
from nesting.job import HeadingName
from nesting.piece import Advice, HeadingPlan, Steps, Sundry

ROD_GAP: Final = measure("2", "5")
LOOP_STEP: Final = measure("1/8", "1/2")
CLEAR_GAP: Final = measure("5", "12")
LEAST_GAP: Final = measure("3", "8")
MOST_GAP: Final = measure("8", "20")


@dataclass(frozen=True, slots=True)
class TabTop(Heading):
    """Visible tabs loop over the rod, the first and the last at the edges. Common practice, no source."""

    name: HeadingName = "tab-top"
    fullness: Fraction = Fraction(3, 2)
    pleated: bool = False

    def rod_gap(self, making: Making) -> int:
        """From the underside of the rod to the top edge of the cloth."""
        gap = making.window.tab.gap
        return ROD_GAP.of(making.unit) if gap is None else gap

    def needs_diameter(self, making: Making) -> bool:
        """Its tabs go round the rod and the cloth hangs below it."""
        return making.window.tab.length is None or making.window.finished_length is None

    def above_rod(self, making: Making) -> Steps:
        """The cloth hangs below the rod."""
        return (
            Steps("top edge above the rod")
            .take("rod", making.rod_diameter)
            .take("gap below the rod", self.rod_gap(making))
        )

    def top_allowance(self, making: Making) -> Steps:
        """The seam that takes tabs and facing."""
        return Steps("top").add("top seam", making.seam)

    def top_cover(self, making: Making) -> int:
        """The facing."""
        return facing_depth(making)

    def loop(self, making: Making) -> Steps:
        """Finished length of a tab, over the rod from seam to seam."""
        if making.window.tab.length is not None:
            return Steps("finished tab").add("finished tab", making.window.tab.length)
        return (
            Steps("finished tab")
            .add("half the rod round", half_round(making.rod_diameter))
            .add("gap below the rod", self.rod_gap(making), 2)
            .add("half the rod", Fraction(making.rod_diameter, 2), 2)
            .up_to(LOOP_STEP.of(making.unit), "up to the next step of the tape")
        )

    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Tabs with equal clear gaps."""
        order, width = making.window.tab, tab_width(making)
        aim = order.spacing or CLEAR_GAP.of(making.unit)
        number, gap = tabs_by_gap(panel.flat, width, aim, order.count)
        spots = tab_spots(evenly(0, panel.flat - width, number), width)
        gaps = (
            Steps("clear gap")
            .add("finished panel", panel.flat)
            .take("tab", width, number)
            .over("gaps", number - 1)
        )
        remarks = (f"{number} tabs, {making.say(gap)} clear between them",)
        return HeadingPlan(
            making.window.name, panel.side, panel.flat, spots, (self.loop(making), gaps), remarks
        )

    def companions(
        self, making: Making, panels: tuple[FinishedPanel, ...], usable: Mapping[str, int]
    ) -> Iterator[Component]:
        """A facing for each panel, and the tabs."""
        cloth = making.window.facing.cloth or making.window.cloth
        count = 0
        for panel in panels:
            spots = self.arrange(making, panel).spots
            count += len(spots)
            yield from facing_components(making, panel, self.top_cover(making), spots, usable[cloth])
        yield tab_component(making, self.loop(making), panels, count, hidden=False)

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """Nothing but thread."""
        return iter(())

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Gaps between tabs too narrow or too wide."""
        least, most = LEAST_GAP.of(making.unit), MOST_GAP.of(making.unit)
        for panel in panels[:1]:
            spots = self.arrange(making, panel).spots
            gap = spots[1].start - spots[0].end
            if not least <= gap <= most:
                text = (
                    f"tabs come {making.say(gap)} apart: {making.say(least)} to {making.say(most)} clear "
                    "keep the top edge even; set tab count, width or spacing"
                )
                yield Advice("warning", text, making.window.name)
