"""Files in the words of earlier versions, turned into those of now: jobs, lists, plans, comparisons."""

from __future__ import annotations

import json
import re
import tomllib
from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import Any, Final

import tomlkit
from tomlkit.container import Container
from tomlkit.exceptions import TOMLKitError
from tomlkit.items import AoT, Array, InlineTable, Key, SingleKey, Table

from nesting.errors import Fault, JobError, NestingError
from nesting.files.amending import amend_job_text
from nesting.files.faults import as_decimal
from nesting.files.order import TomlTable
from nesting.files.reading import job_table
from nesting.files.renamed import FORMS, KEYS, inside, is_old_job, name_now, old_places, place_now
from nesting.files.window_order import JobEntry, WindowEntry

#: Suffixes of measurement lists.
LISTS: Final = (".csv", ".tsv", ".txt")
#: The name of a column in the first row of a list: at the start of a cell, up to its end or a unit.
_COLUMN: Final = re.compile(
    r"((?:^|[\t;,])[\s\"\ufeff]*)([a-z_.0-9]+)(?=\s*(?:[\t;,\"(\[\r\n]|$))", re.IGNORECASE
)
_DOCUMENT_KEYS: Final = {
    **KEYS, "cloths": "fabrics", "at_hand_length": "on_hand_length", "labelled": "labeled",
}  # fmt: skip
#: What stages of an objective were called.
_STAGES: Final = {
    "cloth to buy": "fabric to buy", "cloth started": "fabric started", "cloth cut into": "fabric cut into",
}  # fmt: skip
#: Labels of sums that have another wording now, by which a sum finds its letter.
_LABELS: Final = {
    "half the rod round": "half the rod's circumference",
    "given to the part-width": "moved to the part-width",
    "parts as long as the cloth is wide": "full-width strips",
}
#: Tables whose keys are names, or numbers of a proof.
_NAMED: Final = ("widths_per_panel", "bound_certificate")


def in_words_of_now(text: str, name: str = "job.toml") -> str:
    """A file's text with the keys of earlier versions called as they are now; all else stays as it stands.

    Parameters
    ----------
    text
        A job file, a measurement list, a plan document or a comparison.
    name
        What the file is called: its suffix says which of them it is.

    Returns
    -------
    str
        The same text where nothing in it is called otherwise. Of a job and of a list, notes, order and
        spelling stay, but in a job whose tables stand in an order that no editor of TOML follows, such as
        parts of one fabric before and after a window: that is written anew, without its notes. A document
        keeps its sentences.

    Raises
    ------
    NestingError
        It is no such file, or has an entry under both names.
    """
    suffix = PurePath(name).suffix.lower()
    if suffix == ".json":
        return _document(text, name)
    return _list(text) if suffix in LISTS else _job(text)


def _job(text: str) -> str:
    raw = job_table(text)
    _refuse_both(raw)
    if not is_old_job(raw):
        return text
    wanted = _renamed(raw, JobEntry)
    try:
        document = tomlkit.parse(text)
        _rename(document, JobEntry)
        made = tomlkit.dumps(document)
        if tomllib.loads(made, parse_float=as_decimal) == wanted:
            return made
    except (ValueError, LookupError, TypeError, AttributeError, TOMLKitError):
        # Tables in an order that the editor of texts cannot follow: written anew, remarks are lost.
        pass
    return amend_job_text("", wanted)


def _refuse_both(raw: Mapping[str, Any]) -> None:
    """Refuse a table that says a thing under both names."""
    faults = list[Fault]()
    for loc, now in old_places(raw):
        table: Any = raw
        for step in loc[:-1]:
            table = table[step]
        if now in table:
            place = ".".join(str(step) for step in loc)
            faults.append(Fault(place, "", f'one of "{loc[-1]}" and "{now}": remove the other', loc))
    if faults:
        raise JobError(faults)


def _renamed(raw: Any, table: type[TomlTable] | None, named: bool = False) -> Any:
    """What a job says, in the words of now."""
    if isinstance(raw, list):
        return [_renamed(row, table) for row in raw]
    if not isinstance(raw, Mapping) or table is None:
        return raw
    if named:
        return {name: _renamed(value, table) for name, value in raw.items()}
    keys = {key: name_now(key, table) or key for key in raw}
    return {now: _renamed(raw[key], *inside(table, now)) for key, now in keys.items()}


def _rename(container: Container, table: type[TomlTable] | None, named: bool = False) -> None:
    """Rename the keys of a text that is being edited."""
    for at, (key, item) in enumerate(container.body):
        if key is None:
            continue
        inner, deeper = (table, False) if named else inside(table, key.key)
        now = None if named else name_now(key.key, table)
        if now is not None:
            container.body[at] = (_like(key, now), item)
            inner, deeper = inside(table, now)
        for part in _parts(item):
            if isinstance(part, Table):
                part.invalidate_display_name()
            _rename(part.value, inner, deeper)


def _parts(item: object) -> Iterator[Table | InlineTable]:
    """The tables that an entry holds."""
    if isinstance(item, AoT):
        item.invalidate_display_name()
        yield from item.body
    elif isinstance(item, Array):
        yield from (part for part in item if isinstance(part, InlineTable))
    elif isinstance(item, Table | InlineTable):
        yield item


def _like(key: Key, name: str) -> SingleKey:
    """A key of another name, written as the first was."""
    written = key.as_string()
    blanks = written[len(written.rstrip()) :]
    made = SingleKey(name, sep=key.sep, original=name + blanks)
    made._dotted = key.is_dotted()
    return made


def _list(text: str) -> str:
    """A measurement list whose columns are called as they are now."""
    lines = text.splitlines(keepends=True)
    said = 1 if lines and lines[0].lstrip("\ufeff").lower().startswith("sep=") else 0
    head = next((at for at, line in enumerate(lines) if at >= said and line.strip("\ufeff \t;,\r\n")), None)
    if head is None:
        return text
    # A cell in quotes may go on in the next line.
    end = head + 1
    while end < len(lines) and "".join(lines[head:end]).count('"') % 2:
        end += 1
    row = "".join(lines[head:end])
    names = [found[2].casefold() for found in _COLUMN.finditer(row)]
    _refuse_columns(names)
    made = _COLUMN.sub(lambda found: found[1] + _column_now(found[2]), row)
    return "".join((*lines[:head], made, *lines[end:]))


def _refuse_columns(names: Sequence[str]) -> None:
    """Refuse a list that has a column under both names."""
    both = [(name, now) for name in names if (now := _column_now(name)) != name and now in names]
    if both:
        told = 'one of "{}" and "{}": remove the other'
        raise JobError([Fault(f'column "{name}"', "", told.format(name, now)) for name, now in both])


def _column_now(name: str) -> str:
    """The name of a column of now."""
    steps = tuple(name.casefold().split("."))
    now = place_now(steps, WindowEntry)
    return name if now == steps else ".".join(str(step) for step in now)


def _document(text: str, name: str) -> str:
    try:
        document = json.loads(text)
    except (ValueError, RecursionError) as error:
        raise NestingError(
            f"{name}: no JSON ({error}): expected a plan as `nesting plan` writes it"
        ) from None
    form = document.get("schema") if isinstance(document, dict) else None
    if not isinstance(form, str) or form not in FORMS:
        return text
    made = {**_document_now(document), "schema": FORMS[form]}
    return json.dumps(made, indent=1, ensure_ascii=False) + "\n"


def _document_now(value: Any) -> Any:
    if isinstance(value, list):
        return [_document_now(each) for each in value]
    if not isinstance(value, dict):
        return value
    return {
        _DOCUMENT_KEYS.get(key, key): inner
        if key in _NAMED
        else _LABELS.get(inner, inner)
        if key == "label" and isinstance(inner, str)
        else _STAGES.get(inner, inner)
        if key == "name" and isinstance(inner, str) and "goal" in value
        else _document_now(inner)
        for key, inner in value.items()
    }
