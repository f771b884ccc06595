"""Other ways to make up the same panel: where its part-width goes, how wide it is, of how many strips.

All ways of one panel give the same cut width once joined, to a step of the tape. What may be tried is the
maker's rule; which one is taken is decided together with the layout. Lengths in ticks.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from typing import Final, Literal

from nesting.cutting.measures import Hanging
from nesting.errors import DoesNotFitError
from nesting.headings import Making
from nesting.order.job import Widths
from nesting.pieces.seams import OneWidth, Width, plan_centerd, plan_widths, total_width
from nesting.units import Unit, format_length, round_up

Place = Literal["outer", "leading", "sides"]
PLACES: Final[tuple[Place, ...]] = ("outer", "leading", "sides")

#: Of the other pieces of a fabric, so many sizes are tried for a strip to be fitted to.
MOST_SIZES: Final = 2


@dataclass(frozen=True, slots=True)
class SeamPlan:
    """How the panels of one window are made up of widths, alike or in the mirror.

    Attributes
    ----------
    at
        The edge where the part-width goes; ``sides``: one at each edge, full widths between them.
    part
        Cut width of the part-width (of two strips: of the one further out); None: as narrow as it comes, of
        two strips half of it each.
    pieces
        Of how many strips the part-width is made.
    """

    at: Place = "outer"
    part: int | None = None
    pieces: int = 1

    def told(self, unit: Unit) -> str:
        """The plan in a maker's words."""
        edge = "leading" if self.at == "leading" else "outer"
        if self.at == "sides":
            return "a part-width at each edge"
        if self.pieces == 1:
            width = "" if self.part is None else f" cut {format_length(self.part, unit)} wide"
            return f"part-width{width} at the {edge} edge"
        width = "" if self.part is None else f", the outermost cut {format_length(self.part, unit)} wide"
        return f"part-width of two strips at the {edge} edge{width}"


def plain_plan(making: Making, hanging: Hanging) -> SeamPlan:
    """The plan by rule: as ordered, else a part-width outside; of a fixed single panel one on each side."""
    said = making.window.part_at
    if said is None or said == "free":
        return SeamPlan("sides" if hanging.leading is None else "outer")
    return SeamPlan(said)


def planned(
    plan: SeamPlan, need: int, fabric: OneWidth, mode: Widths, least: int, *, even: bool = False
) -> tuple[Width, ...]:
    """The widths of a panel from the leading edge outwards (of a fixed single one from left to right).

    Parameters
    ----------
    plan
        What to do with the part-width.
    need, fabric, mode, least
        As for `nesting.pieces.seams.plan_widths`.
    even
        Part-widths at both sides are exactly alike, and the panel at times a step of the tape wider.

    Raises
    ------
    DoesNotFitError
        The panel has no such part-width, or a strip would be too narrow.
    """
    if plan.at == "sides":
        centerd = plan_centerd(need, fabric, mode, least)
        over = total_width(centerd, fabric.seam) - need
        last = centerd[-1]
        if even or mode != "exact" or last.kind != "part" or not over:
            return centerd
        if last.cut - over < least <= last.cut:
            # A strip keeps what it must show, so the width beside it gives the step that is too much.
            *others, beside = centerd[:-1]
            return (*others, Width(beside.cut - over, "trimmed"), last)
        return (*centerd[:-1], replace(last, cut=last.cut - over))
    widths = plan_widths(need, fabric, mode, least if plan.pieces == 1 else 0)
    *inner, part = widths
    if plan.pieces == 2 and part.kind == "part":
        wide, narrow = _strips(plan, part.cut, fabric, least)
        return (wide, narrow, *inner) if plan.at == "leading" else (*inner, narrow, wide)
    if plan.part is not None:
        widths = _widened(inner, part, plan.part, least)
    return widths[::-1] if plan.at == "leading" else widths


def _strips(plan: SeamPlan, part: int, fabric: OneWidth, least: int) -> tuple[Width, Width]:
    """The part-width made of two strips, the wider one first; the seam between them takes its allowances."""
    both = part + 2 * fabric.seam
    wide = round_up(-(-both // 2), fabric.grid) if plan.part is None else plan.part
    narrow = both - wide
    if not least <= narrow <= wide <= fabric.full or narrow % fabric.grid:
        raise DoesNotFitError("a strip would be too narrow")
    return Width(wide, "part"), Width(narrow, "part")


def _widened(inner: list[Width], part: Width, wanted: int, least: int) -> tuple[Width, ...]:
    """The part-width cut wider, the width beside it narrower by as much."""
    if part.kind != "part":
        raise DoesNotFitError("no part-width to be planned")
    *others, beside = inner
    rest = beside.cut - (wanted - part.cut)
    if wanted <= part.cut or rest < max(wanted, least):
        raise DoesNotFitError("no such part-width")
    return (*others, Width(rest, "narrowed"), Width(wanted, "part"))


def seam_plans(
    making: Making, hanging: Hanging, widths: tuple[Width, ...], fabric: OneWidth, others: Iterable[int]
) -> Iterator[tuple[SeamPlan, str]]:
    """The plans for a panel, the plain one first, each with the key that would allow it; empty where it is.

    Parameters
    ----------
    making, hanging
        The window and one of its panels.
    widths
        Of the panel by the plain plan.
    fabric
        What the bolt gives.
    others
        Sizes that other pieces of the fabric take across, the largest first: a gap may be made for them, or a
        strip be cut so that it fills up a width with them.
    """
    plain, window = plain_plan(making, hanging), making.window
    yield plain, ""
    parts = [width.cut for width in widths if width.kind == "part"]
    if window.widths != "exact" or not parts:
        return
    others, free, pieces = tuple(others), window.part_at == "free", window.part_pieces
    for at in PLACES:
        allowed = free or at == plain.at
        if at != plain.at:
            yield SeamPlan(at), "" if free else 'part_at = "free"'
        if at == "sides" or not allowed:
            continue
        if window.part_width == "free":
            for plan in _wider(SeamPlan(at), parts[0], fabric, others):
                yield plan, ""
        for plan in _pieced(SeamPlan(at, pieces=2), parts[0], fabric, others if pieces == 2 else ()):
            yield plan, "" if pieces == 2 else "part_pieces = 2"


def _wider(plan: SeamPlan, part: int, fabric: OneWidth, others: tuple[int, ...]) -> Iterator[SeamPlan]:
    """A gap beside the narrowed width for another piece.

    Without such a piece nothing is gained: what lies beside the narrowed width would fit beside the
    part-width too, were that narrower by as much.
    """
    gaps = [other for other in others if part + other <= fabric.full - other]
    for gap in gaps[:1]:
        yield replace(plan, part=round_up(part + gap, fabric.grid))


def _pieced(plan: SeamPlan, part: int, fabric: OneWidth, others: tuple[int, ...]) -> Iterator[SeamPlan]:
    """Two strips of equal width; and one that fills up a width with other pieces."""
    yield plan
    both = part + 2 * fabric.seam
    fitting = [fabric.full - other for other in others if both <= 2 * (fabric.full - other) < 2 * both]
    for wide in list(dict.fromkeys(fitting))[:MOST_SIZES]:
        yield replace(plan, part=wide)
