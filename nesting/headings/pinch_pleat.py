"""Pinch pleat: pleats stitched by hand over buckram, flat spaces between them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import Final

from nesting.headings.counting import by_rule, one_more, ordered
from nesting.headings.hanging import HOOK_INSIDE, carriers, ring_passages
from nesting.headings.heading import FinishedPanel, Heading, evenly, total_flat
from nesting.headings.look import Drape, MarkLook, Picture, Ring, RodBar, Stroke, edge
from nesting.headings.making import Making, measure
from nesting.headings.passage import Passage, Refusal
from nesting.headings.sewn import Sewn
from nesting.order.job import HangsFrom
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, HeadingSpot, Steps, Sundry
from nesting.sewing import Operation, PleatUp, SetAlong, Sew, SewingStep
from nesting.units import round_nearest

ABOVE_EYE: Final = measure("1/2", "1")
BUCKRAM: Final = measure("4", "10")
SPACE: Final = measure("4", "10")
LEAD: Final = measure("2", "5")
LEAST_PLEAT: Final = measure("9/2", "11")
MOST_PLEAT: Final = measure("7", "18")

_PICTURE: Final[Picture] = (
    RodBar(10),
    Drape(20),
    edge(20),
    *(
        shown
        for x in (22, 39, 57, 74)
        for shown in (Stroke(f"M{x} 20l-4 0l3 13l1 4M{x} 20v17M{x} 20l4 0l-3 13l-1 4"), Ring(x, 16, 2.6))
    ),
)


@dataclass(frozen=True, slots=True)
class Pleats:
    """So many pleats, the flat fabric in each, the flat space between two, and the sums of their number."""

    number: int
    take_up: Fraction
    space: Fraction
    sums: tuple[Steps, ...] = ()


def pleats(
    flat: int, finished: int, ends: int, space: int, least: int, count: int | None = None
) -> Pleats | None:
    """Pleats that draw ``flat`` in to ``finished``; None where there is nothing to draw in.

    The spaces come first: as many as fit between the end pleats, to the nearest, ties down. Then fewer
    pleats until each takes at least ``least``.

    Parameters
    ----------
    flat, finished
        Hemmed width before and after pleating.
    ends
        What stays flat outside the first and last pleat, both together.
    space, least
        The space to aim at; the least a pleat must take.
    count
        How many pleats were asked for.

    References
    ----------
    *How to Make Draperies*, booklet no. 102, 1960.
    """
    take_up = flat - finished
    if take_up <= 0 or finished <= ends:
        return None
    sums = (ordered("pleats", max(2, count)),) if count else _counted(take_up, finished - ends, space, least)
    number = sums[-1].total
    sums = (*sums, one_more("spaces", "pleats", number, more=-1))
    return Pleats(number, Fraction(take_up, number), Fraction(finished - ends, number - 1), sums)


def _counted(take_up: int, for_spaces: int, space: int, least: int) -> tuple[Steps, ...]:
    """The sums of a number of pleats, the last of which is that number."""
    fit = Steps("spaces that fit").add("for spaces", for_spaces).per("space to aim at", space)
    fit = fit.nearest(half="down", label="to the nearest whole, a half down").at_least(1, "at least 1")
    pleats = one_more("pleats", "spaces that fit", fit.total)
    most = (
        Steps("most pleats").add("take-up", take_up).per("least pleat", least).down_to(1, "down to a whole")
    )
    most = most.at_least(2, "at least 2")
    if most.total >= pleats.total:
        return fit, pleats
    return fit, most, pleats.at_most(most.total, f"at most {most.total}")


@dataclass(frozen=True, slots=True)
class PinchPleat(Heading):
    """Pleats over buckram, hung from a track or from the eyes of rings.

    Pleat counts follow *How to Make Draperies* (1960); a full buckram cuff is common practice.
    """

    name: str = "pinch-pleat"
    top_name: str = "buckram cuff"
    cover_name: str = "cuff"
    on_the_rod: str = "Enter the hooks."
    own_keys: tuple[str, ...] = ("pleat",)
    fullness: Fraction = Fraction(5, 2)
    pleated: bool = True
    hangs_from: tuple[HangsFrom, ...] = ("track", "rings")
    picture: Picture = _PICTURE

    def usual(self, making: Making) -> Iterator[tuple[str, str]]:
        """Its sizes where nothing is ordered."""
        yield "pleat.buckram", making.say(self.buckram(making))
        yield "pleat.space", f"about {making.say(SPACE.of(making.unit))}"
        yield "pleat.lead", making.say(LEAD.of(making.unit))

    def needs_diameter(self, making: Making) -> bool:
        """The rod does not matter."""
        return False

    def above_hanger(self, making: Making) -> Steps:
        """The top edge covers the eyes."""
        return Steps("top edge above the rod").add("top edge above the eyes", ABOVE_EYE.of(making.unit))

    def buckram(self, making: Making) -> int:
        """How deep the buckram is."""
        window = making.window
        return window.pleat.buckram or window.heading_depth or BUCKRAM.of(making.unit)

    def top_allowance(self, making: Making) -> Steps:
        """A full cuff: the buckram is wrapped."""
        return Steps("top").add("buckram cuff", self.buckram(making), 2)

    def top_cover(self, making: Making) -> int:
        """The cuff."""
        return self.buckram(making)

    def passages(self, making: Making) -> Iterator[Passage]:
        """The rings, where it hangs from rings."""
        return ring_passages(making, "rings") if making.hangs_from == "rings" else iter(())

    def contradictions(self, making: Making) -> Iterator[Refusal]:
        """A pleat at the very edge, where a hook of its own must find room beside it."""
        if making.window.pleat.lead == 0:
            yield Refusal(("pleat", "lead"), 0, "more than 0: a hook is set at each edge, beside the pleat")

    @once
    def arrange(self, making: Making, panel: FinishedPanel) -> HeadingPlan:
        """Pleats and spaces from the left edge; a seam comes to lie beside a pleat."""
        left, right = self._ends(making, panel)
        found = self._pleats(making, panel)
        sums = [
            Steps("take-up").add("hemmed flat", panel.flat).take("finished", panel.finished),
            Steps("for spaces")
            .add("finished", panel.finished)
            .take("flat at the left edge", left)
            .take("flat at the right edge", right),
        ]
        name = making.window.name
        if found is None:
            remark = "nothing to pleat: the flat panel is no wider than the finished one"
            return HeadingPlan(name, panel.side, panel.flat, (), tuple(sums), (remark,))
        sums += found.sums
        sums.append(Steps("each pleat", sums[0].terms).over("pleats", found.number))
        sums.append(Steps("each space", sums[1].terms).over("spaces", found.number - 1))
        sums.append(one_more("hooks", "pleats", found.number, more=2))
        edges = self._edges(making, panel, found)
        remarks = [*_told(making, found)]
        if edges != pleat_edges(found, left, (), 0):
            remarks.append("pleats differ a little between widths, so that each seam lies beside a pleat")
        remarks += _stray_seams(making, panel, edges)
        return HeadingPlan(name, panel.side, panel.flat, _spots(edges), tuple(sums), tuple(remarks))

    def _ends(self, making: Making, panel: FinishedPanel) -> tuple[int, int]:
        lead = making.window.pleat.lead
        lead = LEAD.of(making.unit) if lead is None else lead
        return panel.return_left or lead, panel.return_right or lead

    def _edges(
        self, making: Making, panel: FinishedPanel, found: Pleats
    ) -> tuple[tuple[Fraction, Fraction], ...]:
        """The pleats, shared out from the leading edge, so that a pair is mirrored."""
        left, right = self._ends(making, panel)
        least = LEAST_PLEAT.of(making.unit)
        if panel.leading != "right":
            return pleat_edges(found, left, panel.seams, least)
        seams = tuple(panel.flat - seam for seam in reversed(panel.seams))
        return tuple(
            (panel.flat - end, panel.flat - start)
            for start, end in reversed(pleat_edges(found, right, seams, least))
        )

    def _pleats(self, making: Making, panel: FinishedPanel) -> Pleats | None:
        order, unit = making.window.pleat, making.unit
        space = order.space or SPACE.of(unit)
        ends = sum(self._ends(making, panel))
        return pleats(panel.flat, panel.finished, ends, space, LEAST_PLEAT.of(unit), order.count)

    def mark_look(self, making: Making) -> MarkLook:
        """The two lines of a pleat, not yet folded."""
        return MarkLook("fold")

    def sewing(self, sewn: Sewn) -> Iterator[SewingStep]:
        """The top folded twice around the buckram, pleats, a hook behind each and one at each edge."""
        making, deep = sewn.making, self.buckram(sewn.making)
        yield SewingStep("top", tuple(sewn.fold_top(deep, deep, held="basted", over="buckram")))
        lines = {
            key: tuple((Fraction(spot.start), Fraction(spot.end)) for spot in spots)
            for key, spots in sewn.hung()
        }
        yield SewingStep("marks", ())
        pleated = tuple(PleatUp(key, pleats) if pleats else Sew(key, "top") for key, pleats in lines.items())
        yield SewingStep("pleats", pleated)
        eye, hooks = self.above_hanger(making).exact, list[Operation]()
        for panel in sewn.panels:
            inside, pleats_at = Fraction(HOOK_INSIDE.of(making.unit)), lines[panel.key]
            places = evenly(inside, panel.flat - inside, self._hooks_alone(making, panel.flat))
            if pleats_at:
                # Beside the outermost pleats, however little is flat beside them.
                first, last = pleats_at[0][0] / 2, (panel.flat - pleats_at[-1][1]) / 2
                behind = ((start + end) / 2 for start, end in pleats_at)
                places = (min(inside, first), *behind, panel.flat - min(inside, last))
            hooks.append(SetAlong(panel.key, "hook", places, eye))
        yield SewingStep("hooks", tuple(hooks))

    def _hooks_alone(self, making: Making, flat: int) -> int:
        """How many hooks carry a panel that has nothing to pleat: as far apart as pleats would be."""
        space = making.window.pleat.space or SPACE.of(making.unit)
        return max(2, -(-flat // space) + 1)

    def sundries(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
        """Buckram as long as the flat panels; a hook per pleat and one at each edge."""
        window = making.window
        note = f"{making.say(self.buckram(making))} deep"
        yield Sundry("buckram", length=total_flat(panels) * window.count, window=window.name, note=note)
        pleated = [(panel.flat, self._pleats(making, panel)) for panel in panels]
        counts = [found.number + 2 if found else self._hooks_alone(making, flat) for flat, found in pleated]
        note = "one per pleat and one at each edge"
        if not all(found for _, found in pleated):
            note = "evenly where there is nothing to pleat, else one per pleat and one at each edge"
        hooks = sum(counts) * window.count
        yield Sundry("hooks", count=hooks, window=window.name, note=note)
        yield from carriers(making, hooks)

    def advice(self, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Advice]:
        """Pleats that take too little or too much."""
        least, most, window = LEAST_PLEAT.of(making.unit), MOST_PLEAT.of(making.unit), making.window
        for panel in panels[:1]:
            found = self._pleats(making, panel)
            if found is None:
                text = "nothing is left to pleat: ask for more fullness"
                yield Advice("warning", text, window.name)
            elif not least <= found.take_up <= most:
                text = (
                    f"each pleat takes {making.say(found.take_up)}, where {making.say(least)} to "
                    f"{making.say(most)} is usual: set the number of pleats or the fullness"
                )
                yield Advice("warning", text, window.name)


def _told(making: Making, found: Pleats) -> Iterator[str]:
    """Pleats and spaces with the rule of their number."""
    pleats = f"{found.number} pleats of {making.say(found.take_up)}"
    spaces = f"{found.number - 1} spaces of {making.say(found.space)}"
    if found.sums[0].target == "pleats":
        yield by_rule(making, found.sums[0], pleats, spaces)
        return
    most = next((steps for steps in found.sums if steps.target == "most pleats"), None)
    if most is not None:
        fit = found.sums[0].total
        yield by_rule(making, found.sums[0], f"{fit} spaces and {fit + 1} pleats would fit")
        yield f"{by_rule(making, most, f'at most {most.total} pleats')}: {pleats}, {spaces}"
        return
    yield by_rule(making, found.sums[0], spaces, pleats)


def pleat_edges(
    found: Pleats, left: int, seams: tuple[int, ...], least: int
) -> tuple[tuple[Fraction, Fraction], ...]:
    """Left and right edge of each pleat on the flat heading.

    With ``seams``, the pleats between two seams share their fabric anew so that a pleat ends or begins at
    each seam, spaces unchanged; a seam stays where it falls if a pleat would come below ``least`` or
    grow by more than a quarter.
    """
    sizes = [found.take_up] * found.number
    done, start = 0, Fraction(left)
    for seam in seams:
        split = _split(found, sizes, start, done, seam)
        if split is None:
            continue
        number, after_space, size = split
        if not least <= size <= found.take_up * Fraction(5, 4):
            continue
        rest = sum(sizes) - sum(sizes[:done]) - size * number
        behind = found.number - done - number
        if behind <= 0 or not least <= rest / behind <= found.take_up * Fraction(5, 4):
            continue
        sizes[done : done + number] = [size] * number
        sizes[done + number :] = [rest / behind] * behind
        start = start + number * size + (number if after_space else number - 1) * found.space
        done += number
        if not after_space:
            start += found.space
    edges, at = list[tuple[Fraction, Fraction]](), Fraction(left)
    for size in sizes:
        edges.append((at, at + size))
        at += size + found.space
    return tuple(edges)


def _split(
    found: Pleats, sizes: list[Fraction], start: Fraction, done: int, seam: int
) -> tuple[int, bool, Fraction] | None:
    """``(pleats before the seam, whether a space lies between, size)`` with the size nearest to now."""
    best: tuple[int, bool, Fraction] | None = None
    for number in range(1, found.number - done):
        for after_space in (False, True):
            spaces = number if after_space else number - 1
            size = (seam - start - spaces * found.space) / number
            if best is None or abs(size - sizes[done]) < abs(best[2] - sizes[done]):
                best = (number, after_space, size)
    return best


def _stray_seams(
    making: Making, panel: FinishedPanel, edges: tuple[tuple[Fraction, Fraction], ...]
) -> Iterator[str]:
    """Where a seam could not be brought beside a pleat."""
    for seam in panel.seams:
        if min(abs(seam - edge) for pleat in edges for edge in pleat) <= 1:
            continue
        number = next((n for n, (start, end) in enumerate(edges, 1) if start < seam < end), None)
        where = (
            "lies in a space: lay its allowances open" if number is None else f"lies inside pleat {number}"
        )
        yield f"the seam {making.say(seam)} from the left edge {where}"


def _spots(edges: tuple[tuple[Fraction, Fraction], ...]) -> tuple[HeadingSpot, ...]:
    spots = list[HeadingSpot]()
    for number, (start, end) in enumerate(edges, 1):
        if spots:
            spots.append(HeadingSpot("space", spots[-1].end, round_nearest(start), number - 1))
        spots.append(HeadingSpot("pleat", round_nearest(start), round_nearest(end), number))
    return tuple(spots)
