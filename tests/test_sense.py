"""Nothing absurd is "ready to plan": contradictions are refused, oddities asked, in terminal and page."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from heading_sums import hung

from nesting.errors import JobError
from nesting.files import job_table, read_job_text
from nesting.headings import HEADINGS
from nesting.web.job_page import status_line
from nesting.web.rendering import text_of
from nesting.web.workings import sums_of
from tests.test_commands import Run, run

__all__ = ["run"]

JOB = """
[fabric.face]
[[fabric.face.bolt]]
width = 54
[fabric.lining]
[[fabric.lining.bolt]]
width = 54
[[window]]
name = "East"
rod = 84
finished_length = 95.5
heading = "clip-ring"
rod_diameter = 1
"""


def with_lines(*lines: str, text: str = JOB) -> str:
    """The job with lines of its window changed, or added at the end."""
    head, window = text.split("[[window]]\n", 1)
    kept = {line.partition(" = ")[0]: line for line in window.splitlines() if line}
    kept |= {line.partition(" = ")[0]: line for line in lines}
    return f"{head}[[window]]\n" + "\n".join(kept.values()) + "\n"


def refused(text: str) -> list[str]:
    with pytest.raises(JobError) as caught:
        read_job_text(text)
    return [str(fault) for fault in caught.value.faults]


@pytest.mark.parametrize(
    ("lines", "place", "remedy"),
    [
        # Cuff of a pinch pleat 4 in, usual hem 4 in: 8 in at least (common practice, no source).
        (['heading = "pinch-pleat"', "finished_length = 7.5"], "finished_length = 7.5", "at least 8 in"),
        # A pencil-pleat tape of 3 in and a hem of 4: 7 in.
        (['heading = "pencil-pleat"', "finished_length = 6.5"], "finished_length = 6.5", "at least 7 in"),
        (["bottom_hem = { turn = 36 }", "finished_length = 36"], "finished_length = 36", "the hem 36 in"),
        (["fullness = 0.9"], "fullness = 0.9", "from 1 up to 6"),
        (['fullness = "1/2"'], 'fullness = "1/2"', "from 1 up to 6"),
        # A pair on 84 covers 42 a panel.
        (["flat_width = 41"], "flat_width = 41", "at least 42 in, which the panel covers"),
        (["rod = 60", "flat_width = 60", "overlap = 60"], "overlap = 60", "less than the rod, 60 in"),
        (["rod = 2", "side_hem = { turn = 3, turns = 2 }"], "rod = 2", "wider than their side hems, 6 in"),
        (
            ["finished_length = 30", 'lining = "lining"', "lining_hem = { turn = 29 }"],
            "lining_hem",
            "the length of the lining",
        ),
        (
            ["finished_length = 30", 'lining = "lining"', "lining_cover = 30"],
            "lining_cover = 30",
            "less than the finished length",
        ),
        (
            # The hem is 4 in deep: where the lining ends above it, its upper edge hangs open.
            ['lining = "lining"', "lining_gap = 4"],
            "lining_gap = 4",
            "less than the bottom hem of 4 in",
        ),
        (["[[window.band]]", "edge = 'hem'", "width = 100"], "band 1: width = 100", "at most 95 1/2 in"),
    ],
)
def test_sizes_that_contradict_each_other_are_refused_with_place_and_remedy(
    lines: list[str], place: str, remedy: str
) -> None:
    (fault,) = refused(with_lines(*lines))
    assert remedy in fault
    assert fault.startswith(f'window "East": {place}')


def test_a_bolt_narrower_than_its_selvages_is_refused() -> None:
    assert "wider than its two selvages" in refused(JOB.replace("width = 54", "width = 1", 1))[0]


@pytest.mark.parametrize("heading", HEADINGS)
def test_every_heading_refuses_a_panel_below_its_heading_and_hem(heading: str) -> None:
    text = with_lines(f'heading = "{heading}"')
    assert "the heading takes" in refused(with_lines("finished_length = 2", text=text))[0]
    # Pleats with a rod hang from rings, 1 1/2 below its top.
    low = f"rod_height = 3\nclearance = 1\n{hung(heading, '1.5')}"
    assert "are left" in refused(text.replace("finished_length = 95.5", low))[0]
    assert read_job_text(with_lines("finished_length = 24", text=text)).windows


def test_copies_of_fixed_panels_need_not_cover_the_rod() -> None:
    assert read_job_text(with_lines('draw = "fixed"', "flat_width = 30")).windows[0].flat_width == 30 * 2032


ASKED = [
    (
        ["rod_diameter = 13"],
        'window "East": the rod is 13 in thick: is that right? Did you mean 1 3/8?',
    ),
    (["finished_length = 7.9375"], 'window "East": the finished length is 7 15/16 in: is that right?'),
    (["fullness = 4.5"], "the fullness is 4.5: is that right? Did you mean 2?"),
    (["flat_width = 200"], "the fullness is 4.762"),  # 200 / 42
    (["count = 101"], "101 such windows are planned: is that right?"),
    (["[[window.tieback]]", "length = 24", "width = 4", "count = 101"], "101 tie-backs are planned"),
]


@pytest.mark.parametrize(("lines", "asks"), ASKED)
def test_what_is_seldom_meant_is_asked_first_and_planned(
    lines: list[str], asks: str, run: Run, tmp_path: Path
) -> None:
    text = with_lines(*lines)
    remarks = read_job_text(text).remarks
    assert [asks in remark.text for remark in remarks if remark.asks] == [True]
    assert remarks[0].asks
    path = tmp_path / "job.toml"
    path.write_text(text, encoding="utf-8")
    for command in ("check", "pieces"):
        done = run(command, path)
        assert (done.code, asks in done.err) == (0, True)
    told = sums_of(job_table(text))
    assert status_line(told).endswith("; 1 thing to check before you plan")
    assert told["advice"][0] == {"kind": "question", "text": remarks[0].text, "window": ""}
    assert "please check" in text_of("sums.html", sums=told)


def test_a_plan_asks_too_and_ends_well(run: Run, tmp_path: Path) -> None:
    path = tmp_path / "job.toml"
    path.write_text(with_lines("rod_diameter = 13"), encoding="utf-8")
    done = run("plan", path, "--work-limit", "0.2", "--workers", "1")
    assert done.code == 0
    assert "the rod is 13 in thick: is that right?" in done.err
    done = run("compare", path, "--work-limit", "0.2", "--workers", "1")
    assert (done.code, "the rod is 13 in thick" in done.err) == (0, True)


def test_a_bolt_too_narrow_for_drapes_is_asked_about() -> None:
    text = JOB.replace("width = 54", "width = 5.4", 1)
    assert read_job_text(text).remarks[0].text == (
        "face: the bolt is 5.4 in wide: is that right? Did you mean 54?"
    )


def test_up_to_the_limits_nothing_is_asked() -> None:
    text = with_lines("rod_diameter = 4", "finished_length = 8", "fullness = 4", "count = 100")
    text = text.replace("width = 54", "width = 20", 1)
    assert not [remark for remark in read_job_text(text).remarks if remark.asks]
    assert "ready to plan" in status_line(sums_of(job_table(text)))


def test_a_narrow_trim_is_nobodys_question_and_many_extras_are() -> None:
    trim = (
        JOB
        + "[fabric.trim]\n[[fabric.trim.bolt]]\nwidth = 6\n"
        + '[[extra]]\nfabric = "trim"\nwidth = 4\nlength = 9\n'
    )
    assert not [remark for remark in read_job_text(trim).remarks if remark.asks]
    (asked,) = (remark for remark in read_job_text(trim + "count = 101\n").remarks if remark.asks)
    assert "101 pieces are planned" in asked.text


def test_metric_jobs_are_asked_in_their_own_sizes() -> None:
    text = 'units = "cm"\n' + JOB.replace("width = 54", "width = 140").replace("rod = 84", "rod = 210")
    text = text.replace("finished_length = 95.5", "finished_length = 19")
    (asked, short) = read_job_text(text.replace("width = 140", "width = 14", 1)).remarks[:2]
    assert "the finished length is 19 cm" in short.text
    assert asked.text == "face: the bolt is 14 cm wide: is that right? Did you mean 140?"


def test_the_page_calls_nothing_refused_ready() -> None:
    told: dict[str, Any] = dict(
        sums_of(job_table(JOB.replace("finished_length = 95.5", "finished_length = 3")))
    )
    assert status_line(told) == "1 thing needs putting right"
    assert told["faults"][0]["at"] == ("window", 0, "finished_length")


@pytest.mark.parametrize(
    ("lines", "key", "expected"),
    [
        # 84 x 1.5 / 2 = 63 flat. Side by side 63 / 3 = 21 tabs lie there; 40 of 3 are 120 wide.
        (('heading = "tab-top"', "tab = { width = 3, count = 40 }"), "tab.count = 40", "at most 21"),
        (('heading = "tab-top"', "tab = { width = 3, spacing = 2 }"), "tab.spacing = 2", "at least 3 in"),
        # Hidden tabs: centers from 2 to 61, 59 / 3 = 19.7: 19 spaces, 20 tabs.
        (('heading = "back-tab"', "tab = { width = 3, count = 40 }"), "tab.count = 40", "at most 20"),
        # Grommets: 84 x 1.75 / 2 = 73 1/2, centers from 2 to 71 1/2: 69 1/2 / 2 = 34.75, 35 grommets.
        (('heading = "grommet"', "ring = { size = 2, count = 40 }"), "ring.count = 40", "at most 35"),
        # 6 in of rod, 5 1/4 flat: outer centers 1 3/4 from the edges are 1 3/4 apart.
        (('heading = "grommet"', "rod = 6", "ring = { size = 6 }"), "ring.size = 6", "at most 1 3/4 in"),
    ],
)
def test_tabs_and_grommets_that_would_overlap_are_refused(
    lines: tuple[str, ...], key: str, expected: str
) -> None:
    with pytest.raises(JobError) as refused:
        read_job_text(with_lines(*lines))
    assert f'window "East": {key}: expected {expected}' in str(refused.value)
    assert "lie over each other on a panel" in str(refused.value)


def test_as_many_tabs_as_lie_side_by_side_are_planned() -> None:
    read_job_text(with_lines('heading = "tab-top"', "tab = { width = 3, count = 21 }"))
    read_job_text(with_lines('heading = "back-tab"', "tab = { width = 3, count = 20 }"))
    read_job_text(with_lines('heading = "grommet"', "ring = { size = 2, count = 35 }"))


NARROW = """
[fabric.face]
[[fabric.face.bolt]]
width = 5.4
[[window]]
name = "East"
rod = 60
rod_diameter = 1
heading = "clip-ring"
finished_length = 84
[[extra]]
name = "Pad"
width = 10
length = 10
"""
ASKED = "face: the bolt is 5.4 in wide: is that right? Did you mean 54?"


@pytest.mark.parametrize("command", ["plan", "check", "batch"])
def test_a_refused_job_is_asked_about_all_the_same(command: str, run: Run, tmp_path: Path) -> None:
    """A pad 10 in wide does not fit on a bolt of 5.4 in: what is wrong is what is asked about."""
    path = tmp_path / "narrow.toml"
    path.write_text(NARROW, "utf-8")
    done = run(command, path)
    assert done.code == 3
    assert done.err.count(ASKED) == 1


def test_a_job_that_cannot_be_meant_is_asked_about_what_else_is_odd() -> None:
    with pytest.raises(JobError) as refused:
        read_job_text(NARROW.replace("finished_length = 84", "finished_length = 3"))
    assert ASKED in refused.value.asked


def test_the_page_asks_about_a_job_that_is_refused() -> None:
    told = sums_of(job_table(NARROW.replace("finished_length = 84", "finished_length = 3")))
    assert told["faults"]
    assert ASKED in [one["text"] for one in told["advice"] if one["kind"] == "question"]
    assert told["asked"] == len(told["advice"])
