"""A job becomes pieces, each with its arithmetic. Lengths in ticks, sizes in steps of the tape."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, replace

from nesting.cutting.counsel import washing_advice
from nesting.cutting.made_window import NO_PLANS, MadeWindow, Plans, WindowsOnTable
from nesting.cutting.railroad import can_railroad, must_railroad
from nesting.cutting.table import FabricsOnTable, turned_or_not
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.headings import Component
from nesting.names import slugs
from nesting.order.job import Bolt, Extra, Job
from nesting.packing.problem import Match
from nesting.pieces.piece import Advice, HeadingPlan, PanelPlan, Piece, Steps, Sundry
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.pieces.washing import washed
from nesting.units import format_length, grid, round_up

__all__ = [
    "NO_PLANS",
    "Cutting",
    "MadeWindow",
    "PanelPlan",
    "Plans",
    "WindowsOnTable",
    "can_railroad",
    "cut",
    "must_railroad",
    "open_turns",
    "rule_of_thumb",
    "washed",
]


@dataclass(frozen=True, slots=True)
class Cutting:
    """Everything to cut for a job, on one choice of bolts.

    Attributes
    ----------
    pieces
        All pieces of all fabrics, optional ones included.
    headings
        One per panel; windows with ``count`` above 1 once.
    sundries
        What is bought but not cut.
    advice
        For the maker.
    widths
        Window name and widths of fabric per panel.
    seams
        Vertical seams in all panels.
    panels
        How each panel is made up.
    railroaded
        Fabric and room of panels that are cut turned sideways.
    """

    pieces: tuple[Piece, ...]
    headings: tuple[HeadingPlan, ...] = ()
    sundries: tuple[Sundry, ...] = ()
    advice: tuple[Advice, ...] = ()
    widths: tuple[tuple[str, int], ...] = ()
    seams: int = 0
    panels: tuple[PanelPlan, ...] = ()
    railroaded: frozenset[tuple[str, str]] = frozenset()


def cut(
    job: Job,
    bolts: Mapping[str, Bolt],
    railroaded: Collection[tuple[str, str]] | None = None,
    plans: Plans = NO_PLANS,
    free: Collection[tuple[str, str]] = (),
) -> Cutting:
    """All pieces of a job, with their arithmetic.

    Parameters
    ----------
    job
        What was ordered.
    bolts
        For every fabric key, the bolt it is cut from, as it is bought: washing before cutting is taken
        off here.
    railroaded
        Fabric key and room of panels that are cut turned sideways, each in one run; default: those that are
        ordered so.
    plans
        Seam plans other than the plain ones.
    free
        Of those railroaded, the ones whose pieces might as well lie upright; see `FabricsOnTable`.

    Raises
    ------
    NestingError
        A fabric has no bolt, or a window no length.
    JobError
        Sizes of a window contradict each other, or its rod does not pass.
    DoesNotFitError
        A bolt cannot hold a full width of its match, or panels must not be turned.
    """
    bench = WindowsOnTable.of(job, bolts, railroaded, free)
    table, made = bench.table, tuple(bench.make(number, plans) for number in range(len(job.windows)))
    parts = tuple(bench.parts(each) for each in made)
    pieces = [piece for each in parts for piece in each.pieces]
    extras = zip(job.extras, slugs(extra.name for extra in job.extras), strict=True)
    pieces += [_extra(table, extra, slug) for extra, slug in extras]
    advice = [note for each in parts for note in each.counsel]
    advice += [note for each in parts for note in each.sides]
    advice += [note for fabric in job.fabrics for note in washing_advice(fabric)]
    return Cutting(
        pieces=tuple(pieces),
        headings=tuple(heading for each in parts for heading in each.headings),
        sundries=tuple(sundry for each in parts for sundry in each.sundries),
        advice=tuple(advice),
        widths=tuple((each.window.name, max(len(j.widths) for _, _, j in each.panels)) for each in made),
        seams=sum(each.window.count * (len(j.widths) - 1) for each in made for _, _, j in each.panels),
        panels=tuple(panel for each in parts for panel in each.panels),
        railroaded=table.railroaded,
    )


def open_turns(job: Job, bolts: Mapping[str, Bolt], cutting: Cutting) -> Iterator[Advice]:
    """Windows whose joined panels the plan may cut turned instead, each in one run.

    The pieces of a job that is not laid yet are those of upright panels; the plan takes whichever way needs
    less fabric.
    """
    for window in job.windows:
        pair = (window.fabric, window.room)
        mine = [plan for plan in cutting.panels if plan.window == window.name and len(plan.cuts) > 1]
        if mine and pair not in cutting.railroaded and can_railroad(job, *pair, bolts[window.fabric])[0]:
            run = format_length(round_up(mine[0].cut_width or 0, grid(job.units)), job.units)
            text = (
                "its panels can also be cut with the fabric turned sideways, in one run of "
                f"{run} each, with no seams; the plan takes whichever way needs less fabric"
            )
            yield Advice("note", text, window.name, window.fabric)


def rule_of_thumb(job: Job, cutting: Cutting, fabric_key: str, bolt: Bolt) -> RuleOfThumb:
    """What the usual rule of thumb asks for of one fabric, with its sums; see `nesting.cutting.thumb`."""
    return rule_of_thumb_for(job, cutting.pieces, fabric_key, bolt, cutting.railroaded)


def _extra(table: FabricsOnTable, extra: Extra, slug: str) -> Piece:
    """An extra, cut as ordered; a matched one shows the same part of the pattern in every copy."""
    fabric = table.fabrics[extra.fabric]
    room = extra.room or _room_of(table.job, extra)
    part = Component(
        key=slug,
        name=extra.name,
        role="extra",
        fabric=extra.fabric,
        width=Steps("cut width").add("as ordered", extra.width),
        length=Steps("cut length").add("as ordered", extra.length),
        copies=extra.count,
    )
    piece = table.piece(part, "extra", extra.window or "", room, 1)
    how = table.lie(extra.fabric, room, alone=True)
    piece = replace(
        piece,
        window=extra.window,
        room=room,
        optional=extra.optional,
        turnable=how.turnable,
        arrow_group=how.arrow_group,
        nap=how.nap,
        sideways=table.sideways(extra.fabric, room, how.arrow_group),
    )
    if extra.matched and fabric.repeat is not None:
        return replace(piece, turnable=False, match=Match(piece.id, piece.id))
    return turned_or_not(piece, extra.turnable, fabric)


def _room_of(job: Job, extra: Extra) -> str:
    """The room of the window it names, else of the first window."""
    rooms = {window.name: window.room for window in job.windows}
    first = next(iter(rooms.values()), "")
    return rooms.get(extra.window, first) if extra.window else first
