"""Batches of jobs: plans as one by one, a folder for each, the worst exit code, interrupts, clusters."""

from __future__ import annotations

import csv
import io
import json
import os
import re
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, replace
from functools import partial
from pathlib import Path
from typing import Any

import pytest
from assertions import timeless as timeless_layout

from nesting.check import check_plan_document
from nesting.commands import main
from nesting.commands.batch import folder_names, found
from nesting.commands.cluster import threads_per_job
from nesting.errors import DoesNotFitError, JobError
from nesting.files import read_job, read_job_text
from nesting.order.job import Job
from nesting.plan.plan import Plan
from nesting.planning.effort import Effort
from nesting.planning.many import plan_many, plan_one
from nesting.planning.planner import plan
from nesting.planning.workroom import each_once
from tests.interrupted import interrupted

ROOT = Path(__file__).parent.parent
SAMPLES = sorted((ROOT / "samples").glob("*.toml"))
BUDGET = ("--work-limit", "0.3", "--workers", "1")

#: Two squares of 20 in beside each other on 41 in: 20 in long, and no layout is shorter.
JOB = """
title = "Two cushions"
units = "in"
currency = "$"
[fabric.face]
[[fabric.face.bolt]]
width = 42
usable = 41
price = 10
[[extra]]
name = "Front"
fabric = "face"
width = 20
length = 20
count = 2
"""
TOO_WIDE = JOB.replace("width = 20", "width = 50").replace("length = 20", "length = 60")
#: Pieces of many odd sizes: a proof is out of reach for minutes.
HARD = (
    'title = "Remnants"\nunits = "in"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = 54\nusable = 53\n'
    + "".join(
        f'[[extra]]\nname = "Piece {n}"\nfabric = "face"\nwidth = {7 + n * 37 % 230 / 10}\n'
        f"length = {7 + n * 71 % 230 / 10}\n"
        for n in range(45)
    )
)


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs `nesting batch` in this process; the jobs run in processes of their own."""
    # Jobs proven at once need no machine code, which every process would load anew.
    monkeypatch.setenv("NESTING_COMPILED", "0")

    def ran(*arguments: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["nesting", "batch", *map(str, arguments)])
        capsys.readouterr()
        code = 0
        try:
            main()
        except SystemExit as end:
            code = 0 if end.code is None else int(end.code)
        return Ran(code, *capsys.readouterr())

    return ran


def timeless(made: Plan | None) -> Plan:
    """A plan without what the clock decides."""
    assert made is not None
    objectives = tuple(replace(objective, seconds=0) for objective in made.objectives)
    return replace(made, layouts=tuple(map(timeless_layout, made.layouts)), objectives=objectives)


# Planning


@pytest.mark.nightly
def test_a_batch_gives_the_plans_of_one_by_one() -> None:
    jobs = [read_job(path) for path in SAMPLES]
    effort = Effort(work=0.3, workers=1)
    outcomes = sorted(plan_many(jobs, effort=effort, at_once=2), key=lambda outcome: outcome.number)
    assert [outcome.number for outcome in outcomes] == list(range(len(jobs)))
    for outcome, job in zip(outcomes, jobs, strict=True):
        alone = plan(job, effort=Effort(work=0.3, workers=1))
        assert timeless(outcome.made) == timeless(alone)
    assert effort == Effort(work=0.3, workers=1)


def test_a_job_that_cannot_be_does_not_end_the_batch() -> None:
    jobs = [read_job_text(text) for text in (JOB, TOO_WIDE, JOB)]
    with ThreadPoolExecutor(2) as threads:
        outcomes = {o.number: o for o in plan_many(jobs, executor=threads, effort=Effort(work=0.1))}
    assert sorted(outcomes) == [0, 1, 2]
    assert isinstance(outcomes[1].error, DoesNotFitError)
    first, last = outcomes[0].made, outcomes[2].made
    assert first is not None
    assert last is not None
    assert first == replace(last, layouts=first.layouts)
    assert timeless(outcomes[0].made) == timeless(outcomes[2].made)


def test_jobs_are_shared_out_within_the_cores(monkeypatch: pytest.MonkeyPatch) -> None:
    asked = list[tuple[int | None, Any]]()

    def handed(task: Any, jobs: Any, *, executor: Any, at_once: int | None, stop: Any) -> Iterator[Any]:
        asked.append((at_once, task.args[0].workers))
        return iter(())

    monkeypatch.setattr("nesting.planning.workers.each_once", handed)
    monkeypatch.setattr("nesting.planning.workroom.cores", lambda: 8)
    job = read_job_text(JOB)
    for jobs, at_once, workers in ((20, None, None), (2, None, None), (20, 3, 4), (20, 100, None)):
        list(plan_many([job] * jobs, effort=Effort(workers=workers), at_once=at_once))
    assert asked == [(8, 1), (2, 4), (3, 2), (8, 1)]


# The command


def job_files(folder: Path, **texts: str) -> list[Path]:
    folder.mkdir(parents=True, exist_ok=True)
    for name, text in texts.items():
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    return [folder / f"{name}.toml" for name in texts]


def tree(folder: Path) -> set[str]:
    """The files in a folder, but for the manifests beside them."""
    files = {path for path in folder.rglob("*") if path.is_file() and ".nesting" not in path.parts}
    return {str(path.relative_to(folder)) for path in files}


PLAN_FILES = {
    "plan.json", "cut-list.csv", "marker-face.png", "marker-face.svg", "marker.pdf",
    "packet.html", "packet.pdf", "appendix.pdf", "labels.pdf", "labels.csv",
}  # fmt: skip


def test_each_job_has_a_folder_of_the_files_of_plan(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    one, two = job_files(tmp_path / "jobs", one=JOB, two=JOB.replace("count = 2", "count = 3"))
    (other,) = job_files(tmp_path / "others", one=JOB.replace("Two cushions", "More cushions"))
    out = tmp_path / "out"
    done = run(tmp_path / "jobs", other, one, "-o", out, *BUDGET, "--format", "json")
    assert done.code == 0, done.err
    assert tree(out) == {f"{name}/{file}" for name in ("one", "two", "one-2") for file in PLAN_FILES}
    jobs = json.loads(done.out)["jobs"]
    assert [(job["job"], job["file"]) for job in jobs] == [
        ("one", str(one)), ("two", str(two)), ("one-2", str(other)),
    ]  # fmt: skip
    for job in jobs:
        document = json.loads((out / job["job"] / "plan.json").read_text("utf-8"))
        assert check_plan_document(document) == ()
        assert document["title"] == job["title"]
        (layout,), (fabric,) = document["layouts"], job["fabrics"]
        assert (fabric["length"], fabric["lower_bound"]) == (layout["length"], layout["lower_bound"])
        assert (fabric["quantity"], fabric["cost"]) == (layout["buy"]["quantity"], layout["buy"]["cost"])
    # Two rows of two squares of 20 in, the last with one: 40 in; 20 in for the others.
    assert [job["fabrics"][0]["length"] for job in jobs] == [20.0, 40.0, 20.0]
    monkeypatch.setattr(sys, "argv", ["nesting", "plan", str(one), "-o", str(tmp_path / "plain"), *BUDGET])
    with pytest.raises(SystemExit, match="0"):
        main()
    for file in PLAN_FILES - {"plan.json"}:
        assert (out / "one" / file).read_bytes() == (tmp_path / "plain" / file).read_bytes(), file


def test_the_summary_is_a_table_and_nothing_is_written_without_a_folder(run: Run, tmp_path: Path) -> None:
    files = job_files(tmp_path, good=JOB, wide=TOO_WIDE, odd=JOB.replace("width = 42", "width = -42"))
    before = tree(tmp_path)
    done = run(*files, *BUDGET)
    assert done.code == 2  # a fault in a job file is worse than an impossible job
    assert tree(tmp_path) == before
    good = next(line for line in done.out.splitlines() if line.strip().startswith("good"))
    # 20 in and 2 in to square the end: 22 in, sold by 1/8 yd (4 1/2 in): 5/8 yd.
    assert re.split(r"\s{2,}", good.strip())[:-1] == [
        "good", "face", "5/8 yd", "$6.25", "20 in", "20 in", "optimal",
    ]  # fmt: skip
    assert re.search(r"wide +impossible", done.out)
    assert re.search(r"odd +refused", done.out)
    assert "wide: " in done.out
    assert "cut 50 in wide x 60 in long" in done.out
    assert "width = -42" in done.out
    assert "1 of 3 jobs have a plan" in done.err
    assert "Traceback" not in done.err


def test_csv_has_a_row_for_each_fabric_and_each_job_without_a_plan(run: Run, tmp_path: Path) -> None:
    files = job_files(tmp_path, good=JOB, wide=TOO_WIDE)
    done = run(*files, *BUDGET, "--format", "csv")
    assert done.code == 3
    rows = list(csv.DictReader(io.StringIO(done.out)))
    assert [(row["job"], row["status"], row["exit_code"]) for row in rows] == [
        ("good", "optimal", "0"), ("wide", "impossible", "3"),
    ]  # fmt: skip
    assert (rows[0]["quantity"], rows[0]["length"], rows[1]["length"]) == ("0.625", "20.0", "")
    assert "50 in wide" in rows[1]["reason"]


@pytest.mark.parametrize(
    ("codes", "worst"),
    [((0, 0), 0), ((0, 3), 3), ((3, 4), 4), ((4, 2, 3), 2), ((2, 1, 0), 1), ((130, 0), 0), ((), 0)],
)
def test_a_batch_ends_with_the_worst_of_its_jobs(codes: tuple[int, ...], worst: int) -> None:
    from nesting.commands.summary import JobRow
    from nesting.commands.summary import worst as worst_of

    assert worst_of(JobRow("job", Path("job.toml"), code) for code in codes) == worst


def test_missing_files_are_jobs_and_empty_folders_are_bad_usage(run: Run, tmp_path: Path) -> None:
    (good,) = job_files(tmp_path / "jobs", good=JOB)
    done = run(good, tmp_path / "gone.toml", *BUDGET)
    assert done.code == 2
    assert "there is no such file" in done.out
    assert re.search(r"good +face", done.out)
    (tmp_path / "empty").mkdir()
    done = run(good, tmp_path / "empty", *BUDGET)
    assert (done.code, done.out) == (2, "")
    assert str(tmp_path / "empty") in done.err
    done = run(good, *BUDGET, "-o", good)
    assert (done.code, done.out) == (2, "")
    assert "name a folder after -o" in done.err


def test_a_folder_that_cannot_be_written_costs_its_job_alone(run: Run, tmp_path: Path) -> None:
    files = job_files(tmp_path / "jobs", one=JOB, two=JOB)
    out = tmp_path / "out"
    out.mkdir()
    (out / "one").write_text("in the way", encoding="utf-8")
    done = run(*files, *BUDGET, "-o", out)
    assert done.code == 2
    assert "is a file" in done.out
    assert tree(out) == {"one", *(f"two/{file}" for file in PLAN_FILES)}


def test_files_are_found_once_in_order(tmp_path: Path) -> None:
    inside = job_files(tmp_path, b=JOB, a=JOB)
    assert found([inside[0], tmp_path, inside[1]]) == [tmp_path / "b.toml", tmp_path / "a.toml"]
    assert found([tmp_path]) == [tmp_path / "a.toml", tmp_path / "b.toml"]
    (tmp_path / "sub").mkdir()
    with pytest.raises(JobError, match="sub"):
        found([tmp_path / "sub"])


def test_folder_names_never_meet_nor_leave_the_folder() -> None:
    names = ["x/job.toml", "y/job.toml", "Job.toml", "job-2.toml", "...toml", ".toml", "Bay (left).toml"]
    given = folder_names([Path(name) for name in names])
    assert given == ["job", "job-2", "Job-3", "job-2-2", "job-4", "toml", "Bay (left)"]
    assert len({name.casefold() for name in given}) == len(given)


@pytest.mark.nightly
def test_an_interrupt_keeps_what_is_finished(tmp_path: Path) -> None:
    files = job_files(tmp_path / "jobs", a_quick=JOB, b_hard=HARD, c_hard=HARD, d_hard=HARD, e_hard=HARD)
    out = tmp_path / "out"
    words = ["batch", *map(str, files), "-o", str(out), "--format", "json"]
    words += ["--time-limit", "500", "--at-once", "2", "--workers", "1"]
    (told,), answer, rest = interrupted(words, 1)
    assert told.startswith("a_quick: planned in ")
    assert "interrupted" in rest
    jobs = {job["job"]: job for job in json.loads(answer)["jobs"]}
    assert list(jobs) == [file.stem for file in files]
    assert jobs["a_quick"]["status"] == "planned"
    assert (jobs["e_hard"]["status"], jobs["e_hard"]["exit_code"]) == ("not finished", 130)
    planned = {name for name, job in jobs.items() if job["status"] == "planned"}
    assert {file.partition("/")[0] for file in tree(out)} == planned
    for name in planned:
        document = json.loads((out / name / "plan.json").read_text("utf-8"))
        assert check_plan_document(document) == ()
        assert tree(out / name) == PLAN_FILES


# A cluster


def test_a_cluster_shares_the_cores_of_each_machine() -> None:
    # Two machines: one of 8 cores with two workers of 2 jobs each, one of 4 cores with 1 job.
    slots = {"tcp://10.0.0.1:1": 2, "tcp://10.0.0.1:2": 2, "tcp://10.0.0.2:1": 1}
    cores = {"tcp://10.0.0.1:1": 8, "tcp://10.0.0.1:2": 8, "tcp://10.0.0.2:1": 4}
    assert threads_per_job(slots, cores, None) == 1
    assert threads_per_job(slots, cores, 2) == 2  # 8 / 4 jobs and 4 / 1 job: at most 2
    assert threads_per_job(slots, cores, 64) == 2
    assert threads_per_job({"tcp://10.0.0.2:1": 9}, {"tcp://10.0.0.2:1": 4}, 3) == 1
    assert threads_per_job({}, {}, None) == 1


def test_an_address_without_a_cluster_is_bad_usage(
    run: Run, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    pytest.importorskip("distributed")
    monkeypatch.setattr("nesting.commands.cluster.PATIENCE", 0.5)
    (good,) = job_files(tmp_path, good=JOB)
    for address in ("tcp://127.0.0.1:9", "nonsense", "tcp://"):
        done = run(good, *BUDGET, "--cluster", address)
        assert (done.code, done.out) == (2, ""), done.err
        assert "--cluster" in done.err


def plan_or_die(effort: Effort, folder: str, numbered: tuple[int, Job]) -> Plan:
    """Plans; the first worker that comes to number 2 is killed with its process."""
    number, job = numbered
    (Path(folder) / f"{number}-{os.getpid()}-{time.monotonic_ns()}").touch()
    if number == 2 and len(list(Path(folder).glob("2-*"))) == 1:
        os.kill(os.getpid(), signal.SIGKILL)
    return plan_one(effort, job)


@pytest.mark.nightly
def test_a_cluster_that_loses_a_worker_gives_every_job_back_once(
    cluster: Any, tmp_path: Path, run: Run
) -> None:
    from distributed import Client

    jobs = [read_job(path) for path in SAMPLES]
    task = partial(plan_or_die, Effort(work=0.1, workers=1), str(tmp_path))
    with Client(cluster, set_as_default=False) as client:
        executor = client.get_executor()
        outcomes = list(each_once(task, list(enumerate(jobs)), executor=executor))
    assert sorted(outcome.number for outcome in outcomes) == list(range(len(jobs)))
    for outcome in outcomes:
        assert outcome.error is None
        assert timeless(outcome.made) == timeless(
            plan(jobs[outcome.number], effort=Effort(work=0.1, workers=1))
        )
    started = [int(path.name.partition("-")[0]) for path in tmp_path.iterdir()]
    assert started.count(2) >= 2
    assert len({path.name.split("-")[1] for path in tmp_path.iterdir()}) >= 2
    files = job_files(tmp_path / "jobs", one=JOB, two=TOO_WIDE)
    done = run(*files, *BUDGET, "--cluster", cluster.scheduler_address, "-o", tmp_path / "out")
    assert done.code == 3
    assert tree(tmp_path / "out") == {f"one/{file}" for file in PLAN_FILES}


def kill_when_written(worker: subprocess.Popen[bytes], file: Path) -> None:
    """Kills the process of a worker once a job is written."""
    until = time.monotonic() + 900
    while not file.exists() and time.monotonic() < until:
        time.sleep(0.05)
    worker.kill()


@pytest.mark.nightly
def test_a_cluster_without_workers_ends_the_batch_and_keeps_what_is_finished(
    run: Run, tmp_path: Path
) -> None:
    distributed = pytest.importorskip("distributed")
    files = job_files(tmp_path / "jobs", a_quick=JOB, b_hard=HARD, c_hard=HARD.replace("Remnants", "More"))
    out = tmp_path / "out"
    with distributed.LocalCluster(n_workers=0, host="127.0.0.1", dashboard_address=None) as running:
        # One worker with room for one job at a time, and nobody who would start it again.
        line = [sys.executable, "-m", "dask", "worker", running.scheduler_address]
        line += ["--no-nanny", "--nthreads", "1", "--no-dashboard", "--local-directory", str(tmp_path)]
        with subprocess.Popen(line, cwd=ROOT, stderr=subprocess.DEVNULL) as worker:
            killer = threading.Thread(target=kill_when_written, args=(worker, out / "a_quick" / "plan.json"))
            try:
                running.wait_for_workers(1, timeout=300)
                killer.start()
                flags = ("--cluster", running.scheduler_address, "--patience", "1", "--format", "json")
                done = run(*files, "--time-limit", "500", "--workers", "1", "-o", out, *flags)
                killer.join()
            finally:
                worker.kill()
    assert done.code == 2, done.err
    assert (
        f"--cluster = {running.scheduler_address}: expected a cluster with workers: for 1 s none" in done.err
    )
    assert "Traceback" not in done.err
    jobs = {job["job"]: job["status"] for job in json.loads(done.out)["jobs"]}
    assert jobs == {"a_quick": "planned", "b_hard": "not finished", "c_hard": "not finished"}
    assert tree(out) == {f"a_quick/{file}" for file in PLAN_FILES}
    assert check_plan_document(json.loads((out / "a_quick" / "plan.json").read_text("utf-8"))) == ()
