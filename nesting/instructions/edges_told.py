"""What is done along one edge, in words: cut off, neatened, chalked, folded, sewn."""

from __future__ import annotations

from fractions import Fraction
from typing import Final

from nesting.instructions.line import EDGE, Telling, ToldLine
from nesting.sewing import Bench, Chalk, Fold, Overcast, Sew, SewTube, Trim, Work
from nesting.sewing.folding import SAME
from nesting.sewing.work import Side
from nesting.units import TICKS_PER_MM

#: What the line is called that the last fold at an edge comes on.
LINES: Final[dict[Side, str]] = {
    "bottom": "hem line", "top": "top line", "left": "side fold", "right": "side fold"
}  # fmt: skip


#: Nobody cuts less off an edge with shears: it goes into hem or seam (common practice, no source). 1/8 in is
#: a little more, 1/16 in less.
LEAST_CUT: Final = 3 * TICKS_PER_MM


def can_be_cut(off: Fraction) -> bool:
    """Whether a hand can cut so little off an edge, in ticks."""
    return off >= LEAST_CUT


def trim_told(operation: Trim, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """So much is cut off an edge; nothing is told of what no hand can cut off."""
    if not can_be_cut(operation.off):
        return ToldLine(operation.on, "")
    return ToldLine(operation.on, f"cut {telling.say(operation.off)} off {EDGE}", (operation.edge,))


def overcast_told(operation: Overcast, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """An edge is neatened, at its outside or behind its fold."""
    folded = before.work(operation.on).edge(operation.edge).finish == "fold"
    end = "the raw end of the fold at " if folded else ""
    return ToldLine(operation.on, f"overcast {end}{EDGE}, so that it does not fray", (operation.edge,))


def chalk_told(operation: Chalk, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A line inside an edge."""
    line = LINES[operation.edge]
    if not operation.inward:
        return ToldLine(operation.on, f"{EDGE} is the {line} itself", (operation.edge,))
    way = {"bottom": "up from", "top": "down from"}.get(operation.edge, "inside")
    return ToldLine(
        operation.on,
        f"chalk the {line} {telling.say(operation.inward)} {way} {EDGE}",
        (operation.edge,),
    )


def fold_told(operation: Fold, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Turn by turn, and what holds the fold."""
    work = before.work(operation.on)
    lined = any(line.edge == operation.edge for line in work.lines)
    last = "last fold" if len(operation.turns) > 1 or operation.over else "fold"
    where = f", the {last} on the {LINES[operation.edge]}" if lined else ""
    turned = _around(operation, work, telling) if operation.over else _turned(operation.turns, telling)
    manner, held = telling.manner(work), _held(operation, work)
    text = f"{manner.lined_up}{turned}{where}; {manner.crease}{held}"
    if work.tube:
        text = text.replace(EDGE, "each end")
    return ToldLine(operation.on, text, (operation.edge,))


def _turned(turns: tuple[Fraction, ...], telling: Telling) -> str:
    say = telling.say
    first, *more = turns
    if not more:
        return f"fold {EDGE} {say(first)} to the back"
    if len(turns) == 2 and more[0] == first:
        return f"turn {EDGE} {say(first)} to the back, then {say(first)} again"
    rest = ", then ".join(say(turn) for turn in more)
    return f"turn the raw edge under {say(first)} at {EDGE}, then fold {rest} to the back"


def _around(operation: Fold, work: Work, telling: Telling) -> str:
    """Around a strip of buckram: the last turn is as deep as the strip."""
    say, last = telling.say, operation.turns[-1]
    kind = f"washable {operation.over}" if telling.manner(work).washable else operation.over
    laid = f"lay the {kind}, {say(last)} deep, on the wrong side"
    if len(operation.turns) == 1:
        return f"{laid}, level with {EDGE}, and fold both {say(last)} to the back"
    up = sum(operation.turns[:-1], Fraction(0))
    return (
        f"{laid}, {say(up)} inside {EDGE}; fold the {say(up)} over it, then fold both {say(last)} to the back"
    )


def _held(operation: Fold, work: Work) -> str:
    """What holds the fold: pins, basting, stitches."""
    if operation.held == "pressed" or caught_later(operation, work):
        return ""
    if operation.held == "pinned":
        return " and pin it; leave it open for now"
    if operation.held == "basted":
        return " and baste it; do not sew it yet"
    waits = work.edge("bottom").finish == "fold" and work.edge("bottom").held != "sewn"
    if operation.edge in ("left", "right") and waits:
        return (
            ", then sew it by hand or with a blind stitch, from the top down to the top of the bottom hem "
            "and no further"
        )
    return ", then sew it"


def caught_later(operation: Fold, work: Work) -> bool:
    """Whether a raw end turned under once waits for the seam that catches it: nobody sews it by itself."""
    raw = work.edge(operation.edge).finish == "raw"
    return work.tube or (len(operation.turns) == 1 and raw and not operation.over)


def sew_told(operation: Sew, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A fold that waited is sewn, with what lies under it."""
    work = before.work(operation.on)
    if operation.edge in ("left", "right"):
        with_it = any(operation.edge in layer.tucked for layer in work.layers)
        waits = work.edge("bottom").finish == "fold" and work.edge("bottom").held != "sewn"
        down = "to the top of the bottom hem; leave the rest open until the drape has hung"
        what = "side hem and lining in one" if with_it else "the side hem"
        return ToldLine(
            operation.on,
            f"sew {what} at {EDGE} from the top down {down if waits else 'to the lower edge'}",
            (operation.edge,),
        )
    what = "the hem" if operation.edge == "bottom" else f"the fold at {EDGE}"
    return ToldLine(operation.on, f"sew {what}, by hand or with a blind stitch", (operation.edge,))


def tube_told(operation: SewTube, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Strips sewn to tubes and turned; how wide they are is measured."""
    work, made = before.work(operation.on), after.work(operation.on)
    manner, lengthwise = telling.manner(work), operation.halved == "width"
    wide = made.width if lengthwise else made.length
    each = f"each of the {work.count} strips" if work.count > 1 else "the strip"
    way = "lengthwise" if lengthwise else "along its middle"
    text = (
        f"fold {each} {way}, right sides together, sew {telling.say(operation.allowance)} from the raw "
        "edges, turn, bring the seam to the middle of the back and "
        f"{_flat(manner.kind)}: {telling.say(wide)} wide"
    )
    return ToldLine(operation.on, text)


def _flat(kind: str) -> str:
    """How a turned tube is laid flat."""
    return "steam it flat over a scrap of the same pile" if kind == "pile" else "press it flat"


def same_length(one: Fraction, other: Fraction) -> bool:
    """Whether two lengths measured by hand are one."""
    return abs(one - other) <= SAME
