"""Whether a job file is one that the page can read at all: looked at in one pass, before anything parses it.

A parser of TOML takes time with the square of some things (keys of many steps), and what comes out of it may
be far larger than what went in. So the page asks first how deep a text nests and how much it says.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from nesting.errors import Fault, JobError
from nesting.files.outline import outline_of
from nesting.web.caps import MOST_ALL_ROWS, MOST_DEPTH, MOST_KEYS, MOST_ROWS, OTHER_ROWS

_COMMAND: Final = "for more, use the command line: nesting plan JOB.toml"


def require_modest(text: str) -> None:
    """Refuse a job file that says far more than any job, or nests deeper.

    Raises
    ------
    JobError
        With what is too much, and how much the page takes.
    """
    found = outline_of(text)
    if found.entries > MOST_KEYS:
        raise _too("entries in this file", found.entries, f"at most {MOST_KEYS} on this page")
    if found.depth > MOST_DEPTH:
        raise _too("tables within tables", found.depth, f"at most {MOST_DEPTH}: a job needs 5")


def require_few_rows(table: Mapping[str, Any]) -> None:
    """Refuse a job with more rows than a form could show; twice the page's own limits are still shown.

    Raises
    ------
    JobError
        With the list that is too long.
    """
    count = 0
    for key, length in _lists(table):
        most = MOST_ROWS.get(key, OTHER_ROWS)
        if length > 2 * most:
            raise _too(f"rows of {key}", length, f"at most {most} on this page")
        count += length
    if count > MOST_ALL_ROWS:
        raise _too("rows of all lists", count, f"at most {MOST_ALL_ROWS} on this page")


def _lists(table: Mapping[str, Any]) -> Iterator[tuple[str, int]]:
    """Every list of tables, and the table of fabrics, by name and length."""
    for key, value in table.items():
        if isinstance(value, list):
            yield key, len(value)
            for row in value:
                if isinstance(row, Mapping):
                    yield from _lists(row)
        elif isinstance(value, Mapping):
            yield from [(key, len(value))] if key == "fabric" else []
            yield from _lists(value)


def _too(place: str, found: object, expected: str) -> JobError:
    return JobError([Fault(place, str(found), f"{expected}; {_COMMAND}")])
