"""What every request passes first: who asks for which host, from which page, how much, and how slowly."""

from __future__ import annotations

import asyncio
import ipaddress
from collections.abc import Awaitable, Callable
from typing import Final
from urllib.parse import urlsplit

from starlette.datastructures import Headers, MutableHeaders
from starlette.responses import PlainTextResponse
from starlette.types import ASGIApp, Message, Receive, Scope, Send

from nesting.web.caps import BODY_SECONDS, MOST_BYTES, MOST_OPENED, READER_SECONDS

#: No script but our own file, no style but our own sheet, nothing from anywhere else, no frames.
POLICY: Final = (
    "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self'; connect-src 'self'; "
    "form-action 'self'; base-uri 'none'; frame-ancestors 'none'"
)
#: For the packet shown in the browser: a page of its own style, and no script at all.
PRINT_POLICY: Final = "default-src 'none'; style-src 'unsafe-inline'; img-src data:; sandbox allow-modals"
_HEADERS: Final = {
    "x-content-type-options": "nosniff",
    # Not no-referrer: a browser would then leave the origin out of our own posts.
    "referrer-policy": "same-origin",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "permissions-policy": "camera=(), microphone=(), geolocation=()",
}
#: Bytes of a body where they are others than those of a form.
_MOST: Final = {"/job/open": MOST_OPENED}
_READING: Final = ("GET", "HEAD")


class TooMuchError(Exception):
    """The body is larger than the page takes."""


class TooSlowError(Exception):
    """The body came too slowly."""


class Guard:
    """ASGI middleware in front of all pages.

    Parameters
    ----------
    app
        What is guarded.
    names
        Host names under which the page may be asked for, without port.
    any_address
        Whether any plain IP address will do as well, for a page that listens on all of them. A name that
        is not on the list is refused all the same, so that no foreign site can point its name here.
    """

    def __init__(self, app: ASGIApp, names: frozenset[str], any_address: bool = False) -> None:
        self._app = app
        self._names = names
        self._any_address = any_address

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Answer a request, or refuse it."""
        if scope["type"] != "http":
            await self._app(scope, receive, send)
            return
        headers = Headers(scope=scope)
        most = _MOST.get(scope["path"], MOST_BYTES)
        refusal = self._refusal(scope["method"], headers, most)
        if refusal is not None:
            await refusal(scope, receive, _dressed(send))
            return

        async def watched(message: Message) -> None:
            async with asyncio.timeout(READER_SECONDS):
                await send(message)

        await self._app(scope, _measured(receive, most), _dressed(watched))

    def _refusal(self, method: str, headers: Headers, most: int) -> PlainTextResponse | None:
        host = headers.get("host", "")
        if not self._known(host):
            return _say(
                421, f"This page is not called {host[:100]!r}. Use the address that nesting serve told."
            )
        if method not in (*_READING, "POST"):
            return _say(405, "This page knows GET and POST.")
        if method == "POST" and not _same_origin(host, headers):
            return _say(403, "This was sent by another page. Open the page itself and send it from there.")
        length = headers.get("content-length", "0")
        if not (length.isascii() and length.isdigit() and len(length) < 16) or int(length) > most:
            return too(TooMuchError(most))
        return None

    def _known(self, host: str) -> bool:
        try:
            parts = urlsplit(f"//{host}")
            name = (parts.hostname or "").rstrip(".")
            _ = parts.port
        except ValueError:
            return False
        if name in self._names:
            return True
        return self._any_address and _is_address(name)


def _is_address(name: str) -> bool:
    try:
        ipaddress.ip_address(name)
    except ValueError:
        return False
    return True


def _same_origin(host: str, headers: Headers) -> bool:
    """Whether a post comes from a page of ours; what names no page at all is refused."""
    origin = headers.get("origin")
    if origin is None:
        referer = headers.get("referer")
        if referer is None:
            return headers.get("sec-fetch-site") == "same-origin"
        origin = referer
    try:
        parts = urlsplit(origin)
    except ValueError:
        return False
    return parts.scheme == "http" and parts.netloc.lower() == host.lower()


def _say(status: int, text: str) -> PlainTextResponse:
    return PlainTextResponse(f"{text}\n", status, headers={"connection": "close"})


def too(error: Exception) -> PlainTextResponse:
    """The answer to a body that is too large or too slow."""
    if isinstance(error, TooMuchError):
        most = error.args[0] if error.args else MOST_BYTES
        return _say(413, f"That is more than this page takes: at most {most // 1024} KiB.")
    return _say(408, "That took too long to arrive. Send it again.")


def _measured(receive: Receive, most: int) -> Callable[[], Awaitable[Message]]:
    """The body, as long as it is neither too large nor too slow."""
    loop = asyncio.get_running_loop()
    end, seen, complete = loop.time() + BODY_SECONDS, 0, False

    async def measured() -> Message:
        nonlocal seen, complete
        if complete:
            # What comes after the body is the news that the reader has left; that may take its time.
            return await receive()
        try:
            async with asyncio.timeout(max(0.01, end - loop.time())):
                message = await receive()
        except TimeoutError:
            raise TooSlowError from None
        seen += len(message.get("body", b""))
        if seen > most:
            raise TooMuchError(most)
        complete = not message.get("more_body", False)
        return message

    return measured


def _dressed(send: Send) -> Send:
    async def dressed(message: Message) -> None:
        if message["type"] == "http.response.start":
            headers = MutableHeaders(scope=message)
            for name, value in _HEADERS.items():
                headers.setdefault(name, value)
            headers.setdefault("content-security-policy", POLICY)
            headers.setdefault("cache-control", "no-store")
        await send(message)

    return dressed
