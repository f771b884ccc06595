"""The command line as a person and a script meet it: exit codes, streams, files, bad input, interrupts."""

from __future__ import annotations

import csv
import io
import json
import os
import pty
import re
import select
import signal
import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import pytest

from nesting.check import check_plan_document
from nesting.commands import main
from nesting.commands.said import remeasured, widths_said, with_margin
from nesting.commands.tables import plan_table
from nesting.errors import JobError
from nesting.files import read_job_text, read_plan
from nesting.packing import Problem, Result, Stop, pack
from nesting.plan.blocks import blocks
from nesting.planning import effort
from nesting.planning.planner import Effort, plan
from nesting.units import Unit, to_ticks

ROOT = Path(__file__).parent.parent
BUDGET = ("--work-limit", "1", "--workers", "1")

#: One panel pair of 30 + 4 wide and 68 1/2 long, beside each other; the tie-backs lie at their end.
JOB = """
title = "Small room"
units = "in"
currency = "$"
[fabric.face]
name = "Blue weave"
nap = "one-way"
[[fabric.face.bolt]]
width = 70
usable = 68
price = 10
[[fabric.face.bolt]]
width = 54
usable = 53
price = 8
[[window]]
name = "East"
rod = 40
rod_diameter = "1 3/8"
finished_length = 60
heading = "clip-ring"
fullness = 1.5
[[window.tieback]]
length = 26
width = 4
count = 2
fabric = "face"
"""


@dataclass(frozen=True)
class Ran:
    code: int
    out: str
    err: str


Run = Callable[..., Ran]


@pytest.fixture
def run(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Run:
    """Runs the command line in this process, as `python cli.py ARGUMENTS` would."""

    def ran(*arguments: object) -> Ran:
        monkeypatch.setattr(sys, "argv", ["nesting", *map(str, arguments)])
        capsys.readouterr()
        code = 0
        try:
            main()
        except SystemExit as end:
            code = 0 if end.code is None else int(end.code)
        out, err = capsys.readouterr()
        return Ran(code, out, err)

    return ran


def command(*arguments: object, **more: Any) -> subprocess.CompletedProcess[str]:
    """A run of its own, from the root of the repository."""
    line = [sys.executable, "cli.py", *map(str, arguments)]
    settings: dict[str, Any] = {"cwd": ROOT, "capture_output": True, "encoding": "utf-8", "timeout": 900}
    return subprocess.run(line, **{**settings, **more}, check=False)


@pytest.fixture
def job(tmp_path: Path) -> Path:
    path = tmp_path / "small-room.toml"
    path.write_text(JOB, encoding="utf-8")
    return path


def tree(folder: Path) -> set[str]:
    """What is in a folder, but for the manifests beside the files."""
    return {str(path.relative_to(folder)) for path in folder.rglob("*") if ".nesting" not in path.parts}


def clean(text: str) -> bool:
    """No traceback, no leftovers of the machinery."""
    return "Traceback" not in text and "fault of this program" not in text


def timeless(value: Any) -> Any:
    """A document without its `seconds`, the one thing in it that the clock decides."""
    if isinstance(value, Mapping):
        return {key: timeless(entry) for key, entry in value.items() if key != "seconds"}
    return [timeless(entry) for entry in value] if isinstance(value, list) else value


# Whole runs of their own


def test_a_plan_as_json_is_all_there_is_on_standard_output(job: Path, tmp_path: Path) -> None:
    before = tree(tmp_path)
    done = command("plan", job, *BUDGET, "--format", "json")
    assert done.returncode == 0
    document = json.loads(done.stdout)
    assert document["schema"] == "nesting-plan/2"
    assert check_plan_document(document) == ()
    assert "Blue weave: buy" in done.stderr
    assert "\r" not in done.stderr
    assert "Ctrl-C" not in done.stderr
    assert tree(tmp_path) == before


def test_a_table_comes_through_a_locale_without_arrows(job: Path) -> None:
    plain = {**os.environ, "LC_ALL": "C", "PYTHONUTF8": "0", "PYTHONCOERCECLOCALE": "0"}
    plain.pop("PYTHONIOENCODING", None)
    done = command("plan", job, *BUDGET, env=plain)
    assert done.returncode == 0
    assert "from end ↑" in done.stdout
    assert clean(done.stderr)


def test_a_reader_that_goes_away_leaves_no_traceback(job: Path) -> None:
    line = [sys.executable, "cli.py", "plan", str(job), *BUDGET]
    with subprocess.Popen(
        line, cwd=ROOT, stdout=subprocess.PIPE, stderr=subprocess.PIPE, encoding="utf-8"
    ) as running:
        assert running.stdout is not None
        assert running.stderr is not None
        running.stdout.close()
        told = running.stderr.read()
        assert running.wait(timeout=900) == 0
    assert clean(told)
    assert "BrokenPipe" not in told
    assert "Blue weave: buy" in told


def hard_job() -> str:
    """Pieces of many odd sizes: a proof is out of reach for minutes."""
    head = 'title = "Remnants"\nunits = "in"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = 54\nusable = 53\n'
    return head + "".join(
        f'[[extra]]\nname = "Piece {n}"\nfabric = "face"\nwidth = {7 + n * 37 % 230 / 10}\n'
        f"length = {7 + n * 71 % 230 / 10}\n"
        for n in range(45)
    )


def read_terminal(end: int, until: str) -> str:
    """What a terminal shows until a text appears."""
    shown = ""
    while until not in shown:
        ready, _, _ = select.select([end], [], [], 900)
        assert ready, f"nothing more in a quarter of an hour after {shown[-200:]!r}"
        shown += os.read(end, 4096).decode("utf-8", "replace")
    return shown


def test_progress_on_a_terminal_and_an_interrupt_that_keeps_the_best(tmp_path: Path) -> None:
    path = tmp_path / "hard.toml"
    path.write_text(hard_job(), encoding="utf-8")
    ours, theirs = pty.openpty()
    line = [sys.executable, "cli.py", "plan", str(path), "--time-limit", "500", "--format", "json"]
    environment = {**os.environ, "TERM": "xterm", "COLUMNS": "120"}
    answer = tmp_path / "answer.json"
    with (
        answer.open("w") as out,
        subprocess.Popen(line, cwd=ROOT, stdout=out, stderr=theirs, env=environment) as running,
    ):
        os.close(theirs)
        shown = read_terminal(ours, " in, proven least ")
        running.send_signal(signal.SIGINT)
        shown += read_terminal(ours, "interrupted: the best layout found so far is given")
        assert running.wait(timeout=900) == 130
    os.close(ours)
    assert re.search(r"face: best \d+.* in, proven least \d+.* in, \d+\.\d s", shown)
    assert clean(shown)
    document = json.loads(answer.read_text("utf-8"))
    assert check_plan_document(document) == ()
    assert [layout["stop"] for layout in document["layouts"]] == ["interrupted"]


# What is answered, what is written


def test_the_table_shows_the_sum_of_what_is_bought(run: Run, job: Path) -> None:
    # Panels 30 + 4 hems = 34 x (60 + 8 + 4 at the top, twice 2) = 72; two on 68. Tie-backs at the end.
    done = run("plan", job, *BUDGET)
    assert done.code == 0
    numbers = dict(re.findall(r"(layout|squaring the end|=) (\d+(?: \d+/\d+)?) in", done.out))
    assert numbers["squaring the end"] == "2"
    document = json.loads(run("plan", job, *BUDGET, "--format", "json").out)
    (layout,) = document["layouts"]
    assert layout["length"] + 2 == layout["buy"]["length"] + layout["buy"]["allowances"][0]["length"]
    assert float(numbers["layout"].split()[0]) <= layout["length"]
    assert f"${layout['buy']['cost']:.2f}" in done.out
    assert all(line == line.rstrip() for line in done.out.splitlines())


def test_warnings_go_beside_the_answer(run: Run, job: Path) -> None:
    job.write_text(
        JOB.replace('rod_diameter = "1 3/8"', "").replace("clip-ring", "rod-pocket"), encoding="utf-8"
    )
    done = run("plan", job, *BUDGET, "--format", "json")
    assert "the rod's thickness is not given" in done.err
    assert json.loads(done.out)["title"] == "Small room"


@pytest.mark.parametrize("name", ["plan", "compare", "pieces"])
def test_csv_parses_and_every_row_is_whole(name: str, run: Run, job: Path) -> None:
    budget = () if name == "pieces" else BUDGET
    done = run(name, job, *budget, "--format", "csv")
    assert done.code == 0
    rows = list(csv.reader(io.StringIO(done.out)))
    assert len(rows) >= 3
    assert {len(row) for row in rows} == {len(rows[0])}


@pytest.mark.parametrize("name", ["compare", "pieces"])
def test_the_other_answers_are_json_too(name: str, run: Run, job: Path) -> None:
    budget = () if name == "pieces" else BUDGET
    answer = json.loads(run(name, job, *budget, "--format", "json").out)
    if name == "pieces":
        assert {piece["role"] for piece in answer} == {"panel", "tieback"}
    else:
        assert answer["schema"] == "nesting-comparison/2"
        assert [option["bolt_width"] for option in answer["options"]] == [70.0, 54.0]


def test_the_comparison_marks_the_best_and_says_why_the_rest_is_not(run: Run, job: Path) -> None:
    # 34 + 34 wide x 72 long lie beside each other on 68 only; a one-way nap is never turned.
    done = run("compare", job, *BUDGET, "--widths", "60")
    assert done.code == 0
    table, remarks = done.out.split("\n\n")[1:3]
    assert [line.split(" in")[0].strip() for line in table.splitlines()[2:]] == ["70", "54", "60"]
    told = dict(line.strip().split(" in: ", 1) for line in remarks.splitlines())
    document = json.loads(run("compare", job, *BUDGET, "--widths", "60", "--format", "json").out)
    options = document["options"]
    area = {o["bolt_width"]: o["bolt_width"] * o["quantity"] for o in options}
    cost = {o["bolt_width"]: o["cost"] for o in options if o["cost"] is not None}
    for width, words in told.items():
        assert ("least fabric" in words) is (area[float(width)] == min(area.values()))
        assert ("least cost" in words) is (cost.get(float(width)) == min(cost.values()))
        assert ("not on offer" in words) is (width == "60")
        assert "not sideways: Blue weave has a one-way nap" in words
    assert max(len(line) for line in table.splitlines()) <= 80


def test_compare_takes_further_widths(run: Run, job: Path) -> None:
    done = run("compare", job, *BUDGET, "--widths", "60, 3 ft,1.5 yd", "--format", "json")
    assert done.code == 0
    options = json.loads(done.out)["options"]
    # 3 ft = 36 in is new; 1.5 yd = 54 in is on offer already.
    assert [(o["bolt_width"], o["offered"]) for o in options] == [
        (70.0, True),
        (54.0, True),
        (60.0, False),
        (36.0, False),
    ]


def test_schema_prints_a_schema(run: Run) -> None:
    done = run("schema")
    assert done.code == 0
    assert json.loads(done.out)["type"] == "object"


@pytest.mark.parametrize(
    ("name", "files"),
    [
        (
            "plan",
            {
                "plan.json",
                "cut-list.csv",
                "marker-face.png",
                "marker-face.svg",
                "marker.pdf",
                "packet.html",
                "packet.pdf",
                "appendix.pdf",
                "labels.pdf",
                "labels.csv",
            },
        ),
        ("compare", {"comparison.json", "comparison.csv", "comparison.png"}),
        ("pieces", {"pieces.json", "pieces.csv"}),
    ],
)
def test_exactly_the_promised_files_are_written(
    name: str, files: set[str], run: Run, job: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "deep" / "folder"
    budget = () if name == "pieces" else BUDGET
    done = run(name, job, *budget, "-o", folder)
    assert done.code == 0
    assert tree(folder) == files
    assert all((folder / file).stat().st_size > 100 for file in files)
    assert all(f"written: {folder / file}" in done.err for file in files)
    assert tree(tmp_path) == {job.name, "deep", "deep/folder", *(f"deep/folder/{file}" for file in files)}


def test_the_same_budget_gives_the_same_bytes(run: Run, job: Path, tmp_path: Path) -> None:
    one, two = tmp_path / "one", tmp_path / "two"
    for folder in (one, two):
        assert run("plan", job, *BUDGET, "--seed", 3, "-o", folder).code == 0
    for name in sorted(tree(one) - {"plan.json"}):
        assert (one / name).read_bytes() == (two / name).read_bytes(), name
    # Only `seconds` may differ between the documents.
    first, second = (json.loads((folder / "plan.json").read_text("utf-8")) for folder in (one, two))
    assert timeless(first) == timeless(second)
    assert timeless(first) != first


def test_draw_gives_the_bytes_that_plan_gave(run: Run, job: Path, tmp_path: Path) -> None:
    planned, drawn = tmp_path / "planned", tmp_path / "drawn"
    run("plan", job, *BUDGET, "-o", planned, "--paper", "letter")
    done = run("draw", planned / "plan.json", "-o", drawn, "--paper", "letter")
    assert done.code == 0
    assert tree(drawn) == {"marker-face.png", "marker-face.svg", "marker.pdf"}
    assert done.out.split() == [
        str(drawn / name) for name in ("marker-face.png", "marker-face.svg", "marker.pdf")
    ]
    for name in tree(drawn):
        assert (drawn / name).read_bytes() == (planned / name).read_bytes(), name


@pytest.mark.parametrize("units", ["in", "cm", "mm"])
def test_the_starter_can_be_planned_as_it_stands(units: str, run: Run, tmp_path: Path) -> None:
    done = run("start", "--units", units)
    assert done.code == 0
    path = tmp_path / "starter.toml"
    path.write_text(done.out, encoding="utf-8")
    assert run("check", path).code == 0
    made = run("plan", path, "--work-limit", "0.2", "--workers", "1", "--format", "json")
    assert made.code == 0
    assert json.loads(made.out)["units"] == units


def test_start_never_overwrites_a_job(run: Run, tmp_path: Path) -> None:
    first = run("start", "-o", tmp_path)
    assert (first.code, first.out) == (0, f"{tmp_path / 'job.toml'}\n")
    (tmp_path / "job.toml").write_text("mine", encoding="utf-8")
    second = run("start", "-o", tmp_path)
    assert second.code == 2
    assert "is there already" in second.err
    assert (tmp_path / "job.toml").read_text("utf-8") == "mine"
    assert tree(tmp_path) == {"job.toml"}


# Check


def test_check_of_a_job_counts_what_it_holds(run: Run, job: Path) -> None:
    done = run("check", job)
    assert done.code == 0
    assert "a job that can be planned (1 window, 0 extras)" in done.out


def test_check_tells_a_job_that_cannot_be_planned(run: Run, job: Path) -> None:
    job.write_text(
        JOB + '[[extra]]\nname = "Sail"\nfabric = "face"\nwidth = 80\nlength = 10\n', encoding="utf-8"
    )
    for name in ("check", "plan"):
        done = run(name, job)
        assert done.code == 3
        assert done.out == ""
        assert "Sail: cut 80 in wide x 10 in long" in done.err


def doctored(folder: Path, spoil: Callable[[dict[str, Any]], object]) -> Path:
    path = folder / "plan.json"
    document = json.loads(path.read_text("utf-8"))
    spoil(document)
    path.write_text(json.dumps(document), encoding="utf-8")
    return path


def _shift(document: dict[str, Any]) -> None:
    document["layouts"][0]["placements"][0]["y"] += 0.5


def _flatter(document: dict[str, Any]) -> None:
    document["layouts"][0]["buy"]["cost"] -= 1


def _boast(document: dict[str, Any]) -> None:
    document["layouts"][0]["lower_bound"] -= 1


@pytest.mark.parametrize("spoil", [_shift, _flatter, _boast])
def test_a_doctored_plan_is_found_out_and_not_drawn(
    spoil: Callable[[dict[str, Any]], object], run: Run, job: Path, tmp_path: Path
) -> None:
    folder = tmp_path / "out"
    run("plan", job, *BUDGET, "-o", folder)
    good = run("check", folder / "plan.json")
    first, *proofs = good.out.splitlines()
    assert (good.code, first) == (0, f"{folder / 'plan.json'}: layout verified, a plan that keeps every rule")
    # Two panels beside each other and a row of tie-backs: wide rows, which weights of parts prove.
    assert len(proofs) == 1
    assert proofs[0].endswith("is the best possible: re-proved here from its certificate")
    path = doctored(folder, spoil)
    bad = run("check", path)
    assert (bad.code, bad.out) == (1, "")
    assert "rules broken: " in bad.err
    drawn = run("draw", path, "-o", tmp_path / "drawn")
    assert drawn.code == 1
    assert not (tmp_path / "drawn").exists()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"schema": "nesting-plan/9"}',
        '{"schema": "nesting-plan/2"}',
        "[" * 9999,
        "\0\1",
    ],
)
def test_garbage_is_no_plan(text: str, run: Run, tmp_path: Path) -> None:
    path = tmp_path / "garbage.json"
    path.write_text(text, encoding="utf-8")
    for arguments in (("check", path), ("draw", path, "-o", tmp_path / "drawn")):
        done = run(*arguments)
        assert done.code == 2
        assert clean(done.err)
        assert done.err.startswith("nesting: ")
    assert tree(tmp_path) == {"garbage.json"}


# Bad input: one readable message, the right code, nothing written

LAST = 'count = 2\nfabric = "face"\n'
WIDE = '[[extra]]\nname = "Sail"\nfabric = "face"\nwidth = 80\nlength = 90\n'


@pytest.mark.parametrize(
    ("old", "new", "code", "said"),
    [
        ("rod = 40", "rood = 40", 2, 'rood'),
        ("rod = 40", "rod = -40", 2, "a length above 0"),
        ("rod = 40", "rod = 1e9", 2, "rod"),
        ("rod = 40", 'rod = "9999 km"', 2, "rod"),
        ("rod = 40", 'rod = "7 ft 30 cm"', 2, "mixes inches and metric"),
        ("rod = 40", "rod = nan", 2, "rod"),
        ("rod = 40", "rod = 84 1/2", 2, "fractions and units in quotes"),
        ("fullness = 1.5", "fullness = 0", 2, "fullness = 0"),
        ("fullness = 1.5", 'fabric = "velvet"', 2, "velvet"),
        ("fullness = 1.5", 'lining = "lining"', 2, "lining"),
        ("width = 70", "width = 0", 2, "width = 0"),
        ("usable = 68", "usable = 80", 2, "usable"),
        ('units = "in"', 'units = "furlong"', 2, "furlong"),
        ('title = "Small room"', WIDE.replace("[[extra]]\n", ""), 2, "name"),
        ("count = 2", "count = 0", 2, "count = 0"),
        (LAST, LAST + WIDE, 3, "Sail: cut 80 in wide x 90 in long"),
    ],
)  # fmt: skip
def test_a_bad_job_gets_one_readable_message(
    old: str, new: str, code: int, said: str, run: Run, job: Path, tmp_path: Path
) -> None:
    assert old in JOB
    job.write_text(JOB.replace(old, new, 1), encoding="utf-8")
    for name in ("plan", "compare", "check"):
        flags = () if name == "check" else (*BUDGET, "-o", tmp_path / "out")
        done = run(name, job, *flags)
        assert done.code == code, (name, done.err)
        assert said in done.err
        assert clean(done.err)
        assert done.err.count("nesting: ") == 1
        assert name == "compare" or done.out == ""


@pytest.mark.parametrize(
    "data",
    [
        b"",
        b"   \n",
        b"\x89PNG\r\n\x1a\n\0\0\0",
        b"\xff\xfe\x00",
        b"just words",
        b"[[[[",
        b"a = " + b"[" * 5000,
    ],
)
def test_a_file_that_is_no_job_is_refused(data: bytes, run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_bytes(data)
    for name in ("plan", "compare", "pieces", "check"):
        done = run(name, path)
        assert (done.code, done.out) == (2, "")
        assert clean(done.err)
        assert str(path) in done.err


def test_a_folder_or_nothing_at_all_is_no_job(run: Run, tmp_path: Path) -> None:
    for path, said in ((tmp_path, "a folder stands here"), (tmp_path / "gone.toml", "there is no such file")):
        for name in ("plan", "check"):
            done = run(name, path)
            assert (done.code, done.out) == (2, "")
            assert said in done.err
    for arguments in (("check", tmp_path / "gone.json"), ("draw", tmp_path, "-o", tmp_path / "out")):
        done = run(*arguments)
        assert done.code == 2
        assert clean(done.err)


@pytest.mark.parametrize(
    "flags",
    [
        ("--time-limit", "-1"),
        ("--time-limit", "nan"),
        ("--time-limit", "inf"),
        ("--time-limit", "soon"),
        ("--work-limit", "nan"),
        ("--work-limit", "-3"),
        ("--workers", "0"),
        ("--workers", "9999"),
        ("--seed", "-1"),
        ("--format", "xml"),
        ("--paper", "a0"),
        ("--color", "red"),
        ("another.toml",),
    ],
)
def test_bad_flags_are_bad_usage(flags: tuple[str, ...], run: Run, job: Path, tmp_path: Path) -> None:
    done = run("plan", job, *flags)
    assert (done.code, done.out) == (2, "")
    assert flags[0] in done.err or "argument" in done.err
    assert clean(done.err)
    assert tree(tmp_path) == {job.name}


@pytest.mark.parametrize(
    "widths",
    ["wide", "54,,60", "54,5", "1,37", "54;60", "-54", "0", "54,1/0", "1e9", "9999999", "7 ft 30 cm"],
)
def test_bad_widths_are_bad_usage(widths: str, run: Run, job: Path) -> None:
    done = run("compare", job, f"--widths={widths}")
    assert (done.code, done.out) == (2, "")
    assert "--widths" in done.err
    assert clean(done.err)


@pytest.mark.parametrize(
    ("units", "widths", "read"),
    [
        ("cm", "137,5", None),  # 137 and 5 cm, or 137.5 cm
        ("mm", "1,372", None),  # 1 and 372 mm, or 1372 mm
        ("cm", "137, 5", ["137", "5"]),
        ("cm", "137,280", ["137", "280"]),
        ("cm", "137.5,280", ["137.5", "280"]),
        ("in", "45,54,60", ["45", "54", "60"]),
        ("in", "45 1/2,54", ["45 1/2", "54"]),
    ],
)
def test_a_comma_between_widths_has_one_reading(units: Unit, widths: str, read: list[str] | None) -> None:
    job = read_job_text(f'units = "{units}"\n[fabric.face]\n[[fabric.face.bolt]]\nwidth = "150 cm"\n'
                        "[[extra]]\nwidth = 100\nlength = 100\n")  # fmt: skip
    if read is None:
        with pytest.raises(JobError, match="a space behind each comma"):
            widths_said(job, widths)
    else:
        assert widths_said(job, widths) == tuple(to_ticks(width, units) for width in read)


def test_lengths_of_flags_have_one_reading() -> None:
    job = read_job_text('units = "cm"\n[fabric.face]\nrepeat = { length = 64, width = 64 }\n'
                        "[[fabric.face.bolt]]\nwidth = 140\n"
                        "[[extra]]\nwidth = 100\nlength = 100\n")  # fmt: skip
    for asked in (
        lambda: remeasured(job, ("face=64.125",), ()),
        lambda: remeasured(job, ("face=192.375 over 3",), ()),
        lambda: remeasured(job, (), ("face=12.500",)),
        lambda: with_margin(job, "12.500"),
        lambda: with_margin(job, "11/8 yd"),
        lambda: with_margin(job, "21/2 %"),
        lambda: with_margin(job, "1,250 %"),
        lambda: with_margin(job, "1_0 %"),
        lambda: widths_said(job, "137.125"),
    ):
        with pytest.raises(JobError):
            asked()
    assert with_margin(job, "2,5 %") == with_margin(job, "5/2 %") == with_margin(job, "2.5 %")
    assert remeasured(job, ("face=64.13",), ()).fabrics[0].repeat != job.fabrics[0].repeat


def test_a_place_that_cannot_be_written_is_told_before_the_work(
    run: Run, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def never(*_: object, **__: object) -> Result:
        raise AssertionError("the search was started")

    monkeypatch.setattr(effort, "pack", never)
    for place in (job, job / "below" / "it"):
        for name in ("plan", "compare", "pieces"):
            done = run(name, job, "-o", place)
            assert (done.code, done.out) == (2, "")
            assert f"{job} is a file: name a folder after -o" in done.err
    assert tree(tmp_path) == {job.name}


def test_draw_wants_a_folder(run: Run, job: Path, tmp_path: Path) -> None:
    run("plan", job, *BUDGET, "-o", tmp_path / "out")
    done = run("draw", tmp_path / "out" / "plan.json")
    assert done.code == 2
    assert "-o" in done.err


def test_compare_goes_on_past_a_bolt_that_is_too_narrow(run: Run, job: Path) -> None:
    job.write_text(JOB + WIDE.replace("80", "60"), encoding="utf-8")
    done = run("compare", job, *BUDGET, "--format", "json")
    assert done.code == 0
    wide, narrow = json.loads(done.out)["options"]
    assert (wide["status"], wide["reason"]) == ("optimal", "")
    assert "Sail: cut 60 in wide" in narrow["reason"]
    assert "length" not in narrow


# Faults of the program, and nothing found


def test_a_layout_that_fails_its_check_is_neither_shown_nor_written(
    run: Run, job: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def spoiled(problem: Problem, **said: Any) -> Result:
        result = pack(problem, **said)
        return replace(result, placements=tuple(replace(at, x=0, y=0) for at in result.placements))

    monkeypatch.setattr(effort, "pack", spoiled)
    done = run("plan", job, *BUDGET, "-o", tmp_path / "out")
    assert (done.code, done.out) == (1, "")
    assert "failed its check" in done.err
    assert "Traceback" not in done.err
    assert tree(tmp_path) == {job.name}


def test_nothing_found_has_its_own_code(run: Run, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def nothing(problem: Problem, **said: Any) -> Result:
        return replace(pack(problem, **said), length=None, placements=(), stop=Stop.TIME_LIMIT)

    monkeypatch.setattr(effort, "pack", nothing)
    done = run("plan", job, *BUDGET)
    assert (done.code, done.out) == (4, "")
    assert "no layout was found in the time" in done.err


def test_an_unforeseen_fault_is_owned_up_to(run: Run, job: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(problem: Problem, **said: Any) -> Result:
        raise ZeroDivisionError("a slip")

    monkeypatch.setattr(effort, "pack", broken)
    monkeypatch.delenv("NESTING_TRACEBACK", raising=False)
    done = run("plan", job, *BUDGET)
    assert done.code == 1
    assert "a fault of this program, not of your job: ZeroDivisionError: a slip" in done.err


# The cut list


MANY_TABS = (
    JOB.replace("clip-ring", "back-tab").replace("rod = 40", "rod = 80").replace("count = 2", "count = 6")
)


def test_equal_small_pieces_that_touch_are_one_entry_and_nothing_is_lost() -> None:
    made = plan(read_job_text(MANY_TABS), effort=Effort(work=1.0, workers=1))
    (layout,) = made.layouts
    entries = list(blocks(layout.placements))
    assert sum(block.count for block in entries) == len(layout.placements)
    assert len(entries) < len(layout.placements) - 10
    spots = {(laid.piece.id, laid.turn, laid.x, laid.y) for laid in layout.placements}
    told = {
        (block.first.piece.id, block.first.turn,
         block.first.x + across * block.first.width, block.first.y + along * block.first.length)
        for block in entries
        for across in range(block.across)
        for along in range(block.along)
    }  # fmt: skip
    assert told == spots
    assert [(block.first.y, block.first.x) for block in entries] == sorted(
        (block.first.y, block.first.x) for block in entries
    )
    panels = [block for block in entries if block.first.piece.role == "panel"]
    assert all(block.count == 1 for block in panels)


def test_the_csv_lists_every_cut_that_the_table_takes_together(run: Run, job: Path) -> None:
    job.write_text(MANY_TABS, encoding="utf-8")
    rows = list(csv.DictReader(io.StringIO(run("plan", job, *BUDGET, "--format", "csv").out)))
    tabs = [row for row in rows if row["role"] == "tab"]
    document = json.loads(run("plan", job, *BUDGET, "--format", "json").out)
    copies = sum(piece["copies"] for piece in document["pieces"] if piece["role"] == "tab")
    assert len(tabs) == copies > 10
    table = run("plan", job, *BUDGET).out
    counted = [int(n) for n in re.findall(rf"tab, (\d+) of {copies}: ", table)]
    single = len(re.findall(rf"tab \(\d+ of {copies}\)", table))
    assert sum(counted) + single == copies


def test_a_plan_read_back_gives_the_same_table(run: Run, job: Path, tmp_path: Path) -> None:
    from rich.console import Console

    done = run("plan", job, *BUDGET, "-o", tmp_path / "out")
    page = io.StringIO()
    Console(file=page, width=140, highlight=False, markup=False, emoji=False).print(
        plan_table(read_plan(tmp_path / "out" / "plan.json"))
    )
    assert [line.rstrip() for line in page.getvalue().splitlines()] == done.out.splitlines()


# Lengths on hand

#: 60 + 8 1/2 for hems: the pair lies on 70 of fabric. One window fits, the other is short of what it takes.
ON_HAND = (
    JOB.replace(
        "price = 10\n",
        'price = 10\n[[fabric.face.bolt.on_hand]]\nname = "attic"\nlength = 80\nlot = "A"\n',
    ).replace("[[window.tieback]]\nlength = 26\nwidth = 4\ncount = 2\n", "")
    + """
[[window]]
name = "West"
rod = 40
rod_diameter = "1 3/8"
finished_length = 60
heading = "clip-ring"
fullness = 1.5
"""
)


def test_what_lengths_on_hand_do_not_hold_ends_with_3_and_the_partial_plan(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "attic.toml"
    path.write_text(ON_HAND.replace('fabric = "face"\n\n', "\n", 1), encoding="utf-8")
    done = run("plan", path, "-o", tmp_path / "out", *BUDGET)
    assert done.code == 3
    assert clean(done.err)
    assert "West" in done.err.splitlines()[-1]
    assert "not enough fabric on hand: Blue weave: buy 2 1/8 yd more, $21.25; left out: West" in done.err
    assert "length on hand  attic, lot A: 80 in" in done.out
    assert "Not enough fabric on hand: Blue weave" in done.out
    assert (tmp_path / "out/marker-face-attic.png").exists()
    document = json.loads((tmp_path / "out/plan.json").read_text("utf-8"))
    assert check_plan_document(document) == ()
    assert {out["window"] for out in document["left_out"]} == {"West"}
    assert run("check", tmp_path / "out/plan.json").code == 0
    packet = (tmp_path / "out/packet.html").read_text("utf-8")
    assert "lot A" in packet
    assert packet.count("Not enough fabric on hand: Blue weave") == 1
    assert '<td class="l">West</td>' in packet
