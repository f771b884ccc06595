"""What the README says is so: its table, its Python, its two commands in one line each."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

from nesting import Effort, plan_job, read_job
from nesting.units import to_decimal
from tests.seeds import nightly

ROOT = Path(__file__).parents[1]
README = (ROOT / "README.md").read_text("utf-8")
ROW = re.compile(r"^\| `(?P<file>[\w.-]+\.toml)` \| (?P<cells>.+) \|$", re.MULTILINE)
ROWS = [(row["file"], *(cell.strip() for cell in row["cells"].split("|"))) for row in ROW.finditer(README)]


def test_every_sample_has_its_rows() -> None:
    assert {row[0] for row in ROWS} == {path.name for path in (ROOT / "samples").glob("*.toml")}


def test_every_sample_is_promised_to_be_proven_best() -> None:
    """And the next test holds the engine to it."""
    assert {row[0] for row in ROWS if row[4] == "optimal"} == {row[0] for row in ROWS}
    assert all(row[4] == "optimal" for row in ROWS)


#: Of some seconds each.
LONG = {"loft-metric.toml", "remnants.toml", "three-window-house.toml", "workshop.toml"}


@pytest.mark.parametrize(
    "file", [nightly(each) if each in LONG else each for each in sorted({row[0] for row in ROWS})]
)
def test_the_table_is_true(file: str) -> None:
    job = read_job(ROOT / "samples" / file)
    made = plan_job(job, effort=Effort(work=30, workers=1))
    found = []
    for layout in made.layouts:
        assert layout.length is not None
        if layout.on_hand is not None:
            length = f"{to_decimal(layout.length, job.units):g} {job.units}"
            name = f"{layout.fabric.title}, {layout.on_hand}"
            found.append((file, name, length, "-", str(layout.status), "-", "-"))
            continue
        assert layout.rule_of_thumb is not None
        rule = layout.rule_of_thumb.length
        lengths = (layout.length, layout.bound.length, rule)
        length, bound, thumb = (f"{to_decimal(ticks, job.units):g} {job.units}" for ticks in lengths)
        saved = f"{100 * (1 - layout.length / rule):.0f} %"
        found.append((file, layout.fabric.title, length, bound, str(layout.status), thumb, saved))
    assert found == [row for row in ROWS if row[0] == file]


#: Blocks that begin with the command that prints them; the budget is work, so they are the same anywhere.
PRINTED = re.findall(r"```text\nnesting ([^\n]+)\n\n(.+?)```", README, re.DOTALL)


def test_each_block_of_output_names_its_command() -> None:
    assert len(PRINTED) == README.count("```text") >= 1


@pytest.mark.nightly
@pytest.mark.parametrize(("words", "block"), PRINTED)
def test_what_it_shows_is_what_is_printed(words: str, block: str) -> None:
    """Every line of a block stands in the output, in that order; rules between lines are left out."""
    line = [sys.executable, "cli.py", *words.split()]
    ran = subprocess.run(line, cwd=ROOT, capture_output=True, encoding="utf-8", check=True)
    printed = [text.split() for text in ran.stdout.splitlines()]
    at = 0
    for shown in filter(str.strip, block.splitlines()):
        assert shown.split() in printed[at:], f"no longer printed: {shown}"
        at = printed.index(shown.split(), at) + 1
    # And nothing between them is left out but rules and empty lines.
    first, last = (
        printed.index(text.split()) for text in (block.splitlines()[0], block.rstrip().splitlines()[-1])
    )
    between = [text for text in printed[first : last + 1] if any(word.strip("─") for word in text)]
    assert len(between) == len([text for text in block.splitlines() if text.strip()])


def test_its_python_runs() -> None:
    (code,) = re.findall(r"```python\n(.+?)```", README, re.DOTALL)
    assert len([line for line in code.splitlines() if line.strip()]) <= 10
    ran = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert "Quince branch print optimal 612 1/4 in" in ran.stdout


@pytest.mark.parametrize("which", ["one", "two"])
def test_each_command_is_one_line(which: str) -> None:
    block = re.search(rf"<!-- command {which} -->\n```sh\n(.+?)```", README, re.DOTALL)
    assert block is not None
    assert len(block[1].strip().splitlines()) == 1


def test_its_picture_is_there() -> None:
    for path in re.findall(r"!\[[^\]]+\]\(([^)]+)\)", README):
        assert (ROOT / path).read_bytes().startswith(b"\x89PNG")
