"""The sewing order of each window, with the job's own sizes. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from nesting.packet.facts import WindowFacts, plural
from nesting.packet.making_up import (
    as_it_hangs,
    chalking,
    finishing,
    hemming,
    interlining,
    joining,
    leading_bands,
    lining,
    siding,
    washed_first,
)
from nesting.packet.model import Block, MakingStep, MakingSteps, Paragraph, Section, SectionHeading
from nesting.packet.tops import top_steps

_ALL: Final = (
    "Sew a test seam and a test hem on a scrap of the same fabric, finished as the drape will be, before "
    "the first seam. The scrap decides needle, stitch length and iron, not the list below."
)


def sewing(facts: tuple[WindowFacts, ...]) -> Section:
    """How each window is sewn, step by step."""
    blocks: list[Block] = [Paragraph(_ALL)]
    told = set[str]()
    for each in facts:
        kind = fabric_kind(each)
        if kind not in told:
            told.add(kind)
            blocks.append(Paragraph(_HANDLING[kind], f"{_KINDS[kind]} (common practice):"))
    for each in facts:
        blocks += [SectionHeading(each.window.name), making_steps(each)]
    return Section("sewing", "Sewing order", tuple(blocks))


def making_steps(facts: WindowFacts) -> MakingSteps:
    """How one window is sewn, step by step, from cut pieces to the hem that is leveled on the rod."""
    return MakingSteps(tuple(MakingStep(text) for text in _steps(facts)))


def fabric_kind(facts: WindowFacts) -> str:
    """How the fabric wants to be handled: ``sheer``, ``pile``, ``print``, ``heavy`` or ``plain``."""
    if facts.fabric.weight == "sheer":
        return "sheer"
    if facts.pile:
        return "pile"
    if facts.fabric.repeat is not None:
        return "print"
    return "heavy" if facts.fabric.weight == "heavy" else "plain"


_KINDS: Final = {
    "sheer": "Sheer fabric",
    "pile": "Pile, or fabric with a one-way nap",
    "print": "Printed fabric",
    "heavy": "Heavy fabric",
    "plain": "Plain fabric",
}
_HANDLING: Final = {
    "sheer": (
        "a fine sharp needle, 60/8 or 70/10, fine thread, stitches of 2 to 2.5 mm; hold both threads as "
        "the seam begins; French seams, for everything shows; a cool iron, dry, moved with the threads."
    ),
    "pile": (
        "a 90/14 needle, stitches of 3 to 3.5 mm, less pressure on the foot, a walking foot if there is "
        "one; baste or pin close together across the seam, because pile creeps; sew with the nap, the way "
        "the steps say; finger-crease the folds and steam them from the wrong side over a needle board or a "
        "scrap of the same pile, and never set the iron down. Where the fabric is a one-way weave without "
        "pile, the needle of its weight will do."
    ),
    "print": (
        "an 80/12 needle, stitches of 2.5 mm; match at the seam line, not at the cut edge: press one "
        "allowance under, lay it on the other so that the pattern runs on, pin or glue-baste, unfold and "
        "sew in the crease; press from the wrong side."
    ),
    "heavy": (
        "a 100/16 needle, stitches of 3.5 mm, a walking foot; grade the layers where hem and side hem "
        "meet and flatten the corner with a mallet and a fabric before sewing; steam, press, and let it "
        "cool flat."
    ),
    "plain": (
        "an 80/12 needle, stitches of 2.5 to 3 mm; a medium iron with steam, from the wrong side, tested "
        "on a scrap."
    ),
}


def _steps(facts: WindowFacts) -> Iterator[str]:
    window = facts.window
    panels = plural(len(facts.hangings) * window.count, "panel")
    yield (
        f"Lay out the pieces of {window.name} by their labels: {panels}, TOP arrows all one way, left and "
        "right as seen from the room."
    )
    for part in _ORDER:
        yield from part(facts)


#: What comes before what: layers go in before the hems that cover them are sewn, the hem last of all.
_ORDER: Final[tuple[Callable[[WindowFacts], Iterator[str]], ...]] = (
    washed_first,
    as_it_hangs,
    joining,
    chalking,
    leading_bands,
    interlining,
    hemming,
    siding,
    lining,
    top_steps,
    finishing,
)
