"""Facings, linings, interlinings and bands, drawn on the panel they belong to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction

from nesting.drawing.operations.edge_views import WIDE
from nesting.drawing.operations.pen import StepPen
from nesting.drawing.operations.spread import inset, shown
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling
from nesting.sewing import FaceTop, LayOn, LineRound, Moment, Work
from nesting.sewing.folding import SAME
from nesting.sewing.work import Side


def face_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The facing on the panel right sides together; and turned to the back."""
    pen, operation = StepPen(WIDE, 80.0), moments[0].operation
    assert isinstance(operation, FaceTop)
    before, after = moments[0].before.work(operation.on), moments[0].after.work(operation.on)
    depth = after.edge("top").depth
    deep = 30.0
    seam = inset(operation.allowance, depth + operation.allowance, deep, 7.0)
    top, bottom = 8.0, 74.0
    left, right = 2.0, 42.0
    pen.fabric(((left, top), (right, top), (right, bottom), (left, bottom)), "right")
    pen.line(((left, top), (left, bottom)))
    pen.line(((right, top), (right, bottom)))
    pen.torn((left, bottom), (right, bottom))
    tabs = [one for one in before.carriers if one.kind == "tab"]
    if tabs:
        for x in (left + 1, right - 11):
            pen.box(x, top, x + 10, top + deep + 14, "layer")
    pen.box(left, top, right, top + deep + seam, "layer wrong")
    pen.line(((left, top + seam), (right, top + seam)), "stitch")
    pen.size((right + 5, top), (right + 5, top + seam), telling.bare(operation.allowance), aside=4)
    pen.arrow((64, 41), (74, 41))
    left, right = 76.0, 102.0
    loop = 8.0 if tabs else 0.0
    pen.fabric(((left, top + loop), (right, top + loop), (right, bottom), (left, bottom)), "wrong")
    pen.line(((left, top + loop), (left, bottom)))
    pen.line(((right, top + loop), (right, bottom)))
    pen.torn((left, bottom), (right, bottom))
    if tabs:
        for x in (left, right - 9):
            pen.box(x, top - 6, x + 9, top + loop, "right")
    pen.box(left, top + loop, right, top + loop + deep, "layer")
    for one in after.carriers[:1]:
        if one.kind == "loop" and one.lower is not None:
            for x in (left + 2, right - 11):
                up, low = (inset(end, depth, deep, 3.0) for end in (one.down, one.lower))
                pen.box(x, top + loop + up, x + 9, top + loop + low, "right")
    pen.size((right + 5, top + loop), (right + 5, top + loop + deep), telling.bare(depth), aside=4)
    return pen.drawing()


def lay_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The layer in its place: how far its edges lie from the lines of the panel, or from its edges."""
    pen, operation = StepPen(WIDE, 100.0), moments[0].operation
    assert isinstance(operation, LayOn)
    work, layer = moments[0].before.work(operation.on), moments[0].before.work(operation.layer)
    panel = left, top, right, bottom = 24.0, 6.0, 92.0, 80.0
    pen.box(*panel, "wrong" if operation.face == "back" else "right")
    _flaps(pen, work, panel, operation)
    edges = _edges(operation, work, layer)
    narrow, short = layer.width * 3 < work.width, layer.length * 3 < work.length
    sides: tuple[Side, Side] = ("left", "right") if operation.face == "front" else ("right", "left")
    one, other = sides
    ins = {side: edge.inset for side, edge in edges.items()}
    if narrow:
        wider: Side = "left" if edges["left"].away > edges["right"].away else "right"
        ins[wider] = 50.0
    if short:
        longer: Side = "top" if edges["top"].away > edges["bottom"].away else "bottom"
        ins[longer] = 50.0
    pen.box(left + ins[one], top + ins["top"], right - ins[other], bottom - ins["bottom"], "layer")
    if operation.tucked:
        for x, way in ((left, 1.0), (right, -1.0)):
            pen.box(min(x, x + way * 11), top, max(x, x + way * 11), bottom, "right")
    for side, edge in edges.items():
        if edge.line:
            pen.line(_across(panel, side, edge.line, operation.face), "chalk")
        if not edge.said or ins[side] == 50.0 or side in operation.tucked:
            continue
        start, end = edge.line, edge.inset
        if side in ("top", "bottom"):
            zero, way = (top, 1.0) if side == "top" else (bottom, -1.0)
            pen.size((right + 6, zero + way * start), (right + 6, zero + way * end), "")
            pen.words(right + 10, zero + way * (start + end) / 2, telling.bare(edge.said), at="left")
        else:
            zero, way = (left, 1.0) if side == one else (right, -1.0)
            pen.size((zero + way * start, bottom + 5), (zero + way * end, bottom + 5), "")
            pen.words(zero + way * (start + end) / 2, bottom + 12, telling.bare(edge.said))
    if not short:
        pen.gap((left - 1, 44), (right + 1, 44))
    return pen.drawing()


@dataclass(frozen=True, slots=True)
class _LaidEdge:
    """One edge of a layer: how far inside the panel, in ticks; the panel's line there and itself on paper.

    ``said`` is what is measured, from the line where there is one, else from the edge; 0: nothing.
    """

    away: Fraction
    line: float
    inset: float
    said: Fraction


def _edges(operation: LayOn, work: Work, layer: Work) -> dict[Side, _LaidEdge]:
    """The four edges of a layer."""
    beyond = work.width - operation.inside - layer.width
    inside, beyond = (operation.inside, beyond) if operation.side == "left" else (beyond, operation.inside)
    away: dict[Side, Fraction] = {
        "left": inside,
        "right": beyond,
        "bottom": operation.up,
        "top": work.length - operation.up - layer.length,
    }
    lines = {line.edge: line.inward for line in work.lines}
    found = dict[Side, _LaidEdge]()
    for side, size in away.items():
        inward = lines.get(side, Fraction(0))
        line = shown(inward, 18.0) if inward else 0.0
        said = size - inward
        if abs(said) <= SAME:
            found[side] = _LaidEdge(size, line, line, Fraction(0))
        else:
            step = shown(said, 12.0) * (1 if said > 0 else -1)
            found[side] = _LaidEdge(size, line, line + step, abs(said))
    return found


def _across(
    panel: tuple[float, float, float, float], side: Side, inward: float, face: str
) -> tuple[tuple[float, float], tuple[float, float]]:
    """A line inside one edge of the panel as it is seen."""
    left, top, right, bottom = panel
    if side in ("top", "bottom"):
        y = top + inward if side == "top" else bottom - inward
        return (left, y), (right, y)
    x = left + inward if (side == "left") == (face == "front") else right - inward
    return (x, top), (x, bottom)


def _flaps(pen: StepPen, work: Work, panel: tuple[float, float, float, float], operation: LayOn) -> None:
    """What has been folded to the back so far, where the back is seen."""
    if operation.face == "front":
        return
    left, top, right, bottom = panel
    flaps: dict[Side, tuple[float, float, float, float]] = {
        "bottom": (left, bottom - 14, right, bottom),
        "top": (left, top, right, top + 14),
        "left": (right - 11, top, right, bottom),
        "right": (left, top, left + 11, bottom),
    }
    for side, flap in flaps.items():
        if work.edge(side).finish == "fold":
            pen.box(*flap, "right")


def round_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Both seams with right sides together; and turned, seen from above the top edge as a flat tube."""
    pen, operation = StepPen(WIDE, 96.0), moments[0].operation
    assert isinstance(operation, LineRound)
    after = moments[0].after.work(operation.on)
    left, right, top, bottom = 24.0, 96.0, 4.0, 48.0
    pen.fabric(((left - 6, top), (right + 6, top), (right + 6, bottom), (left - 6, bottom)), "right")
    pen.line(((left - 6, top), (left - 6, bottom), (right + 6, bottom), (right + 6, top), (left - 6, top)))
    pen.box(left, top, right, bottom - 9, "layer wrong")
    for x in (left + 5, right - 5):
        pen.line(((x, top), (x, bottom - 9)), "stitch")
    pen.size((right + 12, bottom - 9), (right + 12, bottom), telling.bare(operation.up), aside=4)
    pen.words((left + right) / 2, 22, telling.bare(operation.allowance))
    pen.arrow(((left + right) / 2 - 14, 22), (left + 6, 22))
    pen.arrow(((left + right) / 2 + 14, 22), (right - 6, 22))
    _tube_end(pen, after.edge("left").depth, after.edge("right").depth, telling)
    return pen.drawing()


def _tube_end(pen: StepPen, left_wrap: Fraction, right_wrap: Fraction, telling: Telling) -> None:
    """The tube seen on end: the back up, so that the left edge lies at the right."""
    start, end, low, high = 10.0, 126.0, 88.0, 76.0
    wraps = {"right": 20.0 if right_wrap else 0.0, "left": 20.0 if left_wrap else 0.0}
    pen.line(
        (
            (start + wraps["right"], high),
            (start, high),
            (start, low),
            (end, low),
            (end, high),
            (end - wraps["left"], high),
        )
    )
    pen.line(((start + wraps["right"], high), (end - wraps["left"], high)), "fold")
    for x in (start + wraps["right"], end - wraps["left"]):
        pen.ring((x, high), 1.6, filled=True)
    pen.size((start, high - 6), (start + wraps["right"], high - 6), "")
    pen.words(start + wraps["right"] / 2, high - 13, telling.bare(right_wrap))
    pen.size((end - wraps["left"], high - 6), (end, high - 6), "")
    pen.words(end - wraps["left"] / 2, high - 13, telling.bare(left_wrap))
    pen.words((start + end) / 2, high - 8, "lining")
    pen.words((start + end) / 2, low, "face")
