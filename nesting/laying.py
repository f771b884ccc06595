"""From the pieces of one cloth to a packing problem, and from its result to a layout to cut from."""

from __future__ import annotations

import logging
from collections.abc import Iterable
from dataclasses import dataclass, replace

from nesting.check import check_bound, check_layout
from nesting.defaults import defaults_for
from nesting.design import print_allowances
from nesting.document_cutting import edge_to_edge
from nesting.errors import CheckError, DoesNotFitError, NothingFoundError
from nesting.job import Bolt, Cloth, Job
from nesting.margin import margin
from nesting.packing import (
    CONTRADICTED,
    Bound,
    Choice,
    Flaw,
    Match,
    Part,
    Placement,
    Problem,
    Result,
    Stop,
    Strip,
    fill_bands,
    fill_leftover,
    misfits,
    status_of,
)
from nesting.piece import Piece
from nesting.plan import Allowance, Buy, ClothLayout, Laid, LeftOut, RuleOfThumb
from nesting.print_width import lattice
from nesting.repeat import Repeat
from nesting.thumb import LAYERS
from nesting.units import format_length, grid, round_down
from nesting.washing import kept, washed

_LOG = logging.getLogger(__name__)


@dataclass(frozen=True, slots=True)
class Lay:
    """One cloth on the table: what lies on it, and the problem of laying it.

    Attributes
    ----------
    cloth, bolt
        As they are ordered.
    on_table, table_bolt
        Cloth and bolt as they are cut (washed before, the repeat width settled, fit to cut on the tape).
    usable
        The width to cut from, as it lies on the table. Where the seam allowances of a matched full width
        reach into the selvage it is that much more than the bolt's.
    beyond
        How much more: shared by both edges, and kept clear by all pieces but the widths of a panel.
    choices
        Of these pieces, sets of which one is laid: seam plans that are still open.
    pieces
        Those that must be laid; one part of the problem each, in the same order.
    extras
        Optional ones.
    railroaded
        Its panels are cut turned sideways in one run.
    """

    job: Job
    cloth: Cloth
    bolt: Bolt
    on_table: Cloth
    usable: int
    pieces: tuple[Piece, ...]
    extras: tuple[Piece, ...]
    railroaded: bool
    table_bolt: Bolt
    beyond: int = 0
    choices: tuple[Choice, ...] = ()

    @property
    def problem(self) -> Problem:
        """The pieces as parts on one open strip."""
        strip = Strip(self.usable, repeat=self.on_table.repeat, start=self.on_table.start)
        return Problem((strip,), tuple(self.part(piece) for piece in self.pieces), self.choices)

    @property
    def freed(self) -> Problem:
        """The problem with plain pieces that must lie sideways free to turn with their group."""
        pieces = (
            replace(piece, sideways=piece.sideways and piece.match is not None) for piece in self.pieces
        )
        return replace(self.problem, parts=tuple(self.part(piece) for piece in pieces))

    @property
    def across(self) -> bool:
        """Whether it must be cut across first."""
        return self.job.cutting == "across-first"

    @property
    def margins(self) -> tuple[int, int]:
        """What both edges take from the width for all pieces but those that reach out."""
        return self.beyond // 2, self.beyond - self.beyond // 2

    @property
    def keep_inside(self) -> frozenset[int]:
        """Numbers of the pieces that keep to the margins."""
        return frozenset(at for at, piece in enumerate(self.pieces) if not reaches_out(self, piece))

    @property
    def upright(self) -> frozenset[str]:
        """Arrow groups with joined widths: cut sideways, a panel would be one run and not joined."""
        joined = (piece for piece in self.pieces if piece.role in LAYERS and piece.joined_to)
        return frozenset(piece.arrow_group for piece in joined if piece.arrow_group is not None)

    @property
    def squaring(self) -> int:
        """What is cut off to square the end of a bolt."""
        return self.job.squaring if self.job.squaring is not None else defaults_for(self.job.units).squaring

    def part(self, piece: Piece) -> Part:
        """A piece as a part of the problem; one that must lie sideways, as it lies."""
        if piece.sideways:
            return Part(piece.id, piece.length, piece.width, piece.copies, match=_across(piece))
        return Part(
            piece.id,
            piece.width,
            piece.length,
            piece.copies,
            turnable=piece.turnable and piece.match is None and piece.arrow_group not in self.upright,
            match=piece.match,
            arrow=piece.arrow_group,
        )


def _across(piece: Piece) -> Match | None:
    """What keeps a piece cut sideways level with the others of its room: its place across, and that alone.

    Its top lies to the left, so the level line runs at the right edge plus that edge's height above the line.
    Along the bolt it may begin anywhere in the design: no other piece shares its level group.
    """
    if piece.match is None:
        return None
    return Match(piece.id, f"{piece.match.level}/sideways", -(piece.length + piece.match.y), 0)


def lay_of(job: Job, cloth: Cloth, bolt: Bolt, pieces: Iterable[Piece], *, railroaded: bool = False) -> Lay:
    """The lay of one cloth on one bolt."""
    pieces = tuple(pieces)
    on_table, table = washed(cloth, bolt)
    mine = [piece for piece in pieces if piece.cloth == cloth.key]
    matched = [piece for piece in mine if piece.match is not None]
    repeat, start = on_table.repeat, on_table.start
    repeat = lattice(on_table, table) if matched and repeat is not None else None
    if all(piece.sideways for piece in matched):
        start = None
    fit = round_down(table.usable, grid(job.units))
    usable = _width_to_cut(table, fit, mine)
    return Lay(
        job=job,
        cloth=cloth,
        bolt=bolt,
        on_table=replace(on_table, repeat=repeat, start=start),
        usable=usable,
        pieces=tuple(piece for piece in mine if not piece.optional),
        extras=tuple(piece for piece in mine if piece.optional),
        railroaded=railroaded,
        table_bolt=replace(table, usable=fit),
        beyond=usable - fit,
    )


def _width_to_cut(bolt: Bolt, fit: int, pieces: Iterable[Piece]) -> int:
    """What is fit to cut; for prints as much more as a full width's allowances reach into the selvage.

    Where the stated width is that of the print, these selvages lie beyond it, for the widths of panels alone.
    """
    upright = [piece for piece in pieces if piece.match is not None and not piece.sideways]
    if bolt.printed:
        return max(fit, *(piece.width for piece in upright if piece.role == "panel"), 0)
    widest = max((piece.width for piece in upright), default=0)
    return max(fit, widest) if widest <= bolt.width else fit


def require_fit(lay: Lay) -> None:
    """Refuse pieces that no direction allowed can bring onto the bolt.

    Raises
    ------
    DoesNotFitError
        Names each piece, its size and what would help.
    """
    problem, unit = lay.problem, lay.job.units
    names = {part.name: piece for part, piece in zip(problem.parts, lay.pieces, strict=True)}
    faults, inside = [], replace(problem, strips=(replace(problem.strips[0], width=lay.usable - lay.beyond),))
    kept_in = [part for part in misfits(inside) if not reaches_out(lay, names[part.name])]
    for part in dict.fromkeys((*misfits(problem), *kept_in)):
        piece = names[part.name]
        faults.append(
            f"{piece.name}: cut {format_length(piece.width, unit)} wide x "
            f"{format_length(piece.length, unit)} long"
        )
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise DoesNotFitError(
            f'cloth "{lay.cloth.title}", {format_length(lay.bolt.width, unit)} wide with '
            f"{format_length(lay.usable - lay.beyond, unit)} fit to cut, cannot hold\n{listed}\n"
            "choose a wider bolt, another cloth for these pieces, or a smaller size"
        )


@dataclass(frozen=True, slots=True)
class Filled:
    """A layout with its optional extras.

    Attributes
    ----------
    result
        The ordered pieces, nothing on the selvage that must keep off it.
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
        leftover = fill_bands(lay.problem, result, parts, lay.margins, lay.keep_inside)
    else:
        result = clear_of_selvage(lay, result)
        leftover = fill_leftover(_fenced(lay, result.length or 1), result, parts)
    return Filled(result, leftover.placements, leftover.over)


def layout_of(
    lay: Lay, result: Result, bound: Bound, rule: RuleOfThumb | None, extras: Filled | None = None
) -> tuple[ClothLayout, tuple[LeftOut, ...]]:
    """The result as a layout to cut from, optional extras filled in, checked.

    Parameters
    ----------
    lay, result
        The problem and what packing made of it.
    bound
        Over every way the cloth may be cut, so it may be lower than the result's own.
    rule
        The plain trade rule, to stand beside it.
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
        _LOG.error("%s: bound %d (%s) does not hold", lay.cloth.title, bound.length, bound.method)
        bound, result = Bound(0, CONTRADICTED), replace(result, stop=Stop.FAULT)
    pieces = (*lay.pieces, *lay.extras)
    _require_sound(lay, result, placements, extras.extras)
    length = result.length
    out = []
    for number, over in extras.over:
        laid = sum(p.part == len(lay.pieces) + number for p in extras.extras)
        out.append(LeftOut(lay.extras[number].id, lay.extras[number].copies - laid, over))
    layout = ClothLayout(
        cloth=lay.on_table,
        bolt=lay.bolt,
        usable=lay.usable,
        placements=tuple(laid_of(lay.on_table.repeat, pieces[p.part], p) for p in placements),
        length=length,
        bound=bound,
        status=status_of(length, bound.length),
        stop=result.stop,
        seconds=result.seconds,
        buy=None if length is None else buy_for(lay, length),
        rule_of_thumb=rule,
        squaring=lay.squaring,
        railroaded=lay.railroaded,
        incumbents=result.incumbents,
        on_table=None if lay.table_bolt == lay.bolt else lay.table_bolt,
        cutting=lay.job.cutting,
        free_length=result.free_length,
    )
    return layout, tuple(out)


def _replays_not(lay: Lay, bound: Bound) -> bool:
    """Whether a certificate does not prove its bound."""
    return bool(check_bound(lay.problem, bound, across=lay.across))


def _fenced(lay: Lay, length: int) -> Problem:
    """The problem with the selvages as flaws, up to ``length``."""
    problem, left = lay.problem, lay.beyond // 2
    right = lay.beyond - left
    fences = ((0, left), (lay.usable - right, right))
    flaws = tuple(Flaw(x, 0, width, length) for x, width in fences if width)
    return replace(problem, strips=(replace(problem.strips[0], flaws=flaws),))


def clear_of_selvage(lay: Lay, result: Result) -> Result:
    """The layout with nothing on the selvage but the allowances of a panel's widths.

    Packing knows one width for all pieces. What it put too far out is laid anew, by itself or together
    with all that may move, whichever is shorter; the layout may grow. The bound holds as it stands: it
    is that of a wider choice of places.
    """
    bound_to_seams = {at for at, piece in enumerate(lay.pieces) if reaches_out(lay, piece)}
    left = lay.beyond // 2

    def inside(at: Placement) -> bool:
        width = lay.problem.parts[at.part].size(at.turned)[0]
        return left <= at.x and at.x + width <= lay.usable - lay.beyond + left

    fixed = [at for at in result.placements if at.part in bound_to_seams]
    sound = [at for at in result.placements if at.part in bound_to_seams or inside(at)]
    if not lay.beyond or len(sound) == len(result.placements):
        return result
    tries = [again for kept in (sound, fixed) if (again := _laid_again(lay, result, kept))]
    if not tries:
        raise NothingFoundError(f'cloth "{lay.cloth.title}": no layout was found that keeps off the selvage')
    return min(tries, key=lambda again: again.length or 0)


def reaches_out(lay: Lay, piece: Piece) -> bool:
    """Whether a piece may lie on the selvage: the widths joined in a panel, and what is as wide as they."""
    if piece.match is None or piece.sideways or (lay.table_bolt.printed and piece.role != "panel"):
        return False
    return bool(piece.joined_to) or piece.width > lay.usable - lay.beyond


def _laid_again(lay: Lay, result: Result, kept: list[Placement]) -> Result | None:
    """The layout with all but ``kept`` laid anew, the large ones first."""
    parts = lay.problem.parts
    loose = [at for at in result.placements if at not in kept]
    loose.sort(key=lambda at: (-parts[at.part].length * parts[at.part].width, at.part, at.copy))
    room = (result.length or 0) + sum(2 * max(lay.usable, parts[at.part].length) for at in loose)
    filled = fill_leftover(
        _fenced(lay, room),
        replace(result, placements=tuple(kept), length=room),
        [replace(parts[at.part], copies=1) for at in loose],
    )
    if filled.over:
        return None
    moved = [
        replace(at, part=loose[at.part - len(parts)].part, copy=loose[at.part - len(parts)].copy)
        for at in filled.placements
    ]
    placements = (*kept, *moved)
    length = max(at.y + parts[at.part].size(at.turned)[1] for at in placements)
    stop = Stop.TARGET if result.stop is Stop.PROVED and length > result.bound.length else result.stop
    return replace(result, placements=placements, length=length, stop=stop)


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
    renumbered = [replace(p, part=number_of.get(p.part, p.part)) for p in placements]
    ordered = (
        part if reaches_out(lay, piece) else replace(part, clear=lay.margins)
        for part, piece in zip(problem.parts, lay.pieces, strict=True)
    )
    whole = replace(problem, parts=(*ordered, *(replace(part, clear=lay.margins) for part in further)))
    violations = check_layout(whole, renumbered, result.length, result.bound.length)
    if violations:
        listed = "\n".join(f"  - {violation}" for violation in violations[:20])
        raise CheckError(f'the layout of cloth "{lay.cloth.title}" failed its check:\n{listed}')
    if lay.across and not edge_to_edge([_box(whole, placement) for placement in renumbered]):
        raise CheckError(f'the layout of cloth "{lay.cloth.title}" cannot be cut across first')


def _box(problem: Problem, at: Placement) -> tuple[int, int, int, int]:
    width, length = problem.parts[at.part].size(at.turned)
    return at.x, at.y, at.x + width, at.y + length


def laid_of(repeat: Repeat | None, piece: Piece, at: Placement) -> Laid:
    """A copy as it lies on cloth of that repeat."""
    turned = at.turned or piece.sideways
    letter = ""
    if repeat is not None and piece.match is not None and repeat.step and not turned:
        letter = repeat.letter(at.x, piece.match.x)
    return Laid(
        piece=piece,
        copy=at.copy,
        x=at.x,
        y=at.y,
        width=piece.length if turned else piece.width,
        length=piece.width if turned else piece.length,
        turn=90 if turned else 0,
        arrow="left" if turned else "up",
        letter=letter,
    )


def buy_for(lay: Lay, length: int) -> Buy:
    """Layout, squaring, what a print and what washing take, any margin."""
    allowances = [Allowance("squaring the end", lay.squaring)] if lay.squaring else []
    repeat = lay.on_table.repeat
    if not all(piece.sideways for piece in lay.pieces if piece.match is not None):
        allowances += print_allowances(lay.on_table, length, lay.job.units)
    shrinkage = lay.cloth.shrinkage
    if shrinkage is not None and shrinkage.washed == "before" and shrinkage.length:
        needed = length + sum(allowance.length for allowance in allowances)
        before = -(-needed // kept(shrinkage.length))
        allowances.append(Allowance("shrinks when washed before cutting", int(before) - needed))
    needed = length + sum(allowance.length for allowance in allowances)
    extra = margin(lay.job, lay.cloth, lay.cloth.repeat if repeat is not None else None, needed)
    allowances += [extra] if extra is not None else []
    return Buy(length, tuple(allowances), lay.bolt.sold_by, lay.job.sold_in, lay.bolt.price)
