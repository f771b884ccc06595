"""The picture of a step: one part for each kind of operation in it, each from its first panel."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from types import MappingProxyType
from typing import Final

from nesting.drawing.operations.edge_views import fold_view, lines_view, overcast_view, sew_view
from nesting.drawing.operations.hang_view import hang_view
from nesting.drawing.operations.layer_views import face_view, lay_view, round_view
from nesting.drawing.operations.made_views import join_view, lay_out_view, tube_view, wash_view
from nesting.drawing.operations.pen import stacked
from nesting.drawing.operations.top_views import (
    attach_view,
    draw_view,
    insert_view,
    marks_view,
    pleat_view,
    set_view,
    stitch_view,
)
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling, ToldStep
from nesting.sewing import (
    Attach,
    Chalk,
    DrawUp,
    FaceTop,
    Fold,
    Insert,
    Join,
    LayOn,
    LayOut,
    LineRound,
    Moment,
    Operation,
    Overcast,
    PleatUp,
    SetAlong,
    Sew,
    SewTube,
    Stitch,
    Trim,
    Wash,
)

#: How each operation is drawn; a new one is a function and a line here.
VIEWS: Final[Mapping[type[Operation], Callable[[Sequence[Moment], Telling], Drawing]]] = MappingProxyType({
    Wash: wash_view,
    Trim: lines_view,
    Overcast: overcast_view,
    LayOut: lay_out_view,
    Join: join_view,
    Chalk: lines_view,
    Fold: fold_view,
    Sew: sew_view,
    SewTube: tube_view,
    Insert: insert_view,
    Attach: attach_view,
    SetAlong: set_view,
    Stitch: stitch_view,
    PleatUp: pleat_view,
    DrawUp: draw_view,
    FaceTop: face_view,
    LayOn: lay_view,
    LineRound: round_view,
})  # fmt: skip

#: How the pictures are read, told once before the first of them.
LEGEND: Final = (
    "In the drawings the right side of the fabric is gray and its wrong side striped; another layer is "
    "dotted. Dashed lines are folds to come, dotted lines stitches, lines of dashes and dots chalk. A zigzag "
    "line stands for a stretch that is left out. Where the wrong side is seen, left and right change places."
)

#: So many parts a picture has at most: the first ones, what shows least left out where there is more to see.
MOST_PARTS: Final = 3
_LEAST_TELLING: Final[tuple[type[Operation], ...]] = (LayOut, Overcast, Trim)


def step_drawing(step: ToldStep, telling: Telling) -> Drawing | None:
    """The picture of a step, as wide as all of them; None where nothing is done in it that could be drawn.

    Parameters
    ----------
    step
        With the works before and after each of its operations.
    telling
        How sizes and works are told.
    """
    if step.marking:
        return marks_view(step.moments, telling)
    if not step.moments:
        return hang_view(step, telling)
    parts = [VIEWS[type(part[0].operation)](part, telling) for part in _parts(step.moments)]
    return stacked(parts) if len(parts) > 1 else parts[0]


def _parts(moments: Sequence[Moment]) -> list[tuple[Moment, ...]]:
    """What is drawn together: operations of one view on the first work they are done on."""
    parts = dict[Callable[..., Drawing], list[Moment]]()
    for moment in moments:
        same = parts.setdefault(VIEWS[type(moment.operation)], [])
        if not same or _on(same[0]) == _on(moment):
            same.append(moment)
    telling = [
        part
        for part in parts.values()
        if not all(isinstance(each.operation, _LEAST_TELLING) for each in part)
    ]
    return [tuple(part) for part in (telling or list(parts.values()))[:MOST_PARTS]]


def _on(moment: Moment) -> object:
    return getattr(moment.operation, "on", None)
