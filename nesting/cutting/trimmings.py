"""Bands and tie-backs: cut sizes with their seam allowances (common practice, no source)."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import replace
from typing import Final

from nesting.cutting.measures import lying_length
from nesting.headings import Component, FinishedPanel, Making
from nesting.headings.making import measure
from nesting.order.job import Band, Tieback
from nesting.pieces.piece import Steps
from nesting.pieces.seams import count_widths

#: A shorter rest is a scrap; the parts are then equal.
LEAST_REST: Final = measure("6", "15")


def bands(making: Making, panel: FinishedPanel, usable: Mapping[str, int]) -> Iterator[Component]:
    """The bands of one panel, laid on the finished face with their edges turned in."""
    orders = making.window.bands
    for number, band in enumerate(orders, 1):
        name = "band" if len(orders) == 1 else f"band-{number}"
        if band.edge == "hem":
            yield from _hem_band(making, panel, band, name, usable[band.fabric])
        else:
            yield from _leading_bands(making, panel, band, name)


def _leading_bands(making: Making, panel: FinishedPanel, band: Band, name: str) -> Iterator[Component]:
    """One along the leading edge; a panel that does not move and hangs alone gets one on each side."""
    edges = ("left", "right") if panel.leading is None else (panel.leading,)
    lying = lying_length(making)
    yield Component(
        key=f"{panel.key}/{name}",
        name=f"{making.window.name}, {panel.key} leading-edge band",
        role="band",
        fabric=band.fabric,
        width=Steps("cut width").add("finished band", band.width).add("edge turned in", making.seam, 2),
        length=Steps("cut length", lying.terms).add("end turned in", making.seam, 2),
        copies=len(edges),
        side=panel.side,
        finished_width=band.width,
        finished_length=lying.total,
        notes=(f"along the {' and the '.join(edges)} edge",),
    )


def _hem_band(
    making: Making, panel: FinishedPanel, band: Band, name: str, usable: int
) -> Iterator[Component]:
    """Along the hem, pieced where it is wider than its fabric: in equal parts, or as its piecing wants it."""
    seam, how = making.seam, making.band_piecing.how
    whole = Steps("cut width").add("finished panel", panel.flat).add("end turned in", seam, 2)
    fewest = count_widths(whole.total, usable, seam)
    parts = fewest + (how == "more" and fewest > 1)
    base = Component(
        key=f"{panel.key}/{name}",
        name=f"{making.window.name}, {panel.key} hem band",
        role="band",
        fabric=band.fabric,
        width=whole,
        length=Steps("cut length").add("finished band", band.width).add("edge turned in", seam, 2),
        side=panel.side,
        finished_width=panel.flat,
        finished_length=band.width,
        notes=("along the hem",),
    )
    if parts == 1:
        yield base
        return
    joined = whole.add("seam of a join", seam, 2 * (parts - 1))
    rest = joined.take("full-width strips", usable, parts - 1)
    if how == "long" and rest.total >= LEAST_REST.of(making.unit):
        note = (f"along the hem, {parts} parts joined",)
        full = Steps("cut width").add("usable width", usable)
        yield replace(base, key=f"{base.key}/1", width=full, copies=parts - 1, notes=note)
        yield replace(base, key=f"{base.key}/2", name=f"{base.name}, rest", width=rest, notes=note)
        return
    across = joined.over("equal parts", parts)
    yield replace(base, width=across, copies=parts, notes=(f"along the hem, {parts} equal parts joined",))


def tiebacks(making: Making) -> Iterator[Component]:
    """The tie-backs of one window: a strip folded double, edges turned in."""
    orders = making.window.tiebacks
    for number, order in enumerate(orders, 1):
        key = "tieback" if len(orders) == 1 else f"tieback-{number}"
        yield _tieback(making, order, key)


def _tieback(making: Making, order: Tieback, key: str) -> Component:
    return Component(
        key=key,
        name=f"{making.window.name}, tie-back",
        role="tieback",
        fabric=order.fabric,
        width=Steps("cut width").add("finished tie-back", order.length).add("end turned in", making.seam, 2),
        length=Steps("cut length").add("finished width", order.width, 2).add("seam", making.seam, 2),
        copies=order.count,
        finished_width=order.length,
        finished_length=order.width,
        notes=("folded lengthwise",),
    )
