"""A heading that is none of ours, entered in the registry before anything reads it, then planned and printed.

Run as ``python toy_heading.py FOLDER``: what a heading may bring of its own (a key, a kind of mark, steps, a
picture) must reach job file, pieces, check, files, packet and page, and no other place names it.
"""

from __future__ import annotations

import json
import sys
from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path
from types import MappingProxyType

import nesting.headings as registry
from nesting.headings.heading import FinishedPanel, Heading, OwnSize, evenly, point_spots
from nesting.headings.look import Drape, MarkLook, Picture, RodBar, Sits, edge
from nesting.headings.making import Making
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.piece import HeadingPlan, Steps, Sundry
from nesting.sewing import SewingStep, Stitch
from nesting.units import INCH


@dataclass(frozen=True, slots=True)
class Sleeve(Heading):
    """The top folded over the rod and stitched once, four snaps in it. Invented."""

    name: str = "sleeve"
    top_name: str = "sleeve"
    cover_name: str = "sleeve"
    on_the_rod: str = "Slide the rod in."
    fullness: Fraction = Fraction(2)
    pleated: bool = False
    hangs_from: tuple[HangsFrom, ...] = ("rod",)
    sits: Sits = "at"
    picture: Picture = (Drape(13, 10), edge(13), edge(22, "2.5 2"), RodBar(17, 0.6))
    own_sizes: tuple[OwnSize, ...] = (OwnSize("sleeve_depth", "3", "Depth of the sleeve.", most=20 * INCH),)

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """The sleeve."""
        yield "sleeve_depth", making.say(3 * INCH)

    def needs_diameter(self, making: Making) -> bool:
        """It does not matter."""
        return False

    def above_hanger(self, making: Making) -> Steps:
        """The rod fills the sleeve."""
        return Steps("top edge above the rod")

    def top_allowance(self, making: Making) -> Steps:
        """Once down the back."""
        return Steps("top").add("sleeve", self.top_cover(making))

    def top_cover(self, making: Making) -> int:
        """The sleeve, as ordered or 3 in."""
        return making.window.own_size("sleeve_depth") or 3 * INCH

    def mark_look(self, making: Making) -> MarkLook:
        """Snaps in the sleeve."""
        return MarkLook("hole")

    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Four snaps."""
        spots = point_spots("catch", evenly(panel.flat // 10, panel.flat - panel.flat // 10, 4))
        return HeadingPlan(making.window.name, panel.side, panel.flat, spots)

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """The snaps."""
        yield Sundry("snaps", count=4 * len(panels), window=making.window.name)

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """One fold, stitched, then the snaps."""
        deep = self.top_cover(sewn.making)
        stitched = (Stitch(panel.key, (Fraction(deep),)) for panel in sewn.panels)
        yield SewingStep("top", (*sewn.fold_top(deep), *stitched))


JOB = """
[fabric.face]
[[fabric.face.bolt]]
width = 54
[[window]]
name = "East"
rod = 40
rod_height = 90
heading = "sleeve"
sleeve_depth = 5
"""


def main(folder: Path) -> None:
    """Everything that is made of a plan, in files of the folder."""
    registry._ALL = (*registry._ALL, Sleeve())  # type: ignore[misc]
    registry.HEADINGS = MappingProxyType({style.name: style for style in registry._ALL})  # type: ignore[misc]
    registry.OWN_SIZES = MappingProxyType(  # type: ignore[misc]
        {size.key: size for style in registry._ALL for size in style.own_sizes}
    )

    from nesting.check import check_plan_document, unjudged
    from nesting.commands.output import plan_files
    from nesting.files import job_schema, plan_document, read_job_text, read_plan, starter_job
    from nesting.planning.effort import Effort
    from nesting.planning.planner import plan
    from nesting.web.arrangement import of_use
    from nesting.web.pictures import picture
    from nesting.web.plan_view import plan_view
    from nesting.web.sketch import sketch
    from nesting.web.usual import usual_of_window

    made = plan(read_job_text(JOB), effort=Effort(work=0.1, workers=1))
    document = plan_document(made)
    for name, data in plan_files(made, "letter", document).items():
        (folder / name).write_bytes(data)
    again = read_plan(folder / "plan.json")
    told = {
        "violations": [str(one) for one in check_plan_document(document)],
        "open": list(unjudged(document)),
        "again": plan_document(again)["order"] == document["order"],
        "own": again.job.windows[0].own_size("sleeve_depth"),
        "lengths": [piece.length for piece in made.pieces],
        "schema": json.dumps(job_schema()),
        "starter": starter_job(),
        "picture": str(picture("window.heading", "sleeve")),
        "sketch": str(sketch("East", "sleeve")),
        "usual": usual_of_window("in", {"heading": "sleeve"}, None),
        "of_use": [of_use("sleeve_depth", name, "pair") for name in ("sleeve", "rod-pocket")],
        "view": [layout["fabric"] for layout in plan_view(made, {})["layouts"]],
    }
    (folder / "told.json").write_text(json.dumps(told), "utf-8")


if __name__ == "__main__":
    main(Path(sys.argv[1]))
