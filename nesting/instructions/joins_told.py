"""Washing and joining, in words."""

from __future__ import annotations

import itertools
from fractions import Fraction
from typing import Final

from nesting.instructions.line import Telling, ToldLine, listed
from nesting.instructions.manner import Manner
from nesting.sewing import Bench, Join, LayOut, Wash, Work

_CUT: Final = "cut "


def wash_told(operation: Wash, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """All pieces of a fabric."""
    text = (
        f"overcast the raw edges of all pieces of {telling.fabric(operation.fabric)}, then wash and dry them "
        "the way the drape will be washed, smooth them and measure again. Chalk and paper do not outlast it: "
        "take the labels off first and write each number and an arrow to TOP with a laundry pen on the wrong "
        "side, at an edge"
    )
    return ToldLine("", text)


def lay_out_told(operation: LayOut, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A piece that is all of its work."""
    return ToldLine(operation.into, f"take {telling.name(operation.piece)}; nothing is joined to it")


def join_told(operation: Join, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Pieces side by side, in their order."""
    works = [before.work(name) for name in operation.parts]
    manner, say = telling.manner(works[0]), telling.say
    parts = _parts(list(dict.fromkeys(telling.name(name) for name in operation.parts)))
    match = ", the pattern meeting at the seam line" if manner.kind == "print" else ""
    creeps = ", basted or pinned close together" if manner.kind == "pile" else ""
    text = (
        f"lay {parts} side by side, in this order from the left as seen from the room. Join them right sides "
        f"together, lower edges level{match}{creeps}, {say(operation.allowance)} from the raw edges, "
        f"{sewn_toward(works[0], manner)}. {_finished(operation, works, manner, telling)}"
    )
    return ToldLine(operation.into, text)


def _parts(names: list[str]) -> str:
    """The pieces of a join: ``cuts 8 and 3``."""
    numbers = [name.removeprefix(_CUT) for name in names]
    if len(names) > 1 and all(name.startswith(_CUT) for name in names):
        return f"cuts {listed(numbers)}"
    return listed(names)


def sewn_toward(work: Work, manner: Manner) -> str:
    """Which way a long seam is sewn: with the nap on pile."""
    nap = next((strip.nap for strip in work.strips), "none")
    if manner.kind == "pile" and nap in ("up", "down"):
        way = "the lower edge to the top" if nap == "up" else "the top to the lower edge"
        return f"with the nap, from {way}"
    return "from the lower edge to the top"


def _finished(join: Join, works: list[Work], manner: Manner, telling: Telling) -> str:
    """What becomes of the allowances."""
    woven = join.finish == "selvage" or any(
        one.edge("right").finish == "selvage" or other.edge("left").finish == "selvage"
        for one, other in itertools.pairwise(works)
    )
    clip = "Clip a selvage in the seam at short, even distances: it draws up. " if woven else ""
    if join.finish == "french":
        half = telling.say(Fraction(join.allowance) / 2)
        return (
            f"It is a French seam: sew first wrong sides together, {half} from the edges, trim them a "
            f"little, turn, and sew again right sides together, {half} from the fold, so that no raw edge is "
            "left"
        )
    if join.finish == "open":
        return f"{clip}{_order(manner.opened)}"
    if join.finish == "selvage":
        return f"{clip}{_order(manner.aside)}"
    if manner.lined:
        return f"{clip}{_order(manner.aside)}; the lining covers the edges"
    return f"{clip}Finish the edges together and {manner.aside}"


def _order(text: str) -> str:
    return text[:1].upper() + text[1:]
