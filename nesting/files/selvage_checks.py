"""Hems that are the selvage: what must hold for an edge of a panel to be the fabric's own."""

from __future__ import annotations

from nesting.files.faults import Faults, Loc
from nesting.files.order import FabricEntry
from nesting.files.window_order import HemEntry, JobEntry, SideHemEntry, WindowEntry

_TURNED = "panels whose bottom is the selvage are cut turned"
_EDGE = "such panels must lie at one edge of the fabric, and bands cut across leave that open"


def is_selvage(hem: HemEntry | None) -> bool:
    """Whether a hem was said to be the selvage."""
    return hem is not None and hem.turns == 0


def check_selvage_hems(order: JobEntry, faults: Faults, fallback: str) -> None:
    """Add what keeps a hem from being the selvage; ``fallback``: the fabric of windows naming none."""
    for number, window in enumerate(order.window):
        fabric = order.fabric.get(window.fabric or fallback)
        if fabric is None:
            continue
        bottom = is_selvage(window.bottom_hem)
        if bottom:
            _check_bottom(window, fabric, window.fabric or fallback, ("window", number), faults)
        across = order.cutting == "across-first" and not faults.knows(("cutting",))
        if across and (bottom or _at_a_side(window, fabric)):
            faults.add(("cutting",), f'"free" where a hem is the selvage: {_EDGE}')


def _at_a_side(window: WindowEntry, fabric: FabricEntry) -> bool:
    """Whether a panel of the window may come to lie with a side on the fabric's own edge.

    Where it is cut turned, or is a print, it gets its usual hem instead: see `nesting.cutting.selvage_sides`.
    """
    side = window.side_hem or SideHemEntry()
    hems = window.leading_hem or side.leading or side, window.outer_hem or side.outer or side
    return any(map(is_selvage, hems)) and fabric.repeat is None and window.railroad != "yes"


def _check_bottom(window: WindowEntry, fabric: FabricEntry, key: str, loc: Loc, faults: Faults) -> None:
    hem = "a hem such as { turn = 4, turns = 2 }"
    if fabric.repeat is not None:
        why = f'fabric "{key}" is a matched print, whose panels hang upright, and {_TURNED}'
        faults.add((*loc, "bottom_hem"), f"{hem}, or a plain fabric: {why}")
    if fabric.nap == "one-way":
        why = f'fabric "{key}" has a one-way nap, whose panels hang upright, and {_TURNED}'
        faults.add((*loc, "bottom_hem"), f"{hem}, or a fabric without a one-way nap: {why}")
    if window.railroad == "no":
        faults.add((*loc, "railroad"), f'"auto" or "yes", or {hem} at the bottom: {_TURNED}')
    for bolt, offer in enumerate(fabric.bolt):
        for at, length in enumerate(offer.on_hand):
            if length.usable is not None:
                place: Loc = ("fabric", key, "bolt", bolt, "on_hand", at, "usable")
                faults.add(place, f"no usable width of its own where a hem is the selvage, or {hem}")
