"""Answers that depend on nothing but their question are made once and remembered for a while."""

from __future__ import annotations

import hashlib
from collections import OrderedDict
from collections.abc import Awaitable, Callable
from functools import wraps
from typing import cast

from starlette.requests import Request
from starlette.responses import Response

from nesting.web.caps import MOST_ANSWERS
from nesting.web.start import shelf_of

Page = Callable[[Request], Awaitable[Response]]


class Memory:
    """Answers by their questions; the one asked for least lately goes first."""

    def __init__(self, most: int = MOST_ANSWERS) -> None:
        self._most = most
        self._size = 0
        self._known: OrderedDict[bytes, tuple[bytes, str | None]] = OrderedDict()

    def find(self, key: bytes) -> tuple[bytes, str | None] | None:
        """Body and kind of an answer that was kept."""
        found = self._known.get(key)
        if found is not None:
            self._known.move_to_end(key)
        return found

    def keep(self, key: bytes, body: bytes, kind: str | None) -> None:
        """Keep an answer."""
        if key in self._known or len(body) > self._most:
            return
        self._known[key] = (body, kind)
        self._size += len(body)
        while self._size > self._most:
            _, (old, _) = self._known.popitem(last=False)
            self._size -= len(old)


def remembered(page: Page) -> Page:
    """A page that depends on address and form alone; an answer that bids to ask again is not kept."""

    @wraps(page)
    async def answer(request: Request) -> Response:
        memory = cast(Memory, request.app.state.memory)
        digest = hashlib.sha256(f"{request.method} {request.url.path}?{request.url.query}\n".encode())
        digest.update(request.headers.get("content-type", "").encode())
        # A page says whether its job is kept on disk.
        digest.update(b"\n" if shelf_of(request) is None else b"\nkept\n")
        digest.update(await request.body())
        key = digest.digest()
        found = memory.find(key)
        if found is not None:
            return Response(found[0], headers={} if found[1] is None else {"content-type": found[1]})
        made = await page(request)
        if made.status_code == 200 and "retry-after" not in made.headers:
            memory.keep(key, bytes(made.body), made.headers.get("content-type"))
        return made

    return answer
