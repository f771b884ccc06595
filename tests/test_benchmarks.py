"""The benchmark reads what it says it reads, and no unsound outcome passes unseen."""

from __future__ import annotations

import csv
import json
from dataclasses import replace
from pathlib import Path

import pytest

from nesting.errors import ProblemError
from nesting.packing import Match, Part, Problem, Repeat, Strip
from nesting.units import inches
from tests.benchmarks import peers, running
from tests.benchmarks.__main__ import main
from tests.benchmarks.families import make
from tests.benchmarks.figures import gap, row
from tests.benchmarks.instances import Instance, in_folder, read_instance, wanted
from tests.benchmarks.peers import PACKERS, PEERS, RULE, Packed, PeerRun, packed_by, run_peer
from tests.benchmarks.rounding import Spot
from tests.benchmarks.running import Effort, Run, packed, refuted, run
from tests.benchmarks.sums import BEST, Versus, against, longer, summary, versus, without

#: Seconds that no search here needs: each ends by itself, on a busy machine too.
PATIENT = 300

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
    for place, form in (("plain/two", PLAIN), ("pattern/phased", PHASED), ("plain/later10", PLAIN)):
        path = tmp_path / f"{place}.json"
        path.parent.mkdir(exist_ok=True)
        path.write_text(json.dumps(form), encoding="utf-8")
    return tmp_path


class TestInstances:
    def test_a_plain_one(self, folder: Path) -> None:
        problem = Problem((Strip(5),), (Part("3 x 4", 3, 4), Part("2 x 4", 2, 4, 2)))
        assert read_instance(folder / "plain/two.json") == Instance("plain", "two", problem, None, 8, 7)

    def test_one_in_a_pattern(self, folder: Path) -> None:
        instance = read_instance(folder / "pattern/phased.json")
        assert instance.problem == Problem(
            (Strip(5, repeat=Repeat(3), start=0),),
            (
                Part("5 x 4 at 0", 5, 4, match=Match("pattern", y=0)),
                Part("5 x 4 at 2", 5, 4, match=Match("pattern", y=2)),
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
        outcome = run(read_instance(folder / "pattern/phased.json"), Effort(time_limit=PATIENT))
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
        assert packed(instance, Effort(time_limit=PATIENT)).fault == fault

    def test_a_crash_is_a_row(self) -> None:
        broken = Instance("made", "two strips", Problem((Strip(5), Strip(5)), (Part("a", 1, 1),)))
        outcome = run(broken, Effort(time_limit=1))
        assert outcome.status == "crashed"
        assert "ProblemError" in outcome.fault
        assert "FAULT" in row(outcome)

    def test_lengths_on_hand_that_are_refused_are_listed_and_are_no_fault(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        def refuse(problem: Problem, **_: object) -> None:
            raise ProblemError(f"{len(problem.strips)} strips: this version lays one")

        monkeypatch.setattr(running, "pack", refuse)
        outcome = packed(make("remnants", 1), Effort())
        assert (outcome.status, outcome.fault, outcome.length) == ("not packed yet", "", None)
        assert "not packed yet" in row(outcome)
        with pytest.raises(ProblemError):
            packed(make("rooms", 1), Effort())

    def test_a_layout_of_a_peer_below_the_bound_is_a_fault(self) -> None:
        ours = Run(Instance("set", "a", Problem((Strip(5),), ())), 10, 10, status="optimal")
        shorter = PeerRun("rectpack", 9)
        assert refuted(
            ours, [shorter, PeerRun("plain-cpsat", 10), PeerRun("packingsolver"), PeerRun(RULE, 8)]
        ) == ["bound 10 is above the layout 9 of rectpack"]


class TestPeers:
    @pytest.mark.parametrize("peer", PEERS)
    def test_lay_one_small_instance(self, folder: Path, peer: str) -> None:
        """4 for the row of 3 x 4 and 2 x 4, 4 for the other 2 x 4; the trade rule knows no such parts."""
        if peer in ("rectpack", "packingsolver"):
            pytest.importorskip(peer)
        # One that knows no end tries orders until its time is over.
        limit = 2 if peer == "rectpack" else PATIENT
        found = run_peer(peer, read_instance(folder / "plain/two.json"), limit, 1, 0)
        expected = (None, "no rule for it") if peer == RULE else (8, "")
        assert (found.length, found.note, found.fault) == (*expected, "")

    def test_are_given_whole_repeats_and_laid_on_the_pattern(self) -> None:
        """Two cuts of 4 on a repeat of 3: 6 each makes 12, of which the last 2 are not needed."""
        parts = (Part("cut", 5, 4, 2, match=Match("room")),)
        instance = Instance("made", "print", Problem((Strip(5, repeat=Repeat(3)),), parts))
        found = packed_by("plain-cpsat", instance, PATIENT, 1, 0)
        assert (found.packed, found.length, found.proved, found.fault) == (12, 10, True, "")

    def test_the_trade_rule_worked_out_by_hand(self) -> None:
        # A repeat of 16. A pair of one width each, cut 111 1/4, so 112; a pair of two widths each, cut
        # 118 3/4, so 128: 2 x 112 + 4 x 128 = 736. Two facings of 31 in one row on 117 1/2, 4 1/2 deep, and
        # ten tabs of 5 in another, 2 3/4 deep: 743 1/4 in all.
        assert run_peer(RULE, make("prints", 2), 1, 1, 0).length == inches("2973/4")

    def test_that_break_a_rule_are_at_fault(self, folder: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        heap = Packed((Spot(0, 0, 0), Spot(1, 0, 0), Spot(1, 3, 0)))
        monkeypatch.setitem(PACKERS, "plain-cpsat", lambda task: heap)
        found = packed_by("plain-cpsat", read_instance(folder / "plain/two.json"), 1, 1, 0)
        assert found.length is None
        assert "overlap" in found.fault

    def test_that_are_not_installed_are_left_out(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(peers, "find_spec", lambda name: None)
        found = run_peer("rectpack", make("rooms", 1), 1, 1, 0)
        assert (found.length, found.note, found.fault) == (None, "rectpack is not installed", "")

    def test_do_not_lay_lengths_on_hand(self) -> None:
        assert "beyond it" in run_peer("plain-cpsat", make("remnants", 1), 1, 1, 0).note


class TestSums:
    def test_of_gaps(self) -> None:
        instance = Instance("set", "a", Problem((Strip(5),), ()), None, 100, 90)
        runs = [
            Run(instance, 110, 100, status="feasible", reproved=True),
            Run(instance, 100, 100, status="optimal", reproved=True, afterwards=True),
        ]
        assert gap(110, 100) == pytest.approx(10)
        assert gap(None, 100) is None
        assert gap(110, None) is None
        # Two runs, one proven and re-proved by a log; mean gaps of 10 and 0; one as short as the best known.
        told = ["set", "2", "1", "1", "1", "5.00", "5.00", "1"]
        assert summary(runs).splitlines()[1].split()[:8] == told

    def test_group_jobs_by_windows_and_selling_steps(self) -> None:
        """Steps of 9: 109 - 100 is within one, 110 - 100 is not."""
        few, many = (
            Instance("rooms", str(count), Problem((Strip(5),), ()), windows=count, step=9) for count in (3, 7)
        )
        runs = [Run(few, 109, 100), Run(few, 110, 100), Run(many, 100, 100, status="optimal")]
        lines = [line.split() for line in summary(runs).splitlines()[1:]]
        names = [" ".join(line[:-12]) for line in lines]
        assert names == ["rooms, 1-3 windows", "rooms, 7-12 windows", "rooms"]
        # From the back: faults, not yet, MB, sec, in a step, met, best %, gap %, afterwards, re-proved,
        # proven, runs.
        assert [line[-5] for line in lines] == ["1", "1", "2"]
        assert [(line[-12], line[-11], line[-8]) for line in lines] == [
            ("2", "0", "9.50"),
            ("1", "1", "0.00"),
            ("3", "1", "6.33"),
        ]

    def test_against_peers(self) -> None:
        """90 for 100 saves 10 %, 100 for 100 nothing, 110 for 100 costs 10 %; the fourth has no layout.

        The best packer gives 100, 95 and 100: 10 %, -5.26 % and -10 % make -1.75 %.
        """
        instance = Instance("set", "a", Problem((Strip(5),), ()))
        none = PeerRun("rectpack", note="no layout in the time")
        runs = [
            Run(instance, length, 90, peers=(first, PeerRun("plain-cpsat", second), PeerRun(RULE, 80)))
            for length, first, second in (
                (90, PeerRun("rectpack", 100, packed=85, seconds=1.0, memory=5), 120),
                (100, PeerRun("rectpack", 100, packed=100, seconds=2.0, memory=7, proved=True), 95),
                (110, PeerRun("rectpack", 100, packed=105, seconds=3.0, memory=6), 130),
                (100, none, None),
            )
        ]
        assert versus(runs, "rectpack") == Versus(
            "rectpack", 1, 1, 1, under=1, saved=pytest.approx(0), proved=1, seconds=2.0, memory=7, without=1
        )
        best = versus(runs, BEST)
        assert (best.shorter, best.equal, best.longer, best.without) == (1, 0, 2, 0)
        assert best.saved == pytest.approx((10 - 100 * 5 / 95 - 10) / 3)
        listed = longer(runs[1:3]).splitlines()
        assert listed[1] == "  set/a: 100 against 95 of plain-cpsat (5.26 % longer; bound 90)"
        assert len(listed) == 5
        assert "rectpack, 1 times: no layout in the time" in without(runs)
        assert [line.split()[1:6] for line in against(runs).splitlines()[1:2]] == [
            ["rectpack", "3", "1", "1", "1"]
        ]


def test_the_command_writes_rows_sums_and_csv(
    folder: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    written = tmp_path / "figures.csv"
    drawn = tmp_path / "figures.png"
    more = ("--against", "plain-cpsat,rule-of-thumb", "--csv", str(written), "--plot", str(drawn))
    assert main(["plain/two", "--folder", str(folder), "--time-limit", str(PATIENT), *more]) == 0
    printed = capsys.readouterr().out
    assert "plain/two" in printed
    assert "plain-cpsat: 8, +0.00 %" in printed
    assert drawn.read_bytes().startswith(b"\x89PNG")
    with written.open(encoding="utf-8", newline="") as file:
        (line,) = csv.DictReader(file)
    assert (line["instance"], line["length"], line["bound"], line["status"]) == ("two", "8", "8", "optimal")
    assert (line["plain-cpsat_length"], line["plain-cpsat_proved"]) == ("8", "True")
    assert (line["rule-of-thumb_length"], line["rule-of-thumb_note"]) == ("", "no rule for it")


def test_a_name_that_fits_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no such set", "--folder", "."]) == 2
    assert "no instance is named" in capsys.readouterr().err


def test_a_peer_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as ended:
        main(["rooms/1", "--against", "the neighbor"])
    assert ended.value.code == 2
    assert "the neighbor is none of rectpack" in capsys.readouterr().err
