"""The lengths on hand of a fabric as strips, its pieces as parts that share a lot, laid all or none."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.order.job import Job, LengthOnHand
from nesting.packing import Flaw, Part, Problem, Strip
from nesting.packing.problem import MOST_VALUE
from nesting.pieces.piece import Piece
from nesting.planning.lay import Lay, Pin
from nesting.repeat import Repeat
from nesting.units import grid, round_down, round_nearest

#: The lot of what is bought, where none is known: no lot of a job begins with a blank.
BOUGHT: Final = " bought"


@dataclass(frozen=True, slots=True)
class Share:
    """Copies of a piece that belong to one window.

    Attributes
    ----------
    before
        How many copies of the piece come before them.
    lot
        What they share a dye lot with.
    unit
        What they are laid with or left out with: a window, or a copy of an extra.
    """

    piece: Piece
    before: int
    copies: int
    lot: str | None
    unit: str
    priority: int


def sets_of(job: Job, piece: Piece) -> tuple[tuple[str, int, int], ...]:
    """The windows that a piece's copies are for: name, copies before, copies.

    Of several equal windows each has its own, dealt in the order of the copies; where the pieces of each
    are told apart by their ids, these say whose they are. Copies of an extra stand for themselves.
    """
    if piece.role == "extra" or piece.window is None:
        return tuple((f"{piece.id}#{copy}", copy - 1, 1) for copy in range(1, piece.copies + 1))
    count = next((window.count for window in job.windows if window.name == piece.window), 1)
    number = piece.id.split("/")[1]
    if number.isdigit():
        return ((f"{piece.window}#{number}", 0, piece.copies),)
    if piece.copies % count:
        return ((f"{piece.window}#1", 0, piece.copies),)
    each = piece.copies // count
    return tuple((f"{piece.window}#{at + 1}", at * each, each) for at in range(count))


def lot_of(job: Job, piece: Piece, unit: str) -> str | None:
    """What a piece shares a dye lot with; extras of no window with nothing, unless rooms are of one lot."""
    if job.fabric(piece.fabric).one_lot == "room" and piece.room:
        return f"room {piece.room}"
    if piece.window is None:
        return None
    if piece.role != "extra":
        return unit
    count = next((window.count for window in job.windows if window.name == piece.window), 1)
    return f"{piece.window}#1" if count == 1 else None


def shares_of(job: Job, pieces: Iterable[Piece]) -> Iterator[Share]:
    """The pieces window by window."""
    ranks = {window.name: window.priority for window in job.windows}
    extras = {extra.name: extra.priority for extra in job.extras}
    for piece in pieces:
        known = extras.get(piece.name, 1) if piece.role == "extra" else ranks.get(piece.window or "", 1)
        for unit, before, copies in sets_of(job, piece):
            yield Share(piece, before, copies, lot_of(job, piece, unit), unit, known)


def strip_of(lay: Lay, there: LengthOnHand) -> Strip | None:
    """A length on hand as a strip; None where nothing is left of it once its pattern is found."""
    left, right = lay.margins
    own = lay.table_bolt.usable if there.usable is None else round_down(there.usable, grid(lay.job.units))
    width = min(own + left + right, lay.table_bolt.width)
    if lay.table_bolt.printed:
        # Its selvages are known where nothing was measured on it; what was measured is never overridden.
        width = lay.usable if there.usable is None else min(own, lay.usable)
    length = there.length - reserve_of(lay, there)
    if length <= 0:
        return None
    repeat = repeat_on(lay, there)
    return Strip(
        width=width,
        length=length,
        repeat=repeat,
        flaws=tuple(flaws_on(there, left, width)),
        lot=there.lot,
        start=there.start if repeat is not None else None,
    )


def repeat_on(lay: Lay, there: LengthOnHand) -> Repeat | None:
    """The repeat of a length on hand, as it was measured on it."""
    repeat = lay.on_table.repeat
    if repeat is None or there.repeat is None:
        return repeat
    return replace(repeat, length=round_nearest(Fraction(there.repeat), repeat.drop.denominator))


def reserve_of(lay: Lay, there: LengthOnHand) -> int:
    """What is kept of a length to find the place in the pattern: a repeat, where its start is not known."""
    repeat = repeat_on(lay, there)
    return 0 if repeat is None or there.start is not None else repeat.length


def flaws_on(there: LengthOnHand, left: int, width: int) -> Iterator[Flaw]:
    """The flaws on the width to cut, ``left`` of it in the selvage; those at an edge reach over it."""
    for flaw in there.flaws:
        x = flaw.from_left + left if flaw.from_left else 0
        right = width if flaw.width is None else min(width, flaw.from_left + left + flaw.width)
        if x < right and flaw.at < there.length:
            yield Flaw(x, flaw.at, right - x, min(flaw.length, there.length - flaw.at))


@dataclass(frozen=True, slots=True)
class OnHand:
    """The problem of laying one fabric on its lengths on hand.

    Attributes
    ----------
    lengths
        Those that have anything to cut from, in the order of the problem's strips; what can be bought is the
        strip behind them.
    shares
        One for each part, in the order of the parts.
    pinned
        So many of the lengths, the last, are pins: each holds one part that fits nowhere else.
    """

    lay: Lay
    lengths: tuple[LengthOnHand, ...]
    shares: tuple[Share, ...]
    problem: Problem
    pinned: int = 0

    def is_pin(self, strip: int) -> bool:
        """Whether a strip is no fabric, but holds a pin in its place."""
        return len(self.lengths) - self.pinned <= strip < len(self.lengths)


def on_hand(
    lay: Lay, *, buy: bool, optional: bool = False, units: frozenset[str] | None = None, extras: bool = True
) -> OnHand:
    """The problem of laying a fabric on its lengths on hand.

    Parameters
    ----------
    lay
        The pieces.
    buy
        More can be bought on top.
    optional
        Windows and ordered extras may be left out, each for what it is worth by priority.
    units
        Only these windows and extras; default: all.
    extras
        Optional extras as well, in fabric that is started anyway.
    """
    pairs = [
        (there, strip) for there in lay.table_bolt.on_hand if (strip := strip_of(lay, there)) is not None
    ]
    strips = [strip for _, strip in pairs]
    pins = [_pinned(lay, number, pin) for number, pin in enumerate(lay.pins, 1)]
    strips += [strip for _, strip, _, _ in pins]
    if buy:
        lot = lay.bolt.lot if lay.bolt.lot is not None else BOUGHT
        strips.append(Strip(lay.usable, None, lay.on_table.repeat, lot=lot, start=lay.on_table.start))
    ordered = [s for s in _left_of(lay, lay.pieces) if units is None or s.unit in units]
    spare = list(_left_of(lay, lay.extras)) if extras else []
    worth = worth_of(ordered) if optional else {}
    shares, parts = list[Share](), list[Part]()
    begun = {s.unit for s in shares_of(lay.job, lay.pieces) if lay.laid_before.get(s.piece.id, 0) > s.before}
    for share in ordered:
        # What is missing of a window that is cut into is never left out.
        for piece_of_it in _valued(lay, share, {} if share.unit in begun else worth):
            shares.append(piece_of_it[0])
            parts.append(piece_of_it[1])
    value = worth_of(spare)
    for share in spare:
        shares.append(share)
        parts.append(replace(_part(lay, share), value=value[share.unit], spare=True))
    lengths = (*(there for there, _ in pairs), *(there for there, _, _, _ in pins))
    shares += [share for _, _, share, _ in pins]
    parts += [part for _, _, _, part in pins]
    return OnHand(lay, lengths, tuple(shares), Problem(tuple(strips), tuple(parts)), len(pins))


def _left_of(lay: Lay, pieces: Iterable[Piece]) -> Iterator[Share]:
    """The copies of pieces that are still to be laid, window by window."""
    for share in shares_of(lay.job, pieces):
        gone = min(share.copies, max(0, lay.laid_before.get(share.piece.id, 0) - share.before))
        if gone < share.copies:
            yield replace(share, before=share.before + gone, copies=share.copies - gone)


def _pinned(lay: Lay, number: int, pin: Pin) -> tuple[LengthOnHand, Strip, Share, Part]:
    """A pin as a length wider than any fabric, with the one part that it holds.

    Nothing else is so wide, so it lies there and nowhere else, and its group keeps its phase and its lot.
    """
    step = grid(lay.job.units)
    widest = max([lay.usable, lay.table_bolt.width, *(each.width for each in lay.pieces)])
    width, name = round_down(widest, step) + 2 * step, f" pin {number}"
    group, lot = pin.lot or (None, None)
    there = LengthOnHand(step, name, lot=lot, start=pin.start)
    strip = Strip(width, step, pin.repeat, lot=lot, start=pin.start)
    piece = Piece(name, name, "extra", lay.fabric.key, width, step)
    share = Share(piece, 0, 1, group, name, 1)
    return there, strip, share, Part(name, width, step, match=pin.match, lot=group)


def _part(lay: Lay, share: Share) -> Part:
    return replace(lay.part(share.piece), copies=share.copies, lot=share.lot)


def _valued(lay: Lay, share: Share, worth: dict[str, int]) -> Iterator[tuple[Share, Part]]:
    """The share as a part; where it may be left out its unit is a bundle, whose first copy has the value."""
    part = _part(lay, share)
    if not worth:
        yield share, part
        return
    value = worth[share.unit]
    bundled = replace(part, value=0, bundle=share.unit)
    if value:
        worth[share.unit] = 0
        yield replace(share, copies=1), replace(bundled, copies=1, value=value)
        if share.copies == 1:
            return
        share = replace(share, before=share.before + 1, copies=share.copies - 1)
    yield share, replace(bundled, copies=share.copies)


def worth_of(shares: Sequence[Share]) -> dict[str, int]:
    """What each unit is worth, so that the best set is the largest by priority.

    Windows go before extras, and 1 before 2: one of an earlier class outweighs all of the later ones. Within
    a class more is better, and of equally many those that come first.
    """
    classes: dict[tuple[bool, int], list[str]] = {}
    for share in shares:
        units = classes.setdefault((share.piece.role == "extra", share.priority), [])
        if share.unit not in units:
            units.append(share.unit)
    for ranked in (True, False):
        worth, below = dict[str, int](), 0
        for key in sorted(classes, reverse=True):
            units = classes[key]
            most = len(units) * (len(units) + 1) // 2 if ranked else 0
            worth |= {
                unit: (below + 1) * (most + (len(units) - at if ranked else 1))
                for at, unit in enumerate(units)
            }
            below = sum(worth.values())
        if below <= MOST_VALUE:
            return worth
    return {share.unit: 1 for share in shares}
