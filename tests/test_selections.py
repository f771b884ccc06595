"""Bounds over all selections of options, under a pattern that binds places across."""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from nesting.files import read_job_text
from nesting.packing import Choice, Match, Part, Problem, Repeat, Status, Strip, pack
from nesting.packing.choices.choosing import _Choosing
from nesting.packing.choices.linear_bounds import bars_over_all, demand_of
from nesting.packing.choices.menu import Selection, menu_of
from nesting.packing.choices.options_in_place import placed_bars_over_all
from nesting.packing.schedule import load_params
from nesting.planning.ways import cases_of
from tests.benchmarks.families import job_text
from tests.fuzz import selections
from tests.seeds import seeds


@pytest.mark.parametrize("seed", seeds(40, 200))
def test_no_bound_over_all_selections_is_above_a_layout(seed: int) -> None:
    assert not selections.above(selections.problem_of(seed))


def test_places_across_raise_the_bound_over_all_options() -> None:
    # Strip 6 and columns of 6. Beside each 6, in phase with it, lies a 2 that begins at 2 or, by the other
    # plan, at 3: both cover the step at 3, so no two narrow parts share a row. Rows: 6, 6, 2, 2, of 5 each.
    # Without places two narrow parts lie side by side: three rows.
    parts = tuple(
        Part(f"{window}/{plan}/{at}", wide, 5, match=Match("room", f"{window}/{plan}", at))
        for window in range(2)
        for plan in range(2)
        for wide, at in ((6, 0), (2, 2 + plan))
    )
    choices = tuple(Choice(f"{at}", ((4 * at, 4 * at + 1), (4 * at + 2, 4 * at + 3))) for at in range(2))
    menu = menu_of(Problem((Strip(6, repeat=Repeat(5, 6)),), parts, choices))
    assert menu is not None
    demand = demand_of(menu)
    assert demand is not None
    bars = bars_over_all(demand, lambda: False)
    placed = placed_bars_over_all(menu, demand, lambda: False)
    assert bars is not None
    assert placed is not None
    found = [each.bound(demand).length * demand.core.step_y for each in (bars, placed)]
    assert found == [15, 20]


def test_a_part_of_a_seam_group_in_two_options_is_bound_by_its_own_option() -> None:
    # The 2 at place 1 lies beside a 6 of its seam by one plan, which leaves it one place; by the other it is
    # alone and may lie anywhere. Both are one kind, which may therefore lie anywhere.
    match = Match("room", "panel", 1)
    parts = (
        Part("wide", 6, 5, match=Match("room", "panel", 0)),
        Part("beside", 2, 5, match=match),
        Part("alone", 2, 5, match=match),
    )
    problem = Problem((Strip(6, repeat=Repeat(5, 6)),), parts, (Choice("plan", ((0, 1), (2,))),))
    menu = menu_of(problem)
    assert menu is not None
    demand = demand_of(menu)
    assert demand is not None
    assert demand.kind_of[1] == demand.kind_of[2]
    assert placed_bars_over_all(menu, demand, lambda: False) is None


def test_a_whole_job_of_many_seam_plans_is_bound_as_its_plain_plan_is() -> None:
    # Twelve selections of seven windows; without places the bound is 4,702,556, a fifth below any layout.
    job = read_job_text(job_text("prints", 57))
    face = job.fabric("face")
    menu = menu_of(
        cases_of(job, face, {fabric.key: fabric.bolts[0] for fabric in job.fabrics})[0].lay.problem
    )
    assert menu is not None
    demand = demand_of(menu)
    assert demand is not None
    placed = placed_bars_over_all(menu, demand, lambda: False)
    assert placed is not None
    assert placed.bound(demand).length * demand.core.step_y >= 5_970_000


def test_what_the_bounds_take_to_be_shortest_is_searched_after_the_plain_plan(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    # Strip 10. Three sixes take three rows of 5; by other plans two of them are fours, and share rows with
    # what else there is. By the weights these are lighter, so that selection is the first to be searched.
    sizes = ((6,), (6, 4), (6, 4))
    parts = tuple(Part(f"{at}/{wide}", wide, 5) for at, wides in enumerate(sizes) for wide in wides)
    more = tuple(Part(f"more {at}", wide, 3 + at) for at, wide in enumerate((7, 3, 5, 4)))
    choices = (Choice("second", ((1,), (2,))), Choice("third", ((3,), (4,))))
    searched = list[list[Selection]]()
    deepen = _Choosing._deepen

    def told(self: _Choosing, selections: Sequence[Selection], seconds: float) -> None:
        searched.append(list(selections))
        deepen(self, selections, seconds)

    monkeypatch.setattr(_Choosing, "_deepen", told)
    # Four selections are few, of which each would be a case at once.
    many = load_params("most_apart = 0")
    result = pack(Problem((Strip(10),), (*parts, *more), choices), workers=1, work_limit=2, params=many)
    assert searched[0] == [(1, 1)]
    assert result.chosen == (1, 1)
    assert result.status is Status.OPTIMAL


@pytest.mark.nightly
def test_a_print_is_shorter_by_the_plans_that_its_bounds_take_to_be_shortest() -> None:
    # Seven windows, two of them with two plans. 10 s of the plain plans alone came to 4,382,000.
    job = read_job_text(job_text("prints", 7))
    case = cases_of(job, job.fabric("face"), {fabric.key: fabric.bolts[0] for fabric in job.fabrics})[0]
    result = pack(case.lay.problem, workers=1, work_limit=2)
    assert result.length is not None
    assert result.chosen[0] == 1
    assert result.length < 4_380_000
