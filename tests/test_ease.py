"""The figures by which layouts are told apart: worked out by hand, and against every rectangle there is."""

from __future__ import annotations

import itertools
import random

import pytest

from nesting.check.document_cutting import edge_to_edge, largest_room, lines_on_grid, parts_of
from nesting.packing.ease import Rectangle, cut_lines, ease_of
from tests.seeds import seeds


def test_a_layout_worked_out_by_hand() -> None:
    # Strip 10 wide, length 12. A 6 x 8 at the left, B 4 x 8 beside it, C 3 x 4 beyond A at the left.
    # Lines: y = 8 from 0 to 10 (tops of A and B, bottom of C: one line), y = 12 from 0 to 3, x = 6 from 0 to
    # 8 (A and B share it), x = 3 from 8 to 12. Four lines, the longest 10. Straight cuts at 8 and 12. Free is
    # 7 x 4 right of C, which reaches the end.
    boxes = [(0, 0, 6, 8), (6, 0, 10, 8), (0, 8, 3, 12)]
    ease = ease_of(boxes, 10, 12)
    assert (ease.cut_lines, ease.across, ease.longest) == (4, 2, 10)
    assert ease.offcut == ease.end_offcut == (3, 8, 10, 12)


def test_equal_pieces_side_by_side_take_fewer_lines() -> None:
    # Two 5 x 4 and two 5 x 3 on a strip of 10. Equal ones side by side: y = 4, y = 7, x = 5: 3 lines.
    # Crosswise (4 then 3, 3 then 4): x = 5 and y = 7 in one line each, y = 4 and y = 3 over half: 4.
    alike = [(0, 0, 5, 4), (5, 0, 10, 4), (0, 4, 5, 7), (5, 4, 10, 7)]
    crossed = [(0, 0, 5, 4), (0, 4, 5, 7), (5, 0, 10, 3), (5, 3, 10, 7)]
    assert ease_of(alike, 10, 7).cut_lines == 3
    assert ease_of(crossed, 10, 7).cut_lines == 4


def test_an_offcut_at_the_end_is_told_from_others() -> None:
    # One piece 4 x 5 and one 10 x 5 on a strip of 10: whichever comes first, lines are the same number; the
    # free 6 x 5 hangs on the bolt only where the narrow piece comes last.
    last, first = [(0, 0, 10, 5), (0, 5, 4, 10)], [(0, 0, 4, 5), (0, 5, 10, 10)]
    assert ease_of(last, 10, 10).end_offcut == (4, 5, 10, 10)
    assert ease_of(first, 10, 10).end_offcut is None


def random_boxes(seed: int) -> tuple[list[Rectangle], int]:
    chance = random.Random(seed)
    width, boxes = chance.randint(2, 7), list[Rectangle]()
    for _ in range(9):
        x, y = chance.randrange(width), chance.randrange(7)
        box = (x, y, min(width, x + chance.randint(1, 3)), y + chance.randint(1, 3))
        if all(box[0] >= b[2] or b[0] >= box[2] or box[1] >= b[3] or b[1] >= box[3] for b in boxes):
            boxes.append(box)
    return boxes, width


def every_room(boxes: list[Rectangle], width: int, length: int, *, at_end: bool) -> int:
    """The largest free rectangle, by trying all."""
    best = 0
    for left, right in itertools.combinations(range(width + 1), 2):
        for low, high in itertools.combinations(range(length + 1), 2):
            if at_end and high != length:
                continue
            if all(b[0] >= right or left >= b[2] or b[1] >= high or low >= b[3] for b in boxes):
                best = max(best, (right - left) * (high - low))
    return best


@pytest.mark.parametrize("seed", seeds(12, 60))
def test_figures_agree_with_every_rectangle_and_with_the_checker(seed: int) -> None:
    boxes, width = random_boxes(seed)
    length = max(box[3] for box in boxes)
    ease = ease_of(boxes, width, length)
    for room, at_end in ((ease.offcut, False), (ease.end_offcut, True)):
        area = 0 if room is None else (room[2] - room[0]) * (room[3] - room[1])
        assert area == every_room(boxes, width, length, at_end=at_end)
        assert area == largest_room(boxes, width, length, at_end=at_end)
    assert sorted(cut_lines(boxes, width)) == sorted(lines_on_grid(boxes, width))
    assert ease.across == len(parts_of(boxes, across=True))


#: A pinwheel: four pieces round a hole, which no cut from edge to edge can part.
PINWHEEL = [(0, 0, 2, 3), (2, 0, 5, 2), (3, 2, 5, 5), (0, 3, 3, 5)]


def test_edge_to_edge_cuts_are_told_from_others() -> None:
    assert not edge_to_edge(PINWHEEL, 99)
    bands = [(0, 0, 4, 3), (4, 0, 6, 2), (4, 2, 6, 3), (0, 3, 6, 5)]
    # Across at 3, lengthwise at 4 in the first band, across at 2 in its second column: three stages.
    assert edge_to_edge(bands)
    assert not edge_to_edge(bands, 2)
    # A column of the first band with two pieces side by side over a third would take a fourth stage.
    deeper = [(0, 0, 4, 3), (4, 0, 5, 2), (5, 0, 6, 2), (4, 2, 6, 3)]
    assert not edge_to_edge(deeper)
    assert edge_to_edge(deeper, 4)
