"""How the panels of a window are made up, from cut pieces to hem. Common practice, no source.

Every size is one of the plan's sums: cut size, what is cut off, folds and seams lead to the finished size.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import Final

from nesting.cutting.layers import (
    TOP_TURN,
    hemmed_lining,
    lining_gap,
    lining_overlap,
    lining_top,
    lining_tucked,
    tube_wrap,
)
from nesting.cutting.measures import above_top_line, joined_width, left_hem, lying_length, right_hem, trimmed
from nesting.headings.making import measure
from nesting.order.job import Band
from nesting.packet.facts import WindowFacts, listed, plural, times
from nesting.packet.tops import on_the_rod
from nesting.pieces.piece import AS_IT_HANGS, PanelPlan
from nesting.pieces.washing import LEFT, after_washing, kept
from nesting.units import round_nearest

#: How far apart a selvage is clipped; how much of a band stays open until the hem is level.
CLIPS: Final = measure("4", "10")
OPEN_BAND: Final = measure("6", "15")
#: Roles of the pieces that have a hem line.
_HEMMED: Final = ("panel", "lining")


def washed_first(facts: WindowFacts) -> Iterator[str]:
    """Pieces cut larger for what a wash takes are washed before they are sewn: sizes are those after it."""
    say = facts.making.say
    for fabric in facts.fabrics:
        sizes = dict[str, dict[str, None]]()
        across = kept(fabric.shrinkage.width) if fabric.shrinkage is not None else Fraction(1)
        for piece in facts.pieces:
            sums = (piece.length_steps, piece.width_steps)
            if piece.fabric == fabric.key and any(term.label == LEFT for one in sums for term in one.terms):
                role = "panel width" if piece.role == "panel" else piece.role
                long = f"{role} {say(piece.length)} to {say(after_washing(piece.length_steps).exact)} long"
                wide = round_nearest(piece.width * across, facts.making.grid)
                sizes.setdefault(long, {})[f"{say(piece.width)} to {say(wide)}"] = None
        if sizes:
            said = [f"{long} ({listed(list(wide))} wide)" for long, wide in sizes.items()]
            yield (
                f"Wash first: the pieces of {fabric.title} were cut larger for it. Chalk and paper do not "
                "outlast it: take the labels off, and write each number and an arrow to TOP with a laundry "
                "pen on the wrong side, at an edge. Zigzag the raw edges, wash and dry the pieces the way "
                f"the drapes will be washed, {facts.pressed(fabric.key)} them flat, and pin the labels on "
                f"again. They shrink to about these sizes: {'; '.join(said)}. All sizes below are those "
                "after washing; labels and marker give those before it."
            )


def as_it_hangs(facts: WindowFacts) -> Iterator[str]:
    """Pieces that were cut before a panel hung: their hem line lies elsewhere, their hem is another."""
    say, lines = facts.making.say, dict[tuple[int | None, str, str], dict[str, None]]()
    for piece in facts.pieces:
        for note in piece.notes:
            if note.startswith(AS_IT_HANGS):
                what = piece.name.removeprefix(f"{facts.window.name}, ")
                lines.setdefault((piece.hem_line, piece.role, note), {})[what] = None
    for (line, role, note), names in lines.items():
        low = f"their hem line is {say(line)} above the lower cut edge; " if line and role in _HEMMED else ""
        yield (
            f"Cut before the first panel hung: {listed(list(names))}: {low}{note.removeprefix(AS_IT_HANGS)}. "
            "Join widths with their hem lines level, whatever their edges do; this goes before "
            "the sizes of the steps below."
        )


def joining(facts: WindowFacts) -> Iterator[str]:
    """The widths of each panel become one."""
    joined = [panel for panel in facts.panels if panel.seams]
    if not joined:
        return
    making = facts.making
    say, pattern = making.say, facts.fabric.repeat is not None
    lines = [
        f"{_name(panel).capitalize()}: {plural(len(panel.cuts), 'width')} make "
        f"{say(_across(facts, panel))} across, and "
        f"once hemmed the {'seams lie' if len(panel.seams) > 1 else 'seam lies'} "
        f"{listed([say(at) for at in panel.seams])} from the left edge at the front"
        for panel in joined
    ]
    yield (
        "Join the widths of each panel right sides together, "
        f"{'the pattern meeting at the seam line, which brings the ' if pattern else ''}lower cut edges "
        f"level, {say(making.seam)} from the edge, "
        f"{_direction(facts)}. {_selvages(facts, facts.window.fabric)} Finish the edges together and "
        f"{facts.pressed()} them to one side, away from the light. {'. '.join(lines)}."
    )


def _selvages(facts: WindowFacts, key: str) -> str:
    """A selvage stays in a seam only where the sizes reach into it."""
    if key in facts.clipped:
        return f"Clip a selvage in the seam every {facts.making.say(CLIPS.of(facts.unit))}: it draws up."
    return "The sizes are without selvage: cut off any that is still at a seam before you sew it."


def _direction(facts: WindowFacts) -> str:
    """Which way a long seam is sewn; with the nap on pile."""
    if not facts.pile:
        return "from hem to top"
    return f"with the nap, from {'hem to top' if facts.fabric.arrow == 'up' else 'top to hem'}"


def _name(panel: PanelPlan) -> str:
    return f"{panel.key.replace('-', ' ')} panel"


def _across(facts: WindowFacts, panel: PanelPlan) -> int:
    hanging = next(one for one in facts.hangings if one.key == panel.key)
    return joined_width(facts.making, hanging, panel.flat).total


def chalking(facts: WindowFacts) -> Iterator[str]:
    """The lines of every panel, from the lower cut edge up, and what is cut off above them."""
    making = facts.making
    say, hem = making.say, making.bottom_hem.allowance
    above, lying = above_top_line(making).total, lying_length(making).total
    low = f"the hem line {say(hem)} up" if hem else "the lower edge is the hem line"
    start = "lower cut edge" if hem else "lower edge, the selvage,"
    cut = f"the cut line {say(above)} above the top line" if above else "the top line is the cut line too"
    spare = next((trimmed(making, piece.length_steps).total for piece in facts.pieces_of("panel")), 0)
    off = f": about {say(spare)}, which was cut for squaring up" if spare else ""
    yield (
        f"Chalk these lines on the wrong side of each panel, measured up from the {start} at both "
        f"sides and in the middle: {low}; the top line {say(lying)} above the hem line; {cut}. Cut off what "
        f"is above the cut line{off}."
    )
    yield from _side_folds(facts)


def _side_folds(facts: WindowFacts) -> Iterator[str]:
    making = facts.making
    say, same = making.say, dict[str, list[str]]()
    for panel, hanging in zip(facts.panels, facts.hangings, strict=True):
        left, right = left_hem(making, hanging).allowance, right_hem(making, hanging).allowance
        if left or right:
            start = f"the left one {say(left)} from the left edge" if left else "none at the left edge"
            end = f"the right one {say(panel.flat)} from it" if right else "none at the right edge"
            same.setdefault(
                f"{start}, {end}; {say(right)} is left beyond it" if right else f"{start}, {end}", []
            ).append(_name(panel))
    if same:
        lines = [f"{listed(names).capitalize()}: {words}" for words, names in same.items()]
        yield f"Chalk the side folds, left and right as seen from the front. {'. '.join(lines)}."


def interlining(facts: WindowFacts) -> Iterator[str]:
    """Interlining lies between the lines before anything is folded over it."""
    making = facts.making
    if making.window.interlining is None:
        return
    say, lying = making.say, say_each(facts, (panel.flat for panel in facts.panels))
    seams = (
        f"join its widths with seams of {say(making.seam)}, then lay it"
        if _pieced(facts, "interlining")
        else "lay it"
    )
    yield (
        f"Interlining: {seams} on the wrong side of the face inside the chalked lines, {lying} wide and "
        f"{say(lying_length(making).total)} long. Lock it to the face with long loose stitches in rows, and "
        "along the top line; hems and sides are folded over its edges."
    )


def say_each(facts: WindowFacts, sizes: Iterable[int]) -> str:
    """Different sizes of a window's panels: ``63 in or 64 in``."""
    return " or ".join(dict.fromkeys(facts.making.say(size) for size in sizes))


def _pieced(facts: WindowFacts, role: str) -> bool:
    return any(piece.joined_to for piece in facts.pieces if piece.role == role)


def hemming(facts: WindowFacts) -> Iterator[str]:
    """The bottom hem, basted only: it is sewn when the drape has hung."""
    making, hem = facts.making, facts.making.bottom_hem
    say = making.say
    if not hem.allowance:
        yield "Bottom: the selvage is the hem; leave it as it is."
        return
    yield (
        f"Bottom hem: turn up {say(hem.turn)} {times(hem.turns)}, the last fold on the hem line; "
        f"{facts.pressed()} and baste it. It is {say(hem.finished)} deep. Do not sew it yet: it is leveled "
        "and sewn when the drape has hung."
    )


def leading_bands(facts: WindowFacts) -> Iterator[str]:
    """Bands along the leading edge, stitched on before sides and top are folded."""
    making = facts.making
    say, lying = making.say, lying_length(making).total
    for band in making.window.bands:
        if band.edge == "leading":
            stays = (
                f", but leave the lowest {say(OPEN_BAND.of(making.unit))} open until the hem has been leveled"
                if making.bottom_hem.allowance
                else " and the lower end"
            )
            yield (
                f"Leading-edge band: turn in all its edges {say(making.seam)}: it is {say(band.width)} wide "
                f"and {say(lying)} long. Lay it on the right side of the panel, its lower end on the hem "
                "line, its upper end on the top line, one long edge along "
                f"{_leading_line(facts)}. Stitch both long edges{stays}."
            )


def _leading_line(facts: WindowFacts) -> str:
    edge = "each side edge" if facts.hangings[0].leading is None else "the leading edge"
    return f"the side fold of {edge}" if facts.making.leading_hem.allowance else edge


def siding(facts: WindowFacts) -> Iterator[str]:
    """The sides: sewn, left open for a lining, or part of a tube."""
    making = facts.making
    say, lined = making.say, making.window.lining is not None
    if lined and making.window.lining_style == "tube":
        return
    hems = {"Side hems": making.leading_hem}
    if making.leading_hem != making.outer_hem:
        hems = {"Leading edge": making.leading_hem, "Outer edge": making.outer_hem}
    down = (
        "to the top of the bottom hem, no further: the corners are closed when the drape has hung"
        if making.bottom_hem.allowance
        else "to the lower edge"
    )
    after = (
        "pin them, but leave them open: the lining goes under them"
        if lined
        else f"sew by hand or with a blind stitch from the top down {down}"
    )
    for name, hem in hems.items():
        if hem.allowance:
            both = " at both edges" if name == "Side hems" else ""
            yield (
                f"{name}: {say(hem.turn)} turned {times(hem.turns)}{both}, the last fold on the side fold; "
                f"{facts.pressed()}, then {after}."
            )
        else:
            yield f"{name}: the selvage stays as it is."


def lining(facts: WindowFacts) -> Iterator[str]:
    """The lining, hemmed by itself, tucked under the open side hems or sewn on as a tube."""
    making, hem = facts.making, facts.making.lining_hem
    if making.window.lining is None:
        return
    say, key = making.say, making.window.lining
    first = ""
    if _pieced(facts, "lining"):
        off = "" if key in facts.clipped else ", every selvage cut off"
        first = f"join its widths with seams of {say(making.seam)}{off}; "
    hemmed = f"turn its hem up {say(hem.turn)} {times(hem.turns)} and sew it; " if hem.allowance else ""
    top = (
        "raw top"
        if lining_tucked(making)
        else f"top, turned under {say(TOP_TURN.of(making.unit))} and {facts.pressed(key)}ed,"
    )
    yield (
        f"Lining: {first}{hemmed}from its {top} to its lower edge it is then "
        f"{say(hemmed_lining(making).total)} long."
    )
    yield _tube(facts) if making.window.lining_style == "tube" else _tucked(facts)


def _top_of_lining(facts: WindowFacts) -> str:
    making = facts.making
    say, at = making.say, lining_top(making).exact
    side = f"{say(abs(at))} {'below' if at >= 0 else 'above'} the top line"
    if lining_tucked(making):
        cover, deep = facts.style.cover_name, say(lining_overlap(making).exact)
        return f"its raw top {side}, where the {cover} comes down over it by {deep}"
    return f"its turned top {side}, sewn to the face by hand"


def _tucked(facts: WindowFacts) -> str:
    making = facts.making
    say, wide = making.say, say_each(facts, (panel.flat for panel in facts.panels))
    selvages = (
        ""
        if making.leading_hem.allowance and making.outer_hem.allowance
        else f" Where the edge is a selvage, turn the lining under {say(making.seam)} and slip-stitch it "
        "there."
    )
    return (
        f"Lay the lining, {wide} wide, wrong side down on the back: its lower edge {say(lining_gap(making))} "
        f"above the hem line, {_top_of_lining(facts)}. Slip its raw side edges under the open side hems as "
        f"far as the side folds and pin from the hem upward on a flat table.{selvages} Sew hems and lining "
        f"in one from the top down to {_stop(facts)}."
    )


def _stop(facts: WindowFacts) -> str:
    """Where the sides stop: nothing waits where no hem is leveled."""
    if facts.making.bottom_hem.allowance:
        return "the top of the bottom hem; leave the rest open until the drape has hung"
    return "the hem of the lining, and the side hems on to the lower edge"


def _tube(facts: WindowFacts) -> str:
    making = facts.making
    say, seam = making.say, making.seam
    wraps = dict.fromkeys(say(tube_wrap(hem, seam).exact) for hem in (making.leading_hem, making.outer_hem))
    wrap = (
        f"{next(iter(wraps))} at each side"
        if len(wraps) == 1
        else (
            f"{say(tube_wrap(making.leading_hem, seam).exact)} at the leading edge and "
            f"{say(tube_wrap(making.outer_hem, seam).exact)} at the outer edge"
        )
    )
    waits = "; at the bottom hem only when the drape has hung" if making.bottom_hem.allowance else ""
    return (
        f"Lay lining and face right sides together, the lower edge of the lining {say(lining_gap(making))} "
        f"above the hem line, {_top_of_lining(facts)}. Sew both sides {say(seam)} from the edge, "
        f"{_direction(facts)}, and turn. The side folds come to lie at the edges: the face comes round to "
        f"the back {wrap}, and the panel is {say_each(facts, (panel.flat for panel in facts.panels))} wide. "
        "Above and below the lining fold the sides back on the side folds, turn the raw edges under "
        f"{say(seam)} and slip-stitch{waits}."
    )


def finishing(facts: WindowFacts) -> Iterator[str]:
    """Measured flat, hung, leveled, sewn for good."""
    making = facts.making
    say, taken = making.say, facts.style.rod_take_up(making)
    wide = say_each(facts, (panel.finished if facts.drawn_in else panel.flat for panel in facts.panels))
    drawn = "drawn in" if facts.drawn_in else "across"
    hung = f" On the rod it is {say(making.finished.total)}: the rod takes up {say(taken)}." if taken else ""
    yield (
        "Measure each panel lying flat, from top edge to hem edge at both sides and in the middle: "
        f"{say(lying_length(making).total)}; {drawn}, {wide}.{hung}"
    )
    yield _leveling(facts)
    yield from _hem_bands(facts)
    if making.window.tiebacks:
        count = making.window.count
        words = [
            f"{t.count * count}, each {say(t.length)} long and {say(t.width)} wide"
            for t in making.window.tiebacks
        ]
        yield (
            f"Tie-backs: {listed(words)}. Fold each lengthwise right sides together, sew the long edge and "
            f"one end {say(making.seam)} from the edge, turn, turn in the other end {say(making.seam)} and "
            "close it; a ring at each end."
        )


def _leveling(facts: WindowFacts) -> str:
    making = facts.making
    say, window = making.say, making.window
    if not making.bottom_hem.allowance:
        return f"{on_the_rod(facts)} Look along the lower edge after two or three days: it must hang level."
    rest = ["close the corners (mitered or folded)"]
    if window.lining is not None:
        rest.append("sew the sides of the lining down to its hem")
    if any(band.edge == "leading" for band in window.bands):
        rest.append("stitch the lower end of the band")
    return (
        f"{on_the_rod(facts)} Let each panel hang for two or three days, because fabric drops, and not "
        f"evenly. Level the hem edge at {say(making.finished.total)} from the top edge, sew the hem, "
        f"{listed(rest)}, and put a weight in each corner."
    )


def _hem_bands(facts: WindowFacts) -> Iterator[str]:
    for number, band in enumerate(facts.window.bands, 1):
        if band.edge == "hem":
            yield _hem_band(facts, band, number)


def _hem_band(facts: WindowFacts, band: Band, number: int) -> str:
    making = facts.making
    say, seam = making.say, making.say(making.seam)
    name = "band" if len(facts.window.bands) == 1 else f"band-{number}"
    parts = [piece for piece in facts.pieces_of("band") if f"/{name}" in piece.id]
    copies = sum(piece.copies for piece in parts)
    pieced = copies > len(facts.panels) * facts.window.count
    join = f"join its parts in line with seams of {seam}; " if pieced else ""
    wide = say_each(facts, (panel.flat for panel in facts.panels))
    return (
        f"Hem band, when the hem is sewn: {join}turn in all its edges {seam}, so that it is {wide} wide "
        f"and {say(band.width)} deep. Lay it on the right side, its lower edge level with the hem edge, its "
        "ends level with the side edges, stitch both long edges and slip-stitch the ends."
    )
