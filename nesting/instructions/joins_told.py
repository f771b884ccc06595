"""Washing and joining, in words."""

from __future__ import annotations

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
        "the way the drape will be washed, smooth them, measure them and pin the labels on again. Chalk and "
        "paper do not outlast a wash: take the labels off before it, and write each number and an arrow to "
        "TOP with a laundry pen on the wrong side, at an edge. All sizes below are those after washing; "
        "labels and marker give those before it"
    )
    return ToldLine("", text)


def lay_out_told(operation: LayOut, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A piece that is all of its work."""
    return ToldLine(operation.into, f"take {telling.name(operation.piece)}")


def join_told(operation: Join, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Pieces side by side, in their order."""
    works = [before.work(name) for name in operation.parts]
    manner, say = telling.manner(works[0]), telling.say
    parts = _parts([telling.name(name) for name in operation.parts])
    match = ", the pattern meeting at the seam line" if manner.kind == "print" else ""
    creeps = ", basted or pinned close together" if manner.kind == "pile" else ""
    over = ", wrong side up" if telling.wrong_side_up(operation.into) else ""
    text = (
        f"lay {parts} side by side{over}, from left to right. Join them right sides together, lower edges "
        f"level{match}{creeps}, {say(operation.allowance)} from the raw edges, "
        f"{sewn_toward(works[0], manner)}. {_finished(operation, works, manner, telling)}"
    )
    return ToldLine(operation.into, text)


def _parts(names: list[str]) -> str:
    """The pieces of a join: ``cuts 8 and 3``."""
    if len(names) > 1 and len(set(names)) == 1 and names[0].startswith(_CUT):
        return f"the {len(names)} pieces of {names[0]}"
    names = list(dict.fromkeys(names))
    numbers = [name.removeprefix(_CUT) for name in names]
    if len(names) > 1 and all(name.startswith(_CUT) and " or " not in name for name in names):
        return f"cuts {listed(numbers)}"
    return listed(names)


def sewn_toward(work: Work, manner: Manner, low: str = "the lower edge") -> str:
    """Which way a long seam is sewn: with the nap on pile; ``low`` is where its lower end is."""
    nap = next((strip.nap for strip in work.strips), "none")
    if manner.kind == "pile" and nap in ("up", "down"):
        way = f"{low} to the top" if nap == "up" else f"the top to {low}"
        return f"with the nap, from {way}"
    return f"from {low} to the top"


def _finished(join: Join, works: list[Work], manner: Manner, telling: Telling) -> str:
    """What becomes of the allowances; a selvage is in them only where the seam takes it up."""
    if join.finish == "selvage":
        clip = "Clip a selvage in the seam at short, even distances: it draws up. "
    else:
        clip = "The sizes are without selvage: cut off any that is still at a seam before you sew it. "
    if join.finish == "french":
        half = telling.say(Fraction(join.allowance) / 2)
        return (
            "Clip a selvage at the seam first: it draws up. It is a French seam: sew wrong sides together, "
            f"{half} from the edges, trim them a little, turn, and sew again right sides together, {half} "
            "from the fold, so that no raw edge is left"
        )
    if join.finish == "open":
        return f"{clip}{_order(manner.opened)}"
    if manner.lined:
        return f"{clip}{_order(manner.aside)}; the lining covers the edges"
    return f"{clip}Finish the edges together and {manner.aside}"


def _order(text: str) -> str:
    return text[:1].upper() + text[1:]
