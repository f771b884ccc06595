"""The sewing order of each window: needle and iron for its fabric, then steps with their drawings."""

from __future__ import annotations

from typing import Final

from nesting.drawing.operations import LEGEND
from nesting.instructions import fabric_manner
from nesting.packet.facts import WindowFacts, plural
from nesting.packet.model import MakingStep, MakingSteps, Paragraph
from nesting.packet.steps_told import window_steps

_ALL: Final = (
    "Sew a test seam and a test hem on a scrap of the same fabric, finished as the drape will be, before "
    "the first seam. The scrap decides needle, stitch length and iron, not this list."
)


def handling(facts: WindowFacts) -> Paragraph:
    """Needle, stitch and iron for the face of a window, and how the drawings are read."""
    manner = fabric_manner(facts.fabric)
    return Paragraph(f"{manner.handling} {_ALL} {LEGEND}", f"{manner.name} (common practice):")


def making_steps(facts: WindowFacts) -> MakingSteps:
    """How one window is sewn, step by step, from cut pieces to the hem that is leveled on the rod."""
    panels = plural(len(facts.hangings) * facts.window.count, "panel")
    first = (
        f"Lay out the pieces of {facts.window.name} by their labels: {panels}, TOP arrows all one way, left "
        "and right as seen from the room."
    )
    return MakingSteps((MakingStep(first), *window_steps(facts)))
