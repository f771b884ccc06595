"""A plan inside a page to send: whoever gets it can read and print it, and open it here as the plan it is."""

from __future__ import annotations

import gzip
import zlib
from base64 import b64decode, b64encode
from collections.abc import Mapping
from typing import Any, Final

from nesting.errors import NestingError
from nesting.files.json_text import as_json

_BEFORE: Final = "<!--nesting-plan "
_AFTER: Final = "-->"
#: How data compressed by gzip (RFC 1952) is told to zlib.
_GZIP: Final = 31


def with_plan(page: str, document: Mapping[str, Any]) -> str:
    """A page of HTML that holds a plan document behind its end, where no browser shows or runs it.

    How long the search took is left out, so the same plan is the same page to the byte.
    """
    code = b64encode(gzip.compress(as_json(_timeless(document)).encode(), mtime=0)).decode("ascii")
    return f"{page.rstrip()}\n{_BEFORE}{code}{_AFTER}\n"


def _timeless(value: Any) -> Any:
    """A document whose `seconds`, all that the clock decides in it, are 0."""
    if isinstance(value, Mapping):
        return {key: 0 if key == "seconds" else _timeless(entry) for key, entry in value.items()}
    return [_timeless(entry) for entry in value] if isinstance(value, list | tuple) else value


def holds_plan(text: str) -> bool:
    """Whether a text is a page with a plan in it; a name in a job or a plan may have its signs too."""
    return text.lstrip("\ufeff \t\r\n").startswith("<") and _BEFORE in text


def plan_inside(text: str, most: int) -> str:
    """The JSON of the plan in a page.

    Parameters
    ----------
    text
        The page.
    most
        Bytes that it may have; it is not unpacked beyond them.

    Raises
    ------
    NestingError
        There is none, it is damaged, or it is larger.
    """
    _, _, rest = text.rpartition(_BEFORE)
    code, end, _ = rest.partition(_AFTER)
    try:
        if not end:
            raise ValueError("it ends too soon")
        unpack = zlib.decompressobj(_GZIP)
        data = unpack.decompress(b64decode(code.encode("ascii"), validate=True), most)
        if unpack.unconsumed_tail:
            raise NestingError(
                f"the plan in this page is over {most // 1024} KiB: open its plan.json instead"
            )
        if not unpack.eof:
            raise ValueError("it ends too soon")
        return data.decode()
    except (ValueError, zlib.error):
        raise NestingError(
            "the plan in this page is damaged: ask for the file again, or for plan.json"
        ) from None
