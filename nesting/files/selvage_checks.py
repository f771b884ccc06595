"""Hems that are the selvage: what must hold for an edge of a panel to be the fabric's own."""

from __future__ import annotations

from nesting.files.faults import Faults, Loc
from nesting.files.order import ClothEntry
from nesting.files.window_order import HemEntry, JobEntry, WindowEntry

_TURNED = "panels whose bottom is the selvage are cut turned"


def is_selvage(hem: HemEntry | None) -> bool:
    """Whether a hem was said to be the selvage."""
    return hem is not None and hem.turns == 0


def check_selvage_hems(order: JobEntry, faults: Faults, fallback: str) -> None:
    """Add what keeps a bottom hem from being the selvage; ``fallback``: the cloth of windows naming none."""
    for number, window in enumerate(order.window):
        cloth = order.cloth.get(window.cloth or fallback)
        if is_selvage(window.bottom_hem) and cloth is not None:
            _check_bottom(window, cloth, window.cloth or fallback, ("window", number), faults)
            if order.cutting == "across-first" and not faults.knows(("cutting",)):
                faults.add(("cutting",), f'"free" where a hem is the selvage: {_TURNED}, each at one edge')


def _check_bottom(window: WindowEntry, cloth: ClothEntry, key: str, loc: Loc, faults: Faults) -> None:
    hem = "a hem such as { turn = 4, turns = 2 }"
    if cloth.repeat is not None:
        why = f'cloth "{key}" is a matched print, whose panels hang upright, and {_TURNED}'
        faults.add((*loc, "bottom_hem"), f"{hem}, or a plain cloth: {why}")
    if cloth.nap == "one-way":
        why = f'cloth "{key}" has a one-way nap, whose panels hang upright, and {_TURNED}'
        faults.add((*loc, "bottom_hem"), f"{hem}, or a cloth without a one-way nap: {why}")
    if window.railroad == "no":
        faults.add((*loc, "railroad"), f'"auto" or "yes", or {hem} at the bottom: {_TURNED}')
    for bolt, offer in enumerate(cloth.bolt):
        for at, length in enumerate(offer.at_hand):
            if length.usable is not None:
                place: Loc = ("cloth", key, "bolt", bolt, "at_hand", at, "usable")
                faults.add(place, f"no usable width of its own where a hem is the selvage, or {hem}")
