"""What carries a panel and draws it in, in words: tabs, loops, rings, hooks, pockets, pleats, tapes."""

from __future__ import annotations

import itertools
from collections.abc import Callable, Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import Final

from nesting.instructions.edges_told import same_length
from nesting.instructions.line import Telling, ToldLine, listed
from nesting.sewing import Attach, Bench, DrawUp, Insert, Operation, PleatUp, SetAlong, Stitch, Work

#: So many marks are told one by one; more are told by their step, the first and the last.
_MOST_TOLD: Final = 16
#: What stands in a sewing order by another name than on the shopping list.
_CALLED: Final[Mapping[str, str]] = MappingProxyType({"ring": "grommet"})
_MARKING: Final = "measured from the left edge each time, not from mark to mark"


def marks_told(at: tuple[Fraction, ...], telling: Telling) -> str:
    """Where marks lie from the left edge: each, or the first, the step and the last."""
    if len(at) <= _MOST_TOLD:
        return f" at {listed([telling.bare(one) for one in at[:-1]] + [telling.say(at[-1])])}"
    steps = [after - before for before, after in itertools.pairwise(at)]
    even = max(steps) - min(steps) <= 2
    how = f"then every {telling.say(steps[0])}, " if even else "then "
    middle = "" if even else ", ".join(telling.bare(one) for one in at[1:-1]) + " and "
    last = f"the last at {telling.say(at[-1])}" if even else telling.say(at[-1])
    return f", the first at {telling.say(at[0])}, {how}{middle}{last}"


def check_told(starts: tuple[Fraction, ...], ends: tuple[Fraction, ...], work: Work, telling: Telling) -> str:
    """How the marks are checked: by folding only where they are alike from both ends."""
    sums = [one + other for one, other in zip(starts, reversed(ends), strict=True)]
    if not sums or same_length(min(sums), max(sums)):
        return (
            "Check by folding: bring the very first mark and the very last one together; all others must "
            "meet in pairs"
        )
    return (
        "Do not check by folding, because the marks are not alike from both ends; measure the last one once "
        f"more, {telling.say(ends[-1])} from the left edge"
    )


def marked(operation: Operation, before: Bench, telling: Telling) -> ToldLine | None:
    """Where the marks of an operation lie, and how they are checked; None where it needs none."""
    teller = _MARKED.get(type(operation))
    return None if teller is None else teller(operation, before, telling)


def _insert_marked(operation: Insert, before: Bench, telling: Telling) -> ToldLine:
    wide = before.work(operation.tabs).width
    text = _starts_marked("tabs", operation.at, wide, before.work(operation.on), telling)
    return ToldLine(operation.on, text)


def _attach_marked(operation: Attach, before: Bench, telling: Telling) -> ToldLine:
    wide = before.work(operation.loops).width
    text = _starts_marked(
        "loops, on the right side of the facing,", operation.at, wide, before.work(operation.on), telling
    )
    return ToldLine(operation.on, text)


def _starts_marked(what: str, at: tuple[Fraction, ...], wide: Fraction, work: Work, telling: Telling) -> str:
    ends = tuple(start + wide for start in at)
    return (
        f"mark the left edges of {len(at)} {what}{marks_told(at, telling)} from the left edge, {_MARKING}. "
        f"{check_told(at, ends, work, telling)}"
    )


def _set_marked(operation: SetAlong, before: Bench, telling: Telling) -> ToldLine | None:
    work = before.work(operation.on)
    if work.drawn is not None:
        return None
    text = (
        f"mark the centers of {_many(operation)}{marks_told(operation.at, telling)} from the left edge, "
        f"{_MARKING}. {check_told(operation.at, operation.at, work, telling)}"
    )
    return ToldLine(operation.on, text)


def _many(operation: SetAlong) -> str:
    count = len(operation.at)
    what = _CALLED.get(operation.what, operation.what)
    return f"{count} {what}{'s' if count != 1 else ''}"


def _pleats_marked(operation: PleatUp, before: Bench, telling: Telling) -> ToldLine | None:
    if not operation.lines:
        return None
    work = before.work(operation.on)
    starts, ends = tuple(one for one, _ in operation.lines), tuple(other for _, other in operation.lines)
    pairs = [f"{telling.bare(one)} to {telling.bare(other)}" for one, other in operation.lines[:-1]]
    pairs.append(f"{telling.bare(starts[-1])} to {telling.say(ends[-1])}")
    text = (
        f"mark the two lines of {len(operation.lines)} pleats, from the left edge: {listed(pairs)}, "
        f"{_MARKING}. {check_told(starts, ends, work, telling)}"
    )
    return ToldLine(operation.on, text)


_MARKED: Final[Mapping[type[Operation], Callable[..., ToldLine | None]]] = MappingProxyType({
    Insert: _insert_marked,
    Attach: _attach_marked,
    SetAlong: _set_marked,
    PleatUp: _pleats_marked,
})  # fmt: skip


def insert_told(operation: Insert, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Tabs laid at the upper edge."""
    text = (
        "lay a tab at each mark, folded in half, on the right side of the panel, its loop toward the lower "
        "edge and its raw ends level with the upper edge, and baste it inside the seam to come"
    )
    return ToldLine(operation.on, text)


def attach_told(operation: Attach, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Loops sewn flat."""
    text = (
        "sew a loop flat at each mark on the right side, its upper end "
        f"{telling.say(operation.upper)} and its lower end {telling.say(operation.lower)} below the upper "
        "edge, the seam of the loop underneath: stitch each end along its fold and bar-tack it, because the "
        "loops carry the whole weight"
    )
    return ToldLine(operation.on, text)


def set_told(operation: SetAlong, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Rings, hooks or clips along the top."""
    work, say = before.work(operation.on), telling.say
    if operation.what == "ring":
        text = (
            f"lay one grommet, {say(operation.size)} wide inside, on each mark, the upper edge of its hole "
            f"{say(operation.down)} below the top edge, and look along the row before anything is cut. Cut "
            "the holes a little small, through all layers together, and set the grommets on a hard table"
        )
    elif operation.what == "hook":
        where = "one at each mark"
        if work.drawn is not None:
            end = telling.say(operation.at[0])
            behind = f"one behind each pleat and one {end} inside each edge"
            where = behind if work.pleats else f"evenly, the first and the last {end} inside the edges"
        eye = f"the eye each will hang in {say(operation.down)} below the top edge"
        text = f"set {_many(operation)}, {where}, {eye}"
    else:
        below = f" {say(operation.down)} below it" if operation.down else ""
        text = f"nothing is sewn: at the marks the clips grip the top edge{below}, all its layers together"
    return ToldLine(operation.on, text)


def stitch_told(operation: Stitch, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Rows through the folded top; how deep the pocket is is measured."""
    pocket = after.work(operation.on).carriers[-1].length
    rows = " and again ".join(telling.say(row) for row in operation.below)
    text = (
        f"stitch {rows} below the top edge, the last row just inside the turned edge; backstitch the ends "
        f"and leave the sides of the pocket open: it is {telling.say(pocket)} deep, lying flat"
    )
    return ToldLine(operation.on, text)


def pleat_told(operation: PleatUp, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """Pleats, line to line."""
    work = before.work(operation.on)
    edge = work.edge("top")
    if not operation.lines:
        return ToldLine(operation.on, "no pleat is taken")
    foot = f"lower edge of the {edge.over}" if edge.over else "foot of the folded top"
    text = (
        "bring the two lines of each pleat together, wrong sides in, and sew from the top edge to the "
        f"{foot}, {telling.say(edge.depth)} down. Part the loop into three equal folds, pinch, and tack at "
        "the foot by hand"
    )
    if edge.held == "basted":
        # The pleats hold the fold at their feet alone; a lining would slip out from under it between them.
        under = "the lining" if any(layer.face == "back" for layer in work.layers) else "the back"
        text += f". Between the pleats slip-stitch the lower edge of the folded top to {under}"
        text += ", and take the basting out"
    return ToldLine(operation.on, text)


def draw_told(operation: DrawUp, before: Bench, after: Bench, telling: Telling) -> ToldLine:
    """A tape sewn on and drawn up; how wide the panel becomes is measured."""
    work, made = before.work(operation.on), after.work(operation.on)
    wash = "Wash the tape before it is sewn on. " if telling.manner(work).washable else ""
    width = made.width if made.drawn is None else made.drawn
    text = (
        f"{wash}Knot the cords of the tape at the leading edge; lay the tape, {telling.say(operation.tape)} "
        "deep, over the raw edge, its upper edge level with the top edge, ends turned under, and sew along "
        "both long edges in the same direction. Draw the cords out until the panel is "
        f"{telling.say(width)} wide, {telling.say(operation.by)} less than it was; knot them without "
        "cutting, share out the pleats, and tuck the cords behind the heading, where no child can reach "
        "a loop"
    )
    return ToldLine(operation.on, text)
