"""From the pieces of one fabric to a packing problem, and from its result to a layout to cut from."""

from __future__ import annotations

import logging
from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Final

from nesting.check import check_bound, check_layout
from nesting.check.document_cutting import edge_to_edge
from nesting.errors import CheckError
from nesting.packing import (
    CONTRADICTED,
    Bound,
    Placement,
    Problem,
    Result,
    Stop,
    fill_bands,
    fill_leftover,
    status_of,
)
from nesting.pieces.piece import LAYERS, Piece
from nesting.pieces.thumb_rule import RuleOfThumb
from nesting.pieces.washing import kept
from nesting.plan.margin import margin
from nesting.plan.pattern import print_allowances
from nesting.plan.plan import Allowance, Buy, FabricLayout, Laid, LeftOut
from nesting.planning.lay import Lay as Lay
from nesting.planning.lay import lay_of as lay_of
from nesting.planning.lay import reaches_out as reaches_out
from nesting.planning.lay import require_fit as require_fit
from nesting.planning.lay import takes_across
from nesting.repeat import Repeat

#: What is bought more of a fabric that is washed before it is cut.
SHRINKS: Final = "shrinks when washed before cutting"
_LOG = logging.getLogger(__name__)


#: What is said of a bound while it is searched for.
SEARCHING: Final = "still searched for"


@dataclass(frozen=True, slots=True)
class Filled:
    """A layout with its optional extras.

    Attributes
    ----------
    result
        The ordered pieces.
    extras
        Where extras lie; their parts count on from the pieces.
    over
        For each extra that is not laid in full, by its number: how far its next copy would reach beyond the
        end.
    """

    result: Result
    extras: tuple[Placement, ...]
    over: tuple[tuple[int, int], ...]

    @property
    def all(self) -> tuple[Placement, ...]:
        """Pieces and extras."""
        return (*self.result.placements, *self.extras)


def filled(lay: Lay, result: Result) -> Filled:
    """The layout with extras filled in, first come first served."""
    parts = tuple(lay.part(piece) for piece in lay.extras)
    if lay.across:
        leftover = fill_bands(lay.problem, result, parts)
    else:
        leftover = fill_leftover(lay.problem, result, parts)
    return Filled(result, leftover.placements, leftover.over)


def layout_of(
    lay: Lay, result: Result, bound: Bound, rule: RuleOfThumb | None, extras: Filled | None = None
) -> tuple[FabricLayout, tuple[LeftOut, ...]]:
    """The result as a layout to cut from, optional extras filled in, checked.

    Parameters
    ----------
    lay, result
        The problem and what packing made of it.
    bound
        Over every way the fabric may be cut, so it may be lower than the result's own.
    rule
        The usual rule of thumb, to stand beside it.
    extras
        The layout with its extras; default: filled in first come first served.

    Raises
    ------
    CheckError
        The layout breaks a rule: a fault of this program.
    """
    extras = extras or filled(lay, result)
    result, placements = extras.result, extras.all
    if result.length is not None and (bound.length > result.length or _replays_not(lay, bound)):
        _LOG.error("%s: bound %d (%s) does not hold", lay.fabric.title, bound.length, bound.method)
        bound, result = Bound(0, CONTRADICTED), replace(result, stop=Stop.FAULT)
    pieces = (*lay.pieces, *lay.extras)
    sizes = [lay.part(piece) for piece in pieces]
    _require_sound(lay, result, placements, extras.extras)
    length = result.length
    laid_extras = Counter(placement.part - len(lay.pieces) for placement in extras.extras)
    out = []
    for number, over in extras.over:
        laid = laid_extras[number]
        out.append(LeftOut(lay.extras[number].id, lay.extras[number].copies - laid, over))
    lies = tuple(
        laid_of(lay.on_table.repeat, pieces[p.part], p, sizes[p.part].size(p.turned)[0]) for p in placements
    )
    layout = FabricLayout(
        fabric=lay.on_table,
        bolt=lay.bolt,
        usable=lay.usable,
        placements=lies,
        length=length,
        bound=bound,
        status=status_of(length, bound.length),
        stop=result.stop,
        seconds=result.seconds,
        buy=None if length is None else buy_for(lay, length),
        rule_of_thumb=rule,
        squaring=lay.squaring,
        railroaded=lies_railroaded(lies),
        incumbents=result.incumbents,
        on_table=None if lay.table_bolt == lay.bolt else lay.table_bolt,
        cutting=lay.job.cutting,
        free_length=result.free_length,
    )
    return layout, tuple(out)


def so_far(lay: Lay, length: int, placements: tuple[Placement, ...]) -> tuple[FabricLayout, ...]:
    """What a search holds as a layout to look at, checked; nothing is said of how good it is.

    Raises
    ------
    CheckError
        The layout breaks a rule: a fault of this program.
    """
    bound = Bound(0, SEARCHING)
    layout, _ = layout_of(lay, Result(length, bound, Stop.TIME_LIMIT, 0.0, placements), bound, None)
    return (layout,)


def _replays_not(lay: Lay, bound: Bound) -> bool:
    """Whether a certificate does not prove its bound."""
    return bool(check_bound(lay.problem, bound, across=lay.across))


def _require_sound(
    lay: Lay, result: Result, placements: tuple[Placement, ...], filled: tuple[Placement, ...]
) -> None:
    """Every layout passes the independent check before it is handed on."""
    problem = lay.problem
    counts: dict[int, int] = {}
    for placement in filled:
        counts[placement.part] = counts.get(placement.part, 0) + 1
    further = tuple(
        replace(lay.part(lay.extras[number - len(lay.pieces)]), copies=copies)
        for number, copies in sorted(counts.items())
    )
    number_of = {number: len(lay.pieces) + at for at, number in enumerate(sorted(counts))}
    renumbered = [replace(p, part=number_of[p.part]) if p.part in number_of else p for p in placements]
    whole = replace(problem, parts=(*problem.parts, *further))
    violations = check_layout(whole, renumbered, result.length, result.bound.length)
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations[:20])
        raise CheckError(f'the layout of fabric "{lay.fabric.title}" failed its check:\n{listed}')
    if lay.across and not edge_to_edge([_box(whole, placement) for placement in renumbered]):
        raise CheckError(f'the layout of fabric "{lay.fabric.title}" cannot be cut across first')


def _box(problem: Problem, at: Placement) -> tuple[int, int, int, int]:
    width, length = problem.parts[at.part].size(at.turned)
    return at.x, at.y, at.x + width, at.y + length


def laid_of(repeat: Repeat | None, piece: Piece, at: Placement, across: int) -> Laid:
    """A copy as it lies on fabric of that repeat; its part may be wider across: nothing lies beside it."""
    turned = at.turned or piece.sideways
    letter = ""
    if repeat is not None and piece.match is not None and repeat.step and not turned:
        letter = repeat.letter(at.x, piece.match.x)
    return Laid(
        piece=piece,
        copy=at.copy,
        x=at.x + across - takes_across(piece) if piece.hem_edge == "right" else at.x,
        y=at.y,
        width=piece.length if turned else piece.width,
        length=piece.width if turned else piece.length,
        turn=90 if turned else 0,
        arrow=piece.top if turned else "up",
        letter=letter,
    )


def lies_railroaded(placements: Iterable[Laid]) -> bool:
    """Whether a layer of a panel lies turned: how it does, and not how it was to."""
    return any(one.turn and one.piece.role in LAYERS for one in placements)


def buy_for(lay: Lay, length: int) -> Buy:
    """Layout, squaring, what a print and what washing take, any margin."""
    allowances = [Allowance("squaring the end", lay.squaring)] if lay.squaring else []
    repeat = lay.on_table.repeat
    if not all(piece.sideways for piece in lay.pieces if piece.match is not None):
        allowances += print_allowances(lay.on_table, length, lay.job.units)
    shrinkage = lay.fabric.shrinkage
    if shrinkage is not None and shrinkage.washed == "before" and shrinkage.length:
        needed = length + sum(allowance.length for allowance in allowances)
        before = -(-needed // kept(shrinkage.length))
        allowances.append(Allowance(SHRINKS, int(before) - needed))
    needed = length + sum(allowance.length for allowance in allowances)
    extra = margin(lay.job, lay.fabric, lay.fabric.repeat if repeat is not None else None, needed)
    allowances += [extra] if extra is not None else []
    return Buy(length, tuple(allowances), lay.bolt.sold_by, lay.job.sold_in, lay.bolt.price)
