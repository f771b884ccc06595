"""The widths of a panel's layers as pieces: joined, matched, numbered from the leading edge outwards."""

from __future__ import annotations

import itertools
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.cutting.joined import Joined as Joined
from nesting.cutting.layers import Layer
from nesting.cutting.measures import (
    Hanging,
    clearance_of,
    left_hem,
    lying_flat,
    lying_length,
    needed_length,
    needed_width,
    right_hem,
)
from nesting.cutting.seam_plans import SeamPlan, plain_plan, planned
from nesting.cutting.selvage_sides import hem_notes, own_edge
from nesting.cutting.table import FabricsOnTable
from nesting.cutting.width_words import edges_joined, full_words, leading_words
from nesting.errors import DoesNotFitError
from nesting.headings import FinishedPanel, Making
from nesting.headings.hanging import hanger_height
from nesting.headings.heading import Heading
from nesting.order.fabric import Bolt
from nesting.order.job import Edge
from nesting.order.print_width import lattice, room_across
from nesting.packing.problem import Match
from nesting.pieces.gap import with_gap
from nesting.pieces.piece import Piece, Steps
from nesting.pieces.seams import (
    Width,
    places,
    plan_widths,
    room_in_phase,
    widths_of,
)
from nesting.pieces.washing import grown, longer, seam_before, wider, width_kept
from nesting.units import round_down, round_up


def join(
    table: FabricsOnTable,
    making: Making,
    hanging: Hanging,
    key: str,
    need: Steps,
    least: int,
    *,
    face: bool,
    off: int = 0,
    plan: SeamPlan | None = None,
) -> Joined:
    """The widths of fabric ``key`` that give ``need``, which is before shrinkage and rounding.

    Only a ``face`` is matched, and only its part-widths are rounded as the window asks. ``least`` and ``off``
    as for `plan_widths`; ``off`` is for the plain plan, which is taken where ``plan`` is None.

    Raises
    ------
    DoesNotFitError
        The panel cannot be made up by the plan.
    """
    window = making.window
    need = wider(need, table.fabrics[key]).up_to(table.grid)
    matched = face and table.fabrics[key].repeat is not None
    where = f'window "{window.name}", fabric {_on_table(table, key)}'
    # Widths of a print are sewn where the pattern meets, and that line shrinks with the fabric.
    seam = making.seam if matched else seam_before(making.seam, table.fabrics[key])
    fabric = widths_of(table.bolts[key], seam, making.unit, matched=matched, where=where)
    if (key, window.room) in table.railroaded:
        return Joined((Width(need.total, "single"),), 0, need, fabric, run=True)
    mode = window.widths if face else "exact"
    plan = plan or plain_plan(making, hanging)
    if off:
        outwards = plan_widths(need.total, fabric, mode, least, off)
    else:
        outwards = planned(plan, need.total, fabric, mode, least, even=hanging.leading is None)
    if hanging.leading is None:
        middle = len(outwards) // 2 if plan.at == "sides" else 0
        return Joined(outwards, middle, need, fabric)
    if hanging.leading == "right":
        return Joined(outwards[::-1], len(outwards) - 1, need, fabric)
    return Joined(outwards, 0, need, fabric)


def _on_table(table: FabricsOnTable, key: str) -> str:
    """The fabric's title in quotes, and whether it has been washed by now."""
    fabric = table.job.fabric(key)
    shrunk = fabric.shrinkage is not None and fabric.shrinkage.washed == "before"
    return f'"{fabric.title}"{" (washed before cutting)" if shrunk else ""}'


def least_part(making: Making, hem_turn: int, hem_allowance: int, step: int, kept: Fraction) -> int:
    """Least cut width of a part: what must show, clear of the side hem, its seam and its hem.

    What must show is measured once washed; ``kept`` is the part of a width that is left then.
    """
    seam = round_up(making.seam / kept, 1)
    return round_up(seam + (max(making.least_part, hem_turn) + hem_allowance) / kept, step)


def in_phase(table: FabricsOnTable, key: str, placed: Iterable[tuple[int, int]], seam: int) -> bool:
    """Whether the widths of one seam group can all lie in phase on their fabric; true of fabric unmatched."""
    placed, bolt = tuple(placed), table.bolts[key]
    repeat = lattice(table.fabrics[key], bolt)
    if repeat is None or repeat.width is None:
        return True
    fit, widest = round_down(bolt.usable, table.grid), max(cut for _, cut in placed)
    room = room_across(bolt, fit, seam, widest)
    return room_in_phase(placed, repeat.width) <= room


def face_widths(
    table: FabricsOnTable,
    making: Making,
    hanging: Hanging,
    off: int = 0,
    *,
    sliver: bool = False,
    plan: SeamPlan | None = None,
) -> Joined:
    """The widths of a panel's face; ``sliver`` leaves its part-width as narrow as it comes."""
    plan = plan or plain_plan(making, hanging)
    hems = {"outer": (making.outer_hem,), "leading": (making.leading_hem,)}
    around = hems.get(plan.at, (making.outer_hem, making.leading_hem))
    need, key = needed_width(making, hanging), making.window.fabric
    kept = width_kept(table.fabrics[key])
    least = max(least_part(making, hem.finished, hem.allowance, table.grid, kept) for hem in around)
    return join(table, making, hanging, key, need, 0 if sliver else least, face=True, off=off, plan=plan)


def planned_face(table: FabricsOnTable, making: Making, hanging: Hanging, plan: SeamPlan) -> Joined:
    """The widths of a face by a plan other than the plain one.

    Raises
    ------
    DoesNotFitError
        The panel cannot be made up by the plan, or its widths would not meet in the pattern.
    """
    joined = face_widths(table, making, hanging, plan=plan)
    if not in_phase(table, making.window.fabric, joined.reach(), making.seam):
        raise DoesNotFitError("its widths would not meet in the pattern")
    return joined


def _meeting_widths(table: FabricsOnTable, making: Making, hanging: Hanging) -> Joined:
    """The widths of a face by itself, all of them in phase where that can be.

    A width trimmed on its seam side moves all beyond it in the pattern, where a whole repeat may find no
    room. Then the leading edge gives way instead, or the panel is made wider, at whose edges are slivers.
    """
    first = face_widths(table, making, hanging)
    short = sum(first.fabric.full - width.cut for width in first.widths if width.kind == "trimmed")
    if not short or in_phase(table, making.window.fabric, first.reach(), making.seam):
        return first
    sliver = face_widths(table, making, hanging, sliver=True)
    least = max(width.cut for width in first.widths if width.kind == "part")
    wider = replace(sliver, widths=tuple(_at_least(width, least) for width in sliver.widths))
    tries = [wider]
    if hanging.leading is not None:
        tries.insert(0, face_widths(table, making, hanging, short, sliver=True))
    key = making.window.fabric
    return next((again for again in tries if in_phase(table, key, again.placed(), making.seam)), first)


def _at_least(width: Width, cut: int) -> Width:
    return replace(width, cut=max(cut, width.cut)) if width.kind == "part" else width


def face(
    table: FabricsOnTable, making: Making, hanging: Hanging, joined: Joined | None = None
) -> tuple[FinishedPanel, Joined]:
    """A panel as it will be made up, and the widths of its face: those given, else its own."""
    left, right = left_hem(making, hanging), right_hem(making, hanging)
    joined = joined or _meeting_widths(table, making, hanging)
    kept = width_kept(table.fabrics[making.window.fabric])
    # Washed first, then joined: only where the pattern meets has the seam shrunk with its line.
    seam = joined.fabric.seam * kept if joined.fabric.matched else Fraction(making.seam)
    ends = list(itertools.accumulate(width.cut * kept - 2 * seam for width in joined.widths))
    flat = round_down(ends[-1] + 2 * seam, 1) - left.allowance - right.allowance
    places = (round_down(end + seam, 1) - left.allowance for end in ends[:-1])
    return lying_flat(making, hanging, flat, tuple(places)), joined


def face_layer(making: Making, hanging: Hanging, panel: FinishedPanel) -> Layer:
    """The face of a panel."""
    length = needed_length(making)
    if making.window.working:
        length = length.add("working allowance, trimmed at the top", making.window.working)
    return Layer(
        role="panel",
        fabric=making.window.fabric,
        width=needed_width(making, hanging),
        length=length,
        left=left_hem(making, hanging),
        right=right_hem(making, hanging),
        hem=making.bottom_hem.allowance,
        finished_width=panel.flat,
        finished_length=panel.length,
    )


@dataclass(frozen=True, slots=True)
class Series:
    """Which windows of an order a set of pieces stands for.

    ``slug`` of the window, ``prefix`` of the piece ids, ``seam`` of the seam group (None: each panel its
    own), ``origin`` of the panel in the pattern plane, ``copies`` of every piece.
    """

    slug: str
    prefix: str
    seam: str | None
    origin: int
    copies: int


def layer_pieces(
    table: FabricsOnTable,
    making: Making,
    style: Heading,
    hanging: Hanging,
    layer: Layer,
    joined: Joined,
    series: Series,
) -> Iterator[Piece]:
    """The widths of one layer of one panel."""
    window, fabric = making.window, table.fabrics[layer.fabric]
    along = longer(layer.length, fabric)
    gap = layer.role == "panel" and not joined.run
    along = (with_gap(along, fabric) if gap else along).up_to(table.grid)
    how = table.lie(layer.fabric, window.room)
    under = "" if layer.role == "panel" else f"/{layer.role}"
    base = f"{series.prefix}/{hanging.key}{under}"
    title = f"{window.name}, {hanging.key} {layer.role if under else 'panel'}"
    at = places(joined.widths, joined.fabric.seam, joined.lead)
    hem_line = grown(layer.hem, fabric)
    for index in sorted(range(len(joined.widths)), key=joined.number):
        number = joined.number(index)
        beside = tuple(n for n in (index - 1, index + 1) if 0 <= n < len(joined.widths))
        neighbors = sorted(beside, key=joined.number)
        match = None
        if layer.role == "panel" and fabric.repeat is not None:
            q = _level(table, making, style, hem_line)
            seam = series.seam or (base if len(joined.widths) > 1 else None)
            match = Match(_level_group(table, making), seam, series.origin + at[index], q)
        across, own = (
            _width_steps(table, joined, index, making.seam),
            own_edge(table, making, hanging, layer, joined.widths, index),
        )
        yield Piece(
            id=f"{base}/{number}",
            name=f"{title}, width {number}" if len(joined.widths) > 1 else title,
            role=layer.role,
            fabric=layer.fabric,
            width=across.total,
            length=along.total,
            copies=series.copies,
            turnable=how.turnable and match is None,
            match=match,
            arrow_group=how.arrow_group,
            nap=how.nap,
            window=window.name,
            room=window.room,
            side=hanging.side,
            finished_width=layer.finished_width,
            finished_length=layer.finished_length,
            hem_line=hem_line,
            width_steps=across,
            length_steps=along,
            joined_to=tuple(f"{base}/{joined.number(n)}" for n in neighbors),
            joined_at=tuple(edges_joined(layer, index, neighbors)),
            notes=(
                *_notes(layer, hanging, joined, index, table.bolts[layer.fabric], own),
                *hem_notes(making, own),
            ),
            sideways=table.sideways(layer.fabric, window.room, how.arrow_group),
            top=table.top(layer.fabric),
            hem_edge=own,
        )


def _level_group(table: FabricsOnTable, making: Making) -> str:
    """The panels that share a height of the pattern: those of a room, or all where it is prescribed."""
    window = making.window
    if table.fabrics[window.fabric].motif is None:
        return table.rooms[window.room]
    return f"{window.fabric}/motif"


def _level(table: FabricsOnTable, making: Making, style: Heading, hem_line: int) -> int:
    """Height of the lower cut edge above the line of the pattern: the level line or the foot of the motif."""
    fabric = table.fabrics[making.window.fabric]
    foot = 0 if fabric.motif is None else grown(fabric.motif.above_level, fabric)
    if fabric.level == "hem":
        return -hem_line - foot
    if fabric.level == "top":
        return -hem_line - grown(lying_length(making).total, fabric) - foot
    window, height = making.window, clearance_of(making)
    hanger = hanger_height(style, making)
    if hanger is not None and window.finished_length is not None:
        height = hanger.total + style.above_hanger(making).total - window.finished_length
    return grown(height, fabric) - hem_line


def _width_steps(table: FabricsOnTable, joined: Joined, index: int, seam: int) -> Steps:
    """The sum that gives the cut width of one width; a matched full width is never rounded."""
    width, fabric = joined.widths[index], joined.fabric
    if width.kind == "single":
        return _corrected(joined.need, width.cut, "up to the width of the fabric", table.grid)
    full = Steps("cut width").add("usable width", fabric.full)
    if fabric.matched:
        match = fabric.full - 2 * fabric.seam
        full = Steps("cut width").add("match", match).add("seam", fabric.seam, 2)
    if width.kind == "full":
        return full if fabric.matched else full.up_to(table.grid)
    if width.kind in ("trimmed", "narrowed"):
        return full.take("moved to the part-width", fabric.full - width.cut)
    if width.kind == "leading":
        return full.take("cut off at the leading edge", fabric.full - width.cut)
    parts = sum(other.kind == "part" for other in joined.widths)
    fulls = len(joined.widths) - parts
    steps = joined.need.take("full width", fabric.full, fulls)
    label = "seam of a join" if fabric.seam == seam else "seam of a join before washing"
    steps = steps.add(label, fabric.seam, 2 * (len(joined.widths) - 1))
    off = sum(fabric.full - other.cut for other in joined.widths if other.kind == "leading")
    steps = steps.add("cut off at the leading edge", off) if off else steps
    strips = [other.cut for other in joined.widths if other.kind == "part"]
    if len(set(strips)) > 1:
        steps = steps.take("the other strip", sum(strips) - width.cut)
    elif parts > 1:
        steps = steps.over("equal parts", parts)
    return _corrected(steps.up_to(table.grid), width.cut, "made wider", table.grid)


def _corrected(steps: Steps, cut: int, label: str, step: int) -> Steps:
    extra = cut - steps.total
    if not extra:
        return steps
    steps = steps.add(label, extra)
    return steps if cut % step else steps.up_to(step)


def _notes(
    layer: Layer, hanging: Hanging, joined: Joined, index: int, bolt: Bolt, own: Edge | None
) -> Iterator[str]:
    """What is to be known of one width of a panel, cut from that bolt as it lies on the table."""
    width, many = joined.widths[index], len(joined.widths) > 1
    if joined.run:
        yield "turned, in one piece, no seams"
    if width.kind == "full":
        yield full_words(width.cut, joined.fabric, bolt, own)
    elif width.kind == "trimmed":
        yield "full width trimmed on the seam side, so that the part-width is no sliver"
    elif width.kind == "narrowed":
        yield "full width trimmed on the seam side, so that the part-width takes its fabric better"
    elif width.kind == "leading":
        yield "full width trimmed at the leading edge, so that all widths meet in the pattern"
    elif width.kind == "part":
        yield f"part-width {_edge(hanging, joined, index)}"
    if hanging.leading is not None and index == joined.lead:
        yield leading_words(layer, hanging.leading)
    outer = 0 if hanging.leading == "right" else len(joined.widths) - 1
    inside = not joined.fabric.matched and own is None
    if width.kind == "part" and hanging.leading and index == outer and inside:
        yield f"from the {hanging.leading} side of its width, so that selvage meets selvage"
    if many and hanging.leading is None and width.kind != "part" and index == joined.lead:
        yield "middle of the panel"


def _edge(hanging: Hanging, joined: Joined, index: int) -> str:
    """Where in its panel a width lies."""
    if 0 < index < len(joined.widths) - 1:
        return "beside another strip"
    if hanging.leading is None:
        return "at the outer edge"
    return f"at the {'leading' if (index == 0) == (hanging.leading == 'left') else 'outer'} edge"
