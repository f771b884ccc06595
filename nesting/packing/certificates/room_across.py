"""Where the widths of a panel may lie across, as the pattern has it."""

from __future__ import annotations

from typing import Any

import numpy as np

from nesting.packing.reduce import Core, Kind


def places(core: Core, kind: Kind, width: int, rooms: dict[str, Any]) -> Any | None:
    """Where a kind may begin, as flags from 0 to the strip's width; None where anywhere will do.

    Parameters
    ----------
    core, kind, width
        The problem, one of its kinds, and how wide it lies.
    rooms
        What was found out of seam groups so far; empty at first.
    """
    match, repeat = kind.match, core.repeat
    at, (first, last) = np.arange(core.width + 1), core.across(kind, width)
    inside = (first <= at) & (at <= last)
    if match is None or match.seam is None or repeat is None or repeat.width is None:
        return inside if any(kind.clear) else None
    if match.seam not in rooms:
        rooms[match.seam] = room_of(core, match.seam)
    return rooms[match.seam][(at - match.x) % repeat.width] & inside


def room_of(core: Core, seam: str) -> Any:
    """Flags of the phases across that leave room for every width of a seam group."""
    assert core.repeat is not None
    assert core.repeat.width is not None
    phases = np.arange(core.repeat.width)
    suits = np.ones(len(phases), dtype=np.bool_)
    for kind in core.kinds:
        if kind.match is not None and kind.match.seam == seam:
            first, last = core.across(kind, kind.width)
            suits &= first + (phases + kind.match.x - first) % core.repeat.width <= last
    return suits
