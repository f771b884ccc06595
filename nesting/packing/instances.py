"""Strip-packing instances as files: one open strip of a width, and sizes with their copies.

Three forms, told apart by the name and the columns:

* ``.json``: ``{"strip_width": 20, "items": [[width, length, copies], ...]}``. Where the pattern counts,
  ``repeat`` is its length, and ``phased_items`` (``[width, length, phase, copies]``) stand for ``items``:
  each copy starts at its phase, the pattern beginning at the end of the strip. Other keys are left alone.
* any other name: the plain text in which published sets come. The number of items, the width of the strip,
  then a line for each item: ``id width length [copies]``, or without the id ``width length [copies]``. Of
  three columns the first are ids where they count the lines, from 0 or 1.

References
----------
Where sets are published, from memory: Hopper, Turton, European J. Operational Research 128 (2001) 34-57;
Iori, de Lima, Martello, Monaci, Optimization Letters 16 (2022) 471-480 (many sets, with ids).
"""

from __future__ import annotations

import json
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from nesting.errors import OutputError, ProblemError

_SIZE = "expected a whole number above 0, such as 12; where a set has decimals, multiply all by ten"

#: No number that is accepted has as many digits.
_MOST_DIGITS = 100


@dataclass(frozen=True, slots=True)
class InstanceItem:
    """A size, across and along, and its copies; ``phase``: where each starts in the pattern, if it must."""

    width: int
    length: int
    copies: int = 1
    phase: int | None = None
    name: str | None = None

    @property
    def title(self) -> str:
        """Its name, or what tells it from others."""
        words = f"{self.width} x {self.length}"
        if self.name is not None:
            return self.name
        return words if self.phase is None else f"{words} at {self.phase}"


@dataclass(frozen=True, slots=True)
class Instance:
    """What a file holds: the strip's width, the length of its pattern, which may be none, and the items."""

    width: int
    items: tuple[InstanceItem, ...]
    repeat: int | None = None


def read_instance(path: Path) -> Instance:
    """What a file holds, in the form its name and columns tell.

    Raises
    ------
    ProblemError
        The file cannot be read, or holds something else; with the place, the value and the remedy.
    """
    try:
        text = path.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise ProblemError(
            f"{path}: cannot be read ({error.strerror}): give a file of one instance"
        ) from error
    except UnicodeDecodeError as error:
        raise ProblemError(f"{path}: byte {error.start} is no text: save the file as UTF-8") from error
    return _of_json(path, text) if path.suffix.lower() == ".json" else _of_lines(path, text)


def write_instance(instance: Instance, path: Path, *, ids: bool = True) -> None:
    """Write a file in the form that its name tells; text with ids, which are the names, or without.

    Raises
    ------
    ProblemError
        The form cannot hold this instance, so that it would be read back as another.
    OutputError
        The file cannot be written.
    """
    text = _as_json(instance) if path.suffix.lower() == ".json" else _as_lines(path, instance, ids)
    try:
        path.write_text(text, encoding="utf-8")
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror})") from error
    except UnicodeEncodeError as error:
        raise ProblemError(f"{path}: a name has what is no letter ({error.reason}): rename it") from error


def _of_json(path: Path, text: str) -> Instance:
    try:
        form = json.loads(text)
    except json.JSONDecodeError as error:
        raise ProblemError(f"{path}, line {error.lineno}: {error.msg}: expected JSON") from error
    except (RecursionError, ValueError) as error:
        raise ProblemError(f"{path}: it nests too deep, or has a number too long: expected JSON") from error
    if not isinstance(form, dict):
        raise ProblemError(f'{path}: {_short(form)}: expected an object with "strip_width" and "items"')
    repeat, key = form.get("repeat"), "items"
    if repeat is not None:
        _whole(f"{path}: repeat", repeat, 1)
        key = "phased_items"
    width = _whole(f"{path}: strip_width", form.get("strip_width"), 1)
    listed = form.get(key)
    if not isinstance(listed, list):
        raise ProblemError(f"{path}: {key} = {_short(listed)}: expected a list of [{_columns(repeat)}]")
    return Instance(width, tuple(_items(f"{path}: {key}", listed, repeat)), repeat)


def _items(place: str, listed: list[Any], repeat: int | None) -> Iterator[InstanceItem]:
    for number, row in enumerate(listed):
        here, wanted = f"{place}[{number}]", _columns(repeat)
        if not isinstance(row, list) or len(row) != len(wanted.split(", ")):
            raise ProblemError(f"{here} = {_short(row)}: expected [{wanted}]")
        for at, name in enumerate(wanted.split(", ")):
            _whole(f"{here}, {name}", row[at], None if name == "phase" else 1)
        yield InstanceItem(row[0], row[1], row[-1], None if repeat is None else row[2])


def _columns(repeat: int | None) -> str:
    return "width, length, copies" if repeat is None else "width, length, phase, copies"


def _whole(place: str, value: object, least: int | None) -> int:
    if type(value) is not int or (least is not None and value < least):
        wanted = _SIZE if least is not None else "expected a whole number"
        raise ProblemError(f"{place} = {_short(value)}: {wanted}")
    return value


def _short(value: object) -> str:
    words = "nothing" if value is None else json.dumps(value, ensure_ascii=False)
    return words if len(words) <= 60 else f"{words[:57]}..."


def _of_lines(path: Path, text: str) -> Instance:
    lines = [(number, line.split()) for number, line in enumerate(text.splitlines(), 1) if line.strip()]
    head = list[tuple[int, str]]()
    while len(head) < 2 and lines:
        number, words = lines.pop(0)
        head += [(number, word) for word in words]
    if len(head) != 2:
        said = " ".join(word for _, word in head)
        raise ProblemError(
            f'{path}: begins with "{said}": expected the number of items, then the width of the strip'
        )
    count, width = (
        _number(path, number, name, word)
        for (number, word), name in zip(head, ("number of items", "strip width"), strict=True)
    )
    if len(lines) != count:
        raise ProblemError(
            f"{path}, line {head[0][0]}: number of items = {count}, but {len(lines)} lines follow: "
            "give each item a line of its own"
        )
    named = _named(path, lines)
    return Instance(width, tuple(_item(path, number, words, named) for number, words in lines))


def _named(path: Path, lines: Sequence[tuple[int, list[str]]]) -> bool:
    """Whether the first column names the items."""
    columns = len(lines[0][1]) if lines else 2
    for number, words in lines:
        if len(words) != columns or not 2 <= columns <= 4:
            raise ProblemError(
                f'{path}, line {number}: "{" ".join(words)}": expected 2 to 4 columns, as many in each line: '
                "[id] width length [copies]"
            )
    firsts = [words[0] for _, words in lines]
    return columns == 4 or (columns == 3 and _counts(firsts))


def _counts(firsts: Sequence[str]) -> bool:
    """Whether a column could be read as ids: it counts the lines, or holds words."""
    counted = any(firsts == [str(at + begin) for at in range(len(firsts))] for begin in (0, 1))
    return counted or not all(first.lstrip("-").replace(".", "", 1).isdigit() for first in firsts)


def _item(path: Path, number: int, words: list[str], named: bool) -> InstanceItem:
    names = ("width", "length", "copies")
    sizes = [_number(path, number, *pair) for pair in zip(names, words[1:] if named else words, strict=False)]
    width, length, copies = (*sizes, 1)[:3]
    return InstanceItem(width, length, copies, name=words[0] if named else None)


def _number(path: Path, number: int, name: str, word: str) -> int:
    # Other digits than these, and underscores, Python would take as well.
    if not (word.isascii() and word.isdigit() and len(word) <= _MOST_DIGITS and int(word) > 0):
        raise ProblemError(f"{path}, line {number}: {name} = {_short(word)}: {_SIZE}")
    return int(word)


def _as_json(instance: Instance) -> str:
    form: dict[str, object] = {"strip_width": instance.width}
    if instance.repeat is None:
        form["items"] = [[item.width, item.length, item.copies] for item in instance.items]
    else:
        form["repeat"] = instance.repeat
        form["phased_items"] = [[item.width, item.length, item.phase, item.copies] for item in instance.items]
    return json.dumps(form) + "\n"


def _as_lines(path: Path, instance: Instance, ids: bool) -> str:
    if instance.repeat is not None:
        raise ProblemError(f"{path}: text holds no repeat ({instance.repeat}): write a .json file")
    if not instance.items:
        raise ProblemError(f"{path}: text holds one item at least: write a .json file")
    rows = list[tuple[object, ...]]()
    for number, item in enumerate(instance.items, 1):
        title = "_".join(item.title.split()) or str(number)
        rows.append((*([title] if ids else []), item.width, item.length, item.copies))
    if not ids and _counts([str(row[0]) for row in rows]):
        raise ProblemError(f"{path}: widths {rows[0][0]}, ... would be read as ids: write them with ids")
    lines = [" ".join(map(str, row)) for row in rows]
    return "\n".join([str(len(rows)), str(instance.width), *lines]) + "\n"
