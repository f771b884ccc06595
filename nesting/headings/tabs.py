"""Tabs and the facing behind them, as back tab and tab top share them. Lengths in ticks.

Sizes and spacing are common practice, no source.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.headings.counting import SPACING, one_more, ordered
from nesting.headings.heading import Component, FinishedPanel, evenly
from nesting.headings.making import Making, measure
from nesting.pieces.piece import HeadingSpot, Steps
from nesting.pieces.seams import count_widths
from nesting.units import round_nearest, round_up

TAB_WIDTH: Final = measure("2", "5")
#: A join of the facing keeps this far from panel seams and tabs, and may move this far to do so.
CLEAR: Final = measure("1", "5/2")
SHIFT: Final = measure("6", "15")
STEP: Final = measure("1/4", "1/2")


def tab_width(making: Making) -> int:
    """Finished width of a tab."""
    return making.window.tab.width or TAB_WIDTH.of(making.unit)


def tab_component(
    making: Making, loop: Steps, panels: tuple[FinishedPanel, ...], count: int, *, hidden: bool
) -> Component:
    """All tabs of a window: a strip folded double, ``loop`` long when finished."""
    window, seam, width = making.window, making.seam, tab_width(making)
    across = Steps("cut width").add("tab", width, 2).add("seam", seam, 2)
    along = Steps("cut length", loop.terms).add("seam", seam, 2)
    per_panel = f"{count // max(1, len(panels))} a panel" if len(panels) > 1 else f"{count} in all"
    return Component(
        key="tabs",
        name=f"{window.name}, {'hidden ' if hidden else ''}tab",
        role="tab",
        fabric=window.tab.fabric or window.fabric,
        width=across,
        length=along,
        copies=count,
        hidden=hidden,
        finished_width=width,
        finished_length=loop.total,
        notes=(f"fold lengthwise, {making.say(width)} wide when turned", per_panel),
    )


def tab_spots(starts: tuple[Fraction, ...], width: int) -> tuple[HeadingSpot, ...]:
    """Spots of tabs by their left edges."""
    marks = (round_nearest(start) for start in starts)
    return tuple(HeadingSpot("tab", mark, mark + width, number) for number, mark in enumerate(marks, 1))


@dataclass(frozen=True, slots=True)
class TabCount:
    """How many tabs, with the sums that say why.

    Attributes
    ----------
    number
        Of tabs: at least 2.
    apart
        In ticks, as the heading counts: the clear gap, or the distance of centers.
    rule
        The sum that decides.
    sums
        That sum, and what follows from it: gaps and tabs.
    """

    number: int
    apart: Fraction
    rule: Steps
    sums: tuple[Steps, ...]

    @property
    def found(self) -> tuple[str, str]:
        """Gaps and tabs, in words."""
        gaps = self.number - 1
        return f"{gaps} gap{'' if gaps == 1 else 's'}", f"{self.number} tabs"


def tabs_by_gap(flat: int, width: int, gap: int, count: int | None = None) -> TabCount:
    """Tabs with a clear gap between them, the first and the last at the edges.

    Parameters
    ----------
    flat
        Finished width of the panel.
    width, gap
        Of one tab; the clear gap to aim at.
    count
        How many were asked for.
    """
    rule = (
        Steps("tabs")
        .add("finished panel", flat)
        .add("clear gap to aim at", gap)
        .per("tab and gap to aim at", width + gap)
        .nearest()
        .at_least(5, "at least 5")
    )
    return _tabs_first(flat, width, rule, count)


def tabs_by_spacing(flat: int, width: int, spacing: int, count: int | None = None) -> TabCount:
    """Tabs with the first and last at the edges, by their centers.

    Parameters
    ----------
    flat
        Finished width of the panel.
    width, spacing
        Of one tab; from center to center, to aim at.
    count
        How many were asked for.
    """
    gaps = Steps("gaps").add("finished panel", flat).take("tab", width).per(SPACING, spacing).nearest()
    number, rule, sums = _gaps_first(gaps, count)
    return TabCount(number, Fraction(flat - number * width, number - 1), rule, sums)


def tabs_by_centers(flat: int, edge: int, spacing: int, count: int | None = None) -> TabCount:
    """Tabs with the outer centers ``edge`` from the edges, ``spacing`` from center to center to aim at."""
    run = max(0, flat - 2 * edge)
    gaps = (
        Steps("gaps")
        .add("finished panel", flat)
        .take("outer center from the edge", edge, 2)
        .per(SPACING, spacing)
        .nearest()
    )
    number, rule, sums = _gaps_first(gaps, count)
    return TabCount(number, Fraction(run, number - 1), rule, sums)


def _tabs_first(flat: int, width: int, rule: Steps, count: int | None) -> TabCount:
    rule = ordered("tabs", max(2, count)) if count else rule
    number = rule.total
    sums = (rule, one_more("gaps", "tabs", number, more=-1))
    return TabCount(number, Fraction(flat - number * width, number - 1), rule, sums)


def _gaps_first(gaps: Steps, count: int | None) -> tuple[int, Steps, tuple[Steps, ...]]:
    """Number of tabs, the sum that decides, and both sums."""
    if count:
        tabs = ordered("tabs", max(2, count))
        return tabs.total, tabs, (tabs, one_more("gaps", "tabs", tabs.total, more=-1))
    gaps = gaps.at_least(1, "at least 1")
    return gaps.total + 1, gaps, (gaps, one_more("tabs", "gaps", gaps.total))


def centerd_tabs(flat: int, edge: int, number: int, width: int) -> tuple[Fraction, ...]:
    """Left edges of tabs whose centers run evenly from ``edge`` to ``flat - edge``."""
    return tuple(center - Fraction(width, 2) for center in evenly(edge, flat - edge, number))


def facing_depth(making: Making, least: int = 0) -> int:
    """Finished depth of the facing: as ordered, else the default or what the tabs need."""
    return making.window.facing.depth or max(making.defaults.facing_depth, least)


def facing_components(
    making: Making, panel: FinishedPanel, depth: int, spots: tuple[HeadingSpot, ...], usable: int
) -> Iterator[Component]:
    """The facing of one panel, pieced where it is wider than its fabric."""
    window, seam = making.window, making.seam
    along = Steps("cut length").add("finished facing", depth).add("top seam", seam)
    if window.facing.lower_edge == "turned":
        along = along.add("lower edge turned", seam)
    keep_off = (*((at, at) for at in panel.seams), *((spot.start, spot.end) for spot in spots))
    joins = facing_joins(making, panel.flat, usable, keep_off)
    whole = Steps("cut width").add("finished panel", panel.flat).add("end turned in", seam, 2)
    base = Component(
        key=f"{panel.key}/facing",
        name=f"{window.name}, {panel.key} facing",
        role="facing",
        fabric=window.facing.fabric or window.fabric,
        width=whole,
        length=along,
        hidden=True,
        side=panel.side,
        finished_width=panel.flat,
        finished_length=depth,
    )
    parts = len(joins) + 1
    if parts == 1:
        lengthwise = ("cut along the fabric, no joins",) if whole.total > usable else ()
        yield replace(base, notes=("ends a hair shy of the edge", *lengthwise))
    elif joins == _equal_joins(panel.flat, seam, parts):
        across = whole.add("seam of a join", seam, 2 * (parts - 1)).over("equal parts", parts)
        yield replace(base, width=across, copies=parts, notes=(f"{parts} equal parts joined",))
    else:
        yield from _facing_parts(base, joins, panel.flat, seam)


def _facing_parts(base: Component, joins: tuple[Fraction, ...], flat: int, seam: int) -> Iterator[Component]:
    """Parts of unequal width, numbered from the left seen from the room; their right side faces the wall."""
    edges = (Fraction(-seam), *joins, Fraction(flat + seam))
    parts = len(edges) - 1
    for number in range(1, parts + 1):
        span = edges[number] - edges[number - 1]
        seams = (number > 1) + (number < parts)
        yield replace(
            base,
            key=f"{base.key}/{number}",
            name=f"{base.name}, part {number}",
            width=Steps("cut width").add("from join to join", span).add("seam of a join", seam, seams),
            joined_to=tuple(f"{base.key}/{n}" for n in (number - 1, number + 1) if 1 <= n <= parts),
            joined_at=(*(("right",) if number > 1 else ()), *(("left",) if number < parts else ())),
            notes=(f"part {number} of {parts}, joins kept off panel seams and tabs",),
        )


def facing_joins(
    making: Making, flat: int, usable: int, keep_off: tuple[tuple[int, int], ...]
) -> tuple[Fraction, ...]:
    """Where a facing is joined, from the left finished edge; none where one piece will do.

    Equal parts or as the piecing of the window wants them, unless a join would lie at a panel seam or a
    tab: it then moves to the nearest place that is clear. The joins stay equal where no clear place is left.
    """
    seam, how = making.seam, making.piecing.how
    fewest = count_widths(flat + 2 * seam, usable, seam)
    if fewest == 1 or how == "whole":
        return ()
    # Fewer first, but for one that is to have more; each is looked for only where the one before will not do.
    more = {"more": (1, 2, 0)}.get(how, (0, 1))
    equal = (_equal_joins(flat, seam, fewest + n) for n in more)
    tries: Iterator[tuple[Fraction, ...]] = (_clear_joins(making, joins, keep_off) for joins in equal)
    if how == "long":
        tries = itertools.chain((_long_joins(making, flat, usable, keep_off, fewest),), tries)
    # Where no clear place is left for a join it is missing, and the parts on both sides of it are too long.
    sound = (joins for joins in tries if _fit(making, flat, usable, joins))
    return next(sound, _equal_joins(flat, seam, fewest))


def _fit(making: Making, flat: int, usable: int, joins: tuple[Fraction, ...]) -> bool:
    """Whether every part between these joins can be cut from the width of the fabric."""
    seam, last = making.seam, len(joins)
    edges = (Fraction(-seam), *joins, Fraction(flat + seam))
    spans = (after - before for before, after in itertools.pairwise(edges))
    return all(
        round_up(span + seam * ((number > 0) + (number < last)), making.grid) <= usable
        for number, span in enumerate(spans)
    )


def _long_joins(
    making: Making, flat: int, usable: int, keep_off: tuple[tuple[int, int], ...], parts: int
) -> tuple[Fraction, ...]:
    """Joins of full-width strips, the rest at the right; fewer if the rest is a scrap."""
    clear, step, shift = (each.of(making.unit) for each in (CLEAR, STEP, SHIFT))
    joins, reach = list[Fraction](), Fraction(0)
    for _ in range(parts - 1):
        furthest = reach + usable - 2 * making.seam
        near = (furthest - back for back in range(0, shift + 1, step))
        found = next((at for at in near if at <= flat - shift and _is_clear(at, clear, keep_off)), None)
        if found is None:
            break
        joins.append(found)
        reach = found
    return tuple(joins)


def _is_clear(at: Fraction, clear: int, keep_off: tuple[tuple[int, int], ...]) -> bool:
    # In whole numbers, with which it is much quicker.
    top, parts = at.numerator, at.denominator
    return not any((start - clear) * parts < top < (end + clear) * parts for start, end in keep_off)


def _equal_joins(flat: int, seam: int, parts: int) -> tuple[Fraction, ...]:
    part = Fraction(flat + 2 * seam + 2 * seam * (parts - 1), parts)
    return tuple(number * (part - 2 * seam) for number in range(1, parts))


def _clear_joins(
    making: Making, joins: tuple[Fraction, ...], keep_off: tuple[tuple[int, int], ...]
) -> tuple[Fraction, ...]:
    """Each join moved to the nearest clear place; left out where there is none."""
    clear, step = CLEAR.of(making.unit), STEP.of(making.unit)
    sizes = range(1, SHIFT.of(making.unit) // step + 1)
    shifts = (0, *(sign * size * step for size in sizes for sign in (1, -1)))
    found = list[Fraction]()
    for join in joins:
        for shift in shifts:
            at = join + shift
            if _is_clear(at, clear, keep_off):
                found.append(at)
                break
    return tuple(found)
