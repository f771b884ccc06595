"""How much there is to cut: worked out by hand, and found the same band by band."""

from __future__ import annotations

import pytest
from test_across import random_problem

from nesting.packing import pack
from nesting.packing.cut_order import CutCount, Shape, count_of, order_of_cuts
from nesting.packing.yardstick import Yardstick
from tests.seeds import seeds


def test_the_cuts_of_a_grid_are_strips_lengthwise_then_all_strips_across() -> None:
    # Beside a panel 4 x 9 six tabs 2 x 3 in two strips, on a strip of 10: across at 9 and along at 4 free the
    # panel; along at 8 beside the grid, along at 6 between its strips, across both at 3 and 6. Six cuts.
    tabs = [Shape(x, y, x + 2, y + 3, "tab") for x in (4, 6) for y in (0, 3, 6)]
    panel, grid = steps = order_of_cuts([Shape(0, 0, 4, 9, "panel", alone=True), *tabs], 10, 9)
    assert [(cut.way, cut.at) for cut in panel.cuts] == [("across", 9), ("lengthwise", 4)]
    assert [(cut.way, cut.at, cut.start, cut.end) for cut in grid.cuts] == [
        ("lengthwise", 8, 0, 9), ("lengthwise", 6, 0, 9), ("across", 3, 4, 8), ("across", 6, 4, 8),
    ]  # fmt: skip
    assert count_of(steps) == CutCount(6, 1, 2)


def test_pieces_that_are_cut_alone_share_no_entry() -> None:
    # Two panels 5 x 8 side by side on a strip of 10: across at 8, along at 5. Each is an entry of its own,
    # its size the same as the other's.
    panels = [Shape(x, 0, x + 5, 8, "panel", alone=True) for x in (0, 5)]
    assert count_of(order_of_cuts(panels, 10, 8)) == CutCount(2, 0, 2)


def test_what_is_cut_first_decides_how_often_the_size_changes() -> None:
    # Left to right a tab 2 x 8, a panel 4 x 8, a tab 2 x 8 on a strip of 8: two cuts along, one across. From
    # the left the size changes twice; with the panel first once, and the tabs, apart, are an entry each.
    left, right = (Shape(x, 0, x + 2, 8, "tab", turn=1) for x in (0, 6))
    panel = Shape(2, 0, 6, 8, "panel", alone=True)
    assert count_of(order_of_cuts([left, panel, right], 8, 8)) == CutCount(3, 1, 3)
    plain = [shape._replace(turn=0) for shape in (left, panel, right)]
    assert count_of(order_of_cuts(plain, 8, 8)) == CutCount(3, 2, 3)


@pytest.mark.parametrize("seed", seeds(8, 30))
def test_band_by_band_is_counted_as_the_order_of_cuts_has_it(seed: int) -> None:
    problem = random_problem(300 + seed)
    result = pack(problem, work_limit=0.05, workers=1, seed=seed)
    yardstick = Yardstick(problem, result.length or 0)
    shapes = yardstick.shapes(result.placements)
    if shapes:
        steps = order_of_cuts(shapes, problem.strips[0].width, result.length or 0)
        assert yardstick.count(shapes) == count_of(steps)
        assert yardstick.count(shapes) == count_of(steps), "from what is remembered"
    freed = sum(step.grid.across * step.grid.along for step in order_of_cuts(shapes, 99, 99))
    assert freed == len(result.placements)
