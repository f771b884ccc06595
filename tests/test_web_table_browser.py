"""A plan cut at the table in a real browser: keys, pedal, closed and opened again, a flaw, the rest."""

from __future__ import annotations

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import PATIENCE, a_tab, assert_fits, assert_no_barriers
from tests.test_hung import job_text
from tests.test_web_browser import open_job

pytestmark = pytest.mark.nightly

expect.set_options(timeout=PATIENCE)

#: A pair, 49 x 96 each, one behind the other; with 20 in of margin 214 in from the squared end.
PAIR = job_text(face='safety = "20 in"')


def to_the_table(page: Page) -> None:
    """Plan the pair, and go to the table."""
    open_job(page, PAIR)
    page.locator("#d-search summary").click()
    page.locator('[id="f-work"]').fill("0.1")
    page.get_by_role("button", name="Plan the cutting").click()
    page.get_by_role("link", name="At the table", exact=True).click()
    ready(page)


def ready(page: Page) -> None:
    expect(page.locator("[data-ready]")).to_be_visible()


def step(page: Page) -> int:
    return int(page.locator("#t-at").inner_text())


def walk_to(page: Page, title: str) -> None:
    """On by the right arrow until a step is shown."""
    for _ in range(60):
        if page.locator("#t-title").inner_text() == title:
            return
        page.keyboard.press("ArrowRight")
    raise AssertionError(f"no step is called {title}")


def test_a_walk_with_a_flaw_on_the_way(browser: Browser, address: str) -> None:
    with a_tab(browser, address, viewport={"width": 1280, "height": 800}) as page:
        to_the_table(page)
        here = page.url
        # Keys and a pedal, to and fro; the hidden line says the step to those who hear the page.
        page.keyboard.press("ArrowRight")
        page.keyboard.press("PageDown")
        page.keyboard.press(" ")
        assert step(page) == 4
        page.keyboard.press("PageUp")
        page.keyboard.press("ArrowLeft")
        assert step(page) == 2
        expect(page.locator("#t-said")).to_contain_text("Step 2 of")
        # Buttons.
        page.get_by_role("button", name="Next").click()
        page.get_by_role("button", name="Back").click()
        assert step(page) == 2
        # The first cut: 96 in from the squared end, its piece lit; freed, it counts as cut.
        walk_to(page, "Cut 1, line 1 of 2")
        expect(page.locator("#t-big")).to_have_text("96 in")
        expect(page.locator("#t-view .pc.now")).to_have_count(1)
        expect(page.locator("#t-view")).to_contain_text("96 in from the squared end")
        expect(page.locator(".bar-piece.now")).to_have_count(1)
        walk_to(page, "Label 1")
        with page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok):
            page.get_by_role("button", name="Cut and labeled: next").click()
        expect(page.locator("#t-left")).to_have_text("1 of 2 cut")
        at = step(page)
        # The line on keys was once hidden by the rules of a phone's bar.
        expect(page.get_by_text("Keys: → or space for the next step")).to_be_visible()
        # Closed and opened again it goes on there, by what the page itself has kept.
        page.goto("about:blank")
        page.goto(here)
        ready(page)
        assert step(page) == at
        # A flaw, 4 in behind the cut.
        page.get_by_role("link", name="Something went wrong").click()
        assert_no_barriers(page)
        expect(page.get_by_label("1 is cut")).to_be_checked()
        page.locator("#w-flaw-0-at").fill("100")
        page.locator("#w-flaw-0-long").fill("2")
        page.get_by_role("button", name="Plan the rest again").click()
        ready(page)
        assert page.url != here
        expect(page.locator("#t-left")).to_have_text("1 of 2 cut")
        expect(page.locator(".note").first).to_contain_text("what is left is enough")
        assert_no_barriers(page)
        walk_to(page, "Cut 2, line 1 of 2")
        expect(page.locator("#t-big")).to_have_text("6, 102 in")
        walk_to(page, "All is cut")
        expect(page.locator("#t-left")).to_have_text("2 of 2 cut")
        expect(page.get_by_role("button", name="Next")).to_be_disabled()


def test_the_same_plan_made_again_goes_on_where_it_was(browser: Browser, address: str) -> None:
    with a_tab(browser, address) as page:
        to_the_table(page)
        walk_to(page, "Label 1")
        page.keyboard.press("ArrowRight")
        at = step(page)
        # The job is planned anew, as after the program was ended: the browser alone remembers.
        to_the_table(page)
        assert step(page) == at
        expect(page.locator("#t-left")).to_have_text("1 of 2 cut")
        page.locator("#t-list summary").click()
        page.get_by_role("button", name="Start over").click()
        assert step(page) == 1
        expect(page.locator("#t-left")).to_have_text("0 of 2 cut")


def test_two_tabs_and_a_clock_set_back_take_no_tick_away(browser: Browser, address: str) -> None:
    with a_tab(browser, address) as page:
        to_the_table(page)
        other = page.context.new_page()
        other.goto(page.url)
        ready(other)
        for tab in (page, other):
            tab.locator("#t-list summary").click()
        boxes = "#t-list input[type=checkbox]"
        page.locator(boxes).nth(0).check()
        expect(other.locator("#t-left")).to_have_text("1 of 2 cut")
        # Both at once, neither has heard of the other's.
        page.locator(boxes).nth(0).uncheck()
        other.locator(boxes).nth(1).check()
        for tab in (page, other):
            expect(tab.locator("#t-left")).to_have_text("1 of 2 cut")
            expect(tab.locator(boxes).nth(1)).to_be_checked()
        # The clock of this device goes back a day.
        page.evaluate("() => { const now = Date.now; Date.now = () => now() - 864e5; }")
        with page.expect_response(lambda answer: answer.request.method == "POST" and answer.ok):
            page.locator(boxes).nth(0).check()
        page.goto("about:blank")
        page.goto(other.url)
        ready(page)
        expect(page.locator("#t-left")).to_have_text("2 of 2 cut")


def test_a_piece_cut_at_the_table_is_cut_on_the_plan_page_too(browser: Browser, address: str) -> None:
    with a_tab(browser, address) as page:
        to_the_table(page)
        walk_to(page, "Label 1")
        page.keyboard.press("ArrowRight")
        at = step(page)
        page.get_by_role("link", name="Back to the plan").click()
        expect(page.locator("a.piece.done")).to_have_count(1)
        expect(page.locator(".left")).to_have_text("1 of 2 still to cut")
        # The other one ticked there, with the table open beside it: both know, and the step stays.
        other = page.context.new_page()
        other.goto(page.url + "/table")
        ready(other)
        page.locator("details.every > summary").click()
        page.locator(".cards").get_by_label("Already cut: 2").check()
        expect(page.locator(".left")).to_have_text("All are cut")
        expect(other.locator("#t-left")).to_have_text("2 of 2 cut")
        assert step(other) == at
        other.locator("#t-list summary").click()
        other.locator("#t-list input[type=checkbox]").first.uncheck()
        expect(page.locator("a.piece.done")).to_have_count(1)
        # The job is planned anew: this browser knows what is cut, on either page.
        to_the_table(page)
        expect(page.locator("#t-left")).to_have_text("1 of 2 cut")
        assert step(page) == at
        page.get_by_role("link", name="Back to the plan").click()
        expect(page.locator("a.piece.done")).to_have_count(1)


@pytest.mark.parametrize("width", [390, 1024, 1280])
def test_it_fits_and_has_no_barriers(browser: Browser, address: str, width: int) -> None:
    with a_tab(browser, address, viewport={"width": width, "height": 844}, has_touch=True) as page:
        to_the_table(page)
        for scheme in ("light", "dark"):
            page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
            for title in ("Lay out", "Cut 1, line 1 of 2", "Label 1"):
                walk_to(page, title)
                assert_fits(page)
                assert_no_barriers(page)
                # The button for the next step is in reach without scrolling.
                expect(page.locator("#t-next")).to_be_in_viewport()
            page.locator("#t-list summary").click()
            assert_no_barriers(page)
            page.get_by_role("button", name="Start over").click()
            page.locator("#t-list summary").click()
        # What is read at an arm's length is at least so large: 20 px for a sentence, 46 px for a distance.
        walk_to(page, "Cut 1, line 1 of 2")
        sizes = [
            float(page.locator(at).evaluate("(line) => parseFloat(getComputedStyle(line).fontSize)"))
            for at in ("#t-big", "#t-text")
        ]
        assert sizes[0] >= 46
        assert sizes[1] >= 20


def test_aloud_only_where_it_is_asked_for(browser: Browser, address: str) -> None:
    with a_tab(browser, address) as page:
        page.add_init_script(
            "window.said = [];"
            "const voice = {cancel() {}, speak(one) { said.push(one.text); }};"
            "Object.defineProperty(window, 'speechSynthesis', {value: voice});"
        )
        to_the_table(page)
        page.keyboard.press("ArrowRight")
        assert page.evaluate("said") == []
        page.get_by_role("button", name="Read aloud").click()
        walk_to(page, "Cut 1, line 1 of 2")
        spoken = page.evaluate("said")[-1]
        assert "96 inches from the squared end" in spoken
        page.get_by_role("button", name="Read aloud").click()
        count = page.evaluate("said.length")
        page.keyboard.press("ArrowRight")
        assert page.evaluate("said.length") == count
