"""The first page, which needs next to nothing and is there at once, and what all pages look like."""

from __future__ import annotations

from functools import lru_cache
from typing import Final

from starlette.requests import Request
from starlette.responses import Response

from nesting.headings import HEADINGS
from nesting.web.rendering import STATIC, message, page
from nesting.web.samples import samples


async def start(request: Request) -> Response:
    """The first page."""
    return page("start.html", samples=samples(), lessons=HEADINGS, notes=())


_KINDS: Final = {
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


@lru_cache(maxsize=1)
def _files() -> dict[str, tuple[bytes, str]]:
    """All there are, so that no name of a request ever opens a file."""
    return {path.name: (path.read_bytes(), _KINDS[path.suffix]) for path in STATIC.iterdir()}


async def static(request: Request) -> Response:
    """Style, script or mark; their address changes with them, so that browsers may keep them."""
    found = _files().get(request.path_params["name"])
    if found is None:
        return message("There is nothing here", "The start page leads everywhere.", 404)
    return Response(found[0], media_type=found[1], headers={"cache-control": "max-age=86400"})
