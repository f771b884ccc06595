"""Every page in this process: what it answers, also to what is wrong."""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import time
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.check import check_plan_document
from nesting.files import plan_document, read_job
from nesting.planning.effort import Effort
from nesting.planning.planner import plan as make_plan
from nesting.planning.what_if import what_if
from nesting.web import bench as bench_module
from nesting.web.bench import FullError, SolveQueue, order_of
from nesting.web.chart import chart
from nesting.web.plan_view import plan_view
from nesting.web.told_job import SearchSettings
from nesting.web.works import FILES
from tests.seeds import some
from tests.web_forms import buttons_of, entries_of
from tests.web_page import (
    ENDLESS,
    HANGS,
    OURS,
    SAMPLES,
    SMALL,
    a_page,
    begun,
    idle,
    list_of,
    opened,
    sent,
    solve_at,
    waited,
)


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


@pytest.fixture(scope="module")
def planned(page: TestClient) -> str:
    """The address of a finished plan with everything printed."""
    address = begun(page, "/plan", opened(page, SMALL), work="1")
    waited(page, address, "printed")
    return address


def test_the_start_offers_three_ways_in(page: TestClient) -> None:
    answer = page.get("/")
    assert answer.status_code == 200
    for text in (
        "/job/new?units=in",
        "/job/new?units=cm",
        'action="/job/open"',
        *(path.stem for path in SAMPLES),
    ):
        assert text in answer.text


def test_every_sample_opens(page: TestClient) -> None:
    for path in SAMPLES:
        answer = page.get(f"/job/sample/{path.stem}")
        assert answer.status_code == 200
        assert "ready to plan" in answer.text
    assert page.get("/job/sample/nothing").status_code == 404


def test_sums_follow_the_typing(page: TestClient) -> None:
    entries = opened(page, SMALL)
    told = sent(page, "/live", entries, window__0__finished_length="61").json()
    # Clip ring, common practice: 2 turned twice at the top; 4 turned twice below: 61 + 4 + 8 = 73.
    assert "73 in long" in told["regions"]["sums"]
    assert told["told"]["window.0.finished_length"]["read"] == "read as 61 in · 154.94 cm"
    assert told["status"] == "1 piece to cut; ready to plan"


def test_a_first_layout_follows_the_typing(page: TestClient) -> None:
    entries = opened(page, SMALL)
    first = sent(page, "/first", entries).json()
    assert "checked" in first["regions"]["answer"]
    assert "<svg" in first["regions"]["answer"]
    # How good it is stands beside it.
    gap = ' <span class="gap">proven: no layout is shorter</span>'
    assert re.fullmatch(r"[0-9 /]+ yd(, \$[0-9.]+)?" + re.escape(gap), first["regions"]["buy"])
    # Nothing is told of a job that has a fault, or lacks a measure.
    assert sent(page, "/first", entries, window__0__rod="").json()["regions"] == {"answer": "", "buy": ""}
    assert sent(page, "/first", entries, window__0__rod="x").json()["regions"] == {"answer": "", "buy": ""}


@pytest.mark.nightly
def test_a_first_layout_that_is_asked_for_again_is_no_longer(page: TestClient) -> None:
    entries = opened(page, ENDLESS)
    bought = [sent(page, "/first", entries, turn=str(turn)).json()["regions"]["buy"] for turn in range(2)]
    yards = [sum(map(Fraction, text.partition(" yd")[0].split())) for text in bought]
    assert yards[1] <= yards[0]


def test_buttons_of_the_form_do_what_they_say(page: TestClient) -> None:
    entries = opened(page, SMALL)
    answer = sent(page, "/job", entries, do="add:window")
    again = entries_of(answer.text)
    assert again["window.1.name"] == "Window 1"
    assert "remove:window.1" in buttons_of(answer.text)
    back = sent(page, "/job", again, do="remove:window.1")
    assert "window.1.name" not in entries_of(back.text)


@pytest.mark.parametrize(
    ("data", "words"),
    [
        (b"", "an empty file"),
        (b"\xff\xfe\x00", "saved as UTF-8"),
        (b"title = ", "expected"),
        (b"[[[", "expected"),
    ],
)
def test_a_file_that_is_no_job_is_refused_in_words(page: TestClient, data: bytes, words: str) -> None:
    answer = page.post("/job/open", files={"file": ("job.toml", data)}, headers=OURS)
    assert answer.status_code == 422
    assert words in answer.text


def test_a_list_alone_becomes_a_job(page: TestClient) -> None:
    rows = "name,rod,finished_length\nEast,60 1/2,84\nWest,48,84 1/4\n"
    for text in (rows, rows.replace(",", ";"), rows.replace(",", "\t")):
        answer = page.post("/job/open", files={"file": ("list.csv", text.encode())}, headers=OURS)
        entries = entries_of(answer.text)
        assert (entries["window.0.name"], entries["window.1.rod"]) == ("East", "48")
        assert entries["window.0.rod"] == "60 1/2"
        assert "2 windows stand in this job now" in answer.text
    wrong = page.post("/job/open", files={"file": ("list.csv", b"nom\nx\n")}, headers=OURS)
    assert "nom" in wrong.text
    wide = page.post("/job/open", files={"file": ("list.csv", rows.encode("utf-16"))}, headers=OURS)
    assert entries_of(wide.text)["window.1.name"] == "West"


def test_a_form_where_a_file_belongs_is_refused(page: TestClient) -> None:
    assert page.post("/job/open", data={"file": "x"}, headers=OURS).status_code == 422
    broken = {"content-type": "multipart/form-data", **OURS}
    assert page.post("/job/open", content=b"x", headers=broken).status_code == 422
    assert (
        page.post("/job", content=b"{}", headers={"content-type": "application/json", **OURS}).status_code
        == 422
    )


def test_what_is_not_there_says_so(page: TestClient) -> None:
    for address in (
        "/nothing",
        "/solve/unknown",
        "/solve/unknown/job",
        "/solve/unknown/file/plan.json",
        "/static/x",
    ):
        answer = page.get(address)
        assert answer.status_code == 404
    assert page.get("/solve/unknown/now").json() == {"over": True}
    for wish in ("enough", "end", "compare"):
        assert page.post(f"/solve/unknown/{wish}", headers=OURS).status_code == 404
    assert page.post("/solve/unknown/leave", headers=OURS).status_code == 204


def test_a_job_with_faults_is_not_planned(page: TestClient) -> None:
    for address in ("/plan", "/compare"):
        answer = sent(page, address, opened(page, SMALL), window__0__rod="")
        assert answer.status_code == 422
        assert "the length of the rod" in answer.text


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("seconds", "0"),
        ("seconds", "1e9"),
        ("seconds", "nan"),
        ("seed", "-1"),
        ("seed", "1.5"),
        ("work", "99999"),
        ("work", "x"),
    ],
)
def test_a_search_without_sense_is_not_begun(page: TestClient, name: str, text: str) -> None:
    answer = sent(page, "/plan", opened(page, SMALL), **{name: text})
    assert answer.status_code == 422
    note = answer.text.partition(f'id="n-{name}"')[2].partition("</p>")[0]
    assert "Expected" in note


@pytest.mark.parametrize("path", some(SAMPLES, 1), ids=lambda path: path.stem)
def test_the_plan_is_that_of_the_command_line(page: TestClient, path: Path) -> None:
    """The same seed and budget of work: the same pieces in the same places, the same small changes."""
    text = path.read_text("utf-8")
    address = begun(page, "/plan", opened(page, text, list_of(path)), work="0.2", seed="7")
    solve = waited(page, address, "plan.json")
    assert solve.state == "done", solve.failure
    through = json.loads(solve.files["plan.json"][1])
    made = make_plan(read_job(path), effort=Effort(work=0.2, workers=1, seed=7))
    own = plan_document(replace(made, what_if=what_if(made, effort=Effort(work=0.2, workers=1, seed=7))))
    for document in (through, own):
        for layout in document["layouts"]:
            layout.pop("seconds")
            for incumbent in layout["incumbents"]:
                incumbent.pop("seconds")
        for objective in document.get("objectives", ()):
            objective.pop("seconds")
    assert through["layouts"] == own["layouts"]
    assert through == own
    assert check_plan_document(through) == ()


def test_a_plan_shows_its_marker_with_a_card_for_each_piece(page: TestClient, planned: str) -> None:
    text = page.get(planned).text
    links = re.findall(r'<a class="piece[^"]*" href="#(card-[^"]+)"', text)
    assert links
    for link in links:
        assert f'id="{link}"' in text
    assert "Proven least" in text
    assert "Other ways" in text


def test_equal_pieces_edge_to_edge_have_one_card_with_their_count() -> None:
    job = read_job(next(path for path in SAMPLES if path.stem == "reading-nook"))
    (velvet, _) = plan_view(make_plan(job, effort=Effort(work=0.2, workers=1)), {})["layouts"]
    links = re.findall(r'href="#(card-[^"]+)"', velvet["svg"])
    cards = {card["id"]: card["number"] for card in velvet["cards"]}
    assert set(cards) == set(links)
    assert (len(cards), len(links)) == (3, 18)
    assert sorted(cards.values()) == ["", "", "16 pieces"]


def test_a_plan_of_a_print_shows_the_pattern_as_it_hangs(page: TestClient, planned: str) -> None:
    assert "The pattern as it hangs" not in page.get(planned).text
    # 60 and a hem of 8, a top hem of 4: 72 to cut; the foot of the motif 5 above the hem.
    printed = SMALL.replace(
        "[fabric.face]\n",
        "[fabric.face]\nrepeat = { length = 20, width = 25 }\nmotif = { height = 5 }\n",
    ).replace("width = 54", "width = 54\nmatch = 50")
    address = begun(page, "/plan", opened(page, printed), work="1")
    waited(page, address)
    text = page.get(address).text
    assert "The pattern as it hangs" in text
    assert "Each leaf is the same spot of the pattern, at its foot: the foot of the motif." in text
    assert "leaves 5 in above the hem edge and every 20 in up from there" in text
    assert "One, the pattern on the sewn panels, to scale." in text


def test_everything_can_be_taken_away(page: TestClient, planned: str) -> None:
    beginnings = {".pdf": b"%pdf", ".json": b"{", ".html": b"<!doctype", ".csv": b""}
    for name in FILES:
        answer = page.get(f"{planned}/file/{name}")
        assert answer.status_code == 200
        assert answer.headers["content-disposition"].startswith("attachment")
        assert len(answer.content) > 20
        assert answer.content.lower().startswith(beginnings.get(Path(name).suffix, b""))
    assert page.get(f"{planned}/file/job.toml").text == SMALL
    assert page.get(f"{planned}/file/..%2Fjob.toml").status_code == 404
    assert page.get(f"{planned}/file/other").status_code == 404


def test_the_print_view_runs_no_script(page: TestClient, planned: str) -> None:
    answer = page.get(f"{planned}/file/packet.html?view=page")
    policy = answer.headers["content-security-policy"]
    assert "script-src" not in policy
    assert "default-src 'none'" in policy
    assert "content-disposition" not in answer.headers


def test_the_form_of_a_plan_is_the_one_it_began_from(page: TestClient, planned: str) -> None:
    entries = entries_of(page.get(f"{planned}/job").text)
    assert entries["work"] == "1"
    assert sent(page, "/job/save", entries).text == SMALL


@pytest.fixture(scope="module")
def compared(page: TestClient) -> str:
    """The address of a comparison of two bolts, of which only the second has a price."""
    text = SMALL.replace("width = 54", "width = 118\n\n[[fabric.face.bolt]]\nwidth = 54\nprice = 3")
    address = begun(page, "/compare", opened(page, text), work="1")
    waited(page, address)
    return address


def test_bolts_are_compared_and_sorting_puts_the_unknown_last(page: TestClient, compared: str) -> None:
    assert page.get(compared).text.count('<th role="rowheader" scope="row">face</th>') == 2
    for sort in ("cost", "fabric", "order", "nonsense"):
        assert page.get(f"{compared}?sort={sort}").status_code == 200
    widths = re.findall(r'data-label="Width" class="keep">(\d+ in)', page.get(f"{compared}?sort=cost").text)
    assert [width for width in widths if width in ("54 in", "118 in")][:2] == ["54 in", "118 in"]


def test_a_width_is_added_to_a_comparison(page: TestClient, compared: str) -> None:
    more = page.post(f"{compared}/compare", data={"width": "60"}, headers=OURS, follow_redirects=False)
    again = str(more.headers["location"])
    waited(page, again)
    answer = page.get(again)
    assert answer.text.count('<th role="rowheader" scope="row">face</th>') == 3
    assert "60 in" in answer.text
    assert "not on offer" in answer.text
    for width in ("banana", "-3", "0"):
        wrong = page.post(f"{again}/compare", data={"width": width}, headers=OURS)
        assert wrong.status_code == 422
        assert 'role="alert"' in wrong.text


def test_what_cannot_be_cut_says_why(page: TestClient) -> None:
    text = SMALL.replace(
        "[[window]]", '[[extra]]\nname = "Sail"\nwidth = 90\nlength = 95\nturnable = false\n\n[[window]]'
    )
    address = begun(page, "/plan", opened(page, text), work="1")
    solve = waited(page, address)
    assert solve.state == "failed"
    answer = page.get(address)
    assert answer.status_code == 422
    assert "Sail" in answer.text
    assert "Back to the job" in answer.text


@pytest.mark.nightly
def test_good_enough_keeps_the_best(page: TestClient) -> None:
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    end = time.monotonic() + HANGS
    while not page.get(f"{address}/now").json().get("regions", {}).get("course", "").count("chart"):
        assert time.monotonic() < end, "no progress was told"
        time.sleep(0.1)
    assert page.post(f"{address}/enough", headers=OURS, follow_redirects=False).status_code == 303
    solve = waited(page, address)
    assert solve.state == "done"
    assert solve.view is not None
    assert all(layout["length"] for layout in solve.view["layouts"])
    assert page.get(address).status_code == 200


@pytest.mark.nightly
def test_one_at_a_time_and_the_others_see_their_place(page: TestClient) -> None:
    idle(page)
    first = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    second = begun(page, "/plan", opened(page, SMALL), work="1")
    third = begun(page, "/plan", opened(page, SMALL), work="1")
    waited(page, first, "running")
    assert "Waiting: 1 before it" in page.get(f"{second}/now").json()["said"]
    assert "Waiting: 2 before it" in page.get(third).text
    assert (
        page.post(f"{first}/end", headers=OURS, follow_redirects=False).headers["location"] == f"{first}/job"
    )
    assert waited(page, second).state == "done"
    assert waited(page, third).state == "done"
    assert solve_at(page, first).state == "ended"


@pytest.mark.nightly
def test_a_killed_solver_leaves_the_page_usable(page: TestClient) -> None:
    idle(page)
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    solve = waited(page, address, "running")
    assert solve.line is not None
    os.kill(solve.line.pid, signal.SIGKILL)
    solve = waited(page, address)
    assert solve.state == "failed"
    assert "Your job is untouched" in page.get(address).text
    assert sent(page, "/job/save", entries_of(page.get(f"{address}/job").text)).text == ENDLESS
    assert waited(page, begun(page, "/plan", opened(page, SMALL), work="1")).state == "done"


def test_where_others_wait_a_search_nobody_looks_at_stops_with_the_best_it_has(
    page: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    idle(page)
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    solve = waited(page, address, "running")
    while not solve.news:
        page.get(f"{address}/now")
        time.sleep(0.05)
    monkeypatch.setattr(bench_module, "PATIENCE", 0.2)
    assert page.post(f"{address}/leave", headers=OURS).status_code == 204
    assert waited(page, begun(page, "/plan", opened(page, SMALL), work="1")).state == "done"
    assert solve.state == "done"
    assert solve.stopped
    assert page.get(address).status_code == 200


@pytest.mark.nightly
def test_leaving_the_page_ends_nothing(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    idle(page)
    monkeypatch.setattr(bench_module, "PATIENCE", 0.2)
    monkeypatch.setattr(bench_module, "GRACE", 0.1)
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    solve = waited(page, address, "running")
    assert page.post(f"{address}/leave", headers=OURS).status_code == 204
    while not solve.unseen:
        time.sleep(0.05)
    version = solve.version
    # Looked at from here, not through the page: it goes on telling what it finds.
    while solve.version < version + 3:
        assert solve.state == "running"
        time.sleep(0.05)
    page.post(f"{address}/enough", headers=OURS)
    assert waited(page, address).view is not None


def test_one_that_waits_unseen_makes_room_for_somebody_who_looks(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_module, "MOST_WAITING", 2)
    bench = SolveQueue()
    left, seen = (bench.add(order_of("plan", {}, SearchSettings()), "") for _ in range(2))
    with pytest.raises(FullError):
        bench.add(order_of("plan", {}, SearchSettings()), "")
    left.seen -= 1000
    new = bench.add(order_of("plan", {}, SearchSettings()), "")
    assert (left.state, seen.state, new.state) == ("ended", "waiting", "waiting")
    assert "untouched" in left.failure


def _gone(pid: int) -> None:
    end = time.monotonic() + HANGS
    while time.monotonic() < end:
        try:
            os.kill(pid, 0)
        except ProcessLookupError:
            return
        time.sleep(0.05)
    raise AssertionError("the solver still runs")


@pytest.mark.nightly
def test_the_solver_goes_when_the_page_goes() -> None:
    with a_page() as page:
        address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
        solve = waited(page, address, "running")
        assert solve.line is not None
        pid = solve.line.pid
    _gone(pid)


@pytest.mark.nightly
def test_the_solver_has_a_low_priority_and_limits(page: TestClient) -> None:
    idle(page)
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    solve = waited(page, address, "running")
    while not solve.news:
        page.get(f"{address}/now")
        time.sleep(0.05)
    assert solve.line is not None
    limits = Path(f"/proc/{solve.line.pid}/limits").read_text()
    assert os.getpriority(os.PRIO_PROCESS, solve.line.pid) > os.getpriority(os.PRIO_PROCESS, 0)
    assert re.search(r"Max address space +\d+ ", limits)
    assert re.search(r"Max cpu time +\d+ ", limits)
    page.post(f"{address}/end", headers=OURS)


@pytest.mark.nightly
def test_the_line_has_an_end(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_module, "MOST_WAITING", 1)
    with a_page() as page:
        entries = opened(page, ENDLESS)
        first = begun(page, "/plan", entries, seconds="600")
        waited(page, first, "running")
        begun(page, "/plan", entries, seconds="600")
        answer = sent(page, "/plan", entries)
        assert answer.status_code == 503
        assert "Nothing is lost" in answer.text
        assert sent(page, "/job/save", entries_of(answer.text)).text == ENDLESS
        assert page.post(f"{first}/compare", data={"width": ""}, headers=OURS).status_code == 503


def test_old_solves_are_forgotten(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_module, "MOST_KEPT", 2)
    bench = SolveQueue()
    tokens = []
    for _ in range(5):
        solve = bench.add(order_of("plan", {}, SearchSettings()), "")
        bench._waiting.clear()
        solve.state = "done"
        tokens.append(solve.token)
    assert [bench.find(token) is not None for token in tokens] == [False, False, True, True, True]
    assert len(set(tokens)) == 5
    assert all(len(token) >= 20 for token in tokens)


@pytest.mark.parametrize("turns", range(8))
def test_the_line_of_solves_ends_also_as_it_is_woken(turns: int) -> None:
    # Up to Python 3.11 `asyncio.wait_for` loses an end that comes with what it waits for.
    async def ended() -> bool:
        bench = SolveQueue()
        bench.start()
        await asyncio.sleep(0.01)
        bench._woken.set()
        for _ in range(turns):
            await asyncio.sleep(0)
        assert bench._work is not None
        bench._work.cancel()
        await asyncio.wait({bench._work}, timeout=0.5)
        over = bench._work.done()
        while not bench._work.done():
            bench._work.cancel()
            await asyncio.sleep(0)
        return over

    assert asyncio.run(ended())


def test_nothing_waits_by_a_call_that_may_lose_its_end() -> None:
    sources = Path(bench_module.__file__).parent.glob("*.py")
    assert not [path.name for path in sources if "asyncio.wait_for(" in path.read_text("utf-8")]


def test_a_course_is_thinned_and_drawn() -> None:
    bench = SolveQueue()
    solve = bench.add(order_of("plan", {}, SearchSettings()), "")
    for number in range(1000):
        point: Any = (number / 10, None if number < 3 else 900.0 - number / 10, 500.0 + number / 10)
        bench_module._take(solve, {"kind": "news", "fabric": "Linen & <b>", "point": point})
    points = solve.course["Linen & <b>"]
    assert len(points) <= 401
    assert points[0][0] == 0
    assert points[-1][0] == 99.9
    drawn = chart(points, "in", "Linen & <b>")
    assert "<b>" not in drawn
    assert 'aria-label="Linen &amp; &lt;b&gt;: best length' in drawn
    assert chart([(0.0, None, 3.0)], "in", "x") == ""


def test_samples_are_told_in_words_of_the_page(page: TestClient) -> None:
    told = page.get("/").text.partition("Look at a sample")[2].partition("</section>")[0]
    assert told.count("<li>") > 5
    assert not re.search(r"`|\w\.(toml|csv)\b|--\w", told), told
