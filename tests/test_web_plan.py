"""The plan's page and the wait for it: markers of every kind, advice taken, plans that are found again."""

from __future__ import annotations

import re
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from starlette.testclient import TestClient

from nesting.drawing.palette import CHALK, FABRIC, FLAW, INK, LOOKS, REPEAT, RUST, SELVAGE
from nesting.files import job_table, read_job, read_job_table
from nesting.plan.numbering import numbering
from nesting.plan.plan import FabricLayout
from nesting.planning.effort import Effort
from nesting.planning.planner import plan as make_plan
from nesting.web.marker_view import TICKS, fitted, marker_svg
from nesting.web.taking import changed
from tests.web_page import ENDLESS, OURS, SMALL, TWO_BOLTS, a_page, begun, idle, opened, solve_at, waited

SAMPLES = Path(__file__).parents[1] / "samples"


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


@pytest.fixture(scope="module")
def planned(page: TestClient) -> tuple[str, Any]:
    """The address of a small plan, its packet printed, and the answer that led there."""
    entries = opened(page, SMALL) | {"work": "0.1"}
    answer = page.post("/plan", data=entries, headers=OURS, follow_redirects=False)
    address = str(answer.headers["location"])
    waited(page, address, "packet.html")
    return address, answer


def drawn(layout: FabricLayout) -> ET.Element:
    return ET.fromstring(marker_svg(layout, numbering((layout,)), "face", "in"))


def named(root: ET.Element, kind: str) -> list[ET.Element]:
    return [one for one in root.iter() if kind in one.get("class", "").split()]


def box_of(rect: ET.Element) -> tuple[float, ...]:
    return tuple(float(rect.get(key, "nan")) for key in ("x", "y", "width", "height"))


@pytest.mark.parametrize("name", ["reading-nook", "dining-room"])
def test_every_piece_stands_where_it_is_cut_with_an_arrow_and_its_card(name: str) -> None:
    made = make_plan(read_job(SAMPLES / f"{name}.toml"), effort=Effort(work=0.1, workers=1))
    layout = made.layouts[0]
    root = drawn(layout)
    pieces = {one.get("data-key"): one for one in named(root, "piece")}
    assert len(pieces) == len(layout.placements)
    for laid in layout.placements:
        link = pieces[f"{laid.piece.id}:{laid.copy}"]
        (cloth,) = named(link, "cloth")
        # Along the bolt is across the page: x of the picture is y of the fabric.
        exact = (laid.y, laid.x, laid.length, laid.width)
        assert box_of(cloth) == pytest.approx([ticks / TICKS for ticks in exact], abs=0.01)
        assert link.get("href", "").startswith("#card-face-")
    assert len(named(root, "ar")) == len(layout.placements)
    has_repeat = layout.fabric.repeat is not None
    assert bool(named(root, "repeat")) == has_repeat
    assert root.get("data-unit") == "in"
    assert [one.text for one in named(root, "whole")][:2] == ["1 yd", "2 yd"]


def test_what_is_written_in_a_box_stays_in_it() -> None:
    """Number first, then the arrow, size and name; in a narrow box it is written upwards."""
    full = fitted(300, 120, "A1", "East, left panel", "53 × 104 in")
    assert None not in (full.number, full.name, full.size, full.arrow)
    assert not full.turned
    narrow = fitted(30, 300, "A1", "East, left panel", "53 × 104 in")
    assert narrow.turned
    assert narrow.number is not None
    assert narrow.name is None
    assert fitted(5, 5, "A1", "East", "1 × 1 in").number is None
    for wide in range(4, 200, 7):
        for high in range(4, 200, 7):
            fit = fitted(wide, high, "A12", "East, left panel", "53 × 104 in")
            room, deep = (high, wide) if fit.turned else (wide, high)
            cap = 0.75 * (11 if fit.tiny else 16)
            tall = [fit.number[1] - cap if fit.number else 0, fit.name or 0, fit.size or 0]
            assert all(-deep / 2 - 1 <= at <= deep / 2 + 1 for at in tall), (wide, high, fit)
            if fit.number is not None:
                assert abs(fit.number[0]) + 0.58 * 11 * 3 / 2 <= room / 2 + 2, (wide, high, fit)


def first_markers(page: TestClient, address: str) -> list[str]:
    """What the script of the page gets at the first marker."""
    waited(page, address, "running")
    while True:
        told = page.get(f"{address}/now").json()
        if told["markers"] or told["over"]:
            found: list[str] = told["markers"]
            return found
        time.sleep(0.05)


@pytest.mark.nightly
def test_more_than_sixty_pieces_have_their_marker_while_they_are_searched(page: TestClient) -> None:
    idle(page)
    address = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
    (marker,) = first_markers(page, address)
    assert marker.count('class="piece ') > 60
    version = page.get(f"{address}/now").json()["version"]
    assert page.get(f"{address}/now?seen={version}").json()["regions"] == {}
    assert 'class="piece ' in page.get(address).text
    page.post(f"{address}/enough", headers=OURS)
    assert waited(page, address).view is not None


@pytest.mark.nightly
@pytest.mark.parametrize("text", [ENDLESS.replace('units = "in"', 'units = "in"\ncutting = "across-first"')])
def test_what_is_cut_across_first_has_its_marker_while_it_is_searched(page: TestClient, text: str) -> None:
    idle(page)
    address = begun(page, "/plan", opened(page, text), seconds="600")
    assert first_markers(page, address)
    page.post(f"{address}/end", headers=OURS)


def taken(page: TestClient, address: str, place: str) -> Any:
    return page.post(f"{address}/take", data={"take": place}, headers=OURS, follow_redirects=False)


def test_an_offer_is_taken_with_one_button_and_taken_back_with_one(
    page: TestClient, planned: tuple[str, Any]
) -> None:
    address, _ = planned
    solve = solve_at(page, address)
    assert solve.view is not None
    offers = solve.view["offers"]
    margin = next(at for at, one in enumerate(offers) if "safety margin" in one["text"])
    assert f'value="offer:{margin}"' in page.get(address).text
    answer = taken(page, address, f"offer:{margin}")
    assert answer.status_code == 303
    again = str(answer.headers["location"])
    made = waited(page, again)
    table = job_table(made.draft)
    assert "usual" in [fabric.get("safety") for fabric in table["fabric"].values()]
    text = page.get(again).text
    assert "Taken:" in text
    # What is taken is searched for anew, and may miss what was promised: both amounts can be compared.
    assert f"Before: {solve.view['layouts'][0]['buy']}." in text
    assert f'href="{address}">Undo' in text
    assert page.get(address).status_code == 200
    assert job_table(solve.draft) == job_table(SMALL)
    for place in ("offer:99", "what:0:1", "nothing:0", "offer:", "offer:٣", ""):
        assert taken(page, address, place).status_code == 422


@pytest.mark.nightly
def test_one_width_less_is_typed_as_it_was_promised(page: TestClient) -> None:
    address = begun(page, "/plan", opened(page, TWO_BOLTS), work="1")
    solve = waited(page, address)
    assert solve.view is not None
    place = next(at for at, one in enumerate(solve.view["offers"]) if " instead of " in one["text"])
    offer = solve.view["offers"][place]
    assert offer["change"]["window"] == "One"
    again = waited(page, str(taken(page, address, f"offer:{place}").headers["location"]))
    (window,) = read_job_table(job_table(again.draft)).windows
    assert f"fullness {float(window.fullness or 0):.2f}" in offer["text"]


def test_a_change_without_its_place_is_none() -> None:
    table = job_table(SMALL)
    assert changed(table, {"window": "Two", "key": "fullness", "text": "1.2"}) is None
    assert changed(table, {"fabric": "other", "key": "safety", "text": "usual"}) is None
    made = changed(table, {"window": "One", "key": "finished_length", "text": "59 in"})
    assert made is not None
    assert made["window"][0]["finished_length"] == "59 in"
    assert table["window"][0]["finished_length"] == 60


def test_plans_are_found_again_by_the_browser_that_asked_and_by_no_other(
    page: TestClient, planned: tuple[str, Any]
) -> None:
    address, _ = planned
    text = page.get("/").text
    assert "Your plans" in text
    assert f'href="{address}"' in text
    (said,) = re.findall(rf'href="{address}">Small</a>: ([^<]+)<', text)
    assert "yd" in said
    mine = dict(page.cookies)
    page.cookies.clear()
    assert "Your plans" not in page.get("/").text
    page.cookies.set("nesting-plans", "../../../etc")
    assert "Your plans" not in page.get("/").text
    page.cookies.clear()
    page.cookies.update(mine)


def test_the_name_of_a_browser_is_for_no_script_and_no_other_site(planned: tuple[str, Any]) -> None:
    said = planned[1].headers["set-cookie"].lower()
    assert "httponly" in said
    assert "samesite=strict" in said


def test_the_page_leads_to_what_is_next_to_the_cautions_and_to_print(
    page: TestClient, planned: tuple[str, Any]
) -> None:
    text = page.get(planned[0]).text
    order = [text.index(words) for words in ('id="h-buy"', 'class="actions"', 'class="laid"', 'id="next"')]
    assert order == sorted(order)
    for place in ("next", "cautions", "ways"):
        assert f'href="#{place}"' in text
        assert f'id="{place}"' in text
    assert 'packet.html?view=page">Print<' in text
    assert "never the top step" in text
    assert "square the end, then cut in the order of the numbers" in text
    assert text.index("How the search went") > text.index('id="cautions"')
    assert not re.search(r'style="|<script>|onclick=', text)


def test_every_page_links_the_scripts_that_its_marks_are_for() -> None:
    """The wait for a rest planned again once had no script, and stood still for good."""
    web = Path(__file__).parents[1] / "nesting" / "web"
    asked = re.compile(r'document\.querySelector(?:All)?\("\[(data-[a-z-]+)\]"\)')
    pages = {one.name: one.read_text("utf-8") for one in (web / "templates").glob("*.html")}
    pages = {name: text for name, text in pages.items() if text.startswith("{% extends")}
    held = 0
    for script in (web / "static").glob("*.js"):
        for mark in sorted(set(asked.findall(script.read_text("utf-8")))):
            marked = [name for name, text in pages.items() if re.search(rf"[ }}]{mark}[ =>{{]", text)]
            held += len(marked)
            for name in marked:
                assert f"/static/{script.name}?" in pages[name] + pages.get("base.html", ""), (name, mark)
    assert held >= 4


def test_the_screen_has_the_colors_of_the_printed_marker() -> None:
    style = (Path(__file__).parents[1] / "nesting" / "web" / "static" / "plan.css").read_text("utf-8")
    fills = dict(re.findall(r"\.laid (?:\.p-)?\.?([a-z]+)(?: \.cloth)? \{[^}]*?fill: (#[0-9a-f]{6})", style))
    assert {role: fills[role] for role in LOOKS if role != "panel"} == {
        role: look.tint for role, look in LOOKS.items() if role != "panel"
    }
    assert fills["cloth"] == LOOKS["panel"].tint
    assert (fills["ground"], fills["selvage"], fills["flaw"]) == (FABRIC, SELVAGE, FLAW)
    strokes = dict(re.findall(r"\.laid \.([a-z-]+) \{[^}]*?stroke: (#[0-9a-f]{6})", style))
    assert [strokes[name] for name in ("cloth", "hem", "start", "repeat", "ar")] == [
        INK,
        CHALK,
        CHALK,
        REPEAT,
        RUST,
    ]
