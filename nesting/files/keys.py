"""The keys a job file knows, for whoever asks for them one by one: a form, a table of help."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from typing import Any, Final, Literal, get_args, get_origin

from pydantic.fields import FieldInfo

from nesting.files.entries import Count, Drop, Flag, KeyEntry, Number, OneOf, Price, Size, Text
from nesting.files.order import TomlTable
from nesting.files.window_order import JobEntry, Selvage

Kind = Literal[
    "text", "length", "number", "price", "drop", "count", "flag", "word", "table", "hem", "rows", "named"
]

_KINDS: Final[tuple[tuple[type[KeyEntry], Kind], ...]] = (
    (Size, "length"), (Number, "number"), (Price, "price"), (Drop, "drop"), (Count, "count"),
    (Flag, "flag"), (OneOf, "word"), (Text, "text"),
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Key:
    """One key of a job file.

    Attributes
    ----------
    name
        As it is written.
    kind
        What it takes. ``table``: keys of its own; ``hem``: the same, or the word "selvage"; ``rows``: a list
        of tables; ``named``: tables by name; ``word``: one of ``words``.
    description
        What it is, and its default.
    words
        What a ``word`` may be.
    needed
        Whether a job cannot do without it.
    keys
        Of its table or tables.
    """

    name: str
    kind: Kind
    description: str = ""
    words: tuple[str, ...] = ()
    needed: bool = False
    keys: tuple[Key, ...] = ()

    def key(self, name: str) -> Key | None:
        """The key of that name in its table, or None."""
        return next((key for key in self.keys if key.name == name), None)


@lru_cache(maxsize=1)
def job_keys() -> Key:
    """All keys of a job file, as the table of the whole job."""
    return Key("", "table", keys=tuple(_keys(JobEntry)))


def _keys(table: type[TomlTable]) -> Iterator[Key]:
    for name, field in table.model_fields.items():
        kind, words, inner = _kind(field)
        yield Key(
            name=name,
            kind=kind,
            description=field.description or "",
            words=words,
            needed=name in table.needed,
            keys=() if inner is None else tuple(_keys(inner)),
        )


def _kind(field: FieldInfo) -> tuple[Kind, tuple[str, ...], type[TomlTable] | None]:
    for mark in field.metadata:
        for entry, kind in _KINDS:
            if isinstance(mark, entry):
                return kind, mark.words if isinstance(mark, OneOf) else (), None
    if any(isinstance(mark, KeyEntry) for mark in field.metadata):
        # Several kinds of value in one entry: written as a text.
        return "text", (), None
    inner = _inner(field.annotation)
    origin = get_origin(field.annotation)
    if origin is list:
        return "rows", (), inner
    if origin is dict:
        return "named", (), inner
    return "hem" if any(isinstance(mark, Selvage) for mark in field.metadata) else "table", (), inner


def _inner(annotation: Any) -> type[TomlTable] | None:
    if isinstance(annotation, type) and issubclass(annotation, TomlTable):
        return annotation
    return next((found for part in get_args(annotation) if (found := _inner(part))), None)
