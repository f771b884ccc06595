"""Shorter layouts from better orders: small changes to the order of laying, kept when not worse."""

from __future__ import annotations

import random
from collections.abc import Callable

from nesting.packing.bed import SeamRoom
from nesting.packing.construct import Order, fill
from nesting.packing.race import Race
from nesting.packing.reduce import Core, Layout

#: Units of work a laid part is taken to cost, per part already lying: see `Budget`.
WORK_PER_PAIR = 4e-6

Score = tuple[int, int]
"""Length, then the sum of width x top over all parts: the lower the cloth is filled, the better."""


def score(core: Core, layout: Layout) -> Score:
    """How good a layout is; smaller is better."""
    moment = 0
    for spot in layout:
        width, length = core.size(spot)
        moment += width * (spot.y + length)
    return core.length_of(layout), moment


def improve(
    core: Core, start: Order, room: SeamRoom, race: Race, rng: random.Random, stop: Callable[[], bool]
) -> None:
    """Search orders near ``start`` until ``stop()``, offering every shorter layout to the race.

    A random exchange or move is kept when the layout filled in the new order is not worse.

    References
    ----------
    Wei, Hu, Leung, Zhang, "An improved skyline based heuristic for the 2D strip packing problem and its
    efficient implementation", Computers & Operations Research 80 (2017) 113-127 (random exchanges, not
    worse is kept).
    """
    if len(set(start)) < 2:
        return
    layout = fill(core, start, room)
    work = WORK_PER_PAIR * len(start) ** 2
    race.budget.charge(work)
    if layout is None:
        return
    race.offer(core, layout, "order search")
    order, best = start, score(core, layout)
    while not stop():
        race.pulse()
        race.budget.charge(work)
        tried = _neighbour(order, rng)
        layout = fill(core, tried, room, limit=best[0])
        if layout is None:
            continue
        found = score(core, layout)
        if found <= best:
            order, best = tried, found
            race.offer(core, layout, "order search")


def _neighbour(order: Order, rng: random.Random) -> Order:
    """Two unlike parts exchanged, or one part moved."""
    changed = list(order)
    i = rng.randrange(len(changed))
    if rng.random() < 0.5:
        unlike = [j for j, kind in enumerate(changed) if kind != changed[i]]
        j = rng.choice(unlike)
        changed[i], changed[j] = changed[j], changed[i]
    else:
        part = changed.pop(i)
        changed.insert(rng.randrange(len(changed) + 1), part)
    return tuple(changed)
