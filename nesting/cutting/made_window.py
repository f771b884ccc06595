"""One window at the cutting table: its order settled, its panels made up, its pieces. Lengths in ticks."""

from __future__ import annotations

from collections.abc import Collection, Iterator, Mapping
from dataclasses import dataclass, field, replace

from nesting.cutting.counsel import counsel
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
from nesting.cutting.railroad import forced_sideways
from nesting.cutting.seam_plans import SeamPlan, plain_plan
from nesting.cutting.selvage_sides import selvage_advice, settled_sides
from nesting.cutting.table import FabricsOnTable, lay_table
from nesting.cutting.trimmings import bands, tiebacks
from nesting.errors import Fault, JobError
from nesting.headings import EQUALLY, Component, FinishedPanel, Making, Piecing, heading
from nesting.headings.hanging import refusals
from nesting.headings.heading import Heading
from nesting.headings.passage import Refusal
from nesting.names import slugs
from nesting.order.job import Bolt, Job, Window
from nesting.pieces.once import once
from nesting.pieces.piece import Advice, HeadingPlan, PanelPlan, Piece, Sundry
from nesting.pieces.washing import width_kept
from nesting.units import round_up

Plans = Mapping[tuple[str, str], SeamPlan | Piecing]
"""By window and role: how a panel, lining or interlining is made up of widths, how a facing is pieced."""

NO_PLANS: Plans = {}


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
class WindowParts:
    """What a window is cut into, and what goes with it.

    Attributes
    ----------
    pieces
        Of all fabrics.
    headings, panels
        One per panel.
    sundries
        What is bought but not cut.
    counsel, sides
        For the maker: on all of it, and on sides that were ordered as the selvage.
    """

    pieces: tuple[Piece, ...]
    headings: tuple[HeadingPlan, ...]
    sundries: tuple[Sundry, ...]
    counsel: tuple[Advice, ...]
    sides: tuple[Advice, ...]
    panels: tuple[PanelPlan, ...]


@dataclass(frozen=True, slots=True)
class WindowsOnTable:
    """The windows of a job at the cutting table, each to be cut by plans of its own; by `of`."""

    table: FabricsOnTable
    slugs: tuple[str, ...]
    #: The fabrics alone. No window is cut by anything else, so one that is cut again from the same fabrics
    #: is what it was before, whatever became of the others.
    alone: FabricsOnTable

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
        table = lay_table(job, bolts, sideways, free)
        return cls(table, tuple(names), _alike(table.alone))

    def make(self, number: int, plans: Plans = NO_PLANS, other: Window | None = None) -> MadeWindow:
        """The window of that number, from 0, or the ``other`` ordered in its place, with its panels made up.

        Raises
        ------
        DoesNotFitError
            A panel cannot be made up by its plan.
        """
        window, slug = other or self.table.job.windows[number], self.slugs[number]
        if is_plain(plans, window):
            return plain_window(self.alone, window, slug)
        return _make(self.alone, window, slug, plans)

    def pieces(self, made: MadeWindow) -> tuple[Piece, ...]:
        """Its pieces of all fabrics."""
        return self.parts(made).pieces

    def parts(self, made: MadeWindow) -> WindowParts:
        """Its pieces, and all that goes with them."""
        if is_plain(made.plans, made.window):
            return _plain_parts(self.alone, made.window, made.slug)
        return _parts(self.alone, made)


def is_plain(plans: Plans, window: Window) -> bool:
    """Whether nothing is planned of a window but the plain way."""
    return not any(name == window.name for name, _ in plans)


@once
def _alike(table: FabricsOnTable) -> FabricsOnTable:
    """The first table of those alike, which is known from others at a glance."""
    return table


@once
def plain_window(table: FabricsOnTable, window: Window, slug: str) -> MadeWindow:
    """A window made up the plain way from the `alone` fabrics of a bench; worked out once."""
    return _make(table, window, slug, NO_PLANS)


@once
def _plain_parts(table: FabricsOnTable, window: Window, slug: str) -> WindowParts:
    return _parts(table, plain_window(table, window, slug))


def _parts(table: FabricsOnTable, made: MadeWindow) -> WindowParts:
    pieces = tuple(_window_pieces(table, made))
    return WindowParts(
        pieces=pieces,
        headings=tuple(made.style.arrange(made.making, panel) for panel in made.finished),
        sundries=tuple(notions(made.style, made.making, made.finished, pieces)),
        counsel=tuple(counsel(table, made.making, made.style, made.panels)),
        sides=tuple(selvage_advice(made.making)),
        panels=tuple(_panel_plan(made, *panel) for panel in made.panels),
    )


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
    found = _refused(making)
    if found:
        raise JobError(found)


@once
def _refused(making: Making) -> tuple[Fault, ...]:
    place = f'window "{making.window.name}"'
    return tuple(
        Fault(f"{place}: {'.'.join(one.key)}", "" if one.size is None else making.say(one.size), one.expected)
        for one in (*refusals(heading(making.window.heading), making), *_too_flat(making))
    )


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
