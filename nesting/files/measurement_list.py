"""A measurement list: the windows of a job as a spreadsheet saves them, one a row."""

from __future__ import annotations

import csv
import io
import itertools
import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Final

from nesting.errors import Fault
from nesting.files.columns import ListColumn, cells_of, column, dotted, heads_of, measurement_heads
from nesting.files.content import content_of
from nesting.files.faults import Loc
from nesting.files.window_order import WindowEntry
from nesting.plan.csv_rows import rows_csv
from nesting.units import Unit, unit_named

_MOST_BYTES: Final = 2 * 1024 * 1024
_SEPARATORS: Final = "\t;,"
_SAID_SEPARATOR: Final = re.compile(r"sep=([\t;,])\r?\n?", re.IGNORECASE)
_EMPTY: Final = "a measurement list with a row of column names; `nesting start --csv` writes one"
#: What spreadsheets make of a fraction such as 1/2 that they take for a date.
_DATE: Final = re.compile(
    r"\d{1,2}[-. ]([^\W\d_]{3,4})\.?|([^\W\d_]{3,4})\.?[-. ]\d{1,2}|\d{4}-\d\d-\d\d|\d\d/\d\d/\d{4}"
)


@dataclass(frozen=True, slots=True)
class MeasurementList:
    """Windows read from a list, as tables of a job file, and what was wrong with the list itself.

    Attributes
    ----------
    name
        The file as the job names it.
    windows
        One table for each row.
    rows
        The number of each window's row in the spreadsheet, the header being row 1.
    heads
        The columns: key to the name in the header.
    cells
        For each window, what stands where: key to the key of its column and the cell as written.
    faults
        What the list itself has wrong, each with where it belongs: nothing for the file and its header, else
        the number of the window (from 0) and the key.
    """

    name: str
    windows: tuple[dict[str, Any], ...] = ()
    rows: tuple[int, ...] = ()
    heads: Mapping[Loc, str] = field(default_factory=dict)
    cells: tuple[Mapping[Loc, tuple[Loc, str]], ...] = ()
    faults: tuple[tuple[Loc, Fault], ...] = ()

    def place(self, number: int, keys: Loc) -> tuple[str, str]:
        """File, row and column of a key of a window (counted from 0), and what stands there.

        A column that no window can do without and the list has not is looked for in its header.
        """
        cells = self.cells[number]
        beside = next(
            (column for at, (column, _) in cells.items() if _in_list(at) and at[:2] == keys[:2]), ()
        )
        column, cell = cells.get(keys, ((*beside[:2], *keys[2:]) if beside else keys, ""))
        head = self.heads.get(column, dotted(column))
        if dotted(keys) in WindowEntry.needed and column not in self.heads:
            return f'{self.name}: header: column "{head}"', ""
        name = self.windows[number].get("name")
        named = f' "{name}"' if isinstance(name, str) else ""
        where = f': column "{head}"' if keys else ""
        return f"{self.name}: row {self.rows[number]}{named}{where}", f'"{cell}"' if cell else ""


def read_list(name: str, job_file: Path | None) -> MeasurementList:
    """The windows of a measurement list.

    The columns are the keys of ``[[window]]`` (see `nesting.files.columns`); an empty cell says nothing, an
    empty row is passed over. Cells stand between commas, semicolons or tabs; a decimal comma needs
    semicolons, tabs or quotes.

    Parameters
    ----------
    name
        The file as the job names it, from the folder of the job file.
    job_file
        Where the job stands; None: no list can be found.
    """
    if job_file is None:
        return _none(name, "a job read from a file: a list is looked for beside it")
    try:
        data = content_of(job_file.parent / name, _MOST_BYTES)
        if len(data) > _MOST_BYTES:
            return _none(name, "a measurement list, which is a few kilobytes: this file is over 2 MiB")
        text = _text(data)
    except FileNotFoundError:
        return _none(name, "a file beside the job file: there is none; `nesting start --csv` writes one")
    except UnicodeError:
        return _none(name, "UTF-8 text: save the list as CSV with the character set UTF-8")
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        return _none(name, f"a file you may read ({reason})")
    return read_list_text(name, text)


def _none(name: str, expected: str) -> MeasurementList:
    return MeasurementList(name, faults=(((), Fault("windows", f'"{name}"', expected)),))


def _text(data: bytes) -> str:
    wide = data[:2] in (b"\xff\xfe", b"\xfe\xff")
    return data.decode("utf-16" if wide else "utf-8-sig")


def read_list_text(name: str, text: str) -> MeasurementList:
    """The windows of a list's text; see `read_list`."""
    text = text.removeprefix("\ufeff")
    said = _SAID_SEPARATOR.match(text)
    first = 2 if said else 1
    body = text[said.end() :] if said else text
    if not body.strip() or "\0" in body:
        return _none(name, _EMPTY)
    separator = said[1] if said else _separator(body)
    try:
        table = list(csv.reader(io.StringIO(body, newline=""), delimiter=separator, strict=True))
    except csv.Error as error:
        return _none(name, f"a list whose quotes are closed, each in its cell ({error})")
    if not any(cell.strip() for row in table for cell in row):
        return _none(name, _EMPTY)
    return _Reading(name, separator).of(table, first)


def _separator(text: str) -> str:
    """The sign between the column names: the one they use most."""
    head = text.lstrip().splitlines()[0]
    return max(_SEPARATORS, key=lambda sign: (head.count(sign), sign == ","))


@dataclass(slots=True)
class _Reading:
    """A list as it is read."""

    name: str
    separator: str
    faults: list[tuple[Loc, Fault]] = field(default_factory=list)

    def of(self, table: Sequence[Sequence[str]], first: int) -> MeasurementList:
        """The list of a table whose first row has that number in the spreadsheet."""
        numbered = [(at, [_plain(cell) for cell in row]) for at, row in enumerate(table, first)]
        filled = [(at, row) for at, row in numbered if any(row)]
        (at, heads), below = filled[0], filled[1:]
        columns = self._columns(at, heads)
        found = [self._window(number, at, row, columns) for number, (at, row) in enumerate(below)]
        if not below:
            self._fault((), at, "", "", "at least one row below it, a window each")
        return MeasurementList(
            self.name,
            tuple(window for window, _ in found),
            tuple(at for at, _ in below),
            {made.keys: made.head for made in columns if isinstance(made, ListColumn)},
            tuple(cells for _, cells in found),
            tuple(self.faults),
        )

    def _fault(self, loc: Loc, row: int, head: str, cell: str, expected: str) -> None:
        place = f'{self.name}: row {row}: column "{head}"' if head else f"{self.name}: row {row}"
        self.faults.append((loc, Fault(place, f'"{cell[:60]}"' if cell else "", expected)))

    def _columns(self, at: int, heads: Sequence[str]) -> list[ListColumn | str | None]:
        """What each column holds; None where it is not to be read, its letter where it has no name."""
        found = list[ListColumn | str | None]()
        for number, head in enumerate(heads, 1):
            made = column(head) if head and not head.startswith("#") else None
            if isinstance(made, str):
                self._fault((), at, head, "", made)
                made = None
            elif made is not None and any(isinstance(c, ListColumn) and c.keys == made.keys for c in found):
                self._fault((), at, head, "", "each column once: remove or rename the second one")
                made = None
            found.append(made if head else _letter(number))
        return found

    def _window(
        self, number: int, at: int, row: Sequence[str], columns: Sequence[ListColumn | str | None]
    ) -> tuple[dict[str, Any], dict[Loc, tuple[Loc, str]]]:
        """One row as a table of a job file, and what stands where in it."""
        self._belongs(number, at, row, columns)
        filled = [
            (c, cell) for c, cell in zip(columns, row, strict=False) if isinstance(c, ListColumn) and cell
        ]
        window, cells = dict[str, Any](), dict[Loc, tuple[Loc, str]]()
        for keys, (made, cell) in zip(_counted(made.keys for made, _ in filled), filled, strict=True):
            cells[keys] = (made.keys, cell)
            wrong = ""
            if made.measured and _is_date(cell):
                wrong = "a measure: a spreadsheet took this one for a date; format its column as text"
            elif not _put(window, keys, made.value(cell)):
                wrong = "nothing here, or nothing in the column that contradicts it"
            if wrong:
                self._fault((number, *keys), at, made.head, cell, wrong)
        return window, cells

    def _belongs(
        self, number: int, at: int, row: Sequence[str], columns: Sequence[ListColumn | str | None]
    ) -> None:
        """Refuse cells without a column, which a decimal comma makes, and those under an empty name."""
        if any(row[len(columns) :]):
            remedy = "; a decimal comma needs quotes, or semicolons between the cells"
            wanted = f"at most {len(columns)} cells, one for each column"
            self._fault((number,), at, "", "", wanted + (remedy if self.separator == "," else ""))
            return
        for made, cell in zip(columns, row, strict=False):
            if isinstance(made, str) and cell:
                self._fault((), at, made, cell, "a name in the first row for this column, or nothing in it")


def _plain(cell: str) -> str:
    """The cell without blanks around it, and without the apostrophe that keeps text from being a formula."""
    text = cell.strip()
    return text[1:] if text[:1] == "'" and text.lstrip("'")[:1] in ("=", "+", "-", "@") else text


def _is_date(cell: str) -> bool:
    found = _DATE.fullmatch(cell)
    return found is not None and all(unit_named(word) is None for word in found.groups() if word)


def _letter(number: int) -> str:
    """The letters by which a spreadsheet calls its columns."""
    letters = ""
    while number:
        number, at = divmod(number - 1, 26)
        letters = chr(ord("A") + at) + letters
    return letters


def _counted(places: Iterable[Loc]) -> Iterator[Loc]:
    """The places with the filled tables of each list counted from 0, whatever their columns are numbered."""
    places = list(places)
    used = {keys[0]: sorted({k[1] for k in places if k[0] == keys[0]}) for keys in places if _in_list(keys)}
    for keys in places:
        yield (keys[0], used[keys[0]].index(keys[1]), *keys[2:]) if _in_list(keys) else keys


def _in_list(keys: Loc) -> bool:
    return len(keys) > 1 and isinstance(keys[1], int)


def _put(window: dict[str, Any], keys: Loc, value: Any) -> bool:
    """Whether a value found its place in the table; not where the way there is taken by another."""
    table: Any = window
    for key, following in itertools.pairwise(keys):
        if isinstance(key, int):
            table += [{} for _ in range(len(table), key + 1)]
            table = table[key]
        else:
            table = table.setdefault(key, [] if isinstance(following, int) else {})
        if not isinstance(table, list | dict):
            return False
    if keys[-1] in table:
        return False
    table[keys[-1]] = value
    return True


def empty_list(unit: Unit) -> str:
    """A measurement list of that unit with its columns and no window yet."""
    return rows_csv(measurement_heads(unit), ())


def list_text(windows: Sequence[Mapping[str, Any]]) -> str:
    """Windows, each as the table of a job file, as a measurement list that reads back to the same."""
    heads = heads_of(windows)
    rows = (
        {dotted(keys): value.strip() if isinstance(value, str) else value for keys, value in cells_of(window)}
        for window in windows
    )
    return rows_csv(heads, ([row.get(head, "") for head in heads] for row in rows))
