"""The marker in a real browser: chosen, moved and zoomed with keys, mouse, wheel and fingers."""

from __future__ import annotations

import re

import pytest
from playwright.sync_api import Browser, Page, expect

from tests.browser import PATIENCE, a_tab, assert_fits, assert_no_barriers
from tests.test_web_browser import open_job
from tests.web_page import SMALL

expect.set_options(timeout=PATIENCE)
pytestmark = pytest.mark.nightly
PAIR = SMALL.replace('draw = "left"\n', "").replace("rod = 30", "rod = 60")
TABS = PAIR.replace('"clip-ring"', '"tab-top"')


@pytest.fixture(scope="module")
def planned(browser: Browser, address: str) -> str:
    """The address of the plan of a pair of panels."""
    return plan_of(browser, address, PAIR)


def plan_of(browser: Browser, address: str, text: str) -> str:
    with a_tab(browser, address) as page:
        open_job(page, text)
        page.get_by_role("button", name="Plan the cutting").click()
        expect(page.locator("[data-plan]").first).to_be_visible()
        return page.url


def view(page: Page) -> list[float]:
    """Left, top, width and height of what is seen, once it has been drawn."""
    page.evaluate("new Promise((done) => requestAnimationFrame(() => requestAnimationFrame(done)))")
    return [float(part) for part in str(page.locator("svg.laid").first.get_attribute("viewBox")).split()]


def until(page: Page, what: str) -> None:
    """Asked again and again from outside: the policy of the page lets no words be taken for a script."""
    for _ in range(PATIENCE // 50):
        if page.evaluate(what):
            return
        page.wait_for_timeout(50)
    raise AssertionError(f"never: {what}")


def test_keys_move_and_zoom_and_go_from_piece_to_piece(browser: Browser, address: str, planned: str) -> None:
    with a_tab(browser, address) as page:
        page.goto(planned)
        page.locator(".bolt-frame").focus()
        whole = view(page)
        page.keyboard.press("+")
        near = view(page)
        assert near[2] < whole[2]
        page.keyboard.press("ArrowRight")
        assert view(page)[0] > near[0]
        page.keyboard.press("0")
        assert view(page) == pytest.approx(whole)
        page.keyboard.press("Tab")
        first = page.locator("a.piece.chosen").get_attribute("data-key")
        expect(page.locator("a.piece.chosen")).to_be_focused()
        page.keyboard.press("ArrowRight")
        expect(page.locator("a.piece.chosen")).to_be_focused()
        assert page.locator("a.piece.chosen").get_attribute("data-key") != first
        # Which of two equal pieces comes first along the bolt is the search's to say.
        second = page.locator("a.piece.chosen").get_attribute("aria-label")
        panel = re.search(r"(left|right) panel", second or "")
        assert panel is not None
        expect(page.locator(".picked")).to_contain_text(panel[0])
        expect(page.locator("[data-said]")).to_contain_text(panel[0])
        assert_no_barriers(page)


@pytest.mark.parametrize("width", [1280, 1024, 390])
def test_every_label_of_the_ruler_is_read_whole(
    browser: Browser, address: str, planned: str, width: int
) -> None:
    """The last one was once cut off at the edge of the frame."""
    with a_tab(browser, address, viewport={"width": width, "height": 800}) as page:
        page.goto(planned)
        for key in ("", "0", "+", "End"):
            page.locator(".bolt-frame").focus()
            if key:
                page.keyboard.press(key)
            view(page)
            frame = page.locator(".bolt-frame").bounding_box()
            assert frame is not None
            labels = page.locator(".rule text").all()
            assert labels
            for box in [label.bounding_box() for label in labels]:
                assert box is not None
                assert frame["x"] <= box["x"]
                assert box["x"] + box["width"] <= frame["x"] + frame["width"]


def test_the_wheel_scrolls_the_page_until_the_marker_is_in_hand(
    browser: Browser, address: str, planned: str
) -> None:
    with a_tab(browser, address, viewport={"width": 1024, "height": 600}) as page:
        page.goto(planned)
        whole, box = view(page), page.locator(".bolt-frame").bounding_box()
        assert box is not None
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        page.mouse.move(x, y)
        page.mouse.wheel(0, 200)
        until(page, "scrollY > 0")
        assert view(page) == whole
        page.evaluate("scrollTo(0, 0)")
        page.mouse.click(x, y)
        page.mouse.wheel(0, -200)
        until(page, f"document.querySelector('svg.laid').getAttribute('viewBox').split(' ')[2] < {whole[2]}")
        before = view(page)
        page.mouse.down()
        page.mouse.move(x - 90, y, steps=5)
        page.mouse.up()
        assert view(page)[0] > before[0]
        seen = view(page)
        page.reload()
        assert view(page) == pytest.approx(seen), "what is seen stays when the page comes again"


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_fingers_zoom_and_drag_on_a_phone_where_all_is_in_sight(
    browser: Browser, address: str, planned: str, scheme: str
) -> None:
    phone = {"width": 390, "height": 844}
    with a_tab(browser, address, viewport=phone, has_touch=True, is_mobile=True, color_scheme=scheme) as page:
        page.goto(planned)
        whole, box = view(page), page.locator(".bolt-frame").bounding_box()
        assert box is not None
        assert box["y"] + box["height"] < phone["height"]
        picked = page.locator(".picked .size").bounding_box()
        assert picked is not None
        assert picked["y"] + picked["height"] < phone["height"]
        assert_fits(page)
        assert_no_barriers(page)
        x, y = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
        session = page.context.new_cdp_session(page)

        def touch(kind: str, *points: tuple[float, float]) -> None:
            told = [{"x": left, "y": top, "id": at} for at, (left, top) in enumerate(points)]
            session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

        touch("touchStart", (x - 20, y), (x + 20, y))
        for apart in range(25, 80, 6):
            touch("touchMove", (x - apart, y), (x + apart, y))
        touch("touchEnd")
        near = view(page)
        assert near[2] < 0.7 * whole[2]
        touch("touchStart", (x, y))
        for by in range(0, 80, 8):
            touch("touchMove", (x - by, y))
        touch("touchEnd")
        assert view(page)[0] > near[0]


def test_equal_pieces_light_with_the_chosen_one_and_cut_ones_stay_ticked(
    browser: Browser, address: str
) -> None:
    # A pair with tabs, and a second window: equal tabs lie edge to edge and share a card.
    second = TABS[TABS.index("[[window]]") :].replace('"One"', '"Two"').replace("rod = 60", "rod = 44")
    planned = plan_of(browser, address, TABS + second)
    with a_tab(browser, address) as page:
        page.goto(planned)
        links = page.locator("a.piece")
        shared = page.evaluate(
            """() => { const to = (one) => one.getAttribute("href");
            const all = [...document.querySelectorAll("a.piece")];
            return to(all.find((one) => all.filter((other) => to(other) === to(one)).length > 1)); }"""
        )
        card = shared.removeprefix("#")
        equal = page.locator(f'a.piece[href="{shared}"]')
        count, whole = equal.count(), links.count()
        of_window = page.locator(f'a.piece[data-about="{equal.first.get_attribute("data-about")}"]').count()
        assert 1 < count < of_window < whole
        equal.nth(1).focus()
        page.keyboard.press("Space")
        expect(equal.nth(1)).to_have_attribute("aria-current", "true")
        expect(page.locator("a.piece.chosen")).to_have_count(1)
        expect(page.locator("a.piece.equal")).to_have_count(count - 1)
        expect(page.locator("a.piece.kin")).to_have_count(of_window - count)
        expect(page.locator("a.piece:not(.chosen):not(.equal):not(.kin)")).to_have_count(whole - of_window)
        picked, left = page.locator(".picked"), page.locator(".left")
        expect(picked).to_contain_text(f"{count} pieces")
        # One tick is for all that the card stands for; the list beside it says the same, now and later.
        cards = page.locator(".cards > .card").count()
        expect(left).to_have_text(f"{cards} of {cards} still to cut")
        picked.get_by_role("checkbox").check()
        expect(page.locator("a.piece.done")).to_have_count(count)
        expect(left).to_have_text(f"{cards - 1} of {cards} still to cut")
        page.reload()
        expect(page.locator("a.piece.done")).to_have_count(count)
        expect(picked.get_by_role("checkbox")).to_be_checked()
        page.locator("details.every > summary").click()
        own = page.locator(f'[id="{card}"]').get_by_role("checkbox")
        expect(own).to_be_checked()
        own.uncheck()
        expect(page.locator("a.piece.done")).to_have_count(0)
        expect(picked.get_by_role("checkbox")).not_to_be_checked()
        for box in page.locator(".cards > .card").get_by_role("checkbox").all():
            box.check()
        expect(left).to_have_text("All are cut")
        expect(page.locator("a.piece.done")).to_have_count(whole)
        assert_no_barriers(page)
