"""The job on the page: a job file's text, what was typed over it, and the table the two make together."""

from __future__ import annotations

import copy
import re
from base64 import b64decode, b64encode
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field, replace
from decimal import Decimal
from functools import lru_cache
from typing import Any, Final
from urllib.parse import quote, unquote

from nesting.errors import Fault, JobError
from nesting.files import Key, amend_job_text, in_words_of_now, is_old_job, job_keys, job_table, place_now
from nesting.web.caps import MOST_ROWS, OTHER_ROWS, SMALL
from nesting.web.modest import require_few_rows, require_modest

Loc = tuple[str | int, ...]
_MISSING: Final = object()
_NUMBER: Final = re.compile(r"[0-9]{1,6}")
_WHOLE: Final = re.compile(r"-?\d{1,15}")
_POINT: Final = re.compile(r"-?\d{1,15}\.\d{1,15}")
#: What the radio buttons of a pattern say beside a drop.
PLAIN: Final = "plain"
STRAIGHT: Final = "straight"
#: What is said of a job in the words of an earlier version.
REWORDED: Final = (
    "This job was written by an earlier version. Some of its entries have new names now (fabric, on hand); "
    "download it to keep it so."
)
#: Entries of a form that say which kind a fabric is, and which one it was as the form was made.
KIND: Final = "kind:"
KIND_WAS: Final = "kind-was:"
#: Names of the first fabrics of a job, as most job files call them.
_FABRICS: Final = ("face", "lining", "trim")


@dataclass(frozen=True, slots=True)
class Draft:
    """A job being written.

    Attributes
    ----------
    table
        What it says now, in the form of `nesting.files.job_table`.
    base
        The job file it began as, whose remarks and spelling are kept.
    aside
        What was typed where another choice has no use for it, by field name: kept for a change of mind.
    began
        The unit of the base, where a form was laid over it.
    reworded
        Whether it came in words of earlier versions, which are those of now here.
    """

    table: dict[str, Any]
    base: str = ""
    aside: Mapping[str, str] = field(default_factory=dict)
    began: str = ""
    reworded: bool = False

    @property
    def text(self) -> str:
        """The job file: the base with all changes in it."""
        return amend_job_text(self.base, self.table)

    @property
    def unit(self) -> str:
        """In which bare numbers are meant."""
        return _unit_of(self.table)


def new_draft(unit: str, *, windows: bool = True) -> Draft:
    """A job with one fabric and (unless they come from elsewhere) one window, both still empty."""
    currency = "$" if unit == "in" else "€"
    head = f'title = "New drapes"\nunits = "{unit}"\ncurrency = "{currency}"\n'
    window = '\n[[window]]\nname = "Window 1"\n' if windows else ""
    return from_text(f"{head}\n[fabric.face]\n\n[[fabric.face.bolt]]\n{window}")


def from_text(text: str) -> Draft:
    """The draft of a job file as it stands.

    Raises
    ------
    JobError
        The text is no TOML, or says more than the page takes.
    """
    now, table, reworded = _read(text)
    return Draft(table, now, reworded=reworded)


def _read(text: str, most: int | None = None) -> tuple[str, dict[str, Any], bool]:
    """A job file in the words of now, what it says, and whether its words were those of an earlier version.

    Refused where it says more than a form could show, or is to be reworded and longer than ``most``.
    """
    require_modest(text)
    table = job_table(text)
    require_few_rows(table)
    if not is_old_job(table):
        return text, table, False
    if most is not None and len(text) > most:
        raise JobError([Fault("this job", "", "its file, opened again: an earlier version wrote it")])
    text = in_words_of_now(text)
    return text, job_table(text), True


def from_form(entries: Iterable[tuple[str, str]]) -> Draft:
    """The draft that a posted form describes: its base, with every field that was changed.

    Fields that the base has no place for are left out; an empty field takes its key away.

    Raises
    ------
    JobError
        The base is no TOML, or says more than the page takes.
    """
    texts = dict(entries)
    base, before, reworded = _read(unpacked(texts.pop("base", "")), SMALL)
    if reworded:
        # A form of an earlier version, kept in a browser: its fields are called as its base was.
        texts = {name_of(place_now(loc_of(name))): text for name, text in texts.items()}
    _say_kinds(texts)
    typing = _Typing(texts)
    table = typing.table(job_keys().keys, "", before)
    return Draft(table, base, typing.aside, _unit_of(before), reworded)


def kind_of(fabric: Mapping[str, Any]) -> str:
    """What a maker calls a fabric first of all: ``print``, ``pile`` (or any one-way nap), or ``plain``."""
    if isinstance(fabric.get("repeat"), Mapping):
        return "print"
    return "pile" if fabric.get("nap") == "one-way" else "plain"


def _say_kinds(texts: dict[str, str]) -> None:
    """Put what the kind of a fabric stands for into the fields of its nap and print, where it was changed."""
    for said in [name for name in texts if name.startswith(KIND)]:
        label, kind = said.removeprefix(KIND), texts[said]
        if kind == texts.get(f"{KIND_WAS}{label}", kind):
            continue
        nap, drop = (name_of(("fabric", label, *rest)) for rest in (("nap",), ("repeat", "drop")))
        texts[nap] = "one-way" if kind == "pile" else ""
        if kind != "print":
            texts[drop] = PLAIN
        elif texts.get(drop, PLAIN) == PLAIN:
            texts[drop] = STRAIGHT


def _unit_of(table: Mapping[str, Any]) -> str:
    said = table.get("units", "in")
    return said if said in ("in", "cm", "mm") else "in"


def packed(text: str) -> str:
    """A text as it travels in a form, which would change its line ends."""
    return b64encode(text.encode()).decode("ascii")


def unpacked(code: str) -> str:
    """The text that `packed` made this of.

    Raises
    ------
    JobError
        It is none.
    """
    try:
        return b64decode(code.encode("ascii"), validate=True).decode()
    except ValueError:
        raise JobError([Fault("the form", "", "a form as the page sent it: go back and try again")]) from None


def name_of(loc: Loc) -> str:
    """The field of a place in the table."""
    return ".".join([_step_name(step) for step in loc])


@lru_cache(maxsize=4096)
def _step_name(step: str | int) -> str:
    return quote(str(step), safe="").replace(".", "%2E")


def loc_of(name: str) -> Loc:
    """The place in the table that a field stands for."""
    return tuple(int(step) if _NUMBER.fullmatch(step) else unquote(step) for step in name.split("."))


def shown(value: object) -> str:
    """A value as it stands in its field."""
    if isinstance(value, bool):
        return "true" if value else "false"
    return str(value) if isinstance(value, str | int | Decimal) else ""


class _Typing:
    """Lays what was typed over a table."""

    def __init__(self, texts: Mapping[str, str]) -> None:
        self._texts = texts
        self.aside: dict[str, str] = {}

    def table(self, keys: Iterable[Key], prefix: str, before: Mapping[str, Any]) -> dict[str, Any]:
        """The table with its changes; what no key knows is kept as it is."""
        after = dict(before)
        for key in keys:
            name = f"{prefix}{name_of((key.name,))}"
            value = self._value(key, name, before.get(key.name, _MISSING))
            if value is _MISSING:
                after.pop(key.name, None)
            else:
                after[key.name] = value
        return after

    def _value(self, key: Key, name: str, before: Any) -> Any:
        if key.kind == "rows":
            return self._rows(key, name, before)
        if key.kind == "named":
            return self._named(key, name, before)
        if key.kind == "hem" and self._texts.get(f"{name}.selvage") == "yes":
            self._put_aside(name)
            return "selvage"
        if key.kind in ("hem", "table"):
            return self._inner(key, name, before)
        return self._leaf(key, name, before)

    def _leaf(self, key: Key, name: str, before: Any) -> Any:
        if name not in self._texts:
            return before
        text = self._texts[name].strip()
        if before is not _MISSING and text == shown(before).strip():
            return before
        return _MISSING if not text else value_of(key, text)

    def _inner(self, key: Key, name: str, before: Any) -> Any:
        drop = self._texts.get(f"{name}.drop") if key.name == "repeat" else None
        if drop == PLAIN:
            self._put_aside(name)
            return _MISSING
        known = before if isinstance(before, Mapping) else {}
        if not isinstance(before, Mapping) and before is not _MISSING and not self._says(name):
            return before
        inner = self.table(key.keys, f"{name}.", known)
        if drop == STRAIGHT:
            before_drop = known.get("drop")
            inner.pop("drop", None)
            if before_drop is not None and before_drop == 0:
                inner["drop"] = before_drop
            return inner
        return inner if inner or (isinstance(before, Mapping) and not before) else _MISSING

    def _says(self, name: str) -> bool:
        """Whether anything is typed in the fields of a table."""
        return any(text.strip() for said, text in self._texts.items() if said.startswith(f"{name}."))

    def _rows(self, key: Key, name: str, before: Any) -> Any:
        if not isinstance(before, list):
            return before
        return [
            self.table(key.keys, f"{name}.{number}.", row) if isinstance(row, Mapping) else row
            for number, row in enumerate(before)
        ]

    def _named(self, key: Key, name: str, before: Any) -> Any:
        if not isinstance(before, Mapping):
            return before
        return {
            label: self.table(key.keys, f"{name}.{name_of((label,))}.", row)
            if isinstance(row, Mapping)
            else row
            for label, row in before.items()
        }

    def _put_aside(self, name: str) -> None:
        told = (f"{name}.selvage", f"{name}.drop")
        for said, text in self._texts.items():
            if said.startswith(f"{name}.") and said not in told and text.strip():
                self.aside[said] = text.strip()


def value_of(key: Key, text: str) -> Any:
    """What a typed text is in TOML: a bare number where it is one, else a text."""
    if key.kind == "flag" and text in ("true", "false"):
        return text == "true"
    if key.kind in ("count", "length", "number", "price", "drop") and _WHOLE.fullmatch(text):
        return int(text)
    if key.kind in ("length", "number", "price", "drop") and _POINT.fullmatch(text):
        return Decimal(text)
    return text


def with_row(draft: Draft, loc: Loc) -> Draft:
    """The draft with one more row of a list, or one more fabric; as it is where there are enough."""
    table = copy.deepcopy(draft.table)
    place: Any = table
    for step in loc[:-1]:
        place = place[step]
    last, key = loc[-1], _key_at(loc)
    if key is None or key.kind not in ("rows", "named"):
        return draft
    rows = place.setdefault(last, {} if key.kind == "named" else [])
    if len(rows) >= MOST_ROWS.get(str(last), OTHER_ROWS):
        return draft
    if key.kind == "named":
        free = (*_FABRICS, *(f"fabric-{number}" for number in range(len(rows) + 1, len(rows) + 20)))
        rows[next(name for name in free if name not in rows)] = {"bolt": [{}]}
    elif last == "window":
        rows.append({"name": _free_name(rows, "Window")})
    elif last == "extra":
        rows.append({"name": _free_name(rows, "Extra")})
    else:
        rows.append({})
    return replace(draft, table=table)


def with_lining(draft: Draft, loc: Loc) -> Draft:
    """The draft with one more fabric that lines a window; as it is where there is no room."""
    made = with_row(draft, ("fabric",))
    fabrics = made.table.get("fabric", {})
    new = [label for label in fabrics if label not in draft.table.get("fabric", {})]
    if not new or loc[:1] != ("window",) or len(loc) != 2:
        return draft
    made.table["window"][loc[1]]["lining"] = new[0]
    return made


def _free_name(rows: Iterable[Any], noun: str) -> str:
    taken = {str(row.get("name", "")).lower() for row in rows if isinstance(row, Mapping)}
    number = 2 if noun.lower() in taken else 1
    while f"{noun} {number}".lower() in taken:
        number += 1
    return f"{noun} {number}"


def without_row(draft: Draft, loc: Loc) -> Draft:
    """The draft without one row or fabric."""
    table = copy.deepcopy(draft.table)
    place: Any = table
    for step in loc[:-1]:
        place = place[step]
    del place[loc[-1]]
    if not place and isinstance(loc[-1], int):
        above: Any = table
        for step in loc[:-2]:
            above = above[step]
        del above[loc[-2]]
    return replace(draft, table=table, aside={})


def with_copy(draft: Draft, loc: Loc) -> Draft:
    """The draft with a row once more at the end of its list, under a name of its own."""
    table = copy.deepcopy(draft.table)
    place: Any = table
    for step in loc[:-1]:
        place = place[step]
    if not isinstance(place, list) or len(place) >= MOST_ROWS.get(str(loc[-2]), OTHER_ROWS):
        return draft
    row = copy.deepcopy(place[int(loc[-1])])
    if isinstance(row, dict) and "name" in row:
        row["name"] = _free_name(place, str(row["name"]).rstrip("0123456789 ") or "Window")
    place.append(row)
    return replace(draft, table=table)


def _key_at(loc: Loc) -> Key | None:
    key: Key | None = job_keys()
    kind = ""
    for step in loc:
        if key is None:
            return None
        if isinstance(step, int) or kind == "named":
            kind = ""
            continue
        key = key.key(step)
        kind = "" if key is None else key.kind
    return key


def leaves(
    table: Mapping[str, Any], keys: Iterable[Key] | None = None, at: Loc = ()
) -> Iterator[tuple[Loc, Key]]:
    """Every entry of a table that its keys know, with its place."""
    for key in job_keys().keys if keys is None else keys:
        value = table.get(key.name)
        here = (*at, key.name)
        if isinstance(value, list) and key.kind == "rows":
            for number, row in enumerate(value):
                if isinstance(row, Mapping):
                    yield from leaves(row, key.keys, (*here, number))
        elif isinstance(value, Mapping) and key.kind == "named":
            for label, row in value.items():
                if isinstance(row, Mapping):
                    yield from leaves(row, key.keys, (*here, label))
        elif isinstance(value, Mapping) and key.kind in ("table", "hem"):
            yield from leaves(value, key.keys, here)
        elif key.name in table and not key.keys:
            yield here, key


def look_up(table: Any, loc: Loc) -> Any:
    """What stands at a place, or None."""
    for step in loc:
        try:
            table = table[step]
        except (KeyError, IndexError, TypeError):
            return None
    return table
