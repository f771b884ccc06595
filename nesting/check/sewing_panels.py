"""The sewn panels of a window against what was ordered of them: width, length, hems, edges, seams, layers.

Everything is measured on the works that sewing made; sizes that the document states are not read.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import Final, Literal

from nesting.check.sewing_marks import Top
from nesting.check.sewing_ordered import HemOrdered, WindowOrdered
from nesting.check.sewing_prints import SewnPanel
from nesting.check.sewing_tops import TOPS, TopRules
from nesting.check.violation import Breach, Violation
from nesting.sewing import Edge, HungPanel, SewingError, Work, hang
from nesting.sewing.work import SIDES
from nesting.units import round_nearest

#: Two lengths that differ by no more ticks than this are one: they went through a rounding each.
ROUNDED: Final = 2
_SIDES: Final[tuple[Literal["left", "right"], ...]] = ("left", "right")


def check_panel(panel: SewnPanel, rules: TopRules | None) -> Iterator[Violation]:
    """Everything that is wrong with one sewn panel, its layers and its print aside."""
    yield from _check_flat(panel, rules)
    yield from _check_drawn(panel, rules)
    yield from _check_length(panel, rules)
    yield from _check_hems(panel)
    yield from check_edges(panel.name, panel.work)
    yield from _check_seams(panel)
    if rules is not None:
        top = Top(panel.window, panel.ordered, panel.work, panel.name)
        yield from rules.check(top)
        if panel.work.carriers:
            yield from top.passes()


def drape(panel: SewnPanel, what: str, asked: str, amount: Fraction | int = 0) -> Violation:
    """Something of a panel that is not as ordered."""
    ticks = abs(round_nearest(Fraction(amount)))
    return Violation(Breach.SEWING, f"{panel.name}: {what}", asked, ticks)


def _check_flat(panel: SewnPanel, rules: TopRules | None) -> Iterator[Violation]:
    """As wide as its fullness asks: not narrower, and wider only by what rounding up its widths allows."""
    window = panel.window
    fullness = window.fullness or (None if rules is None else rules.fullness)
    if fullness is None and window.said("flat_width") is None:
        return
    asked = window.flat(panel.ordered, fullness or Fraction(0))
    made, more = panel.work.width, most_over(panel)
    if made < asked - ROUNDED:
        yield drape(
            panel, f"{float(made):.10g} wide lying flat", f"{float(asked):.10g} ordered", asked - made
        )
    elif made > asked + more:
        what = f"{float(made):.10g} wide lying flat"
        yield drape(
            panel, what, f"{float(asked):.10g} ordered, and {more} that rounding may add", made - asked
        )


def most_over(panel: SewnPanel) -> int:
    """How much wider than ordered a panel may be: a step of the tape for each width, and whole widths.

    Part-widths rounded up to half or whole ones, as ordered, add less than a width. Those of a print are
    widened where a strip would be a sliver, and where all of one width is taken from selvage to selvage.
    """
    window, widths = panel.window, max(1, len(panel.work.strips))
    steps = window.step * widths
    fabric = max((piece.size[0] for piece in panel.pieces.values() if piece.role == "panel"), default=0)
    if window.word("widths", "exact") != "exact":
        # Where a full width lies between two part-widths, both are rounded up.
        return steps + fabric * (2 if widths > 2 else 1)
    if window.fabric.table_or_none("repeat") is not None:
        least = window.either("least_part_width", "least part")
        return steps + least + 2 * window.seam + max(hem.allowance for hem in _side_hems(panel))
    return steps


def _side_hems(panel: SewnPanel) -> Iterator[HemOrdered]:
    for edge in _SIDES:
        said = panel.window.side_hem(panel.ordered, edge)
        usual = panel.window.usual_hem("outer_hem")
        yield said if not said.selvage or panel.work.edge(edge).finish == "selvage" else usual


def _check_drawn(panel: SewnPanel, rules: TopRules | None) -> Iterator[Violation]:
    """A pleated panel is drawn in to what it covers, its returns and its overlap."""
    work, dressed = panel.work, panel.ordered.dressed
    if rules is None or not rules.drawn:
        return
    made = work.width if work.drawn is None else work.drawn
    if work.drawn is None and work.width <= dressed:
        return
    if abs(made - dressed) > panel.window.step:
        what = f"{float(made):.10g} wide once drawn in"
        yield drape(panel, what, f"{float(dressed):.10g} ordered", made - dressed)


def hung_panel(panel: SewnPanel) -> HungPanel | None:
    """The panel on its rod; None where nothing carries it level, which `Top.passes` tells of."""
    try:
        return hang(panel.work, panel.window.rod)
    except SewingError:
        return None


def _check_length(panel: SewnPanel, rules: TopRules | None) -> Iterator[Violation]:
    """As long as ordered once it hangs, or its hem at its clearance from what it hangs from."""
    window, step = panel.window, panel.window.step
    asked = window.said("finished_length")
    hung = None if rules is None else hung_panel(panel)
    if hung is None:
        if rules is not None and not panel.work.carriers:
            yield drape(panel, "carried by nothing", "what it hangs from")
        if asked is not None and rules is None and abs(panel.work.length - asked) > step + window.rod.thick:
            what = f"{float(panel.work.length):.10g} long lying flat"
            yield drape(panel, what, f"{asked} ordered", panel.work.length - asked)
        return
    if asked is not None:
        if abs(hung.length - asked) > step:
            what = f"{float(hung.length):.10g} long as it hangs"
            yield drape(panel, what, f"{asked} ordered", hung.length - asked)
        return
    height = hanger_height(window, rules)
    if height is None:
        yield drape(panel, "no length", "a length or a height ordered")
    else:
        hem, clear = height + hung.top - hung.length, clearance(window)
        if abs(hem - clear) > step + 1:
            yield drape(panel, f"hem {float(hem):.10g} above the floor", f"{clear} ordered", hem - clear)


def clearance(window: WindowOrdered) -> int:
    """How far the hem hangs above the floor; below 0 where it lies on it."""
    value = window.at.value("clearance", None)
    if type(value) is int:
        return value
    return window.either("clearance", "clearance")


def hanger_height(window: WindowOrdered, rules: TopRules | None) -> Fraction | None:
    """How high above the floor what carries the panels is; None where the order says too little."""
    if rules is None:
        return None
    rod, way = window.said("rod_height"), window.hangs_from(rules.rings, rules.track)
    if way == "track":
        eye = window.said("eye_height")
        return None if eye is None else Fraction(eye)
    if rod is None:
        return None
    if way == "rod":
        return Fraction(rod)
    drop = window.said("ring_drop")
    if drop is None:
        if rules.drop is None:
            return None
        return rod - window.rod.thick - window.of(rules.drop)
    return Fraction(rod - drop)


def _check_hems(panel: SewnPanel) -> Iterator[Violation]:
    """Bottom and sides are hemmed as ordered, turn by turn, and sewn; a selvage is only where it was."""
    window, work = panel.window, panel.work
    yield from _check_hem(panel, "bottom", window.hem("bottom_hem"), window.usual_hem("bottom_hem"))
    tube = window.at.value("lining", None) is not None and window.word("lining_style", "tucked") == "tube"
    for edge in _SIDES:
        ordered = window.side_hem(panel.ordered, edge)
        if tube and ordered.folded:
            wrap, made = ordered.allowance - window.seam, work.edge(edge)
            if made.finish != "fold" or made.inner != "seam" or abs(made.depth - wrap) > ROUNDED:
                yield drape(panel, f"{edge} edge: {edge_words(made)}", f"a tube, {wrap} at the back")
        elif not tube:
            yield from _check_hem(panel, edge, ordered, window.usual_hem("outer_hem"))


def _check_hem(
    panel: SewnPanel, edge: Literal["left", "right", "bottom"], ordered: HemOrdered, usual: HemOrdered
) -> Iterator[Violation]:
    made, window_hung = panel.work.edge(edge), panel.window.hung and edge == "bottom"
    if ordered.selvage and made.finish == "selvage":
        return
    asked = usual if ordered.selvage and edge != "bottom" else ordered
    turns = asked.folded
    if ordered.selvage and edge == "bottom":
        yield drape(panel, f"bottom edge: {edge_words(made)}", "the selvage ordered")
    elif not turned_as(window_hung, made.turns, turns) or (made.finish == "fold") != bool(turns):
        words = "no hem ordered" if not turns else f"{len(turns)} turns of {asked.turn} ordered"
        yield drape(panel, f"{edge} edge: {edge_words(made)}", words)
    if made.finish == "fold" and made.held != "sewn":
        yield drape(panel, f"{edge} hem {made.held}", "sewn")
    if made.over:
        yield drape(panel, f"{edge} hem over {made.over}", "fabric alone")


def turned_as(hung: bool, made: tuple[Fraction, ...], asked: tuple[Fraction, ...]) -> bool:
    """Whether turns are those that were ordered; once a panel hung, less may be turned under at first."""
    return made == asked or (
        hung and len(made) == len(asked) and made[1:] == asked[1:] and 0 < made[0] <= asked[0]
    )


def edge_words(edge: Edge) -> str:
    """An edge in words."""
    turns = " + ".join(f"{float(turn):.10g}" for turn in edge.turns)
    return f"{edge.finish} {turns}".strip()


def check_edges(name: str, work: Work) -> Iterator[Violation]:
    """No edge of a finished work is raw, nor the end of the fabric behind it, unless a layer lies over it."""
    for side in SIDES:
        edge = work.edge(side)
        if edge.finish == "raw" or (edge.shows_raw and not _covered(work, side, edge)):
            yield Violation(Breach.SEWING, f"{name}: its {side} edge is raw", "finished")
        elif edge.finish == "fold" and edge.held != "sewn" and side == "top":
            yield Violation(Breach.SEWING, f"{name}: its {side} is {edge.held}", "sewn")


def _covered(work: Work, side: str, edge: Edge) -> bool:
    """Whether a layer lies over the raw end behind a fold, from corner to corner."""
    deep, inside = edge.depth, Fraction(1)
    if side in ("left", "right"):
        across = deep if side == "left" else work.width - deep
        points = [(across, up) for up in (work.length / 10, work.length / 2)]
    else:
        up = deep if side == "bottom" else work.length - deep
        points = [(across, up) for across in (inside, work.width / 2, work.width - inside)]
    return all(work.covered_at_back(*point) for point in points)


def _check_seams(panel: SewnPanel) -> Iterator[Violation]:
    """No seam lies on the fold of a side or in its hem."""
    work = panel.work
    for seam in work.seams:
        for edge in _SIDES:
            from_edge = seam.at if edge == "left" else work.width - seam.at
            deep = work.edge(edge).depth
            if from_edge < deep - ROUNDED:
                yield drape(panel, f"a seam {float(from_edge):.10g} from its {edge} edge", "clear of its hem")


def check_pair(left: SewnPanel, right: SewnPanel) -> Iterator[Violation]:
    """Left and right panel of a pair are made in the mirror: seams, marks and pleats."""
    step = left.window.step
    for what, one, other in _mirrored(left.work, right.work):
        if len(one) != len(other):
            yield drape(right, f"{len(other)} {what}", f"{len(one)} on {left.name}", len(one) - len(other))
        elif (off := max((abs(a - b) for a, b in zip(one, other, strict=True)), default=0)) > step:
            yield drape(right, f"its {what}", f"mirror of {left.name}", off)


def _mirrored(left: Work, right: Work) -> Iterator[tuple[str, Sequence[Fraction], Sequence[Fraction]]]:
    yield "seams", [one.at for one in left.seams], [right.width - one.at for one in reversed(right.seams)]
    yield (
        "marks",
        [one.start for one in left.carriers],
        [right.width - one.end for one in reversed(right.carriers)],
    )
    yield (
        "pleats",
        [one.start for one in left.pleats],
        [right.width - one.end for one in reversed(right.pleats)],
    )


def rules_of(window: WindowOrdered) -> TopRules | None:
    """What holds of a window's heading; None where nothing is restated of it."""
    return TOPS.get(window.heading)
