"""One file to send: a job, or a plan, goes out of one page and into another as what it was."""

from __future__ import annotations

import json
import tomllib
from base64 import b64encode
from collections.abc import Iterator
from dataclasses import replace
from gzip import compress
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.errors import NestingError
from nesting.files import as_json, job_text_of, plan_document, read_job, read_job_table
from nesting.files.plan_sending import plan_inside, with_plan
from nesting.order.job import HungLength, Job
from nesting.planning.effort import Effort
from nesting.planning.planner import plan as make_plan
from nesting.web import caps
from tests.web_forms import entries_of
from tests.web_page import OURS, SAMPLES, SMALL, a_page, begun, list_of, opened, sent, waited


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


@pytest.fixture(scope="module")
def other() -> Iterator[TestClient]:
    """The page of somebody else."""
    with a_page() as client:
        yield client


def uploaded(page: TestClient, name: str, data: bytes) -> Any:
    return page.post("/job/open", files={"file": (name, data)}, headers=OURS, follow_redirects=False)


def refused(page: TestClient, name: str, data: bytes) -> str:
    answer = uploaded(page, name, data)
    assert answer.status_code in (413, 422)
    assert len(answer.content) < 100_000
    opened(page, SMALL)
    return str(answer.text)


@pytest.fixture(scope="module")
def files(page: TestClient) -> dict[str, bytes]:
    """What the page offers of a small plan."""
    address = begun(page, "/plan", opened(page, SMALL), work="0.5")
    solve = waited(page, address, "printed")
    assert solve.state == "done", solve.failure
    return {name: page.get(f"{address}/file/{name}").content for name in ("packet.html", "plan.json")}


def placed(document: bytes) -> Any:
    """Where everything lies, and what is claimed of it."""
    return [
        {key: layout[key] for key in ("fabric", "length", "lower_bound", "status", "placements")}
        for layout in json.loads(document)["layouts"]
    ]


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_a_job_is_one_file_its_measurement_list_in_it(
    page: TestClient, other: TestClient, path: Path
) -> None:
    entries = opened(page, path.read_text("utf-8"), list_of(path))
    saved = sent(page, "/job/save", entries).content
    assert "windows" not in tomllib.loads(saved.decode())
    there = uploaded(other, "job.toml", saved)
    assert there.status_code == 200
    assert sent(other, "/job/save", entries_of(there.text)).content == saved
    assert read_job_table(tomllib.loads(saved.decode(), parse_float=str)) == read_job(path)


@pytest.mark.parametrize("name", ["packet.html", "plan.json"])
def test_a_plan_is_one_file_and_the_same_plan_elsewhere(
    other: TestClient, files: dict[str, bytes], name: str
) -> None:
    answer = uploaded(other, name, files[name])
    assert answer.status_code == 303
    address = answer.headers["location"]
    solve = waited(other, address, "printed")
    assert solve.state == "done", solve.failure
    shown = other.get(address).text
    assert "opened from a file and checked here" in shown
    assert placed(other.get(f"{address}/file/plan.json").content) == placed(files["plan.json"])
    # Once more the same file, and with it the job.
    assert other.get(f"{address}/file/packet.html").content == files["packet.html"]
    form = entries_of(other.get(f"{address}/job").text)
    job = read_job_table(tomllib.loads(sent(other, "/job/save", form).text, parse_float=str))
    assert job == read_job_table(tomllib.loads(SMALL, parse_float=str))


def test_a_plan_that_breaks_a_rule_is_not_shown_but_its_job_is(
    page: TestClient, files: dict[str, bytes]
) -> None:
    document = json.loads(files["plan.json"])
    document["layouts"][0]["placements"][0]["x"] = -1.0
    address = uploaded(page, "plan.json", json.dumps(document).encode()).headers["location"]
    assert waited(page, address).state == "failed"
    shown = page.get(address).text
    assert "does not keep every rule" in shown
    assert "data-plan" not in shown
    assert entries_of(page.get(f"{address}/job").text)["window.0.rod"] == "30 in"


@pytest.mark.nightly
def test_a_proof_that_only_the_file_claims_is_not_taken_for_one(
    page: TestClient, files: dict[str, bytes]
) -> None:
    def opened_as(document: Any) -> tuple[str, str]:
        address = uploaded(page, "plan.json", json.dumps(document).encode()).headers["location"]
        assert waited(page, address, "printed").state == "done"
        return page.get(address).text, page.get(f"{address}/file/packet.html").text

    # With its certificate it is proved here; without, anybody could have written it.
    document = json.loads(files["plan.json"])
    (layout,) = document["layouts"]
    assert layout["bound_certificate"] is not None
    assert layout["status"] == "optimal"
    for shown in opened_as(document):
        assert "re-proved from its certificate" in shown
        assert "not proved here" not in shown
    layout |= {"bound_certificate": None, "bound_method": "area"}
    layout.pop("open_certificate", None)
    shown, packet = opened_as(document)
    assert "Its file says how short it can be; that is not proved here." in shown
    for text in (shown.partition("<main")[2], packet.partition("<body")[2]):
        assert "no layout of these pieces is shorter" not in text
        assert "no layout is shorter" not in text
        assert "proved by our search" not in text


def test_cuts_that_the_file_calls_made_are_told(page: TestClient, files: dict[str, bytes]) -> None:
    document = json.loads(files["plan.json"])
    document["layouts"][0]["placements"][0]["done"] = True
    address = uploaded(page, "plan.json", json.dumps(document).encode()).headers["location"]
    assert waited(page, address).state == "done"
    assert "It says that 1 piece is cut already: look whether that is so." in page.get(address).text


def test_a_plan_of_an_earlier_version_opens(page: TestClient) -> None:
    old = sorted((Path(__file__).parent / "old_samples").rglob("*.json"))
    plans = [path for path in old if json.loads(path.read_text("utf-8")).get("schema") == "nesting-plan/1"]
    assert plans
    answer = uploaded(page, "plan.json", plans[0].read_bytes())
    if answer.status_code == 303:
        assert waited(page, answer.headers["location"]).state in ("done", "failed")
        assert page.get(f"{answer.headers['location']}/job").status_code == 200
    else:
        assert "This plan cannot be opened" in answer.text


def test_what_is_no_plan_is_told(page: TestClient, files: dict[str, bytes]) -> None:
    text = files["plan.json"].decode()
    html = files["packet.html"].decode()
    for data, said in (
        ("{", "no JSON"),
        ("{}", "cannot be opened"),
        ("{" + '"a":{' * 100_000, "cannot be opened"),
        (text.replace("nesting-plan/2", "nesting-plan/99"), "cannot be opened"),
        (text.replace('"layouts"', '"lay"'), "cannot be opened"),
        (html[: html.index("<!--nesting-plan ") + 400], "damaged"),
        (html.replace("<!--nesting-plan H4s", "<!--nesting-plan !!!"), "damaged"),
        ("<!--nesting-plan " + b64encode(compress(b"{")).decode() + "-->", "no JSON"),
    ):
        assert said in refused(page, "plan.json", data.encode()), data[:60]


def test_a_plan_that_is_too_large_is_refused(page: TestClient, files: dict[str, bytes]) -> None:
    assert "KiB" in refused(page, "plan.json", b"{" + b" " * caps.MOST_OPENED)
    # A few kilobytes that would be a hundred megabytes once unpacked.
    bomb = b64encode(compress(b" " * (100 * 1024**2))).decode()
    assert "over 8192 KiB" in refused(page, "packet.html", f"<!--nesting-plan {bomb}-->".encode())
    # What is no plan may be no larger than before.
    assert "at most" in refused(page, "job.toml", b"# " + b"x" * caps.MOST_BYTES)
    document = json.loads(files["plan.json"])
    document["pieces"][0]["copies"] = caps.MOST_PLANNED + 1
    assert "more than 2000 pieces" in refused(page, "plan.json", json.dumps(document).encode())
    document = json.loads(files["plan.json"])
    document["order"]["windows"] *= 2 * caps.MOST_ROWS["window"] + 1
    refused(page, "plan.json", json.dumps(document).encode())


def test_a_plan_without_its_order_is_told(page: TestClient, files: dict[str, bytes]) -> None:
    document = json.loads(files["plan.json"])
    del document["order"]
    assert "cannot be opened" in refused(page, "plan.json", json.dumps(document).encode())


@pytest.mark.parametrize("path", SAMPLES, ids=lambda path: path.stem)
def test_the_job_file_of_a_settled_job_reads_back_as_that_job(path: Path) -> None:
    job = read_job(path)
    again = read_job_table(tomllib.loads(job_text_of(job), parse_float=str))
    assert (again.fabrics, again.windows, again.extras) == (job.fabrics, job.windows, job.extras)
    assert (again.title, again.safety, again.table, again.squaring) == (
        job.title, job.safety, job.table, job.squaring,
    )  # fmt: skip


def test_a_job_that_no_file_can_say_is_refused() -> None:
    job = read_job(SAMPLES[0])
    # A hung panel is known to its plan alone; sizes that a tape never shows are said all the same.
    hung = replace(job, hung=(HungLength(job.windows[0].name, 100, 101),))
    assert isinstance(job_text_of(hung), str)
    odd = replace(job, windows=(replace(job.windows[0], rod=job.windows[0].rod + 1), *job.windows[1:]))
    assert read_job_table(tomllib.loads(job_text_of(odd), parse_float=str)).windows == odd.windows
    wrong: Job = replace(job, fabrics=())
    with pytest.raises(NestingError, match="cannot be written as a job file"):
        job_text_of(wrong)


@pytest.mark.nightly
def test_the_signs_of_a_page_in_a_name_make_no_page(page: TestClient) -> None:
    name = "One <!--nesting-plan x-->"
    entries = opened(page, SMALL.replace('name = "One"', f'name = "{name}"'))
    assert entries["window.0.name"] == name
    address = begun(page, "/plan", entries, work="0.5")
    assert waited(page, address, "printed").state == "done"
    for file in ("plan.json", "packet.html"):
        answer = uploaded(page, file, page.get(f"{address}/file/{file}").content)
        assert answer.status_code == 303
        assert waited(page, answer.headers["location"]).state == "done"


def test_a_page_holds_its_plan_unseen() -> None:
    made = make_plan(
        read_job_table(tomllib.loads(SMALL, parse_float=str)), effort=Effort(work=0.2, workers=1)
    )
    document = plan_document(made)
    page = with_plan("<!doctype html><p>Hi</p></html>\n", document)
    assert page == with_plan("<!doctype html><p>Hi</p></html>", document)
    # All of it but how long the search took, which is 0 there.
    inside, told = json.loads(plan_inside(page, 10**6)), json.loads(as_json(document))
    assert any(layout.pop("seconds") > 0 for layout in told["layouts"])
    assert all(layout.pop("seconds") == 0 for layout in inside["layouts"])
    for layout in (*told["layouts"], *inside["layouts"]):
        layout["incumbents"] = [{**step, "seconds": 0} for step in layout["incumbents"]]
    told["objectives"] = [{**each, "seconds": 0} for each in told["objectives"]]
    assert inside == told
    assert "nesting-plan/2" not in page
