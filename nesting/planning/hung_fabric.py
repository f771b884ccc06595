"""A fabric that is cut into: what is off the bolt already, and what is left of it as a length of its own."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.errors import DoesNotFitError, Fault, JobError
from nesting.order.job import Bolt, Fabric, FabricFlaw, LengthOnHand
from nesting.packing import Bound, Flaw, Match, Stop, status_of
from nesting.pieces.piece import Piece
from nesting.pieces.washing import kept
from nesting.plan.cut_rows import straight_cuts
from nesting.plan.margin import MARGIN
from nesting.plan.plan import FabricLayout, Laid
from nesting.planning.lay import Lay, Pin
from nesting.planning.laying import SHRINKS
from nesting.planning.lengths import lot_of, sets_of
from nesting.planning.uncut import AS_PLANNED, Uncut
from nesting.units import Unit, format_length, grid, round_down, round_nearest, round_up

#: What the parts of a length are called once it is cut into.
CUT_OFF: Final = "cut off"
REST: Final = "rest of the bolt"
UNCUT: Final = "uncut stretch"
#: The dye lot of a bolt of which none is known, once it is cut into: what is bought must be of it.
LOT: Final = "of what is cut"
#: How the least length of what is cut already is known.
CUT_ALREADY: Final = "cut already"


@dataclass(frozen=True, slots=True)
class Off:
    """A piece of one layout that is off the bolt, or still lies in what is cut off of it.

    ``laid`` as it was planned, ``piece`` what it is now; ``done``: it is cut.
    """

    laid: Laid
    piece: Piece
    done: bool

    @property
    def upright(self) -> bool:
        """Whether it lies with its length along the fabric."""
        return not self.laid.turn


@dataclass(frozen=True, slots=True)
class CutSpan:
    """A stretch of a layout that is cut into, from ``low`` to ``high`` along it, and what lies there."""

    low: int
    high: int
    off: tuple[Off, ...]


@dataclass(frozen=True, slots=True)
class CutInto:
    """One layout of the plan, cut into.

    Attributes
    ----------
    layout
        As it was planned.
    stretches
        What of it is off the bolt, in order; all between them and behind the last is whole.
    start
        Height of the pattern at the squared end; None without a print.
    name
        What the length is called; empty for the first that was bought.
    now
        What the table has shown of all that is still whole.
    """

    layout: FabricLayout
    stretches: tuple[CutSpan, ...]
    start: int | None = None
    name: str = ""
    now: Uncut = AS_PLANNED

    @property
    def whole(self) -> bool:
        """Whether it is a length on hand that is cut off whole."""
        there, spans = self.layout.there, [(one.low, one.high) for one in self.stretches]
        return there is not None and spans == [(0, there.length - self.layout.reserve)]

    @property
    def off(self) -> tuple[Off, ...]:
        """All that is off the bolt, or lies in what is."""
        return tuple(one for stretch in self.stretches for one in stretch.off)

    def height(self, low: int, *, cut: bool) -> int | None:
        """Of the pattern, ``low`` from the squared end, where a stretch begins that is ``cut``, or whole."""
        if self.start is None or self.layout.fabric.repeat is None:
            return None
        known = AS_PLANNED if cut else self.now
        return known.height(self.layout, (one.laid for one in self.off if one.done), self.start, low)


def stretches_of(
    layout: FabricLayout, cut: Collection[Laid], unit: Unit, whole_from: int | None = None
) -> tuple[tuple[int, int], ...]:
    """Which stretches of a layout are cut into, each between two straight cuts across.

    Parameters
    ----------
    layout
        As it was planned.
    cut
        What is cut, at least one piece.
    unit
        In which lengths are told.
    whole_from
        From where it is whole as a maker measured it, instead.

    Raises
    ------
    JobError
        It was said to be whole before the end of what is cut.
    """
    end = max(laid.y + laid.length for laid in cut)
    if whole_from is not None:
        if whole_from < end:
            wanted = f"at least {format_length(end, unit)}, where the last piece that is cut ends"
            raise JobError([Fault("--whole-from", format_length(whole_from, unit), wanted)])
        return ((0, whole_from),)
    found, low = list[tuple[int, int]](), 0
    for high in straight_cuts(layout):
        if any(low <= laid.y < high for laid in cut):
            joined = found and found[-1][1] == low
            found[-1:] = [(found[-1][0], high)] if joined else [*found[-1:], (low, high)]
        low = high
    return tuple(found)


class Heights:
    """The heights in the pattern that cut pieces hold fast: of each level group, how far its line is moved.

    The first group that is cut gives the start of each length whose start is not known.
    """

    def __init__(self, unit: Unit) -> None:
        self._unit, self._off = unit, dict[str, int]()
        self._first = dict[str, Piece]()

    def start_of(self, layout: FabricLayout, off: Iterable[Off]) -> int | None:
        """The height of the pattern at the squared end of a layout, by what is cut from it.

        Raises
        ------
        DoesNotFitError
            Pieces that must be level are cut at two heights.
        """
        repeat, start = layout.fabric.repeat, layout.fabric.start
        if repeat is None:
            return None
        for one in off:
            match = one.piece.match
            if match is None or not one.upright or not one.done:
                continue
            phase = repeat.phase_y(one.laid.x, one.laid.y, match.x, match.y)
            if start is None:
                start = (self._off.setdefault(match.level, 0) - phase) % repeat.length
            moved = (phase + start) % repeat.length
            if self._off.setdefault(match.level, moved) != moved:
                self._refuse(one.piece, match.level, abs(self._off[match.level] - moved), repeat.length)
            self._first.setdefault(match.level, one.piece)
        return start or 0

    @property
    def moves(self) -> Mapping[str, int]:
        """By level group, how far the line of the pattern is moved below its level line, modulo R."""
        return {level: off for level, off in self._off.items() if off}

    def _refuse(self, piece: Piece, level: str, apart: int, period: int) -> None:
        by = format_length(min(apart, period - apart), self._unit)
        raise DoesNotFitError(
            f"{piece.name} and {self._first[level].name} are cut already, and their print would hang {by} "
            "out of level: correct both windows by the same length (leave out --alone, or name the other "
            "one with --also), or cut one of them again (--again)"
        )

    def holds(self, one: Off, layout: FabricLayout, start: int | None) -> bool:
        """Whether a piece where it was planned is level with what is cut."""
        repeat, match = layout.fabric.repeat, one.piece.match
        if repeat is None or match is None:
            return True
        if not one.upright:
            return False
        moved = (repeat.phase_y(one.laid.x, one.laid.y, match.x, match.y) + (start or 0)) % repeat.length
        return self._off.setdefault(match.level, moved) == moved

    def moved(self, piece: Piece) -> Piece:
        """The piece with its place in the pattern level with what is cut."""
        match = piece.match
        off = 0 if match is None else self._off.get(match.level, 0)
        return piece if match is None or not off else replace(piece, match=replace(match, y=match.y + off))


def lengths_of(bolt: Bolt, fabric: Fabric, taken: Sequence[CutInto], unit: Unit, left: int | None) -> Bolt:
    """The bolt with the lengths that it is in once it is cut into.

    Parameters
    ----------
    bolt, fabric
        As they are ordered.
    taken
        Its layouts that are cut into.
    unit
        In which the job is measured.
    left
        What is still on the last of them as a maker measured it; default: what was there less what is cut.
    """
    by_name, lengths = {one.layout.on_hand: one for one in taken}, list[LengthOnHand]()
    ends, measured = dict[str | None, str](), [one for one in taken if not one.whole][-1:]
    for known in bolt.on_hand:
        there = replace(known, follows=ends.get(known.follows, known.follows))
        one = by_name.get(known.name)
        if one is None:
            lengths.append(there)
        else:
            whole = _on_table(there.length, fabric) - one.layout.reserve
            asked = left if one in measured else None
            lengths += _parted(there, one, fabric, whole, one.now.left if asked is None else asked)
            ends[there.name] = lengths[-1].name
    bought = by_name.get(None)
    if bought is None:
        return replace(bolt, on_hand=tuple(lengths))
    lot, whole = bolt.lot or LOT, _bought(bought.layout, fabric, unit)
    left = bought.now.left if left is None else left
    lengths += _parted(LengthOnHand(whole, lot=lot), bought, fabric, whole, left)
    return replace(bolt, on_hand=tuple(lengths), top_up=True, lot=lot)


def _shrinks(fabric: Fabric) -> Fraction:
    """The part of a length that washing before cutting leaves."""
    shrinkage = fabric.shrinkage
    return kept(shrinkage.length) if shrinkage is not None and shrinkage.washed == "before" else Fraction(1)


def _narrows(fabric: Fabric) -> Fraction:
    """The part of a width that washing before cutting leaves."""
    shrinkage = fabric.shrinkage
    return kept(shrinkage.width) if shrinkage is not None and shrinkage.washed == "before" else Fraction(1)


def _before_washing(ticks: int, fabric: Fabric) -> int:
    """A length as it lies on the table, as it was bought: washed, it is that to the tick."""
    return round_up(ticks / _shrinks(fabric), 1)


def _on_table(ticks: int, fabric: Fabric) -> int:
    return round_down(ticks * _shrinks(fabric), 1)


def length_there(layout: FabricLayout, fabric: Fabric, unit: Unit) -> int:
    """How long the fabric of a layout is from the squared end, as it lies on the table, nothing cut off."""
    return _bought(layout, fabric, unit) if layout.there is None else layout.there.length


def _bought(layout: FabricLayout, fabric: Fabric, unit: Unit) -> int:
    """What was bought from the squared end on, as it lies on the table, its allowances but no margin used."""
    buy = layout.buy
    if buy is None:
        return layout.length or 0
    used = (one.length for one in buy.allowances if one.name != SHRINKS and not one.name.startswith(MARGIN))
    return max(layout.length or 0, round_down(_on_table(buy.total, fabric) - sum(used), grid(unit)))


def _parted(
    there: LengthOnHand, taken: CutInto, fabric: Fabric, whole: int, left: int | None = None
) -> Iterator[LengthOnHand]:
    """The stretches of a length in order, those cut off and those still whole.

    ``whole`` is all of it as it lies on the table, ``left`` what was measured behind the last cut.
    """
    behind = taken.stretches[-1].high if taken.stretches else 0
    end = max(behind, whole) if left is None else behind + left
    before, low, number = there.follows, 0, 0
    for stretch in taken.stretches:
        if stretch.low > low:
            number += 1
            name = _called(taken, _numbered(UNCUT, number))
            yield _length(there, taken, fabric, (low, stretch.low), name, before, cut=False)
            before = name
        name = off_name(taken, stretch)
        yield _length(there, taken, fabric, (stretch.low, stretch.high), name, before)
        before, low = name, stretch.high
    if end > low:
        name = f"{taken.name}, rest" if taken.name else REST
        yield _length(there, taken, fabric, (low, end), name, before, cut=False)


def off_name(taken: CutInto, stretch: CutSpan) -> str:
    """What a stretch that is cut off is called; a length that is cut off whole keeps its name."""
    if taken.whole:
        return taken.name
    return _called(taken, _numbered(CUT_OFF, taken.stretches.index(stretch) + 1))


def name_of(layout: FabricLayout, bolt: Bolt) -> str:
    """What the length of a layout is called once it is cut into; of what was bought first, nothing."""
    if layout.on_hand is not None:
        return layout.on_hand
    names = [there.name for there in bolt.on_hand]
    taken = (CUT_OFF, REST, UNCUT)
    if not any(name.startswith(taken) for name in names):
        return ""
    number = 2
    while any(name.startswith(f"bolt {number}, ") for name in names):
        number += 1
    return f"bolt {number}"


def _called(taken: CutInto, what: str) -> str:
    return f"{taken.name}, {what}" if taken.name else what


def _numbered(what: str, number: int) -> str:
    return what if number == 1 else f"{what}, no. {number}"


def _length(
    there: LengthOnHand,
    taken: CutInto,
    fabric: Fabric,
    span: tuple[int, int],
    name: str,
    follows: str | None,
    *,
    cut: bool = True,
) -> LengthOnHand:
    """A stretch of a length as one of its own, as it was bought."""
    (low, high), height = span, taken.height(span[0], cut=cut)
    start = None if height is None else round_nearest(height / _shrinks(fabric))
    if not cut:
        there = taken.now.on(there, _shrinks(fabric), _narrows(fabric))
        # By a repeat of its own its pattern goes on from its start alone.
        follows = None if taken.now.repeat is not None else follows
    first, last = _before_washing(low, fabric), _before_washing(high, fabric)
    return replace(
        there,
        name=name,
        length=_before_washing(high - low, fabric),
        start=start,
        flaws=tuple(_flaws(there.flaws, first, last)),
        follows=follows,
    )


def _flaws(flaws: Iterable[FabricFlaw], start: int, end: int) -> Iterator[FabricFlaw]:
    """The flaws between two places of a length, counted from the first of them."""
    for flaw in flaws:
        low, high = max(flaw.at, start), min(flaw.at + flaw.length, end)
        if low < high:
            yield replace(flaw, at=low - start, length=high - low)


def cut_off_layout(
    lay: Lay, taken: CutInto, stretch: CutSpan, pieces: Mapping[str, Piece], count: Counter[str]
) -> FabricLayout:
    """What is cut off of a length as a layout: nothing about it is searched for any more.

    Parameters
    ----------
    lay
        The fabric with all its pieces, on the bolt with its lengths.
    taken, stretch
        What is cut off; its pieces are laid in the same order.
    pieces
        Of the plan by their ids.
    count
        How many copies of each are laid so far; counted on here.
    """
    placements, low = list[Laid](), stretch.low
    for one in stretch.off:
        count[one.piece.id] += 1
        placed = replace(one.laid, piece=pieces[one.piece.id], copy=count[one.piece.id], done=one.done)
        placements.append(replace(placed, y=placed.y - low))
    layout = taken.layout
    length = max((laid.y + laid.length for laid in placements), default=0)
    start = taken.height(low, cut=True)
    return replace(
        layout,
        fabric=replace(layout.fabric, start=start),
        bolt=lay.bolt,
        placements=tuple(placements),
        length=length,
        bound=Bound(0, CUT_ALREADY),
        status=status_of(length, 0),
        stop=Stop.TARGET,
        seconds=0.0,
        buy=None,
        rule_of_thumb=None,
        on_hand=off_name(taken, stretch),
        squaring=0,
        incumbents=(),
        on_table=None if lay.table_bolt == lay.bolt else lay.table_bolt,
        cutting="free",
        free_length=None,
        bought_lot=None,
        spoiled=tuple(_spoiled(layout.spoiled, low, stretch.high)),
        reserve=0,
    )


def _spoiled(flaws: Iterable[Flaw], start: int, end: int) -> Iterator[Flaw]:
    """What no piece may touch between two places of a layout, counted from the first of them."""
    for flaw in flaws:
        low, high = max(flaw.y, start), min(flaw.y + flaw.length, end)
        if low < high:
            yield replace(flaw, y=low - start, length=high - low)


def pins_of(lay: Lay, taken: Sequence[CutInto], bolt: Bolt, count: Mapping[str, int]) -> Iterator[Pin]:
    """What the pieces off the bolt hold fast for those to come: their places across, and dye lots."""
    to_come = [piece for piece in (*lay.pieces, *lay.extras) if count.get(piece.id, 0) < piece.copies]
    parts = [lay.part(piece).match for piece in to_come]
    seams = {match.seam for match in parts if match is not None and match.seam is not None}
    lots = {lot_of(lay.job, p, unit) for p in to_come for unit, _, _ in sets_of(lay.job, p)} - {None}
    several = len({there.lot for there in bolt.on_hand} | ({bolt.lot} if bolt.top_up else set())) > 1
    for one, length in ((one, each) for each in taken for one in each.off):
        match, repeat = lay.part(one.piece).match, length.layout.fabric.repeat
        if match is not None and repeat is not None and match.seam in seams:
            seams.discard(match.seam)
            place = Match(match.level, match.seam, match.x - one.laid.x, match.y - one.laid.y)
            if not one.upright:
                place = replace(place, y=length.start or 0)
            yield Pin(place, None, length.start, repeat)
        for unit, _, _ in sets_of(lay.job, one.piece) if several else ():
            group = lot_of(lay.job, one.piece, unit)
            if group in lots and group is not None:
                lots.discard(group)
                lot = bolt.lot if length.layout.on_hand is None else length.layout.lot
                yield Pin(None, (group, lot), None, None)


def held(piece: Piece, turned: Mapping[str, bool]) -> Piece:
    """The piece lying as its group does of which some are cut: ``turned`` by arrow group."""
    group = piece.arrow_group
    if group is None or group not in turned or piece.sideways:
        return piece
    return replace(piece, turnable=False) if not turned[group] else replace(piece, sideways=True)
