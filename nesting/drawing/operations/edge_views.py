"""What is done along an edge, drawn: trimmed, overcast, chalked, folded, sewn. The wrong side lies up."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Final

from nesting.drawing.operations.pen import Spot, StepPen, stacked
from nesting.drawing.operations.spread import shown, spread
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling
from nesting.instructions.edges_told import can_be_cut, caught_later
from nesting.sewing import Chalk, Fold, Moment, Overcast, Sew, Trim, Work
from nesting.sewing.work import SIDES, Side

#: All pictures are so wide, in points: about 48 mm.
WIDE: Final = 136.0
_LEVEL: Final[tuple[Side, ...]] = ("top", "bottom")


def fold_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Before: the fold lines and which way it is turned; after: what lies at the back then."""
    folds = dict[Side, Fold]()
    for moment in moments:
        fold = moment.operation
        if isinstance(fold, Fold):
            later = caught_later(fold, moment.before.work(fold.on))
            folds[fold.edge] = replace(fold, held="pressed") if later else fold
    level: dict[Side, Fold] = {edge: one for edge, one in folds.items() if edge in _LEVEL}
    work = moments[-1].after.work(next(iter(folds.values())).on)
    upright = {edge: one for edge, one in folds.items() if edge not in _LEVEL}
    if len(folds) == len(SIDES) and all(len(one.turns) == 1 for one in folds.values()):
        return _turned_in(folds, telling)
    parts = [_upright_folds(upright, work, telling)] if upright else []
    parts += [_level_folds(level, telling)] if level else []
    return stacked(parts)


def _turned_in(folds: Mapping[Side, Fold], telling: Telling) -> Drawing:
    """All four edges turned in: how deep each, and the strip then."""
    pen, top, bottom = StepPen(WIDE, 88.0), 16.0, 72.0
    for left, right, done in ((4.0, 52.0, False), (84.0, 122.0, True)):
        deep = {edge: shown(one.turns[0], 9.0) for edge, one in folds.items()}
        high, low = (top, bottom) if not done else (top + 5, bottom - 5)
        pen.box(left, high, right, low, "right" if done else "wrong")
        inside = (left + deep["right"], high + deep["top"], right - deep["left"], low - deep["bottom"])
        if done:
            pen.box(*inside, "wrong")
            continue
        corners = _box(*inside)
        pen.line((*corners, corners[0]), "fold")
        x, y = (left + right) / 2, (top + bottom) / 2
        pen.arrow((x, top + 1), (x, top + 2 * deep["top"]))
        pen.arrow((x, bottom - 1), (x, bottom - 2 * deep["bottom"]))
        pen.arrow((left + 1, y), (left + 2 * deep["right"], y))
        pen.arrow((right - 1, y), (right - 2 * deep["left"], y))
        say = telling.bare
        pen.words(x, top - 8, say(folds["top"].turns[0]))
        pen.words(x, bottom + 8, say(folds["bottom"].turns[0]))
        pen.words(right + 3, y, say(folds["left"].turns[0]), at="left")
        if folds["right"].turns != folds["left"].turns:
            pen.words(left + 12, y + 12, say(folds["right"].turns[0]), at="left")
    pen.arrow((70, 44), (80, 44))
    return pen.drawing()


def _level_folds(folds: Mapping[Side, Fold], telling: Telling) -> Drawing:
    pen, high = StepPen(WIDE, 78.0), (4.0, 74.0)
    most = 42.0 if len(folds) == 1 else 22.0
    for left, right, done in ((2.0, 38.0, False), (80.0, 104.0, True)):
        pen.fabric(_box(left, high[0], right, high[1]), "wrong")
        pen.line(((left, high[0]), (left, high[1])))
        pen.line(((right, high[0]), (right, high[1])))
        for edge in _LEVEL:
            end = high[0] if edge == "top" else high[1]
            fold = folds.get(edge)
            if fold is None:
                pen.torn((left, end), (right, end))
                continue
            pen.line(((left, end), (right, end)))
            way = 1.0 if edge == "top" else -1.0
            room = min(most, 2 * sum(shown(turn, 14.0) for turn in fold.turns))
            deep = spread(fold.turns, room, 7.0)
            (_level_done if done else _level_to_do)(pen, (left, right, end, way), fold, deep, telling)
        if len(folds) > 1:
            pen.gap((left - 1, 39), (right + 1, 39))
    pen.arrow((67, 39), (77, 39))
    return pen.drawing()


def _level_to_do(
    pen: StepPen, place: tuple[float, float, float, float], fold: Fold, deep: list[float], telling: Telling
) -> None:
    left, right, end, way = place
    if fold.over:
        start = end + way * sum(deep[:-1])
        pen.box(left + 1, start, right - 1, start + way * deep[-1], "tape")
    at = end
    for number, (turn, size) in enumerate(zip(deep, fold.turns, strict=True)):
        pen.line(((left, at + way * turn), (right, at + way * turn)), "fold")
        x = left + (right - left) * (0.28 + 0.4 * number)
        pen.arrow((x, at + way * 1.0), (x, at + way * (2 * turn - 1.0)), -way * 5.0)
        pen.size((right + 5, at), (right + 5, at + way * turn), telling.bare(size), aside=5.0)
        at += way * turn


def _level_done(
    pen: StepPen, place: tuple[float, float, float, float], fold: Fold, deep: list[float], telling: Telling
) -> None:
    left, right, end, way = place
    flap = end + way * deep[-1]
    pen.box(left, min(end, flap), right, max(end, flap), "right")
    held(pen, (left + 1, flap - way * 2.5), (right - 1, flap - way * 2.5), fold.held)
    pen.size((right + 5, end), (right + 5, flap), telling.bare(fold.turns[-1]), aside=4.0)


def held(pen: StepPen, start: Spot, end: Spot, how: str) -> None:
    """What holds a fold: a row of stitches, of long basting stitches, or pins."""
    if how == "sewn":
        pen.line((start, end), "stitch")
    elif how == "basted":
        pen.line((start, end), "fold")
    elif how == "pinned":
        level = abs(end[0] - start[0]) > abs(end[1] - start[1])
        for part in (0.25, 0.75):
            x, y = start[0] + (end[0] - start[0]) * part, start[1] + (end[1] - start[1]) * part
            reach = (0.0, 5.0) if level else (5.0, 0.0)
            pen.line(((x - reach[0], y - reach[1]), (x + reach[0], y + reach[1])), "edge")
            pen.ring((x - reach[0], y - reach[1]), 1.2, filled=True)


def _upright_folds(folds: Mapping[Side, Fold], work: Work, telling: Telling) -> Drawing:
    """Seen from the back, so that the left edge lies at the right."""
    pen = StepPen(WIDE, 84.0)
    for top, bottom, done in ((14.0, 38.0, False), (58.0, 82.0, True)):
        pen.fabric(_box(4, top, 132, bottom), "wrong")
        for y in (top, bottom):
            pen.line(((4, y), (132, y)))
        sides: tuple[tuple[Side, float, float], ...] = (("right", 4.0, 1.0), ("left", 132.0, -1.0))
        for edge, end, way in sides:
            fold = folds.get(edge)
            if fold is None:
                pen.torn((end, top), (end, bottom))
                continue
            pen.line(((end, top), (end, bottom)))
            deep = spread(fold.turns, 2 * sum(shown(turn, 9.0) for turn in fold.turns), 7.0)
            (_upright_done if done else _upright_to_do)(pen, (top, bottom, end, way), fold, deep, telling)
            if len(folds) == 1 and not done:
                pen.words(68, 26, f"{edge} edge")
        pen.gap((68, top - 1), (68, bottom + 1)) if len(folds) > 1 or done else None
    pen.size((4, 52), (132, 52), f"{telling.bare(work.width)} across") if len(folds) > 1 else None
    return pen.drawing()


def _upright_to_do(
    pen: StepPen, place: tuple[float, float, float, float], fold: Fold, deep: list[float], telling: Telling
) -> None:
    top, bottom, end, way = place
    at = end
    for number, turn in enumerate(deep):
        pen.line(((at + way * turn, top), (at + way * turn, bottom)), "fold")
        y = top + (bottom - top) * (0.35 + 0.35 * number)
        pen.arrow((at + way * 1.0, y), (at + way * (2 * turn - 1.0), y), way * 3.0)
        at += way * turn
    label = " + ".join(telling.bare(size) for size in fold.turns)
    pen.size((end, top - 4), (at, top - 4), "")
    pen.words(end, top - 9, label, at="left" if way > 0 else "right")


def _upright_done(
    pen: StepPen, place: tuple[float, float, float, float], fold: Fold, deep: list[float], telling: Telling
) -> None:
    top, bottom, end, way = place
    flap = end + way * deep[-1]
    pen.box(min(end, flap), top, max(end, flap), bottom, "right")
    held(pen, (flap - way * 2.5, top + 1), (flap - way * 2.5, bottom - 1), fold.held)
    pen.words(
        flap + way * 3, (top + bottom) / 2, telling.bare(fold.turns[-1]), at="left" if way > 0 else "right"
    )


def lines_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """A work with all lines that are chalked on it, and what is cut off it before."""
    trims = {m.operation.edge: m.operation.off for m in moments if isinstance(m.operation, Trim)}
    lines = {m.operation.edge: m.operation.inward for m in moments if isinstance(m.operation, Chalk)}
    work = moments[-1].after.work(moments[-1].operation.on)  # type: ignore[attr-defined]
    # One end alone is drawn without the other.
    alone = len({*trims, *lines}) == 1 and next(iter((*trims, *lines))) == "top"
    pen = StepPen(WIDE, 62.0 if alone else 100.0)
    left, top, right, bottom = 38.0, 18.0, 104.0, 58.0 if alone else 84.0
    pen.fabric(_box(left, top, right, bottom), "wrong")
    pen.line(((left, bottom), (left, top), (right, top), (right, bottom)))
    if alone:
        pen.torn((left, bottom), (right, bottom))
    else:
        pen.line(((left, bottom), (right, bottom)))
    for edge, off in trims.items():
        if can_be_cut(off):
            _cut_off(pen, (left, top, right, bottom), edge, shown(off, 14.0) + 4, telling.bare(off))
    for edge, inward in lines.items():
        deep = shown(inward, 22.0 if edge in _LEVEL else 14.0)
        _chalked(pen, (left, top, right, bottom), edge, deep if inward else 0.0, telling.bare(inward))
    if "top" in lines and "bottom" in lines:
        high, low = (shown(lines[edge]) if lines[edge] else 0.0 for edge in _LEVEL)
        between = work.length - lines["top"] - lines["bottom"]
        pen.size((left - 8, top + high), (left - 8, bottom - low), "")
        pen.words(left - 10, (top + bottom) / 2 - 8, telling.bare(between), at="right")
    if not alone:
        pen.gap((left - 1, (top + bottom) / 2), (right + 1, (top + bottom) / 2))
    return pen.drawing()


def _cut_off(
    pen: StepPen, panel: tuple[float, float, float, float], edge: Side, deep: float, off: str
) -> None:
    left, top, right, bottom = panel
    strip = {
        "top": (left, top - deep, right, top),
        "bottom": (left, bottom, right, bottom + deep),
        "left": (right, top, right + deep, bottom),
        "right": (left - deep, top, left, bottom),
    }[edge]
    corners = _box(*strip)
    pen.line((*corners, corners[0]), "thin")
    pen.line((corners[0], corners[2]), "thin")
    pen.line((corners[1], corners[3]), "thin")
    pen.words((strip[0] + strip[2]) / 2, (strip[1] + strip[3]) / 2, "cut off") if edge in _LEVEL else None
    if edge in _LEVEL:
        pen.size((right + 6, strip[1]), (right + 6, strip[3]), "")
        pen.words(right + 10, strip[1] + 1 if edge == "top" else strip[3] - 1, off, at="left")
    else:
        pen.words((strip[0] + strip[2]) / 2, top + 16, off)


def _chalked(
    pen: StepPen, panel: tuple[float, float, float, float], edge: Side, deep: float, inward: str
) -> None:
    left, top, right, bottom = panel
    if edge in _LEVEL:
        end, way = (top, 1.0) if edge == "top" else (bottom, -1.0)
        pen.line(((left, end + way * deep), (right, end + way * deep)), "chalk")
        if deep:
            pen.size((right + 6, end), (right + 6, end + way * deep), inward, aside=4)
        return
    end, way = (right, -1.0) if edge == "left" else (left, 1.0)
    pen.line(((end + way * deep, top), (end + way * deep, bottom)), "chalk")
    if deep:
        pen.size((end, bottom + 4), (end + way * deep, bottom + 4), "")
        pen.words(end + way * deep / 2, bottom + 11, inward)


def overcast_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """Stitches over the raw edge."""
    pen = StepPen(WIDE, 46.0)
    edges = {m.operation.edge: m for m in moments if isinstance(m.operation, Overcast)}
    side = next(iter(edges))
    if side in _LEVEL:
        end, far = (12.0, 42.0) if side == "top" else (34.0, 4.0)
        pen.fabric(_box(20, min(end, far), 116, max(end, far)), "wrong")
        pen.line(((20, end), (20, far)))
        pen.line(((116, end), (116, far)))
        pen.torn((20, far), (116, far))
        pen.line(((20, end), (116, end)))
        start, finish = (
            ((20.0, end + 2), (116.0, end + 2)) if side == "top" else ((116.0, end - 2), (20.0, end - 2))
        )
        pen.zigzag(start, finish, deep=5.0)
        return pen.drawing()
    pen.fabric(_box(20, 6, 116, 40), "wrong")
    for y in (6.0, 40.0):
        pen.line(((20, y), (116, y)))
    for edge, x in (("right", 20.0), ("left", 116.0)):
        if edge in edges:
            pen.line(((x, 6), (x, 40)))
            spots = ((x + 2, 40.0), (x + 2, 6.0)) if edge == "right" else ((x - 2, 6.0), (x - 2, 40.0))
            pen.zigzag(*spots, deep=5.0)
        else:
            pen.torn((x, 6), (x, 40))
    return pen.drawing()


def sew_view(moments: Sequence[Moment], telling: Telling) -> Drawing:
    """A fold that is sewn now: stitches along its inner edge."""
    pen = StepPen(WIDE, 58.0)
    folds = [m.operation for m in moments if isinstance(m.operation, Sew)]
    depths = {one.edge: moments[0].before.work(one.on).edge(one.edge).depth for one in folds}
    left, top, right, bottom = 16.0, 4.0, 112.0, 50.0
    pen.fabric(_box(left, top, right, bottom), "wrong")
    ends = {
        "top": ((left, top), (right, top)),
        "bottom": ((left, bottom), (right, bottom)),
        "left": ((right, top), (right, bottom)),
        "right": ((left, top), (left, bottom)),
    }
    for edge, end in ends.items():
        if edge in depths or (edge in _LEVEL) != bool(depths.keys() & set(_LEVEL)):
            pen.line(end)
        else:
            pen.torn(*end)
    for edge, depth in depths.items():
        deep = 18.0 if edge in _LEVEL else 12.0
        flap, row = {
            "top": ((left, top, right, top + deep), ((left, top + deep - 2), (right, top + deep - 2))),
            "bottom": (
                (left, bottom - deep, right, bottom),
                ((left, bottom - deep + 2), (right, bottom - deep + 2)),
            ),
            "left": (
                (right - deep, top, right, bottom),
                ((right - deep + 2, top), (right - deep + 2, bottom)),
            ),
            "right": ((left, top, left + deep, bottom), ((left + deep - 2, top), (left + deep - 2, bottom))),
        }[edge]
        pen.box(*flap, "right")
        pen.line(row, "stitch")
        if edge in _LEVEL:
            pen.size((right + 6, flap[1]), (right + 6, flap[3]), telling.bare(depth), aside=4)
    return pen.drawing()


def _box(left: float, top: float, right: float, bottom: float) -> tuple[Spot, Spot, Spot, Spot]:
    return ((left, top), (right, top), (right, bottom), (left, bottom))
