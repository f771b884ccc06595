"""A plan document as it is read back: its form checked, its lengths in ticks, nothing believed.

The form is the contract ``nesting-plan/2``. Only what an independent check needs is read; other
keys are left alone. Whether the plan is right is the business of `nesting.check`.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import Any, Final, cast

from nesting.errors import Fault, LengthError, NestingError, ProblemError
from nesting.packing.problem import Flaw, Match, Repeat, Strip
from nesting.packing.result import Status
from nesting.units import Unit, round_nearest, to_ticks, unit_ticks

SCHEMA: Final = "nesting-plan/2"
#: The form of earlier versions, whose keys had other names.
_EARLIER: Final = "nesting-plan/1"
#: The layers of a panel, which a bolt that is railroaded holds turned.
LAYERS: Final = ("panel", "lining", "interlining")
#: Copies of a piece in a document: more than any job that is planned comes to.
MOST_COPIES: Final = 10_000_000


@dataclass(frozen=True, slots=True)
class PieceEntry:
    """A piece of the document, upright, sizes in ticks; ``joined`` with others to a panel's layer."""

    id: str
    fabric: str
    width: int
    length: int
    copies: int
    turnable: bool
    match: Match | None
    nap: str
    optional: bool
    arrow_group: str | None
    sideways: bool = False
    hem_edge: str | None = None
    joined: bool = False


@dataclass(frozen=True, slots=True)
class LaidEntry:
    """One copy of a piece as the document lays it, size as laid."""

    piece: PieceEntry
    copy: int
    x: int
    y: int
    width: int
    length: int
    turn: int
    arrow: str

    @property
    def name(self) -> str:
        """The copy, for messages."""
        return f'"{self.piece.id}" copy {self.copy}'


@dataclass(frozen=True, slots=True)
class BuyEntry:
    """What the document says to buy; ``price`` is for one ``unit``, ``allowances`` their sum or None."""

    quantity: int
    unit: str
    allowances: int | None
    step: int | None
    price: Fraction | None
    cost: Fraction | None


@dataclass(frozen=True, slots=True)
class LayoutEntry:
    """One layout of the document.

    ``place`` is where it stands in it; ``strangers`` are ids it lays that are no piece of its fabric;
    ``sideways`` says that its print may be turned.
    """

    place: str
    fabric: str
    bolt_width: int
    strip: Strip
    on_hand: str | None
    lot: str | None
    length: int | None
    lower_bound: int | None
    status: Status
    certificate: Mapping[str, Any] | None
    squaring: int
    buy: BuyEntry | None
    entries: tuple[LaidEntry, ...]
    strangers: tuple[str, ...]
    sideways: bool = False


@dataclass(frozen=True, slots=True)
class PlanDocument:
    """A whole document; ``left_out`` counts, by piece, the copies it says did not fit."""

    units: Unit
    pieces: tuple[PieceEntry, ...]
    layouts: tuple[LayoutEntry, ...]
    left_out: tuple[tuple[str, int], ...]


def read_plan_document(document: Mapping[str, Any]) -> PlanDocument:
    """The document's pieces and layouts, in ticks (each length to the nearest).

    Parameters
    ----------
    document
        The plan as parsed from JSON.

    Raises
    ------
    NestingError
        A key is missing or of the wrong kind, two pieces share an id, or the schema is another one;
        the message names the place and what would be accepted.
    """
    if not isinstance(document, Mapping):
        raise _fault("the document", document, "a table with the keys of a plan")
    schema = _DocumentTable(document, "", "in").text("schema")
    if schema != SCHEMA:
        rewrites = "; `nesting check OLD --convert NEW` rewrites the file" if schema == _EARLIER else ""
        raise _fault("schema", schema, f'"{SCHEMA}"{rewrites}')
    units = cast(Unit, _DocumentTable(document, "", "in").one_of("units", ("in", "cm", "mm")))
    top = _DocumentTable(document, "", units)
    pieces = tuple(_piece(entry) for entry in top.tables("pieces"))
    by_id: dict[str, PieceEntry] = {}
    for at, piece in enumerate(pieces):
        if by_id.setdefault(piece.id, piece) is not piece:
            raise _fault(f"pieces[{at}].id", piece.id, "an id that no other piece has")
    return PlanDocument(
        units,
        pieces,
        tuple(_layout(entry, by_id) for entry in top.tables("layouts")),
        tuple((entry.text("piece"), entry.copies()) for entry in top.tables("left_out", ())),
    )


def table_of(document: Mapping[str, Any], key: str, at: int, units: Unit) -> _DocumentTable:
    """A table of a list of the document, which names its place in every fault."""
    return _DocumentTable(document, "", units).table_at(key, at)


def _piece(entry: _DocumentTable) -> PieceEntry:
    match = entry.table("match")
    return PieceEntry(
        id=entry.text("id"),
        fabric=entry.text("fabric"),
        width=entry.size("width"),
        length=entry.size("length"),
        copies=entry.copies(least=1),
        turnable=entry.flag("turnable"),
        match=None if match is None else _match(match),
        nap=entry.one_of("nap", ("one-way", "two-way", "none")),
        optional=entry.flag("optional"),
        arrow_group=entry.text_or_none("arrow_group", None),
        sideways=entry.flag("sideways", False),
        hem_edge=entry.text_or_none("hem_edge", None),
        joined=bool(entry.value("joined_to", ())) and entry.text_or_none("role", None) in LAYERS,
    )


def _match(entry: _DocumentTable) -> Match:
    return Match(entry.text("level"), entry.text_or_none("seam"), entry.length_of("x"), entry.length_of("y"))


def _layout(entry: _DocumentTable, by_id: Mapping[str, PieceEntry]) -> LayoutEntry:
    buy, fabric = entry.table("buy"), entry.text("fabric")
    ours = {id: piece for id, piece in by_id.items() if piece.fabric == fabric}
    placed = [(item, item.text("piece")) for item in entry.tables("placements")]
    return LayoutEntry(
        place=entry.place,
        fabric=fabric,
        bolt_width=entry.size("bolt_width"),
        strip=_strip(entry),
        on_hand=entry.text_or_none("on_hand"),
        lot=entry.text_or_none("lot", None),
        length=entry.length_or_none("length"),
        lower_bound=entry.length_or_none("lower_bound"),
        status=Status(entry.one_of("status", tuple(Status))),
        certificate=entry.anything("bound_certificate"),
        squaring=entry.length_of("squaring"),
        buy=None if buy is None else buy_entry(buy),
        entries=tuple(_entry(item, ours[id]) for item, id in placed if id in ours),
        strangers=tuple(id for _, id in placed if id not in ours),
        sideways=(repeat := entry.table("repeat")) is not None and repeat.flag("sideways", False),
    )


def _strip(entry: _DocumentTable) -> Strip:
    repeat = entry.table("repeat")
    there = entry.length_or_none("on_hand_length", None)
    if there is not None:
        there -= entry.length_or_none("start_reserve", None) or 0
    try:
        return Strip(
            entry.size("usable_width"),
            there,
            None if repeat is None else _repeat(repeat),
            tuple(
                Flaw(item.length_of("x"), item.length_of("y"), item.size("width"), item.size("length"))
                for item in entry.tables("flaws", ())
            ),
            start=entry.length_or_none("start", None),
        )
    except ProblemError as error:
        raise NestingError(f"{entry.place}: {error}") from error


def _repeat(entry: _DocumentTable) -> Repeat:
    length = entry.size("length")
    # A third cannot be written as a decimal; the step it stands for is a whole number of ticks.
    step = round_nearest(entry.number("drop") * length)
    return Repeat(length, entry.length_or_none("width"), Fraction(step, length))


def buy_entry(entry: _DocumentTable) -> BuyEntry:
    """What a table says to buy."""
    unit = entry.one_of("unit", ("yd", "m"))
    listed = entry.value("allowances", None)
    return BuyEntry(
        quantity=round_nearest(entry.number("quantity") * unit_ticks(unit)),
        unit=unit,
        allowances=None
        if listed is None
        else sum(item.length_of("length") for item in entry.tables("allowances")),
        step=entry.length_or_none("step", None),
        price=entry.number_or_none("price", None),
        cost=entry.number_or_none("cost", None),
    )


def _entry(entry: _DocumentTable, piece: PieceEntry) -> LaidEntry:
    turn = entry.whole("turn")
    if turn not in (0, 90):
        raise _fault(f"{entry.place}.turn", turn, "0 or 90")
    return LaidEntry(
        piece=piece,
        copy=entry.whole("copy"),
        x=entry.length_of("x"),
        y=entry.length_of("y"),
        width=entry.size("width"),
        length=entry.size("length"),
        turn=turn,
        arrow=entry.one_of("arrow", ("up", "down", "left", "right")),
    )


_REQUIRED: Final = object()


class _DocumentTable:
    """A table of the document that knows where it stands, so that every fault names its place."""

    def __init__(self, values: Mapping[str, Any], place: str, units: Unit) -> None:
        self._values, self.place, self._units = values, place, units

    def _at(self, key: str) -> str:
        return f"{self.place}.{key}" if self.place else key

    def value(self, key: str, default: object = _REQUIRED) -> Any:
        if key in self._values:
            return self._values[key]
        if default is _REQUIRED:
            raise NestingError(f'{self._at(key)} is missing: expected the key "{key}"')
        return default

    def anything(self, key: str) -> Mapping[str, Any] | None:
        """A table of any form, or None where there is none."""
        value = self.value(key, None)
        if value is None or isinstance(value, Mapping):
            return value
        raise _fault(self._at(key), value, "a table or null")

    def text(self, key: str) -> str:
        value = self.value(key)
        if not isinstance(value, str):
            raise _fault(self._at(key), value, "a text")
        return value

    def text_or_none(self, key: str, default: object = _REQUIRED) -> str | None:
        return None if self.value(key, default) is None else self.text(key)

    def one_of(self, key: str, accepted: tuple[str, ...]) -> str:
        value = self.text(key)
        if value not in accepted:
            raise _fault(self._at(key), value, " or ".join(f'"{word}"' for word in accepted))
        return value

    def flag(self, key: str, *default: bool) -> bool:
        value = self.value(key, *default)
        if not isinstance(value, bool):
            raise _fault(self._at(key), value, "true or false")
        return value

    def whole(self, key: str, least: int = 0) -> int:
        value = self.value(key)
        if not isinstance(value, int) or isinstance(value, bool) or value < least:
            raise _fault(self._at(key), value, f"a whole number, {least} or more")
        return value

    def copies(self, least: int = 0) -> int:
        """How many copies; more than any bolt holds are not even counted."""
        value = self.whole("copies", least)
        if value > MOST_COPIES:
            raise _fault(self._at("copies"), value, f"a whole number of copies up to {MOST_COPIES}")
        return value

    def number(self, key: str) -> Fraction:
        value = self.value(key)
        exact = Decimal(str(value)) if _is_number(value) else Decimal("NaN")
        if not exact.is_finite():
            raise _fault(self._at(key), value, "a number")
        return Fraction(exact)

    def number_or_none(self, key: str, default: object = _REQUIRED) -> Fraction | None:
        return None if self.value(key, default) is None else self.number(key)

    def length_of(self, key: str) -> int:
        value = self.value(key)
        if type(value) is not float and not _is_number(value):
            raise _fault(self._at(key), value, f"a number of {self._units}")
        try:
            return to_ticks(value, self._units)
        except LengthError as error:
            raise NestingError(f"{self._at(key)}: {error}") from error

    def length_or_none(self, key: str, default: object = _REQUIRED) -> int | None:
        return None if self.value(key, default) is None else self.length_of(key)

    def size(self, key: str) -> int:
        ticks = self.length_of(key)
        if ticks <= 0:
            raise _fault(self._at(key), self.value(key), "a length above 0")
        return ticks

    def table(self, key: str) -> _DocumentTable | None:
        value = self.value(key)
        return None if value is None else self._table(value, self._at(key))

    def table_or_none(self, key: str) -> _DocumentTable | None:
        """A table, or None where there is none or the key is missing."""
        value = self.value(key, None)
        return None if value is None else self._table(value, self._at(key))

    def like(self, values: Mapping[str, Any]) -> _DocumentTable:
        """Other values in the same place."""
        return _DocumentTable(values, self.place, self._units)

    def tables(self, key: str, default: object = _REQUIRED) -> Iterator[_DocumentTable]:
        value = self.value(key, default)
        if not isinstance(value, list | tuple):
            raise _fault(self._at(key), value, "a list")
        place = self._at(key)
        for at, item in enumerate(value):
            yield self._table(item, f"{place}[{at}]")

    def table_at(self, key: str, at: int) -> _DocumentTable:
        """One table of a list, by its number."""
        value = self.value(key)
        if not isinstance(value, list | tuple):
            raise _fault(self._at(key), value, "a list")
        return self._table(value[at], f"{self._at(key)}[{at}]")

    def _table(self, value: object, place: str) -> _DocumentTable:
        # A plan is full of them, and to ask what counts as a mapping takes many times as long.
        if type(value) is not dict and not isinstance(value, Mapping):
            raise _fault(place, value, "a table")
        return _DocumentTable(value, place, self._units)


TableReader = _DocumentTable
"""For those who read further keys of a document."""


def _is_number(value: object) -> bool:
    kind = type(value)
    return kind is float or kind is int or (isinstance(value, int | float | Decimal) and kind is not bool)


def _fault(place: str, value: object, expected: str) -> NestingError:
    shown = repr(value)
    return NestingError(str(Fault(place, shown if len(shown) <= 60 else f"{shown[:57]}...", expected)))
