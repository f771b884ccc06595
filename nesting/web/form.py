"""The job form as data for its template: tables, groups and fields, each with what is told beside it."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace
from typing import Any, Final, cast

from nesting.files import Key, job_keys
from nesting.headings import USUAL
from nesting.units import Unit
from nesting.web.arrangement import (
    DIMENSIONS,
    GROUPS,
    OPEN,
    SHAPING,
    WORDS,
    Group,
    hangs_of,
    label_of,
    of_use,
)
from nesting.web.draft import KIND, PLAIN, STRAIGHT, Draft, Loc, kind_of, look_up, name_of, shown
from nesting.web.fields import Box, Field, FieldGroup, Form, FormFrame, Rows
from nesting.web.form_faults import help_of, still_to_type, told_faults
from nesting.web.measure_fields import understood
from nesting.web.reasons import why
from nesting.web.usual import usual_of_bolt, usual_of_job, usual_of_window

#: Text keys that name a fabric of the job.
_FABRICS: Final = ("fabric", "lining", "interlining")
_ROW_NOUNS: Final = {"on_hand": "length on hand", "flaws": "flaw", "tieback": "tie-back"}


def form_of(
    draft: Draft,
    faults: Iterable[Mapping[str, Any]] = (),
    asked: Mapping[str, tuple[str, ...]] | None = None,
    *,
    pressed: bool = False,
) -> Form:
    """The form of a draft with its faults, and what is asked, beside the fields they are about.

    ``pressed``: a plan was asked for, so that what is still to be typed is a fault as well.
    """
    return _Maker(draft, faults, asked or {}, pressed).form()


class _Maker:
    def __init__(
        self,
        draft: Draft,
        faults: Iterable[Mapping[str, Any]],
        asked: Mapping[str, tuple[str, ...]],
        pressed: bool,
    ) -> None:
        self._asked, faults = asked, tuple(faults)
        self._table, self._aside = draft.table, draft.aside
        self._unit = cast(Unit, draft.unit)
        self._keys = job_keys()
        self._faults, self._summary = told_faults(faults, pressed=pressed)
        self._missing = () if pressed else still_to_type(faults)
        self._fabrics = _named(self._table.get("fabric"))
        self._windows = [
            str(row.get("name") or f"Window {number}")
            for number, row in enumerate(_rows(self._table.get("window")), 1)
        ]

    def form(self) -> Form:
        """Everything."""
        return Form(
            job=self._block("job", self._keys, (), self._table, "The job", usual_of_job(self._unit)),
            fabrics=tuple(self._fabric(label, fabric) for label, fabric in self._fabrics.items()),
            windows=tuple(self._listed("window")),
            extras=tuple(self._listed("extra")),
            unit=self._unit,
            summary=self._summary,
            told=self._faults,
            missing=self._missing,
        )

    def _fabric(self, label: str, fabric: Mapping[str, Any]) -> FormFrame:
        key = self._inner("fabric")
        bolt = key.key("bolt")
        assert bolt is not None
        bolts = tuple(
            self._block(
                "bolt",
                bolt,
                ("fabric", label, "bolt", number),
                row,
                f"Bolt {number + 1}",
                usual_of_bolt(self._unit, row, fabric.get("repeat")),
            )
            for number, row in enumerate(_rows(fabric.get("bolt")))
        )
        title = shown(fabric.get("name")) or label
        made = self._block("fabric", key, ("fabric", label), fabric, title, {})
        kind = kind_of(fabric)
        parts, aside = _print_apart(made.parts, kind)
        kinds = Field(
            f"{KIND}{label}", "Kind of fabric", "pictures", kind, _KINDS, shaping=True, picture="kind"
        )
        return FormFrame(
            made.name, title, "fabric", parts, bolts=bolts, kinds=kinds, aside=aside,
            faults=self._told(("fabric", label, "bolt")),
        )  # fmt: skip

    def _listed(self, kind: str) -> Iterator[FormFrame]:
        key = self._inner(kind)
        for number, row in enumerate(_rows(self._table.get(kind))):
            title = shown(row.get("name")) or f"{kind.capitalize()} {number + 1}"
            usual = {}
            if kind == "window":
                fabric = self._fabrics.get(str(row.get("fabric") or next(iter(self._fabrics), "")), {})
                usual = usual_of_window(self._unit, row, fabric.get("weight"))
            yield self._block(kind, key, (kind, number), row, title, usual)

    def _inner(self, name: str) -> Key:
        key = self._keys.key(name)
        assert key is not None
        return key

    def _told(self, loc: Loc) -> tuple[str, ...]:
        return self._faults.get(name_of(loc), ())

    def _block(
        self, kind: str, key: Key, loc: Loc, row: Mapping[str, Any], title: str, usual: Mapping[str, str]
    ) -> FormFrame:
        heading = shown(row.get("heading")) or USUAL
        parts = []
        for group in self._groups(kind, key):
            known = [inner for name in group.keys if (inner := key.key(name)) is not None]
            wanted = [
                inner
                for inner in known
                if kind != "window"
                or inner.name in row
                or of_use(inner.name, heading, row.get("draw"), row.get("hangs_from"))
            ]
            fields = tuple(self._field(kind, inner, loc, row, usual) for inner in wanted)
            said = any(inner.name in row for inner in wanted) or any(_faulty(item) for item in fields)
            if fields:
                parts.append(FieldGroup(group.title, fields, said))
        hangs = hangs_of(heading, row.get("hangs_from"), row.get("rod_diameter"))
        return FormFrame(name_of(loc), title, kind, tuple(parts), heading, self._told(loc), hangs=hangs)

    def _groups(self, kind: str, key: Key) -> tuple[Group, ...]:
        groups = GROUPS[kind]
        placed = {name for group in groups for name in group.keys}
        elsewhere = {"job": ("fabric", "window", "extra"), "fabric": ("bolt",)}.get(kind, ())
        rest = tuple(
            inner.name for inner in key.keys if inner.name not in placed and inner.name not in elsewhere
        )
        return (*groups, Group("More", rest)) if rest else groups

    def _field(
        self, kind: str, key: Key, loc: Loc, row: Mapping[str, Any], usual: Mapping[str, str], of: str = ""
    ) -> Field | Box | Rows:
        place = (*loc, key.name)
        if key.kind == "rows":
            return self._row_list(key, place, row.get(key.name))
        if key.kind in ("table", "hem"):
            return self._box(kind, key, place, row.get(key.name), usual)
        name, text = name_of(place), shown(row.get(key.name))
        text = text or self._aside.get(name, "")
        if kind == "repeat" and key.name == "drop":
            text = _match(look_up(self._table, loc))
        shaping = f"{kind}.{key.name}" in SHAPING
        told, wrong = f"{of}.{key.name}" if of else key.name, self._told(place)
        return Field(
            name=name,
            label=label_of(kind, key.name, self._unit),
            kind=self._input(kind, key),
            text=text,
            options=tuple(self._options(kind, key, row, text)),
            usual=usual.get(told, ""),
            why=why(kind, key.name),
            help="" if why(kind, key.name) else help_of(key.description),
            understood=understood(text, self._unit) if key.kind == "length" and text and not wrong else "",
            faults=wrong,
            asked=self._asked.get(name, ()),
            dimension=key.name if kind == "window" and key.name in DIMENSIONS else "",
            shaping=shaping,
            needed=key.needed,
            picture=f"{kind}.{key.name}",
        )

    def _input(self, kind: str, key: Key) -> str:
        if f"{kind}.{key.name}" in ("window.heading", "fabric.nap", "fabric.arrow", "repeat.drop"):
            return "pictures"
        if key.kind in ("word", "flag") or (key.kind == "text" and key.name in (*_FABRICS, "window")):
            return "choice"
        return key.kind

    def _options(self, kind: str, key: Key, row: Mapping[str, Any], text: str) -> Iterator[tuple[str, str]]:
        """What may be chosen; what stands there and is none of it stays on offer, so that nothing is lost."""
        if kind == "repeat" and key.name == "drop":
            yield from _drops(text)
            return
        values: list[tuple[str, str]] = []
        if key.kind == "word":
            values = [(word, WORDS.get(word, word)) for word in key.words]
        elif key.kind == "flag":
            values = [("true", "yes"), ("false", "no")]
        elif key.kind == "text" and key.name in _FABRICS:
            values = [(label, shown(fabric.get("name")) or label) for label, fabric in self._fabrics.items()]
        elif key.kind == "text" and key.name == "window":
            values = [(name, name) for name in self._windows]
        else:
            return
        implied = {"job.units": "in", "fabric.nap": "none", "fabric.arrow": "up", "window.heading": USUAL}
        meant = implied.get(f"{kind}.{key.name}")
        if meant is not None:
            # One of the choices is what holds without a word: it stands for the open one.
            for value, words in values:
                yield ("" if value == meant and key.name not in row else value, words)
        else:
            yield "", OPEN.get(f"{kind}.{key.name}", "usual" if key.kind != "flag" else "usual: no")
            yield from values
        if text and text not in [value for value, _ in values]:
            yield text, f"{text} (not known)"

    def _box(self, kind: str, key: Key, loc: Loc, value: Any, usual: Mapping[str, str]) -> Box:
        row = value if isinstance(value, Mapping) else {}
        name = name_of(loc)
        table = "hem" if key.kind == "hem" else key.name
        inner = (each for each in _in_order(key) if each.name != "drop_from" or _drops_at_all(row))
        fields = tuple(self._field(table, each, loc, row, usual, of=key.name) for each in inner)
        selvage = None
        if key.kind == "hem":
            on = "yes" if value == "selvage" else ""
            selvage = Field(f"{name}.selvage", "selvage, left as woven", "tick", on)
        return Box(
            name=name,
            label=label_of(kind, key.name, self._unit),
            fields=fields,
            selvage=selvage,
            faults=self._told(loc),
            usual=usual.get(key.name, "")
            if row or value in (None, "selvage")
            else f"{shown(value)}, as written",
            why=why(kind, key.name),
            dimension=key.name if kind == "window" and key.name in DIMENSIONS else "",
        )

    def _row_list(self, key: Key, loc: Loc, value: Any) -> Rows:
        noun = _ROW_NOUNS.get(key.name, key.name.rstrip("s").replace("_", " "))
        rows = tuple(
            Box(
                name=name_of((*loc, number)),
                label=f"{noun.capitalize()} {number + 1}",
                fields=tuple(self._field(key.name, inner, (*loc, number), row, {}) for inner in key.keys),
                faults=self._told((*loc, number)),
            )
            for number, row in enumerate(_rows(value))
        )
        return Rows(name_of(loc), label_of("", key.name, self._unit), noun, rows, self._told(loc))


#: The kinds of fabric that decide what else is asked.
_KINDS: Final = (
    ("plain", "plain"),
    ("pile", "pile or one-way"),
    ("print", "print"),
)
#: What of a print nothing can be told without.
_PRINT: Final = ("length", "width", "drop")


def _print_apart(
    parts: tuple[FieldGroup, ...], kind: str
) -> tuple[tuple[FieldGroup, ...], tuple[Field, ...]]:
    """The sizes of a print in sight where it is one, else what was typed of them; the rest is folded away."""
    box = next(one for part in parts for one in part.fields if isinstance(one, Box) and not part.title)
    first = tuple(one for one in box.fields if one.name.rpartition(".")[2] in _PRINT)
    rest = replace(
        box, fields=tuple(one for one in box.fields if one not in first), label="More of the pattern"
    )
    found = [FieldGroup("", tuple(sorted(first, key=lambda one: one.name.endswith(".drop"))))]
    for part in parts:
        if part.title and any(one.name.endswith(".level") for one in part.fields):
            part = replace(part, fields=(*part.fields, rest))
        if part.title:
            found.append(part)
    if kind == "print":
        return tuple(found), ()
    return tuple(found[1:]), tuple(one for one in first if isinstance(one, Field) and one.kind != "pictures")


def _drops_at_all(repeat: Mapping[str, Any]) -> bool:
    """Whether a repeat has a drop, whose step is somewhere."""
    return "drop_from" in repeat or _match(repeat) not in (PLAIN, STRAIGHT)


def _in_order(key: Key) -> tuple[Key, ...]:
    """The kind of match before its sizes."""
    return tuple(sorted(key.keys, key=lambda inner: inner.name != "drop"))


def _drops(text: str) -> Iterator[tuple[str, str]]:
    """The kinds of match; a drop that is none of the usual ones stays on offer."""
    known = {"0.5": "half drop", "1/2": "half drop", "1/3": "third drop"}
    yield PLAIN, "plain, no pattern"
    yield STRAIGHT, "straight match"
    half = text if known.get(text) == "half drop" else "0.5"
    yield half, "half drop"
    yield "1/3", "third drop"
    if text not in (PLAIN, STRAIGHT, half, "1/3"):
        yield text, f"drop of {text}"


def _match(repeat: Any) -> str:
    """Which kind of match a fabric has."""
    if not isinstance(repeat, Mapping):
        return PLAIN
    drop = repeat.get("drop")
    return STRAIGHT if drop is None or drop == 0 else shown(drop)


def _faulty(item: Field | Box | Rows) -> bool:
    if item.faults:
        return True
    inner = item.fields if isinstance(item, Box) else item.rows if isinstance(item, Rows) else ()
    return any(_faulty(one) for one in inner)


def _rows(value: Any) -> list[Mapping[str, Any]]:
    return [row if isinstance(row, Mapping) else {} for row in value] if isinstance(value, list) else []


def _named(value: Any) -> dict[str, Mapping[str, Any]]:
    rows = value if isinstance(value, Mapping) else {}
    return {label: row for label, row in rows.items() if isinstance(row, Mapping)}
