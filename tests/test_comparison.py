"""Bolts compared by workers: what they give in turn, their part of the cores, errors, interrupts."""

from __future__ import annotations

import contextlib
import json
import sys
import threading
from collections.abc import Callable
from concurrent.futures import Executor, Future, ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest
from assertions import timeless
from orders import a_bolt, a_fabric, a_job, a_window, inch

from nesting.commands import main
from nesting.commands.cluster import Crew
from nesting.files import read_job, read_job_text
from nesting.order.job import Job
from nesting.plan.comparison import Comparison, Option
from nesting.planning.compare import NOT_FINISHED, compare, option_of
from nesting.planning.effort import Effort, Spending
from nesting.planning.workroom import Delivered
from nesting.repeat import Repeat
from tests.interrupted import interrupted

ROOT = Path(__file__).parent.parent
BUDGET = ("--work-limit", "0.5", "--workers", "1")
#: Two fabrics, three bolts; plain and printed.
DINING = ROOT / "samples" / "dining-room.toml"


def effort(work: float = 0.5) -> Effort:
    return Effort(work=work, workers=1)


def contents(made: Comparison) -> list[Option]:
    """All that was found, without what the clock decides."""
    return [
        option if option.layout is None else replace(option, layout=timeless(option.layout))
        for option in made.options
    ]


def of_two_bolts() -> Job:
    """A print whose pair finds no phase on 56 in, though every piece fits, and lies well on 60 in.

    Two single widths of 49: the second lies 49 - 4 = 45 = 18 on in the pattern, which is 9 back and so takes
    49 + 9 = 58 across (see test_planner).
    """
    bolts = (a_bolt(inch(56), inch(55), inch(54)), a_bolt(inch(60), inch(58), inch(54)))
    fabric = replace(a_fabric(bolts[0], repeat=Repeat(inch(25), inch(27))), bolts=bolts)
    return a_job(a_window(rod=inch(60), pair="continuous", flat_width=inch(45)), fabrics=(fabric,))


class Counting(ThreadPoolExecutor):
    """Threads that count what they are asked to run, and how much of it at the same time."""

    def __init__(self, threads: int) -> None:
        super().__init__(threads)
        self.efforts = list[Effort]()
        self.parts = list[float]()
        self.busy = self.most = 0
        self._lock = threading.Lock()

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        task, trial = args
        assert task.func is option_of
        self.efforts.append(task.args[0])
        self.parts.append(trial.part)
        return super().submit(self._counted, fn, *args, **kwargs)

    def _counted(self, fn: Callable[..., Any], *args: Any) -> Any:
        with self._lock:
            self.busy += 1
            self.most = max(self.most, self.busy)
        try:
            return fn(*args)
        finally:
            with self._lock:
                self.busy -= 1


class Elsewhere(Executor):
    """Knows its machines itself, as a cluster does; runs all it was given, the last first."""

    def __init__(self) -> None:
        self.efforts = list[Effort]()
        self._waiting = list[tuple[Future[Any], Callable[..., Any], Any]]()

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        future: Future[Any] = Future()
        self.efforts.append(args[0].args[0])
        self._waiting.append((future, fn, args))
        threading.Timer(0.5, self._work).start()
        return future

    def _work(self) -> None:
        while self._waiting:
            future, fn, args = self._waiting.pop()
            future.set_result(fn(*args))


# What comes out


@pytest.mark.nightly
@pytest.mark.parametrize("path", [DINING, ROOT / "samples" / "loft-metric.toml"], ids=lambda path: path.stem)
def test_two_processes_give_the_comparison_that_one_by_one_gives(path: Path) -> None:
    job = read_job(path)
    widths = (inch(48), inch(118))
    alone = compare(job, widths=widths, effort=effort())
    assert sum(option.layout is not None for option in alone.options) >= 4
    given, told = effort(), list[Delivered[Option]]()
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        made = compare(job, widths=widths, effort=given, executor=pool, told=told.append)
        assert contents(made) == contents(alone)
        assert pool.submit(int, "7").result() == 7
    assert given == effort()
    tried = [option.bolt.width for option in alone.options if option.layout is not None]
    assert sorted(outcome.made.bolt.width for outcome in told if outcome.made) == sorted(tried)


def test_the_order_is_that_of_the_bolts_whatever_comes_back_first() -> None:
    job, told = read_job(DINING), list[int]()
    made = compare(
        job, effort=effort(), executor=Elsewhere(), told=lambda outcome: told.append(outcome.number)
    )
    assert contents(made) == contents(compare(job, effort=effort()))
    assert sorted(told) == list(range(len(told)))


def test_a_bolt_on_which_nothing_lies_is_told_as_in_turn() -> None:
    job = of_two_bolts()
    alone = compare(job, effort=effort())
    with ThreadPoolExecutor(2) as threads:
        made = compare(job, effort=effort(), executor=threads)
    assert contents(made) == contents(alone)
    narrow, wide = made.options
    assert wide.layout is not None
    assert narrow.layout is None
    assert narrow.reason.startswith('fabric "face": no layout on a bolt of 56 in meets in the pattern')


def test_a_fault_of_the_program_is_raised_as_in_turn(monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError("a fault of this program")

    monkeypatch.setattr("nesting.planning.compare.layout_of", broken)
    with ThreadPoolExecutor(2) as threads:
        for executor in (None, threads):
            with pytest.raises(ZeroDivisionError, match="of this program"):
                compare(of_two_bolts(), effort=effort(), executor=executor)


# Shares


def test_each_bolt_is_one_task_with_its_part_of_the_budget(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr("nesting.planning.workroom.cores", lambda: 8)
    job = read_job(DINING)
    widths = (inch(2), inch(118))  # nothing fits 2 in, which is known before anything is searched
    with Counting(8) as counting:
        made = compare(job, widths=widths, effort=Effort(work=0.2), executor=counting, at_once=3)
    tried = [option for option in made.options if option.layout is not None]
    assert len(counting.efforts) == len(tried) < len(made.options)
    assert sum(counting.parts) == pytest.approx(1)
    # 8 cores, 3 at a time: 2 threads each.
    assert {one.workers for one in counting.efforts} == {2}
    assert 1 <= counting.most <= 3


@pytest.mark.parametrize(
    ("at_once", "workers", "threads"),
    [(None, None, 1), (2, None, 2), (2, 100, 2), (100, None, 1), (None, 3, 3), (1, None, 4)],
)
def test_bolts_times_threads_never_exceed_the_cores(
    at_once: int | None, workers: int | None, threads: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("nesting.planning.workroom.cores", lambda: 4)
    widths = tuple(inch(width) for width in (100, 105, 110, 118))
    with Counting(8) as counting:
        asked = Effort(work=0.01, workers=workers)
        compare(read_job(DINING), widths=widths, effort=asked, executor=counting, at_once=at_once)
    assert {one.workers for one in counting.efforts} == {threads}
    assert counting.most * threads <= 4


def test_a_cluster_gets_every_bolt_at_once() -> None:
    elsewhere = Elsewhere()
    made = compare(read_job(DINING), effort=Effort(work=0.01), executor=elsewhere)
    assert len(elsewhere.efforts) == len(made.options)
    assert {one.workers for one in elsewhere.efforts} == {1}


def test_the_seconds_of_a_bolt_are_its_part_on_workers_too(monkeypatch: pytest.MonkeyPatch) -> None:
    seconds = list[float]()
    begin = Effort.begin

    def noted(self: Effort, problems: float) -> Spending:
        seconds.append(self.seconds)
        return begin(self, problems)

    monkeypatch.setattr(Effort, "begin", noted)
    job = of_two_bolts()
    with ThreadPoolExecutor(2) as threads:
        compare(job, effort=Effort(seconds=1, workers=1), executor=threads)
    assert seconds == [0.5, 0.5]


def test_a_stop_leaves_bolts_unfinished_and_keeps_the_others() -> None:
    back = list[Delivered[Option]]()
    with ThreadPoolExecutor(1) as one:
        made = compare(
            read_job(DINING),
            effort=effort(0.05),
            executor=one,
            at_once=1,
            stop=lambda: bool(back),
            told=back.append,
        )
    assert len(back) < len(made.options)
    kept = [option for option in made.options if option.layout is not None]
    assert len(kept) == len(back)
    assert {option.reason for option in made.options if option.layout is None} == {NOT_FINISHED}


@pytest.mark.nightly
def test_a_cluster_gives_the_comparison_that_one_by_one_gives(cluster: Any) -> None:
    from distributed import Client

    job = read_job(DINING)
    with Client(cluster, set_as_default=False) as client:
        made = compare(job, effort=effort(), executor=client.get_executor())
    assert contents(made) == contents(compare(job, effort=effort()))


# The command


def ran(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str], *arguments: object
) -> tuple[int, str, str]:
    monkeypatch.setattr(sys, "argv", ["nesting", "compare", *map(str, arguments)])
    capsys.readouterr()
    with pytest.raises(SystemExit) as end:
        main()
    return (int(end.value.code or 0), *capsys.readouterr())


def test_the_command_gives_the_same_answer_from_processes(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    flags = (DINING, *BUDGET, "--widths", "118, 2", "--format", "json")
    code, out, said = ran(monkeypatch, capsys, *flags)
    assert (code, said) == (0, "")
    in_processes = ran(monkeypatch, capsys, *flags, "--at-once", "2")
    assert in_processes[:2] == (0, out)
    laid = [option for option in json.loads(out)["options"] if "length" in option]
    assert in_processes[2].count(": laid in ") == len(laid)


def test_an_address_without_a_cluster_is_bad_usage(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("nesting.commands.cluster.PATIENCE", 0.5)
    code, out, said = ran(monkeypatch, capsys, DINING, *BUDGET, "--cluster", "tcp://127.0.0.1:9")
    assert (code, out) == (2, "")
    assert "--cluster" in said


class Deserted(Elsewhere):
    """Works on the first bolt it is given; then nobody is there any more."""

    first: Future[Any] | None = None

    def submit(self, fn, /, *args, **kwargs):  # type: ignore[no-untyped-def]
        if self.first is not None:
            return Future()
        self.first = super().submit(fn, *args, **kwargs)
        return self.first

    def present(self) -> bool:
        return self.first is None or not self.first.done()


@pytest.mark.nightly
def test_a_cluster_without_workers_ends_the_comparison_and_keeps_what_is_finished(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    def crew(cluster: str | None, workers: int | None) -> Any:
        deserted = Deserted()
        return contextlib.nullcontext(Crew(deserted, 1, deserted.present, "tcp://10.0.0.1:8786"))

    monkeypatch.setattr("nesting.commands.comparing.crew_for", crew)
    flags = ("--cluster", "tcp://10.0.0.1:8786", "--patience", "1", "--format", "json")
    code, out, said = ran(monkeypatch, capsys, DINING, *BUDGET, *flags)
    assert code == 2
    assert "--cluster = tcp://10.0.0.1:8786: expected a cluster with workers: for 1 s none" in said
    first, *others = json.loads(out)["options"]
    assert first["length"] > 0
    assert others
    assert {option["reason"] for option in others} == {NOT_FINISHED}


#: One fabric with a piece that is laid at once, and one of 45 odd sizes that keep a search busy for minutes.
MIXED = (
    'title = "Remnants"\nunits = "in"\n[fabric.quick]\n[[fabric.quick.bolt]]\nwidth = 54\nusable = 53\n'
    "[fabric.face]\n[[fabric.face.bolt]]\nwidth = 54\nusable = 53\n"
    '[[extra]]\nname = "Mat"\nfabric = "quick"\nwidth = 20\nlength = 20\n'
    + "".join(
        f'[[extra]]\nname = "Piece {n}"\nfabric = "face"\nwidth = {7 + n * 37 % 230 / 10}\n'
        f"length = {7 + n * 71 % 230 / 10}\n"
        for n in range(45)
    )
)


@pytest.mark.nightly
def test_an_interrupt_keeps_what_is_finished(tmp_path: Path) -> None:
    path = tmp_path / "mixed.toml"
    path.write_text(MIXED, encoding="utf-8")
    assert len(read_job_text(MIXED).fabrics) == 2
    words = ["compare", str(path), "--format", "json", "-o", str(tmp_path / "out")]
    words += ["--widths", "48,60,72", "--time-limit", "900", "--at-once", "2", "--workers", "1"]
    # The mat on its four bolts, then two searches of the 45 pieces at a time.
    told, answer, rest = interrupted(words, 4)
    assert all(line.startswith("quick, ") and ": laid in " in line for line in told)
    assert "interrupted: what was finished is given" in rest
    options = json.loads(answer)["options"]
    assert [option["fabric"] for option in options] == ["quick"] * 4 + ["face"] * 4
    assert all("length" in option for option in options[:4])
    unfinished = [option for option in options if "length" not in option]
    # Those that were searched give the best they had.
    assert 2 <= len(unfinished) <= 4
    assert {option["reason"] for option in unfinished} == {NOT_FINISHED}
    assert json.loads((tmp_path / "out" / "comparison.json").read_text("utf-8"))["options"] == options
