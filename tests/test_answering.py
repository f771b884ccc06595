"""The measure of answers counts what it says; no test here asks how many seconds anything takes."""

from __future__ import annotations

import inspect
import math
import sys
import threading

import pytest

from nesting.packing import Choice, Incumbent, Part, Problem, Strip
from nesting.packing.beside import beside
from tests.benchmarks import answering
from tests.benchmarks.answering import (
    Answers,
    Asking,
    Sampler,
    Wait,
    answers_of,
    asked,
    longest,
    main,
    moments_within,
    percentile,
    pressed,
    progress_of,
    row,
    stage_of,
    summary,
    with_choices,
    within,
)
from tests.benchmarks.families import make
from tests.benchmarks.instances import Instance

#: Two rows of two: 8 long.
TINY = Problem((Strip(5),), (Part("3 x 4", 3, 4), Part("2 x 4", 2, 4, 2)))
QUICK = Asking(time_limit=300, moments=2, presses=1)


def waits(*seconds: float) -> list[Wait]:
    return [Wait(each, "stage") for each in seconds]


class TestRuns:
    def test_progress_is_every_interval_from_the_call_to_the_return(
        self, monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """One interval more than there are calls, and all of them together are the run."""
        calls, pack = list[Incumbent](), answering.pack

        def counting(problem: Problem, **more: object) -> object:
            observer = more.pop("on_progress")
            return pack(problem, on_progress=lambda now: (calls.append(now), observer(now))[1], **more)

        monkeypatch.setattr(answering, "pack", counting)
        found, memory = progress_of(TINY, QUICK)
        assert len(calls) > 0
        assert len(found) == len(calls) + 1
        assert all(wait.seconds >= 0 for wait in found)
        assert memory > 10

    def test_an_end_wanted_from_the_first_moment_is_met(self) -> None:
        wait = asked(TINY, QUICK, 0.0)
        assert wait is not None
        assert wait.seconds >= 0

    def test_an_end_wanted_after_the_return_is_left_out(self) -> None:
        assert asked(TINY, QUICK, 1000.0) is None
        assert pressed(TINY, QUICK, 1000.0) is None

    def test_a_press_in_the_middle_of_a_search_leaves_a_result(self, monkeypatch: pytest.MonkeyPatch) -> None:
        seen = list[bool]()

        def searching(problem: Problem, **_: object) -> str:
            try:
                threading.Event().wait(900)
            except KeyboardInterrupt:
                seen.append(True)
            return "a result"

        monkeypatch.setattr(answering, "pack", searching)
        # On a busy machine the press may come before the search has begun; later it does not.
        for after in (0.1, 1.0, 10.0, 100.0):
            found = pressed(TINY, QUICK, after)
            if seen:
                break
        assert seen == [True]
        assert found is not None
        assert found[1]

    def test_a_press_that_comes_through_is_lost(self, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setattr(answering, "pack", lambda problem, **_: threading.Event().wait(900))
        found = pressed(TINY, QUICK, 0.1)
        assert found is not None
        assert not found[1]

    @pytest.mark.nightly
    def test_all_of_it_in_processes_of_their_own(self) -> None:
        answers = answers_of(Instance("made", "tiny", TINY), QUICK)
        assert (answers.name, answers.parts, answers.fault) == ("made/tiny", 3, "")
        assert len(answers.progress) > 1
        assert len(answers.asked) <= QUICK.moments
        assert answers.lost <= len(answers.pressed) <= QUICK.presses

    @pytest.mark.nightly
    def test_a_crash_is_a_fault(self) -> None:
        broken = Problem((Strip(5), Strip(5)), (Part("a", 1, 1),))
        answers = answers_of(Instance("made", "two strips", broken), QUICK)
        assert "ProblemError" in answers.fault
        assert "FAULT" in row(answers)


class TestStages:
    def test_are_named_by_what_of_the_engine_is_at_work(self) -> None:
        met = list[str]()
        here = threading.get_ident()

        def look() -> None:
            met.append(stage_of(sys._current_frames()[here]))

        beside(lambda: None, look)
        assert met == [] or set(met) == {"beside:beside"}
        assert stage_of(inspect.currentframe()) == "outside"

    def test_are_those_met_most_often_in_the_interval(self) -> None:
        sampler = Sampler()
        sampler._seen = [(1.0, "a", 0), (2.0, "b", 0), (2.5, "b", 0), (3.0, "c", 0), (4.0, "d", 0)]
        assert sampler.between(1.0, 3.0) == "b"
        # Too short for a look: the next one.
        assert sampler.between(3.2, 3.3) == "d"
        assert sampler.between(4.2, 5.0) == "not seen"


class TestSums:
    def test_shares(self) -> None:
        """Of 0.5, 0.1 and 1.4 s two are soon; of those 2 s, 0.5 + 0.1 + 0.5 = 1.1 s are near an end."""
        found = waits(0.5, 0.1, 1.4)
        assert within(found) == pytest.approx(200 / 3)
        assert moments_within(found) == pytest.approx(55)
        assert longest(found) == 1.4

    def test_percentiles(self) -> None:
        """Of 200 the 198th."""
        found = waits(*(number / 100 for number in range(1, 201)))
        assert percentile(found) == 1.98
        assert percentile(found[:1]) == 0.01

    def test_of_nothing(self) -> None:
        assert all(math.isnan(sum_of([])) for sum_of in (within, moments_within, percentile, longest))

    def test_the_summary_names_the_worst_first(self) -> None:
        late = (Wait(0.7, "orders", 0.2), Wait(2.0, "tables", 1.4), Wait(0.1, "bars", 0.3))
        told = summary([Answers("rooms/1", 3, late, memory=100), Answers("rooms/2", 3, lost=1, memory=200)])
        lines = told.splitlines()
        assert lines[0] == "progress: 3"
        # (0.5 + 0.5 + 0.1) / 2.8, and undisturbed (0.2 + 0.5 + 0.1) / 1.7.
        assert lines[1].startswith("  by the clock: within 0.5 s 39.29 % of moments, 33.33 % of waits")
        assert lines[2].startswith("  undisturbed: within 0.5 s 47.06 % of moments, 66.67 % of waits")
        assert [line.split()[-1] for line in lines[3:5]] == ["tables", "orders"]
        assert "bars" not in told
        assert lines[-1] == "lost: 1; most memory 200 MB"


def test_choices_are_between_a_part_and_its_halves() -> None:
    room = make("rooms", 8)
    instance = with_choices(room, "8", most=2)
    assert (instance.set, instance.name, len(instance.problem.choices)) == ("choices", "8", 2)
    count = len(room.problem.parts)
    assert instance.problem.parts[:count] == room.problem.parts
    for at, choice in enumerate(instance.problem.choices):
        (whole,), (half,) = choice.options
        assert choice == Choice(room.problem.parts[whole].name, ((whole,), (count + at,)))
        parts = instance.problem.parts
        assert (parts[half].copies, parts[half].length) == (2 * parts[whole].copies, parts[whole].length)
        assert 2 * parts[half].width >= parts[whole].width > 2 * (parts[half].width - 1)


@pytest.mark.nightly
def test_the_command_writes_rows_and_sums(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["rooms/1", "--time-limit", "1", "--moments", "1", "--presses", "0"]) == 0
    printed = capsys.readouterr().out
    assert "load average" in printed
    assert "\nrooms/1 " in printed
    assert "of moments" in printed


def test_a_name_that_fits_nothing_is_said(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["no such set"]) == 2
    assert "no instance is named" in capsys.readouterr().err


class TestBeside:
    def test_returns_what_the_work_returns(self) -> None:
        assert beside(lambda: 7, lambda: None) == 7

    def test_raises_what_the_work_raises(self) -> None:
        def work() -> None:
            raise ValueError("broken")

        with pytest.raises(ValueError, match="broken"):
            beside(work, lambda: None)

    def test_leaves_when_the_pulse_says_so_and_the_work_goes_on(self) -> None:
        may, done = threading.Event(), threading.Event()

        def work() -> None:
            may.wait(60)
            done.set()

        def pulse() -> None:
            raise InterruptedError

        with pytest.raises(InterruptedError):
            beside(work, pulse)
        assert not done.is_set()
        may.set()
        assert done.wait(60)

    def test_asks_work_to_end_until_it_hears(self) -> None:
        asked_to, may, done = list[bool](), threading.Event(), threading.Event()

        def work() -> None:
            may.wait(60)
            done.set()

        def pulse() -> None:
            raise InterruptedError

        def end() -> None:
            asked_to.append(True)
            if len(asked_to) == 2:
                may.set()

        with pytest.raises(InterruptedError):
            beside(work, pulse, end)
        assert len(asked_to) == 2
        assert done.wait(60)
