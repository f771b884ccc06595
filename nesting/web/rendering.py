"""Pages from templates; everything a person typed is escaped."""

from __future__ import annotations

import hashlib
from functools import lru_cache
from pathlib import Path
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined, select_autoescape
from starlette.responses import HTMLResponse

from nesting.web.caps import MOST_LETTERS

#: Where style, script and pictures lie.
STATIC: Final = Path(__file__).parent / "static"


@lru_cache(maxsize=1)
def _templates() -> Environment:
    made = Environment(
        loader=PackageLoader("nesting.web", "templates"),
        autoescape=select_autoescape(default=True, default_for_string=True),
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    made.globals |= {"stamp": _stamp(), "most": MOST_LETTERS}
    return made


def _stamp() -> str:
    """Changes with style and script, so that a browser never mixes old with new."""
    digest = hashlib.sha256()
    for path in sorted((*STATIC.glob("*.css"), *STATIC.glob("*.js"))):
        digest.update(path.read_bytes())
    return digest.hexdigest()[:10]


def text_of(template: str, **told: Any) -> str:
    """A template filled in."""
    return _templates().get_template(template).render(**told)


def page(template: str, status: int = 200, **told: Any) -> HTMLResponse:
    """A template filled in, as an answer."""
    return HTMLResponse(text_of(template, **told), status)


def message(title: str, text: str, status: int) -> HTMLResponse:
    """A page that says one thing."""
    return page("message.html", status, title=title, text=text)
