"""One selection searched as if there were no choice."""

from __future__ import annotations

from typing import Any

import pytest

from nesting import Effort, plan_job
from nesting.files import read_job_text
from nesting.packing import Incumbent, Part, Problem, Repeat, Result, Stop, Strip, pack, packer
from nesting.packing.branch import Branch, branches_of
from nesting.packing.choices.alone import search_alone
from nesting.packing.choices.menu import core_of
from nesting.packing.race import Race, Stopped, ended, result_of
from nesting.packing.result import Bound
from nesting.packing.schedule import PARAMS
from nesting.packing.searches.bed import SeamRoom
from nesting.packing.searches.construct import shelves
from nesting.packing.turn import Budget
from nesting.planning import effort as search
from nesting.planning.ways import cases_of
from tests.assertions import assert_valid
from tests.benchmarks.families import job_text
from tests.test_choosing import chosen_problem, many_windows

REPEATS = pytest.mark.parametrize(
    "repeat", [None, Repeat(25), Repeat(24, 27)], ids=["plain", "lines", "columns"]
)


def searched(race: Race, problem: Problem, share: float) -> list[Branch]:
    """The cases of a problem without choices, searched for so much work."""
    core = core_of(problem, range(len(problem.parts)))
    assert core is not None
    cases = [Branch.of(case, 0, race.seed, PARAMS) for case in branches_of(core)]
    search_alone(race, cases, 1, share)
    return cases


@REPEATS
def test_it_comes_to_the_layout_of_that_selection_packed_by_itself(repeat: Repeat | None) -> None:
    opened = many_windows(4, repeat)
    plain = chosen_problem(opened, (0,) * 4)
    by_itself = packer.pack(plain, workers=1, work_limit=0.4, seed=5)
    race = Race(Budget(0, 9.0), seed=5)
    # What is known of all selections must not change its steps: a layout of another, and a bound.
    other_plan = chosen_problem(opened, (2,) * 4)
    other = core_of(other_plan, range(len(other_plan.parts)))
    assert other is not None
    assert race.offer(other, shelves(other, SeamRoom(other)), "of another")
    race.raise_bound(Bound(1, "a bound on all"))
    cases = searched(race, plain, 0.4)
    found = result_of(race, Stop.TIME_LIMIT)
    assert_valid(plain, found)
    assert (found.length, found.placements) == (by_itself.length, by_itself.placements)
    assert race.budget.spent >= 0.4 or by_itself.length == by_itself.bound.length
    assert [case.proved and case.proved.length for case in cases] == [by_itself.bound.length]


@pytest.mark.nightly
@REPEATS
@pytest.mark.parametrize("seed", range(2))
def test_open_choices_are_never_longer_than_the_plain_selection_by_itself(
    repeat: Repeat | None, seed: int
) -> None:
    # By construction: the same steps come first, with the part of the budget that is kept for them.
    opened = many_windows(5, repeat)
    by_itself = pack(chosen_problem(opened, (0,) * 5), workers=1, work_limit=0.6 * PARAMS.plain, seed=seed)
    result = pack(opened, workers=1, work_limit=0.6, seed=seed)
    assert result.length is not None
    assert by_itself.length is not None
    assert result.length <= by_itself.length


@pytest.mark.parametrize(
    ("family", "number", "ways", "layouts_only"),
    [("rooms", 28, 2, False), ("rooms", 28, 2, True), ("rooms", 38, 1, False), ("prints", 7, 1, False)],
)
def test_a_whole_plan_keeps_half_of_all_there_is_for_its_plain_seam_plans(
    family: str, number: int, ways: int, layouts_only: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Whatever else is cut, asked, priced and offered beside: what the plain plan alone finds in half of the
    # time is then found here too, for its search is the same step by step.
    job = read_job_text(job_text(family, number))
    bolts = {fabric.key: fabric.bolts[0] for fabric in job.fabrics}
    cases = cases_of(job, job.fabric("face"), bolts)
    assert (len(cases), len(job.fabrics)) == (ways, 1)
    kept = list[float]()

    def told(problem: Problem, **said: Any) -> Result:
        if problem == cases[0].lay.problem:
            kept.append(said["params"].plain * said["work_limit"])
        return pack(problem, **{**said, "work_limit": 0.0})

    monkeypatch.setattr(search, "pack", told)
    plan_job(job, effort=Effort(work=8.0, workers=1, layouts_only=layouts_only))
    assert kept == [pytest.approx(4.0)]


def test_what_ends_the_search_of_all_ends_that_of_one_as_well() -> None:
    # 5 and 5 side by side on 10, twice: 14. All selections are bound to no less, so there is nothing to seek.
    plain = Problem((Strip(10),), (Part("a", 5, 7, copies=4),))
    race = Race(Budget(0, 9.0))
    race.raise_bound(Bound(14, "a bound on all"))
    assert ended(race, lambda: searched(race, plain, 1.0)) is Stop.PROVED
    assert race.length == 14


def test_who_asks_for_an_end_gets_it_with_the_layout_there_is() -> None:
    def no_more(now: Incumbent) -> bool:
        return now.length is None

    plain = chosen_problem(many_windows(4), (0,) * 4)
    race = Race(Budget(0, 9.0), no_more)
    with pytest.raises(Stopped):
        searched(race, plain, 1.0)
    assert race.length is not None


def test_a_bound_on_one_selection_is_none_on_all() -> None:
    # Closed at once by itself; of the others nothing is known.
    plain = Problem((Strip(10),), (Part("a", 5, 7, copies=4),))
    race = Race(Budget(0, 9.0))
    cases = searched(race, plain, 1.0)
    assert (race.length, race.bound.length) == (14, 0)
    assert [case.proved and case.proved.length for case in cases] == [14]
