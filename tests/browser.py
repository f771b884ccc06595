"""A real browser: Debian's chromium, driven by Playwright, with axe-core to look for barriers."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, Page, sync_playwright

CHROMIUM: Final = Path("/usr/bin/chromium")
ARGUMENTS: Final = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--no-first-run",
)
_AXE: Final = Path(__file__).parent / "vendored" / "axe-core" / "axe.min.js"
#: A machine with two cores and a solver on both needs patience; nothing here measures time.
PATIENCE: Final = 300_000


def require_chromium() -> None:
    """Where there is no chromium: a failure in CI, elsewhere word of how to get it."""
    if CHROMIUM.exists():
        return
    words = f"{CHROMIUM} is not there: apt-get update && apt-get install -y chromium"
    if os.environ.get("CI") == "true":
        pytest.fail(words)
    pytest.skip(words)


@contextmanager
def a_browser() -> Iterator[Browser]:
    """Chromium without a window."""
    require_chromium()
    with sync_playwright() as player:
        browser = player.chromium.launch(executable_path=str(CHROMIUM), args=list(ARGUMENTS))
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def a_served_page(data: Path | None = None) -> Iterator[str]:
    """`nesting serve` in a process of its own; gives the address. Jobs are kept in ``data``, if at all."""
    with a_page_process(data) as (address, _):
        yield address


@contextmanager
def a_page_process(data: Path | None = None) -> Iterator[tuple[str, int]]:
    """The same, with the number of its process."""
    keep = ["--no-keep"] if data is None else ["--keep"]
    running = subprocess.Popen(
        [sys.executable, "-m", "tests.serve", "--port", "0", *keep],
        env=os.environ | ({} if data is None else {"XDG_DATA_HOME": str(data)}),
        stdout=subprocess.PIPE,
        stderr=subprocess.DEVNULL,
        text=True,
        cwd=Path(__file__).parents[1],
    )
    assert running.stdout is not None
    try:
        address = running.stdout.readline().strip()
        assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address), "the page did not start"
        yield address.rstrip("/"), running.pid
    finally:
        running.terminate()
        running.wait(timeout=900)


@contextmanager
def a_tab(browser: Browser, address: str, **how: Any) -> Iterator[Page]:
    """A tab of a browser that knows nothing yet; whatever goes wrong in it fails the test."""
    context = browser.new_context(base_url=address, accept_downloads=True, **how)
    context.set_default_timeout(PATIENCE)
    page = context.new_page()
    wrong: list[str] = []
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("dialog", lambda dialog: wrong.append(f"a dialog: {dialog.message}"))
    page.on("console", lambda said: wrong.append(said.text) if said.type == "error" else None)
    page.on("request", lambda asked: asked.url.startswith(address) or wrong.append(f"asked for {asked.url}"))
    try:
        yield page
    finally:
        context.close()
    # Chromium tells of each answer that is an error; the page gives those on purpose.
    told = [words for words in wrong if "the server responded with a status of" not in words]
    assert not told, told


def assert_no_barriers(page: Page) -> None:
    """axe-core finds nothing serious; run as a tool of the browser, past the page's own policy."""
    page.wait_for_load_state()
    context = page.context
    with_axe = context.new_cdp_session(page)
    source = _AXE.read_text("utf-8")
    with_axe.send("Runtime.evaluate", {"expression": source})
    asked = "axe.run(document, {resultTypes: ['violations']}).then(JSON.stringify)"
    answer = with_axe.send(
        "Runtime.evaluate", {"expression": asked, "awaitPromise": True, "returnByValue": True}
    )
    with_axe.detach()
    assert "exceptionDetails" not in answer, answer
    found = json.loads(answer["result"]["value"])
    assert found["passes"] or found["violations"], "axe looked at nothing"
    serious = [
        (one["id"], one["impact"], [node["html"][:160] for node in one["nodes"][:4]])
        for one in found["violations"]
        if one["impact"] in ("serious", "critical")
    ]
    assert serious == []


def assert_fits(page: Page) -> None:
    """Nothing sticks out at the side: what is wide scrolls in its own frame."""
    page.wait_for_load_state()
    wide, room = page.evaluate("[document.documentElement.scrollWidth, document.documentElement.clientWidth]")
    assert wide <= room, f"{wide} px in {room} px"
