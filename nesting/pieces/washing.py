"""Shrinkage: fabric washed before it is cut, and pieces cut longer to be washed after."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import Final

from nesting.order.job import Bolt, Fabric, LengthOnHand
from nesting.pieces.piece import Steps, Term
from nesting.repeat import Repeat
from nesting.units import round_down, round_nearest, round_up

#: What a sum of a size to be washed is divided by.
LEFT: Final = "left after washing"


def kept(percent: Fraction) -> Fraction:
    """The part of a length that is left after washing."""
    return 1 - percent / 100


def washed(fabric: Fabric, bolt: Bolt) -> tuple[Fabric, Bolt]:
    """Fabric and bolt as they lie on the cutting table.

    Washed before cutting, widths and lengths on hand shrink, and the pattern with them; what is bought
    must then be ``length / (1 - p)``. Otherwise both come back as they are.

    Notes
    -----
    The returned bolt is smaller, so never pass it through again with the unwashed fabric.
    """
    shrinkage = fabric.shrinkage
    if shrinkage is None or shrinkage.washed != "before":
        return fabric, bolt
    along, across = kept(shrinkage.length), kept(shrinkage.width)
    shrunk = replace(
        bolt,
        width=round_down(bolt.width * across, 1),
        usable=round_down(bolt.usable * across, 1),
        match=_match(fabric.repeat, bolt.match, across),
        on_hand=tuple(_shrunk(length, along, across) for length in bolt.on_hand),
    )
    return replace(fabric, repeat=_repeat(fabric.repeat, along, across), shrinkage=None), shrunk


def _match(repeat: Repeat | None, match: int | None, across: Fraction) -> int | None:
    """The match once washed: of whole repeats still as many, so that widths meet to the tick."""
    if match is None:
        return None
    if repeat is not None and repeat.width is not None and match % repeat.width == 0:
        return match // repeat.width * round_nearest(repeat.width * across)
    return round_nearest(match * across)


def _repeat(repeat: Repeat | None, along: Fraction, across: Fraction) -> Repeat | None:
    if repeat is None:
        return None
    width = None if repeat.width is None else round_nearest(repeat.width * across)
    return Repeat(round_nearest(repeat.length * along, repeat.drop.denominator), width, repeat.drop)


def _shrunk(length: LengthOnHand, along: Fraction, across: Fraction) -> LengthOnHand:
    """Flaws keep their full size, at the shrunk place."""
    flaws = tuple(
        replace(flaw, at=round_down(flaw.at * along, 1), from_left=round_down(flaw.from_left * across, 1))
        for flaw in length.flaws
    )
    usable = None if length.usable is None else round_down(length.usable * across, 1)
    return replace(
        length,
        length=round_down(length.length * along, 1),
        usable=usable,
        flaws=flaws,
        start=None if length.start is None else round_nearest(length.start * along),
        repeat=None if length.repeat is None else round_nearest(length.repeat * along),
    )


def longer(steps: Steps, fabric: Fabric) -> Steps:
    """A cut length that is right once the finished piece has been washed."""
    return _over(steps, fabric, "length")


def wider(steps: Steps, fabric: Fabric) -> Steps:
    """A cut width that is right once the finished piece has been washed."""
    return _over(steps, fabric, "width")


def after_washing(steps: Steps) -> Steps:
    """A cut size as it is once its piece has been washed, before anything that was added for cutting."""
    terms = list[Term]()
    for term in steps.terms:
        if term.label == LEFT:
            return Steps(steps.target, tuple(terms))
        terms.append(term)
    return steps


def grown(ticks: int, fabric: Fabric) -> int:
    """A height on the finished drape, measured along the fabric before it is washed."""
    shrinkage = fabric.shrinkage
    if shrinkage is None or shrinkage.washed != "after":
        return ticks
    return round_nearest(ticks / kept(shrinkage.length))


def width_kept(fabric: Fabric) -> Fraction:
    """The part of a cut width that is left once the finished piece has been washed."""
    shrinkage = fabric.shrinkage
    return kept(shrinkage.width) if shrinkage is not None and shrinkage.washed == "after" else Fraction(1)


def seam_before(seam: int, fabric: Fabric) -> int:
    """What a seam allowance takes of a cut width, to be as wide as ordered once the pieces are washed.

    Pieces are washed before they are joined, so no seam shrinks; what is reckoned in cut widths is reckoned
    as if it did. Up to the tick, so that joined widths never give less than was asked for.
    """
    return round_up(seam / width_kept(fabric), 1)


def _over(steps: Steps, fabric: Fabric, way: str) -> Steps:
    shrinkage = fabric.shrinkage
    if shrinkage is None or shrinkage.washed != "after":
        return steps
    percent = shrinkage.length if way == "length" else shrinkage.width
    return steps.over(LEFT, kept(percent)) if percent else steps
