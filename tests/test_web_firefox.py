"""The main paths of the page in Firefox: what differs there from Chromium would be seen here."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser import PATIENCE, a_tab, assert_fits
from tests.firefox import a_firefox
from tests.test_web_browser import open_job, plan, type_in
from tests.test_web_table_browser import ready, step, to_the_table, walk_to
from tests.web_page import SMALL

pytestmark = pytest.mark.nightly
expect.set_options(timeout=PATIENCE)


@pytest.fixture(scope="module")
def firefox() -> Iterator[Browser]:
    with a_firefox() as made:
        yield made


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_from_nothing_to_a_plan(firefox: Browser, address: str, width: int, height: int) -> None:
    with a_tab(firefox, address, viewport={"width": width, "height": height}) as page:
        page.goto("/")
        assert_fits(page)
        page.get_by_role("link", name="In inches and yards").click()
        expect(page.locator("#status")).to_contain_text("Still to type: the rod")
        type_in(page, window__0__rod="36", window__0__finished_length="60 1/2")
        type_in(page, fabric__face__bolt__0__width="54", fabric__face__bolt__0__price="18.50")
        expect(page.locator("#buy")).to_contain_text("$")
        expect(page.locator("#answer svg").first).to_be_visible()
        assert_fits(page)
        plan(page)
        assert_fits(page)


def test_a_change_is_undone_and_redone(firefox: Browser, address: str) -> None:
    with a_tab(firefox, address) as page:
        open_job(page, SMALL)
        rod = page.locator('[id="f-window.0.rod"]')
        rod.fill("41")
        expect(page.locator("#undo")).to_be_enabled()
        page.get_by_role("button", name="Undo").click()
        expect(rod).to_have_value("30")
        page.get_by_role("button", name="Redo").click()
        expect(rod).to_have_value("41")


def test_another_way_is_chosen_and_taken_back(firefox: Browser, address: str) -> None:
    with a_tab(firefox, address) as page:
        open_job(page, SMALL)
        way = page.locator(".way button").first
        name = way.get_attribute("value")
        way.click()
        expect(page.locator(f'.way button[value="{name}"]')).to_have_count(0)
        page.get_by_role("button", name="Undo").click()
        expect(page.locator(f'.way button[value="{name}"]')).to_have_count(1)


@pytest.mark.parametrize(("width", "height"), [(1280, 800), (390, 844)])
def test_a_plan_is_walked_at_the_table(firefox: Browser, address: str, width: int, height: int) -> None:
    with a_tab(firefox, address, viewport={"width": width, "height": height}) as page:
        to_the_table(page)
        assert_fits(page)
        # Keys and a pedal, buttons; each step is said to those who hear the page.
        for key in ("ArrowRight", "PageDown", " ", "PageUp"):
            page.keyboard.press(key)
        assert step(page) == 3
        expect(page.locator("#t-said")).to_contain_text("Step 3 of")
        page.get_by_role("button", name="Back").click()
        assert step(page) == 2
        # The piece that is cut is lit, with its distance from the squared end; freed, it counts as cut.
        walk_to(page, "Cut 1, line 1 of 2")
        expect(page.locator("#t-big")).to_have_text("96 in")
        expect(page.locator("#t-view .pc.now")).to_have_count(1)
        assert_fits(page)
        walk_to(page, "Label 1")
        with page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok):
            page.get_by_role("button", name="Cut and labeled: next").click()
        expect(page.locator("#t-left")).to_have_text("1 of 2 cut")
        # Closed and opened again it goes on there.
        at, here = step(page), page.url
        page.goto("about:blank")
        page.goto(here)
        ready(page)
        assert step(page) == at
        # A flaw behind the cut: the rest is planned again.
        page.get_by_role("link", name="Something went wrong").click()
        assert_fits(page)
        page.locator("#w-flaw-0-at").fill("100")
        page.locator("#w-flaw-0-long").fill("2")
        page.get_by_role("button", name="Plan the rest again").click()
        page.wait_for_url(lambda url: url.endswith("/table") and url != here)
        ready(page)
        walk_to(page, "Cut 2, line 1 of 2")
        expect(page.locator("#t-big")).to_have_text("6, 102 in")
        assert_fits(page)
