"""Rod pocket: the rod slides through a pocket below a ruffled heading."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.heading import FinishedPanel, Heading, bare
from nesting.headings.look import Drape, Picture, RodBar, Stroke, edge
from nesting.headings.making import PI, TAKE_UP, Making, measure, taken_up, told_flat
from nesting.headings.passage import Passage
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import HeadingPlan, Steps
from nesting.sewing import SewingStep, Stitch
from nesting.units import grid, round_up

HEADING: Final = measure("1", "5/2")
TURN: Final = measure("1/2", "1")
EASE: Final = Fraction(6, 5)

_PICTURE: Final[Picture] = (
    Drape(12, 10),
    Stroke("M16 12" + "q2 -4 4 0t4 0" * 8),
    edge(14, "2.5 2"),
    edge(23, "2.5 2"),
    RodBar(18.5, 0.6),
)


@dataclass(frozen=True, slots=True)
class RodPocket(Heading):
    """A pocket for the rod under a heading that stands above it.

    The finished length is measured from the top of the heading, so heading and pocket count once each
    at the back. Common practice, no source; *Cutting and Draping* (1905) gives 1 7/8 in for a 1 in pole.
    """

    name: str = "rod-pocket"
    top_name: str = "heading and pocket"
    cover_name: str = "turned-down top"
    on_the_rod: str = "Slide the rod in with a thimble or a bag over its end, and share the gathers evenly."
    own_keys: tuple[str, ...] = ("pocket", "take_up")
    fullness: Fraction = Fraction(2)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rod",)
    picture: Picture = _PICTURE

    def heading_depth(self, making: Making) -> int:
        """How far it stands above the rod."""
        depth = making.window.heading_depth
        return HEADING.of(making.unit) if depth is None else depth

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "heading_depth", making.say(self.heading_depth(making))
        yield "pocket", making.say(self.pocket(making).total)
        yield "take_up", making.say(self.rod_take_up(making))

    def needs_diameter(self, making: Making) -> bool:
        """The pocket goes round the rod, and the panel goes over it."""
        return making.window.pocket is None or making.window.take_up is None

    def above_hanger(self, making: Making) -> Steps:
        """The heading."""
        return Steps("top edge above the rod").add("heading", self.heading_depth(making))

    def pocket(self, making: Making) -> Steps:
        """Flat depth between the stitch rows."""
        if making.window.pocket is not None:
            return Steps("pocket").add("pocket", making.window.pocket)
        return Steps("pocket", making.round_terms).times("ease", EASE).up_to(grid(making.unit))

    def top_allowance(self, making: Making) -> Steps:
        """Back of heading and pocket, the edge turned under, and what the rod takes up."""
        take_up = self.rod_take_up(making)
        steps = (
            Steps("top")
            .add("heading", self.heading_depth(making))
            .add("pocket", self.pocket(making).total)
            .add("edge turned under", self.turn(making))
        )
        return steps.add(TAKE_UP, take_up) if take_up else steps

    def top_cover(self, making: Making) -> int:
        """Heading and pocket."""
        return self.heading_depth(making) + self.pocket(making).total

    def turn(self, making: Making) -> int:
        """What is turned under at the raw edge."""
        return TURN.of(making.unit)

    def take_up(self, making: Making) -> Steps:
        """The panel goes over the front of the rod, from the upper row of stitches down."""
        return taken_up(making)

    def passages(self, making: Making) -> Iterator[Passage]:
        """The pocket, which lies flat half around the rod."""
        pocket, half = making.window.pocket, making.half_round
        if pocket is not None:
            usual, limit = round_up(half * EASE, making.grid), making.half_round_words
            words = "a pocket {} deep is"
            yield Passage(("pocket",), words, pocket, half, limit, usual, pocket * 2 / PI)

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Nothing to space: the fabric is gathered."""
        upper = self.heading_depth(making)
        lower = upper + self.pocket(making).total
        remark = f"stitch {making.say(upper)} and {making.say(lower)} below the top edge"
        taken = self.take_up(making)
        over = (taken,) if taken.total else ()
        return bare(making, panel, self.pocket(making), *over, remarks=(remark, *told_flat(making, taken)))

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """The top folded down, its edge turned under, stitched at both ends of the pocket."""
        making, head = sewn.making, Fraction(self.heading_depth(sewn.making))
        deep = Fraction(self.top_cover(making))
        rows = (head, deep) if head else (deep,)
        yield SewingStep(
            "top",
            (
                *sewn.fold_top(self.turn(making), deep, held="pressed"),
                *(Stitch(panel.key, rows) for panel in sewn.panels),
            ),
        )
