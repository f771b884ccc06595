"""The layouts of a plan that is cut into: what is cut off, what is left of it, what is still whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace

from nesting.cutting.cut import Cutting, Plans
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.errors import DoesNotFitError, NothingFoundError
from nesting.order.job import Bolt, Fabric, Job
from nesting.pieces.piece import Piece
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Laid, LeftOut, Objective, Plan, Shortfall
from nesting.planning.effort import Effort
from nesting.planning.from_stock import (
    PACKINGS,
    WORDS,
    FromStock,
    lay_from_stock,
    layouts_from_stock,
    objective_of,
    packings_of,
)
from nesting.planning.hung_fabric import CutInto, CutSpan, cut_off_layout, held, pins_of
from nesting.planning.laying import lay_of, layout_of, lies_railroaded, require_fit
from nesting.planning.shortfall import shortfall_of, shortfalls
from nesting.planning.ways import Case, CuttingOrder, Cuttings, Sideways, best_of


@dataclass(frozen=True, slots=True)
class WholeOrder:
    """How all fabrics of a job are to be cut; fields as of `nesting.planning.ways.CuttingOrder`."""

    job: Job
    bolts: Mapping[str, Bolt]
    railroaded: Sideways
    plans: Plans
    cuttings: Cuttings

    @classmethod
    def on_lengths(
        cls,
        job: Job,
        bolts: Mapping[str, Bolt],
        now: Mapping[str, Bolt],
        railroaded: Sideways,
        plans: Plans,
    ) -> WholeOrder:
        """The order of a job on these bolts, of fabrics in ``now`` in the lengths that they are in now."""
        fabrics = list[Fabric]()
        for fabric in job.fabrics:
            if fabric.key in now:
                old, new = bolts[fabric.key], now[fabric.key]
                offered = tuple(new if one == old else one for one in fabric.bolts)
                fabric = replace(fabric, bolts=offered, start=None)
            fabrics.append(fabric)
        job, bolts = replace(job, fabrics=tuple(fabrics)), {**bolts, **now}
        return cls(job, bolts, railroaded, plans, Cuttings(job, bolts))

    def of(self, fabric: Fabric) -> CuttingOrder:
        """That of one fabric."""
        return CuttingOrder(self.job, fabric, self.bolts, self.railroaded, False, self.plans, self.cuttings)


class HungLayouts:
    """Fabrics laid one after the other, and what came of each.

    Parameters
    ----------
    before, numbers
        The plan by which the cuts were made, and its names of them.
    cutting
        The pieces of the job as it is now.
    order
        That job, and the bolts and ways to cut of all its fabrics.
    begun
        By fabric, its lengths that are cut into; a fabric that is not there is still whole.
    effort
        How long to search.
    """

    def __init__(
        self,
        before: Plan,
        numbers: Numbering,
        cutting: Cutting,
        order: WholeOrder,
        begun: Mapping[str, list[CutInto]],
        effort: Effort,
    ) -> None:
        self._before, self._numbers = before, numbers
        self._cutting, self._order, self._begun = cutting, order, begun
        shares = len(order.job.fabrics) + len(begun) * (packings_of(()) + PACKINGS)
        self._spending = effort.begin(shares)
        self.layouts = list[FabricLayout]()
        self.left_out = list[LeftOut]()
        self.objectives = list[Objective]()
        self.shortfalls = list[Shortfall]()
        self.stayed = list[tuple[str, Laid]]()
        self.pieces = dict[str, Piece]()

    def lay(self, pieces: Collection[Piece]) -> None:
        """All fabrics with these pieces."""
        for fabric in self._order.job.fabrics:
            mine = tuple(piece for piece in pieces if piece.fabric == fabric.key)
            if mine and fabric.key in self._begun:
                self._lay_rest(self._order.of(fabric), mine, self._begun[fabric.key])
            elif mine:
                self._lay_anew(self._order.of(fabric), mine)

    def _lay_rest(
        self,
        order: CuttingOrder,
        pieces: tuple[Piece, ...],
        taken: list[CutInto],
    ) -> None:
        """What is cut off, and what is still to be cut of the same fabric."""
        turned = {
            one.piece.arrow_group: bool(one.laid.turn)
            for length in taken
            for one in length.off
            if one.piece.arrow_group is not None
        }
        pieces = tuple(held(piece, turned) for piece in pieces)
        by_id = {piece.id: piece for piece in pieces}
        taken = [
            replace(length, stretches=tuple(_now(stretch, by_id) for stretch in length.stretches))
            for length in taken
        ]
        lay = lay_of(order.job, order.fabric, order.bolts[order.fabric.key], pieces)
        count, whole = Counter[str](), lay.table_bolt
        off = list[FabricLayout]()
        for length in taken:
            for stretch in length.stretches:
                layout = cut_off_layout(lay, length, stretch, by_id, count)
                names_before = (self._numbers.of(one.laid) for one in stretch.off)
                self.stayed += zip(names_before, layout.placements, strict=True)
                off.append(layout)
        names = {layout.on_hand for layout in off}
        rest = tuple(there for there in whole.on_hand if there.name not in names)
        lay = replace(
            lay,
            table_bolt=replace(whole, on_hand=rest),
            laid_before=dict(count),
            pins=tuple(pins_of(lay, taken, lay.bolt, count)),
        )
        self.pieces |= by_id
        layouts = [layout for layout in off if layout.placements]
        if all(count[piece.id] >= piece.copies for piece in pieces):
            self._add(layouts)
            return
        require_fit(lay)
        found = self._from_rest(Case(lay, frozenset(), self._cutting, order))
        table = None if whole == lay.bolt else whole
        self._add([*layouts, *(replace(layout, on_table=table) for layout in layouts_from_stock(found))])
        self.left_out += shortfalls(found, self._spending)
        self.objectives.append(_with_cut_off(objective_of(found), found, off))
        if (short := shortfall_of(found, self._spending)) is not None:
            self.shortfalls.append(short)

    def _add(self, layouts: Collection[FabricLayout]) -> None:
        """The layouts of one fabric, all of which say how its panels lie."""
        turned = lies_railroaded(laid for layout in layouts for laid in layout.placements)
        self.layouts += [replace(layout, railroaded=turned) for layout in layouts]

    def _from_rest(self, case: Case) -> FromStock:
        """What is still to be cut, on what is left of a fabric and what can be bought.

        Raises
        ------
        DoesNotFitError
            Nothing can be bought, and what is left does not hold what windows that are cut into still want.
        NothingFoundError
            No layout was found in the time.
        """
        title = case.lay.fabric.title
        try:
            return lay_from_stock((case,), self._spending)
        except NothingFoundError as error:
            if case.lay.bolt.top_up:
                words = f"{title}: no layout of what is not cut yet was found: give it more time"
                raise NothingFoundError(words) from error
        raise DoesNotFitError(
            f"{title}: what is left of it was not found to hold all that is missing of the windows that are "
            "cut into, and none can be bought: cut the rest as planned (--hems-only), or measure what is "
            "left (--left)"
        )

    def _lay_anew(self, order: CuttingOrder, pieces: tuple[Piece, ...]) -> None:
        """A fabric that is not cut into: as it was planned, where nothing of it changes."""
        fabric, bolt, job = order.fabric, order.bolts[order.fabric.key], self._before.job
        lay = lay_of(order.job, fabric, bolt, pieces)
        old = lay_of(job, job.fabric(fabric.key), bolt, self._before.pieces)
        if (lay.problem, lay.extras) == (old.problem, old.extras):
            by_id = {piece.id: piece for piece in pieces}
            for layout in self._before.layouts:
                if layout.fabric.key == fabric.key:
                    placed = tuple(replace(one, piece=by_id[one.piece.id]) for one in layout.placements)
                    self.layouts.append(replace(layout, placements=placed))
            self.objectives += [one for one in self._before.objectives if one.fabric == fabric.key]
            self.left_out += [one for one in self._before.left_out if one.piece in by_id]
            self.shortfalls += [one for one in self._before.shortfalls if one.fabric == fabric.key]
            return
        require_fit(lay)
        case = Case(lay, frozenset(), self._cutting, order)
        if bolt.on_hand:
            found = lay_from_stock((case,), self._spending)
            self.layouts += layouts_from_stock(found)
            self.left_out += shortfalls(found, self._spending)
            self.objectives.append(objective_of(found))
            if (short := shortfall_of(found, self._spending)) is not None:
                self.shortfalls.append(short)
            return
        solved = best_of([case], self._spending)
        result = self._spending.tidied(lay, solved.result)
        rule = rule_of_thumb_for(order.job, pieces, fabric.key, bolt, order.railroaded)
        layout, out = layout_of(lay, result, solved.bound, rule)
        self.layouts.append(layout)
        self.left_out += out


def _now(stretch: CutSpan, by_id: Mapping[str, Piece]) -> CutSpan:
    """A stretch with the pieces as they are in the plan."""
    return replace(stretch, off=tuple(replace(one, piece=by_id[one.piece.id]) for one in stretch.off))


def _with_cut_off(objective: Objective, found: FromStock, off: Collection[FabricLayout]) -> Objective:
    """The objective of the whole fabric: what is cut off counts among what is cut into, pins do not."""
    pins = sum(
        there.length for there in found.problem.lengths[len(found.problem.lengths) - found.problem.pinned :]
    )
    cut = [layout for layout in off if layout.placements]
    more = {
        WORDS["fabric started"]: sum(one.there.length for one in cut if one.there is not None) - pins,
        WORDS["cut into"]: sum(one.length or 0 for one in cut) - pins,
    }
    stages = (
        replace(
            stage, value=stage.value + more.get(stage.name, 0), bound=stage.bound + more.get(stage.name, 0)
        )
        for stage in objective.stages
    )
    return replace(objective, stages=tuple(stages))
