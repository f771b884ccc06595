"""Hang one, then cut the rest: a job planned anew from what the first panel that hangs has shown.

The drop is measured on the panel that hangs; the hem lines of what is cut move, and what is not cut yet is
cut to the new length, from what is still on the bolt. Panels of one window have one length, and those of a
room whose print must be level are corrected together. Lengths in ticks.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from nesting.check import check_bound
from nesting.construction import sewing_of
from nesting.cutting.cut import Cutting, Plans
from nesting.errors import Fault, JobError, NestingError
from nesting.order.job import Bolt, Fabric, HungLength, Job, Window
from nesting.packing import Bound
from nesting.packing.result import UNCHECKED
from nesting.pieces.piece import LAYERS, Piece
from nesting.plan.numbering import Numbering, numbering
from nesting.plan.plan import FabricLayout, Laid, Plan
from nesting.planning.cut_names import renamed
from nesting.planning.effort import Effort
from nesting.planning.hung_advice import Told
from nesting.planning.hung_fabric import (
    CutInto,
    CutSpan,
    Heights,
    Off,
    lengths_of,
    name_of,
    stretches_of,
)
from nesting.planning.hung_layouts import HungLayouts, WholeOrder
from nesting.planning.hung_marks import Measured, asked_hem, marked, measured_window, require_hanging
from nesting.planning.hung_pieces import Before, CutPiece, Recutting, recutting
from nesting.planning.hung_windows import Parted, alike, corrected, level_with, parted, planned_length
from nesting.planning.lay import lay_of
from nesting.planning.recut import WayCut, way_cut
from nesting.planning.ways import Cuttings

__all__ = ["Measured", "Rehung", "hung"]


@dataclass(frozen=True, slots=True)
class Rehung:
    """What came of a panel that hangs.

    Attributes
    ----------
    plan
        Of the whole job, what is cut marked as done and on lengths of its own; checked.
    lengths
        The windows that were corrected.
    cut
        What becomes of each piece that is cut.
    renamed
        Cuts that are called otherwise than in the plan before, old name and new; all others that are not
        made yet are new ones, and their old labels no longer hold.
    """

    plan: Plan
    lengths: tuple[HungLength, ...]
    cut: tuple[CutPiece, ...]
    renamed: tuple[tuple[str, str], ...]


def hung(plan: Plan, measured: Measured, *, effort: Effort | None = None) -> Rehung:
    """The plan of a job whose first panel hangs: cut pieces stay cut, the rest by the measured drop.

    Parameters
    ----------
    plan
        By which the cuts were made, with the order it was made for.
    measured
        What was measured, and what is cut.
    effort
        How long to search for the layout of the rest.

    Raises
    ------
    JobError
        Window, panel, a cut or a length is none of this plan.
    DoesNotFitError
        A piece that is cut can no longer serve, or one to come finds no room on its bolt.
    NothingFoundError
        No layout of the rest was found in the time.
    CheckError
        A layout failed the independent check.
    """
    return _Rehanging(plan, measured).planned(effort or Effort())


class _Rehanging:
    """One plan being corrected."""

    def __init__(self, plan: Plan, measured: Measured) -> None:
        self._before, self._measured = plan, measured
        self._numbers: Numbering = numbering(plan.layouts)
        self._window = window = measured_window(plan, measured)
        self._marked = marked(plan, self._numbers, measured)
        require_hanging(plan, window, self._marked, measured)
        self._way: WayCut = way_cut(plan)
        self._names = self._corrected(window)
        cut = () if measured.hems_only else self._changing()
        self._parted: Parted = parted(plan.job, cut, self._names)
        self._lengths = tuple(self._hung(window))
        hem = asked_hem(plan.job, window, measured)
        self._job: Job = corrected(self._parted.job, self._lengths, hem, measured.lining_gap)
        self._plans: Plans = {
            (name, role): plan
            for (old, role), plan in self._way.plans.items()
            for name in self._parted.names.get(old, (old,))
        }
        cuttings = Cuttings(self._job, self._way.bolts)
        self._cutting: Cutting = cuttings.cut(self._way.railroaded, self._plans)
        self._recut: Recutting = self._recutting(every=measured.hems_only)
        #: Cuts that were to come first keep their order, and so their names.
        self._first = {self._place(piece, 1)[0] for piece in plan.pieces if piece.first}

    def _corrected(self, window: Window) -> tuple[str, ...]:
        """The windows that are corrected, the measured one first."""
        job, said = self._before.job, self._measured
        known = {one.name for one in job.windows}
        if unknown := [name for name in said.also if name not in known]:
            listed = ", ".join(f'"{name}"' for name in sorted(known - {window.name}))
            raise JobError([Fault("--also", f'"{unknown[0]}"', f"another window of this plan: {listed}")])
        level = () if said.alone else tuple(one.name for one in level_with(job, window))
        return tuple(dict.fromkeys((window.name, *level, *said.also)))

    def _hung(self, window: Window) -> Iterator[HungLength]:
        job, more = self._parted.job, self._measured.length - planned_length(self._before.job, window)
        by_name, first = {one.name: one for one in job.windows}, True
        for old in self._names:
            for name in self._parted.names[old]:
                was = planned_length(job, by_name[name])
                yield HungLength(name, was, was + more, self._measured.panel if first else "")
                first = False

    def _changing(self) -> Iterator[tuple[Piece, int]]:
        """What is cut of the pieces whose size a new length changes."""
        by_id = {piece.id: piece for piece in self._before.pieces}
        for id, copy in self._marked.done:
            if by_id[id].role in (*LAYERS, "band"):
                yield by_id[id], copy

    def _recutting(self, *, every: bool) -> Recutting:
        """The pieces as they are now; ``every``: those not cut yet keep their sizes as well.

        Raises
        ------
        DoesNotFitError
            A piece can no longer serve in its size.
        """
        cut = {
            self._place(laid.piece, laid.copy): Before(laid.piece, self._numbers.of(laid))
            for layout in self._before.layouts
            for laid in layout.placements
            if every or (laid.piece.id, laid.copy) in self._marked.done
        }
        return recutting(self._parted.job, self._job, self._way.bolts, self._cutting.pieces, cut)

    def _place(self, piece: Piece, copy: int) -> tuple[str, int]:
        return self._parted.copy_of(piece, copy)

    # What is planned of it.

    def planned(self, effort: Effort) -> Rehung:
        """The plan of the corrected job."""
        pieces = {piece.id: replace(piece, first=piece.id in self._first) for piece in self._recut.pieces}
        begun, heights = dict[str, list[CutInto]](), Heights(self._job.units)
        if self._measured.hems_only:
            return self._as_planned(pieces, heights)
        for fabric in self._job.fabrics:
            taken = self._taken(fabric, pieces, heights)
            if taken:
                begun[fabric.key] = taken
        pieces = {id: heights.moved(piece) for id, piece in pieces.items()}
        now = {key: self._lengths_of(key, taken) for key, taken in begun.items()}
        order = WholeOrder.on_lengths(self._job, self._way.bolts, now, self._way.railroaded, self._plans)
        made = HungLayouts(self._before, self._numbers, self._cutting, order, begun, effort)
        made.lay(pieces.values())
        plan = Plan(
            job=order.job,
            pieces=tuple((pieces | made.pieces).values()),
            layouts=tuple(made.layouts),
            sundries=self._cutting.sundries,
            headings=self._cutting.headings,
            left_out=tuple(made.left_out),
            panels=self._cutting.panels,
            objectives=tuple(made.objectives),
            shortfalls=tuple(made.shortfalls),
        )
        return self._told(plan, made.stayed, heights)

    def _as_planned(self, pieces: Mapping[str, Piece], heights: Heights) -> Rehung:
        """The plan as it was, layouts and all, but for lengths and hems.

        Every piece keeps its size, so that every layout, length and proof holds as before.
        """
        layouts, stayed = list[FabricLayout](), list[tuple[str, Laid]]()
        for layout in self._before.layouts:
            heights.start_of(layout, [self._off(laid, pieces) for laid in layout.placements])
        pieces = {id: heights.moved(piece) for id, piece in pieces.items()}
        for layout in self._before.layouts:
            done = self._marked.done
            placed = tuple(
                replace(one, piece=pieces[one.piece.id], done=(one.piece.id, one.copy) in done)
                for one in layout.placements
            )
            layout = replace(layout, placements=placed)
            layouts.append(replace(layout, bound=self._bound_of(layout, pieces.values())))
            stayed += ((self._numbers.of(one), one) for one in placed)
        plan = replace(
            self._before,
            job=self._job,
            pieces=tuple(pieces.values()),
            layouts=tuple(layouts),
            sundries=self._cutting.sundries,
            headings=self._cutting.headings,
            panels=self._cutting.panels,
            what_if=(),
            seams=(),
            questions=(),
        )
        return self._told(plan, stayed, heights)

    def _bound_of(self, layout: FabricLayout, pieces: Iterable[Piece]) -> Bound:
        """The bound of a layout whose hem lines moved, all of a group alike: it holds as before.

        Its certificate may not: it counts in steps of which the new heights of the hems are no multiple.
        """
        bound, fabric = layout.bound, self._job.fabric(layout.fabric.key)
        if bound.certificate is None:
            return bound
        lay = lay_of(self._job, fabric, layout.bolt, pieces)
        if not check_bound(lay.problem, bound, across=lay.across):
            return bound
        return Bound(bound.length, f"{bound.method}, {UNCHECKED}")

    def _hems_suffice(self) -> bool:
        """Whether everything that is not cut yet could keep its size too."""
        try:
            self._recutting(every=True)
        except NestingError:
            return False
        return True

    def _told(self, plan: Plan, stayed: Iterable[tuple[str, Laid]], heights: Heights) -> Rehung:
        names = renamed(numbering(plan.layouts), stayed)
        offered = alike(self._before.job, self._window, self._names)
        told = Told(
            before=self._before,
            plan=plan,
            lengths=self._lengths,
            cut=self._recut.cut,
            renamed=names,
            alike=tuple(offered),
            hems_suffice=self._hems_suffice(),
            moves=heights.moves,
        )
        plan = replace(plan, advice=(*told.advice(), *self._cutting.advice))
        plan = replace(plan, sewing=sewing_of(plan))
        return Rehung(plan, self._lengths, self._recut.cut, names)

    def _taken(self, fabric: Fabric, pieces: Mapping[str, Piece], heights: Heights) -> list[CutInto]:
        """What of a fabric is off the bolt, layout by layout."""
        found = list[CutInto]()
        for layout in self._before.layouts:
            if layout.fabric.key != fabric.key:
                continue
            laid = {(one.piece.id, one.copy): one for one in layout.placements}
            cut = [
                one for copy, one in laid.items() if copy in self._marked.done or copy in self._marked.gone
            ]
            if not cut:
                continue
            gone = [one for copy, one in laid.items() if copy in self._marked.gone]
            off = [self._off(one, pieces) for copy, one in laid.items() if copy in self._marked.done]
            start = heights.start_of(layout, off)
            said = (self._measured.whole_from or {}).get(fabric.key)
            spans = stretches_of(layout, cut, self._job.units, said)
            if layout.there is not None and not gone and all(one.done for one in cut):
                # Cut off before, and nothing further of it: it stays as it is.
                spans = ((0, layout.there.length - layout.reserve),)
            off += self._staying(layout, cut, spans, pieces, heights, start)
            stretches = (
                CutSpan(low, high, tuple(one for one in off if low <= one.laid.y < high))
                for low, high in spans
            )
            found.append(
                CutInto(layout, tuple(stretches), start, name_of(layout, self._way.bolts[fabric.key]))
            )
        return found

    def _staying(
        self,
        layout: FabricLayout,
        cut: Collection[Laid],
        spans: Collection[tuple[int, int]],
        pieces: Mapping[str, Piece],
        heights: Heights,
        start: int | None,
    ) -> Iterator[Off]:
        """What is not cut yet and still can be where it was planned, in a stretch that is cut into."""
        for laid in layout.placements:
            inside = any(low <= laid.y and laid.y + laid.length <= high for low, high in spans)
            if not inside or laid in cut:
                continue
            piece = pieces[self._place(laid.piece, laid.copy)[0]]
            fitting = (Off(placed, piece, done=False) for placed in _in_place(laid, piece))
            found = next((one for one in fitting if heights.holds(one, layout, start)), None)
            if found is not None:
                yield found

    def _off(self, laid: Laid, pieces: Mapping[str, Piece]) -> Off:
        place = self._place(laid.piece, laid.copy)
        return Off(laid, pieces[self._recut.places.get(place, place[0])], done=True)

    def _lengths_of(self, key: str, taken: Sequence[CutInto]) -> Bolt:
        """A fabric's bolt in the lengths that it is in now."""
        left = (self._measured.left or {}).get(key)
        return lengths_of(self._way.bolts[key], self._job.fabric(key), taken, self._job.units, left)


def _in_place(laid: Laid, piece: Piece) -> Iterator[Laid]:
    """How a piece may lie where it was planned: at either end of its place, where it has become shorter."""
    less = laid.piece.length - piece.length
    if piece.width != laid.piece.width or less < 0:
        return
    for moved in dict.fromkeys((0, less)):
        if laid.turn:
            yield replace(laid, x=laid.x + moved, width=piece.length)
        else:
            yield replace(laid, y=laid.y + moved, length=piece.length)
