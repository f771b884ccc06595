"""Odd files, odd numbers and streams that are gone: a clear word and an end, soon."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from nesting.check import check_plan_document
from nesting.check.violation import ENOUGH_MISSING, Breach, count_copies
from nesting.commands.streams import plain
from nesting.errors import JobError, NestingError
from nesting.files import read_comparison, read_job, read_job_text, read_plan, read_plan_document
from nesting.files.measurement_list import read_list
from nesting.files.outline import outline_of

ROOT = Path(__file__).parents[1]
SAMPLE = ROOT / "samples" / "reading-nook.toml"


def shell(line: str, **more: Any) -> subprocess.CompletedProcess[bytes]:
    """A line of a shell in which ``$nesting`` is the command; after 15 minutes it is taken to hang."""
    settings = {"nesting": f"{sys.executable} {ROOT / 'cli.py'}", "PATH": os.environ["PATH"]}
    return subprocess.run(
        ["bash", "-c", line], capture_output=True, timeout=900, env=settings | more, check=False
    )


@pytest.mark.skipif(not hasattr(os, "mkfifo"), reason="no pipes with names here")
def test_pipes_and_devices_are_refused_at_once(tmp_path: Path) -> None:
    pipe = tmp_path / "pipe.toml"
    os.mkfifo(pipe)
    job = read_job(SAMPLE)
    readers: tuple[Callable[[Path], object], ...] = (
        read_job,
        read_plan,
        read_plan_document,
        lambda path: read_comparison(path, job),
    )
    for place in (pipe, Path("/dev/zero")):
        for read in readers:
            with pytest.raises(NestingError, match="a pipe or a device"):
                read(place)
    assert "a pipe or a device" in str(read_list("pipe.toml", tmp_path / "job.toml").faults)


def test_of_many_faults_the_first_are_told() -> None:
    """20,000 unknown keys were 2.6 MB of words, each with the keys it is like."""
    keys = "".join(f"finishedlength{number} = 1\n" for number in range(20_000))
    with pytest.raises(JobError) as caught:
        read_job_text(keys)
    assert len(caught.value.faults) > 20_000
    told = str(caught.value)
    assert len(told) < 20_000
    assert told.splitlines()[0].startswith("2000")
    assert told.splitlines()[-1].endswith("more, which come when these are put right")


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a" + ".a" * 11_500 + " = 1", "nests too deep"),
        ("a = " + "[" * 5_000 + "]" * 5_000, "nests too deep"),
        ("rod = 0x" + "f" * 20_000, "a number too large to use"),
        ("[[window]]\nrod = [[0b" + "1" * 20_000 + "]]", "window: 1: rod: 1: 1 = a number too large"),
    ],
)
def test_what_no_job_needs_is_refused_before_it_is_parsed(text: str, said: str) -> None:
    with pytest.raises(JobError, match=said):
        read_job_text(text)


def test_the_outline_of_a_text_looks_past_strings_and_remarks() -> None:
    text = 'a = "x.y.z = [[[" # {{{ b = 1\nc.d = [{e = \'"\'}]\nf = """\ng = "\n"""\n'
    found = outline_of(text)
    assert (found.entries, found.depth) == (4, 2)
    assert outline_of("").depth == 0


@pytest.mark.nightly
def test_a_plan_of_endless_copies_is_refused(tmp_path: Path) -> None:
    document = json.loads(made_plan())
    document["pieces"][0]["copies"] = 10**18
    path = tmp_path / "plan.json"
    path.write_text(json.dumps(document), encoding="utf-8")
    with pytest.raises(NestingError, match="copies"):
        read_plan(path)
    with pytest.raises(NestingError, match="a whole number of copies up to"):
        check_plan_document(document)
    document = json.loads(made_plan())
    document["left_out"] = [{"piece": document["pieces"][0]["id"], "copies": 10**18, "shortfall": 1}]
    with pytest.raises(NestingError, match="a whole number of copies up to"):
        check_plan_document(document)


def made_plan() -> str:
    words = [sys.executable, "cli.py", "plan", str(SAMPLE), "--work-limit", "0.05", "--format", "json"]
    return subprocess.run(words, cwd=ROOT, capture_output=True, check=True, encoding="utf-8").stdout


def test_missing_copies_are_named_and_counted() -> None:
    # Of 10,000 copies the first three and one that was never ordered lie: 9,997 are missing.
    found = list(count_copies("napkin", 10_000, {1: 1, 2: 1, 3: 2, 10_001: 1}))
    missing = [one for one in found if one.kind is Breach.MISSING_COPY]
    assert len(missing) == ENOUGH_MISSING + 1
    assert sum(one.amount for one in missing) == 9_997
    assert [one.what for one in found if one.kind is Breach.EXTRA_COPY] == [
        '"napkin" copy 3',
        '"napkin" copy 10001',
    ]


@pytest.mark.skipif(os.name == "nt", reason="a shell of Unix")
@pytest.mark.parametrize(
    ("where", "code"),
    [(">&-", 0), ("2>&-", 0), (">&- 2>&-", 0), ("<&- >&- 2>&-", 0), (">/dev/full", 2), ("2>/dev/full", 0)],
)
def test_streams_that_are_closed_or_full_are_no_fault_of_ours(tmp_path: Path, where: str, code: int) -> None:
    done = shell(f"$nesting pieces {SAMPLE} -o {tmp_path} {where}")
    assert done.returncode == code, done.stderr
    assert b"fault of this program" not in done.stderr
    # What is written into files did not go where a closed stream was.
    assert (tmp_path / "pieces.csv").read_text("utf-8").startswith("piece,name,")


@pytest.mark.nightly
def test_nothing_of_a_job_commands_the_terminal(tmp_path: Path) -> None:
    """Escape sequences in a plan (a job file with them is refused), its table, remarks and errors."""
    assert plain("a\x1b[2Jb\x9b1mc\rd\u202ee\nf\tg\x7f") == "a�[2Jb�1mc�d�e\nf\tg�"
    document = json.loads(made_plan())
    text = json.dumps(document).replace("Nook window", "N\\u001b]0;x\\u0007\\u009b31m")
    path = tmp_path / "plan.json"
    path.write_text(text, encoding="utf-8")
    for words in (
        f"pieces {path}",
        f"plan {path} --time-limit 0.1",
        f"check {path}",
        "check 'x\x1b[2J.toml'",
    ):
        done = shell(f"$nesting {words}")
        told = done.stdout.decode() + done.stderr.decode()
        assert told
        assert not any(sign in told for sign in "\x1b\x07\x9b"), words
