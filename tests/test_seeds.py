"""Which tests run when, and with which seeds."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.seeds import SESSION, seeds, some

TOP = Path(__file__).parents[1]
TESTS = sorted((TOP / "tests").glob("test_*.py"))


def values_of(params: list[Any]) -> tuple[list[Any], list[Any]]:
    """Of the quick run, and of the night."""
    night = [each.values[0] for each in params if hasattr(each, "marks")]
    return [each for each in params if not hasattr(each, "marks")], night


def test_seeds_of_the_night_follow_from_the_session(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(SESSION, "nightly", True)
    for session in (3, 4):
        monkeypatch.setattr(SESSION, "seed", session)
        assert values_of(seeds(2, 4)) == ([0, 1], [1000 * session + n for n in range(4)])


@pytest.mark.parametrize("quick", [1, 2, 3, 6])
def test_some_of_a_family_are_quick_and_none_is_lost(quick: int, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(SESSION, "nightly", True)
    few, rest = values_of(some("abcdefg", quick))
    assert len(few) == quick
    assert sorted([*few, *rest]) == list("abcdefg")
    assert few[0] == "a"


def test_a_large_family_is_gone_through_night_by_night(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(SESSION, "nightly", True)
    nights = list[list[int]]()
    for session in range(40):
        monkeypatch.setattr(SESSION, "seed", session)
        few, night = values_of(some(range(50), 5, 10))
        assert few == [0, 10, 20, 30, 40]
        assert len(night) == 10
        nights.append(night)
    assert {*few, *(each for night in nights for each in night)} == set(range(50))
    monkeypatch.setattr(SESSION, "every", True)
    assert len(some(range(50), 5, 10)) == 50
    monkeypatch.setattr(SESSION, "nightly", False)
    assert some(range(50), 5, 10) == [0, 10, 20, 30, 40]
    assert seeds(2, 4) == [0, 1]


def collected(*words: str) -> str:
    line = [sys.executable, "-m", "pytest", "-n", "0", "--collect-only", "tests/test_ease.py", *words]
    return subprocess.run(line, cwd=TOP, capture_output=True, text=True, check=True).stdout


def test_the_night_says_its_seed_and_leaves_out_what_is_quick() -> None:
    told = collected("-m", "nightly", "--seed", "7")
    assert "nightly: --seed 7" in told
    assert {int(seed) // 1000 for seed in re.findall(r"_checker\[(\d+)\]", told)} == {7}


def test_without_a_word_nothing_nightly_is_run() -> None:
    assert {int(seed) for seed in re.findall(r"_checker\[(\d+)\]", collected())} == set(range(12))


def test_a_failure_at_night_says_how_to_see_it_again(tmp_path: Path) -> None:
    """In a folder of its own, with the conftest and the seeds of ours."""
    folder = tmp_path / "tests"
    folder.mkdir()
    for name in ("conftest.py", "seeds.py"):
        (folder / name).write_text((TOP / "tests" / name).read_text("utf-8"), "utf-8")
    (tmp_path / "pytest.ini").write_text("[pytest]\npythonpath = .\nmarkers = nightly\n", "utf-8")
    head = "from hypothesis import given, strategies as st\n\n"
    text = head + "@given(st.integers())\ndef test_x(n):\n    assert n != n\n"
    (folder / "test_it.py").write_text(text, "utf-8")
    line = [sys.executable, "-m", "pytest", "-m", "nightly", "--seed", "7", "-p", "no:cacheprovider", "tests"]
    done = subprocess.run(line, cwd=tmp_path, capture_output=True, text=True, check=False)
    assert done.returncode == 1
    assert 'python -m pytest -m nightly --seed 7 "tests/test_it.py::test_x"' in done.stdout


def test_no_test_goes_its_own_way() -> None:
    """Numbers of examples are said by `examples`, which knows both runs."""
    for path in TESTS:
        text = path.read_text("utf-8")
        assert path == Path(__file__) or not re.search(r"mark\.slow|\bmax_examples|derandomize", text), (
            path.name
        )
