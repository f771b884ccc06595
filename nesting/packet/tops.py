"""How the top of each heading is sewn, with the job's own sizes. Common practice, no source."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

from nesting.headings.back_tab import BackTab
from nesting.headings.clip_ring import ClipRing
from nesting.headings.grommet import Grommet
from nesting.headings.pencil_pleat import HOOKS_APART, PencilPleat
from nesting.headings.pinch_pleat import PinchPleat
from nesting.headings.rod_pocket import RodPocket
from nesting.headings.tab_top import TabTop
from nesting.headings.tabs import tab_width
from nesting.packet.facts import WindowFacts
from nesting.pieces.piece import HeadingPlan


def on_the_rod(facts: WindowFacts) -> str:
    """How a finished panel comes on its rod or track."""
    said = facts.style.on_the_rod
    if facts.style.pleated and facts.making.hangs_from == "rings":
        return f"Slide a ring for each hook on the rod before it goes on its brackets. {said}"
    return said


def top_steps(facts: WindowFacts) -> Iterator[str]:
    """The steps of the window's heading."""
    return _TOPS[facts.window.heading](facts)


def _count(facts: WindowFacts) -> str:
    """How many of its marks come on each panel."""
    counts = sorted({sum(spot.kind != "space" for spot in head.spots) for head in facts.headings})
    return " or ".join(str(count) for count in counts) or "the"


def mirrored(head: HeadingPlan) -> bool:
    """Whether its marks are alike from both ends, so that folding can check them."""
    marks = [spot for spot in head.spots if spot.kind != "space"]
    sums = [one.start + other.end for one, other in zip(marks, reversed(marks), strict=True)]
    return not sums or max(sums) - min(sums) <= 2


def _mark(facts: WindowFacts, what: str, start: str = "left edge, as seen from the front,") -> str:
    return (
        f"Mark the {what} from the strip and table of the arithmetic page, {_count(facts)} on each panel, "
        f"measured from the {start} each time and not from mark to mark, so that small faults do not add "
        f"up. {_check_of_marks(facts)}"
    )


def _check_of_marks(facts: WindowFacts) -> str:
    """Folding shows a fault only where the marks are alike from both ends."""
    say = facts.making.say
    if all(mirrored(head) for head in facts.headings):
        return (
            "To check by folding: bring the very first line and the very last line together; all others must "
            "meet in pairs, and a line in the middle must lie in the fold."
        )
    ends = [
        f"{'it' if head.side == 'single' else f'on the {head.side} panel it'} is {say(head.spots[-1].end)} "
        f"from the left edge of {say(head.width)}"
        for head in facts.headings
        if head.spots
    ]
    return (
        "Do not check by folding: the marks are not alike from both ends, because they keep clear of the "
        f"seams. Measure the very last line once more instead: {'; '.join(ends)}."
    )


def _tabs(facts: WindowFacts) -> str:
    making = facts.making
    say, width = making.say, tab_width(making)
    return (
        f"Tabs: fold each strip lengthwise right sides together, sew {say(making.seam)} from the edge, "
        f"turn, center the seam at the back and {facts.pressed(making.window.tab.cloth)}: {say(width)} wide."
    )


def _facing(facts: WindowFacts, depth: int) -> str:
    """The facing made ready: joined, its ends turned in, its lower edge finished."""
    making, order = facts.making, facts.window.facing
    say, press = making.say, facts.pressed(order.cloth)
    copies = sum(piece.copies for piece in facts.pieces_of("facing"))
    joins = ""
    if copies > len(facts.panels) * facts.window.count:
        joins = (
            f"join its parts in their order right sides together with seams of {say(making.seam)} and "
            f"{press} the seams open; "
        )
    lower = (
        f"turn its lower edge under {say(making.seam)}"
        if order.lower_edge == "turned"
        else "overcast its lower edge"
    )
    wide = " or ".join(dict.fromkeys(say(panel.flat) for panel in facts.panels))
    return (
        f"Facing: {joins}turn in both ends {say(making.seam)}, so that it is {wide} wide like its panel, "
        f"and {press}; {lower}. Chalk a line {say(making.seam)} below its upper edge: this is the top line. "
        f"From there it reaches {say(depth)} down."
    )


def _facing_on(facts: WindowFacts) -> str:
    making = facts.making
    say = making.say
    lower = (
        "slip-stitch its ends and its lower edge to hems and lining"
        if facts.window.lining is not None
        else "slip-stitch its ends to the side hems, a hair shy of the edges"
    )
    return (
        "Lay the facing on the panel right sides together, its upper edge on the cut line, and sew "
        f"{say(making.seam)} from the edge, on the top line. Grade the seam, turn the facing to the back, "
        f"understitch and {facts.pressed()}; {lower}."
    )


def _back_tab(facts: WindowFacts) -> Iterator[str]:
    style, making = BackTab(), facts.making
    say = making.say
    yield _tabs(facts)
    yield (
        f"Turn under both ends of each tab {say(making.seam)}: it is a loop {say(style.loop(making).total)} "
        "long. Pin the ends of one flat to a scrap, slide the rod through, and only then finish the rest."
    )
    yield _facing(facts, style.top_cover(making))
    # The marks are alike from both ends, so the facing may be marked as it lies.
    yield _mark(facts, "loop centers on the right side of the facing", "left end")
    yield (
        "Sew the loops flat on the right side of the facing before it is sewn to the panel: the upper end of "
        f"each {say(style.loop_start(making).total)} below the top line, the lower end "
        f"{say(style.loop_end(making).total)} below it, the seam of the tab underneath. Stitch each end "
        "along its fold and bar-tack it: the loops carry the whole weight. Nothing is sewn through the face."
    )
    yield _facing_on(facts)


def _tab_top(facts: WindowFacts) -> Iterator[str]:
    style, making = TabTop(), facts.making
    say = making.say
    loop = next((s.total for head in facts.headings for s in head.steps if s.target == "finished tab"), 0)
    yield _tabs(facts)
    yield (
        f"Each is a loop {say(loop)} long between the seams at its ends, {say(making.seam)} from the raw "
        "ends. Fold one in half, try it on the rod with the panel pinned to it, and only then make the rest."
    )
    yield _facing(facts, style.top_cover(making))
    yield _mark(facts, "tabs, the first and the last at the edges,")
    yield (
        "Lay each tab, folded in half, on the right side of the panel at its marks, raw ends on the cut "
        f"line, and baste it less than {say(making.seam)} from the edge."
    )
    yield _facing_on(facts)


def _rod_pocket(facts: WindowFacts) -> Iterator[str]:
    style, making = RodPocket(), facts.making
    say, head = making.say, style.heading_depth(making)
    deep, pocket = style.top_cover(making), style.pocket(making).total
    upper = f"{say(head)} below the fold and again " if head else ""
    yield (
        f"Top: turn the raw edge under {say(style.turn(making))}, fold the top to the back on the top line, "
        f"so that {say(deep)} lies below the fold, and {facts.pressed()}. Stitch {upper}{say(deep)} below "
        f"it, just inside the turned edge: the pocket is {say(pocket)} deep."
    )


def _pinch_pleat(facts: WindowFacts) -> Iterator[str]:
    style, making = PinchPleat(), facts.making
    say, deep = making.say, style.buckram(making)
    yield (
        f"Buckram, {say(deep)} deep: cut it as long as the panel is wide and lay it on the wrong side, its "
        f"lower edge along the top line. Fold the upper {say(deep)} over it, then fold both to the back on "
        f"the top line: the buckram is wrapped all around, and {say(style.top_allowance(making).total)} of "
        f"fabric is in the cuff. {facts.pressed().capitalize()} and baste."
    )
    if not any(head.spots for head in facts.headings):
        return
    yield _mark(facts, "pleats and spaces")
    yield (
        "Bring the two lines of each pleat together, wrong sides in, and sew from the top to the lower edge "
        "of the buckram. Part the loop into three equal folds, pinch, and tack at the lower edge by hand."
    )
    hook = say(style.above_hanger(making).total)
    yield (
        f"Set a hook behind each pleat and one at each edge: the eye it hangs from is {hook} below the top "
        "edge."
    )


def _grommet(facts: WindowFacts) -> Iterator[str]:
    style, making = Grommet(), facts.making
    say, deep = making.say, style.header(making)
    yield (
        f"Header: cut the stiffener {say(deep)} deep and {say(style.stiffener_short(making))} narrower than "
        "the panel. Fuse or baste it to the wrong side just below the top line, fold the top down "
        f"{say(deep)} twice over it, the last fold on the top line, and sew the lower edge."
    )
    yield _mark(facts, "grommet centers")
    hole = say(style.above_hanger(making).total)
    yield (
        f"Lay one ring on each mark, the upper edge of its hole {hole} below the top edge, and look along "
        "the row before anything is cut. Cut the holes a little small, in face and stiffener together, and "
        "set the rings on a hard table."
    )


def _clip_ring(facts: WindowFacts) -> Iterator[str]:
    say = facts.making.say
    hem = ClipRing().hem(facts.making)
    if hem:
        yield (
            f"Top hem: {say(hem)} turned twice, the last fold on the top line; {facts.pressed()} and sew it. "
            "The clips hold all its layers."
        )
    yield _mark(facts, "rings")


def _pencil_pleat(facts: WindowFacts) -> Iterator[str]:
    style, making = PencilPleat(), facts.making
    say, tape, turn = making.say, style.tape(making), style.top_allowance(making).total
    turned = f"fold {say(turn)} to the back on the top line and {facts.pressed()}. " if turn else ""
    yield (
        f"Top: {turned}Knot the cords of the tape, {say(tape)} deep, at the leading edge, lay it over the "
        "raw edge, its upper edge level with the top edge, ends turned under, and sew along both long edges "
        "in the same direction."
    )
    widths = " or ".join(sorted({say(panel.finished) for panel in facts.panels}))
    yield (
        f"Draw the cords up until the panel is {widths} wide, knot them without cutting, share out the "
        f"pleats, and set the hooks in the {making.window.hook_row} row, "
        f"{say(style.above_hanger(making).total)} below the top edge, about "
        f"{say(HOOKS_APART.of(facts.unit))} apart."
    )


_TOPS: Final[dict[str, Callable[[WindowFacts], Iterator[str]]]] = {
    "back-tab": _back_tab,
    "tab-top": _tab_top,
    "rod-pocket": _rod_pocket,
    "pinch-pleat": _pinch_pleat,
    "grommet": _grommet,
    "clip-ring": _clip_ring,
    "pencil-pleat": _pencil_pleat,
}
