"""More parts into what a finished layout leaves free."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from nesting.packing.problem import Part, Problem
from nesting.packing.reduce import misfits, reduce
from nesting.packing.result import Placement, Result
from nesting.packing.searches.bed import Bed, SeamRoom


@dataclass(frozen=True, slots=True)
class Leftover:
    """What found a place in fabric that is bought anyway.

    Attributes
    ----------
    placements
        ``part`` counts on from the problem's parts.
    over
        For each further part that was not laid in full: how far its next copy would reach beyond the
        layout's end, by the part's number among the further parts.
    """

    placements: tuple[Placement, ...] = ()
    over: tuple[tuple[int, int], ...] = ()


def fill_leftover(problem: Problem, result: Result, more: Sequence[Part]) -> Leftover:
    """Places for as many of ``more`` as the layout holds without growing, first come first served.

    A greedy fill, the largest free place never sought by search: what it leaves out may yet fit.

    Parameters
    ----------
    problem, result
        A layout that was found for the problem.
    more
        Further parts, in order of importance; their arrow groups must be those of the problem's parts
        or None.
    """
    if result.length is None or not more:
        return Leftover()
    known = len(problem.parts)
    unfit = misfits(replace(problem, parts=tuple(more)))
    fitting = [n for n, part in enumerate(more) if part not in unfit]
    core = reduce(replace(problem, parts=(*problem.parts, *(more[n] for n in fitting))), set_apart=False)
    placed, over = list[Placement](), [(n, p.length) for n, p in enumerate(more) if n not in fitting]
    if core is None:
        return Leftover(over=tuple((number, part.length) for number, part in enumerate(more)))
    directions = {problem.parts[p.part].arrow: p.turned for p in result.placements}
    for arrow in core.open_arrows:
        core = core.settled(arrow, directions.get(arrow, False))
    bed = Bed(core, SeamRoom(core))
    where = {member: index for index, kind in enumerate(core.kinds) for member in kind.members}
    for at in sorted(result.placements, key=lambda p: (p.y, p.x)):
        x, y = at.x // core.step_x, at.y // core.step_y
        kind = core.kinds[where[(at.part, at.copy)]]
        length = kind.width if at.turned else kind.length
        bed.put(where[(at.part, at.copy)], (y, x, y + length, at.turned))
    limit = result.length // core.step_y
    for index, number in enumerate(fitting, known):
        part = more[number]
        for copy in range(1, part.copies + 1):
            spot = bed.lowest(core.kinds[where[(index, copy)]])
            if spot is None or spot[2] > limit:
                beyond = part.length if spot is None else (spot[2] - limit) * core.step_y
                over.append((number, beyond))
                break
            bed.put(where[(index, copy)], spot)
            placed.append(
                Placement(known + number, copy, spot[1] * core.step_x, spot[0] * core.step_y, spot[3])
            )
    return Leftover(tuple(placed), tuple(sorted(over)))
