"""The random runs that others rely on: they draw what they say, and see what is wrong."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from copy import deepcopy
from pathlib import Path
from typing import Any

import pytest

from nesting.files import plan_document, read_job_text
from nesting.headings import HEADINGS
from nesting.packing import Bound, Part, Problem, Result, Stop, Strip, pack
from nesting.planning.planner import Effort, plan
from tests.fuzz import jobs, short
from tests.fuzz.job_texts import drawn, job_text
from tests.fuzz.short import Aim, Search, WrongError, packed, refuted
from tests.seeds import seeds

TWO = Problem((Strip(4),), (Part("a", 3, 5), Part("b", 2, 4)))
STOCK = """
units = "in"
[[fabric.face.bolt]]
width = 54
[[fabric.face.bolt.on_hand]]
length = 60
[[fabric.face.bolt.on_hand]]
length = 90
[[extra]]
width = 20
length = 50
count = 3
"""


def test_random_jobs_can_be_read_and_hold_everything_there_is() -> None:
    texts = [drawn(seed) for seed in range(60)]
    assert [text for text, _ in texts] == [job_text(seed) for seed in range(60)]
    # Every third draw or so is refused: the limits of what may be ordered are met.
    assert 0 < sum(refused for _, refused in texts) < 60
    made = [read_job_text(text) for text, _ in texts]
    windows = [window for job in made for window in job.windows]
    fabrics = [fabric for job in made for fabric in job.fabrics]
    assert {window.heading for window in windows} == set(HEADINGS)
    assert {job.units for job in made} == {"in", "cm", "mm"}
    assert {job.cutting for job in made} == {"free", "across-first"}
    assert {fabric.nap for fabric in fabrics} == {"one-way", "two-way", "none"}
    assert {bool(fabric.repeat and fabric.repeat.drop) for fabric in fabrics} == {True, False}
    assert {window.lining for window in windows} == {"lining", None}
    assert {bolt.top_up for fabric in fabrics for bolt in fabric.bolts if bolt.on_hand} == {True, False}
    assert {extra.optional for job in made for extra in job.extras} == {True, False}
    assert {window.railroad for window in windows} == {"auto", "yes", "no"}


@pytest.mark.parametrize(
    ("code", "told", "said", "fault"),
    [
        (0, "", "", "planned, but there is no plan"),
        (1, "", "a fault", "exit 1: a fault"),
        (-11, "", "", "exit -11: "),
        (2, "", "refused", None),
        (3, "layout 0.10 9\n", "too long", None),
        (4, "", "nothing found", None),
        (4, "layout 0.10 9\n", "nothing found", "nothing found, after layout 0.10 9: nothing found"),
        (3, "ERROR:nesting.packing.race:bound 9\n", "", "logged: ERROR:nesting.packing.race:bound 9"),
    ],
)
def test_what_a_command_must_not_do_is_seen(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, code: int, told: str, said: str, fault: str | None
) -> None:
    def ran(words: list[str]) -> subprocess.CompletedProcess[str]:
        Path(words[2]).write_text(told, "utf-8")
        return subprocess.CompletedProcess(words, code, "", said)

    monkeypatch.setattr(jobs, "_ran", ran)
    assert jobs.planned(1, folder=tmp_path / "job").faults == ([] if fault is None else [fault])


@pytest.mark.nightly
def test_a_job_runs_through_the_command_line_and_its_layouts_are_recorded(tmp_path: Path) -> None:
    outcome = jobs.planned(4, folder=tmp_path, limit=0.5)
    assert (outcome.code, outcome.faults) == (0, [])
    assert outcome.document is not None
    assert (tmp_path / "record").read_text("utf-8").startswith("layout ")


@pytest.mark.parametrize("seed", seeds(0, 8))
def test_any_job_ends_in_a_plan_that_is_right_or_in_words(seed: int, tmp_path: Path) -> None:
    assert jobs.planned(seed, folder=tmp_path, limit=2.0).faults == []


def raised(document: dict[str, Any]) -> None:
    document["layouts"][0]["lower_bound"] += 1


def bettered(document: dict[str, Any]) -> None:
    (aim,) = document["objectives"]
    aim["stages"][-1]["bound"] += 1


@pytest.mark.parametrize(("text", "forge"), [(job_text(4), raised), (STOCK, bettered)])
def test_claims_that_another_plan_refutes_are_seen(
    text: str, forge: Callable[[dict[str, Any]], None]
) -> None:
    document = plan_document(plan(read_job_text(text), effort=Effort(work=0.3, workers=1)))
    assert list(jobs.contradictions(document, document)) == []
    forged = deepcopy(document)
    forge(forged)
    assert len(list(jobs.contradictions(document, forged))) == 1
    assert len(list(jobs.contradictions(forged, document))) == 1


def test_bounds_of_one_search_are_held_against_another() -> None:
    bought, value = Aim("to buy", 5, 4), Aim("value", 7, 9, most=True)
    assert list(refuted((bought, value), (bought, value))) == []
    assert list(refuted((bought,), (Aim("to buy", 3, 3),))) == ["to buy: bound 4, but 3 is known"]
    # More value with less bought is another matter; with as much bought it refutes the bound.
    assert list(refuted((bought, value), (Aim("to buy", 6, 4), Aim("value", 12, 12, most=True)))) == []
    assert list(refuted((bought, value), (bought, Aim("value", 12, 12, most=True)))) == [
        "value: bound 9, but 12 is known"
    ]
    assert list(refuted((), (bought,)))
    assert not list(refuted((bought,), ()))


def test_a_layout_that_is_lost_is_seen(monkeypatch: pytest.MonkeyPatch) -> None:
    search = Search(0.05, 1, 1)
    assert packed(TWO, search) == (Aim("length", 9, 9),)

    def losing(problem: Problem, **limits: Any) -> Result:
        pack(problem, **limits)
        return Result(None, Bound(0, "none"), Stop.TIME_LIMIT, 0.0)

    monkeypatch.setattr(short, "pack", losing)
    with pytest.raises(WrongError, match="a layout of 9 was lost"):
        packed(TWO, search)


@pytest.mark.parametrize("kind", sorted(set(short.KINDS)))
def test_short_searches_agree(kind: str, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(short, "KINDS", (kind,))
    monkeypatch.setattr(short, "RUNS", 2)
    told, wrong = short.examine(1, 7, short._Log())
    assert (told > 0, wrong) == (True, [])
