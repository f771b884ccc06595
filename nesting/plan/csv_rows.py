"""Rows as CSV that a spreadsheet opens without running any of it."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from typing import Final

_TAPE: Final = re.compile(r"-(?:\d+(?:\.\d+)?(?: \d+/\d+)?|\d+/\d+)")


def rows_csv(columns: Iterable[str], rows: Iterable[Iterable[object]]) -> str:
    """A table as CSV; no cell is run as a formula by a spreadsheet."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows([_plain(cell) for cell in row] for row in rows)
    return out.getvalue()


def _plain(cell: object) -> object:
    """Text that a spreadsheet would run as a formula gets an apostrophe in front, which it hides.

    So does text that has one of its own there, or that would be hidden.
    """
    if not isinstance(cell, str):
        return cell
    begins = cell.lstrip().lstrip("'")[:1]
    runs = begins in ("=", "+", "-", "@") and not _is_number(cell)
    return f"'{cell}" if runs or cell[:1] in ("\t", "\r", "\n") else cell


def _is_number(text: str) -> bool:
    """Whether it is a length off the tape such as ``-1 1/2``, which is safe as it stands."""
    return _TAPE.fullmatch(text) is not None
