"""The sewing order of each window, with the job's own sizes. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.layers import GAP
from nesting.packet.facts import WindowFacts, listed, plural, times
from nesting.packet.model import Block, Bullets, Heading, Paragraph, Section
from nesting.packet.tops import top_steps

_ALL: Final = (
    "Sew a test seam and a test hem on a scrap of the same cloth, pressed as the drape will be, before "
    "the first seam. The scrap decides needle, stitch length and iron, not the list below."
)


def sewing(facts: tuple[WindowFacts, ...]) -> Section:
    """How each window is sewn, step by step."""
    blocks: list[Block] = [Paragraph(_ALL)]
    told = set[str]()
    for each in facts:
        kind = cloth_kind(each)
        if kind not in told:
            told.add(kind)
            blocks.append(Paragraph(_HANDLING[kind], f"{_KINDS[kind]} (common practice):"))
    for each in facts:
        blocks += [Heading(each.window.name), Bullets(tuple(_steps(each)), numbered=True)]
    return Section("sewing", "Sewing order", tuple(blocks))


def cloth_kind(facts: WindowFacts) -> str:
    """How the cloth wants to be handled: ``sheer``, ``pile``, ``print``, ``heavy`` or ``plain``."""
    if facts.cloth.weight == "sheer":
        return "sheer"
    if facts.pile:
        return "pile"
    if facts.cloth.repeat is not None:
        return "print"
    return "heavy" if facts.cloth.weight == "heavy" else "plain"


_KINDS: Final = {
    "sheer": "Sheer cloth",
    "pile": "Pile, or cloth with a one-way nap",
    "print": "Printed cloth",
    "heavy": "Heavy cloth",
    "plain": "Plain cloth",
}
_HANDLING: Final = {
    "sheer": (
        "a fine sharp needle, 60/8 or 70/10, fine thread, stitches of 2 to 2.5 mm; hold both threads as "
        "the seam begins; French seams, for everything shows; a cool iron, dry, moved with the threads."
    ),
    "pile": (
        "a 90/14 needle, stitches of 3 to 3.5 mm, less pressure on the foot, a walking foot if there is "
        "one; baste or pin close together across the seam, because pile creeps; sew with the nap, from "
        "top to hem where a choice is left; steam from the wrong side over a needle board or a scrap of "
        "the same pile, and never set the iron down on the right side. Where the cloth is a one-way weave "
        "without pile, the needle of its weight will do."
    ),
    "print": (
        "an 80/12 needle, stitches of 2.5 mm; match at the seam line, not at the cut edge: press one "
        "allowance under, lay it on the other so that the design runs on, pin or glue-baste, unfold and "
        "sew in the crease; press from the wrong side."
    ),
    "heavy": (
        "a 100/16 needle, stitches of 3.5 mm, a walking foot; grade the layers where hem and side hem "
        "meet and flatten the corner with a mallet and a cloth before sewing; steam, press, and let it "
        "cool flat."
    ),
    "plain": (
        "an 80/12 needle, stitches of 2.5 to 3 mm; a medium iron with steam, from the wrong side, tested "
        "on a scrap."
    ),
}


def _steps(facts: WindowFacts) -> Iterator[str]:
    making, window = facts.making, facts.window
    say = making.say
    panels = plural(len(facts.hangings) * window.count, "panel")
    yield (
        f"Lay out the pieces of {window.name} by their labels: {panels}, TOP arrows all one way, left and "
        "right as seen from the room."
    )
    yield from _join(facts)
    yield from _bands(facts)
    hem = making.bottom_hem
    if hem.allowance:
        yield (
            f"Bottom hem: press up {say(hem.turn)} {times(hem.turns)} and baste it, so that it can still "
            f"be let down. Finished, it is {say(hem.finished)} deep."
        )
    else:
        yield "Bottom: the selvage is the hem; leave it as it is."
    yield from _sides(facts)
    yield from _linings(facts)
    yield from top_steps(facts)
    yield (
        "Measure each panel from top edge to hem edge at both sides and in the middle: "
        f"{say(making.finished.total)}. Hang it for two or three days before the hem is sewn for good, "
        "then level it, sew it, and put a weight in each corner."
    )
    if window.tiebacks:
        words = listed([f"{t.count} of {say(t.length)} by {say(t.width)}" for t in window.tiebacks])
        yield (
            f"Tie-backs: {words}; fold lengthwise right sides together, sew, turn, close the end, a ring "
            "at each end."
        )


def _join(facts: WindowFacts) -> Iterator[str]:
    joined = [panel for panel in facts.panels if panel.seams]
    if not joined:
        return
    say = facts.making.say
    design = "the design meeting at the seam line, " if facts.cloth.repeat is not None else ""
    word = "seams lie" if any(len(panel.seams) > 1 for panel in joined) else "seam lies"
    lines = [
        f"{panel.key.replace('-', ' ')} at {listed([say(at) for at in panel.seams])}" for panel in joined
    ]
    yield (
        f"Join the widths of each panel right sides together, {design}{say(facts.making.seam)} from the "
        "edge, from hem to top; trim the selvages or clip them every hand's width, for they draw up; "
        "finish the edges together and press to one side, away from the light. Measured once hemmed, from "
        f"the left edge at the front, the {word}: {'; '.join(lines)}."
    )


def _bands(facts: WindowFacts) -> Iterator[str]:
    for band in facts.window.bands:
        width = facts.making.say(band.width)
        where = "leading edge" if band.edge == "leading" else "hem"
        yield (
            f"Band: turn in its edges, lay it on the right side along the {where}, {width} wide, and "
            "stitch both edges."
        )


def _sides(facts: WindowFacts) -> Iterator[str]:
    making = facts.making
    say, leading, outer = making.say, making.leading_hem, making.outer_hem
    if leading == outer and leading.allowance:
        yield (
            f"Side hems: {say(leading.turn)} turned {times(leading.turns)} at both edges; press, mitre or "
            "fold the corners over the bottom hem, and sew by hand or with a blind stitch."
        )
        return
    for name, hem in (("Leading edge", leading), ("Outer edge", outer)):
        if hem.allowance:
            yield f"{name}: hem of {say(hem.turn)} turned {times(hem.turns)}."
        else:
            yield f"{name}: the selvage stays as it is."


def _linings(facts: WindowFacts) -> Iterator[str]:
    making, window = facts.making, facts.window
    say, hem = making.say, making.lining_hem
    if window.interlining is not None:
        yield (
            "Interlining: lay it on the wrong side, cut to the finished size, lock it to the face with "
            "long loose stitches in rows, and fold the hems over its edges."
        )
    if window.lining is None:
        return
    gap = say(GAP.of(facts.unit))
    yield (
        f"Lining: join its widths, hem it {say(hem.turn)} turned {times(hem.turns)}; it ends {gap} above "
        "the hem edge."
    )
    if window.lining_style == "tube":
        yield (
            "Lay lining and face right sides together, sew both sides from hem to top, turn, and let the "
            "face come round to the back evenly at both sides; press."
        )
    else:
        yield (
            "Lay the lining wrong side down on the back, slip its raw side edges under the open side "
            "hems, pin from the hem upwards on a flat table, and sew hems and lining in one. Its top goes "
            "up under the finish of the heading."
        )
