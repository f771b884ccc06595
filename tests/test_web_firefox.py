"""The main paths of the page in Firefox: what differs there from Chromium would be seen here."""

from __future__ import annotations

from collections.abc import Iterator

import pytest
from playwright.sync_api import Browser, expect

from tests.browser import PATIENCE, a_tab, assert_fits
from tests.firefox import a_firefox
from tests.test_web_browser import open_job, plan, type_in
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
