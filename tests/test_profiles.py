"""What stands beside a peer and over time is counted right; large jobs are as large as they say."""

from __future__ import annotations

import csv
from pathlib import Path

import pytest

from nesting.files import read_job_text
from tests.benchmarks import large_jobs, profiles
from tests.benchmarks.profiles import Line, main, mean_gaps, read_runs, read_watched, within

RUNS = Path(__file__).parent / "benchmarks" / "measured"


def line(name: str, who: str, length: int | None) -> Line:
    return Line("prints", name, 1, who, length, 100, 90, 0.1)


class TestCounting:
    def test_gaps_in_order_without_a_layout_infinitely_far(self) -> None:
        lines = [
            line("1", "ours", 101),
            line("2", "ours", 100),
            line("3", "ours", None),
            line("1", "peer", 150),
        ]
        assert within(lines, "ours") == [0.0, 1.0, float("inf")]
        assert within(lines, "peer") == [50.0]

    def test_the_mean_over_time_waits_for_all(self) -> None:
        """At 1 s only one has a layout; at 2 s they are 20 and 10 % above, at 3 s 20 and 0."""
        steps = {"1": [(0.5, None, 100), (1.0, 120, 100)], "2": [(2.0, 110, 100), (3.0, 100, 100)]}
        assert mean_gaps(steps, [0.1, 1.0, 2.0, 9.0]) == [None, None, pytest.approx(15), pytest.approx(10)]

    def test_one_that_was_shorter_before_counts_as_that(self) -> None:
        steps = {"1": [(1.0, 110, 100), (2.0, 130, 100)]}
        assert mean_gaps(steps, [2.0]) == [pytest.approx(10)]


class TestMeasuring:
    def test_runs_are_written_and_taken_up_again(
        self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        path = tmp_path / "runs.csv"
        ask = ["run", "prints/14", "--budgets", "0.05", "--csv", str(path)]
        assert main(ask) == 0
        lines = read_runs(path)
        assert [one.who for one in lines] == ["ours, 0.05", "rule-of-thumb"]
        assert all(one.length is not None and one.length >= one.known for one in lines)
        monkeypatch.setattr(profiles, "runs_of", None)
        assert main(ask) == 0
        assert read_runs(path) == lines

    def test_a_course_ends_no_longer_than_it_began(self, tmp_path: Path) -> None:
        path = tmp_path / "watched.csv"
        assert main(["watch", "prints/14", "--work-limit", "0.05", "--csv", str(path)]) == 0
        course = read_watched(path)["prints"]["14"]
        lengths = [length for _, length, _ in course if length is not None]
        assert lengths == sorted(lengths, reverse=True) != []
        assert [seconds for seconds, _, _ in course] == sorted(seconds for seconds, _, _ in course)

    @pytest.mark.nightly
    def test_pictures_are_drawn_of_it(self, tmp_path: Path) -> None:
        made = profiles.draw(RUNS / "profile.csv", RUNS / "over-time.csv", tmp_path, "in a test")
        assert [path.name for path in made] == ["profile.png", "over-time.png"]
        assert all(path.read_bytes().startswith(b"\x89PNG") for path in made)

    def test_nothing_named(self, capsys: pytest.CaptureFixture[str]) -> None:
        assert main(["run", "remnants", "--csv", "nothing.csv"]) == 2
        assert "names no instance of one open strip" in capsys.readouterr().err

    def test_no_run_that_was_measured_is_shorter_than_what_is_known(self) -> None:
        """Else a shorter layout was found and not kept."""
        known = {
            (one.family, one.name): one.known.length
            for one in profiles.chosen((), profiles.FOLDER)
            if one.known is not None
        }
        for path in sorted(RUNS.glob("*.csv")):
            with path.open(encoding="utf-8", newline="") as file:
                for row in csv.DictReader(file):
                    # The rule of thumb lays nothing, and forgets the drop.
                    if row["length"] and row.get("who") != "rule-of-thumb":
                        assert int(row["length"]) >= known[row["family"], row["name"]], row


class TestLargeJobs:
    def test_are_as_large_as_they_are_said_to_be(self) -> None:
        assert read_job_text(large_jobs.job_of("pieces")).extras[0].count == 100_000
        job = read_job_text(large_jobs.job_of("lengths"))
        assert len(job.windows) == 3
        assert [len(bolt.on_hand) for bolt in job.fabrics[0].bolts] == [1000]

    @pytest.mark.nightly
    def test_a_thousand_windows(self) -> None:
        windows = read_job_text(large_jobs.job_of("windows")).windows
        assert (len(windows), len({(one.rod, one.finished_length) for one in windows})) == (1000, 120)

    def test_each_has_its_commands(self, tmp_path: Path) -> None:
        for name in large_jobs.NAMES:
            for words in large_jobs.commands_of(name, tmp_path):
                assert words[0] in ("-c", "cli.py")
