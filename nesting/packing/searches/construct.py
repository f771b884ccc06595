"""First layouts: shelves at once, then the lowest place for each part, and bands cut straight across."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence

from nesting.packing.reduce import Core, Kind, Layout, Spot, uncollected
from nesting.packing.searches.bed import Bed, SeamRoom

Order = tuple[int, ...]
"""The kind of each copy to lay, in turn."""

_SORTS: tuple[tuple[str, Callable[[Kind], tuple[int, ...]]], ...] = (
    ("area", lambda k: (-k.area, -k.length)),
    ("length", lambda k: (-k.length, -k.width)),
    ("width", lambda k: (-k.width, -k.length)),
    ("perimeter", lambda k: (-k.width - k.length, -k.area)),
)


def orders(core: Core) -> Iterator[tuple[str, Order]]:
    """Orders worth a first try: matched parts before the rest, each by area, length, width, perimeter."""
    for name, key in _SORTS:
        by_key = sorted(range(len(core.kinds)), key=lambda i, key=key: key(core.kinds[i]))  # type: ignore[misc]
        yield name, _spread(core, by_key)
        if any(kind.match for kind in core.kinds):
            first = sorted(by_key, key=lambda i: core.kinds[i].match is None)
            if first != by_key:
                yield f"{name}, matched first", _spread(core, first)


def _spread(core: Core, kinds: Sequence[int]) -> Order:
    return tuple(index for index in kinds for _ in range(core.kinds[index].copies))


@uncollected()
def shelves(core: Core, room: SeamRoom) -> Layout | None:
    """Parts side by side in rows, longest first; quick however many there are.

    A row starts above the one before, and above all flaws; a matched part waits in its row for the next
    point of the pattern on either axis. None when a seam group has no phase with room.

    References
    ----------
    Coffman, Garey, Johnson, Tarjan, SIAM J. Computing 9 (1980) 808-826 (next-fit, decreasing length).
    """
    phases = dict[str, int]()
    for seam in room.seams if core.repeat is not None and core.repeat.width is not None else ():
        found = room.phases(seam)
        if not found:
            return None
        phases[seam] = found[0]
    spots, levels = list[Spot](), dict[str, int]()
    x, base, top = 0, max((flaw.y + flaw.length for flaw in core.flaws), default=0), 0
    top = base
    longest = sorted(range(len(core.kinds)), key=lambda i: (-core.kinds[i].ways[0][1], -core.kinds[i].area))
    for index in longest:
        kind = core.kinds[index]
        width, length, turned = kind.ways[0]
        for _ in range(kind.copies):
            at = _next_x(core, kind, phases, x)
            last = core.across(kind, width)[1]
            if at > last:
                base, at = top, _next_x(core, kind, phases, 0)
                if at > last:
                    return None
            y = _next_y(core, kind, levels, at, base)
            spots.append(Spot(index, at, y, turned))
            x, top = at + width, max(top, y + length)
    return tuple(spots)


def _next_x(core: Core, kind: Kind, phases: dict[str, int], least: int) -> int:
    """The next place across, clear of the edge, in phase with the part's seam group."""
    match, least = kind.match, max(least, kind.clear[0])
    if match is None or match.seam is None or core.repeat is None:
        return least
    return core.repeat.first_x(least, match.x, phases.get(match.seam, 0))


def _next_y(core: Core, kind: Kind, levels: dict[str, int], x: int, least: int) -> int:
    """The next place along in phase with the part's level group, which its first part settles."""
    match, repeat = kind.match, core.repeat
    if match is None or repeat is None:
        return least
    phase = -core.start if core.start is not None else levels.get(match.level)
    if phase is None:
        levels[match.level] = repeat.phase_y(x, least, match.x, match.y)
        return least
    return repeat.first_y(least, x, match.x, match.y, phase)


def fill(
    core: Core,
    order: Order,
    room: SeamRoom,
    limit: int | None = None,
    stop: Callable[[], bool] = lambda: False,
) -> Layout | None:
    """Each part of the order in the lowest, then leftmost free place ("bottom-left fill").

    Holes between parts are filled, flaws kept clear of, and matched parts wait for the next point of
    the pattern.

    Parameters
    ----------
    core
        The problem.
    order
        The kind of each copy, in turn.
    room
        The problem's seam groups.
    limit
        Give up as soon as the layout is longer.
    stop
        Give up once it says so; asked after each part.

    Returns
    -------
    Layout or None
        None when the limit is passed or no phase of a seam group has room.

    References
    ----------
    Chazelle, "The bottom-left bin-packing heuristic", IEEE Trans. Computers 32 (1983) 697-707.
    """
    bed = Bed(core, room)
    for index in order:
        place = bed.lowest(core.kinds[index])
        if place is None or (limit is not None and place[2] > limit) or stop():
            return None
        bed.put(index, place)
    return bed.layout


def bands(core: Core, room: SeamRoom, stop: Callable[[], bool] = lambda: False) -> Layout | None:
    """Rows cut straight across the strip: each is as long as its first part, and filled from the rest.

    Within a row parts stand beside and above one another but never over its end, so one straight cut
    across frees the row.

    References
    ----------
    Coffman, Garey, Johnson, Tarjan, SIAM J. Computing 9 (1980) 808-826 (level packings by decreasing
    length); stacking within a row is the usual extension.
    """
    left = [kind.copies for kind in core.kinds]
    by_length = sorted(range(len(core.kinds)), key=lambda i: (-core.kinds[i].length, -core.kinds[i].width))
    bed, base = Bed(core, room), 0
    while any(left):
        tallest = next(index for index in by_length if left[index])
        place = bed.lowest(core.kinds[tallest], base)
        if place is None or stop():
            return None
        bed.put(tallest, place)
        left[tallest] -= 1
        top = place[2]
        for index in by_length:
            while left[index]:
                place = bed.lowest(core.kinds[index], base)
                if place is None or place[2] > top:
                    break
                bed.put(index, place)
                left[index] -= 1
        base = top
    return bed.layout
