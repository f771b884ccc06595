"""A heading of one module and one line of the registry works everywhere; `toy_heading` is such a one."""

from __future__ import annotations

import json
import subprocess
import sys
from dataclasses import fields
from pathlib import Path
from typing import Any

import pytest

from nesting.headings import HEADINGS, OWN_SIZES
from nesting.order.job import Window
from nesting.outputs import OUTPUTS, Output
from nesting.units import INCH

TOY = Path(__file__).parent / "toy_heading.py"


@pytest.fixture(scope="module")
def folder(tmp_path_factory: pytest.TempPathFactory) -> Path:
    made = tmp_path_factory.mktemp("toy")
    run = subprocess.run([sys.executable, str(TOY), str(made)], capture_output=True, text=True, check=False)
    assert run.returncode == 0, run.stderr
    return made


@pytest.fixture(scope="module")
def told(folder: Path) -> dict[str, Any]:
    found: dict[str, Any] = json.loads((folder / "told.json").read_text("utf-8"))
    return found


def test_it_is_cut_laid_and_checked(told: dict[str, Any]) -> None:
    assert told["violations"] == []
    # Hem 1/2 off the floor: 89 1/2 finished, a bottom hem of 4 twice, the sleeve of 5 as ordered.
    assert set(told["lengths"]) == {int(102.5 * INCH)}
    assert told["view"] == ["face"]


def test_the_check_says_what_it_left_open(told: dict[str, Any]) -> None:
    (line,) = told["open"]
    assert "sleeve" in line


def test_its_key_is_one_of_job_file_page_and_plan(told: dict[str, Any]) -> None:
    assert told["own"] == 5 * INCH
    assert told["again"]
    assert "Depth of the sleeve." in told["schema"]
    assert told["usual"]["sleeve_depth"] == "3 in"
    assert told["of_use"] == [True, False]


def test_it_is_offered_and_drawn(told: dict[str, Any]) -> None:
    assert '"sleeve"' in told["schema"]
    assert "pencil-pleat, sleeve" in told["starter"]
    assert told["picture"].count("<path") > 5
    assert "<path" in told["sketch"]


def test_every_file_is_made_and_tells_of_it(folder: Path) -> None:
    for each in OUTPUTS:
        if isinstance(each, Output) and "plan" in each.places:
            assert (folder / each.name).stat().st_size > 50
    packet = (folder / "packet.html").read_text("utf-8")
    assert "Fold the upper edge 5 in to the back" in packet
    assert "4 catches" in packet
    assert "snaps" in packet


def test_keys_of_headings_are_no_keys_of_every_window() -> None:
    assert not OWN_SIZES.keys() & {field.name for field in fields(Window)}
    # Two headings may share a key where both mean the same by it.
    assert all(OWN_SIZES[size.key] == size for style in HEADINGS.values() for size in style.own_sizes)
