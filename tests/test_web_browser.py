"""What people do on the page, done in a real browser."""

from __future__ import annotations

import re
from collections.abc import Callable, Iterator
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Route, expect

from tests.browser import PATIENCE, a_tab, assert_fits, assert_no_barriers
from tests.web_page import ENDLESS, SMALL, TWO_BOLTS

expect.set_options(timeout=PATIENCE)


@pytest.fixture
def page(browser: Browser, address: str) -> Iterator[Page]:
    with a_tab(browser, address) as tab:
        yield tab


def type_in(page: Page, **entries: str) -> None:
    """Type into fields by name, points as double underscores."""
    for name, text in entries.items():
        page.locator(f'[id="f-{name.replace("__", ".")}"]').fill(text)


def unfold(page: Page) -> None:
    """Open all that is folded away."""
    page.evaluate("document.querySelectorAll('#job details.fold').forEach((one) => { one.open = true; })")


def open_job(page: Page, text: str) -> None:
    page.goto("/")
    file = {"name": "job.toml", "mimeType": "application/toml", "buffer": text.encode()}
    page.set_input_files("#file", file)  # type: ignore[arg-type]
    page.get_by_role("button", name="Open it").click()
    expect(page.locator("#job")).to_be_visible()


def holding(page: Page, address: str) -> tuple[list[Route], Callable[[], None]]:
    """What is asked for there is held, as by a slow page; with what lets it, and all that follows, go."""
    held, gone = list[Route](), list[bool]()

    def hold(route: Route) -> None:
        if gone:
            route.continue_()
        else:
            held.append(route)

    def let_go() -> None:
        gone.append(True)
        for route in held:
            route.continue_()

    page.route(address, hold)
    return held, let_go


def plan(page: Page) -> None:
    page.get_by_role("button", name="Plan the cutting").click()
    expect(page.locator("[data-plan]").first).to_be_visible()


def from_nothing_to_a_plan(page: Page, look: Callable[[Page], None]) -> None:
    """The way of a new user, on which each page is looked at."""
    page.goto("/")
    look(page)
    page.get_by_role("link", name="In inches and yards").click()
    expect(page.locator("#status")).to_contain_text("Still to type: the rod")
    expect(page.locator(".fault")).to_have_count(0)
    look(page)
    type_in(page, window__0__rod="36", window__0__finished_length="60 1/2", fabric__face__bolt__0__width="54")
    expect(page.locator("#rule")).to_contain_text("rule of thumb")
    expect(page.locator("#answer .first-lines")).to_contain_text("yd")
    expect(page.locator("#answer svg").first).to_be_visible()
    type_in(page, fabric__face__bolt__0__price="18.50")
    expect(page.locator("#buy")).to_contain_text("$")
    look(page)
    unfold(page)
    type_in(page, title="Guest room", fabric__face__name="Blue linen", window__0__name="South")
    expect(page.locator('[id="n-window.0.finished_length"]')).to_contain_text("read as 60 1/2 in · 153.67 cm")
    page.get_by_role("button", name="Add a window").click()
    expect(page.locator('[id="f-window.1.rod"]')).to_be_focused()
    unfold(page)
    type_in(page, window__1__name="North", window__1__rod="30", window__1__finished_length="5 ft")
    page.locator('[id="f-window.1.heading"]').get_by_text("tab top").click()
    expect(page.locator("#status")).to_contain_text("ready to plan")
    expect(page.locator("#sums")).to_contain_text("North, left panel")
    look(page)
    # As long a search as two windows need, and one for small changes.
    page.locator("#d-search summary").click()
    page.locator('[id="f-work"]').fill("0.1")
    plan(page)


def test_a_new_user_from_nothing_to_the_printed_packet(page: Page) -> None:
    from_nothing_to_a_plan(page, lambda page: page.wait_for_load_state())
    expect(page.locator("h1")).to_have_text("Guest room")
    expect(page.get_by_role("link", name="Packet, PDF")).to_be_visible()
    assert_no_barriers(page)
    with page.expect_download() as download:
        page.get_by_role("link", name="Packet, PDF").click()
    assert Path(download.value.path()).read_bytes().startswith(b"%PDF")
    assert download.value.suggested_filename == "guest-room-packet.pdf"
    page.get_by_role("link", name="Print view").click()
    expect(page.locator("h1")).to_have_text("Guest room")
    expect(page.locator("body")).to_contain_text("Measuring sheet")


@pytest.mark.nightly
def test_no_page_on_the_way_of_a_new_user_has_barriers(page: Page) -> None:
    from_nothing_to_a_plan(page, assert_no_barriers)


def test_an_error_is_told_beside_its_field_and_goes_when_it_is_put_right(page: Page) -> None:
    open_job(page, SMALL)
    rod, note = page.locator('[id="f-window.0.rod"]'), page.locator('[id="n-window.0.rod"]')
    rod.fill("84 1/")
    expect(note).to_contain_text("Expected a length above 0")
    expect(rod).to_have_attribute("aria-invalid", "true")
    assert_no_barriers(page)
    page.get_by_role("button", name="Plan the cutting").click()
    expect(page.locator("#summary")).to_contain_text('window "One": rod')
    expect(rod).to_have_value("84 1/")
    page.locator("#summary a").click()
    expect(rod).to_be_focused()
    rod.fill("84 1/2")
    expect(note).to_contain_text("read as 84 1/2 in")
    expect(note).not_to_contain_text("Expected")
    expect(page.locator("#summary")).to_be_empty()


@pytest.mark.nightly
def test_a_sample_is_loaded_and_its_widths_are_compared(page: Page) -> None:
    page.goto("/")
    page.get_by_role("link", name="Balcony sheer").click()
    page.locator("#d-search summary").click()
    type_in(page, work="0.3")
    page.get_by_role("button", name="Compare bolts").click()
    expect(page.locator(".bars svg")).to_be_visible()
    expect(page.get_by_role("row")).to_have_count(3)
    assert_no_barriers(page)
    page.get_by_label("Another width").fill("72")
    page.get_by_role("button", name="Compare it too").click()
    expect(page.get_by_role("row", name=re.compile("72 in"))).to_be_visible()
    page.get_by_role("link", name="cost", exact=True).click()
    expect(page.locator(".bars svg")).to_be_visible()
    page.get_by_role("link", name="Back to the job").click()
    expect(page.locator('[id="f-title"]')).to_have_value("Balcony sheer")


@pytest.mark.nightly
def test_good_enough_stops_early_and_keeps_the_best(page: Page) -> None:
    open_job(page, ENDLESS)
    page.locator("#d-search summary").click()
    type_in(page, seconds="600")
    page.get_by_role("button", name="Plan the cutting").click()
    expect(page.locator("#markers a.piece").first).to_be_visible()
    assert_no_barriers(page)
    page.get_by_role("button", name=re.compile("Good enough")).click()
    expect(page.locator("[data-plan]").first).to_be_visible()


@pytest.mark.nightly
def test_leaving_the_page_loses_nothing(page: Page) -> None:
    open_job(page, ENDLESS)
    page.locator("#d-search summary").click()
    type_in(page, seconds="600")
    page.get_by_role("button", name="Plan the cutting").click()
    expect(page.locator("#markers a.piece").first).to_be_visible()
    page.goto("/")
    page.get_by_role("link", name="Long gallery").first.click()
    expect(page.locator("#markers a.piece").first).to_be_visible()
    page.get_by_role("button", name=re.compile("Good enough")).click()
    expect(page.locator("[data-plan]").first).to_be_visible()


def reach(page: Page, role: str, name: str | re.Pattern[str], backwards: bool = False) -> None:
    """Go on with the Tab key until the element has the cursor."""
    wanted = page.get_by_role(role, name=name).first  # type: ignore[arg-type]
    for _ in range(400):
        page.keyboard.press("Shift+Tab" if backwards else "Tab")
        if wanted.evaluate("(one) => one === document.activeElement"):
            return
    raise AssertionError(f"the keyboard does not lead to {name}")


@pytest.mark.nightly
def test_the_keyboard_is_enough(page: Page) -> None:
    page.goto("/")
    page.keyboard.press("Tab")
    expect(page.locator(".skip")).to_be_focused()
    page.keyboard.press("Enter")
    reach(page, "link", "In inches and yards")
    page.keyboard.press("Enter")
    page.wait_for_selector("#job")
    reach(page, "radio", "back tab")
    for _ in range(5):
        page.keyboard.press("ArrowRight")
    expect(page.get_by_role("radio", name="clip ring")).to_be_checked()
    reach(page, "textbox", re.compile("Rod, end to end"))
    page.keyboard.type("30")
    reach(page, "textbox", re.compile("Finished length"))
    page.keyboard.type("60")
    reach(page, "radio", "plain")
    reach(page, "textbox", re.compile("Width of the fabric"))
    page.keyboard.type("54")
    expect(page.locator("#status")).to_contain_text("ready to plan")
    reach(page, "button", "Add an extra")
    page.keyboard.press("Enter")
    expect(page.locator('[id="f-extra.0.name"]')).to_be_focused()
    reach(page, "button", "Remove Extra 1", backwards=True)
    page.keyboard.press("Enter")
    expect(page.locator('[id="f-extra.0.name"]')).to_have_count(0)
    reach(page, "button", "Plan the cutting")
    page.keyboard.press("Enter")
    expect(page.locator("[data-plan]").first).to_be_visible()
    page.locator(".bolt-frame").focus()
    page.keyboard.press("Tab")
    expect(page.locator("a.piece.chosen")).to_be_focused()
    page.keyboard.press("Enter")
    expect(page.locator(".picked")).to_contain_text("cut length")


@pytest.mark.parametrize("width", [320, 360])
@pytest.mark.nightly
def test_a_phone_needs_no_scrolling_sideways(browser: Browser, address: str, width: int) -> None:
    with a_tab(browser, address, viewport={"width": width, "height": 740}, has_touch=True) as page:
        page.goto("/")
        assert_fits(page)
        open_job(page, SMALL)
        for fold in page.locator("details").all():
            fold.evaluate("(one) => { one.open = true; }")
        assert_fits(page)
        assert_no_barriers(page)
        page.get_by_role("button", name="Compare bolts").click()
        expect(page.locator(".bars svg")).to_be_visible()
        assert_fits(page)
        page.get_by_role("link", name="Back to the job").click()
        plan(page)
        assert_fits(page)
        assert_no_barriers(page)


@pytest.mark.nightly
def test_without_script_a_job_is_changed_planned_and_shown(browser: Browser, address: str) -> None:
    with a_tab(browser, address, java_script_enabled=False) as page:
        open_job(page, SMALL)
        type_in(page, window__0__rod="3o")
        page.get_by_role("button", name="Update the sums").click()
        expect(page.locator('[id="n-window.0.rod"]')).to_contain_text("Expected")
        expect(page.locator('[id="f-window.0.rod"]')).to_have_value("3o")
        type_in(page, window__0__rod="31")
        page.get_by_role("button", name="Add a window").click()
        type_in(page, window__1__rod="20", window__1__finished_length="40")
        page.get_by_role("button", name="Update the sums").click()
        expect(page.locator("#status")).to_contain_text("ready to plan")
        plan(page)
        link = page.locator(".bolt-frame a").first
        target = str(link.get_attribute("href"))
        page.goto(f"{page.url}{target}")
        expect(page.locator(f'[id="{target[1:]}"]')).to_be_visible()
        page.get_by_role("link", name="Back to the job").click()
        expect(page.locator('[id="f-window.1.rod"]')).to_have_value("20")


@pytest.mark.nightly
def test_at_night_and_at_rest_the_page_is_as_good(browser: Browser, address: str) -> None:
    with a_tab(browser, address, color_scheme="dark", reduced_motion="reduce") as page:
        page.goto("/")
        assert_no_barriers(page)
        open_job(page, SMALL)
        type_in(page, window__0__rod="x")
        expect(page.locator('[id="n-window.0.rod"]')).to_contain_text("Expected")
        assert_no_barriers(page)
        moving = page.evaluate("getComputedStyle(document.querySelector('.dim')).transitionDuration")
        assert moving == "0s"
        type_in(page, window__0__rod="30")
        expect(page.locator("#status")).to_contain_text("ready to plan")
        plan(page)
        assert_no_barriers(page)


@pytest.mark.nightly
def test_units_change_and_no_length_does(page: Page) -> None:
    open_job(page, SMALL)
    page.get_by_label("Measured in").focus()
    page.get_by_label("Measured in").select_option("cm")
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("30 in")
    expect(page.locator('[id="n-window.0.rod"]')).to_contain_text("read as 76.2 cm · 30 in")
    expect(page.get_by_label("Measured in")).to_be_focused()
    expect(page.locator("main")).to_contain_text("keeps its length")


@pytest.mark.nightly
def test_the_drawing_shows_what_is_typed(page: Page) -> None:
    open_job(page, SMALL)
    unfold(page)
    page.locator('[id="f-window.0.clearance"]').focus()
    shown = page.locator(".dim-clearance")
    expect(shown).to_have_css("opacity", "1")
    expect(page.locator(".dim-overlap")).to_have_css("opacity", "0")


@pytest.mark.nightly
def test_what_was_typed_is_there_after_the_page_was_closed(page: Page) -> None:
    open_job(page, SMALL)
    type_in(page, title="Half done", window__0__rod="33 1/3")
    page.goto("/")
    page.get_by_role("button", name="Half done", exact=True).click()
    expect(page.locator('[id="f-title"]')).to_have_value("Half done")
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("33 1/3")


def kept(page: Page) -> list[str]:
    """The titles of the jobs that the start page offers to go on with."""
    page.goto("/")
    expect(page.get_by_role("heading", name="A new job")).to_be_visible()
    return page.locator("#kept-list li:visible .open").all_inner_texts()


@pytest.mark.nightly
def test_every_job_is_kept_by_itself_once_it_is_changed(page: Page) -> None:
    """A job once took the place of the one kept before as soon as its page was opened."""
    assert kept(page) == []
    open_job(page, SMALL)
    page.goto("/job/new?units=cm")
    page.goto("/job/sample/reading-nook")
    assert kept(page) == []
    open_job(page, SMALL)
    type_in(page, title="First", window__0__rod="33")
    page.goto("/job/new?units=in")
    assert kept(page) == ["First"]
    page.goto("/job/new?units=in")
    page.get_by_role("button", name="Add a window").click()
    expect(page.locator('[id="f-window.1.name"]')).to_be_visible()
    type_in(page, title="Second")
    assert kept(page) == ["Second", "First"]
    assert_no_barriers(page)
    # The same job again is no further one, through a plan and back either.
    page.get_by_role("button", name="First", exact=True).click()
    type_in(page, window__0__rod="34")
    plan(page)
    page.get_by_role("link", name=re.compile("the job", re.IGNORECASE)).first.click()
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("34")
    type_in(page, window__0__rod="35")
    assert kept(page) == ["First", "Second"]
    page.get_by_role("button", name="First", exact=True).click()
    expect(page.locator('[id="f-window.0.rod"]')).to_have_value("35")
    page.goto("/")
    page.get_by_role("button", name="Remove Second").click()
    expect(page.locator("#kept-said")).to_contain_text("Second was removed")
    assert kept(page) == ["First"]
    page.locator("#d-removed summary").click()
    assert_no_barriers(page)
    page.get_by_role("button", name="Bring back Second").click()
    assert kept(page) == ["First", "Second"]
    page.get_by_role("button", name="Remove First").click()
    page.get_by_role("button", name="Undo").click()
    assert kept(page) == ["First", "Second"]


@pytest.mark.nightly
def test_no_page_of_a_job_writes_over_what_was_typed_in_another(page: Page) -> None:
    """Two tabs with the same job, and the form of an earlier plan of it."""
    open_job(page, SMALL)
    type_in(page, title="One", window__0__rod="33")
    plan(page)
    planned = page.url
    page.goto("/")
    page.get_by_role("button", name="One", exact=True).click()
    other = page.context.new_page()
    other.goto("/")
    other.get_by_role("button", name="One", exact=True).click()
    type_in(page, title="Mine")
    type_in(other, title="Theirs")
    earlier = page.context.new_page()
    earlier.goto(f"{planned}/job")
    type_in(earlier, title="Earlier")
    assert sorted(kept(page)) == ["Earlier", "Mine", "Theirs"]
    other.close()
    earlier.close()


@pytest.mark.nightly
def test_a_job_that_cannot_be_kept_is_told(page: Page) -> None:
    open_job(page, SMALL)
    expect(page.locator("#no-room")).to_be_hidden()
    page.evaluate("() => { Storage.prototype.setItem = () => { throw new Error('full'); }; }")
    type_in(page, title="Lost?")
    expect(page.locator("#no-room")).to_contain_text("Save the job as a file")


@pytest.mark.nightly
def test_the_job_that_an_earlier_version_kept_is_offered(page: Page) -> None:
    open_job(page, SMALL)
    page.evaluate(
        "() => localStorage.setItem('nesting-job', new URLSearchParams(new FormData(document.forms[0])) + '')"
    )
    assert kept(page) == ["Small"]
    assert kept(page) == ["Small"]


@pytest.mark.nightly
def test_markup_in_names_does_nothing(page: Page) -> None:
    name = "<img src=x onerror=alert(1)><script>alert(2)</script>"
    open_job(page, SMALL)
    unfold(page)
    type_in(page, title=name, window__0__name=name, fabric__face__name=name)
    expect(page.locator("#sums")).to_contain_text("<img src=x")
    plan(page)
    expect(page.locator("h1")).to_have_text(name)
    page.locator("a.piece").first.click()
    assert page.locator("img").count() == 0


@pytest.mark.nightly
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1024, 768), (390, 844)])
def test_the_first_sheet_is_in_sight_and_asks_for_little(
    browser: Browser, address: str, width: int, height: int
) -> None:
    with a_tab(browser, address, viewport={"width": width, "height": height}) as page:
        page.goto("/job/new?units=in")
        page.wait_for_selector("#job")
        controls = page.locator(".first").locator(
            "input:not([type=hidden]):not([type=radio]), select, fieldset.pics"
        )
        assert 1 <= controls.count() <= 12
        for box in [one.bounding_box() for one in controls.all()]:
            assert box is not None
            assert box["y"] < height
        type_in(page, window__0__rod="72", window__0__finished_length="84", fabric__face__bolt__0__width="54")
        expect(page.locator("#buy")).to_contain_text("yd")
        page.locator(".first").get_by_text("print", exact=True).click()
        expect(page.locator("#status")).to_contain_text("Still to type: the repeat of the print")
        expect(page.locator("#buy")).to_be_empty()
        type_in(page, fabric__face__repeat__length="25 1/4")
        expect(page.locator("#buy")).to_contain_text("yd")
        assert_fits(page)
        assert_no_barriers(page)


@pytest.mark.nightly
def test_one_line_of_help_tells_of_the_field_in_hand(page: Page) -> None:
    page.goto("/job/new?units=in")
    page.locator('[id="f-fabric.face.bolt.0.width"]').focus()
    expect(page.locator("#help")).to_contain_text("selvage to selvage")
    expect(page.locator("#job details.why").first).to_be_hidden()


@pytest.mark.nightly
def test_every_change_can_be_undone_and_redone(page: Page) -> None:
    open_job(page, SMALL)
    undo, redo = page.get_by_role("button", name="Undo"), page.get_by_role("button", name="Redo")
    expect(undo).to_be_disabled()
    rod = page.locator('[id="f-window.0.rod"]')
    before = rod.input_value()
    rod.fill("61")
    expect(undo).to_be_enabled()
    page.get_by_role("button", name="Copy One").click()
    expect(page.locator('[id="f-window.1.rod"]')).to_have_value("61")
    page.get_by_role("button", name="Remove One", exact=True).click()
    expect(page.locator('[id="f-window.1.rod"]')).to_have_count(0)
    undo.click()
    expect(page.locator('[id="f-window.1.rod"]')).to_have_value("61")
    undo.click()
    expect(page.locator('[id="f-window.1.rod"]')).to_have_count(0)
    expect(rod).to_have_value("61")
    undo.click()
    expect(rod).to_have_value(before)
    expect(undo).to_be_disabled()
    redo.click()
    expect(rod).to_have_value("61")
    # What is typed now takes the place of what was undone.
    rod.fill("62")
    expect(redo).to_be_disabled()


@pytest.mark.nightly
@pytest.mark.parametrize("width", [1280, 1024, 390])
def test_another_way_is_chosen_with_one_touch_and_taken_back_with_one(
    browser: Browser, address: str, width: int
) -> None:
    with a_tab(browser, address, viewport={"width": width, "height": 900}) as page:
        open_job(page, TWO_BOLTS)
        strip = page.locator("#strip")
        expect(strip.locator("li")).not_to_have_count(0)
        expect(strip).to_have_attribute("aria-busy", "false")
        expect(page.locator("#strip-said")).to_contain_text("other ways to make it")
        assert_no_barriers(page)
        assert_fits(page)
        chosen = strip.locator("[aria-current=true] h4")
        expect(chosen).to_have_text("Exact widths")
        widths = page.locator('[id="f-window.0.widths"]')
        strip.get_by_role("button", name="Choose Whole widths").click()
        expect(widths).to_have_value("whole")
        expect(chosen).to_have_text("Whole widths")
        expect(strip.get_by_role("button", name="Choose Exact widths")).to_be_visible()
        assert_no_barriers(page)
        page.get_by_role("button", name="Undo").click()
        expect(widths).to_have_value("")
        expect(chosen).to_have_text("Exact widths")
        page.get_by_role("button", name="Redo").click()
        expect(widths).to_have_value("whole")


@pytest.mark.nightly
def test_what_is_typed_ends_the_list_of_other_ways(page: Page) -> None:
    open_job(page, TWO_BOLTS)
    expect(page.locator("#strip li")).not_to_have_count(0)
    page.locator('[id="f-window.0.rod"]').fill("")
    expect(page.locator("#strip li")).to_have_count(0)
    page.locator('[id="f-window.0.rod"]').fill("80")
    expect(page.locator("#strip li")).not_to_have_count(0)


@pytest.mark.nightly
def test_another_way_is_chosen_and_taken_back_without_script(browser: Browser, address: str) -> None:
    with a_tab(browser, address, java_script_enabled=False) as page:
        open_job(page, TWO_BOLTS)
        page.get_by_role("button", name="Show other ways to make it").click()
        page.get_by_role("button", name="Choose Whole widths").click()
        expect(page.locator(".note").first).to_have_text("Chosen: Whole widths.")
        expect(page.locator('[id="f-window.0.widths"]')).to_have_value("whole")
        page.get_by_role("button", name="Undo, with what you typed since").click()
        expect(page.locator('[id="f-window.0.widths"]')).to_have_value("")


@pytest.mark.nightly
def test_an_unfinished_number_is_not_yet_told_as_wrong_and_nothing_moves(page: Page) -> None:
    page.goto("/job/new?units=in")
    length = page.locator('[id="f-window.0.finished_length"]')
    length.click()
    stood = length.bounding_box()
    with page.expect_response("**/live"):
        page.keyboard.type("84 1/")
    expect(length).not_to_have_attribute("aria-invalid", "true", timeout=1)
    # Left unfinished it is told, and the field in hand stays where it was.
    expect(length).to_have_attribute("aria-invalid", "true")
    expect(page.locator("#summary")).to_contain_text("84 1/")
    now = length.bounding_box()
    assert stood is not None
    assert now is not None
    assert abs(now["y"] - stood["y"]) < 1


@pytest.mark.nightly
def test_a_hand_that_goes_on_to_another_field_stays_there(page: Page) -> None:
    """A heading is chosen, and before its form is there somebody types in the next field."""
    open_job(page, SMALL)
    expect(page.locator("#status")).to_contain_text("ready to plan")
    held, let_go = holding(page, "**/job")
    page.evaluate("document.getElementById('job').dataset.former = 'yes'")
    page.locator('[id="f-window.0.heading"]').get_by_text("tab top").click()
    length = page.locator('[id="f-window.0.finished_length"]')
    length.fill("7")
    while not held:
        page.wait_for_timeout(50)
    let_go()
    expect(page.locator("#job[data-former]")).to_have_count(0)
    expect(page.get_by_role("radio", name="tab top")).to_be_checked()
    expect(length).to_be_focused()
    page.keyboard.type("2")
    expect(length).to_have_value("72")


@pytest.mark.nightly
def test_amounts_of_earlier_measures_are_marked_until_new_ones_come(page: Page) -> None:
    open_job(page, SMALL)
    answer = page.locator("#answer")
    expect(page.locator("#buy")).to_contain_text("yd")
    expect(answer).to_have_attribute("aria-busy", "false")
    _, let_go = holding(page, "**/live")
    page.locator('[id="f-window.0.rod"]').fill("61")
    expect(answer).to_have_attribute("aria-busy", "true")
    expect(page.locator("#rule")).to_have_attribute("aria-busy", "true")
    let_go()
    expect(answer).to_have_attribute("aria-busy", "false")
    expect(page.locator("#rule")).to_have_attribute("aria-busy", "false")


@pytest.mark.nightly
@pytest.mark.parametrize(("width", "height"), [(1280, 800), (1024, 768), (390, 844)])
def test_the_bar_never_lies_over_the_field_in_hand(
    browser: Browser, address: str, width: int, height: int
) -> None:
    with a_tab(browser, address, viewport={"width": width, "height": height}) as page:
        open_job(page, SMALL)
        page.get_by_role("button", name="Add a window").click()
        expect(page.locator('[id="f-window.1.rod"]')).to_be_focused()
        for _ in range(12):
            page.keyboard.press("Tab")
            over = page.evaluate(
                """() => { const field = document.activeElement, bar = document.querySelector(".bar");
                return field.closest(".bar") ? 0
                    : field.getBoundingClientRect().bottom - bar.getBoundingClientRect().top; }"""
            )
            assert over <= 0


@pytest.mark.nightly
def test_the_amount_in_the_bar_leads_to_what_to_buy(browser: Browser, address: str) -> None:
    with a_tab(browser, address, viewport={"width": 390, "height": 844}) as page:
        open_job(page, SMALL)
        amount = page.locator("#buy")
        expect(amount).to_contain_text("yd")
        expect(page.locator("#h-answer")).not_to_be_in_viewport()
        amount.click()
        expect(page.locator("#h-answer")).to_be_in_viewport()
        expect(page.locator("#answer")).to_contain_text("checked")
        assert_no_barriers(page)
