"""How a fabric wants to be handled: the words for creasing, seams and needles, by what it is.

Common practice, no source.
"""

from __future__ import annotations

from dataclasses import dataclass
from types import MappingProxyType
from typing import Final, Literal

from nesting.order.fabric import Fabric

Kind = Literal["plain", "pile", "sheer", "print", "heavy"]


@dataclass(frozen=True, slots=True)
class Manner:
    """What the hand does differently on this fabric.

    Attributes
    ----------
    kind
        What it is.
    lined
        Whether a lining covers its back, so that its seams need no finish against fraying.
    washable
        Whether the drape is made to be washed: what is sewn in must stand the same wash.
    """

    kind: Kind = "plain"
    lined: bool = False
    washable: bool = False

    @property
    def name(self) -> str:
        """What such fabric is called."""
        return _HANDLING[self.kind].name

    @property
    def handling(self) -> str:
        """Needle, thread, stitch and iron for it."""
        return _HANDLING[self.kind].needle

    @property
    def crease(self) -> str:
        """How a fold is set, as an order: ``press it from the wrong side``."""
        return _HANDLING[self.kind].crease

    @property
    def lined_up(self) -> str:
        """What is done along a fold line before the fabric is folded; empty where nothing is."""
        return "baste along each fold line first, then " if self.kind == "pile" else ""

    @property
    def opened(self) -> str:
        """How the allowances of a seam are parted."""
        return _HANDLING[self.kind].opened

    @property
    def aside(self) -> str:
        """How the allowances of a seam are laid to one side."""
        return _HANDLING[self.kind].aside


@dataclass(frozen=True, slots=True)
class _Handling:
    name: str
    needle: str
    crease: str
    opened: str
    aside: str


_HANDLING: Final = MappingProxyType({
    "sheer": _Handling(
        "Sheer fabric",
        "a fine sharp needle, 60/8 or 70/10, fine thread, stitches of 2 to 2.5 mm; hold both threads as "
        "the seam begins; French seams, because everything shows; a cool iron, dry, moved with the threads.",
        "press it with a cool, dry iron",
        "press the seam open with a cool, dry iron",
        "press the seam to one side, away from the light, with a cool, dry iron",
    ),
    "pile": _Handling(
        "Pile, or fabric with a one-way nap",
        "a 90/14 needle, stitches of 3 to 3.5 mm, less pressure on the presser foot, a walking foot if "
        "there is one; baste or pin close together across the seam, because pile creeps; sew with the nap, "
        "the way the steps say; baste every fold line, fold on it, finger-crease it and steam it from the "
        "wrong side, pile down on a needle board or on a scrap of the same pile, and never set the iron "
        "down. Where the fabric is a one-way weave without pile, the needle of its weight will do.",
        "finger-crease it and steam it from the wrong side",
        "part the seam with the fingers and steam it from the wrong side",
        "lay the seam to one side with the fingers, away from the light, and steam it from the wrong side",
    ),
    "print": _Handling(
        "Printed fabric",
        "an 80/12 needle, stitches of 2.5 mm; match at the seam line, not at the cut edge: press one "
        "allowance under, lay it on the other so that the pattern runs on, pin or glue-baste, unfold and "
        "sew in the crease; press from the wrong side.",
        "press it from the wrong side",
        "press the seam open from the wrong side",
        "press the seam to one side, away from the light, from the wrong side",
    ),
    "heavy": _Handling(
        "Heavy fabric",
        "a 100/16 needle, stitches of 3.5 mm, a walking foot; grade the layers where hem and side hem "
        "meet and flatten the corner with a mallet and a scrap over it before sewing; steam, press, and let "
        "it cool flat.",
        "press it with steam and let it cool flat",
        "press the seam open with steam, grade it, and let it cool flat",
        "grade the seam, press it to one side with steam, away from the light, and let it cool flat",
    ),
    "plain": _Handling(
        "Plain fabric",
        "an 80/12 needle, stitches of 2.5 to 3 mm; a medium iron with steam, from the wrong side, tested "
        "on a scrap.",
        "press it",
        "press the seam open",
        "press the seam to one side, away from the light",
    ),
})  # fmt: skip


def fabric_manner(fabric: Fabric, *, lined: bool = False, washable: bool = False) -> Manner:
    """How a fabric is handled: by its weight where it is sheer, else by its pile, its print, its weight."""
    if fabric.weight == "sheer":
        return Manner("sheer", lined, washable)
    if fabric.nap == "one-way" and fabric.repeat is None:
        return Manner("pile", lined, washable)
    if fabric.repeat is not None:
        return Manner("print", lined, washable)
    return Manner("heavy" if fabric.weight == "heavy" else "plain", lined, washable)
