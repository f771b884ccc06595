"""Sewing orders as tables that JSON can hold, and back: lengths in ticks, fractions as text."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import fields
from fractions import Fraction
from functools import cache
from typing import Any, Final

from nesting.sewing import OPERATIONS
from nesting.sewing.operation import Operation, Sewing, SewingStep
from nesting.sewing.work import SewingError

#: A whole number of ticks or a fraction of one, no longer than any length of a job.
_NUMBER: Final = re.compile(r"-?[0-9]{1,15}(/[0-9]{1,15})?")


def sewing_table(sewing: Sewing) -> dict[str, Any]:
    """The sewing order of a window as a table."""
    return {
        "window": sewing.window,
        "steps": [
            {"step": step.key, "operations": [operation_table(one) for one in step.operations]}
            for step in sewing.steps
        ],
    }


def operation_table(operation: Operation) -> dict[str, Any]:
    """One operation as a table: ``{"do": "trim", "on": "left", "edge": "top", "off": "4064"}``."""
    table: dict[str, Any] = {"do": operation.word}
    for name in _names(type(operation)):
        table[name] = _written(getattr(operation, name))
    return table


@cache
def _names(kind: type) -> tuple[str, ...]:
    return tuple(each.name for each in fields(kind))


def _written(value: Any) -> Any:
    if type(value) is Fraction:
        return str(value.numerator) if value.denominator == 1 else str(value)
    if type(value) is tuple:
        return [_written(one) for one in value]
    return value


def read_sewing(table: Mapping[str, Any], place: str) -> Sewing:
    """A sewing order as a plan document holds it.

    Parameters
    ----------
    table, place
        The table, and where it stands, for messages.

    Raises
    ------
    SewingError
        It has not the form of one; the message names the place.
    """
    window, steps = table.get("window"), table.get("steps")
    if not isinstance(window, str) or not isinstance(steps, list):
        raise SewingError(f"{place}: expected a window and its steps")
    return Sewing(window, tuple(_step(one, f"{place}.steps[{at}]") for at, one in enumerate(steps)))


def _step(table: object, place: str) -> SewingStep:
    if not isinstance(table, Mapping):
        raise SewingError(f"{place}: expected a step with its operations")
    key, operations = table.get("step"), table.get("operations")
    if not isinstance(key, str) or not isinstance(operations, list):
        raise SewingError(f"{place}: expected a step with its operations")
    return SewingStep(
        key,
        tuple(read_operation(one, f"{place}.operations[{at}]") for at, one in enumerate(operations)),
    )


def read_operation(table: object, place: str) -> Operation:
    """One operation of a plan document.

    Raises
    ------
    SewingError
        It is none that is known, or a value is not of its kind.
    """
    word = table.get("do") if isinstance(table, Mapping) else None
    if not isinstance(table, Mapping) or not isinstance(word, str) or word not in OPERATIONS:
        raise SewingError(f"{place}: {word!r}: expected one of {', '.join(OPERATIONS)}")
    kind: Any = OPERATIONS[word]
    names = {each.name: each for each in fields(kind)}
    unknown = set(table) - set(names) - {"do"}
    if unknown:
        raise SewingError(f"{place}: {sorted(map(str, unknown))[0]}: {word} has no such entry")
    values = {}
    for name, each in names.items():
        if name in table:
            values[name] = _read(table[name], str(each.type), f"{place}.{name}")
    try:
        made: Operation = kind(**values)
    except TypeError:
        missing = sorted(set(names) - set(values))
        raise SewingError(f"{place}: {word} without {', '.join(missing)}") from None
    return made


def _read(value: object, kind: str, place: str) -> Any:
    """A value of the kind that the field of an operation says."""
    if kind == "Fraction":
        return _fraction(value, place)
    if kind.startswith("tuple"):
        if not isinstance(value, list):
            raise SewingError(f"{place}: {value!r}: expected a list")
        inner = kind.removeprefix("tuple[").removesuffix("]").removesuffix(", ...")
        if kind.startswith("tuple[tuple"):
            pairs = tuple(
                _read(one, "tuple[Fraction, ...]", f"{place}[{at}]") for at, one in enumerate(value)
            )
            if any(len(pair) != 2 for pair in pairs):
                raise SewingError(f"{place}: expected pairs")
            return pairs
        return tuple(_read(one, inner, f"{place}[{at}]") for at, one in enumerate(value))
    return _word(value, kind, place)


def _fraction(value: object, place: str) -> Fraction:
    if isinstance(value, str) and _NUMBER.fullmatch(value) and not re.search("/0+$", value):
        return Fraction(value)
    raise SewingError(f"{place}: {value!r}: expected ticks as text, such as '635' or '1270/3'")


#: What a field may hold whose kind is a choice of words.
_WORDS: Final = {
    "Side": ("left", "right", "top", "bottom"),
    "Held": ("pressed", "pinned", "basted", "sewn"),
    "Face": ("front", "back"),
}


def _word(value: object, kind: str, place: str) -> str:
    if not isinstance(value, str):
        raise SewingError(f"{place}: {value!r}: expected a word")
    accepted = _WORDS.get(kind) or tuple(re.findall(r"'([^']*)'|\"([^\"]*)\"", kind))
    choices = [one if isinstance(one, str) else one[0] or one[1] for one in accepted]
    if choices and value not in choices:
        raise SewingError(f"{place}: {value!r}: expected {' or '.join(choices)}")
    return value
