"""How many widths a panel needs, and where its seams come. Lengths in ticks, one step of the tape.

Two widths joined lose one seam allowance each, so ``n`` widths joined give ``n * full - 2 s (n - 1)``.
Full widths lie at the leading edge and the part-width at the return; a fixed single panel has its full
width in the middle and two equal parts (common practice, no source).
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Literal

from nesting.errors import DoesNotFitError
from nesting.order.job import Bolt, Widths
from nesting.units import Unit, format_exact, grid, round_down, round_up

Kind = Literal["single", "full", "trimmed", "narrowed", "leading", "part"]


@dataclass(frozen=True, slots=True)
class Width:
    """One width of fabric in a panel, ``cut`` wide.

    ``kind`` is ``full`` (all that is fit to cut, or the match with its seams), ``part``, ``trimmed`` (a full
    width cut down on its seam side so that its neighbor is no sliver), ``narrowed`` (one cut down there
    because that takes less fabric), ``leading`` (one cut down at the leading edge, so that the pattern may
    meet elsewhere) or ``single`` (the whole panel).
    """

    cut: int
    kind: Kind


@dataclass(frozen=True, slots=True)
class OneWidth:
    """What one width of a bolt gives: ``full`` where widths are joined, ``limit`` for a piece alone.

    ``matched`` widths are cut from seam line to seam line, whatever the tape says. ``printed`` ones reach
    into selvages that the stated width leaves out: what is wider than ``limit`` is a full width or is joined.
    """

    full: int
    limit: int
    seam: int
    grid: int
    matched: bool = False
    printed: bool = False

    @property
    def alone(self) -> int:
        """The widest panel that one width makes."""
        return max(self.limit, self.full)


def count_widths(need: int, full: int, seam: int) -> int:
    """The least number of widths that give ``need`` once joined.

    Parameters
    ----------
    need
        Cut width of the panel, hems included.
    full
        Cut width of one full width.
    seam
        Allowance on each side of a join; 0 where seams are not counted.

    Raises
    ------
    DoesNotFitError
        The seams use up the whole width.
    """
    if need <= full:
        return 1
    if full <= 2 * seam:
        raise DoesNotFitError(f"a width of {full} ticks is used up by its seams of {seam} on each side")
    return -(-(need - 2 * seam) // (full - 2 * seam))


def joined(count: int, full: int, seam: int) -> int:
    """What ``count`` full widths give once joined."""
    return count * full - 2 * seam * (count - 1)


def up_to_repeat(cut: int, repeat: int) -> int:
    """The cut length in whole repeats; a cut of exactly some repeats takes no more."""
    return round_up(cut, repeat)


def widths_of(bolt: Bolt, seam: int, unit: Unit, *, matched: bool, where: str) -> OneWidth:
    """What a bolt gives per width.

    A matched full width is cut from seam line to seam line plus its two allowances, which may reach
    into the selvage; it is never rounded, or the pattern would walk off.

    Parameters
    ----------
    bolt
        As it lies on the table.
    seam
        Allowance on each side of a join.
    unit
        In which people measure.
    matched
        Whether the widths must meet in the pattern.
    where
        Window and fabric, to begin a refusal with.

    Raises
    ------
    DoesNotFitError
        The match and its seams are wider than the bolt, or the seams use up all that is fit to cut.
    """
    usable, step = round_down(bolt.usable, grid(unit)), grid(unit)
    if not matched or bolt.match is None:
        if usable <= 2 * seam:
            raise DoesNotFitError(
                f"{where}: the {format_exact(usable, unit)} of the bolt that is usable is used up by "
                f"seams of {format_exact(seam, unit)} on each side: take a wider bolt, or a narrower seam"
            )
        return OneWidth(usable, usable, seam, step)
    full = bolt.match + 2 * seam
    if bolt.printed:
        return OneWidth(full, min(usable, full), seam, step, matched=True, printed=True)
    if full > bolt.width:
        raise DoesNotFitError(f"{where}: {_too_wide(bolt, bolt.match, seam, unit)}")
    return OneWidth(full, max(usable, full), seam, step, matched=True)


def _too_wide(bolt: Bolt, match: int, seam: int, unit: Unit) -> str:
    """The sum of a full width that its bolt cannot hold, and what would help."""
    spare = round_down(max(0, (bolt.width - match) // 2), grid(unit))
    remedy = f", take seams of {format_exact(spare, unit)} or less" if spare else ""
    return (
        f"a full width is cut match {format_exact(match, unit)} + 2 seams of {format_exact(seam, unit)} = "
        f"{format_exact(match + 2 * seam, unit)}, but the bolt on the table is "
        f"{format_exact(bolt.width, unit)} wide: measure the match on the fabric{remedy}, or "
        "take a wider bolt"
    )


def plan_widths(need: int, fabric: OneWidth, mode: Widths, least: int, off: int = 0) -> tuple[Width, ...]:
    """The widths of a panel from the leading edge outwards.

    Parameters
    ----------
    need
        Cut width of the panel.
    fabric
        What the bolt gives.
    mode
        How a part-width is rounded: as needed, up to half a width, up to a whole width.
    least
        Least cut width of the part: what must show, its seam and its hem.
    off
        What to cut off the leading edge of a joined panel; its part-width is that much wider.
    """
    if need <= fabric.alone:
        return (_alone(need, fabric, mode),)
    if off:
        lead, *others = plan_widths(need + off, fabric, mode, least)
        return (Width(lead.cut - off, "leading"), *others)
    count = count_widths(need, fabric.full, fabric.seam)
    rest = round_up(need - (count - 1) * (fabric.full - 2 * fabric.seam), fabric.grid)
    part = _rounded(rest, fabric, mode)
    fulls = [Width(fabric.full, "full")] * (count - 1)
    if part >= fabric.full:
        return (*fulls, Width(fabric.full, "full"))
    short = _shortfall(part, least, fabric.full)
    if short:
        fulls[-1] = Width(fabric.full - short, "trimmed")
    return (*fulls, Width(part + short, "part"))


def plan_behind(need: int, lead: int, fabric: OneWidth, mode: Widths) -> tuple[Width, ...]:
    """The widths of a panel behind a leading width cut ``lead`` wide: full ones, and what is left outside."""
    rest = need - lead + 2 * fabric.seam
    fulls = max(0, -(-(rest - fabric.full) // (fabric.full - 2 * fabric.seam)))
    part = _rounded(round_up(rest - fulls * (fabric.full - 2 * fabric.seam), fabric.grid), fabric, mode)
    first = Width(lead, "full" if lead == fabric.full else "leading")
    last = Width(min(part, fabric.full), "full" if part >= fabric.full else "part")
    return (first, *[Width(fabric.full, "full")] * fulls, last)


def plan_centerd(need: int, fabric: OneWidth, mode: Widths, least: int) -> tuple[Width, ...]:
    """The widths of a fixed single panel, left to right: full widths in the middle, equal parts beside."""
    if need <= fabric.alone:
        return (_alone(need, fabric, mode),)
    fulls = 1
    while need > joined(fulls + 2, fabric.full, fabric.seam):
        fulls += 2
    left_over = need - joined(fulls, fabric.full, fabric.seam) + 4 * fabric.seam
    part = _rounded(round_up(-(-left_over // 2), fabric.grid), fabric, mode)
    middle = [Width(fabric.full, "full")] * fulls
    if part >= fabric.full:
        return tuple([Width(fabric.full, "full")] * (fulls + 2))
    short = _shortfall(part, least, fabric.full)
    if short:
        # Both neighbors give way; with one full width it gives on either side.
        give = 2 * short if fulls == 1 else short
        give = min(give, fabric.full // 2)
        short = give // 2 if fulls == 1 else give
        middle[0] = middle[-1] = Width(fabric.full - give, "trimmed")
    side = Width(part + short, "part")
    return (side, *middle, side)


def _alone(need: int, fabric: OneWidth, mode: Widths) -> Width:
    """The whole panel from one width; beyond what is fit to cut it takes that from selvage to selvage."""
    cut = _rounded(need, fabric, mode)
    return Width(fabric.full if cut > fabric.limit else cut, "single")


def _shortfall(part: int, least: int, full: int) -> int:
    """What the part lacks to be no sliver; never so much that the neighbor becomes one."""
    return max(0, min(least - part, (full - part) // 2))


def _rounded(part: int, fabric: OneWidth, mode: Widths) -> int:
    if mode == "exact":
        return part
    half = round_down(fabric.full // 2, fabric.grid)
    if mode == "half" and part <= half:
        return half
    return max(part, fabric.full)


def total_width(widths: tuple[Width, ...], seam: int) -> int:
    """What the widths give once joined."""
    return sum(width.cut for width in widths) - 2 * seam * (len(widths) - 1)


def places(widths: tuple[Width, ...], seam: int, origin: int) -> tuple[int, ...]:
    """The place ``p`` of each width in the pattern plane, 0 for the width at index ``origin``.

    From one width to the next on its right it grows by cut width less two seams, so that the seam
    lines meet in the pattern.
    """
    at, found = 0, list[int]()
    for width in widths:
        found.append(at)
        at += width.cut - 2 * seam
    return tuple(place - found[origin] for place in found)


def room_in_phase(placed: Iterable[tuple[int, int]], across: int) -> int:
    """The least a fabric must hold across for all widths of a seam group to lie on it in one phase.

    Parameters
    ----------
    placed
        Place ``p`` in the pattern plane and cut width of each.
    across
        The repeat width H.

    Notes
    -----
    In a phase f a width lies ``(f + p) mod H`` from the left edge or a whole number of H further in. Lower f
    until some width lies at the edge: no width has moved to the right, so the phases that put a width at the
    edge are enough to try.
    """
    placed = tuple(placed)
    return min(max(cut + (place - edge) % across for place, cut in placed) for edge, _ in placed)
