"""Widths joined as their labels say, and printed ones that lose nothing below their hem line."""

from __future__ import annotations

import itertools
from collections.abc import Iterator, Mapping
from fractions import Fraction
from typing import Final

from nesting.check.sewing_bench import PieceCut
from nesting.check.sewing_prints import SewnPanel
from nesting.check.violation import Breach, Violation
from nesting.sewing import Join

#: Turn their right side to the window: what is at their right, seen from the room, is at their left edge.
_MIRRORED: Final = ("lining", "facing")
#: Ticks by which a place in the print may be rounded, once when it is laid and once when it is washed.
_ROUNDED: Final = 3


def check_labels(name: str, join: Join, pieces: Mapping[str, PieceCut]) -> Iterator[Violation]:
    """Pieces lie side by side, seen from the room, as their labels tell their edges, right side up.

    Parameters
    ----------
    name
        The window, for messages.
    join
        What is sewn together, from left to right.
    pieces
        Those of the window by what they are called on the table.
    """
    for left, right in itertools.pairwise(join.parts):
        for part, other, side in ((left, right, "right"), (right, left, "left")):
            one, next_to = pieces.get(part), pieces.get(other)
            if one is None or next_to is None or not one.beside:
                continue
            edges = {"left": "right", "right": "left"} if one.role in _MIRRORED else {}
            if (next_to.id, edges.get(side, side)) not in one.beside:
                what = f"{name}: {next_to.id} sewn to {one.id}, at its {edges.get(side, side)} edge"
                yield Violation(Breach.SEWING, what, "what its label says", at=one.place)


def check_foot(
    panel: SewnPanel, begun: Mapping[str, tuple[Fraction, Fraction] | None]
) -> Iterator[Violation]:
    """The hem of a print takes what it was ordered to take, from the lower edge as it was cut.

    Less or more would move the pattern from the height at which it was to stand above the hem. Where a panel
    hung before the others were cut, what was cut by then is cut off below to be alike.
    """
    if panel.window.hung:
        return
    hem = panel.window.hem("bottom_hem").allowance
    for strip in panel.work.strips:
        at, lies = begun.get(strip.piece), panel.lies(strip.piece)
        if at is None or strip.at is None or lies is None or lies[0].turn:
            continue
        asked = panel.before_wash((Fraction(0), Fraction(hem)))[1]
        off = panel.before_wash(strip.at)[1] - at[1] - asked
        if abs(off) > _ROUNDED:
            what = f"{panel.name}: its hem edge {float(abs(off)):.10g} from the hem line of {strip.piece}"
            yield Violation(Breach.PHASE_ALONG, what, "the height ordered", int(abs(off)))
