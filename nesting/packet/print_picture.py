"""What the window will look like: its print on the sewn panels, before anything is cut."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction
from typing import Final

from nesting.construction.design_plane import DesignPlane, HungPrint, Vector, design_planes
from nesting.drawing.hung_print import hung_print_figure
from nesting.drawing.trace import trace
from nesting.packet.facts import listed
from nesting.packet.model import Picture
from nesting.plan.plan import Plan
from nesting.units import format_length, grid, round_nearest

#: What stands at the foot of a leaf where no height of the motif is ordered, by the level of the fabric.
_AT_LEVEL: Final = {
    "hem": "the one that you choose for the hem edge when you square the end",
    "top": "the one that you choose for the top edge when you square the end",
    "floor": "the one that you choose for the floor when you square the end",
}


def print_pictures(plan: Plan, width: float) -> Iterator[tuple[str, Picture]]:
    """Each window of a print by name, and its picture ``width`` points wide, drawn when it is asked for."""
    return ((plane.facts.window.name, print_picture(plane, width)) for plane in design_planes(plan))


def print_picture(plane: DesignPlane, width: float) -> Picture:
    """The print of one window as it hangs, with its measures in words."""
    told = " ".join(_told(plane))
    name = plane.facts.window.name
    return Picture(
        trace(hung_print_figure(plane, width=width)),
        f"{name}, the pattern on the sewn panels, to scale. {told}",
        told,
    )


def _told(plane: DesignPlane) -> Iterator[str]:
    fabric = plane.facts.fabric
    foot = "the foot of the motif" if fabric.motif is not None else _AT_LEVEL[fabric.level]
    yield (
        "The pattern as it will hang, worked out from the cuts on the bolt and the sewing steps. The panels "
        "are spread flat: their folds are not drawn. Each leaf is the same spot of the pattern, at its foot: "
        f"{foot}."
    )
    for panel in plane.panels:
        yield f"{_name(panel).capitalize()}: {'; '.join(_of_panel(plane, panel))}."
    yield from _at_leading_edges(plane)
    apart = plane.between()
    if apart is not None and plane.facts.window.pair == "continuous":
        yield f"Where the closed panels meet, {_runs_on(plane, apart)}."


def _name(panel: HungPrint) -> str:
    return f"{panel.hanging.key.replace('-', ' ')} panel"


def _of_panel(plane: DesignPlane, panel: HungPrint) -> Iterator[str]:
    say = plane.facts.making.say
    heights = listed([say(height) for height in plane.above_hem(panel)])
    if heights:
        yield f"leaves {heights} above the hem edge and every {say(plane.lattice.cell[1])} up from there"
    else:
        yield "no leaf falls on it, for it is narrower than a repeat"
    found = plane.first_spot(panel)
    if found is not None:
        edge = "leading edge" if panel.hanging.leading else "left edge"
        high = f"{say(found[1])} above the hem edge" if found[1] else "at the hem edge"
        yield f"the first one {say(found[0])} from the {edge}, {high}"
    words = {
        seam: _runs_on(plane, apart) for seam, apart in zip(panel.seams, plane.misses(panel), strict=True)
    }
    if len(words) > 1 and len(set(words.values())) == 1:
        yield f"at {'both' if len(words) == 2 else 'all'} seams {words[panel.seams[0]]}"
        return
    for seam, said in words.items():
        yield f"at the seam {say(seam)} from the left edge {said}"


def _at_leading_edges(plane: DesignPlane) -> Iterator[str]:
    """Whether the two panels of a pair show the same at their leading edges."""
    window = plane.facts.window
    if window.draw != "pair" or window.pair != "alike" or len(plane.panels) != 2:
        return
    left, right = (plane.first_spot(panel) for panel in plane.panels)
    if left is None or right is None:
        return
    inward, up = (_on_tape(plane, one - other) for one, other in zip(left, right, strict=True))
    if not inward and not up:
        yield "Both leading edges show the same of the pattern."
        return
    say = plane.facts.making.say
    off = [f"{say(abs(up))} {'higher' if up > 0 else 'lower'}"] if up else []
    if inward:
        off.append(f"{say(abs(inward))} {'farther from' if inward > 0 else 'nearer to'} it")
    yield f"At the left panel's leading edge the nearest leaf is {listed(off)} than at the right panel's."


def _on_tape(plane: DesignPlane, size: Fraction) -> int:
    """A length to the nearest step of the tape."""
    step = grid(plane.facts.unit)
    return round_nearest(size / step) * step


def _runs_on(plane: DesignPlane, apart: Vector) -> str:
    """Whether the print runs on, to half a step of the tape."""
    unit = plane.facts.unit
    across, up = (_on_tape(plane, part) for part in apart)
    if not across and not up:
        return "the pattern runs on"
    off = [
        f"{format_length(Fraction(abs(size)), unit)} {toward[size > 0]}"
        for size, toward in ((up, ("too high", "too low")), (across, ("too far right", "too far left")))
        if size
    ]
    return f"it does not run on: right of it the pattern stands {listed(off)}"
