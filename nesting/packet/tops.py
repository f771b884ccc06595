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


def top_steps(facts: WindowFacts) -> Iterator[str]:
    """The steps of the window's heading."""
    return _TOPS[facts.window.heading](facts)


def _count(facts: WindowFacts) -> str:
    """How many of its marks come on each panel."""
    counts = sorted({sum(spot.kind != "space" for spot in head.spots) for head in facts.headings})
    return " or ".join(str(count) for count in counts) or "the"


def _mark(facts: WindowFacts, what: str) -> str:
    return (
        f"Mark the {what} from the strip and table of the arithmetic page, {_count(facts)} on each panel, "
        "measured from the left edge each time and not from mark to mark, so that small faults do not add "
        "up. To check by folding: bring the first and the last mark together; the fold must fall on the "
        "middle mark, or halfway between two."
    )


def _tabs(facts: WindowFacts, loop: int) -> Iterator[str]:
    making = facts.making
    say, width = making.say, tab_width(making)
    yield (
        f"Tabs: fold each strip lengthwise right sides together, sew {say(making.seam)} from the edge, "
        f"turn, centre the seam at the back and press. Each is then {say(width)} wide and, between its "
        f"seams, {say(loop)} long. Make one, try it on the rod with the panel pinned to it, then the rest."
    )


def _facing(facts: WindowFacts, depth: int, how: str) -> str:
    making = facts.making
    say = making.say
    order = making.window.facing
    lower = (
        f"turn its lower edge under {say(making.seam)}"
        if order.lower_edge == "turned"
        else "overcast its lower edge"
    )
    return (
        f"Facing: {lower}; {how}; lay the facing right sides together on the top edge, sew "
        f"{say(making.seam)} from the edge, grade the seam, turn it to the back, understitch, and press. "
        f"It reaches {say(depth)} down; its ends are turned in a hair shy of the side edges and "
        "slip-stitched."
    )


def _back_tab(facts: WindowFacts) -> Iterator[str]:
    style, making = BackTab(), facts.making
    loop = style.loop(making).total
    yield from _tabs(facts, loop)
    yield _mark(facts, "tab centres")
    how = (
        "lay the tabs flat on the back of the panel, upper ends level with the top edge, and baste; their "
        "lower ends are sewn down to the facing"
    )
    yield _facing(facts, style.top_cover(making), how)
    yield (
        "Close the lower end of each tab through facing and tab only, not through the face, so that "
        "nothing shows from the room, and bar-tack it: the tabs carry the whole weight."
    )


def _tab_top(facts: WindowFacts) -> Iterator[str]:
    style, making = TabTop(), facts.making
    loop = next((s.total for head in facts.headings for s in head.steps if s.target == "finished tab"), 0)
    yield from _tabs(facts, loop)
    yield _mark(facts, "tabs, the first and the last at the edges,")
    how = (
        "fold each tab in half, raw ends level with the top edge on the right side, and baste it at its marks"
    )
    yield _facing(facts, style.top_cover(making), how)


def _rod_pocket(facts: WindowFacts) -> Iterator[str]:
    style, making = RodPocket(), facts.making
    say, head, pocket = making.say, style.heading_depth(making), style.pocket(making).total
    yield (
        f"Top: turn the raw edge under, fold the top to the back so that {say(head + pocket)} of finished "
        f"back lie below the fold, and press. Stitch {say(head)} below the fold and again "
        f"{say(head + pocket)} below it: the pocket between the rows is {say(pocket)} deep."
    )
    yield "Slide the rod in with a thimble or a bag over its end, and share the gathers evenly."


def _pinch_pleat(facts: WindowFacts) -> Iterator[str]:
    style, making = PinchPleat(), facts.making
    say, deep = making.say, style.buckram(making)
    yield (
        f"Buckram, {say(deep)} deep: cut it to the hemmed width, lay it on the wrong side one depth below "
        "the top edge, fold the top over it once and then once more, so that it is wrapped all round; "
        f"{say(2 * deep)} of cloth go in. Press and baste."
    )
    yield _mark(facts, "pleats and spaces")
    yield (
        "Bring the two marks of each pleat together, wrong sides in, and sew from the top to the lower "
        "edge of the buckram. Part the loop into three equal folds, pinch, and tack at the lower edge by "
        "hand."
    )
    yield "Set a hook behind each pleat and one at each edge, all at one height measured from the top edge."


def _grommet(facts: WindowFacts) -> Iterator[str]:
    style, making = Grommet(), facts.making
    say, deep = making.say, style.header(making)
    yield (
        f"Header: fuse or baste the stiffener, {say(deep)} deep, to the wrong side, fold the top down "
        f"{say(deep)} twice over it, and sew the lower edge."
    )
    yield _mark(facts, "grommet centres")
    yield (
        "Lay one ring on each mark and look along the row before anything is cut. Cut the holes a little "
        "small, in face and stiffener together, and press the rings in on a hard table. The first and "
        "last fold turn to the wall."
    )


def _clip_ring(facts: WindowFacts) -> Iterator[str]:
    say = facts.making.say
    hem = ClipRing().hem(facts.making)
    yield f"Top hem: {say(hem)} turned twice, pressed and sewn; the clips hold all its layers."
    yield _mark(facts, "rings")
    yield "Clip at the marks, the outer rings at the corners, and slide the rings on the rod."


def _pencil_pleat(facts: WindowFacts) -> Iterator[str]:
    style, making = PencilPleat(), facts.making
    say, tape, turn = making.say, style.tape(making), style.top_allowance(making).total
    yield (
        f"Top: press {say(turn)} to the back. Knot the cords of the tape, {say(tape)} deep, at the leading "
        "edge, lay it over the raw edge just below the top, ends turned under, and sew along both long "
        "edges in the same direction."
    )
    widths = " or ".join(sorted({say(panel.finished) for panel in facts.panels}))
    yield (
        f"Draw the cords up until the panel is {widths} wide, knot them without cutting, share out the "
        f"pleats, and set the hooks in the {making.window.hook_row} row, about "
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
