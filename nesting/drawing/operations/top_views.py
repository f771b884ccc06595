"""What carries a panel and draws it in, drawn: marks, tabs, loops, rings, hooks, pockets, pleats, tapes."""

from __future__ import annotations

from collections.abc import Sequence
from fractions import Fraction

from nesting.drawing.operations.edge_views import WIDE
from nesting.drawing.operations.pen import Seen, StepPen
from nesting.drawing.operations.spread import inset
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling
from nesting.sewing import Attach, DrawUp, Insert, Moment, PleatUp, SetAlong, Stitch

_LEFT, _RIGHT, _GAP = 6.0, 130.0, 90.0


def _strip(pen: StepPen, top: float, bottom: float, seen: Seen) -> None:
    """The upper part of a work; a stretch is left out of its middle."""
    pen.fabric(((_LEFT, top), (_RIGHT, top), (_RIGHT, bottom), (_LEFT, bottom)), seen)
    pen.line(((_LEFT, bottom), (_LEFT, top), (_RIGHT, top), (_RIGHT, bottom)))
    pen.torn((_LEFT, bottom), (_RIGHT, bottom))


def _shown(
    starts: Sequence[Fraction], ends: Sequence[Fraction], width: Fraction
) -> list[tuple[int, float, float]]:
    """Which marks are shown, and where on paper: the first two and the last."""
    if not starts:
        return []
    last = len(starts) - 1
    near = [0, 1] if last > 1 else [0]
    reach = max(ends[near[-1]], Fraction(1))
    room = _GAP - 14 - _LEFT if last > 1 else 46.0
    scale = room / float(reach)
    shown = [(at, _LEFT + float(starts[at]) * scale, _LEFT + float(ends[at]) * scale) for at in near]
    if last:
        far = width - starts[last]
        scale = min(scale, 34.0 / float(far)) if far else scale
        shown.append((last, _RIGHT - float(far) * scale, _RIGHT - float(width - ends[last]) * scale))
    return shown


def marks_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Where marks lie, each from the left edge."""
    pen, operation = StepPen(WIDE, 54.0), moments[0].operation
    starts, ends, width = _marks(moments[0])
    on = getattr(operation, "on")  # noqa: B009
    folded = moments[0].before.work(on).edge("top").finish == "fold"
    _strip(pen, 26.0, 48.0, "right")
    if folded:
        pen.line(((_LEFT, 27.5), (_RIGHT, 27.5)), "thin")
    shown = _shown(starts, ends, width)
    for number, (at, left, right) in enumerate(shown):
        for x in dict.fromkeys((left, right)):
            pen.line(((x, 22), (x, 38)))
        if isinstance(operation, PleatUp):
            # Both lines of the first pleat and of the last, the first one of the second.
            _place(pen, left, 15.0 if number == 2 else 6.0, telling.bare(starts[at]))
            if number != 1:
                _place(pen, right, 6.0 if number == 2 else 15.0, telling.bare(ends[at]))
        else:
            _place(pen, left, 6.0 if number % 2 == 0 else 15.0, telling.bare(starts[at]))
    if len(shown) > 2:
        pen.gap((_GAP, 24), (_GAP, 50))
    return pen.drawing()


def _place(pen: StepPen, x: float, y: float, text: str) -> None:
    pen.line(((_LEFT, y + 5), (x, y + 5)), "thin")
    pen.line(((x, y + 3), (x, 24)), "thin")
    pen.words(x, y, text)


def _marks(moment: Moment) -> tuple[Sequence[Fraction], Sequence[Fraction], Fraction]:
    """Left and right end of each mark of an operation, and the width of its work."""
    operation, before = moment.operation, moment.before
    if isinstance(operation, Insert):
        wide, at = before.work(operation.tabs).width, operation.at
    elif isinstance(operation, Attach):
        wide, at = before.work(operation.loops).width, operation.at
    elif isinstance(operation, PleatUp):
        starts, ends = [one for one, _ in operation.lines], [other for _, other in operation.lines]
        return starts, ends, before.work(operation.on).width
    else:
        assert isinstance(operation, SetAlong)
        wide, at = Fraction(0), operation.at
    return at, [start + wide for start in at], before.work(operation.on).width


def insert_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Tabs folded in half hang down from the raw upper edge, on the right side."""
    pen = StepPen(WIDE, 66.0)
    starts, ends, width = _marks(moments[0])
    _strip(pen, 16.0, 60.0, "right")
    shown = _shown(starts, ends, width)
    for at, left, right in shown:
        pen.box(left, 16, right, 48, "layer")
        pen.line(((left, 46), (right, 46)), "thin")
        pen.line(((left, 19), (right, 19)), "stitch")
        pen.words(left, 7, telling.bare(starts[at]), at="left" if left < 20 else "center")
    if len(shown) > 2:
        pen.gap((_GAP, 14), (_GAP, 62))
    return pen.drawing()


def attach_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Loops flat on the facing's right side, stitched at both ends; how far their ends lie below its edge."""
    pen, operation = StepPen(WIDE, 70.0), moments[0].operation
    assert isinstance(operation, Attach)
    starts, ends, width = _marks(moments[0])
    work = moments[0].before.work(operation.on)
    top, bottom = 16.0, 64.0
    pen.box(_LEFT, top, _RIGHT, bottom, "layer")
    upper, lower = (inset(one, work.length, bottom - top, 4.0) for one in (operation.upper, operation.lower))
    shown = _shown(starts, ends, width)
    for at, left, right in shown:
        pen.box(left, top + upper, right, top + lower, "right")
        for y in (top + upper + 2, top + lower - 2):
            pen.line(((left, y), (right, y)), "stitch")
        pen.words(left, 7, telling.bare(starts[at]), at="left" if left < 20 else "center")
    if len(shown) > 2:
        pen.gap((_GAP, top - 2), (_GAP, bottom + 2))
    between = (shown[0][2] + shown[1][1]) / 2 if len(shown) > 1 else 60.0
    pen.size((between - 6, top), (between - 6, top + upper), "")
    pen.words(between + 1, top + upper / 2, telling.bare(operation.upper), at="left")
    pen.size((between - 2, top), (between - 2, top + lower), "")
    pen.words(between + 1, top + lower - 6, telling.bare(operation.lower), at="left")
    return pen.drawing()


def set_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Rings through the folded top, hooks behind it, or clips on its edge."""
    pen, operation = StepPen(WIDE, 70.0), moments[0].operation
    assert isinstance(operation, SetAlong)
    work, top, bottom = moments[0].before.work(operation.on), 27.0, 64.0
    starts, ends, width = _marks(moments[0])
    depth = work.edge("top").depth or max(operation.down, Fraction(1))
    if work.drawn is not None and not work.pleats:
        # The tape reaches below the edge that it covers.
        depth = max(depth * 2, operation.down + depth)
    _strip(pen, top, bottom, "right" if operation.what == "ring" else "wrong")
    flap = 28.0
    taped = work.drawn is not None and not work.pleats
    if work.edge("top").finish in ("fold", "seam") and operation.what != "ring":
        pen.box(_LEFT, top, _RIGHT, top + flap, "tape" if taped else "right")
    shown = _shown(starts, ends, width)
    down = inset(operation.down, depth, flap, 3.0) if operation.down else 0.0
    for at, x, _ in shown:
        if operation.what == "ring":
            radius = max(4.0, inset(operation.size, depth, flap) / 2)
            x = min(max(x, _LEFT + radius + 4), _RIGHT - radius - 4)
            pen.ring((x, top + down + radius), radius + 2.2)
            pen.ring((x, top + down + radius), radius)
        elif operation.what == "hook":
            x = min(max(x, _LEFT + 4), _RIGHT - 4)
            pen.line(((x, top + flap - 4), (x, top + down), (x + 3, top + down), (x + 3, top + down + 7)))
        else:
            x = min(max(x, _LEFT + 4), _RIGHT - 4)
            pen.ring((x, top - 8), 4.0)
            pen.box(x - 3, top - 4, x + 3, top + 6, "paper")
        if work.drawn is None:
            pen.words(x, 6, telling.bare(starts[at]))
    if len(shown) > 2:
        pen.gap((_GAP, top - 2), (_GAP, bottom + 2))
    if operation.down:
        x = (shown[0][1] + shown[1][1]) / 2 + 4 if len(shown) > 1 else 60.0
        pen.size((x, top), (x, top + down), telling.bare(operation.down), aside=4)
    return pen.drawing()


def stitch_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Rows through the folded top, seen from the back, and the pocket between them."""
    pen, operation = StepPen(WIDE, 76.0), moments[0].operation
    assert isinstance(operation, Stitch)
    after, top, deep = moments[0].after.work(operation.on), 8.0, 44.0
    left, right, bottom = 34.0, 98.0, 70.0
    pen.fabric(((left, top), (right, top), (right, bottom), (left, bottom)), "wrong")
    pen.line(((left, bottom), (left, top), (right, top), (right, bottom)))
    pen.torn((left, bottom), (right, bottom))
    pen.box(left, top, right, top + deep, "right")
    depth = after.edge("top").depth
    rows = [inset(row, depth, deep - 3, 6.0) for row in operation.below]
    for number, (row, size) in enumerate(zip(rows, operation.below, strict=True)):
        pen.line(((left, top + row), (right, top + row)), "stitch")
        x = right + 5 + 0 * number
        pen.size((x, top), (x, top + row), "")
        pen.words(x + 4, top + row - 4, telling.bare(size), at="left")
    upper, lower = (0.0, *rows)[-2:]
    pocket = after.carriers[-1].length
    pen.size((left - 5, top + upper), (left - 5, top + lower), telling.bare(pocket), aside=-4)
    return pen.drawing()


def pleat_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The two lines of a pleat and where they are brought; and the pleat in three folds, seen from above."""
    pen, operation = StepPen(WIDE, 92.0), moments[0].operation
    assert isinstance(operation, PleatUp)
    work, made = moments[0].before.work(operation.on), moments[0].after.work(operation.on)
    if not operation.lines:
        _strip(pen, 20, 60, "right")
        return pen.drawing()
    top, bottom = 22.0, 50.0
    pen.fabric(((_LEFT, top), (_RIGHT, top), (_RIGHT, bottom), (_LEFT, bottom)), "wrong")
    pen.line(((_LEFT, top), (_RIGHT, top)))
    pen.torn((_LEFT, bottom), (_RIGHT, bottom))
    pen.line(((_LEFT, top + 18), (_RIGHT, top + 18)), "thin")
    start, end = operation.lines[0]
    one, other = 34.0, 102.0
    for x in (one, other):
        pen.line(((x, top), (x, top + 18)), "chalk")
    pen.arrow((one + 2, top + 9), ((one + other) / 2 - 2, top + 9))
    pen.arrow((other - 2, top + 9), ((one + other) / 2 + 2, top + 9))
    pen.size((one, top - 5), (other, top - 5), "")
    pen.words((one + other) / 2, top - 12, telling.bare(end - start))
    pen.size((other + 6, top), (other + 6, top + 18), telling.bare(work.edge("top").depth), aside=4)
    base = 84.0
    pen.line(((_LEFT, base), (62, base)))
    pen.line(((70, base), (_RIGHT, base)))
    for lean in (-16.0, 0.0, 16.0):
        near = 62.0 + (lean + 16) / 32 * 8
        pen.line(((near - 1, base), (66 + lean - 3, base - 20), (66 + lean + 3, base - 20), (near + 1, base)))
    pen.line(((62, base), (70, base)), "stitch")
    if made.drawn is not None:
        pen.words(112, base - 8, f"{telling.bare(made.drawn)} in all")
    return pen.drawing()


def draw_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """The tape over the raw edge, its cords drawn out at one end; and how wide the panel is then."""
    pen, operation = StepPen(WIDE, 84.0), moments[0].operation
    assert isinstance(operation, DrawUp)
    made, top, deep = moments[0].after.work(operation.on), 6.0, 26.0
    left, right, bottom = 22.0, 104.0, 62.0
    pen.fabric(((left, top), (right, top), (right, bottom), (left, bottom)), "wrong")
    pen.line(((left, bottom), (left, top), (right, top), (right, bottom)))
    pen.torn((left, bottom), (right, bottom))
    pen.box(left, top, right, top + deep, "tape")
    for y in (top + 2, top + deep - 2):
        pen.line(((left, y), (right, y)), "stitch")
    for y in (top + 9, top + 17):
        pen.line(((left - 16, y), (right, y)))
    pen.arrow((left - 6, top + 13), (left - 18, top + 13))
    for x in range(int(left) + 8, int(right), 9):
        pen.line(((x, top + deep + 2), (x - 1, bottom - 6)), "thin")
    pen.size((right + 5, top), (right + 5, top + deep), telling.bare(operation.tape), aside=4)
    width = made.width if made.drawn is None else made.drawn
    pen.size((left, bottom + 6), (right, bottom + 6), "")
    pen.words((left + right) / 2, bottom + 14, f"{telling.bare(width)} wide")
    return pen.drawing()
