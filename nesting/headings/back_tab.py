"""Back tab: loops on the right side of a facing at the back carry the rod, and nothing shows in front."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.counting import by_rule
from nesting.headings.heading import Component, FinishedPanel, Heading, Marks
from nesting.headings.look import Drape, MarkLook, Picture, RodBar, Stroke, edge
from nesting.headings.making import PI, TAKE_UP, Making, measure, taken_up, told_flat
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.headings.tab_sewing import (
    FACING,
    face_tops,
    make_facings,
    make_tabs,
)
from nesting.headings.tabs import (
    centerd_tabs,
    facing_components,
    facing_depth,
    tab_component,
    tab_spots,
    tab_width,
    tabs_by_centers,
)
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, Steps
from nesting.sewing import Attach, Fold, SewingStep
from nesting.units import round_up

ABOVE_ROD: Final = measure("3/4", "2")
EASE: Final = measure("1/2", "6/5")
LOOP_STEP: Final = measure("1/4", "1/2")
SPACING: Final = measure("6", "15")
LEAST_SPACING: Final = measure("4", "10")
MOST_SPACING: Final = measure("8", "20")
EDGE: Final = measure("2", "5")
BELOW_LOOP: Final = measure("1/2", "1")

_PICTURE: Final[Picture] = (
    RodBar(18, 0.45),
    Drape(12),
    edge(12),
    *(Stroke(f"M{x} 13h7v12h-7z", "2 2") for x in (22, 38, 54, 70)),
)


@dataclass(frozen=True, slots=True)
class BackTab(Heading):
    """Loops behind the panel carry the rod: they lie flat on the facing, which hides their seams in front.

    The tab is a flat belt loop: half the rod's circumference and some ease. Common practice, no source.
    """

    name: str = "back-tab"
    top_name: str = "facing"
    cover_name: str = "facing"
    on_the_rod: str = "The loops are at the back, on the facing: slide the rod between loops and facing."
    own_keys: tuple[str, ...] = ("tab", "facing", "take_up")
    fullness: Fraction = Fraction(3, 2)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rod",)
    picture: Picture = _PICTURE

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "tab.width", making.say(tab_width(making))
        yield "facing.depth", making.say(facing_depth(making))
        yield "tab.length", making.say(self.loop(making).total)
        yield "tab.spacing", f"about {making.say(SPACING.of(making.unit))}"
        yield "take_up", making.say(self.rod_take_up(making))

    def needs_diameter(self, making: Making) -> bool:
        """Its tabs go round the rod, and the panel goes over it."""
        return making.window.tab.length is None or making.window.take_up is None

    def above_hanger(self, making: Making) -> Steps:
        """The top edge hides the rod."""
        return Steps("top edge above the rod").add("top edge above the rod", ABOVE_ROD.of(making.unit))

    def top_allowance(self, making: Making) -> Steps:
        """The seam that joins the facing, and what the rod takes up."""
        steps, taken = Steps("top").add("top seam", making.seam), self.rod_take_up(making)
        return steps.add(TAKE_UP, taken) if taken else steps

    def take_up(self, making: Making) -> Steps:
        """The panel goes over the front of the rod, from the upper ends of its loops down."""
        return taken_up(making)

    def top_cover(self, making: Making) -> int:
        """The facing."""
        return facing_depth(making, self.least_facing(making).total)

    def least_facing(self, making: Making) -> Steps:
        """The least depth of a facing that holds the loops."""
        return Steps("facing", self.loop_end(making).terms).add(
            "facing below the loops", BELOW_LOOP.of(making.unit)
        )

    def loop_start(self, making: Making) -> Steps:
        """Upper end of a loop below the top edge of the panel: level with the top of the rod."""
        return Steps("loop begins below the top edge", self.above_hanger(making).terms)

    def loop_end(self, making: Making) -> Steps:
        """Lower end of a loop below the top edge of the panel; it lies flat on the facing."""
        start = Steps("loop ends below the top edge", self.loop_start(making).terms)
        return start.add("finished tab", self.loop(making).total)

    @once
    def loop(self, making: Making) -> Steps:
        """Finished length of a tab."""
        if making.window.tab.length is not None:
            return Steps("finished tab").add("finished tab", making.window.tab.length)
        return (
            Steps("finished tab", making.round_terms)
            .add("ease", EASE.of(making.unit))
            .up_to(LOOP_STEP.of(making.unit), "up to the next step of the tape")
        )

    def marks(self, making: Making) -> Marks | None:
        """Its tabs."""
        return Marks("tab", "width", "tabs", tab_width(making))

    def passages(self, making: Making) -> Iterator[Passage]:
        """The tabs, flat loops that the rod slides behind: they lie half around it."""
        length, half = making.window.tab.length, making.half_round
        if length is not None:
            usual = round_up(half + EASE.of(making.unit), LOOP_STEP.of(making.unit))
            words, limit = "tabs {} long are", making.half_round_words
            yield Passage(("tab", "length"), words, length, half, limit, usual, length * 2 / PI)

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """A facing that the loops would hang out of."""
        depth, need = making.window.facing.depth, self.least_facing(making).total
        known = making.window.tab.length is not None or not making.diameter_assumed
        if depth is not None and depth < need:
            thinner = "" if known else "; or rod_diameter, where the rod is thinner than usual"
            yield Refusal(("facing", "depth"), depth, f"{self._facing_words(making)}{thinner}")

    def _facing_words(self, making: Making) -> str:
        say = making.say
        return (
            f"at least {say(self.least_facing(making).total)}: loops {say(self.loop(making).total)} long "
            f"begin {say(self.loop_start(making).total)} below the top edge and end "
            f"{say(BELOW_LOOP.of(making.unit))} inside the facing"
        )

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Tabs by their centers, the outer ones near the edges."""
        order, unit = making.window.tab, making.unit
        edge = min(EDGE.of(unit), panel.flat // 2)
        found = tabs_by_centers(panel.flat, edge, order.spacing or SPACING.of(unit), order.count)
        width = tab_width(making)
        spots = tab_spots(centerd_tabs(panel.flat, edge, found.number, width), width)
        centers = (
            Steps("tab centers apart")
            .add("finished panel", panel.flat)
            .take("outer center from the edge", edge, 2)
            .over("gaps", found.number - 1)
        )
        apart = f"{making.say(found.apart)} from center to center"
        remark = by_rule(making, found.rule, *found.found, apart)
        taken = self.take_up(making)
        over = (taken,) if taken.total else ()
        loop = (self.loop(making), self.loop_start(making), self.loop_end(making))
        steps = (*loop, *over, *found.sums, centers)
        remarks = (remark, *told_flat(making, taken))
        return HeadingPlan(making.window.name, panel.side, panel.flat, spots, steps, remarks)

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
        yield tab_component(making, self.loop(making), panels, count, hidden=True)

    def mark_look(self, making: Making) -> MarkLook:
        """The loops at the back."""
        return MarkLook("strip", self.loop_start(making).total, self.loop_end(making).total)

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """Loops sewn flat on the right side of the facing, the facing on the panel."""
        making, seam = sewn.making, Fraction(sewn.making.seam)
        loops, make = make_tabs(sewn)
        ends = (Fold(loops, "top", (seam,)), Fold(loops, "bottom", (seam,)))
        yield SewingStep("tabs", (*make, *ends))
        yield SewingStep("facing", make_facings(sewn))
        yield SewingStep("marks", ())
        upper, lower = self.loop_start(making).exact + seam, self.loop_end(making).exact + seam
        attached = (
            Attach(loops, FACING.format(key), tuple(Fraction(s.start) for s in spots), upper, lower)
            for key, spots in sewn.hung()
        )
        yield SewingStep("tabs", tuple(attached))
        yield SewingStep("top", face_tops(sewn))

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Tabs too close or too far apart."""
        window, unit = making.window, making.unit
        for panel in panels[:1]:
            spots = self.arrange(making, panel).spots
            apart = spots[1].start - spots[0].start
            if not LEAST_SPACING.of(unit) <= apart <= MOST_SPACING.of(unit):
                text = (
                    f"back tabs come {making.say(apart)} apart: {making.say(LEAST_SPACING.of(unit))} to "
                    f"{making.say(MOST_SPACING.of(unit))} carry the top edge without sagging or crowding"
                )
                yield Advice("warning", text, window.name)
