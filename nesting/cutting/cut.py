"""A job becomes pieces, each with its arithmetic. Lengths in ticks, sizes in steps of the tape."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace

from nesting.cutting.counsel import counsel, washing_advice
from nesting.cutting.layers import Layer, interlining, lining
from nesting.cutting.measures import Hanging, dressed_steps, flat_steps, hangings, left_hem, right_hem, settle
from nesting.cutting.notions import notions
from nesting.cutting.pair import origins, running_pair
from nesting.cutting.panels import (
    Joined,
    Series,
    face,
    face_layer,
    in_phase,
    join,
    layer_pieces,
    least_part,
    planned_face,
)
from nesting.cutting.railroad import can_railroad, forced_sideways, must_railroad
from nesting.cutting.seam_plans import SeamPlan, plain_plan
from nesting.cutting.selvage_sides import selvage_advice, settled_sides
from nesting.cutting.table import FabricsOnTable, lay_table, turned_or_not
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.cutting.trimmings import bands, tiebacks
from nesting.errors import Fault, JobError
from nesting.headings import EQUALLY, Component, FinishedPanel, Making, Piecing, heading
from nesting.headings.hanging import refusals
from nesting.headings.heading import Heading
from nesting.headings.passage import Refusal
from nesting.names import slugs
from nesting.order.job import Bolt, Extra, Job, Window
from nesting.packing.problem import Match
from nesting.pieces.piece import Advice, HeadingPlan, PanelPlan, Piece, Steps, Sundry
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.pieces.washing import washed, width_kept
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

Plans = Mapping[tuple[str, str], SeamPlan | Piecing]
"""By window and role: how a panel, lining or interlining is made up of widths, how a facing is pieced."""

NO_PLANS: Plans = {}


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


@dataclass(frozen=True, slots=True)
class MadeWindow:
    """A window on the table: its order settled, its panels with their widths, by which plans."""

    slug: str
    making: Making
    style: Heading
    panels: tuple[tuple[Hanging, FinishedPanel, Joined], ...]
    plans: Plans = field(default_factory=dict, compare=False)

    @property
    def finished(self) -> tuple[FinishedPanel, ...]:
        """Its panels as they will hang."""
        return tuple(panel for _, panel, _ in self.panels)

    @property
    def window(self) -> Window:
        """What was ordered."""
        return self.making.window

    def under(self, table: FabricsOnTable) -> Iterator[tuple[Hanging, Layer, Joined]]:
        """Its linings and interlinings with their widths."""
        window = self.window
        for key, layer_of in ((window.lining, _lining), (window.interlining, _interlining)):
            for hanging, panel, _ in self.panels if key is not None else ():
                least = least_part(self.making, 0, 0, table.grid, width_kept(table.fabrics[key or ""]))
                layer = layer_of(self.making, hanging, panel, key or "")
                plan = _plan_for(self.plans, window, layer.role)
                yield hanging, layer, _lined(table, self.making, hanging, layer, least, plan)


def _lined(
    table: FabricsOnTable, making: Making, hanging: Hanging, layer: Layer, least: int, plan: SeamPlan | None
) -> Joined:
    return join(table, making, hanging, layer.fabric, layer.width, least, face=False, plan=plan)


@dataclass(frozen=True, slots=True)
class WindowsOnTable:
    """The windows of a job at the cutting table, each to be cut by plans of its own; by `of`."""

    table: FabricsOnTable
    slugs: tuple[str, ...]

    @classmethod
    def of(
        cls,
        job: Job,
        bolts: Mapping[str, Bolt],
        railroaded: Collection[tuple[str, str]] | None = None,
        free: Collection[tuple[str, str]] = (),
    ) -> WindowsOnTable:
        """The bench of a job; as `cut`."""
        names = slugs((window.name for window in job.windows), taken=("extra",))
        sideways = forced_sideways(job) if railroaded is None else railroaded
        return cls(lay_table(job, bolts, sideways, free), tuple(names))

    def make(self, number: int, plans: Plans = NO_PLANS, other: Window | None = None) -> MadeWindow:
        """The window of that number, from 0, or the ``other`` ordered in its place, with its panels made up.

        Raises
        ------
        DoesNotFitError
            A panel cannot be made up by its plan.
        """
        return _make(self.table, other or self.table.job.windows[number], self.slugs[number], plans)

    def pieces(self, made: MadeWindow) -> tuple[Piece, ...]:
        """Its pieces of all fabrics."""
        return tuple(_window_pieces(self.table, made))


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
    own = [(each, bench.pieces(each)) for each in made]
    pieces = [piece for _, mine in own for piece in mine]
    extras = zip(job.extras, slugs(extra.name for extra in job.extras), strict=True)
    pieces += [_extra(table, extra, slug) for extra, slug in extras]
    advice = [note for each in made for note in counsel(table, each.making, each.style, each.panels)]
    advice += [note for each in made for note in selvage_advice(each.making)]
    advice += [note for fabric in job.fabrics for note in washing_advice(fabric)]
    return Cutting(
        pieces=tuple(pieces),
        headings=tuple(each.style.arrange(each.making, panel) for each in made for panel in each.finished),
        sundries=tuple(
            sundry for each, mine in own for sundry in notions(each.style, each.making, each.finished, mine)
        ),
        advice=tuple(advice),
        widths=tuple((each.window.name, max(len(j.widths) for _, _, j in each.panels)) for each in made),
        seams=sum(each.window.count * (len(j.widths) - 1) for each in made for _, _, j in each.panels),
        panels=tuple(_panel_plan(each, *panel) for each in made for panel in each.panels),
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


def _make(table: FabricsOnTable, window: Window, slug: str, plans: Plans) -> MadeWindow:
    making = replace(
        settled_sides(table, settle(table.job, window)),
        piecing=_piecing_for(plans, window, "facing"),
        band_piecing=_piecing_for(plans, window, "band"),
    )
    _refuse(making)
    panels = tuple(
        (hanging, *face(table, making, hanging, _planned(table, making, hanging, plans)))
        for hanging in hangings(making)
    )
    if _runs_on(table, window):
        first = tuple((hanging, joined) for hanging, _, joined in panels)
        pair = running_pair(table, making, first)
        panels = tuple((hanging, *face(table, making, hanging, joined)) for hanging, joined in pair)
    return MadeWindow(slug, making, heading(window.heading), panels, plans)


def _refuse(making: Making) -> None:
    """Refuse a window that contradicts itself, or whose rod does not pass."""
    place = f'window "{making.window.name}"'
    found = [
        Fault(f"{place}: {'.'.join(one.key)}", "" if one.size is None else making.say(one.size), one.expected)
        for one in (*refusals(heading(making.window.heading), making), *_too_flat(making))
    ]
    if found:
        raise JobError(found)


def _too_flat(making: Making) -> Iterator[Refusal]:
    """A flat width from which nothing can be drawn in to what the panel must cover."""
    flat, style = making.window.flat_width, heading(making.window.heading)
    need = max((round_up(hanging.finished, making.grid) for hanging in hangings(making)), default=0)
    if flat is not None and style.pleated and flat < need:
        text = f"at least {making.say(need)}, which a panel covers once it is drawn in"
        yield Refusal(("flat_width",), flat, text)


def _planned(table: FabricsOnTable, making: Making, hanging: Hanging, plans: Plans) -> Joined | None:
    """The widths of a face by a plan other than the plain one; None where it is plain, or in one run."""
    window, plan = making.window, _plan_for(plans, making.window, "panel")
    if plan in (None, plain_plan(making, hanging)) or (window.fabric, window.room) in table.railroaded:
        return None
    return planned_face(table, making, hanging, plan)


def _piecing_for(plans: Plans, window: Window, role: str) -> Piecing:
    plan = plans.get((window.name, role))
    return plan if isinstance(plan, Piecing) else EQUALLY


def _plan_for(plans: Plans, window: Window, role: str) -> SeamPlan | None:
    plan = plans.get((window.name, role))
    return plan if isinstance(plan, SeamPlan) else None


def _runs_on(table: FabricsOnTable, window: Window) -> bool:
    """Whether the pattern is to run on from panel to panel."""
    return window.pair == "continuous" and table.fabrics[window.fabric].repeat is not None


def _window_pieces(table: FabricsOnTable, made: MadeWindow) -> Iterator[Piece]:
    """Faces, then what the heading needs, linings, and trimmings."""
    window, slug = made.window, made.slug
    for series in _series(table, made):
        yield from _faces(table, made, series)
    for part in _components(table, made):
        yield table.piece(part, slug, window.name, window.room, window.count)
    once = Series(slug, slug, None, 0, window.count)
    for hanging, layer, joined in made.under(table):
        yield from layer_pieces(table, made.making, made.style, hanging, layer, joined, once)


def _series(table: FabricsOnTable, made: MadeWindow) -> Iterator[Series]:
    """One set of face pieces for all windows of an order, or one each where panels are seam groups."""
    window, slug = made.window, made.slug
    matched = table.fabrics[window.fabric].repeat is not None
    continuous = _runs_on(table, window) and len(made.panels) > 1
    joined = any(len(widths.widths) > 1 or widths.run for _, _, widths in made.panels)
    if window.count == 1 or not (continuous or (matched and joined)):
        yield Series(slug, slug, slug if continuous else None, 0, window.count)
        return
    for number in range(1, window.count + 1):
        prefix = f"{slug}/{number}"
        yield Series(slug, prefix, prefix if continuous else None, 0, 1)


def _faces(table: FabricsOnTable, made: MadeWindow, series: Series) -> Iterator[Piece]:
    """The faces; in a continuous pair the pattern runs on from one finished edge to the next."""
    kept = width_kept(table.fabrics[made.window.fabric])
    before = origins(made.making, [(hanging, joined) for hanging, _, joined in made.panels], kept)
    if series.seam is None and (anchored := _anchored(table, made)) is not None:
        series, before = replace(series, seam=series.prefix), anchored
    for (hanging, panel, joined), origin in zip(made.panels, before, strict=True):
        layer = face_layer(made.making, hanging, panel)
        placed = replace(series, origin=origin if series.seam is not None else 0)
        yield from layer_pieces(table, made.making, made.style, hanging, layer, joined, placed)


def _anchored(table: FabricsOnTable, made: MadeWindow) -> tuple[int, ...] | None:
    """Places in the pattern by which both panels of a pair are trimmed at their seams; None where no need is.

    A width trimmed on its seam side, alone with a part-width, may be cut from either end of a full one: of
    the one end its leading edge would show another part of the pattern than other panels do. Left and right
    panel are trimmed on different sides, so in one seam group both have to be trimmed at the seam.
    """
    joined = [widths for _, _, widths in made.panels]
    alone = [widths for widths in joined if all(width.kind != "full" for width in widths.widths)]
    places = [widths.anchor for widths in joined]
    matched = table.fabrics[made.window.fabric].repeat is not None
    if not matched or not alone or None in places or len(joined) < 2:
        return None
    starts = tuple(-place for place in places if place is not None)
    reach = [at for widths, start in zip(joined, starts, strict=True) for at in widths.reach(start)]
    return starts if in_phase(table, made.window.fabric, reach, made.making.seam) else None


def _components(table: FabricsOnTable, made: MadeWindow) -> Iterator[Component]:
    usable = {fabric.key: table.usable(fabric.key) for fabric in table.job.fabrics}
    yield from made.style.companions(made.making, made.finished, usable)
    for panel in made.finished:
        yield from bands(made.making, panel, usable)
    yield from tiebacks(made.making)


def _lining(making: Making, hanging: Hanging, panel: FinishedPanel, key: str) -> Layer:
    return lining(making, panel, left_hem(making, hanging), right_hem(making, hanging), key)


def _interlining(making: Making, hanging: Hanging, panel: FinishedPanel, key: str) -> Layer:
    return interlining(making, panel, key)


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


def _panel_plan(made: MadeWindow, hanging: Hanging, panel: FinishedPanel, joined: Joined) -> PanelPlan:
    making, need = made.making, replace(joined.need, target="cut width of the panel")
    flat = flat_steps(making, hanging).up_to(making.grid)
    sums = [making.finished]
    if flat.total == panel.flat:
        sums.append(flat)
    if made.style.pleated:
        sums.append(dressed_steps(making, hanging))
    return PanelPlan(
        window=made.window.name,
        key=panel.key,
        side=panel.side,
        count=made.window.count,
        flat=panel.flat,
        finished=panel.finished,
        length=panel.length,
        cuts=tuple(width.cut for width in joined.widths),
        seams=panel.seams,
        steps=(*sums, need, *joined.counted),
        cut_width=joined.need.total,
        seam_allowance=joined.fabric.seam,
        left_hem=left_hem(made.making, hanging).allowance,
        right_hem=right_hem(made.making, hanging).allowance,
        overlap=panel.overlap,
    )
