"""Optional extras in fabric that is bought anyway: as many as fit by priority, the layout made no longer."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Final

from nesting.order.job import Job
from nesting.packing import Aim, Placement, Problem, Result, Strip, fill_leftover
from nesting.pieces.piece import Piece
from nesting.plan.plan import Objective
from nesting.planning.effort import Spending
from nesting.planning.laying import Filled, Lay, filled

#: The share of the whole search that is kept for the extras of a fabric, and no more seconds or work.
SHARE: Final = 0.4
MOST: Final = 4.0
#: The stage, as it is told.
EXTRAS: Final = "optional extras placed, by priority"


@dataclass(frozen=True, slots=True)
class Spares:
    """A layout with its extras filled in, and what is proven of them.

    Attributes
    ----------
    filled
        What lies where.
    stage
        None where there are no extras.
    """

    filled: Filled
    stage: Aim | None = None

    def objective(self, lay: Lay, result: Result, bound: int, method: str) -> Objective | None:
        """The length, then the extras; None where there are none."""
        if self.stage is None or result.length is None:
            return None
        length = Aim("fabric to buy", result.length, bound, method=method)
        return Objective(lay.fabric.key, (length, self.stage), result.stop, result.seconds)


def spares_in(lay: Lay, result: Result, spending: Spending) -> Spares:
    """Places for the optional extras in a finished layout, exact where that is small, else the best found.

    First come first served; where that leaves something out the solver looks for a better set, first
    around the ordered pieces as they lie, then with these laid anew within the same length.
    """
    first = filled(lay, result)
    if not lay.extras or first.result.length is None:
        return Spares(first)
    worth = worth_of_copies(lay.job, lay.extras)
    most = sum(value * piece.copies for value, piece in zip(worth, lay.extras, strict=True))
    stage = _stage(lay, first, worth, most, "no more than there is")
    if not first.over or lay.across:
        return Spares(first, stage)
    found = spending.fill(_problem(lay, first, worth), _renamed(first.all), lay.fabric.title, SHARE, MOST)
    known = next((one for one in found.stages if one.name == "value"), None)
    bound, method = (most, stage.method) if known is None else (known.bound, known.method)
    if known is None or known.value <= stage.value:
        return Spares(first, replace(stage, bound=bound, method=method))
    better = _told(lay, first, found)
    return Spares(better, _stage(lay, better, worth, bound, method))


def worth_of_copies(job: Job, pieces: Sequence[Piece]) -> list[int]:
    """What each copy is worth: priority 1 before 2, then more before fewer, then the first in the file."""
    ranks = {extra.name: extra.priority for extra in job.extras}
    classes: dict[int, list[int]] = {}
    for at, piece in enumerate(pieces):
        classes.setdefault(ranks.get(piece.name, 1), []).append(at)
    worth, below = [0] * len(pieces), 0
    for rank in sorted(classes, reverse=True):
        members = classes[rank]
        copies = sum(pieces[at].copies for at in members)
        for number, at in enumerate(members):
            # Fewer copies never outweigh more, however early they come: all places together count less.
            worth[at] = (below + 1) * (copies * len(members) + len(members) - number)
        below += sum(worth[at] * pieces[at].copies for at in members)
    return worth


def _stage(lay: Lay, found: Filled, worth: Sequence[int], bound: int, method: str) -> Aim:
    laid = sum(worth[at.part - len(lay.pieces)] for at in found.extras)
    return Aim(EXTRAS, laid, bound, True, method)


def _problem(lay: Lay, first: Filled, worth: Sequence[int]) -> Problem:
    """The ordered pieces and, for what they are worth, the extras on a strip as long as the layout."""
    parts = [lay.part(piece) for piece in lay.pieces]
    for value, piece in zip(worth, lay.extras, strict=True):
        parts.append(replace(lay.part(piece), value=value))
    strip = Strip(lay.usable, first.result.length, lay.on_table.repeat, start=lay.on_table.start)
    return Problem((strip,), tuple(parts))


def _renamed(placements: Sequence[Placement]) -> list[Placement]:
    """Copies numbered from 1 on, in their order."""
    counts: dict[int, int] = {}
    found = []
    for at in placements:
        counts[at.part] = counts.get(at.part, 0) + 1
        found.append(replace(at, copy=counts[at.part]))
    return found


def _told(lay: Lay, first: Filled, found: Result) -> Filled:
    """What the solver found as a layout with its extras, and by how much each of the others is too long."""
    ordered = tuple(at for at in found.placements if at.part < len(lay.pieces))
    extras = _renamed([at for at in found.placements if at.part >= len(lay.pieces)])
    parts = (*lay.problem.parts, *(lay.part(piece) for piece in lay.extras))
    length = max(at.y + parts[at.part].size(at.turned)[1] for at in (*ordered, *extras))
    result = replace(first.result, placements=ordered, length=length)
    laid = [sum(at.part == len(lay.pieces) + number for at in extras) for number in range(len(lay.extras))]
    return Filled(result, tuple(extras), _over(lay, result, extras, laid))


def _over(
    lay: Lay, result: Result, extras: Sequence[Placement], laid: Sequence[int]
) -> tuple[tuple[int, int], ...]:
    """How far the next copy of each extra that is left out would reach beyond the end."""
    further = [replace(lay.part(piece), copies=n) for piece, n in zip(lay.extras, laid, strict=True) if n]
    number_of = {len(lay.pieces) + at: n for n, at in enumerate(at for at, n in enumerate(laid) if n)}
    taken = replace(lay.problem, parts=(*lay.problem.parts, *further))
    known = len(lay.problem.parts)
    placements = (*result.placements, *(replace(at, part=known + number_of[at.part]) for at in extras))
    missing = [n for n, piece in enumerate(lay.extras) if laid[n] < piece.copies]
    over = []
    for number in missing:
        one = replace(lay.part(lay.extras[number]), copies=1)
        more = fill_leftover(taken, replace(result, placements=placements), [one])
        over.append((number, more.over[0][1] if more.over else 0))
    return tuple(over)
