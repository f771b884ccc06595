"""The columns of a measurement list: each is a key of a window, nested keys with dots.

The rule for nested keys: a dot goes into a table (``tab.width``, ``side_hem.leading.turn``), a number
between dots counts the tables of a list (``tieback.2.length``; without a number it is the first). A unit
may stand in brackets behind the key: ``rod (cm)``. A column whose name begins with ``#`` is for notes.
"""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final, get_args, get_origin

from pydantic.fields import FieldInfo

from nesting.files.entries import Count, Flag, KeyEntry, Number, OneOf, Price, Size, did_you_mean
from nesting.files.faults import Loc, table_in
from nesting.files.order import TomlTable
from nesting.files.renamed import REWRITES, place_now
from nesting.files.window_order import Selvage, WindowEntry
from nesting.units import unit_named

_HEAD: Final = re.compile(r"(?P<key>[^()\[\]]*?)\s*(?:[(\[]\s*(?P<unit>[^()\[\]]*?)\s*[)\]])?")
#: A letter or a tick behind a number is a unit of the cell's own.
_OWN_UNIT: Final = re.compile(r"[^\W\d_]|[\"'″′”’]")
_COMMA: Final = re.compile(r"[-+]?\d*,(?:\d{1,2}|\d{4,})")
_WHOLE: Final = re.compile(r"(\d{1,18})(?:[.,]0+)?")
_YES_NO: Final = {"true": True, "yes": True, "false": False, "no": False}


@dataclass(frozen=True, slots=True)
class ListColumn:
    """One column of a measurement list.

    Attributes
    ----------
    head
        As it stands in the first row.
    keys
        Where its cells belong in a window's table; a number counts the tables of a list from 0.
    kind
        What its cells hold.
    unit
        In which bare numbers are meant; empty: in the job's.
    """

    head: str
    keys: Loc
    kind: KeyEntry | Selvage
    unit: str = ""

    @property
    def measured(self) -> bool:
        """Whether its cells are lengths or plain numbers, where a fraction may stand."""
        return isinstance(self.kind, Size | Number)

    def value(self, cell: str) -> Any:
        """The cell as it would stand in a job file; what cannot be read is left for the job to refuse."""
        if isinstance(self.kind, Size):
            return f"{cell} {self.unit}" if self.unit and not _OWN_UNIT.search(cell) else cell
        if isinstance(self.kind, Number | Price):
            return cell.replace(",", ".") if _COMMA.fullmatch(cell) else cell
        if isinstance(self.kind, Count):
            whole = _WHOLE.fullmatch(cell)
            return int(whole[1]) if whole else cell
        if isinstance(self.kind, Flag):
            return _YES_NO.get(cell.casefold(), cell)
        return cell.casefold() if isinstance(self.kind, OneOf | Selvage) else cell


def column(head: str) -> ListColumn | str:
    """The column of that name, or what would be accepted in its place."""
    found = _HEAD.fullmatch(head.strip())
    if found is None:
        return 'a key with at most one unit behind it, such as "rod (in)"'
    key, unit = re.sub(r"[\s-]+", "_", found["key"].strip().casefold()), found["unit"]
    keys, kind = _resolved(key.split("."))
    if kind is None:
        now = dotted(place_now(tuple(key.split(".")), WindowEntry))
        if now != key:
            return f'the name it has now, "{now}"; {REWRITES}'
        known = [dotted(keys) for keys, _ in _leaves(WindowEntry)]
        hint = did_you_mean(key, known) if "." in key else did_you_mean(key, WindowEntry.model_fields)
        return f"a key of a window; {hint}; or begin the name with # for notes of your own"
    if unit is None:
        return ListColumn(head, keys, kind)
    name = unit_named(unit)
    if name is None:
        return 'a unit in brackets: in, ft, yd, mm, cm or m, such as "rod (cm)"'
    return ListColumn(head, keys, kind, name) if isinstance(kind, Size) else f"no unit: {key} is no length"


def measurement_heads(unit: str) -> tuple[str, ...]:
    """The columns of an empty list: what is measured at a window, and the choices that go with it."""
    keys: tuple[Loc, ...] = (
        ("name",), ("room",), ("count",), ("rod",), ("rod_diameter",), ("finished_length",), ("rod_height",),
        ("hangs_from",), ("ring_drop",), ("eye_height",), ("clearance",), ("heading",), ("fullness",),
        ("draw",), ("returns",), ("overlap",), ("fabric",), ("lining",), ("bottom_hem", "turn"),
        ("bottom_hem", "turns"),
    )  # fmt: skip
    kinds = dict(_leaves(WindowEntry))
    heads = (f"{dotted(key)} ({unit})" if isinstance(kinds[key], Size) else dotted(key) for key in keys)
    return (*heads, "# notes")


def heads_of(windows: Sequence[Mapping[str, Any]]) -> tuple[str, ...]:
    """The columns that hold every key of some windows, each as a job file gives it."""
    return tuple(dict.fromkeys(dotted(keys) for window in windows for keys, _ in cells_of(window)))


def cells_of(table: Mapping[str, Any], at: Loc = ()) -> Iterator[tuple[Loc, Any]]:
    """Every value of a window's table, each with where it belongs."""
    for key, value in table.items():
        if isinstance(value, Mapping):
            yield from cells_of(value, (*at, key))
        elif isinstance(value, list):
            for number, row in enumerate(value):
                yield from cells_of(row, (*at, key, number))
        else:
            yield (*at, key), value


def dotted(keys: Loc) -> str:
    """The name of the column of a key."""
    return ".".join(str(key + 1) if isinstance(key, int) else key for key in keys)


def _resolved(names: list[str]) -> tuple[Loc, KeyEntry | Selvage | None]:
    """Where a dotted name leads, and what belongs there; nothing where it leads nowhere."""
    table: type[TomlTable] | None = WindowEntry
    field: FieldInfo | None = None
    keys, rest = list[str | int](), list(names)
    while rest:
        name = rest.pop(0)
        field = None if table is None else table.model_fields.get(name)
        if field is None:
            return (), None
        keys.append(name)
        table = table_in(field.annotation)
        if _is_list(field):
            number = int(rest.pop(0)) if rest and re.fullmatch(r"[1-9]\d?", rest[0]) else 1
            keys.append(number - 1)
    return (tuple(keys), _kind(field)) if field is not None and not _is_list(field) else ((), None)


def _leaves(table: type[TomlTable], at: Loc = ()) -> Iterator[tuple[Loc, KeyEntry | Selvage]]:
    """Every key a window may have, the first table of each list."""
    for key, field in table.model_fields.items():
        inner, kind = table_in(field.annotation), _kind(field)
        if kind is not None:
            yield (*at, key), kind
        if inner is not None:
            yield from _leaves(inner, (*at, key, 0) if _is_list(field) else (*at, key))


def _is_list(field: FieldInfo) -> bool:
    return get_origin(field.annotation) is list


def _kind(field: FieldInfo) -> KeyEntry | Selvage | None:
    """What a key holds by itself; None where it holds a table only."""
    marks = [*field.metadata, *(mark for part in get_args(field.annotation) for mark in get_args(part))]
    return next((mark for mark in marks if isinstance(mark, KeyEntry | Selvage)), None)
