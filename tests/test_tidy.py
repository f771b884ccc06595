"""Easier to cut at the same length: hand-worked cases, and nothing broken in layouts of all sorts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from test_across import boxes_of, random_problem

from nesting.check import check_layout
from nesting.check.document_cutting import edge_to_edge
from nesting.files import read_job, read_job_text
from nesting.packing import Match, Part, Placement, Problem, Repeat, Result, Strip, pack, pack_across
from nesting.packing.cut_order import CutRule
from nesting.packing.ease import Ease, ease_of, in_bands
from nesting.packing.result import Bound, Incumbent, Stop
from nesting.packing.tidy import _Attended, tidy, tidy_lengths
from nesting.packing.turn import Budget
from nesting.packing.yardstick import Yardstick
from nesting.plan.cuts import count_of_layout
from nesting.planning.planner import Effort, plan
from nesting.units import inches
from tests.benchmarks.families import make
from tests.seeds import seeds

SAMPLES = Path(__file__).parent.parent / "samples"


def laid(problem: Problem, *places: tuple[int, int, int, int]) -> Result:
    """A layout put together by hand: part, copy, x and y of each piece."""
    placements = tuple(Placement(*place) for place in places)
    tops = [at.y + problem.parts[at.part].length for at in placements]
    return Result(max(tops), Bound(max(tops), "by hand"), Stop.PROVED, 0.0, placements)


def figures(problem: Problem, result: Result) -> Ease:
    return ease_of(boxes_of(problem, result), problem.strips[0].width, result.length or 0)


def order(problem: Problem, result: Result, cut_rules: Sequence[CutRule] = ()) -> tuple[int, ...]:
    """Cuts, changes of size, the largest offcut below 0, grids, the largest at the end below 0, lines."""
    yardstick = Yardstick(problem, result.length or 0, cut_rules)
    shapes = yardstick.shapes(result.placements)
    return yardstick.order(shapes, yardstick.count(shapes))


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


#: A panel 8 x 24 on a strip of 12, beside it tabs of two sizes.
_PANEL = CutRule(alone=True)
_TABBED = Problem((Strip(12),), (Part("panel", 8, 24), Part("tab", 4, 3, 4), Part("short tab", 4, 2, 6)))


def test_tabs_of_two_sizes_that_alternate_come_together() -> None:
    # Ten tabs one above the other beside the panel, every one 4 wide. Cuts: along at 8, across at 24, and
    # nine across between ten tabs that fill 24 x 4: eleven, the fewest there can be. In the order 3, 2, 3, 2,
    # 3, 2, 3, 2, 2, 2 the size changes after the panel and seven times more; together it changes twice.
    # Nothing is left over: three entries of the cut list instead of nine. Lines of edges: as many as cuts.
    sizes, at, places = (1, 2, 1, 2, 1, 2, 1, 2, 2, 2), 0, list[tuple[int, int, int, int]]()
    for number, part in enumerate(sizes):
        places.append((part, sizes[: number + 1].count(part), 8, at))
        at += _TABBED.parts[part].length
    mixed = laid(_TABBED, (0, 1, 0, 0), *places)
    cut_rules = (_PANEL, CutRule(turn=1), CutRule(turn=1))
    assert order(_TABBED, mixed, cut_rules) == (11, 8, 0, 9, 0, 11)
    better = tidy(_TABBED, mixed, cut_rules=cut_rules, work=0.1)
    assert order(_TABBED, better, cut_rules) == (11, 2, 0, 3, 0, 11)
    assert not check_layout(_TABBED, better.placements, better.length)


def test_lengths_on_hand_are_made_easier_one_by_one() -> None:
    # The panel and its alternating tabs on the second of two lengths on hand; on the first, one tab of the
    # same part. What lies on which length stays, and neither is cut into any further.
    parts = (Part("panel", 8, 24), Part("tab", 4, 3, 4), Part("short tab", 4, 2, 7))
    problem = Problem((Strip(12, length=20), Strip(12, length=30)), parts)
    sizes, at, places = (
        (1, 2, 1, 2, 1, 2, 1, 2, 2, 2),
        0,
        [Placement(2, 1, 3, 5), Placement(0, 1, 0, 0, strip=1)],
    )
    for number, part in enumerate(sizes):
        places.append(Placement(part, sizes[: number + 1].count(part) + (part == 2), 8, at, strip=1))
        at += parts[part].length
    mixed = Result(None, Bound(0, "by hand"), Stop.PROVED, 0.0, tuple(places))
    assert not check_layout(problem, mixed.placements)
    rules = (_PANEL, CutRule(turn=1), CutRule(turn=1))
    better = tidy_lengths(problem, mixed, (0, 1), cut_rules=rules, work=0.3)
    assert not check_layout(problem, better.placements)
    there = [replace(at, strip=0) for at in better.placements if at.strip == 1]
    assert len(there) == 11
    single = Problem((Strip(12),), parts)
    assert order(single, replace(mixed, length=24, placements=tuple(there)), rules) == (11, 2, 0, 3, 0, 11)
    (alone,) = [at for at in better.placements if at.strip == 0]
    assert (alone.part, alone.copy, alone.y) == (2, 1, 5)


def test_scattered_tabs_become_a_block_and_the_offcut_one_piece() -> None:
    # A panel 6 x 12 on a strip of 14, and six tabs 2 x 3 strewn over the 8 x 12 beside it. As a block of two
    # strips edge to edge with the panel: along at 6 and 10, across at 12; between the tabs along at 8 and
    # across twice; and, where the block ends short of 12, once more: a block 4 x 9. Three strips of two:
    # along at 6 and 12, across at 12, between them twice along and once across, one at its end: seven cuts
    # too. A strip of four, which needs no cut at its end, and one of two: nine. Six in one strip are too long
    # for 12. The largest offcut beside 4 x 9 is 4 x 12 = 48, beside 6 x 6 it is 8 x 6 = 48.
    problem = Problem((Strip(14),), (Part("panel", 6, 12), Part("tab", 2, 3, 6)))
    spread = laid(
        problem,
        (0, 1, 0, 0),
        *((1, 1, 7, 0), (1, 2, 11, 1), (1, 3, 9, 4), (1, 4, 12, 6), (1, 5, 7, 8), (1, 6, 10, 9)),
    )  # fmt: skip
    cut_rules = (_PANEL, CutRule(turn=1))
    better = order(problem, tidy(problem, spread, cut_rules=cut_rules, work=0.2), cut_rules)
    assert better[:4] == (7, 1, -48, 2)


def test_a_match_is_kept() -> None:
    # Repeat 4: the small plain piece may move to the edge of the matched one, which stays in phase at 4.
    problem = Problem(
        (Strip(10, repeat=Repeat(4), start=0),),
        (Part("matched", 6, 6, match=Match("room")), Part("plain", 3, 2)),
    )
    loose = laid(problem, (0, 1, 0, 4), (1, 1, 7, 3))
    better = tidy(problem, loose, work=0.2)
    assert not check_layout(problem, better.placements, better.length)
    assert order(problem, better) < order(problem, loose)


@pytest.mark.parametrize("seed", seeds(3, 8))
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
    assert order(problem, better) <= order(problem, result)
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
    # 2 runners of 60 with 3 napkins of 20 beside each: 120, no fabric unused. Cuts: across at 60 and at 120,
    # in each band one along, and two between its napkins: 8. The size changes twice only where one band has
    # its napkins left of the runner and the other right of it: napkins, runner, runner, napkins.
    (layout,) = plan(job, effort=Effort(work=2.0, workers=1)).layouts
    assert layout.length == inches(120)
    assert count_of_layout(layout) == (8, 2, 4)


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


@pytest.mark.nightly
def test_no_more_than_its_share_is_spent(monkeypatch: pytest.MonkeyPatch) -> None:
    """5 % of the work of a plan for all of its fabrics, and hardly more than it was given is charged."""
    asked, kept = list[float](), list[Budget]()

    def told(*given: Any, **said: Any) -> Result:
        asked.append(said["work"])
        return tidy(*given, **said)

    class Kept(_Attended):
        def __init__(self, *given: Any) -> None:
            super().__init__(*given)
            kept.append(self)

    monkeypatch.setattr("nesting.planning.effort.tidy", told)
    monkeypatch.setattr("nesting.packing.tidy._Attended", Kept)
    for name in ("loft-metric", "three-window-house"):
        asked.clear()
        kept.clear()
        made = plan(read_job(SAMPLES / f"{name}.toml"), effort=Effort(work=4.0, workers=1))
        assert len(asked) == len(made.layouts)
        assert 0 < sum(asked) <= 0.05 * 4.0 + 1e-9
        for given, budget in zip(asked, kept, strict=True):
            assert budget.spent <= given + 0.02
