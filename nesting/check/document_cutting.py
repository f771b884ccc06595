"""What a plan document says of cutting, judged from its rectangles alone.

Nothing is taken from the code that makes layouts, figures or sequences: lines are found on a grid of all
edges, offcuts by comparing columns of that grid, and the sequence by cutting along it.
"""

from __future__ import annotations

import itertools
import math
from bisect import bisect_left, bisect_right
from collections import defaultdict
from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

import numpy as np

from nesting.check.document import LaidEntry, LayoutEntry, PlanDocument, TableReader
from nesting.check.violation import Breach, Violation

#: So many pieces near a cut are looked at one by one sooner than in an array.
_FEW: Final = 40

Box = tuple[int, int, int, int]
"""Left, lower, right and upper edge."""


def check_cutting(plan: PlanDocument, document: Mapping[str, Any]) -> Iterator[Violation]:
    """What is wrong with the figures, pulls and sequences that a document gives; it need not give any."""
    order = TableReader(document, "", plan.units).table_or_none("order")
    table = None if order is None else order.table_or_none("table")
    room = None if table is None else table.whole("length")
    wide = None if table is None or table.value("width", None) is None else table.whole("width")
    made = defaultdict[str, int](int)
    for layout, entry in zip(
        plan.layouts, TableReader(document, "", plan.units).tables("layouts"), strict=True
    ):
        if layout.length is None:
            continue
        figures = entry.table_or_none("cutting")
        way = "free" if figures is None else figures.text("way")
        rule = None if layout.certificate is None else layout.certificate.get("rule")
        if rule in ("band weights", "band sums") and way != "across-first":
            yield Violation(Breach.BOUND, "weights of bands", f'cutting "{way}"', at=layout.place)
        if figures is not None:
            yield from _check_figures(layout, figures)
        pulls, lanes = _stretches(entry, "pulls"), _stretches(entry, "lanes")
        if pulls:
            yield from _check_stretches(layout, "pull", pulls, layout.length, room)
            yield from _check_stretches(layout, "lane", lanes, layout.strip.width, wide)
            cuts = [a for a in entry.tables("sequence", ()) if a.text("kind") == "cut"]
            named = any(cut.text_or_none("cut", None) is not None for cut in cuts)
            before = made[layout.fabric] if named else 0
            broken = list(_check_sequence(layout, entry, pulls, lanes, before))
            yield from broken
            if figures is not None and not broken:
                # What a fault of the sequence adds to the counts is told by the fault.
                yield from _check_counts(layout, cuts, figures)
            made[layout.fabric] += len(cuts)


def _boxes(layout: LayoutEntry) -> list[Box]:
    return [(e.x, e.y, e.x + e.width, e.y + e.length) for e in layout.entries]


def _check_figures(layout: LayoutEntry, figures: TableReader) -> Iterator[Violation]:
    boxes, width, length = _boxes(layout), layout.strip.width, layout.length or 0
    if figures.text("way") == "across-first" and not edge_to_edge(boxes):
        yield Violation(
            Breach.CUTTING, "across-first", "no edge-to-edge cuts across, then lengthwise, part all pieces",
            at=layout.place,
        )  # fmt: skip
    lines = lines_on_grid(boxes, width)
    longest = max((end - start for _, _, start, end in lines), default=0)
    stated = (figures.whole("cut_lines"), figures.whole("across"), figures.length_of("longest_cut"))
    bands = len(parts_of(boxes, across=True))
    for what, said, is_ in zip(
        ("cut_lines", "across", "longest_cut"), stated, (len(lines), bands, longest), strict=True
    ):
        if said != is_:
            yield Violation(Breach.CUTTING, f"{what} {said}", f"{is_} counted", abs(said - is_), layout.place)
    for key, at_end in (("offcut", False), ("end_offcut", True)):
        yield from _check_offcut(layout, boxes, key, _box_of(figures.table_or_none(key)), at_end)
    yield from _check_price(layout, figures, length)


def _check_counts(
    layout: LayoutEntry, actions: Sequence[TableReader], figures: TableReader
) -> Iterator[Violation]:
    """The cuts of the sequence add up, and so do the changes of size between what they free.

    Documents of earlier versions count neither.
    """
    by_key = {_key(entry): (entry.width, entry.length) for entry in layout.entries}
    sizes = list[tuple[int, int] | None]()
    for action in actions:
        firsts = [(freed.text("piece"), freed.whole("copy")) for freed in action.tables("frees")][:1]
        sizes += (by_key.get(first) for first in firsts)
    changes = sum(one != two for one, two in itertools.pairwise(sizes))
    made = sum(len(list(action.tables("cuts"))) for action in actions)
    for key, is_ in (("cuts", made), ("size_changes", changes)):
        said = is_ if figures.value(key, None) is None else figures.whole(key)
        if said != is_:
            yield Violation(Breach.CUTTING, f"{key} {said}", f"{is_} counted", abs(said - is_), layout.place)


def _check_price(layout: LayoutEntry, figures: TableReader, length: int) -> Iterator[Violation]:
    """Cutting across first costs what the layout is longer than one cut freely, and never less than none."""
    free = figures.length_or_none("free_length", None)
    if free is None:
        return
    price = figures.length_of("longer_than_free")
    if price != length - free or price < 0:
        yield Violation(
            Breach.CUTTING, f"longer_than_free {price}", f"length {length}, free {free}",
            abs(length - free - price), layout.place,
        )  # fmt: skip


def _box_of(table: TableReader | None) -> Box | None:
    if table is None:
        return None
    x, y = table.length_of("x"), table.length_of("y")
    return x, y, x + table.size("width"), y + table.size("length")


def _check_offcut(
    layout: LayoutEntry, boxes: Sequence[Box], key: str, stated: Box | None, at_end: bool
) -> Iterator[Violation]:
    length = layout.length or 0
    flaws = (f for f in layout.strip.flaws if f.y < length)
    boxes = [*boxes, *((f.x, f.y, f.x + f.width, min(length, f.y + f.length)) for f in flaws)]
    most = largest_room(boxes, layout.strip.width, length, at_end=at_end)
    area = 0
    if stated is not None:
        left, low, right, high = stated
        area = (right - left) * (high - low)
        outside = left < 0 or low < 0 or right > layout.strip.width or high > length
        if outside or (at_end and high != length) or any(_meet(stated, box) for box in boxes):
            yield Violation(Breach.CUTTING, key, "a piece, or the end of the fabric", at=layout.place)
    if area != most:
        yield Violation(Breach.CUTTING, f"{key} of {area}", f"{most}, the largest there is", at=layout.place)


def _meet(one: Box, two: Box) -> bool:
    return one[0] < two[2] and two[0] < one[2] and one[1] < two[3] and two[1] < one[3]


def edge_to_edge(boxes: Sequence[Box], stages: int = 3, *, across: bool = True) -> bool:
    """Whether cuts from edge to edge part all boxes, across and lengthwise in turn, in so many stages.

    Each part of the last stage holds one box, which may then be trimmed.
    """
    if len(boxes) <= 1:
        return True
    if stages == 0:
        return False
    parts = parts_of(boxes, across=across)
    return all(edge_to_edge(part, stages - 1, across=not across) for part in parts)


def parts_of(boxes: Sequence[Box], *, across: bool) -> list[list[Box]]:
    """The boxes between lines that meet none of them: lines across, or lengthwise."""
    side = 1 if across else 0
    parts, reached = list[list[Box]](), None
    for box in sorted(boxes, key=lambda box: box[side]):
        if reached is None or box[side] >= reached:
            parts.append([])
            reached = box[side + 2]
        parts[-1].append(box)
        reached = max(reached, box[side + 2])
    return parts


def lines_on_grid(boxes: Sequence[Box], width: int) -> list[tuple[bool, int, int, int]]:
    """Every line of edges, laid unit by unit on the grid of all edges and read off again."""
    xs, ys = (sorted({box[side] for box in boxes for side in sides}) for sides in ((0, 2), (1, 3)))
    found = list[tuple[bool, int, int, int]]()
    for across, (places, along) in ((True, (ys, xs)), (False, (xs, ys))):
        marked = defaultdict[int, set[int]](set)
        index = {value: at for at, value in enumerate(along)}
        low, high = (0, 2) if across else (1, 3)
        for box in boxes:
            units = range(index[box[low]], index[box[high]])
            for place in (box[1 - low], box[3 - low]):
                marked[place].update(units)
        for place in places:
            if place == 0 or (not across and place == width):
                continue
            units_here = sorted(marked[place])
            for at, unit in enumerate(units_here):
                if at == 0 or units_here[at - 1] != unit - 1:
                    start = along[unit]
                if at == len(units_here) - 1 or units_here[at + 1] != unit + 1:
                    found.append((across, place, start, along[unit + 1]))
    return found


def largest_room(boxes: Sequence[Box], width: int, length: int, *, at_end: bool) -> int:
    """The area of the largest rectangle that no box uses; ``at_end``: of those that reach the end.

    For every two columns of the grid of edges, rows free in all columns between them are told together.
    """
    xs, ys = (np.array(sorted({0, end, *(b[s] for b in boxes for s in sides)}), dtype=np.int64)
              for end, sides in ((width, (0, 2)), (length, (1, 3))))  # fmt: skip
    used = np.zeros((len(xs) - 1, len(ys) - 1), dtype=bool)
    column, row = ({place: at for at, place in enumerate(places.tolist())} for places in (xs, ys))
    for left, low, right, high in boxes:
        used[column[left] : column[right], row[low] : row[high]] = True
    if not at_end and len(xs) > len(ys):
        used, xs, ys = used.T, ys, xs
    best = 0
    for first in range(len(xs) - 1):
        taken = np.zeros(len(ys) - 1, dtype=bool)
        for last in range(first, len(xs) - 1):
            taken = taken | used[last]
            # Where a run of free rows begins: above the last taken one.
            begins = np.maximum.accumulate(np.where(taken, ys[1:], 0))
            runs = np.where(taken, 0, ys[1:] - np.maximum(begins, ys[0]))
            run = int(runs[-1]) if at_end else int(runs.max())
            best = max(best, run * int(xs[last + 1] - xs[first]))
            if taken.all() or (at_end and taken[-1]):
                break
    return best


def _stretches(entry: TableReader, key: str) -> list[tuple[int, int]]:
    return [(item.length_of("start"), item.length_of("end")) for item in entry.tables(key, ())]


def _check_stretches(
    layout: LayoutEntry, called: str, stretches: Sequence[tuple[int, int]], whole: int, room: int | None
) -> Iterator[Violation]:
    """They cover the fabric, none is more than the table holds, and what it can hold lies on it whole."""
    reached = 0
    for number, (start, end) in enumerate(stretches, 1):
        if start > reached or end <= start:
            yield Violation(Breach.PULL, f"{called} {number}", f"fabric up to {reached}", at=layout.place)
        if room is not None and end - start > room:
            yield Violation(Breach.PULL, f"{called} {number}", "the table", end - start - room, layout.place)
        reached = max(reached, end)
    if reached < whole:
        yield Violation(
            Breach.PULL, f"{called} {reached}", f"{whole} to cover", whole - reached, layout.place
        )
    if room is None:
        return
    for entry, (left, low, right, high) in zip(layout.entries, _boxes(layout), strict=True):
        low, high = (low, high) if called == "pull" else (left, right)
        if high - low <= room and not any(start <= low and high <= end for start, end in stretches):
            yield Violation(Breach.PULL, entry.name, f"the fold of a {called}", at=layout.place)


def _check_sequence(
    layout: LayoutEntry,
    entry: TableReader,
    pulls: Sequence[tuple[int, int]],
    lanes: Sequence[tuple[int, int]],
    before: int,
) -> Iterator[Violation]:
    """Checks come first, no cut meets fabric that is still a piece, and every piece is freed once.

    Cuts are counted on from the ``before`` of the same fabric's other lengths.
    """
    bench = _FabricCut(layout, pulls, lanes)
    counts, cutting = {"cut": before}, False
    for action in entry.tables("sequence", ()):
        kind = action.one_of("kind", ("check", "pull", "cut"))
        counts[kind] = counts.get(kind, 0) + 1
        if kind != "pull" and action.whole("number") != counts[kind]:
            yield Violation(
                Breach.SEQUENCE, f"{kind} {action.whole('number')}", f"{kind} {counts[kind]}", at=action.place
            )
        if kind == "check" and cutting:
            yield Violation(Breach.SEQUENCE, "a check", "cuts made before it", at=action.place)
        if kind == "cut":
            cutting = True
            for cut in action.tables("cuts"):
                yield from bench.cut(cut)
            for freed in action.tables("frees"):
                yield from bench.free(freed.text("piece"), freed.whole("copy"), action.place)
    yield from bench.left()


class _FabricCut:
    """The fabric while it is cut."""

    def __init__(
        self, layout: LayoutEntry, pulls: Sequence[tuple[int, int]], lanes: Sequence[tuple[int, int]]
    ) -> None:
        self._layout, self._pulls, self._lanes = layout, pulls, lanes
        self._boxes = _boxes(layout)
        self._table = np.array(self._boxes, dtype=np.int64).reshape(-1, 4)
        self._whole = [True] * len(self._boxes)
        # By where they begin: what a cut may meet begins within the longest piece before its end.
        self._order = sorted(range(len(self._boxes)), key=lambda at: self._boxes[at][1])
        self._begins = [self._boxes[at][1] for at in self._order]
        self._longest = max((box[3] - box[1] for box in self._boxes), default=0)
        self._number = {_key(entry): at for at, entry in enumerate(layout.entries)}
        self._lines = defaultdict[tuple[bool, int], list[tuple[int, int]]](list)

    def cut(self, cut: TableReader) -> Iterator[Violation]:
        """One cut: it meets no piece, and lies where the fabric lies on the table."""
        across = cut.one_of("way", ("across", "lengthwise")) == "across"
        at, start, end = (cut.length_of(key) for key in ("at", "start", "end"))
        side, along = (1, 0) if across else (0, 1)
        low, high = (at, at) if across else (start, end)
        first = bisect_left(self._begins, low - self._longest)
        last = bisect_left(self._begins, max(low, high))
        for number in self._met(self._order[first:last], (side, at), (along, start, end)):
            yield Violation(Breach.SEQUENCE, "a cut", self._layout.entries[number].name, at=cut.place)
        _join(self._lines[across, at], start, end)
        spans = ((at, at), (start, end)) if across else ((start, end), (at, at))
        for key, there, span in zip(("pulls", "lanes"), (self._pulls, self._lanes), spans, strict=True):
            yield from _check_runs(list(cut.tables(key)), there, span, cut.place)

    def _met(self, near: list[int], line: tuple[int, int], span: tuple[int, int, int]) -> list[int]:
        """Of those near, the pieces still whole that a line meets; many are told together."""
        (side, at), (along, start, end) = line, span
        if len(near) > _FEW:
            boxes = self._table[near]
            met = (boxes[:, side] < at) & (at < boxes[:, side + 2])
            met &= (boxes[:, along] < end) & (start < boxes[:, along + 2])
            near = [near[number] for number in np.flatnonzero(met).tolist()]
        boxes_of = self._boxes
        return sorted(
            number
            for number in near
            if self._whole[number]
            and boxes_of[number][side] < at < boxes_of[number][side + 2]
            and boxes_of[number][along] < end
            and start < boxes_of[number][along + 2]
        )

    def free(self, piece: str, copy: int, place: str) -> Iterator[Violation]:
        """A piece is taken off: all its sides are cut."""
        number = self._number.get((piece, copy))
        if number is None or not self._whole[number]:
            yield Violation(Breach.SEQUENCE, f'"{piece}" copy {copy}', "pieces still on the fabric", at=place)
            return
        self._whole[number] = False
        left, low, right, high = self._boxes[number]
        width = self._layout.strip.width
        sides = ((True, low, left, right), (True, high, left, right),
                 (False, left, low, high), (False, right, low, high))  # fmt: skip
        for across, at, start, end in sides:
            edge = at == 0 or (not across and at == width)
            if not edge and not self._covered(across, at, start, end):
                yield Violation(
                    Breach.SEQUENCE, f'"{piece}" copy {copy}', f"fabric still uncut at {at}", at=place
                )

    def _covered(self, across: bool, at: int, start: int, end: int) -> bool:
        lines = self._lines[across, at]
        # Joined where they meet: of the one that begins last before the side, all of it is cut.
        number = bisect_right(lines, (start, math.inf)) - 1
        return number >= 0 and lines[number][1] >= end

    def left(self) -> Iterator[Violation]:
        """Pieces that no step freed."""
        for number in (at for at, whole in enumerate(self._whole) if whole):
            name = self._layout.entries[number].name
            yield Violation(Breach.SEQUENCE, name, "never freed", at=self._layout.place)


def _join(lines: list[tuple[int, int]], start: int, end: int) -> None:
    """Lay a line to others of one place, in order; those that meet become one."""
    if end <= start:
        return
    first = bisect_left(lines, start, key=lambda line: line[1])
    last = bisect_right(lines, end, key=lambda line: line[0])
    met = lines[first:last]
    if not met:
        lines.insert(first, (start, end))
        return
    lines[first:last] = [(min([start, *(low for low, _ in met)]), max([end, *(high for _, high in met)]))]


def _key(entry: LaidEntry) -> tuple[str, int]:
    return entry.piece.id, entry.copy


def _check_runs(
    runs: Sequence[TableReader], there: Sequence[tuple[int, int]], span: tuple[int, int], place: str
) -> Iterator[Violation]:
    """A cut's runs follow on each other and lie each in its pull or lane."""
    at = span[0]
    for run in runs:
        number, start, end = run.whole("number"), run.length_of("start"), run.length_of("end")
        inside = 1 <= number <= len(there) and there[number - 1][0] <= start <= end <= there[number - 1][1]
        if not inside or start != at:
            yield Violation(Breach.PULL, f"run {start} to {end}", f"stretch {number}", at=place)
        at = end
    if at != span[1]:
        yield Violation(Breach.PULL, f"runs up to {at}", f"a cut up to {span[1]}", at=place)
