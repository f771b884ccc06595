"""The finished panels: front and back to scale, with their hems, top, seams and nap."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from functools import lru_cache

from nesting.cutting.layers import lining_gap, lining_top, tube_wrap
from nesting.cutting.measures import left_hem, lying_length, right_hem
from nesting.drawing.lettering import ENLARGED
from nesting.drawing.panel import PanelLook, mirrored, panel_figure
from nesting.drawing.trace import Drawing, enlarged, trace
from nesting.packet.facts import WindowFacts, listed, times
from nesting.packet.model import Block, Paragraph, Picture, Section, SectionHeading
from nesting.pieces.piece import HeadingPlan, PanelPlan
from nesting.units import Unit, round_up


def finished(facts: tuple[WindowFacts, ...], width: float) -> Section:
    """Every different panel once, in pictures ``width`` points wide."""
    blocks: list[Block] = [
        Paragraph(
            "Each panel as it lies flat once hemmed, front and back at one scale. Left and right are told "
            "as seen from the room; on the back they change places. The leading edge meets the other "
            "panel. Broken lines are the hem as it shows from the front; lines of dashes and dots are "
            "seams."
        )
    ]
    for each in facts:
        blocks += _window(each, width)
    return Section("panels", "Finished panels", tuple(blocks))


def small_panels(facts: WindowFacts, width: float) -> tuple[Picture, ...]:
    """Every different panel once, small and without its hems in words, ``width`` points wide."""
    found, alike, turned = [], dict[PanelLook, list[str]](), dict[PanelLook, list[str]]()
    for look, keys in _drawn(facts).items():
        # Small, one picture serves a panel and its mirror image: which edge leads is told in words.
        plain = _unnumbered(replace(look, leading=""))
        image = _unnumbered(mirrored(plain))
        if plain not in alike and image in alike:
            turned.setdefault(image, []).extend(keys)
        else:
            alike.setdefault(plain, []).extend(keys)
    for look, keys in alike.items():
        names = f"{listed(keys)} panel"
        if look in turned:
            names += f"; the {listed(turned[look])} one is its mirror image"
        alt = (
            f"{facts.window.name}, {names}, front and back to scale: {facts.making.say(look.width)} flat by "
            f"{facts.making.say(look.length)}."
        )
        found.append(Picture(_picture(look, facts.unit, width, brief=True), alt, names.capitalize()))
    return tuple(found)


def _unnumbered(look: PanelLook) -> PanelLook:
    """Its marks counted from the left, for a picture that does not show their numbers."""
    return replace(look, spots=tuple(replace(spot, number=n) for n, spot in enumerate(look.spots, 1)))


def _drawn(facts: WindowFacts) -> dict[PanelLook, list[str]]:
    """The panels that look alike, by how they look."""
    drawn = dict[PanelLook, list[str]]()
    for number, panel in enumerate(facts.panels):
        head = facts.headings[number] if number < len(facts.headings) else None
        drawn.setdefault(_look(facts, number, panel, head), []).append(panel.key.replace("-", " "))
    return drawn


def _window(facts: WindowFacts, width: float) -> Iterator[Block]:
    drawn = _drawn(facts)
    if drawn:
        yield SectionHeading(facts.window.name)
    for look, keys in drawn.items():
        names = f"{listed(keys)} panel"
        say = facts.making.say
        seams = " no seam"
        if look.seams:
            word = "seam" if len(look.seams) == 1 else "seams"
            seams = f" {word} at {listed([say(seam) for seam in look.seams])} from the left edge"
        alt = (
            f"{facts.window.name}, {names}, front and back to scale: {say(look.width)} by "
            f"{say(look.length)}, {facts.style.top_name} {say(look.top)}, bottom hem "
            f"{say(look.bottom)},{seams}."
        )
        hem = facts.making.bottom_hem
        caption = (
            f"{names.capitalize()}: {say(look.width)} flat, {_long(facts)}; bottom hem "
            f"{say(hem.turn)} turned {times(hem.turns)};{seams}."
            if hem.allowance
            else f"{names.capitalize()}: {say(look.width)} flat, {_long(facts)}; the selvage is the "
            f"hem;{seams}."
        )
        yield Picture(_picture(look, facts.unit, width), alt, caption)


def _long(facts: WindowFacts) -> str:
    """How long a panel is lying flat, and on a rod that takes up some of it."""
    say, lying, hung = facts.making.say, lying_length(facts.making).total, facts.making.finished.total
    return f"{say(lying)} long" if lying == hung else f"{say(lying)} long lying flat, {say(hung)} on the rod"


@lru_cache(maxsize=64)
def _picture(look: PanelLook, unit: Unit, width: float, brief: bool = False) -> Drawing:
    return enlarged(trace(panel_figure(look, unit, width=width / ENLARGED, brief=brief)), ENLARGED)


def _look(facts: WindowFacts, number: int, panel: PanelPlan, head: HeadingPlan | None) -> PanelLook:
    making, hanging = facts.making, facts.hangings[number]
    left, right = left_hem(making, hanging), right_hem(making, hanging)
    length = lying_length(making).total
    cover = min(facts.style.top_cover(making), length)
    lining, tube = None, facts.window.lining is not None and facts.window.lining_style == "tube"
    sides = [
        max(0, round_up(tube_wrap(hem, making.seam).exact, 1)) if tube else hem.finished
        for hem in (left, right)
    ]
    if facts.window.lining is not None:
        upper = max(0, round_up(lining_top(making).exact, 1))
        lining = (sides[0], panel.flat - sides[1], upper, max(upper + 1, length - lining_gap(making)))
    nap = 0
    if facts.pile:
        nap = 1 if facts.fabric.arrow == "up" else -1
    return PanelLook(
        width=panel.flat,
        length=length,
        left=sides[0],
        right=sides[1],
        bottom=making.bottom_hem.finished,
        top=cover,
        top_name=facts.style.top_name,
        seams=panel.seams,
        spots=() if head is None else head.spots,
        marks=facts.style.mark_look(making),
        side_name="face around to the back" if tube else "side hems",
        lining=lining,
        leading=hanging.leading or "",
        nap=nap,
        upright=facts.fabric.nap == "one-way" and not facts.pile,
    )
