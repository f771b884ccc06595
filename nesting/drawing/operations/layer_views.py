"""Facings, linings, interlinings and bands, drawn on the panel they belong to."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from nesting.drawing.operations.edge_views import WIDE
from nesting.drawing.operations.pen import StepPen
from nesting.drawing.operations.spread import inset, shown
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling
from nesting.sewing import FaceTop, LayOn, LineRound, Moment, Work
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
    """The layer in its place, with how far its edges lie from those of the panel."""
    pen, operation = StepPen(WIDE, 100.0), moments[0].operation
    assert isinstance(operation, LayOn)
    work, layer = moments[0].before.work(operation.on), moments[0].before.work(operation.layer)
    left, top, right, bottom = 24.0, 6.0, 92.0, 80.0
    pen.box(left, top, right, bottom, "wrong" if operation.face == "back" else "right")
    below = work.length - operation.up - layer.length
    inside, beyond = operation.inside, work.width - operation.inside - layer.width
    inside, beyond = (inside, beyond) if operation.side == "left" else (beyond, inside)
    up, down = (shown(each, 18.0) if abs(each) > 2 else 0.0 for each in (operation.up, below))
    ends = (inside, beyond) if operation.face == "front" else (beyond, inside)
    one, other = (shown(each, 16.0) if abs(each) > 2 else 0.0 for each in ends)
    narrow, short = layer.width * 3 < work.width, layer.length * 3 < work.length
    if narrow:
        one, other = (one, 50.0) if ends[0] < ends[1] else (50.0, other)
    if short:
        up, down = (up, 50.0) if operation.up < below else (50.0, down)
    _flaps(pen, work, (left, top, right, bottom), operation)
    pen.box(left + one, top + down, right - other, bottom - up, "layer")
    if operation.tucked:
        for x, way in ((left, 1.0), (right, -1.0)):
            pen.box(min(x, x + way * 11), top, max(x, x + way * 11), bottom, "right")
    for edge, size, high, low in (
        ("bottom", operation.up, bottom - up, bottom), ("top", below, top, top + down)
    ):  # fmt: skip
        if abs(size) > 2 and (edge == "bottom" or not short):
            pen.size((right + 6, high), (right + 6, low), telling.bare(abs(size)), aside=4)
    for size, wide, start in ((ends[0], one, left), (ends[1], other, right - other)):
        if abs(size) > 2 and not operation.tucked and wide < 50.0:
            pen.size((start, bottom + 5), (start + wide, bottom + 5), "")
            pen.words(start + wide / 2, bottom + 12, telling.bare(abs(size)))
    if not short:
        pen.gap((left - 1, 44), (right + 1, 44))
    return pen.drawing()


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
