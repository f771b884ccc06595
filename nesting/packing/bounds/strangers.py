"""Kinds that can share no row, because the design leaves them no places beside one another."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np

from nesting.packing.bounds.places import MOST_CELLS, places
from nesting.packing.reduce import Core


def strangers(core: Core, kinds: Sequence[int]) -> list[list[int]] | None:
    """Which kinds can share no row, for their places across do not allow it; None where all can."""
    if core.repeat is None or core.repeat.width is None or core.width * len(kinds) > MOST_CELLS:
        return None
    rooms: dict[str, Any] = {}
    flags = [places(core, core.kinds[i], rooms) for i in kinds]
    found = [[0] * len(kinds) for _ in kinds]
    for a, i in enumerate(kinds):
        for b, j in enumerate(kinds[: a + 1]):
            if not _side_by_side(core, (i, j), (flags[a], flags[b]), rooms):
                found[a][b] = found[b][a] = 1
    return found if any(map(any, found)) else None


def _side_by_side(core: Core, kinds: tuple[int, int], flags: tuple[Any, Any], rooms: dict[str, Any]) -> bool:
    """Whether two kinds have places beside one another; widths of one panel share their phase."""
    one, other = (core.kinds[i] for i in kinds)
    if flags[0] is None or flags[1] is None or one.match is None or other.match is None:
        ends = [
            (_ends(core, kind.width, at), kind.width) for kind, at in zip((one, other), flags, strict=True)
        ]
        return _clear(*ends[0], *ends[1])
    if one.match.seam != other.match.seam:
        return _clear(
            _ends(core, one.width, flags[0]), one.width, _ends(core, other.width, flags[1]), other.width
        )
    assert core.repeat is not None
    assert core.repeat.width is not None
    column = core.repeat.width
    for phase in np.nonzero(rooms[str(one.match.seam)])[0]:
        ends = []
        for kind, match in ((one, one.match), (other, other.match)):
            first = int(phase + match.x) % column
            ends.append(((first, first + (core.width - kind.width - first) // column * column), kind.width))
        if _clear(*ends[0], *ends[1]):
            return True
    return False


def _ends(core: Core, width: int, flags: Any) -> tuple[int, int]:
    """The first and the last place across."""
    if flags is None:
        return 0, core.width - width
    at = np.nonzero(flags)[0]
    return int(at[0]), int(at[-1])


def _clear(one: tuple[int, int], width: int, other: tuple[int, int], other_width: int) -> bool:
    return one[0] + width <= other[1] or other[0] + other_width <= one[1]
