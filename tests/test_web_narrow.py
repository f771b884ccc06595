"""The page on a phone: nothing too wide, targets for a thumb, a pad of numbers, the bar in reach."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import pairwise

import pytest
from playwright.sync_api import Browser, Page, expect
from starlette.testclient import TestClient

from tests.browser import PATIENCE, a_tab, assert_fits, assert_no_barriers
from tests.seeds import nightly
from tests.test_web_browser import open_job, plan, type_in, unfold
from tests.web_page import SMALL, TWO_BOLTS, a_page, opened, sent

pytestmark = pytest.mark.nightly

expect.set_options(timeout=PATIENCE)
#: Screens of phones, in CSS pixels: an old small one (WCAG 2.2, 1.4.10), and usual ones.
SCREENS = [nightly("320x640"), nightly("360x740"), "390x844"]
#: What is touched is 44 px each way (WCAG 2.2, 2.5.5), but for links in a sentence, pieces of a drawing.
LEAST = 44
SMALL_TARGETS = """least => [...document.querySelectorAll(
    "a[href],button,input:not([type=hidden]),select,textarea,summary")]
  .filter((one) => one.checkVisibility({ visibilityProperty: true }) && !one.closest("svg,.skip,.hidden")
    && !(one.tagName === "A" && getComputedStyle(one).display === "inline"))
  .map((one) => [one, one.matches("[type=checkbox],[type=radio]") && one.closest("label,.tick") || one])
  .map(([one, whole]) => [one, whole.getBoundingClientRect()])
  .filter(([, box]) => box.width && (box.width < least - .5 || box.height < least - .5))
  .map(([one, box]) => `${one.outerHTML.slice(0, 90)}: ${box.width} x ${box.height}`)"""
#: A keyboard on the screen, as browsers tell of one: it covers the foot of the page and changes no layout.
KEYBOARD = """height => {
  Object.defineProperty(visualViewport, "height", { configurable: true, get: () => innerHeight - height });
  visualViewport.dispatchEvent(new Event("resize")); }"""
BOX_OF_BAR = """() => {
  const { top, bottom } = document.querySelector(".bar").getBoundingClientRect(); return [top, bottom]; }"""


@pytest.fixture(params=SCREENS)
def phone(browser: Browser, address: str, request: pytest.FixtureRequest) -> Iterator[Page]:
    width, height = map(int, request.param.split("x"))
    how = {"viewport": {"width": width, "height": height}, "has_touch": True, "is_mobile": True}
    with a_tab(browser, address, **how) as tab:
        yield tab


def assert_good_in_hand(page: Page) -> None:
    assert_fits(page)
    wide, room = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
    assert wide <= room
    assert page.evaluate(SMALL_TARGETS, LEAST) == []
    for scheme in ("light", "dark"):
        page.emulate_media(color_scheme=scheme)  # type: ignore[arg-type]
        assert_no_barriers(page)


def test_a_small_target_would_be_seen(phone: Page) -> None:
    phone.goto("/")
    phone.evaluate("document.querySelector('.button.main').style.minHeight = '20px'")
    phone.evaluate("document.querySelector('.button.main').style.padding = '0'")
    (found,) = phone.evaluate(SMALL_TARGETS, LEAST)
    assert "button main" in found


def test_every_page_is_good_in_the_hand(phone: Page) -> None:
    for path in ("/", "/nothing", "/job/new?units=cm"):
        phone.goto(path)
        assert_good_in_hand(phone)
    open_job(phone, TWO_BOLTS)
    expect(phone.locator("#answer .first-lines")).to_contain_text("yd")
    assert_good_in_hand(phone)
    unfold(phone)
    type_in(phone, work="0.3")
    assert_good_in_hand(phone)
    phone.get_by_role("button", name="Compare bolts").locator("visible=true").click()
    expect(phone.locator(".bars svg")).to_be_visible()
    assert_good_in_hand(phone)
    phone.get_by_role("link", name="Back to the job").click()
    plan(phone)
    assert_good_in_hand(phone)
    for fold in phone.locator("main details").all():
        fold.evaluate("(one) => { one.open = true; }")
    assert_good_in_hand(phone)
    phone.goto("/lesson/back-tab?units=in")
    assert_fits(phone)


def test_a_table_becomes_cards_that_are_still_a_table(phone: Page) -> None:
    open_job(phone, TWO_BOLTS)
    phone.locator("#d-search summary").click()
    type_in(phone, work="0.3")
    phone.get_by_role("button", name="Compare bolts").locator("visible=true").click()
    expect(phone.locator(".bars svg")).to_be_visible()
    rows = phone.get_by_role("table").get_by_role("row")
    # The names of the columns and two bolts.
    expect(rows).to_have_count(3)
    expect(phone.get_by_role("columnheader")).to_have_count(10)
    expect(rows.nth(1).get_by_role("rowheader")).to_have_text("Linen")
    cells = rows.nth(1).get_by_role("cell")
    expect(cells).to_have_count(9)
    labels = cells.evaluate_all("all => all.map((one) => getComputedStyle(one, '::before').content)")
    assert [re.match('"([^"]*)"', each)[1] for each in labels[:4]] == ["Width", "Buy", "Cost", "Layout"]  # type: ignore[index]
    boxes = [one.bounding_box() for one in cells.all() if one.is_visible()]
    assert all(one and two and one["y"] < two["y"] for one, two in pairwise(boxes))
    # Where there is room it is a table.
    phone.set_viewport_size({"width": 1000, "height": 800})
    first, second = (cells.nth(number).bounding_box() for number in (0, 1))
    assert first
    assert second
    assert first["y"] == second["y"]


def test_lengths_are_typed_on_a_pad_with_fractions_beside_it(phone: Page) -> None:
    open_job(phone, SMALL)
    rod = phone.locator('[id="f-window.0.rod"]')
    rod.tap()
    expect(rod).to_have_attribute("inputmode", "decimal")
    signs = phone.get_by_role("group", name="Signs for a length")
    expect(signs).to_be_visible()
    rod.fill("84")
    signs.get_by_role("button", name="1/2", exact=True).tap()
    expect(rod).to_have_value("84 1/2")
    expect(rod).to_be_focused()
    expect(phone.locator('[id="n-window.0.rod"]')).to_contain_text("read as 84 1/2 in")
    rod.fill("")
    # A fraction alone, and one that has no key.
    signs.get_by_role("button", name="3/4", exact=True).tap()
    expect(rod).to_have_value("3/4")
    rod.fill("84")
    signs.get_by_role("button", name="space").tap()
    rod.press_sequentially("3")
    signs.get_by_role("button", name="fraction stroke").tap()
    rod.press_sequentially("16")
    expect(phone.locator('[id="n-window.0.rod"]')).to_contain_text("read as 84 3/16 in")
    # Letters where they are wanted, for this field and this once.
    signs.get_by_role("button", name="letters").tap()
    expect(rod).to_have_attribute("inputmode", "text")
    expect(rod).to_be_focused()
    rod.fill("7 ft 6 in")
    expect(phone.locator('[id="n-window.0.rod"]')).to_contain_text("read as 90 in")
    phone.locator('[id="f-fabric.face.bolt.0.price"]').tap()
    expect(signs).to_be_hidden()
    rod.tap()
    expect(rod).to_have_attribute("inputmode", "decimal")
    # Every sign can be taken back like anything else that is typed.
    rod.evaluate("(one) => one.blur()")
    phone.get_by_role("button", name="Undo").tap()
    expect(rod).not_to_have_value("7 ft 6 in")


def test_the_bar_stands_on_the_keyboard_and_over_no_field(phone: Page) -> None:
    open_job(phone, SMALL)
    expect(phone.locator("#buy .gap")).to_contain_text("proven")
    height, covered = phone.evaluate("innerHeight"), 250
    for name in (
        "window.0.rod",
        "window.0.finished_length",
        "fabric.face.bolt.0.width",
        "fabric.face.bolt.0.price",
    ):
        field = phone.locator(f'[id="f-{name}"]')
        field.tap()
        phone.evaluate(KEYBOARD, covered)
        top, bottom = phone.evaluate(BOX_OF_BAR)
        assert abs(bottom - (height - covered)) <= 1
        box = field.bounding_box()
        assert box is not None
        assert box["y"] >= 0
        assert box["y"] + box["height"] <= top
        # What to buy, how good that is, and the way on are in sight above the keyboard.
        for part in ("#buy", "#status", ".bar .main"):
            seen = phone.locator(part).bounding_box()
            assert seen is not None
            assert top <= seen["y"]
            assert seen["y"] + seen["height"] <= height - covered
    phone.evaluate(KEYBOARD, 0)
    phone.locator(".bar .main").tap()
    expect(phone.locator("[data-plan]").first).to_be_visible()


def test_on_a_desk_there_are_no_keys_and_fields_are_plain(browser: Browser, address: str) -> None:
    with a_tab(browser, address, viewport={"width": 1280, "height": 800}) as page:
        open_job(page, SMALL)
        rod = page.locator('[id="f-window.0.rod"]')
        rod.click()
        expect(page.locator("#help")).to_be_visible()
        assert rod.get_attribute("inputmode") is None
        expect(page.locator(".keys")).to_have_count(0)


@pytest.fixture(scope="module")
def client() -> Iterator[TestClient]:
    with a_page() as made:
        yield made


def inputs(text: str) -> dict[str, str]:
    return {name: tag for tag, name in re.findall(r'(<input type="text"[^>]* name="([^"]+)"[^>]*>)', text)}


def test_each_number_has_the_pad_that_it_can_be_typed_on(client: TestClient) -> None:
    """Counts need digits, prices and fullness a point, lengths fractions: without script letters."""
    found = inputs(client.get("/job/sample/dining-room").text)
    for name in ("window.0.count", "seconds"):
        assert 'inputmode="numeric"' in found[name]
    for name in ("fabric.face.bolt.0.price", "window.0.fullness", "work"):
        assert 'inputmode="decimal"' in found[name], name
    for name in ("window.0.rod", "window.0.finished_length", "fabric.face.bolt.0.width"):
        assert "inputmode" not in found[name]
        assert "data-length" in found[name]
    for name in ("title", "window.0.name"):
        assert "inputmode" not in found[name]
        assert "data-length" not in found[name]


@pytest.mark.parametrize("typed", ["18,50", "18.50"])
def test_the_comma_of_other_pads_is_a_point(client: TestClient, typed: str) -> None:
    """A pad shows the decimal sign of the phone's own language."""
    entries = opened(client, SMALL)
    live = sent(
        client, "/live", entries, fabric__face__bolt__0__price=typed, window__0__fullness="1,5"
    ).json()
    assert live["ready"], live["regions"]["summary"]
