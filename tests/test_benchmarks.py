"""The benchmark reads what it says it reads, and no unsound outcome passes unseen."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.packing import Match, Part, Problem, Repeat, Strip
from tests.benchmarks.__main__ import main
from tests.benchmarks.figures import gap, row
from tests.benchmarks.instances import Instance, in_folder, read_instance, wanted
from tests.benchmarks.running import Effort, Run, packed, run
from tests.benchmarks.sums import summary

PLAIN = {
    "name": "two",
    "strip_width": 5,
    "items": [[3, 4, 1], [2, 4, 2]],
    "optimal_height": None,
    "best_known": 8,
    "lower_bound": 7,
}
PHASED = {
    "name": "phased",
    "strip_width": 5,
    "items": [[5, 4, 2]],
    "optimal_height": 9,
    "best_known": 9,
    "lower_bound": 9,
    "repeat": 3,
    "phased_items": [[5, 4, 0, 1], [5, 4, 2, 1]],
}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    for place, form in (("plain/two", PLAIN), ("design/phased", PHASED), ("plain/later10", PLAIN)):
        path = tmp_path / f"{place}.json"
        path.parent.mkdir(exist_ok=True)
        path.write_text(json.dumps(form), encoding="utf-8")
    return tmp_path


class TestInstances:
    def test_a_plain_one(self, folder: Path) -> None:
        problem = Problem((Strip(5),), (Part("3 x 4", 3, 4), Part("2 x 4", 2, 4, 2)))
        assert read_instance(folder / "plain/two.json") == Instance("plain", "two", problem, None, 8, 7)

    def test_one_in_a_design(self, folder: Path) -> None:
        instance = read_instance(folder / "design/phased.json")
        assert instance.problem == Problem(
            (Strip(5, repeat=Repeat(3), start=0),),
            (
                Part("5 x 4 at 0", 5, 4, match=Match("design", y=0)),
                Part("5 x 4 at 2", 5, 4, match=Match("design", y=2)),
            ),
        )

    @pytest.mark.parametrize(
        ("patterns", "names"),
        [
            ((), ["phased", "two", "later10"]),
            (("plain",), ["two", "later10"]),
            (("plain/t*", "phased"), ["phased", "two"]),
            (("none",), []),
        ],
    )
    def test_are_named_by_set_or_pattern(
        self, folder: Path, patterns: tuple[str, ...], names: list[str]
    ) -> None:
        places = [place.split("/")[1] for place, _ in in_folder(folder)]
        assert places == ["phased", "two", "later10"]
        chosen = wanted(((place, lambda p=place: p) for place, _ in in_folder(folder)), patterns)
        assert [read().split("/")[1] for read in chosen] == names


class TestRuns:
    def test_in_a_process_of_its_own(self, folder: Path) -> None:
        # 4 first, then from phase 2 the next start is 5: 5 + 4.
        outcome = run(read_instance(folder / "design/phased.json"), Effort(time_limit=5))
        assert (outcome.length, outcome.status, outcome.fault) == (9, "optimal", "")
        assert outcome.memory > 10

    @pytest.mark.parametrize(
        ("known", "fault"),
        [
            ({"best_known": 7}, "bound 8 is above the published layout 7"),
            ({"lower_bound": 9}, "length 8 is below the published bound 9"),
        ],
    )
    def test_what_contradicts_a_published_figure_is_a_fault(
        self, folder: Path, known: dict[str, int], fault: str
    ) -> None:
        instance = replace(read_instance(folder / "plain/two.json"), **known)
        assert packed(instance, Effort(time_limit=5)).fault == fault

    def test_a_crash_is_a_row(self) -> None:
        broken = Instance("made", "two strips", Problem((Strip(5), Strip(5)), (Part("a", 1, 1),)))
        outcome = run(broken, Effort(time_limit=1))
        assert outcome.status == "crashed"
        assert "ProblemError" in outcome.fault
        assert "FAULT" in row(outcome)


def test_gaps_and_sums() -> None:
    instance = Instance("set", "a", Problem((Strip(5),), ()), None, 100, 90)
    runs = [Run(instance, 110, 100, status="feasible"), Run(instance, 100, 100, status="optimal")]
    assert gap(110, 100) == pytest.approx(10)
    assert gap(None, 100) is None
    assert gap(110, None) is None
    # Two runs, one proven; mean gaps of 10 and 0; one as short as the best known.
    assert summary(runs).splitlines()[1].split()[:6] == ["set", "2", "1", "5.00", "5.00", "1"]


def test_the_command_writes_rows_sums_and_csv(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    written = tmp_path / "figures.csv"
    assert main(["plain/two", "--folder", str(folder), "--time-limit", "5", "--csv", str(written)]) == 0
    printed = capsys.readouterr().out
    assert "plain/two" in printed
    with written.open(encoding="utf-8", newline="") as file:
        (line,) = csv.DictReader(file)
    assert (line["instance"], line["length"], line["bound"], line["status"]) == ("two", "8", "8", "optimal")


def test_a_name_that_fits_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no such set", "--folder", "."]) == 2
    assert "no instance is named" in capsys.readouterr().err
