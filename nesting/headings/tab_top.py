"""Tab top: visible loops over the rod, sewn between panel and facing."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.headings.counting import by_rule
from nesting.headings.heading import Component, FinishedPanel, Heading, Marks, evenly
from nesting.headings.look import ROD_Y, Drape, MarkLook, Picture, RodBar, Sits, Stroke, edge
from nesting.headings.making import PI, Making, measure
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.headings.tab_sewing import face_tops, make_facings, make_tabs
from nesting.headings.tabs import (
    facing_components,
    facing_depth,
    tab_component,
    tab_spots,
    tab_width,
    tabs_by_gap,
    tabs_by_spacing,
)
from nesting.order.job import HangsFrom, Window
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, Steps
from nesting.sewing import Insert, SewingStep
from nesting.units import round_nearest, round_up

ROD_GAP: Final = measure("2", "5")
LOOP_STEP: Final = measure("1/8", "1/2")
EASE: Final = measure("1/2", "6/5")
CLEAR_GAP: Final = measure("5", "12")
LEAST_GAP: Final = measure("3", "8")
MOST_GAP: Final = measure("8", "20")

_PICTURE: Final[Picture] = (
    RodBar(ROD_Y),
    Drape(26),
    edge(26),
    *(Stroke(f"M{x} 26V12q4 -5 8 0V26z", fabric=True) for x in (16, 34.7, 53.3, 72)),
)


@dataclass(frozen=True, slots=True)
class TabTop(Heading):
    """Visible tabs loop over the rod, the first and the last at the edges. Common practice, no source."""

    name: str = "tab-top"
    top_name: str = "facing"
    cover_name: str = "facing"
    on_the_rod: str = "Slide the rod through the tabs."
    own_keys: tuple[str, ...] = ("tab", "facing")
    fullness: Fraction = Fraction(3, 2)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rod",)
    sits: Sits = "below"
    picture: Picture = _PICTURE

    def rod_gap(self, making: Making) -> Steps:
        """From the underside of the rod to the top edge of the fabric.

        A loop that is ordered decides it: what half the rod's circumference and both sides of the rod leave
        of the loop hangs down in front and behind, half of it each.
        """
        gap, loop = making.window.tab.gap, making.window.tab.length
        if loop is None:
            usual = ROD_GAP.of(making.unit) if gap is None else gap
            return Steps("gap below the rod").add("gap below the rod", usual)
        steps = Steps("gap below the rod").add("finished tab", loop)
        for term in making.round_terms:
            steps = steps.take(term.label, term.amount)
        return steps.take("rod", making.rod_diameter).over("front and back", 2)

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "tab.width", making.say(tab_width(making))
        yield "facing.depth", making.say(facing_depth(making))
        yield "tab.gap", making.say(self.rod_gap(making).exact)
        yield "tab.length", making.say(self.loop(making).total)
        yield "tab.spacing", f"about {making.say(CLEAR_GAP.of(making.unit))} clear between tabs"

    def needs_diameter(self, making: Making) -> bool:
        """Its tabs go round the rod and the fabric hangs below it."""
        return making.window.tab.length is None or making.window.finished_length is None

    def above_hanger(self, making: Making) -> Steps:
        """The fabric hangs below the rod."""
        return (
            Steps("top edge above the rod")
            .take("rod", making.rod_diameter)
            .take("gap below the rod", self.rod_gap(making).exact)
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
            Steps("finished tab", making.round_terms)
            .add("gap below the rod", self.rod_gap(making).exact, 2)
            .add("half the rod", Fraction(making.rod_diameter, 2), 2)
            .up_to(LOOP_STEP.of(making.unit), "up to the next step of the tape")
        )

    def marks(self, making: Making) -> Marks | None:
        """Its tabs."""
        return Marks("tab", "width", "tabs", tab_width(making))

    def passages(self, making: Making) -> Iterator[Passage]:
        """The loops: half around the rod and down both its sides, the gap no less than nothing.

        Both ends of a loop lie in one seam, so it goes on with ease only where it is longer than the whole
        circumference.
        """
        order, rod = making.window.tab, making.rod_diameter
        if order.length is None and order.gap is None:
            return
        half, size, step = making.half_round, self.loop(making).total, LOOP_STEP.of(making.unit)
        usual = round_up(2 * half + EASE.of(making.unit), step)
        key = ("tab", "gap" if order.length is None else "length")
        limit = f"{making.half_round_words} and the thickness"
        yield Passage(key, "tabs {} long are", size, half + rod, limit, usual, size / (PI / 2 + 1))

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """A loop and a gap that are both ordered, and do not agree to half a step of a loop."""
        order, gap = making.window.tab, self.rod_gap(making).exact
        if order.gap is None or order.length is None or making.diameter_assumed or gap < 0:
            return
        if abs(gap - order.gap) > Fraction(LOOP_STEP.of(making.unit), 2):
            loop = self.loop(replace(making, window=_without_length(making.window))).total
            text = (
                f"{making.say(round_nearest(gap, making.grid))}, which tabs {making.say(order.length)} long "
                f"leave below {making.rod_words}; or tabs {making.say(loop)} "
                "long; or only one of the two"
            )
            yield Refusal(("tab", "gap"), order.gap, text)

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Tabs with equal gaps: as far from center to center as ordered, else about 5 in clear."""
        order, width = making.window.tab, tab_width(making)
        if order.spacing is None:
            found = tabs_by_gap(panel.flat, width, CLEAR_GAP.of(making.unit), order.count)
        else:
            found = tabs_by_spacing(panel.flat, width, order.spacing, order.count)
        spots = tab_spots(evenly(0, panel.flat - width, found.number), width)
        gaps = (
            Steps("clear gap")
            .add("finished panel", panel.flat)
            .take("tab", width, found.number)
            .over("gaps", found.number - 1)
        )
        apart = f"{making.say(found.apart + width)} from center to center"
        tabs = f"{found.number} tabs, {making.say(found.apart)} clear between them"
        remark = by_rule(making, found.rule, tabs, apart)
        below = () if order.length is None else (self.rod_gap(making),)
        steps = (self.loop(making), *below, *found.sums, gaps)
        return HeadingPlan(making.window.name, panel.side, panel.flat, spots, steps, (remark,))

    def companions(
        self, making: Making, panels: tuple[FinishedPanel, ...], usable: Mapping[str, int]
    ) -> Iterator[Component]:
        """A facing for each panel, and the tabs."""
        fabric = making.window.facing.fabric or making.window.fabric
        count = 0
        for panel in panels:
            spots = self.arrange(making, panel).spots
            count += len(spots)
            yield from facing_components(making, panel, self.top_cover(making), spots, usable[fabric])
        yield tab_component(making, self.loop(making), panels, count, hidden=False)

    def mark_look(self, making: Making) -> MarkLook:
        """A tab folded in half stands above the top edge."""
        return MarkLook("loop", 0, self.loop(making).total // 2)

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """Tabs caught between panel and facing."""
        tabs, make = make_tabs(sewn)
        yield SewingStep("tabs", make)
        yield SewingStep("facing", make_facings(sewn))
        yield SewingStep("marks", ())
        laid = (Insert(tabs, key, tuple(Fraction(s.start) for s in spots)) for key, spots in sewn.hung())
        yield SewingStep("tabs", tuple(laid))
        yield SewingStep("top", face_tops(sewn))

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


def _without_length(window: Window) -> Window:
    return replace(window, tab=replace(window.tab, length=None))
