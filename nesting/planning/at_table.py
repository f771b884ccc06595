"""A plan that is being cut, planned again from where it stands: what was found at the table, what is cut.

Pieces that are cut stay cut and hold fast what they share with the others: the height of the pattern, its
place across in their panel, the way they lie, their dye lot. All else is laid anew on what is still whole of
the fabric, clear of what was found. What is missing then is bought. Lengths in ticks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from fractions import Fraction

from nesting.construction import sewing_of
from nesting.errors import Fault, JobError
from nesting.order.job import Bolt, FabricFlaw, Job
from nesting.order.remeasure import far_from, near
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.planning.cut_names import listed_names, renamed
from nesting.planning.effort import Effort
from nesting.planning.hung_fabric import (
    LOT,
    CutInto,
    CutSpan,
    Heights,
    Off,
    length_there,
    lengths_of,
    name_of,
    off_name,
    stretches_of,
)
from nesting.planning.hung_layouts import HungLayouts, WholeOrder
from nesting.planning.recut import WayCut, way_cut
from nesting.planning.table_advice import TableAdvice
from nesting.planning.uncut import Uncut
from nesting.units import Unit, format_length

__all__ = ["CutSoFar", "Finding", "Replanned", "Spoiled", "faults_of", "replanned"]

_Span = tuple[int, int]


@dataclass(frozen=True, slots=True)
class Spoiled:
    """A flaw as it lies on the layout: ``x`` from the left, ``y`` from the squared end.

    ``width`` None: it reaches to the right edge.
    """

    y: int
    length: int
    x: int = 0
    width: int | None = None


@dataclass(frozen=True, slots=True)
class Finding:
    """What was found on one length of a fabric.

    Attributes
    ----------
    fabric, on_hand
        The fabric's key, and the name of its length on hand; None: what was bought.
    flaws
        Flaws that the plan does not know.
    repeat
        The repeat along, as measured.
    usable
        The width that is fit to cut, as measured from the left edge of the planned one.
    lost
        Whatever is not cut yet up to there, from the squared end, is lost.
    left
        What is still on it behind the last cut, as measured.
    """

    fabric: str
    on_hand: str | None = None
    flaws: tuple[Spoiled, ...] = ()
    repeat: int | None = None
    usable: int | None = None
    lost: int = 0
    left: int | None = None


@dataclass(frozen=True, slots=True)
class CutSoFar:
    """Where the cutting stands: the cuts that are made, by name, and what was found.

    ``again``: of those, the ones whose pieces went wrong and are cut again.
    """

    cut: frozenset[str]
    again: frozenset[str] = frozenset()
    found: tuple[Finding, ...] = ()


@dataclass(frozen=True, slots=True)
class Replanned:
    """What comes of it.

    Attributes
    ----------
    plan
        Of the whole job, what is cut marked as done and on lengths of its own; checked.
    renamed
        Old and new names of all cuts that stay where they are.
    """

    plan: Plan
    renamed: tuple[tuple[str, str], ...]


def replanned(plan: Plan, standing: CutSoFar, *, effort: Effort | None = None) -> Replanned:
    """The plan of a job that is being cut: what is cut stays cut, the rest is laid anew on what is left.

    Parameters
    ----------
    plan
        By which the cuts were made, with the order it was made for.
    standing
        What is cut, and what was found.
    effort
        How long to search for the layout of the rest.

    Raises
    ------
    JobError
        A cut, a fabric or a length is none of this plan, or a measure cannot be.
    DoesNotFitError
        A piece finds no room on any fabric that can be had.
    NothingFoundError
        No layout of the rest was found in the time.
    CheckError
        A layout failed the independent check.
    """
    return _Again(plan, standing).planned(effort or Effort())


def faults_of(plan: Plan, standing: CutSoFar) -> tuple[Fault, ...]:
    """What of it cannot be: cuts, fabrics and lengths that are none of the plan, measures that are none."""
    numbers = numbering(plan.layouts)
    names = set(numbers.numbers.values())
    known = {(one.fabric.key, one.on_hand): one for one in plan.layouts}
    faults = [
        Fault(what, listed_names(unknown), f"cuts of this plan: {listed_names(names)}")
        for what, asked in (("cut", standing.cut), ("cut again", standing.again))
        if (unknown := asked - names)
    ]
    for found in standing.found:
        layout = known.get((found.fabric, found.on_hand))
        if layout is None:
            name = found.on_hand or found.fabric
            faults.append(Fault("fabric", f'"{name}"', "a fabric or length of this plan"))
        else:
            made = standing.cut | standing.again
            cut = [one for one in layout.placements if one.done or numbers.of(one) in made]
            faults += _faults(layout, found, plan.job.units, _end_of(layout, found, cut, plan.job))
    return tuple(faults)


def _end_of(layout: FabricLayout, found: Finding, cut: Collection[Laid], job: Job) -> int:
    """Where the fabric ends, from the squared end: by what was measured, else as it was at first."""
    if found.left is None:
        return length_there(layout, job.fabric(layout.fabric.key), job.units)
    spans = _with_lost(stretches_of(layout, cut, job.units) if cut else (), found.lost)
    return found.left + (spans[-1][1] if spans else 0)


def _faults(layout: FabricLayout, found: Finding, unit: Unit, end: int) -> Iterator[Fault]:
    """``end``: where the fabric ends."""
    place, repeat = layout.fabric.title, layout.fabric.repeat

    def say(ticks: int) -> str:
        return format_length(ticks, unit)

    if found.repeat is not None:
        if repeat is None:
            yield Fault(f"{place}: repeat", say(found.repeat), "nothing: no piece of this fabric is matched")
        elif found.repeat <= 0 or far_from(repeat.length, Fraction(found.repeat)):
            yield Fault(f"{place}: repeat", say(found.repeat), near(say(repeat.length)))
    if found.usable is not None and not 0 < found.usable <= layout.fit_to_cut:
        wanted = f"a width above 0 and not above the planned {say(layout.fit_to_cut)}"
        yield Fault(f"{place}: usable width", say(found.usable), wanted)
    for flaw in found.flaws:
        if not 0 <= flaw.x < layout.usable:
            wanted = f"a place on the fabric, 0 to {say(layout.usable)} from the left"
            yield Fault(f"{place}: flaw", say(flaw.x), wanted)
        if flaw.y < 0 or flaw.length <= 0 or (flaw.width is not None and flaw.width <= 0):
            yield Fault(f"{place}: flaw", say(flaw.length), "a place of 0 or more, and sizes above 0")
        elif flaw.y >= end:
            wanted = f"a place on the fabric, which ends {say(end)} from its squared end"
            yield Fault(f"{place}: flaw", say(flaw.y), wanted)
    if found.lost > end:
        wanted = f"at most {say(end)}, where the fabric ends"
        yield Fault(f"{place}: lost up to", say(found.lost), wanted)
    for what, value in (("lost up to", found.lost), ("left on the bolt", found.left or 0)):
        if value < 0:
            yield Fault(f"{place}: {what}", say(value), "a length of 0 or more")


class _Again:
    """One plan being planned again."""

    def __init__(self, plan: Plan, standing: CutSoFar) -> None:
        self._before, self._said = plan, standing
        self._numbers: Numbering = numbering(plan.layouts)
        self._found = {(one.fabric, one.on_hand): one for one in standing.found}
        if faults := faults_of(plan, standing):
            raise JobError(faults)
        self._done, self._gone = self._marked()
        self._way: WayCut = way_cut(plan)
        self._pieces = {piece.id: piece for piece in plan.pieces}

    # What is said, held against the plan.

    def _marked(self) -> tuple[frozenset[tuple[str, int]], frozenset[tuple[str, int]]]:
        """The copies that are cut and serve, and those that are cut again."""
        done, gone = set[tuple[str, int]](), set[tuple[str, int]]()
        for layout in self._before.layouts:
            for laid in layout.placements:
                name = self._numbers.of(laid)
                if name in self._said.again:
                    gone.add((laid.piece.id, laid.copy))
                elif laid.done or name in self._said.cut:
                    done.add((laid.piece.id, laid.copy))
        return frozenset(done), frozenset(gone)

    def _is_cut(self, laid: Laid) -> bool:
        copy = (laid.piece.id, laid.copy)
        return copy in self._done or copy in self._gone

    def _begun(self, layout: FabricLayout) -> bool:
        found = self._found.get((layout.fabric.key, layout.on_hand))
        return found is not None or any(self._is_cut(laid) for laid in layout.placements)

    # What is planned of it.

    def planned(self, effort: Effort) -> Replanned:
        """The plan of what is left."""
        job, heights = self._before.job, Heights(self._before.job.units)
        begun = {
            key: taken for key in (one.key for one in job.fabrics) if (taken := self._taken(key, heights))
        }
        pieces = {id: heights.moved(piece) for id, piece in self._pieces.items()}
        now = {key: self._lengths_of(key, taken) for key, taken in begun.items()}
        way = self._way
        order = WholeOrder.on_lengths(job, way.bolts, now, way.railroaded, way.plans)
        cutting = order.cuttings.cut(way.railroaded, way.plans)
        made = HungLayouts(self._before, self._numbers, cutting, order, begun, effort)
        made.lay(pieces.values())
        plan = replace(
            self._before,
            job=order.job,
            pieces=tuple((pieces | made.pieces).values()),
            layouts=tuple(made.layouts),
            left_out=tuple(made.left_out),
            objectives=tuple(made.objectives),
            shortfalls=tuple(made.shortfalls),
            what_if=(),
            seams=(),
            questions=(),
        )
        names = renamed(numbering(plan.layouts), made.stayed)
        told = TableAdvice(
            self._before, plan, names, self._said.again, self._narrower(), tuple(self._flawed())
        )
        plan = replace(plan, advice=tuple(told.advice()))
        return Replanned(replace(plan, sewing=sewing_of(plan)), names)

    def _narrower(self) -> Mapping[str, int]:
        return {key: one.usable for (key, _), one in self._found.items() if one.usable is not None}

    def _flawed(self) -> Iterator[str]:
        """Cuts that are made and serve, and in which a flaw was found, by their old names."""
        for layout in self._before.layouts:
            found = self._found.get((layout.fabric.key, layout.on_hand))
            if found is None or not found.flaws:
                continue
            flaws = replace(found, usable=None)
            for laid in layout.placements:
                if (laid.piece.id, laid.copy) in self._done and not _clear(laid, layout, flaws):
                    yield self._numbers.of(laid)

    # What is left of the fabric.

    def _taken(self, key: str, heights: Heights) -> list[CutInto]:
        """Every length of a fabric that is begun, or of which something was found, and what was bought."""
        mine = [layout for layout in self._before.layouts if layout.fabric.key == key]
        if not any(self._begun(layout) for layout in mine):
            return []
        return [self._cut_into(one, heights) for one in mine if one.on_hand is None or self._begun(one)]

    def _cut_into(self, layout: FabricLayout, heights: Heights) -> CutInto:
        found = self._found.get((layout.fabric.key, layout.on_hand), Finding(layout.fabric.key))
        cut = [laid for laid in layout.placements if self._is_cut(laid)]
        off = [self._off(laid, done=True) for laid in cut if (laid.piece.id, laid.copy) in self._done]
        start = self._start(layout, off, heights)
        uncut = [laid for laid in layout.placements if laid not in cut]
        level = {id(laid): heights.holds(self._off(laid, done=False), layout, start) for laid in uncut}
        spans = stretches_of(layout, cut, self._before.job.units) if cut else ()
        if layout.there is not None and not found.lost and cut and all(one.done for one in layout.placements):
            # Cut off before, and nothing further of it: it stays as it is.
            spans = ((0, layout.there.length - layout.reserve),)
        spans = _with_lost(spans, found.lost)
        staying = [
            self._off(laid, done=False)
            for laid in uncut
            if level[id(laid)]
            and laid.y >= found.lost
            and _inside(laid, spans)
            and _clear(laid, layout, found)
        ]
        stretches = tuple(
            CutSpan(low, high, tuple(one for one in (*off, *staying) if low <= one.laid.y < high))
            for low, high in spans
        )
        name = name_of(layout, self._way.bolts[layout.fabric.key])
        return CutInto(layout, stretches, start, name, _now(found, layout))

    def _start(self, layout: FabricLayout, off: Collection[Off], heights: Heights) -> int | None:
        """The height of the pattern at the squared end; with nothing matched cut, as it was planned."""
        held = any(one.upright and one.piece.match is not None for one in off)
        if layout.fabric.start is None and not held:
            off = [self._off(laid, done=True) for laid in layout.placements]
        return heights.start_of(layout, off)

    def _off(self, laid: Laid, *, done: bool) -> Off:
        return Off(laid, self._pieces[laid.piece.id], done)

    def _lengths_of(self, key: str, taken: Sequence[CutInto]) -> Bolt:
        """A fabric's bolt in the lengths that it is in now; more of it can be bought."""
        job = self._before.job
        lengths = lengths_of(self._way.bolts[key], job.fabric(key), taken, job.units, None)
        return _open(_without_lost(lengths, taken), taken)


def _with_lost(spans: Iterable[_Span], lost: int) -> tuple[_Span, ...]:
    """The stretches that are cut into, with all that is lost before ``lost``."""
    if not lost:
        return tuple(spans)
    end, beyond = lost, list[_Span]()
    for low, high in spans:
        if low <= end:
            end = max(end, high)
        else:
            beyond.append((low, high))
    return (0, end), *beyond


def _inside(laid: Laid, spans: Iterable[_Span]) -> bool:
    return any(low <= laid.y and laid.y + laid.length <= high for low, high in spans)


def _clear(laid: Laid, layout: FabricLayout, found: Finding) -> bool:
    """Whether a piece where it was planned meets no flaw that was found, and lies within the width."""
    less = 0 if found.usable is None else layout.fit_to_cut - found.usable
    right = laid.x + laid.width
    return right <= layout.usable - less and not any(
        laid.y < flaw.y + flaw.length
        and flaw.y < laid.y + laid.length
        and laid.x < (layout.usable if flaw.width is None else flaw.x + flaw.width)
        and flaw.x < right
        for flaw in found.flaws
    )


def _now(found: Finding, layout: FabricLayout) -> Uncut:
    """The finding in the terms of a length on hand, whose flaws are told from the usable width."""
    beyond = max(0, layout.usable - layout.fit_to_cut) // 2
    flaws = tuple(
        FabricFlaw(
            flaw.y,
            flaw.length,
            max(0, flaw.x - beyond),
            None if flaw.width is None else max(1, flaw.x + flaw.width - beyond - max(0, flaw.x - beyond)),
        )
        for flaw in found.flaws
    )
    return Uncut(flaws, found.repeat, found.usable, found.left)


def _without_lost(bolt: Bolt, taken: Iterable[CutInto]) -> Bolt:
    """The bolt without stretches of which nothing serves: they are no fabric to cut from."""
    empty = {off_name(one, stretch) for one in taken for stretch in one.stretches if not stretch.off}
    lengths = (there for there in bolt.on_hand if there.name not in empty)
    return replace(
        bolt,
        on_hand=tuple(
            replace(there, follows=None if there.follows in empty else there.follows) for there in lengths
        ),
    )


def _open(bolt: Bolt, taken: Iterable[CutInto]) -> Bolt:
    """The bolt of which more can be bought, of the lot of what is cut: then one window may go on from it."""
    begun = [one.layout.lot for one in taken if one.stretches and one.layout.lot is not None]
    lot = bolt.lot or (begun[-1] if begun else LOT)
    return replace(
        bolt,
        top_up=True,
        lot=lot,
        on_hand=tuple(replace(there, lot=there.lot or LOT) for there in bolt.on_hand),
    )
