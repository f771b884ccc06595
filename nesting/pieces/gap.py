"""The cutting gap of a print: what every matched cut is longer by, to be trimmed true on the pattern."""

from __future__ import annotations

from nesting.order.job import Fabric
from nesting.pieces.piece import Steps
from nesting.units import round_up


def with_gap(steps: Steps, fabric: Fabric) -> Steps:
    """A cut length with the gap its fabric asks for, all of it at the top; ``steps`` is what is needed.

    Worked out ("auto") it is bow and skew once, and drift for every repeat begun in the cut: the lower edge
    is chalked where the line of the pattern lies lowest across the width, and the tightest repeats reach.
    """
    repeat, gap, tolerance = fabric.repeat, fabric.cutting_gap, fabric.tolerance
    if repeat is None or not gap:
        return steps
    if isinstance(gap, int):
        return steps.add("cutting gap, trimmed at the top", gap)
    if tolerance is None:
        return steps
    repeats = -(-round_up(steps.exact, 1) // repeat.length)
    for label, ticks, times in (
        ("bow of the print", tolerance.bow, 1),
        ("skew of the print", tolerance.skew, 1),
        ("drift of the print by repeats", tolerance.repeat, repeats),
    ):
        steps = steps.add(label, ticks, times) if ticks else steps
    return steps
