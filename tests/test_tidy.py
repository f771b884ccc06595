"""Easier to cut at the same length: hand-worked cases, and nothing broken in layouts of all sorts."""

from __future__ import annotations

import pytest
from test_across import boxes_of, random_problem

from nesting.check import check_layout
from nesting.check.document_cutting import edge_to_edge
from nesting.files import read_job_text
from nesting.packing import Match, Part, Placement, Problem, Repeat, Result, Strip, pack, pack_across
from nesting.packing.ease import Ease, ease_of, in_bands
from nesting.packing.result import Bound, Incumbent, Stop
from nesting.packing.tidy import tidy
from nesting.planning.planner import Effort, plan
from nesting.units import inches
from tests.benchmarks.families import make
from tests.seeds import seeds


def laid(problem: Problem, *places: tuple[int, int, int, int]) -> Result:
    """A layout put together by hand: part, copy, x and y of each piece."""
    placements = tuple(Placement(*place) for place in places)
    tops = [at.y + problem.parts[at.part].length for at in placements]
    return Result(max(tops), Bound(max(tops), "by hand"), Stop.PROVED, 0.0, placements)


def figures(problem: Problem, result: Result) -> Ease:
    return ease_of(boxes_of(problem, result), problem.strips[0].width, result.length or 0)


def test_equal_pieces_come_side_by_side() -> None:
    # Two 5 x 4 and two 5 x 3 on a strip of 10, laid crosswise: x = 5, y = 7, and y = 4 and y = 3 over half
    # the width: 4 lines. Side by side: y = 4 (or 3), y = 7 and x = 5: 3 lines.
    problem = Problem((Strip(10),), (Part("long", 5, 4, 2), Part("short", 5, 3, 2)))
    crossed = laid(problem, (0, 1, 0, 0), (1, 1, 0, 4), (1, 2, 5, 0), (0, 2, 5, 3))
    assert figures(problem, crossed).cut_lines == 4
    better = tidy(problem, crossed, work=0.2)
    assert figures(problem, better).cut_lines == 3
    assert better.length == 7


def test_the_offcut_comes_to_the_end_in_one_piece() -> None:
    # A piece across the whole strip of 10 and one of 4: with the narrow one last, 6 x 5 hangs on the bolt.
    problem = Problem((Strip(10),), (Part("wide", 10, 5), Part("narrow", 4, 5)))
    first = laid(problem, (1, 1, 0, 0), (0, 1, 0, 5))
    assert figures(problem, first).end_offcut is None
    better = figures(problem, tidy(problem, first, work=0.2))
    assert better.end_offcut in ((4, 5, 10, 10), (0, 5, 6, 10))


def test_two_halves_of_an_offcut_become_one() -> None:
    # Two 2 x 5 in the last rows of a strip of 10, one at each side and one in the middle, leave three strips;
    # pushed together the rest is one piece of 4 x 5 or more.
    problem = Problem((Strip(10),), (Part("wide", 10, 5), Part("narrow", 2, 5, 3)))
    spread = laid(problem, (0, 1, 0, 0), (1, 1, 0, 5), (1, 2, 4, 5), (1, 3, 8, 5))
    # Lines: y = 5, y = 10 three times, x = 2, 4, 6, 8: eight. Pushed together: y = 5, y = 10, x = 2, 4, 6.
    assert figures(problem, spread).cut_lines == 8
    better = figures(problem, tidy(problem, spread, work=0.3))
    assert better.cut_lines == 5
    assert better.end_offcut is not None
    left, low, right, high = better.end_offcut
    assert (right - left, high - low) == (4, 5)


def test_a_match_is_kept() -> None:
    # Repeat 4: the small plain piece may move to the edge of the matched one, which stays in phase at 4.
    problem = Problem(
        (Strip(10, repeat=Repeat(4), start=0),),
        (Part("matched", 6, 6, match=Match("room")), Part("plain", 3, 2)),
    )
    loose = laid(problem, (0, 1, 0, 4), (1, 1, 7, 3))
    better = tidy(problem, loose, work=0.2)
    assert not check_layout(problem, better.placements, better.length)
    assert figures(problem, better).key < figures(problem, loose).key


@pytest.mark.parametrize("seed", seeds(3, 24))
@pytest.mark.parametrize("across", [False, True])
def test_length_and_rules_are_kept_and_nothing_gets_worse(seed: int, across: bool) -> None:
    problem = random_problem(200 + seed)
    if across:
        free = Bound(0, "nothing is shorter than nothing")
        result = pack_across(problem, free=free, work_limit=0.1, workers=1, seed=seed)
    else:
        result = pack(problem, work_limit=0.1, workers=1, seed=seed)
    if result.length is None:
        assert not result.placements
        return
    better = tidy(problem, result, across=across, work=0.15, seed=seed)
    assert better.length == result.length
    assert not check_layout(problem, better.placements, better.length, better.bound.length)
    assert figures(problem, better).key <= figures(problem, result).key
    assert in_bands(boxes_of(problem, better)) == edge_to_edge(boxes_of(problem, better))
    assert not across or edge_to_edge(boxes_of(problem, better))
    again = tidy(problem, result, across=across, work=0.15, seed=seed)
    assert again.placements == better.placements


def test_a_plan_is_as_short_with_the_stage_as_without_it() -> None:
    job = read_job_text("""
[fabric.face]
[[fabric.face.bolt]]
width = 50
usable = 50
[[extra]]
name = "Runner"
width = 30
length = 60
count = 2
turnable = false
[[extra]]
name = "Napkin"
width = 20
length = 20
count = 6
""")
    # 2 runners of 60 with 3 napkins of 20 beside each: 120, no fabric unused. Lines: x = 30 in one, y = 60
    # and y = 120 across, and y = 20, 40, 80, 100 beside the runners: 7 in all, the fewest there can be.
    (layout,) = plan(job, effort=Effort(work=2.0, workers=1)).layouts
    assert layout.length == inches(120)
    boxes = [(at.x, at.y, at.x + at.width, at.y + at.length) for at in layout.placements]
    assert ease_of(boxes, layout.usable, layout.length).cut_lines == 7


def test_an_observer_is_told_and_ends_it() -> None:
    """A room of many pieces, with far more time than is needed: after the first no nobody is asked again."""
    problem, told = make("rooms", 12).problem, list[Incumbent]()
    result = pack(problem, work_limit=0.5, workers=1)

    def observer(now: Incumbent) -> bool:
        told.append(now)
        return False

    tidied = tidy(problem, result, seconds=600, on_progress=observer)
    assert [(now.length, now.bound) for now in told] == [(result.length, result.bound.length)]
    assert tidied.length == result.length
    assert check_layout(problem, tidied.placements, tidied.length or 0) == ()
