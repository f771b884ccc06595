"""What lies on a sewn panel: facing, lining, interlining and bands, and the tie-backs beside it.

A facing covers the seam of its tabs, a lining goes up under what finishes the top and ends above the hem,
and nothing of either shows from the room. What a layer is follows from the pieces it was sewn of.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from fractions import Fraction

from nesting.check.document import TableReader
from nesting.check.sewing_bench import PieceCut
from nesting.check.sewing_ordered import WindowOrdered, whole
from nesting.check.sewing_panels import ROUNDED, drape, edge_words, turned_as
from nesting.check.sewing_prints import SewnPanel
from nesting.check.sewing_tops import TopRules, facing_depth
from nesting.check.violation import Breach, Violation
from nesting.sewing import Edge, LaidOn, Work
from nesting.units import round_down


def check_layers(panel: SewnPanel, rules: TopRules | None) -> Iterator[Violation]:
    """Every layer that was ordered is there once and lies right; nothing else was sewn on."""
    window, left = panel.window, list(panel.work.layers)
    by_role = {role: [one for one in left if _role(one.work, panel.pieces) == role] for role in _ROLES}
    lining, interlining = (window.at.value(key, None) for key in ("lining", "interlining"))
    asked = {
        "facing": int(rules is not None and rules.facing),
        "lining": int(lining is not None),
        "interlining": int(interlining is not None),
        "band": sum(_bands(panel, band) for band in window.at.tables("bands", ())),
    }
    for role, count in asked.items():
        if len(by_role[role]) != count and (rules is not None or role != "facing"):
            what = f"{len(by_role[role])} pieces of {role} sewn on"
            yield drape(panel, what, f"{count} ordered", len(by_role[role]) - count)
    if len(left) > sum(map(len, by_role.values())):
        yield drape(panel, "a layer of something else", "what was ordered")
    for role, fabric in (("lining", lining), ("interlining", interlining)):
        yield from _of_fabric(panel, role, by_role[role], fabric)
    for one in by_role["facing"]:
        yield from _check_facing(panel, one)
    for one in by_role["lining"]:
        yield from _check_lining(panel, one, rules)
    for one in by_role["interlining"]:
        yield from _check_interlining(panel, one)
    yield from _check_bands(panel, by_role["band"])


_ROLES = ("facing", "lining", "interlining", "band")


def _role(work: Work, pieces: Mapping[str, PieceCut]) -> str:
    """What the pieces of a layer were cut as; those of several kinds are of none."""
    roles = {piece.role for strip in work.strips if (piece := pieces.get(strip.piece)) is not None}
    return roles.pop() if len(roles) == 1 else ""


def _of_fabric(panel: SewnPanel, role: str, layers: Sequence[LaidOn], fabric: object) -> Iterator[Violation]:
    for one in layers:
        if one.work.fabric != fabric:
            yield drape(panel, f"{role} of {one.work.fabric}", f"{fabric} ordered")


def _near(
    panel: SewnPanel, what: str, made: Fraction, asked: Fraction | int, slack: Fraction | int | None = None
) -> Iterator[Violation]:
    """A size or place further from what it must be than a step of the tape."""
    if abs(made - asked) > (panel.window.step if slack is None else slack):
        yield drape(panel, f"{what} {float(made):.10g}", f"{float(asked):.10g}", made - asked)


def _turned_in(edge: Edge) -> bool:
    """Whether an edge is folded for good: pressed, as what is stitched along it holds it, or sewn."""
    return edge.finish == "fold" and edge.held in ("pressed", "sewn")


def _state(edge: Edge) -> str:
    return edge.held if edge.finish == "fold" else edge.finish


def _check_facing(panel: SewnPanel, layer: LaidOn) -> Iterator[Violation]:
    """From edge to edge of the panel, as deep as ordered, its ends and lower edge finished, at the back."""
    window, work, facing = panel.window, panel.work, layer.work
    fabric = window.word("fabric", window.at.text("fabric"), "facing")
    yield from _of_fabric(panel, "facing", (layer,), fabric)
    if layer.face != "back":
        yield drape(panel, "facing in front", "at the back")
    yield from _near(panel, "facing begins", layer.left, 0, ROUNDED)
    yield from _near(panel, "facing, width", facing.width, work.width, ROUNDED)
    yield from _near(panel, "facing, depth", facing.length, facing_depth(window))
    yield from _near(panel, "facing, upper edge", layer.up + facing.length, work.length, ROUNDED)
    for side in ("left", "right"):
        if not _turned_in(facing.edge(side)):
            yield drape(panel, f"facing, {side} end {_state(facing.edge(side))}", "turned in")
    lower = facing.edge("bottom")
    asked = "fold" if window.word("lower_edge", "overcast", "facing") == "turned" else "overcast"
    if lower.finish != asked:
        yield drape(panel, f"facing, lower edge {lower.finish}", f"{asked} ordered")
    if work.edge("top").finish != "seam":
        yield drape(panel, f"top {edge_words(work.edge('top'))}", "the seam of its facing")


def lining_gap(window: WindowOrdered) -> int:
    """How far a lining ends above the hem edge: so that it covers the upper edge of the hem."""
    said, usual, hem = window.said("lining_gap"), window.usual("lining gap"), window.hem("bottom_hem")
    if said is not None:
        return said
    return min(usual, round_down(Fraction(hem.deep, 2), window.step)) if hem.folded else usual


def _check_lining(panel: SewnPanel, layer: LaidOn, rules: TopRules | None) -> Iterator[Violation]:
    """Hemmed as ordered, short of the hem by its gap, its top covered or turned, its sides held."""
    window, work, lining = panel.window, panel.work, layer.work
    if layer.face != "back":
        yield drape(panel, "lining in front", "at the back")
    yield from _near(panel, "lining above the hem edge", layer.up, lining_gap(window))
    hem = window.hem("lining_hem").folded
    made = lining.edge("bottom")
    as_asked = turned_as(window.hung, made.turns, hem)
    if hem and (made.finish != "fold" or not as_asked or made.held != "sewn"):
        yield drape(panel, f"lining hem {edge_words(made)}", f"{len(hem)} turns of {hem[0]} ordered")
    elif not hem and made.shows_raw:
        yield drape(panel, "lining hem raw", "finished")
    deep = work.edge("bottom").depth
    if layer.up < 0 or (deep and layer.up >= deep + ROUNDED):
        yield drape(panel, f"lining ends {float(layer.up):.10g} above the hem edge", "over its hem", layer.up)
    if rules is not None:
        yield from _check_lining_top(panel, layer, rules)
    yield from _check_lining_sides(panel, layer)


def _check_lining_top(panel: SewnPanel, layer: LaidOn, rules: TopRules) -> Iterator[Violation]:
    window, turn = panel.window, panel.window.usual("lining turn")
    deep = rules.cover(window)
    cover = window.either("lining_cover", ("0", "0")) if window.said("lining_cover") is not None else deep
    tucked = turn <= cover < deep + turn
    below = panel.work.length - layer.up - layer.work.length
    yield from _near(panel, "lining begins below the top edge", below, cover - (turn if tucked else 0))
    made = layer.work.edge("top")
    if made.finish in ("raw", "selvage") and below >= _reach(panel, rules) - ROUNDED:
        yield drape(panel, "the raw top of its lining", "covered by what finishes the top", below)
    if not tucked and made.finish == "raw":
        yield drape(panel, "the top of its lining raw", "turned under")


def _reach(panel: SewnPanel, rules: TopRules) -> Fraction:
    """How far down the back that reaches which finishes the top, as it was sewn."""
    facings = [one for one in panel.work.layers if _role(one.work, panel.pieces) == "facing"]
    if rules.facing:
        return max((panel.work.length - one.up for one in facings), default=Fraction(0))
    return panel.work.edge("top").depth


def _check_lining_sides(panel: SewnPanel, layer: LaidOn) -> Iterator[Violation]:
    """Under the side hems, or sewn round; turned under where the edge of the panel is a selvage."""
    window, work, lining = panel.window, panel.work, layer.work
    tube, taken = window.word("lining_style", "tucked") == "tube", dict[str, Fraction]()
    for side in ("left", "right"):
        made = lining.edge(side)
        taken[side] = Fraction(0)
        if work.edge(side).finish != "fold":
            taken[side] = Fraction(window.seam)
            if not _turned_in(made):
                yield drape(panel, f"lining, {side} side {_state(made)}", "turned under at the selvage")
        elif tube:
            taken[side] = work.edge(side).depth
            if made.finish != "seam":
                yield drape(panel, f"lining, {side} side {made.finish}", "sewn to the face")
        elif side not in layer.tucked:
            yield drape(panel, f"lining, {side} side", "under the side hem")
    yield from _near(panel, "lining, left side", layer.left, taken["left"])
    wide = work.width - taken["left"] - taken["right"]
    yield from _near(panel, "lining, width", lining.width, wide)


def _check_interlining(panel: SewnPanel, layer: LaidOn) -> Iterator[Violation]:
    """As large as the finished panel lying flat, but clear of sides that no fold covers."""
    window, work, inner = panel.window, panel.work, layer.work
    bare = [side for side in ("left", "right") if work.edge(side).finish != "fold"]
    off = 2 * window.seam
    if layer.face != "back":
        yield drape(panel, "interlining in front", "at the back")
    yield from _near(panel, "interlining, left side", layer.left, off if "left" in bare else 0)
    yield from _near(panel, "interlining, width", inner.width, work.width - off * len(bare))
    yield from _near(panel, "interlining above the hem edge", layer.up, 0)
    yield from _near(panel, "interlining, length", inner.length, work.length)


def _bands(panel: SewnPanel, band: TableReader) -> int:
    """How many bands of an order a panel gets: one along its hem, or one at each leading edge."""
    if band.value("edge", None) == "hem":
        return 1
    return 2 if panel.ordered.leading is None else 1


def _check_bands(panel: SewnPanel, layers: Sequence[LaidOn]) -> Iterator[Violation]:
    """Bands in front, as wide as ordered, from end to end of their edge, all their own edges turned in."""
    rest = list(layers)
    for band in panel.window.at.tables("bands", ()):
        wide = whole(band, "width", 1)
        for place in _band_places(panel, band, wide):
            left, up, width, length = place
            fits = [
                one
                for one in rest
                if max(
                    abs(one.left - left), abs(one.up - up),
                    abs(one.work.width - width), abs(one.work.length - length),
                ) <= panel.window.step
                and one.face == "front"
                and one.work.fabric == band.value("fabric", None)
            ]  # fmt: skip
            if not fits:
                yield drape(panel, f"no band {wide} wide", f"along its {band.value('edge', None)} ordered")
                continue
            rest.remove(fits[0])
            for side in ("left", "right", "top", "bottom"):
                if not _turned_in(fits[0].work.edge(side)):
                    yield drape(panel, f"band, {side} edge", "turned in")


def _band_places(
    panel: SewnPanel, band: TableReader, wide: int
) -> Iterator[tuple[Fraction, Fraction, Fraction, Fraction]]:
    """Left and lower edge, width and length of each band of an order, on the finished panel."""
    work, nothing = panel.work, Fraction(0)
    if band.value("edge", None) == "hem":
        yield nothing, nothing, work.width, Fraction(wide)
        return
    edges = ("left", "right") if panel.ordered.leading is None else (panel.ordered.leading,)
    for edge in edges:
        yield (
            nothing if edge == "left" else work.width - wide, nothing, Fraction(wide), work.length
        )  # fmt: skip


def check_tiebacks(window: WindowOrdered, works: Sequence[Work], name: str) -> Iterator[Violation]:
    """Tie-backs of every order, in number and size, sewn to tubes, their ends finished."""
    rest = list(works)
    for order in window.at.tables("tiebacks", ()):
        long, wide, count = (whole(order, key, 1) for key in ("length", "width", "count"))
        fits = [
            one
            for one in rest
            if one.tube
            and one.fabric == order.value("fabric", None)
            and abs(one.width - long) <= window.step
            and abs(one.length - wide) <= window.step
        ]
        made = sum(one.count for one in fits)
        if made != count:
            what = f"{name}: {made} tie-backs {long} long"
            yield Violation(Breach.SEWING, what, f"{count} ordered", abs(made - count))
        rest = [one for one in rest if one not in fits]
        for one in fits:
            for side in ("left", "right"):
                if not _turned_in(one.edge(side)):
                    yield Violation(Breach.SEWING, f"{name}: a tie-back's {side} end", "turned in")
    for one in rest:
        yield Violation(
            Breach.SEWING, f"{name}: {one.name} left on the table", "sewn into the drape", one.count
        )
