"""How a window hangs: from what, how high that is, and whether the rod passes. Lengths in ticks.

Ease and the place of clips below the rod are common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from nesting.headings.heading import Heading
from nesting.headings.making import Making, measure
from nesting.headings.passage import Passage, Refusal
from nesting.order.job import HangsFrom
from nesting.pieces.piece import Advice, Steps, Sundry
from nesting.units import round_down, round_up

#: How far inside the side edges of a panel its outermost hooks are pinned (common practice, no source).
HOOK_INSIDE: Final = measure("1/2", "1")
#: What a ring is wider inside than the rod, so that it slides.
RING_EASE: Final = measure("1/4", "3/5")


def hanging_of(style: Heading, ordered: HangsFrom | None, rod: object) -> HangsFrom:
    """What a window hangs from: as ordered, else rings where a ``rod`` was measured and rings can carry it.

    Parameters
    ----------
    style
        Its heading.
    ordered
        What the job says of it.
    rod
        The thickness that was given, in whatever form, or None.
    """
    if ordered is not None:
        return ordered
    if "rings" in style.hangs_from and rod is not None:
        return "rings"
    return style.hangs_from[0]


def ring_drop(style: Heading, making: Making) -> Steps | None:
    """From the top of the rod down to the eye or clip of a ring; None where it must be measured."""
    if making.window.ring_drop is not None:
        words = "top of the rod to the bottom of the eye or clip"
        return Steps("below the rod").add(words, making.window.ring_drop)
    return style.usual_drop(making)


def hanger_height(style: Heading, making: Making) -> Steps | None:
    """How high above the floor the drape hangs: top of the rod, bottom of the eye or clip, hole of the track.

    None where the order says too little.
    """
    window, steps = making.window, Steps("height")
    if making.hangs_from == "track":
        if window.eye_height is None:
            return None
        return steps.add("hook's hole above the floor", window.eye_height)
    if window.rod_height is None:
        return None
    steps = steps.add("top of the rod above the floor", window.rod_height)
    if making.hangs_from == "rod":
        return steps
    drop = ring_drop(style, making)
    if drop is None:
        return None
    for term in drop.terms:
        steps = steps.take(term.label, term.amount, term.times)
    return steps


def hanger(making: Making) -> str:
    """What the drape hangs from, in a maker's words: the point that its heading is measured from."""
    return {
        "rod": "top of the rod",
        "rings": "bottom of the ring's eye or clip",
        "track": "hole in the track that the hook enters",
    }[making.hangs_from]


def ring_passages(making: Making, noun: str) -> Iterator[Passage]:
    """The rod through rings: their inner diameter must be wider than it is thick."""
    ring, rod = making.window.ring, making.rod_across
    if ring.inner is not None:
        yield Passage(
            ("ring", "inner"),
            f"{noun} {{}} wide inside are",
            ring.inner,
            Fraction(rod),
            making.across_words,
            rod + RING_EASE.of(making.unit),
            Fraction(ring.inner),
            beyond=True,
        )
    elif ring.size is not None:
        words = f"{noun} {{}} across outside"
        yield Passage(("ring", "size"), words, ring.size, Fraction(rod), making.across_words, beyond=True)


def hole_of_ring(making: Making) -> int:
    """Inner diameter of its rings: as ordered, else the least that is to be bought."""
    ring, least = making.window.ring, making.rod_diameter + RING_EASE.of(making.unit)
    if ring.inner is not None:
        return ring.inner
    return least if ring.size is None else min(least, ring.size)


def ring_note(making: Making) -> str:
    """Which rings to buy."""
    ring, say = making.window.ring, making.say
    if ring.inner is not None:
        across = "" if ring.size is None else f", {say(ring.size)} across outside"
        return f"{say(ring.inner)} inner diameter{across}"
    least = f"inner diameter at least {say(making.rod_across + RING_EASE.of(making.unit))}"
    if making.diameter_assumed:
        least = "inner diameter wider than the rod"
    return least if ring.size is None else f"{say(ring.size)} across outside, {least}"


def carriers(making: Making, hooks: int) -> Iterator[Sundry]:
    """What every hook of a pleated heading hangs in: a ring with an eye on a rod, a glider in a track."""
    if making.hangs_from == "rings":
        yield Sundry("rings with eyes", count=hooks, window=making.window.name, note=ring_note(making))
    elif making.hangs_from == "track":
        yield Sundry("gliders", count=hooks, window=making.window.name, note="one for each hook")


def refusals(style: Heading, making: Making) -> Iterator[Refusal]:
    """What of an order cannot be made, of the window by itself: the rod does not pass, sizes contradict."""
    for passage in () if making.diameter_assumed else style.passages(making):
        if passage.blocked:
            more = "more than" if passage.beyond else "at least"
            text = (
                f"{more} {making.say(round_up(passage.least, making.grid))}, {passage.limit} of "
                f"{making.rod_words}, or it does not pass"
            )
            usual = "" if passage.usual is None else f"; {making.say(passage.usual)} is usual"
            yield Refusal(passage.key, passage.size, f"{text}{usual}")
    yield from style.contradictions(making)
    yield from _of_hems(making)
    yield from _of_seams(style, making)
    yield from _of_tubes(making)
    drop, inner = making.window.ring_drop, making.window.ring.inner or 0
    rod = 0 if making.diameter_assumed else making.rod_diameter
    if making.hangs_from == "rings" and drop is not None and drop <= max(rod, inner):
        what = "the rod is thick" if rod >= inner else "the ring is wide inside"
        text = f"more than {making.say(max(rod, inner))}: the eye or clip hangs lower than {what}"
        yield Refusal(("ring_drop",), drop, text)


def _of_hems(making: Making) -> Iterator[Refusal]:
    """A lining that ends above the hem of the face, whose upper edge would show."""
    window, hem = making.window, making.bottom_hem
    gap = window.lining_gap if window.lining is not None and hem.allowance else None
    if gap is not None and gap >= hem.finished:
        text = f"less than the bottom hem of {making.say(hem.finished)}, so that it covers its upper edge"
        yield Refusal(("lining_gap",), gap, text)


def _of_seams(style: Heading, making: Making) -> Iterator[Refusal]:
    """A seam of nothing where something is sewn on by its seams."""
    window, parts = making.window, list[str]()
    parts += [key for key in ("tab", "facing") if key in style.own_keys]
    parts += ["band"] * bool(window.bands) + ["tie-back"] * bool(window.tiebacks)
    if window.lining is not None and window.lining_style == "tube":
        parts.append("lining")
    if making.seam == 0 and parts:
        yield Refusal(("seam",), 0, f"more than 0, which sews on the {' and the '.join(parts)}")


def _of_tubes(making: Making) -> Iterator[Refusal]:
    """Sides too narrow for the seams of a lining that is sewn to them as a tube: it would show in front."""
    if making.window.lining is None or making.window.lining_style != "tube":
        return
    for key, hem in (("leading", making.leading_hem), ("outer", making.outer_hem)):
        if hem.allowance < making.seam and not hem.selvage:
            text = f'at least the seam of {making.say(making.seam)}; or lining_style = "tucked"'
            yield Refusal(("side_hem", key), hem.allowance, text)


def doubts(style: Heading, making: Making) -> Iterator[Advice]:
    """Where the rod passes with little ease or cannot be judged, and what of the hanging was assumed."""
    window, say = making.window, making.say
    for passage in style.passages(making):
        words = passage.words.format(say(passage.size))
        if passage.usual is None:
            rod = "the rod is thick" if making.diameter_assumed else f"{say(making.rod_across)}, the rod"
            text = f"{words}: the inner diameter must be more than {rod}; measure it"
            yield Advice("warning", text, window.name)
        elif making.diameter_assumed:
            most = round_down(passage.thickest or 0, making.grid)
            limit = f"thinner than {say(most)}" if passage.beyond else f"up to {say(most)} thick"
            text = f"{words} wide enough for a rod {limit}: the rod's thickness is not given; measure it"
            yield Advice("warning", text, window.name)
        elif passage.tight:
            text = f"{words} tight on {making.rod_words}: {say(passage.usual)} is usual"
            yield Advice("warning", text, window.name)
    if making.hangs_from == "rings" and window.ring_drop is None and window.finished_length is None:
        drop = style.usual_drop(making)
        if drop is not None:
            text = (
                f"clips are assumed to hold the top edge {say(drop.total)} below the top of the rod: measure "
                "one ring with its clip on the rod before cutting"
            )
            yield Advice("warning", text, window.name)
