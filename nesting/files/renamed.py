"""Keys of a job that earlier versions called otherwise.

They are told from the tables of `nesting.files.order`: a name that a table does not know, where it knows the
one of now.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final, get_origin

from nesting.errors import Fault
from nesting.files.faults import Loc, table_in
from nesting.files.order import TomlTable
from nesting.files.window_order import JobEntry

#: What keys were called, and what they are called now.
KEYS: Final = {"cloth": "fabric", "at_hand": "on_hand"}
#: Forms of documents that are read back, and what they are called now.
FORMS: Final = {
    "nesting-plan/1": "nesting-plan/2",
    "nesting-comparison/1": "nesting-comparison/2",
}
#: Who puts it right.
REWRITES: Final = "`nesting check OLD --convert NEW` rewrites the file"


def name_now(key: object, table: type[TomlTable] | None) -> str | None:
    """What a key of a table is called now; None where it is a key of it, or none of earlier versions."""
    now = KEYS.get(key) if isinstance(key, str) else None
    known = table is not None and key not in table.model_fields and now in table.model_fields
    return now if known else None


def inside(table: type[TomlTable] | None, key: str) -> tuple[type[TomlTable] | None, bool]:
    """The table that a key holds, or None; and whether it holds several by name."""
    field = None if table is None else table.model_fields.get(key)
    if field is None:
        return None, False
    return table_in(field.annotation), get_origin(field.annotation) is dict


def old_places(
    raw: Any, table: type[TomlTable] | None = JobEntry, at: Loc = (), named: bool = False
) -> Iterator[tuple[Loc, str]]:
    """Where a job has a name of earlier versions, and the one of now."""
    if isinstance(raw, list):
        for number, row in enumerate(raw):
            yield from old_places(row, table, (*at, number))
    if not isinstance(raw, Mapping) or table is None:
        return
    for key, value in raw.items():
        now = None if named else name_now(key, table)
        if now is not None:
            yield (*at, key), now
        inner, deeper = (table, False) if named else inside(table, now or key)
        yield from old_places(value, inner, (*at, key), deeper)


def is_earlier(form: object) -> bool:
    """Whether a document is of a form that an earlier version wrote."""
    return isinstance(form, str) and form in FORMS


def is_old_job(raw: Mapping[str, Any]) -> bool:
    """Whether a job calls anything by a name of earlier versions."""
    return any(True for _ in old_places(raw))


def place_now(loc: Loc, table: type[TomlTable] | None = JobEntry) -> Loc:
    """Where an entry stands now; numbers, and names of what is named, are left as they are."""
    now, named = list[str | int](), False
    for step in loc:
        if isinstance(step, int) or step.isdigit():
            now.append(step)
        elif named:
            now.append(step)
            named = False
        else:
            now.append(name_now(step, table) or step)
            table, named = inside(table, str(now[-1]))
    return tuple(now)


def old_names(raw: Mapping[str, Any]) -> tuple[Fault, ...]:
    """A fault for each kind of place with a name of earlier versions, as a job file has it."""
    told = dict[str, Fault]()
    for loc, _ in old_places(raw):
        value: Any = raw
        for step in loc:
            value = value[step]
        path = loc
        if len(loc) == 1 and isinstance(value, Mapping) and value:
            path, value = (*loc, next(iter(value))), next(iter(value.values()))
        was, now = (_header(place, value) for place in (path, place_now(path)))
        told.setdefault(was, Fault(was, "", f"the name it has now, {now}; {REWRITES}", loc))
    return tuple(told.values())


def _header(place: Loc, value: object) -> str:
    """A place as it is written above its table, or before its value."""
    dotted = ".".join(str(step) for step in place if not isinstance(step, int))
    if isinstance(value, list):
        return f"[[{dotted}]]"
    return f"[{dotted}]" if isinstance(value, Mapping) else dotted
