"""Parts that keep off the edges of the strip: their margins in the steps of the reduced problem."""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import replace

from nesting.packing.across.bands import Edges
from nesting.packing.problem import Flaw, Problem
from nesting.packing.reduce import Core, reduce


def reduced(
    problem: Problem, margins: tuple[int, int], inside: Collection[int], *, set_apart: bool = True
) -> tuple[Core | None, Edges]:
    """The core of a problem, and which of its kinds keep between which places.

    Parameters
    ----------
    problem
        One open strip without flaws.
    margins
        How far from the left and the right edge.
    inside
        The parts that keep so far; the others may lie from edge to edge.
    set_apart
        As for `reduce`; with margins nothing is set apart.
    """
    left, right = margins
    strip = problem.strips[0]
    # Flaws along both edges bring the margins into the common divisor; they are no rule of the layout.
    fences = tuple(Flaw(x, 0, w, 1) for x, w in ((0, left), (strip.width - right, right)) if w)
    fenced = replace(problem, strips=(replace(strip, flaws=fences),))
    core = reduce(fenced, set_apart=set_apart and not fences)
    if core is None:
        return None, Edges((), 0, strip.width)
    off = frozenset(
        number
        for number, kind in enumerate(core.kinds)
        if fences and any(part in inside for part, _ in kind.members)
    )
    edges = Edges(off, left // core.step_x, (strip.width - right) // core.step_x)
    return replace(core, flaws=()), edges
