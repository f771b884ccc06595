"""A continuous pair: the design runs on from panel to panel when they are closed. Lengths in ticks.

Hems and overlap take cloth away between the panels, so the widths of the second lie elsewhere in the
design than those of the first. Where the bolt has no room to shift them by so much, the leading widths
are trimmed at their leading edges until all full widths lie at one place in the design again.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Sequence
from fractions import Fraction

from nesting.headings import Making
from nesting.measures import Hanging, left_hem, right_hem
from nesting.panels import Joined, face_widths, in_phase
from nesting.print_width import lattice
from nesting.table import Table
from nesting.units import round_down, round_up
from nesting.washing import width_kept

Pair = Sequence[tuple[Hanging, Joined]]
"""The panels of a window from left to right, each with its widths."""


def origins(making: Making, panels: Pair, kept: Fraction) -> tuple[int, ...]:
    """Place in the design of the leading width of each panel, 0 for the first.

    ``kept`` is the part of a width that is left after washing.
    """
    found, seam = [0], making.seam
    for (earlier, before), (hanging, joined) in itertools.pairwise(panels):
        beyond = sum(w.cut - 2 * seam for w in before.widths[before.lead :]) + 2 * seam
        left = found[-1] + beyond - _hidden(making, earlier, hanging, kept)
        found.append(left + sum(w.cut - 2 * seam for w in joined.widths[: joined.lead]))
    return tuple(found)


def _hidden(making: Making, earlier: Hanging, hanging: Hanging, kept: Fraction) -> int:
    """Cloth that does not show between two panels side by side: hems and overlap, before washing."""
    hems = right_hem(making, earlier).allowance + left_hem(making, hanging).allowance
    return round_up((hems + 2 * min(earlier.overlap, hanging.overlap)) / kept, 1)


def running_pair(table: Table, making: Making, panels: Pair) -> Pair:
    """The panels with widths that all lie in phase; as they were where that is so, or cannot be.

    Trimmed by ``a`` and ``b`` at the leading edges, full widths of W lie at one place in the design where
    ``a + b = W - hems - overlap``, modulo the repeat width. Both panels give half of it, to hang alike.
    """
    key = making.window.cloth
    kept = width_kept(table.cloths[key])

    def lies(pair: Pair) -> bool:
        starts = origins(making, pair, kept)
        return in_phase(
            table, key, [at for (_, j), start in zip(pair, starts, strict=True) for at in j.placed(start)]
        )

    if [hanging.leading for hanging, _ in panels] != ["right", "left"] or lies(panels):
        return panels
    if any(len(joined.widths) < 2 for _, joined in panels):
        return panels
    return next((pair for pair in _trimmed(table, making, panels, kept) if lies(pair)), panels)


def _trimmed(table: Table, making: Making, panels: Pair, kept: Fraction) -> Iterator[Pair]:
    """The pair trimmed at its leading edges, the least first; slivers only where nothing else does."""
    key, ((left, joined), (right, _)) = making.window.cloth, panels
    repeat, full = lattice(table.cloths[key], table.bolts[key]), joined.cloth.full
    across = None if repeat is None else repeat.width
    if across is None:
        return
    least = (full - _hidden(making, left, right, kept)) % across
    for sliver in (False, True):
        for off in (least, least + across):
            share = round_down(off // 2, table.grid)
            if 2 * (off - share) <= full:
                yield (
                    (left, face_widths(table, making, left, share, sliver=sliver)),
                    (right, face_widths(table, making, right, off - share, sliver=sliver)),
                )
