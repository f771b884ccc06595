"""Collects every fault of a job file and says where a person finds it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import replace
from decimal import Decimal
from pathlib import Path
from typing import Any, Final, get_args

from pydantic import ValidationError
from pydantic_core import ErrorDetails

from nesting.errors import Fault, JobError
from nesting.files.entries import did_you_mean
from nesting.files.order import BoltEntry, FabricEntry, TomlTable
from nesting.files.window_order import JobEntry

Loc = tuple[str | int, ...]

_ROWS: Final = {"on_hand": "length on hand", "flaws": "flaw"}
_MOST_HINTS: Final = 200
_MISSING: Final = object()


class Faults:
    """The faults found so far in one raw job, each with its location.

    Parameters
    ----------
    raw
        The job as parsed from TOML, the rows of its measurement list among its windows.
    elsewhere
        Tells of a location that stands in no job file, such as a row of that list, its place and value.
    """

    def __init__(
        self, raw: Mapping[str, Any], elsewhere: Callable[[Loc], tuple[str, str] | None] | None = None
    ) -> None:
        self._raw = raw
        self._elsewhere = elsewhere or (lambda loc: None)
        self._found: list[tuple[Loc, Fault]] = []

    def note(self, loc: Loc, fault: Fault) -> None:
        """Note a fault found elsewhere, which sorts as ``loc``."""
        self._found.append((loc, replace(fault, at=loc)))

    def add(self, loc: Loc, expected: str) -> None:
        """Note that what stands (or is missing) at ``loc`` should be ``expected``."""
        told = self._elsewhere(loc)
        if told is not None:
            self.note(loc, Fault(*told, expected))
            return
        written = as_written(self._raw, loc)
        value = look_up(self._raw, written)
        shown = "" if value is _MISSING else show(value)
        self._found.append((loc, Fault(self.place(written), shown, expected, loc)))

    def add_invalid(self, error: ValidationError) -> None:
        """Note all that pydantic refused."""
        for detail in error.errors(include_url=False):
            # Likenesses of unknown keys are looked for among the first only: nobody reads more of them.
            seldom = len(self._found) < _MOST_HINTS or detail["type"] != "extra_forbidden"
            self.add(tuple(detail["loc"]), _expected(detail) if seldom else "a known key")

    def knows(self, loc: Loc) -> bool:
        """Whether something at ``loc``, or a table around it, was refused already."""
        return any(loc[: len(found)] == found for found, _ in self._found)

    def within(self, loc: Loc) -> bool:
        """Whether anything at ``loc`` or inside it was refused already."""
        return any(found[: len(loc)] == loc for found, _ in self._found)

    def error(self, source: Path | None) -> JobError | None:
        """All faults in the order of the file, or None."""
        if not self._found:
            return None
        order = _FileOrder(self._raw)
        ordered = sorted(self._found, key=lambda found: order.rank(found[0]))
        return JobError(tuple(dict.fromkeys(fault for _, fault in ordered)), source)

    def place(self, loc: Loc) -> str:
        """Where it stands, as a person would look for it: ``fabric "face": bolt 2: usable``."""
        parts, keys = list[str](), list[str]()
        at = 0
        while at < len(loc):
            step, following = loc[at], loc[at + 1] if at + 1 < len(loc) else None
            if step == "fabric" and at == 0 and isinstance(following, str):
                parts.append(f'fabric "{following}"')
                at += 1
            elif isinstance(following, int):
                parts.append(self._row(loc[: at + 2]))
                at += 1
            else:
                keys.append(str(step))
            at += 1
        return ": ".join([*parts, *([".".join(keys)] if keys else [])]) or "the job"

    def _row(self, loc: Loc) -> str:
        noun, number = _ROWS.get(str(loc[-2]), str(loc[-2])), int(loc[-1]) + 1
        name = look_up(self._raw, (*loc, "name"))
        named = isinstance(name, str) and name.strip() and noun in ("window", "extra")
        return f'{noun} "{name}"' if named else f"{noun} {number}"


def look_up(raw: Any, loc: Loc) -> Any:
    """What stands at ``loc``, or a mark of its own for nothing."""
    for step in loc:
        try:
            raw = raw[step]
        except (KeyError, IndexError, TypeError):
            return _MISSING
    return raw


def as_written(raw: Any, loc: Loc) -> Loc:
    """The location as far as the file has it: a value that stands for a whole table has no keys in it."""
    for number in range(1, len(loc)):
        value = look_up(raw, loc[:number])
        if value is not _MISSING and not isinstance(value, Mapping | list):
            return loc[:number]
    return loc


def show(value: object) -> str:
    """A TOML value as it was written, cut short where it is long."""
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, Mapping):
        return "a table"
    if isinstance(value, list):
        return f"a list of {len(value)}"
    if isinstance(value, int) and abs(value) > 10**30:
        return "a number too large to use"
    text = f'"{value}"' if isinstance(value, str) else str(value)
    text = "".join(sign if sign.isprintable() else "?" for sign in text)
    return text if len(text) <= 60 else f"{text[:57]}..."


def prune(raw: Any, locs: Sequence[Loc]) -> Any:
    """A copy of ``raw`` without what stands at ``locs``; refused rows of a list become empty tables."""
    if () in locs:
        return {}
    heads: dict[str | int, list[Loc]] = {}
    for loc in locs:
        heads.setdefault(loc[0], []).append(loc[1:])
    steps = raw.items() if isinstance(raw, Mapping) else enumerate(raw)
    gone = {step for step, locs in heads.items() if () in locs or _single(look_up(raw, (step,)))}
    kept = {
        step: prune(value, [()] if step in gone else heads[step]) if step in heads else value
        for step, value in steps
        if isinstance(raw, list) or step not in gone
    }
    return kept if isinstance(raw, Mapping) else list(kept.values())


def _single(value: object) -> bool:
    """Whether it is one value, which goes as a whole."""
    return not isinstance(value, Mapping | list)


def tables(table: TomlTable, loc: Loc = ()) -> Iterator[tuple[Loc, TomlTable]]:
    """A table and all tables within it, each with its location."""
    yield loc, table
    for key in type(table).model_fields:
        value = getattr(table, key)
        if isinstance(value, TomlTable):
            yield from tables(value, (*loc, key))
        elif isinstance(value, dict):
            for name, item in value.items():
                yield from tables(item, (*loc, key, name))
        elif isinstance(value, list):
            for number, item in enumerate(value):
                yield from tables(item, (*loc, key, number))


class _FileOrder:
    """The order of a file; each of its tables is gone through once."""

    def __init__(self, raw: Any) -> None:
        self._raw = raw
        self._places: dict[int, dict[Any, int]] = {}

    def rank(self, loc: Loc) -> tuple[int, ...]:
        """Sorts as in the file; what is missing comes last in its table."""
        raw, rank = self._raw, list[int]()
        for step in loc:
            if isinstance(step, int):
                rank.append(step)
            else:
                keys = raw if isinstance(raw, Mapping) else {}
                places = self._places.get(id(keys))
                if places is None:
                    places = {key: number for number, key in enumerate(keys)}
                    if isinstance(raw, Mapping):
                        self._places[id(keys)] = places
                rank.append(places.get(step, len(places)))
            raw = look_up(raw, (step,))
        return tuple(rank)


def _expected(detail: ErrorDetails) -> str:
    loc = tuple(detail["loc"])
    if detail["type"] == "entry":
        return str(detail["ctx"]["expected"])
    if detail["type"] == "extra_forbidden":
        return _no_such_key(loc)
    if detail["type"] == "list_type":
        if loc[-1] == "flaws" or loc[-1] == "on_hand":
            return "a list of tables, such as [{ length = 2, ... }]"
        return f"a list of tables: write [[{'.'.join(str(step) for step in loc if isinstance(step, str))}]]"
    if detail["type"] == "dict_type":
        return "one table for each fabric: write [fabric.face]"
    return "a table, such as { ... } with its keys"


def _no_such_key(loc: Loc) -> str:
    key, table = str(loc[-1]), _table_at(loc[:-1])
    known = list(table.model_fields)
    hint = did_you_mean(key, known)
    if table is FabricEntry and key in BoltEntry.model_fields:
        hint = f"it belongs under [[fabric.{loc[1]}.bolt]]"
    return f"a known key; {hint}"


def _table_at(loc: Loc) -> type[TomlTable]:
    table: type[TomlTable] = JobEntry
    for step in loc:
        if isinstance(step, str) and step in table.model_fields:
            table = table_in(table.model_fields[step].annotation) or table
    return table


def table_in(annotation: Any) -> type[TomlTable] | None:
    """The table that a key of that annotation may hold, or None."""
    if isinstance(annotation, type) and issubclass(annotation, TomlTable):
        return annotation
    return next((found for part in get_args(annotation) if (found := table_in(part))), None)


def as_decimal(text: str) -> Decimal | str:
    """The exact value of a TOML number; the text itself where no number can hold it."""
    try:
        return Decimal(text)
    except ArithmeticError:
        return text
