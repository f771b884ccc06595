"""The sewing order of each window: needle and iron for its fabric, then steps with their drawings."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.drawing.operations import LEGEND
from nesting.instructions import fabric_manner
from nesting.packet.facts import WindowFacts, listed, plural
from nesting.packet.model import Block, MakingStep, MakingSteps, Paragraph, Section, SectionHeading
from nesting.packet.steps_told import window_steps
from nesting.pieces.piece import AS_IT_HANGS, Role

_ALL: Final = (
    "Sew a test seam and a test hem on a scrap of the same fabric, finished as the drape will be, before "
    "the first seam. The scrap decides needle, stitch length and iron, not the list below."
)
#: Pieces whose lower edge becomes a hem.
_HEMMED: Final[tuple[Role, ...]] = ("panel", "lining")


def sewing(facts: tuple[WindowFacts, ...]) -> Section:
    """How each window is sewn, step by step."""
    blocks: list[Block] = []
    for each in facts:
        blocks += [SectionHeading(each.window.name), handling(each), making_steps(each)]
    return Section("sewing", "Sewing order", tuple(blocks))


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
    before = (MakingStep(text) for text in (first, *_as_it_hangs(facts)))
    return MakingSteps((*before, *window_steps(facts)))


def _as_it_hangs(facts: WindowFacts) -> Iterator[str]:
    """Pieces that were cut before a panel hung: their hem line lies elsewhere, their hem is another."""
    say, lines = facts.making.say, dict[tuple[int | None, str, str], dict[str, None]]()
    for piece in facts.pieces:
        for note in piece.notes:
            if note.startswith(AS_IT_HANGS):
                what = piece.name.removeprefix(f"{facts.window.name}, ")
                lines.setdefault((piece.hem_line, piece.role, note), {})[what] = None
    for (line, role, note), names in lines.items():
        low = f"their hem line is {say(line)} above the lower cut edge; " if line and role in _HEMMED else ""
        yield (
            f"As the first panel hangs, {listed(list(names))}: {low}{note.removeprefix(AS_IT_HANGS)}. "
            "Join widths with their hem lines level, whatever their edges do; this goes before "
            "the sizes of the steps below."
        )
