"""What a person sent: a form or a file, within limits, in memory."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final
from urllib.parse import parse_qsl

from starlette.datastructures import UploadFile
from starlette.exceptions import HTTPException
from starlette.formparsers import MultiPartException, MultiPartParser
from starlette.requests import Request

from nesting.errors import Fault, JobError
from nesting.web.caps import MOST_BYTES, MOST_FIELDS, MOST_IN_NAME, MOST_LETTERS, MOST_OPENED

#: Entries that carry a whole job file.
_LONG: Final = ("base", "before")
# What was sent stays in memory, whatever its size: no more of it is ever taken than that.
MultiPartParser.spool_max_size = MOST_OPENED + 1

Entries = list[tuple[str, str]]
#: Digits of a number that a request may carry: times in milliseconds have thirteen.
_MOST_DIGITS: Final = 15


async def entries_of(request: Request) -> Entries:
    """The entries of a posted form, in their order.

    Raises
    ------
    JobError
        It is no form, or one with too many or too long entries.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "application/x-www-form-urlencoded":
        raise _refused(kind or "nothing", "a form as the page sends it")
    body = await request.body()
    try:
        entries = parse_qsl(
            body.decode("ascii"), keep_blank_values=True, max_num_fields=MOST_FIELDS, errors="strict"
        )
    except ValueError:
        raise _refused("a form that cannot be read", f"at most {MOST_FIELDS} entries of UTF-8 text") from None
    for name, text in entries:
        if len(name) > MOST_IN_NAME or (len(text) > MOST_LETTERS and name not in _LONG):
            raise _refused(
                f"{len(text)} letters in {name[:60]}", f"at most {MOST_LETTERS} letters in an entry"
            )
    return entries


def whole_number(text: str, otherwise: int = 0) -> int:
    """The number that a request carries in plain digits, no more of them than a time has; else another."""
    plain = text.isascii() and text.isdigit() and len(text) <= _MOST_DIGITS
    return int(text) if plain else otherwise


@dataclass(frozen=True, slots=True)
class Sent:
    """A file that was sent: its name, which opens nothing here, and its text."""

    name: str
    text: str


async def files_of(request: Request) -> dict[str, Sent]:
    """The uploaded files by the name of their field; none of them is ever written to disk.

    Raises
    ------
    JobError
        There is none, or one is no text.
    """
    kind = request.headers.get("content-type", "").partition(";")[0].strip().lower()
    if kind != "multipart/form-data":
        raise _refused(kind or "nothing", "a file chosen on the start page")
    try:
        async with request.form(max_files=2, max_fields=4, max_part_size=MOST_BYTES) as form:
            found = [
                (field, file.filename or "", await file.read())
                for field, file in form.items()
                if isinstance(file, UploadFile)
            ]
    except (MultiPartException, HTTPException, ValueError):
        raise _refused("an upload that cannot be read", "one job file") from None
    # A browser sends a field without a file as one without name and text.
    sent = {field: Sent(name, _text(data)) for field, name, data in found if name or data}
    if "file" not in sent or not sent["file"].text.strip():
        raise _refused("an empty file", "a job file, such as garden-room.toml")
    return sent


def _text(data: bytes) -> str:
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    try:
        return data.decode("utf-16" if wide else "utf-8-sig")
    except UnicodeDecodeError:
        raise _refused("a file that is no text", "a file saved as UTF-8 text") from None


def _refused(value: str, expected: str) -> JobError:
    return JobError([Fault("what was sent", value, expected)])
