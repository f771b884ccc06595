"""Every figure that is told has its command in the list, and every command of the list is told."""

from __future__ import annotations

import re
import shlex
import subprocess
import sys
from pathlib import Path

import pytest

from tests.benchmarks.record import BENCHMARKS, BY_NAME, FIGURES, RESULTS, ROOT, Of, command_of, main, missing

#: What measures, word for word; words in capitals stand for others and are no figure.
_COMMAND = re.compile(r"python (?:-m tests\.[\w.]+|tests/[\w/]+\.py)[^`]*")
_PLACEHOLDER = re.compile(r"\b[A-Z]{3,}\b|\bFILE\b")
#: Whatever makes the set, and the list itself, give no figure by themselves.
_NO_FIGURE = (
    "python -m tests.benchmarks.record",
    "python -m tests.benchmarks.best_known make",
    "python -m tests.benchmarks.best_known improve",
    "python -m tests.benchmarks.best_known certify",
    "python -m tests.benchmarks.profiles draw",
    "python tests/benchmarks/plain_check.py",
)
#: Sections whose tables tell what there is and measure nothing; `tests/test_best_known.py` holds the counts.
_DESCRIBING = ("Families", "Form")


def text_of(page: str) -> str:
    return (ROOT / page).read_text("utf-8")


def commands_on(page: str) -> set[str]:
    """The commands of figures that a page tells."""
    spans = (" ".join(found.split()) for found in re.findall(r"`([^`]+)`", text_of(page)))
    whole = {span for span in spans if _COMMAND.fullmatch(span) and not _PLACEHOLDER.search(span)}
    return {command for command in whole if not command.startswith(_NO_FIGURE)}


@pytest.mark.parametrize("page", [BENCHMARKS, RESULTS])
def test_every_command_on_the_page_is_in_the_list(page: str) -> None:
    told = commands_on(page)
    assert len(told) > 3
    assert told <= {figure.command for figure in FIGURES}
    assert {figure.command for figure in FIGURES if figure.page == page} <= told


@pytest.mark.parametrize("page", [BENCHMARKS, RESULTS])
def test_every_section_with_a_table_of_figures_names_a_command_of_the_list(page: str) -> None:
    """A table without one would be a figure that nobody can make again."""
    listed = {figure.command for figure in FIGURES}
    sections = re.split(r"^## ", text_of(page), flags=re.MULTILINE)[1:]
    silent = [
        section.splitlines()[0]
        for section in sections
        if section.splitlines()[0] not in _DESCRIBING
        if re.search(r"^\|[^|]+\|.*\d", section, re.MULTILINE)
        and not any(command in " ".join(section.split()) for command in listed)
    ]
    assert silent == []


def test_a_command_that_is_not_listed_would_be_seen() -> None:
    assert _COMMAND.fullmatch("python -m tests.benchmarks rooms --time-limit 11 --workers 2")
    assert _COMMAND.fullmatch("python tests/benchmarks/other.py")
    assert not _COMMAND.fullmatch("python -m pytest tests/test_bounds.py")
    assert _PLACEHOLDER.search("python -m tests.benchmarks SET --folder FOLDER")
    assert not _PLACEHOLDER.search("python -m tests.benchmarks ah/AH101 'phased_planted/C1P1_rep*'")


def test_each_figure_has_a_name_of_its_own_a_module_and_a_short_form() -> None:
    assert len(BY_NAME) == len(FIGURES) > 30
    for figure in FIGURES:
        for short in (False, True):
            words = command_of(figure, short, "somewhere")
            assert words[0] == sys.executable
            assert words[1] == "-m", figure.name
            if words[2] != "pytest":
                path = ROOT / Path(*words[2].split("."))
                assert path.with_suffix(".py").is_file() or (path / "__main__.py").is_file(), figure.name
            assert ("--folder" in words) == ("folder" in figure.needs), figure.name
        # What is tried in a minute is of the same program, or the short form shows nothing.
        assert shlex.split(figure.short)[:3] == shlex.split(figure.command)[:3], figure.name


def test_what_is_missing_is_told_and_left_out(capsys: pytest.CaptureFixture[str]) -> None:
    assert missing(BY_NAME["bkw"], None) == ["folder"]
    assert missing(BY_NAME["bkw"], "sets") == []
    assert main(["bkw", "known", "--dry"]) == 0 or missing(BY_NAME["bkw"], None) == []
    assert "== known, told in docs/results.md" in capsys.readouterr().out
    assert main(["nothing"]) == 2
    assert "expected all, or of samples, known" in capsys.readouterr().err


def test_the_list_tells_which_version_a_figure_is_of(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 0
    told = capsys.readouterr().out.splitlines()
    assert len(told) == 1 + len(FIGURES)
    assert {of for of in Of if any(of in line for line in told)} == set(Of)


def test_a_command_that_fails_is_told(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    failed = subprocess.CompletedProcess([], 1)
    monkeypatch.setattr(subprocess, "run", lambda words, **_: failed)
    assert main(["known", "--short"]) == 1
    assert "failed: known" in capsys.readouterr().err


@pytest.mark.nightly
@pytest.mark.parametrize("name", ["known", "over-time", "whole", "packet-1", "fuzz-rows"])
def test_short_forms_run(name: str, tmp_path: Path) -> None:
    """One of each kind; what they write is written apart."""
    words = [word if not word.endswith(".csv") else str(tmp_path / word) for word in
             command_of(BY_NAME[name], True, None)]  # fmt: skip
    subprocess.run(words, cwd=ROOT, check=True, capture_output=True)
