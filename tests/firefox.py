"""Debian's Firefox, driven by Playwright over WebDriver BiDi; as a program, Firefox its line led through.

Playwright asks each browser for settings that Firefox ESR 153 does not have yet (the preferred color scheme),
and gives up at its "unknown command". As a program this module starts Firefox, passes every message on both
ways, and answers just that with a plain success: those settings stay the browser's own.
"""

from __future__ import annotations

import asyncio
import json
import os
import re
import signal
import stat
import subprocess
import sys
import tempfile
import threading
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any, Final

import pytest
from playwright.sync_api import Browser, sync_playwright
from tornado.httpserver import HTTPServer
from tornado.netutil import bind_sockets
from tornado.web import Application
from tornado.websocket import WebSocketHandler, websocket_connect

FIREFOX: Final = Path("/usr/bin/firefox-esr")
_LISTENS: Final = "WebDriver BiDi listening on "
_LARGEST: Final = 1 << 28


def require_firefox() -> None:
    """Where there is no Firefox: its tests are left out, in CI too, and say so."""
    if not FIREFOX.exists():
        pytest.skip(f"left out: {FIREFOX} is not there (apt-get update && apt-get install -y firefox-esr)")


@contextmanager
def a_firefox() -> Iterator[Browser]:
    """Firefox without a window."""
    require_firefox()
    with tempfile.TemporaryDirectory() as folder, sync_playwright() as player:
        started = Path(folder) / "firefox"
        started.write_text(f'#!/bin/sh\nexec "{sys.executable}" -m tests.firefox "$@"\n')
        started.chmod(started.stat().st_mode | stat.S_IXUSR)
        where = {**os.environ, "PYTHONPATH": str(Path(__file__).parents[1]), "MOZ_HEADLESS": "1"}
        browser = player.firefox.launch(
            channel="moz-firefox", executable_path=str(started), timeout=300_000, env=where
        )
        try:
            yield browser
        finally:
            browser.close()


class Line(WebSocketHandler):
    """One line of messages, from Playwright to Firefox and back."""

    there = ""

    def check_origin(self, origin: str) -> bool:
        return True

    async def open(self, *parts: str) -> None:
        self.asked: dict[int, str] = {}
        self.other: Any = None
        self.waiting: list[str | bytes] = []
        self.other = await websocket_connect(
            self.there + self.request.path, on_message_callback=self.back, max_message_size=_LARGEST
        )
        for message in self.waiting:
            await self.other.write_message(message)

    async def on_message(self, message: str | bytes) -> None:
        if self.other is None:
            self.waiting.append(message)
        else:
            await self.other.write_message(message)

    def back(self, message: str | bytes | None) -> None:
        if message is None:
            self.close()
            return
        told = json.loads(message)
        if told.get("error") == "unknown command" and "emulation." in told.get("message", ""):
            message = json.dumps({"type": "success", "id": told["id"], "result": {}})
        self.write_message(message)

    def on_close(self) -> None:
        if self.other is not None:
            self.other.close()


def run() -> None:
    """Firefox with these arguments, until it ends."""
    firefox = subprocess.Popen([str(FIREFOX), *sys.argv[1:]], stderr=subprocess.PIPE, text=True)
    for number in (signal.SIGTERM, signal.SIGINT):
        signal.signal(number, lambda *_: firefox.terminate())
    assert firefox.stderr is not None
    for said in firefox.stderr:
        if found := re.search(rf"{_LISTENS}(ws://\S+)", said):
            Line.there = found[1]
            break
    threading.Thread(target=firefox.stderr.read, daemon=True).start()
    asyncio.run(_between(firefox))


async def _between(firefox: subprocess.Popen[str]) -> None:
    server = HTTPServer(Application([(r"/.*", Line)], websocket_max_message_size=_LARGEST))
    sockets = bind_sockets(0, "127.0.0.1")
    server.add_sockets(sockets)
    print(f"{_LISTENS}ws://127.0.0.1:{sockets[0].getsockname()[1]}", file=sys.stderr, flush=True)
    await asyncio.to_thread(firefox.wait)


if __name__ == "__main__":
    run()
