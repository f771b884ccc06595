"""Pieces that were cut before their panel hung: how each still serves, or why it does not."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import dataclass, replace
from fractions import Fraction
from typing import Final

from nesting.cutting.layers import hemmed_lining, lining_gap
from nesting.cutting.measures import LESS_HEM, MORE_HEM, lying_length, settle
from nesting.errors import DoesNotFitError, NestingError
from nesting.headings import Making
from nesting.headings.making import measure
from nesting.order.job import Bolt, Fabric, Hem, Job
from nesting.pieces.piece import AS_IT_HANGS, LAYERS, Piece, Steps
from nesting.pieces.washing import grown, kept, washed
from nesting.planning.cut_names import in_order, listed_names
from nesting.units import format_length, grid, round_down, round_up

#: The least that is turned under first in a hem of several turns, and the least hem that is still offered
#: (common practice, no source).
FIRST_TURN: Final = measure("1/2", "3/2")
LEAST_HEM: Final = measure("1", "5/2")
#: What a width that is not cut yet is shorter by, because others of its panel are cut.
AS_ITS_PANEL: Final = "less for the hem, as cut in its panel"
#: Roles whose hem can take or give what a new length changes.
_HEMMED: Final = ("panel", "lining")


@dataclass(frozen=True, slots=True)
class CutPiece:
    """A piece that is cut, and what becomes of it.

    Attributes
    ----------
    piece
        As it is now to be made up; its size is the one it was cut in.
    was
        Its name on the marker by which it was cut: ``A3``.
    hem
        How its lower edge is finished otherwise than planned; empty where nothing changes.
    hem_line
        Height of the finished edge above the cut edge, in ticks; None for a piece without a hem.
    """

    piece: Piece
    was: str
    hem: str
    hem_line: int | None


@dataclass(frozen=True, slots=True)
class Recutting:
    """All pieces of a corrected job, and those of them that were cut before.

    Attributes
    ----------
    pieces
        For the plan, the cut ones in the sizes they have.
    cut
        What becomes of each cut piece, in the order of their old names.
    places
        Where each copy that is cut went: id and copy of the job, to an id of ``pieces``.
    """

    pieces: tuple[Piece, ...]
    cut: tuple[CutPiece, ...]
    places: Mapping[tuple[str, int], str]


@dataclass(frozen=True, slots=True)
class Before:
    """A copy that was cut: its piece as it was then, and the name it was cut by."""

    piece: Piece
    name: str


def recutting(
    before: Job,
    after: Job,
    bolts: Mapping[str, Bolt],
    pieces: Collection[Piece],
    cut: Mapping[tuple[str, int], Before],
) -> Recutting:
    """The pieces of a corrected job, those cut before as they can still be used.

    Parameters
    ----------
    before, after
        The job as it was planned, its equal windows parted as in the corrected one, and that one.
    bolts
        Of each fabric, as bought.
    pieces
        Of the corrected job.
    cut
        By id and copy of the corrected job, what was cut.

    Raises
    ------
    DoesNotFitError
        A piece that is cut can no longer serve; every one is named with what can be done.
    """
    made, told, places = list[Piece](), list[CutPiece](), dict[tuple[str, int], str]()
    lower = dict[str, tuple[int, str]]()
    refused = dict[tuple[str, int, str], list[str]]()
    for piece in pieces:
        done = {copy: one for (id, copy), one in cut.items() if id == piece.id}
        if not done:
            made.append(piece)
            continue
        bench = _Refit(before, after, bolts, piece)
        old = next(iter(done.values())).piece
        names = ", ".join(dict.fromkeys(one.name for one in done.values()))
        try:
            now, words = bench.as_cut(old)
        except _TooShortError as short:
            refused.setdefault((f"{piece.window}, {piece.role}", old.length, short.why), []).append(names)
            continue
        if now.length == piece.length and now.hem_line == piece.hem_line:
            made.append(piece)
            places |= {(piece.id, copy): piece.id for copy in done}
        else:
            whole = len(done) == piece.copies
            if not whole and piece.role in LAYERS:
                raise NestingError(
                    f"{piece.name}: some of {piece.copies} equal ones are cut: cut all of them"
                )
            # What is equal stays so: the others of a band are cut as long, and shortened like it.
            made.append(now)
            places |= {(piece.id, copy): now.id for copy in done}
            if piece.role in _HEMMED and 0 < (now.hem_line or 0) < (piece.hem_line or 0):
                panel = _panel_of(piece)
                lower[panel] = min(lower.get(panel, (now.hem_line or 0, words)), (now.hem_line or 0, words))
            piece = now
        line = now.hem_line if piece.role in _HEMMED else None
        told += [CutPiece(piece, name, words, line) for name in dict.fromkeys(b.name for b in done.values())]
    if refused:
        lines = (_refused(*case, names, after) for case, names in refused.items())
        raise DoesNotFitError("what is cut can no longer serve:\n" + "\n".join(lines))
    gone = set(places.values())
    fitted = (
        piece if piece.id in gone else _like_its_panel(piece, lower.get(_panel_of(piece)), grid(after.units))
        for piece in made
    )
    return Recutting(tuple(fitted), tuple(told), places)


def _panel_of(piece: Piece) -> str:
    """The layer of the panel that a width belongs to: ``bay/left``, ``bay/left/lining``."""
    return piece.id.rpartition("/")[0]


def _like_its_panel(piece: Piece, lower: tuple[int, str] | None, step: int) -> Piece:
    """A width that is not cut yet with the hem that the other widths of its panel have left.

    One panel is hemmed in one go, so nothing is cut off of it again.
    """
    if lower is None or piece.role not in _HEMMED or piece.hem_line is None:
        return piece
    (left, words), match = lower, piece.match
    steps = piece.length_steps.take(AS_ITS_PANEL, piece.hem_line - left).up_to(step)
    if match is not None:
        match = replace(match, y=match.y + piece.hem_line - left)
    notes = (*piece.notes, AS_IT_HANGS + words)
    return replace(piece, length=steps.total, length_steps=steps, hem_line=left, match=match, notes=notes)


class _TooShortError(Exception):
    """A piece that is cut is too short; ``why`` says how, and what can be done."""

    def __init__(self, why: str) -> None:
        super().__init__(why)
        self.why = why


def _refused(what: str, length: int, why: str, names: Iterable[str], job: Job) -> str:
    """A line for all cuts of one layer of a window that are too short alike."""
    cuts = in_order(cut for each in names for cut in each.split(", "))
    several = len(cuts) > 1
    called = f"cuts {listed_names(cuts)}" if several else f"cut {cuts[0]}"
    again = f"or cut {'them' if several else 'it'} again from what is left (--again {','.join(cuts)})"
    return f"  - {what}: {called}, {format_length(length, job.units)} long, {why}; {again}"


class _Refit:
    """A piece that was cut, beside the one that is wanted now."""

    def __init__(self, before: Job, after: Job, bolts: Mapping[str, Bolt], piece: Piece) -> None:
        self._piece, self._unit = piece, after.units
        self._fabric: Fabric = washed(after.fabric(piece.fabric), bolts[piece.fabric])[0]
        self._old, self._new = (_making(job, piece.window) for job in (before, after))

    def as_cut(self, old: Piece) -> tuple[Piece, str]:
        """The piece with the size it was cut in, and how its lower edge is finished otherwise.

        Raises
        ------
        _TooShortError
            It is too short.
        """
        if self._new is None or self._old is None or self._piece.role not in (*LAYERS, "band"):
            return self._piece, ""
        if self._piece.role not in _HEMMED:
            return self._without_hem(old)
        more = self._grown(self._reach(self._new)) - self._grown(self._reach(self._old))
        hem = self._new.bottom_hem if self._piece.role == "panel" else self._new.lining_hem
        if hem.selvage:
            return self._on_selvage(old, more)
        left, whole = (old.hem_line or 0) - more, self._piece.hem_line or 0
        under = self._grown(hem.turn) * (hem.turns - 1) if hem.turns else 0
        least = under + FIRST_TURN.of(self._unit) if hem.turns > 1 else whole
        if left < min(least, whole):
            raise _TooShortError(self._too_short(hem, left, min(least, whole)))
        match = self._piece.match
        if match is not None:
            match = replace(match, y=match.y + whole - left)
        words = self._hem_words(hem, left, whole, under)
        return replace(self._sized(old, words), hem_line=left, match=match), words

    def _reach(self, making: Making) -> int:
        """From the top of a layer to its finished lower edge."""
        return (lying_length(making) if self._piece.role == "panel" else hemmed_lining(making)).total

    def _grown(self, ticks: int) -> int:
        return grown(ticks, self._fabric)

    def _say(self, ticks: int | Fraction) -> str:
        return format_length(ticks, self._unit)

    def _sized(self, old: Piece, words: str) -> Piece:
        """The piece in the size that was cut, with the sum that says so."""
        less, steps = self._piece.length - old.length, self._piece.length_steps
        if less > 0:
            steps = steps.take(LESS_HEM, less)
        elif less:
            steps = Steps(steps.target, steps.terms).add(MORE_HEM, -less)
        notes = (*self._piece.notes, *((AS_IT_HANGS + words,) if words else ()))
        return replace(self._piece, length=old.length, length_steps=steps, notes=notes)

    def _hem_words(self, hem: Hem, left: int, whole: int, under: int) -> str:
        if left > whole:
            return f"cut off {self._say(left - whole)} along the lower edge, then turn the hem as planned"
        if left == whole or not hem.turns:
            return ""
        each = self._say(self._grown(hem.turn))
        times = "" if hem.turns == 2 else f", {hem.turns - 1} times"
        return f"turn under {self._say(left - under)} first, then {each}{times}"

    def _on_selvage(self, old: Piece, more: int) -> tuple[Piece, str]:
        """A panel whose hem is the selvage: nothing below can be given or cut off."""
        if more > 0:
            raise _TooShortError(
                f"{self._say(more)} too short, and the hem is the selvage, so there is none to "
                f"let down: {self._shorter(more)}"
            )
        words = f"take up {self._say(-more)} more at the top: its hem is the selvage" if more else ""
        return self._sized(old, words), words

    def _without_hem(self, old: Piece) -> tuple[Piece, str]:
        """An interlining or a band along an edge: it may only be too long."""
        short = self._piece.length - old.length
        if short > 0:
            joined = f"join a strip {self._say(short)} longer than its seam to one end, or " * (
                self._piece.role == "interlining"
            )
            raise _TooShortError(f"{self._say(short)} too short: {joined}{self._shorter(short)}")
        words = f"cut off {self._say(-short)} at one end" if short else ""
        return self._sized(old, words), words

    def _too_short(self, hem: Hem, left: int, least: int) -> str:
        """Why a layer with a hem is too short, and every way out with its figures."""
        words = "would leave nothing for the hem"
        if left:
            words = f"would leave {self._say(left)} for the hem"
        if left < 0:
            words = f"would end {self._say(-left)} above the hem line"
        return (
            f"{words}, and a hem of {self._say(hem.turn)} turned "
            f"{_TIMES.get(hem.turns, f'{hem.turns} times')} needs at least {self._say(least)}: "
            + "; ".join(self._ways_out(hem, left, least))
        )

    def _ways_out(self, hem: Hem, left: int, least: int) -> Iterator[str]:
        making, step = self._new, self._new.grid if self._new else 1
        assert making is not None
        spare = left - (FIRST_TURN.of(self._unit) if hem.turns > 1 else 0)
        depth = round_down(spare * self._kept / max(1, hem.turns - 1), step)
        if depth >= LEAST_HEM.of(self._unit) and self._piece.role == "panel":
            less = self._say(hem.turn - depth)
            yield f"a hem {self._say(depth)} deep, {less} less, on all its panels (--hem)"
        yield self._shorter(least - left)
        if self._piece.role == "lining":
            yield from self._higher(least - left)
            return
        if left >= making.seam:
            strip = self._say(hem.turn + 2 * making.seam)
            yield (
                f"face its hem: a strip {strip} deep and as wide as the panel, seams included, sewn to its "
                "lower edge, which is not planned here"
            )

    def _higher(self, short: int) -> Iterator[str]:
        """A lining that ends higher, where it still covers the upper edge of the hem."""
        making = self._new
        assert making is not None
        now = lining_gap(making)
        gap = now + round_up(short * self._kept, making.grid)
        if gap < making.bottom_hem.finished:
            yield (
                f"let linings end {self._say(gap)} above the hem edge instead of {self._say(now)} "
                f"(--lining-gap {self._say(gap)})"
            )

    @property
    def _kept(self) -> Fraction:
        shrinkage = self._fabric.shrinkage
        return (
            kept(shrinkage.length) if shrinkage is not None and shrinkage.washed == "after" else Fraction(1)
        )

    def _shorter(self, short: int) -> str:
        making = self._new
        assert making is not None
        less = round_up(short * self._kept, making.grid)
        length = round_down(making.finished.total - less, making.grid)
        return (
            f"let it hang {self._say(making.finished.total - length)} shorter (--length {self._say(length)})"
        )


_TIMES: Final = {1: "once", 2: "twice"}


def _making(job: Job, window: str | None) -> Making | None:
    found = next((one for one in job.windows if one.name == window), None)
    return None if found is None else settle(job, found)
