"""One fabric on the table: what lies on it, how each piece may lie, and the problem of laying it all."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from nesting.errors import DoesNotFitError
from nesting.order.defaults import defaults_for
from nesting.order.job import Bolt, Fabric, Job
from nesting.order.print_width import lattice, room_across
from nesting.packing import Choice, Match, Part, Problem, Strip, misfits
from nesting.pieces.piece import LAYERS, Piece
from nesting.pieces.washing import washed
from nesting.repeat import Repeat
from nesting.units import format_length, grid, round_down

_T = TypeVar("_T")


@dataclass(frozen=True, slots=True)
class Pin:
    """What a piece that was cut before holds fast: a place in the pattern across, and a dye lot.

    Attributes
    ----------
    match
        Of a part that lies at 0, 0 and has the phase of the piece; None where no other piece shares it.
    lot
        The lot group of the piece, and the dye lot it was cut from.
    start, repeat
        Of the length it was cut from.
    """

    match: Match | None
    lot: tuple[str, str | None] | None
    start: int | None
    repeat: Repeat | None


@dataclass(frozen=True, slots=True)
class Lay:
    """One fabric on the table: what lies on it, and the problem of laying it.

    Attributes
    ----------
    fabric, bolt
        As they are ordered.
    on_table, table_bolt
        Fabric and bolt as they are cut (washed before, the repeat width settled, fit to cut on the tape).
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
    laid_before
        Of pieces by their ids, how many copies were cut before: the first ones.
    pins
        What those hold fast for the pieces that are still to be laid.
    """

    job: Job
    fabric: Fabric
    bolt: Bolt
    on_table: Fabric
    usable: int
    pieces: tuple[Piece, ...]
    extras: tuple[Piece, ...]
    railroaded: bool
    table_bolt: Bolt
    beyond: int = 0
    choices: tuple[Choice, ...] = ()
    laid_before: Mapping[str, int] = field(default_factory=dict, hash=False)
    pins: tuple[Pin, ...] = ()
    _known: dict[str, Any] = field(default_factory=dict, init=False, compare=False, repr=False)

    def _once(self, name: str, make: Callable[[], _T]) -> _T:
        """What follows from all pieces is worked out once: it is asked for piece by piece."""
        if name not in self._known:
            self._known[name] = make()
        made: _T = self._known[name]
        return made

    @property
    def problem(self) -> Problem:
        """The pieces as parts on one open strip."""
        return self._once("problem", self._problem)

    def _problem(self) -> Problem:
        strip = Strip(self.usable, repeat=self.on_table.repeat, start=self.on_table.start)
        return Problem((strip,), tuple(self.part(piece) for piece in self.pieces), self.choices)

    @property
    def hems_alone(self) -> bool:
        """Whether nothing fits beside a panel whose hem is the selvage: then its place across is no question.

        It is packed as a part as wide as the strip, and lies at its edge; see `laid_of`.
        """
        return self._once("hems alone", self._hems_alone)

    def _hems_alone(self) -> bool:
        hemmed = [takes_across(piece) for piece in self.pieces if piece.hem_edge]
        others = [piece for piece in (*self.pieces, *self.extras) if not piece.hem_edge]
        room = self.usable - min(hemmed, default=0)
        beside = [*hemmed, *(min(piece.width, piece.length) for piece in others)]
        return not self.table_bolt.on_hand and all(each > room for each in beside)

    @property
    def freed(self) -> Problem:
        """The problem with plain pieces that must lie sideways free to turn with their group."""
        pieces = (
            piece if piece.match is not None or piece.hem_edge else replace(piece, sideways=False)
            for piece in self.pieces
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
    def upright(self) -> frozenset[str]:
        """Arrow groups with joined widths: cut sideways, a panel would be one run and not joined."""
        return self._once("upright", self._upright)

    def _upright(self) -> frozenset[str]:
        joined = (piece for piece in self.pieces if piece.role in LAYERS and piece.joined_to)
        return frozenset(piece.arrow_group for piece in joined if piece.arrow_group is not None)

    @property
    def squaring(self) -> int:
        """What is cut off to square the end of a bolt."""
        return self.job.squaring if self.job.squaring is not None else defaults_for(self.job.units).squaring

    def part(self, piece: Piece) -> Part:
        """A piece as a part of the problem; one that must lie sideways, as it lies."""
        if piece.hem_edge is not None:
            across, along = takes_across(piece), piece.width if piece.sideways else piece.length
            arrow = None if piece.sideways else piece.arrow_group
            if self.hems_alone:
                return Part(piece.id, self.usable, along, piece.copies, arrow=arrow)
            room = self.usable - across
            clear = (room, 0) if piece.hem_edge == "right" else (0, room)
            return Part(piece.id, across, along, piece.copies, arrow=arrow, clear=clear)
        clear = (0, 0) if reaches_out(self, piece) else self.margins
        if piece.sideways:
            match = _across(piece)
            return Part(piece.id, piece.length, piece.width, piece.copies, match=match, clear=clear)
        return Part(
            piece.id,
            piece.width,
            piece.length,
            piece.copies,
            turnable=piece.turnable and piece.match is None and piece.arrow_group not in self.upright,
            match=piece.match,
            arrow=piece.arrow_group,
            clear=clear,
        )


def takes_across(piece: Piece) -> int:
    """What a piece that keeps an edge of the fabric takes across: turned its length, else its width."""
    return piece.length if piece.sideways else piece.width


def _across(piece: Piece) -> Match | None:
    """What keeps a piece cut sideways level with the others of its room: its place across, and that alone.

    Its top lies to the left, so the level line runs at the right edge plus that edge's height above the line.
    Along the bolt it may begin anywhere in the pattern: no other piece shares its level group.
    """
    if piece.match is None:
        return None
    return Match(piece.id, f"{piece.match.level}/sideways", -(piece.length + piece.match.y), 0)


def lay_of(job: Job, fabric: Fabric, bolt: Bolt, pieces: Iterable[Piece], *, railroaded: bool = False) -> Lay:
    """The lay of one fabric on one bolt."""
    pieces = tuple(pieces)
    on_table, table = washed(fabric, bolt)
    mine = [piece for piece in pieces if piece.fabric == fabric.key]
    matched = [piece for piece in mine if piece.match is not None]
    repeat, start = on_table.repeat, on_table.start
    repeat = lattice(on_table, table) if matched and repeat is not None else None
    if all(piece.sideways for piece in matched):
        start = None
    fit = round_down(table.usable, grid(job.units))
    usable = _width_to_cut(job, table, fit, mine)
    return Lay(
        job=job,
        fabric=fabric,
        bolt=bolt,
        on_table=replace(on_table, repeat=repeat, start=start),
        usable=usable,
        pieces=tuple(piece for piece in mine if not piece.optional),
        extras=tuple(piece for piece in mine if piece.optional),
        railroaded=railroaded,
        table_bolt=replace(table, usable=fit),
        beyond=usable - fit,
    )


def _width_to_cut(job: Job, bolt: Bolt, fit: int, pieces: Iterable[Piece]) -> int:
    """What is fit to cut; for prints as much more as a full width's allowances reach into the selvage.

    Where the stated width is that of the print, these selvages lie beyond it, for the widths of panels alone.
    Where a selvage is the hem of panels it is the whole width; `Lay.margins` keep all else off the selvages.
    """
    pieces = tuple(pieces)
    if any(piece.hem_edge for piece in pieces):
        return bolt.width
    upright = [piece for piece in pieces if piece.match is not None and not piece.sideways]
    panels = [piece for piece in upright if piece.role == "panel"]
    joined, usual = {piece.window for piece in panels if piece.joined_to}, defaults_for(job.units).seam
    seams = [usual if window.seam is None else window.seam for window in job.windows if window.name in joined]
    reach = [room_across(bolt, fit, seam, 0) for seam in seams]
    alone = [piece.width for piece in (panels if bolt.printed else upright)]
    return max(fit, *reach, *(cut for cut in alone if bolt.printed or cut <= bolt.width), 0)


def require_fit(lay: Lay) -> None:
    """Refuse pieces that no direction allowed can bring onto the bolt.

    Raises
    ------
    DoesNotFitError
        Names each piece, its size and what would help.
    """
    problem, unit = lay.problem, lay.job.units
    names = {part.name: piece for part, piece in zip(problem.parts, lay.pieces, strict=True)}
    faults = []
    for part in dict.fromkeys(misfits(problem)):
        piece = names[part.name]
        faults.append(
            f"{piece.name}: cut {format_length(piece.width, unit)} wide x "
            f"{format_length(piece.length, unit)} long"
        )
    if faults:
        listed = "\n".join(f"  - {fault}" for fault in faults)
        raise DoesNotFitError(
            f'fabric "{lay.fabric.title}", {format_length(lay.bolt.width, unit)} wide with '
            f"{format_length(lay.usable - lay.beyond, unit)} usable, cannot hold\n{listed}\n"
            "choose a wider bolt, another fabric for these pieces, or a smaller size"
        )


def reaches_out(lay: Lay, piece: Piece) -> bool:
    """Whether a piece may lie on the selvage.

    The widths joined in a panel, and what is as wide as they; panels whose hem is the selvage.
    """
    if piece.hem_edge is not None:
        return True
    if piece.match is None or piece.sideways or (lay.table_bolt.printed and piece.role != "panel"):
        return False
    return bool(piece.joined_to) or piece.width > lay.usable - lay.beyond
