"""Nothing is lost, in a real browser: jobs kept on disk, every change undone, pages printed."""

from __future__ import annotations

from collections.abc import Iterator
from io import BytesIO

import pytest
from playwright.sync_api import Browser, Page, expect
from pypdf import PdfReader

from tests.browser import PATIENCE, a_served_page, a_tab, assert_fits, assert_no_barriers
from tests.test_web_browser import kept, open_job, plan, type_in
from tests.web_page import SMALL, TWO_BOLTS

pytestmark = pytest.mark.nightly

expect.set_options(timeout=PATIENCE)


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A page that keeps jobs on disk."""
    with a_served_page(tmp_path_factory.mktemp("data")) as found:
        yield found


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    with a_tab(browser, address) as tab:
        yield tab


def test_a_job_kept_on_disk_is_there_in_another_browser(browser: Browser, address: str, page: Page) -> None:
    open_job(page, SMALL)
    with page.expect_response(lambda answer: answer.url.endswith("/keep")):
        type_in(page, title="On disk", window__0__rod="84 1/")
    assert kept(page) == ["On disk"]
    assert_no_barriers(page)
    with a_tab(browser, address, viewport={"width": 390, "height": 844}) as other:
        assert kept(other) == ["On disk"]
        assert_fits(other)
        other.get_by_role("link", name="On disk", exact=True).click()
        expect(other.locator('[id="f-window.0.rod"]')).to_have_value("84 1/")
        with other.expect_response(lambda answer: answer.url.endswith("/keep")):
            type_in(other, window__0__rod="84 1/2")
        # The first browser has an earlier state of the same job: one row, the later state.
        assert kept(page) == ["On disk"]
        page.locator("#kept-list .open:visible").click()
        expect(page.locator('[id="f-window.0.rod"]')).to_have_value("84 1/2")
        # Both go on from there: neither writes over the other.
        with page.expect_response(lambda answer: answer.url.endswith("/keep")):
            type_in(page, title="Mine")
        with other.expect_response(lambda answer: answer.url.endswith("/keep")):
            type_in(other, title="Theirs")
        assert sorted(kept(other)) == ["Mine", "Theirs"]
        other.get_by_role("button", name="Remove Mine").click()
        expect(other.locator("#jobs .note:visible")).to_contain_text("Mine was removed")
        assert_no_barriers(other)
        other.get_by_role("button", name="Undo").click()
        expect(other.locator("#jobs .note:visible")).to_contain_text("Mine is back")
        for name in ("Mine", "Theirs"):
            other.get_by_role("button", name=f"Remove {name}").click()
        assert kept(other) == []
        # Removed from the folder later than it was changed in the first browser: gone there as well.
        assert kept(page) == []
        page.locator("#d-removed summary").click()
        page.get_by_role("button", name="Delete for good Mine").click()
        page.locator("#d-removed summary").click()
        expect(page.locator("#removed-list li:visible")).to_have_count(1)


def test_a_clock_set_back_and_a_tab_closed_in_mid_word_lose_nothing(
    browser: Browser, address: str, page: Page
) -> None:
    open_job(page, SMALL)
    with page.expect_response(lambda answer: answer.url.endswith("/keep")):
        type_in(page, title="Clock", window__0__rod="84")
    page.evaluate("() => { const now = Date.now; Date.now = () => now() - 864e5; }")
    with page.expect_response(lambda answer: answer.url.endswith("/keep")):
        type_in(page, window__0__rod="84 1/")
    with a_tab(browser, address) as other:
        assert "Clock" in kept(other)
        other.get_by_role("link", name="Clock", exact=True).click()
        expect(other.locator('[id="f-window.0.rod"]')).to_have_value("84 1/")
    # The tab is closed while what was typed is still on its way.
    page.evaluate(
        "() => { const real = window.fetch; window.fetch = (to, ...more) =>"
        " to !== '/keep' ? real(to, ...more) : new Promise(() => { window.held = true; }); }"
    )
    type_in(page, window__0__rod="84 1/2")
    page.wait_for_function("() => window.held")
    page.goto("about:blank")
    with a_tab(browser, address) as other:
        field = other.locator('[id="f-window.0.rod"]')
        for _ in range(50):
            assert "Clock" in kept(other)
            other.get_by_role("link", name="Clock", exact=True).click()
            if field.input_value() == "84 1/2":
                break
        expect(field).to_have_value("84 1/2")
        other.goto(address)
        other.get_by_role("button", name="Remove Clock").click()


def state(page: Page) -> str:
    """Everything the form says, but for its own bookkeeping."""
    return str(page.evaluate(
        "() => { const all = new URLSearchParams(new FormData(document.getElementById('job')));"
        " for (const name of ['kept', 'base', 'do']) all.delete(name); all.sort(); return all.toString(); }"
    ))  # fmt: skip


def comes_to(page: Page, wanted: str) -> None:
    """The form is renewed a moment after its answer has come."""
    page.wait_for_function(
        "(wanted) => { const all = new URLSearchParams(new FormData(document.getElementById('job')));"
        " for (const name of ['kept', 'base', 'do']) all.delete(name); all.sort();"
        " return all.toString() === wanted; }",
        arg=wanted,
    )


def press(page: Page, name: str) -> None:
    button = page.get_by_role("button", name=name, exact=True)
    expect(button).to_be_enabled()
    with page.expect_response(lambda answer: answer.url.endswith("/job")):
        button.click()
    expect(page.locator("#job")).to_be_visible()


@pytest.mark.nightly
def test_whatever_is_done_to_a_job_can_be_undone_and_redone(page: Page) -> None:
    extra = '[[extra]]\nname = "Cushion"\nwidth = 20\nlength = 20\n'
    lining = '[fabric.lining]\nname = "Lawn"\n[[fabric.lining.bolt]]\nwidth = 54\n\n'
    open_job(page, TWO_BOLTS.replace("[[window]]", f"{lining}[[window]]") + extra)
    expect(page.locator("#strip button").first).to_be_visible()

    def pressed(name: str) -> None:
        press(page, name)

    def chosen() -> None:
        page.locator("#strip button").first.click()
        expect(page.locator(".note[role=status]").first).to_be_visible()

    def measured_otherwise() -> None:
        page.get_by_label("Measured in").select_option("cm")
        expect(page.locator("main")).to_contain_text("keeps its length")

    def made_a_print() -> None:
        page.locator(".first").get_by_text("print", exact=True).click()
        expect(page.locator('[id="f-fabric.face.repeat.length"]')).to_be_visible()

    for act in (
        lambda: pressed("Copy One"),
        lambda: pressed("Remove One"),
        lambda: pressed("Remove Lawn"),
        lambda: pressed("Remove Cushion"),
        lambda: pressed("Remove bolt 2"),
        lambda: pressed("Add a window"),
        made_a_print,
        measured_otherwise,
        chosen,
    ):
        before = state(page)
        act()
        page.wait_for_function(
            "(was) => new URLSearchParams(new FormData(job)).toString() !== was", arg=before
        )
        after = state(page)
        assert after != before
        press(page, "Undo")
        comes_to(page, before)
        press(page, "Redo")
        comes_to(page, after)
        press(page, "Undo")
        if act is not chosen:
            expect(page.locator("#strip button").first).to_be_visible()


@pytest.mark.nightly
def test_steps_back_outlive_a_plan_and_the_list_of_jobs(page: Page) -> None:
    open_job(page, SMALL)
    type_in(page, title="Steps")
    type_in(page, window__0__rod="44")
    plan(page)
    page.get_by_role("link", name="Back to the job").first.click()
    press(page, "Undo")
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("30")
    press(page, "Redo")
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("44")
    page.goto("/")
    page.locator("#kept-list .open:visible", has_text="Steps").click()
    press(page, "Undo")
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("30")
    press(page, "Undo")
    expect(page.locator('[id="f-title"]')).to_have_value("Small")
    # It is one job all the while.
    assert kept(page).count("Small") == 1
    assert "Steps" not in kept(page)


@pytest.mark.nightly
def test_a_full_browser_drops_removed_and_old_jobs_and_keeps_the_last_twenty(page: Page) -> None:
    open_job(page, SMALL)
    page.evaluate("""() => {
        for (let n = 0; n < 30; n++) localStorage.setItem(`nesting-job:old-${n}`,
            JSON.stringify({ when: 1000 + n, entries: `title=Old+${n}&x=${'y'.repeat(150000)}` }));
        try { for (let n = 0; n < 200; n++) localStorage.setItem(`nesting-removed:gone-${n}`,
            JSON.stringify({ when: n, gone: n, entries: 'x'.repeat(20000) })); } catch { /* full now */ }
    }""")
    type_in(page, title="Latest " + "z" * 300)
    expect(page.locator("#no-room")).to_be_hidden()
    left = page.evaluate("Object.keys(localStorage).filter((key) => key.startsWith('nesting-job:')).length")
    assert left >= 20
    held = page.evaluate("Object.values(localStorage).some((one) => one.includes('Latest+zzz'))")
    assert held


def printed(page: Page, paper: str) -> tuple[str, int]:
    """The text of a page on paper, and how many sheets it takes."""
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    made = PdfReader(BytesIO(page.pdf(format=paper)))
    page.evaluate("dispatchEvent(new Event('afterprint'))")
    return " ".join(" ".join(one.extract_text() for one in made.pages).split()), len(made.pages)


@pytest.mark.nightly
@pytest.mark.parametrize("paper", ["Letter", "A4"])
def test_on_paper_stands_what_one_would_want_there(page: Page, paper: str) -> None:
    open_job(page, SMALL)
    type_in(page, title="Paper", window__0__rod="31 1/8")
    expect(page.locator("#answer svg").first).to_be_visible()
    expect(page.locator("#sums")).to_contain_text("31 1/8")
    text, sheets = printed(page, paper)
    for said in ("Paper", "31 1/8", "What to buy", "Pieces and sums", "cut length"):
        assert said in text, said
    for button in (
        "Plan the cutting",
        "Save the job",
        "Undo",
        "Add a window",
        "Remove One",
        "Seconds at most",
    ):
        assert button not in text, button
    assert sheets <= 4
    plan(page)
    text, sheets = printed(page, paper)
    for said in (
        "Paper",
        "To buy",
        "Marker",
        "pieces as they come along the bolt",
        "For you and the fabric",
        "Also to buy",
    ):
        assert said in text, said
    for button in ("Print view", "very large", "Compare bolt widths", "Back to the job"):
        assert button not in text, button
    page.goto("/")
    text, _ = printed(page, paper)
    assert "Paper" in text
    assert "Open it" not in text
