"""Grommets: metal rings pressed into a stiffened top, threaded on the rod."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.counting import SPACING as SPACING_LABEL
from nesting.headings.counting import by_rule, one_more, ordered
from nesting.headings.hanging import hole_of_ring, ring_note, ring_passages
from nesting.headings.heading import FinishedPanel, Heading, Marks, evenly, point_spots, total_flat
from nesting.headings.look import Drape, MarkLook, Picture, Ring, RodBar, edge
from nesting.headings.making import Making, measure
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, Steps, Sundry
from nesting.sewing import SewingStep
from nesting.units import round_up

ABOVE_ROD: Final = measure("1", "5/2")
HEADER: Final = measure("4", "10")
EDGE: Final = measure("2", "5")
SPACING: Final = measure("7", "18")
LEAST_SPACING: Final = measure("6", "15")
MOST_SPACING: Final = measure("8", "20")
CLEAR: Final = measure("1/2", "1")
RIM: Final = measure("3/4", "2")
OFF_SEAM: Final = measure("3/2", "4")
BEYOND_RING: Final = measure("1", "5/2")
STIFFENER_SHORT: Final = measure("1/2", "1")
MOST_FULLNESS: Final = Fraction(2)

_PICTURE: Final[Picture] = (
    Drape(10, 8),
    edge(10),
    *(Ring(x, 19, 5, 2.2) for x in (23, 35.5, 48, 60.5, 73)),
    RodBar(19, 0.55),
)


@dataclass(frozen=True, slots=True)
class Grommet(Heading):
    """An even number of rings per panel, so that both edges turn to the wall. Common practice, no source."""

    name: str = "grommet"
    top_name: str = "stiffened header"
    cover_name: str = "header"
    on_the_rod: str = "Thread the rod so that the first and the last fold turn to the wall."
    own_keys: tuple[str, ...] = ("ring",)
    fullness: Fraction = Fraction(7, 4)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rod",)
    picture: Picture = _PICTURE

    @property
    def fullest(self) -> Fraction:
        """Above it grommets fold stiffly."""
        return MOST_FULLNESS

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "ring.spacing", f"about {making.say(SPACING.of(making.unit))}"
        yield "heading_depth", making.say(self.top_cover(making))

    def needs_diameter(self, making: Making) -> bool:
        """The rod does not matter."""
        return False

    def above_hanger(self, making: Making) -> Steps:
        """The fabric stands above the rod."""
        return Steps("top edge above the rod").add("top edge above the rod", ABOVE_ROD.of(making.unit))

    def header(self, making: Making) -> int:
        """Finished depth of the stiffened top; the ring and its rim must fit."""
        if making.window.heading_depth is not None:
            return making.window.heading_depth
        return max(HEADER.of(making.unit), self.ring_across(making) + BEYOND_RING.of(making.unit))

    def ring_across(self, making: Making) -> int:
        """A ring outside: as ordered, or its hole and the usual rim."""
        ring = making.window.ring
        return hole_of_ring(making) + RIM.of(making.unit) if ring.size is None else ring.size

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """A header that ends above the lower edge of the holes."""
        depth, above, hole = making.window.heading_depth, ABOVE_ROD.of(making.unit), hole_of_ring(making)
        if depth is not None and depth < above + hole:
            text = (
                f"at least {making.say(above + hole)}: the holes begin {making.say(above)} below the top "
                f"edge and are {making.say(hole)} wide"
            )
            yield Refusal(("heading_depth",), depth, text)

    def stiffener_short(self, making: Making) -> int:
        """How much narrower than the panel its stiffener is."""
        return STIFFENER_SHORT.of(making.unit)

    def top_allowance(self, making: Making) -> Steps:
        """The header turned twice."""
        return Steps("top").add("header", self.header(making), 2)

    def top_cover(self, making: Making) -> int:
        """The header."""
        return self.header(making)

    def marks(self, making: Making) -> Marks | None:
        """Grommets as wide as they are outside, where that is known."""
        size = making.window.ring.size
        return None if size is None else Marks("ring", "size", "grommets", size)

    def passages(self, making: Making) -> Iterator[Passage]:
        """The grommets."""
        return ring_passages(making, "grommets")

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Rings evenly spaced, kept off the seams."""
        order, unit = making.window.ring, making.unit
        clear = round_up(Fraction(self.ring_across(making), 2) + CLEAR.of(unit), making.grid)
        edge = min(max(EDGE.of(unit), clear), panel.flat // 3)
        rings = ordered("grommets", order.count) if order.count else self._rings(making, panel, edge)
        number = rings.total
        centers = evenly(edge, panel.flat - edge, number)
        off = OFF_SEAM.of(unit)
        moved = tuple(_off_seams(center, panel, off, edge) for center in centers)
        gap = (
            Steps("rings apart")
            .add("finished panel", panel.flat)
            .take("outer center from the edge", edge, 2)
            .over("gaps", max(1, number - 1))
        )
        apart = f"{making.say(gap.exact)} from center to center"
        remarks = [by_rule(making, rings, f"{number} grommets, {apart}")]
        if moved != centers:
            remarks.append(f"grommets at a seam are moved {making.say(off)} off it")
        sums = (rings, one_more("gaps", "grommets", number, more=-1), gap)
        spots = point_spots("grommet", moved)
        return HeadingPlan(making.window.name, panel.side, panel.flat, spots, sums, tuple(remarks))

    def _rings(self, making: Making, panel: FinishedPanel, edge: int) -> Steps:
        """An even number, spaced as usual, with no ring at a seam if that can be had."""
        unit = making.unit
        run = panel.flat - 2 * edge
        rings = (
            Steps("grommets")
            .add("finished panel", panel.flat)
            .take("outer center from the edge", edge, 2)
            .per(SPACING_LABEL, making.window.ring.spacing or SPACING.of(unit))
            .number("", 1)
            .nearest(2, "to the nearest even number")
            .at_least(2, "at least 2")
        )
        near = rings.total
        least, most = LEAST_SPACING.of(unit), MOST_SPACING.of(unit)
        for number in (near, near + 2, near - 2):
            if number < 2 or not least <= Fraction(run, number - 1) <= most:
                continue
            centers = evenly(edge, panel.flat - edge, number)
            if all(abs(at - seam) >= OFF_SEAM.of(unit) for at in centers for seam in panel.seams):
                return rings.number("to keep off the seams", number - near) if number != near else rings
        return rings

    def mark_look(self, making: Making) -> MarkLook:
        """Rings in the header."""
        return MarkLook("hole")

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """The header folded twice over its stiffener, rings set through all of it."""
        making, deep = sewn.making, self.header(sewn.making)
        yield SewingStep("top", tuple(sewn.fold_top(deep, deep, over="stiffener")))
        yield SewingStep("marks", ())
        below = self.above_hanger(making).exact
        yield SewingStep("grommets", tuple(sewn.set_at_marks("ring", below, hole_of_ring(making))))

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """Grommets, and stiffener a little shorter than each panel."""
        window = making.window
        rings = sum(len(self.arrange(making, panel).spots) for panel in panels)
        yield Sundry("grommets", count=rings * window.count, window=window.name, note=ring_note(making))
        short = self.stiffener_short(making)
        length = total_flat(panels) - len(panels) * short
        note = f"{making.say(self.header(making))} deep, each piece its panel less {making.say(short)}"
        yield Sundry("stiffener", length=length * window.count, window=window.name, note=note)

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Fullness that rings cannot take, and rings that do not suit."""
        window, unit = making.window, making.unit
        if making.fullness > MOST_FULLNESS:
            asked = f"{float(making.fullness):.3g}"
            text = f"grommets fold stiffly above {MOST_FULLNESS} times fullness: {asked} is asked for"
            yield Advice("warning", text, window.name)
        if window.ring.count and window.ring.count % 2:
            text = f"{window.ring.count} grommets a panel: an even number lets both edges turn to the wall"
            yield Advice("warning", text, window.name)
        ring = window.ring.size
        if ring is not None and self.header(making) < ring + BEYOND_RING.of(unit):
            deep = making.say(self.header(making))
            text = f"a header {deep} deep is too low for rings {making.say(ring)} across"
            yield Advice("warning", text, window.name)
        least, most = LEAST_SPACING.of(unit), MOST_SPACING.of(unit)
        for panel in panels[:1]:
            apart = self.arrange(making, panel).steps[-1].exact
            if not least <= apart <= most:
                usual = f"{making.say(least)} to {making.say(most)} is usual"
                text = f"grommets come {making.say(apart)} apart: {usual}"
                yield Advice("note", text, window.name)


def _off_seams(center: Fraction, panel: FinishedPanel, off: int, edge: int) -> Fraction:
    """The center moved off a seam near it, to its nearer side that keeps clear of the edges of the panel."""
    for seam in panel.seams:
        if abs(center - seam) < off:
            sides = (seam + off, seam - off) if center >= seam else (seam - off, seam + off)
            return Fraction(next((at for at in sides if edge <= at <= panel.flat - edge), center))
    return center
