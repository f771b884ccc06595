"""The layouts of a plan whose first panel hangs: what is cut off, what is left of it, what is still whole."""

from __future__ import annotations

from collections import Counter
from collections.abc import Collection, Mapping
from dataclasses import replace

from nesting.cutting.cut import Cutting
from nesting.cutting.thumb import rule_of_thumb_for
from nesting.errors import DoesNotFitError, NothingFoundError
from nesting.pieces.piece import Piece
from nesting.plan.numbering import Numbering
from nesting.plan.plan import FabricLayout, Laid, LeftOut, Objective, Plan, Shortfall
from nesting.planning.effort import Spending
from nesting.planning.from_stock import WORDS, FromStock, lay_from_stock, layouts_from_stock, objective_of
from nesting.planning.hung_fabric import CutInto, CutSpan, cut_off_layout, held, pins_of
from nesting.planning.laying import lay_of, layout_of, lies_railroaded, require_fit
from nesting.planning.shortfall import shortfall_of, shortfalls
from nesting.planning.ways import Case, CuttingOrder, best_of


class HungLayouts:
    """Fabrics laid one after the other, and what came of each.

    Parameters
    ----------
    before, numbers
        The plan by which the cuts were made, and its names of them.
    cutting
        The pieces of the corrected job.
    spending
        How long to search.
    """

    def __init__(self, before: Plan, numbers: Numbering, cutting: Cutting, spending: Spending) -> None:
        self._before, self._numbers = before, numbers
        self._cutting, self._spending = cutting, spending
        self.layouts = list[FabricLayout]()
        self.left_out = list[LeftOut]()
        self.objectives = list[Objective]()
        self.shortfalls = list[Shortfall]()
        self.stayed = list[tuple[str, Laid]]()
        self.pieces = dict[str, Piece]()

    def lay_rest(
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
        """
        try:
            return lay_from_stock((case,), self._spending)
        except NothingFoundError:
            if case.lay.bolt.top_up:
                raise
        raise DoesNotFitError(
            f"{case.lay.fabric.title}: what is left of it was not found to hold all that is missing of the "
            "windows that are cut into, and none can be bought: cut the rest as planned (--hems-only), or "
            "measure what is left (--left)"
        )

    def lay_anew(self, order: CuttingOrder, pieces: tuple[Piece, ...]) -> None:
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
