"""Pieces that are washed, laid out, joined and sewn to tubes, drawn."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from nesting.drawing.operations.edge_views import WIDE
from nesting.drawing.operations.pen import StepPen
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling
from nesting.sewing import Join, LayOut, Moment, SewTube, Wash

#: A wash takes a few parts in a hundred; on paper a tenth, so that it can be seen.
_SHOWN: Final = 0.1


def wash_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The piece as it was cut, and inside it as it comes out of the wash, with its size."""
    pen, moment = StepPen(WIDE, 84.0), moments[0]
    assert isinstance(moment.operation, Wash)
    washed = next(work for work in moment.after if work.fabric == moment.operation.fabric)
    before = moment.before.work(washed.name)
    left, top, right, bottom = 34.0, 4.0, 104.0, 66.0
    across, along = (right - left) * _SHOWN, (bottom - top) * _SHOWN * 1.4
    if washed.width == before.width:
        across = 0.0
    if washed.length == before.length:
        along = 0.0
    pen.line(((left, top), (right, top), (right, bottom), (left, bottom), (left, top)), "fold")
    pen.box(left + across, top + along, right - across, bottom - along, "right")
    for x, to in ((left - 10, left + across - 1), (right + 10, right - across + 1)):
        pen.arrow((x, bottom - 14), (to, bottom - 14))
    pen.size((left + across, bottom + 6), (right - across, bottom + 6), "")
    pen.words((left + right) / 2, bottom + 12, f"{telling.bare(washed.width)}")
    pen.words((left + right) / 2, (top + bottom) / 2, f"{telling.bare(washed.length)} long")
    return pen.drawing()


def lay_out_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """A piece lying right side up, its top away."""
    pen = StepPen(WIDE, 60.0)
    assert isinstance(moments[0].operation, LayOut)
    pen.box(38, 4, 98, 56, "right")
    pen.arrow((68, 40), (68, 22))
    pen.words(68, 14, "TOP")
    pen.words(68, 48, telling.name(moments[0].operation.piece))
    return pen.drawing()


def join_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Two pieces right sides together with their seam; and opened flat, where the seams lie then.

    What turns its right side to the window lies wrong side up, as its pieces are told.
    """
    pen, operation = StepPen(WIDE, 84.0), moments[0].operation
    assert isinstance(operation, Join)
    joined = moments[0].after.work(operation.into)
    top, bottom, right = 14.0, 64.0, 52.0
    pen.box(4, top - 6, right, bottom, "right")
    pen.box(14, top, right, bottom, "wrong")
    pen.line(((right - 9, top), (right - 9, bottom)), "stitch")
    pen.size((right - 9, bottom + 5), (right, bottom + 5), "")
    pen.words(right - 4, bottom + 12, telling.bare(operation.allowance))
    down = telling.manner(joined).kind == "pile" and any(one.nap == "down" for one in joined.strips)
    start, end = (bottom - 8, top + 10) if not down else (top + 10, bottom - 8)
    pen.arrow((right - 15, start), (right - 15, end))
    pen.arrow((57, 39), (65, 39))
    left, far = 70.0, 133.0
    pen.box(left, top, far, bottom, "wrong" if telling.wrong_side_up(operation.into) else "right")
    scale = (far - left) / float(joined.width)
    for seam in joined.seams:
        pen.line(((left + float(seam.at) * scale, top), (left + float(seam.at) * scale, bottom)))
    first = left + float(joined.seams[0].at) * scale
    pen.size((left, top - 4), (first, top - 4), "")
    pen.words((left + first) / 2, top - 9, telling.bare(joined.seams[0].at))
    pen.size((left, bottom + 5), (far, bottom + 5), "")
    pen.words((left + far) / 2, bottom + 12, telling.bare(joined.width))
    return pen.drawing()


def tube_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The strip folded wrong side out with its seam; and turned, its seam at the middle of the back."""
    pen, operation = StepPen(WIDE, 76.0), moments[0].operation
    assert isinstance(operation, SewTube)
    made = moments[0].after.work(operation.on)
    wide = made.width if operation.halved == "width" else made.length
    top, bottom = 6.0, 58.0
    both = max(12.0, 34.0 * float(wide / (wide + operation.allowance)))
    seam = max(7.0, 34.0 - both)
    fold, raw = 14.0, 14.0 + both + seam
    pen.box(fold + 3, top - 3, raw + 2, bottom - 3, "right")
    pen.box(fold, top, raw, bottom, "wrong")
    pen.line(((raw - seam, top), (raw - seam, bottom)), "stitch")
    pen.size((raw - seam, bottom + 5), (raw, bottom + 5), "")
    pen.words(raw - seam / 2, bottom + 12, telling.bare(operation.allowance))
    pen.words(fold + 1, bottom + 12, "fold")
    pen.arrow((62, 32), (74, 32))
    left = 84.0
    pen.box(left, top, left + both, bottom, "right")
    pen.line(((left + both / 2, top), (left + both / 2, bottom)), "fold")
    pen.size((left, bottom + 5), (left + both, bottom + 5), "")
    pen.words(left + both / 2, bottom + 12, f"{telling.bare(wide)} wide")
    return pen.drawing()
