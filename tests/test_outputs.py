"""One registry of files and one of answers: every command, the page and the look into a folder read them."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import get_args

import pytest
from pages import SAMPLES, sample
from pypdf import PdfReader
from typer.testing import CliRunner

from nesting.commands import output
from nesting.commands.answer_forms import FORMS, USUAL_FORM
from nesting.commands.every import app
from nesting.files import plan_document
from nesting.outputs import OUTPUTS, Output, OutputEach, Place, Ready, files_for, is_like_ours, of_page
from nesting.plan.paper import paper_for
from nesting.web.solving import _files
from nesting.web.works import FILES

NOOK = SAMPLES / "reading-nook.toml"


@pytest.fixture(scope="module")
def ready() -> Ready:
    return Ready(sample("reading-nook"), "letter")


@pytest.mark.parametrize("each", OUTPUTS, ids=lambda each: each.name)
def test_every_output_makes_its_files_and_knows_them_again(each: Output | OutputEach, ready: Ready) -> None:
    files = dict(each.files(ready))
    assert len(files) == (1 if isinstance(each, Output) else len(ready.layouts))
    for name, data in files.items():
        assert len(data) > 20
        stem, _, ending = name.rpartition(".")
        assert Path(name).name == name
        for left in (name, f"{stem}-2.{ending}"):
            assert is_like_ours(left) == bool(each.places - {"page"}), left
        assert not is_like_ours(f"my-{name}")


def test_no_two_outputs_have_one_name_and_each_is_offered(ready: Ready) -> None:
    names = [each.name for each in OUTPUTS]
    assert len(set(names)) == len(names)
    assert all(each.places for each in OUTPUTS)
    for place in get_args(Place):
        offered = [each for each in OUTPUTS if place in each.places]
        made = files_for(place, ready)
        assert offered
        assert len(made) == sum(len(dict(each.files(ready))) for each in offered)


def test_commands_and_page_offer_what_is_registered(ready: Ready) -> None:
    assert output.plan_files(ready.plan, "letter").keys() == files_for("plan", ready).keys()
    assert output.drawings(ready.plan, "letter").keys() == files_for("draw", ready).keys()
    assert {each.name: each.title for each in of_page()} == FILES
    assert set(FILES) == {each.name for each in OUTPUTS if "page" in each.places}


def test_without_pages_only_lists_are_made(ready: Ready) -> None:
    lists = files_for("plan", ready, pages=False)
    assert set(lists) == {each.name for each in OUTPUTS if "plan" in each.places and not each.pages}
    assert "plan.json" in lists


@pytest.mark.parametrize(
    ("name", "units", "paper"), [("reading-nook", "in", "letter"), ("loft-metric", "cm", "a4")]
)
def test_the_paper_is_that_of_the_units_everywhere(name: str, units: str, paper: str, tmp_path: Path) -> None:
    # Letter is 8 1/2 x 11 in (ANSI Y14.1 size A), A4 is 210 x 297 mm (ISO 216); 72 points to the inch.
    size = {"letter": (612, 792), "a4": (595.28, 841.89)}[paper]
    plan = sample(name)
    assert plan.job.units == units
    assert paper_for(plan.job.units) == paper == Ready(plan).paper
    (tmp_path / "plan.json").write_text(json.dumps(plan_document(plan)))
    run = CliRunner().invoke(
        app, ["packet", str(tmp_path / "plan.json"), "-o", str(tmp_path / "out")], standalone_mode=False
    )
    assert run.exception is None
    page = {name: data for name, _, data in _files(plan, plan_document(plan)) if name.endswith(".pdf")}
    assert {"packet.pdf", "appendix.pdf", "labels.pdf", "marker.pdf"} == set(page)
    for name in ("packet.pdf", "appendix.pdf", "labels.pdf"):
        for data in ((tmp_path / "out" / name).read_bytes(), page[name]):
            box = PdfReader(io.BytesIO(data)).pages[0].mediabox
            assert (float(box.width), float(box.height)) == pytest.approx(size, abs=0.01)
    html = (tmp_path / "out/packet.html").read_text("utf-8")
    assert f"size: {'8.5in 11in' if paper == 'letter' else '210mm 297mm'}" in html


@pytest.mark.parametrize("form", FORMS)
def test_every_command_answers_in_every_form(form: str, tmp_path: Path) -> None:
    run = CliRunner()
    quick = ["--work-limit", "0.01", "--workers", "1"]
    answers = [
        run.invoke(app, [*command, "--format", form], standalone_mode=False)
        for command in (
            ["plan", str(NOOK), *quick],
            ["compare", str(NOOK), *quick],
            ["pieces", str(NOOK)],
            ["batch", str(NOOK), *quick],
        )
    ]
    assert [each.exception for each in answers] == [None] * 4
    assert all(each.stdout.strip() for each in answers)
    assert len({each.stdout for each in answers}) == 4


def test_a_form_that_is_none_is_refused_with_those_there_are() -> None:
    refused = CliRunner().invoke(app, ["pieces", str(NOOK), "--format", "yaml"])
    assert refused.exit_code == 2
    assert all(name in refused.output for name in FORMS)
    assert USUAL_FORM in FORMS
