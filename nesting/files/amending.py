"""Writes changes into the text of a job file, and leaves all else in it as it stands, remarks included."""

from __future__ import annotations

import itertools
import re
import tomllib
from collections.abc import Mapping
from decimal import Decimal
from typing import Any, Final

import tomlkit
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, InlineTable, Item, Table
from tomlkit.items import Array as TomlArray

from nesting.files.faults import as_decimal
from nesting.files.reading import job_table

#: Lists of tables that get headers of their own; all others stand in one line.
_HEADED: Final = ("window", "extra", "bolt", "band", "tieback", "on_hand")

_BEFORE_HEADER: Final = re.compile(r"^([^#\[\n][^\n]*)\n+\[", re.MULTILINE)


def amend_job_text(text: str, table: Mapping[str, Any]) -> str:
    """The job file ``text`` changed so that it says ``table``.

    What the two have in common keeps its place, its spelling and its remarks; the same table gives the
    same text. Unknown keys are carried like any other.

    Parameters
    ----------
    text
        A job file, or nothing.
    table
        What it is to say, in the form of `nesting.files.job_table`.

    Raises
    ------
    JobError
        ``text`` is no TOML.
    """
    before = job_table(text) if text.strip() else {}
    if _same(before, table):
        return text
    try:
        document = tomlkit.parse(text)
        _amend(document, before, table)
        amended = tomlkit.dumps(document)
        if _headers(amended) > _headers(text):
            amended = _spaced(amended)
        if _same(_read(amended), table):
            return amended
    except (ValueError, LookupError, TypeError, AttributeError, TOMLKitError):
        # Tables in an order that the editor of texts cannot follow: written anew, remarks are lost.
        pass
    return _spaced(tomlkit.dumps(_fresh(table)))


def _spaced(text: str) -> str:
    """One blank line before each header that follows an entry."""
    return _BEFORE_HEADER.sub(r"\1\n\n[", text)


def _headers(text: str) -> int:
    return sum(line.lstrip().startswith("[") for line in text.splitlines())


def _read(text: str) -> dict[str, Any]:
    return tomllib.loads(text, parse_float=as_decimal)


def _same(one: Any, two: Any) -> bool:
    """Whether two values are written alike: 84 is not "84", and 1.50 is not 1.5."""
    if type(one) is not type(two) and not (isinstance(one, Mapping) and isinstance(two, Mapping)):
        return False
    if isinstance(one, Mapping):
        return one.keys() == two.keys() and all(_same(one[key], two[key]) for key in one)
    if isinstance(one, list):
        return len(one) == len(two) and all(_same(a, b) for a, b in zip(one, two, strict=True))
    return str(one) == str(two)


def _amend(node: Any, before: Mapping[str, Any], after: Mapping[str, Any]) -> None:
    for key in before:
        if key not in after:
            del node[key]
    inline = isinstance(node, InlineTable)
    for key, value in after.items():
        if key not in before:
            node[key] = _item(value, key, inline)
        elif _same(before[key], value):
            continue
        elif isinstance(value, Mapping) and isinstance(before[key], Mapping):
            _amend(node[key], before[key], value)
        elif isinstance(value, list) and isinstance(node[key], AoT):
            if value:
                _amend_rows(node[key], before[key], value)
            else:
                del node[key]
        else:
            node[key] = _item(value, key, inline)


def _amend_rows(rows: Any, before: list[Any], after: list[Any]) -> None:
    """Rows are told apart by what they say: of those taken out, the others keep their remarks."""
    rest = list(before)
    while len(rest) > len(after):
        pairs = itertools.zip_longest(rest, after)
        at = next(number for number, (old, new) in enumerate(pairs) if old != new)
        del rows[at], rest[at]
    for number, (old, new) in enumerate(zip(rest, after, strict=False)):
        _amend(rows[number], old, new)
    for new in after[len(rest) :]:
        rows.append(_table(new))


def _item(value: Any, key: str = "", inline: bool = False) -> Item:
    if isinstance(value, Mapping):
        plain = all(not isinstance(inner, Mapping | list) for inner in value.values())
        return _inline(value) if inline or (plain and bool(value) and key != "fabric") else _table(value)
    if isinstance(value, list):
        if key in _HEADED and not inline and value and all(isinstance(row, Mapping) for row in value):
            rows = tomlkit.aot()
            for row in value:
                rows.append(_table(row))
            return rows
        return _array(value)
    if isinstance(value, Decimal):
        return tomlkit.value(_decimal(value))
    made: Item = tomlkit.item(value)
    return made


def _decimal(value: Decimal) -> str:
    text = str(value)
    return text if "." in text or "E" in text.upper() else f"{text}.0"


def _array(values: list[Any]) -> TomlArray:
    made = tomlkit.array()
    for value in values:
        made.append(_item(value, inline=True))
    return made


def _inline(values: Mapping[str, Any]) -> InlineTable:
    made = tomlkit.inline_table()
    for key, value in values.items():
        made[key] = _item(value, key, True)
    return made


def _table(values: Mapping[str, Any]) -> Table:
    made = tomlkit.table()
    # What has a header of its own comes after what has none, or it would take that in.
    for key, value in sorted(values.items(), key=lambda pair: _headed(*pair)):
        made[key] = _item(value, key)
    return made


def _headed(key: str, value: Any) -> bool:
    return (key in _HEADED and isinstance(value, list)) or isinstance(value, Mapping)


def _fresh(table: Mapping[str, Any]) -> tomlkit.TOMLDocument:
    document = tomlkit.document()
    for key, value in sorted(table.items(), key=lambda pair: _headed(*pair)):
        if key == "fabric" and isinstance(value, Mapping):
            fabrics = tomlkit.table(is_super_table=True)
            for name, fabric in value.items():
                fabrics[name] = _table(fabric) if isinstance(fabric, Mapping) else _item(fabric)
            document["fabric"] = fabrics
        else:
            document[key] = _item(value, key)
    return document
