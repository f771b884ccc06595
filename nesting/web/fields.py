"""What the job form is made of: fields, boxes of fields, rows, frames, each with what is told beside it."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field

from nesting.units import Unit


@dataclass(frozen=True, slots=True)
class Field:
    """One entry of the form.

    Attributes
    ----------
    name, label, kind, text
        Of its input; ``kind`` is that of its key, or ``choice`` and ``pictures``.
    options
        Value and words of each choice.
    usual, why, help
        What holds if it stays empty, the reason, and what the key means.
    understood
        The length as it was read.
    faults
        What is wrong with it.
    asked
        What only the maker can tell of it, with what each answer costs.
    dimension
        What the drawing of the window shows while it is typed.
    shaping
        Whether the form changes with it.
    """

    name: str
    label: str
    kind: str
    text: str = ""
    options: tuple[tuple[str, str], ...] = ()
    usual: str = ""
    why: str = ""
    help: str = ""
    understood: str = ""
    faults: tuple[str, ...] = ()
    asked: tuple[str, ...] = ()
    dimension: str = ""
    shaping: bool = False
    needed: bool = False
    picture: str = ""


@dataclass(frozen=True, slots=True)
class Box:
    """A table within another one: a hem, tabs, a repeat; or one row of a list."""

    name: str
    label: str
    fields: tuple[Field | Box | Rows, ...]
    selvage: Field | None = None
    faults: tuple[str, ...] = ()
    usual: str = ""
    why: str = ""
    dimension: str = ""


@dataclass(frozen=True, slots=True)
class Rows:
    """A list of tables, with buttons to add and take away."""

    name: str
    label: str
    noun: str
    rows: tuple[Box, ...]
    faults: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class FieldGroup:
    """Fields that stand together; folded away where it has a title."""

    title: str
    fields: tuple[Field | Box | Rows, ...]
    said: bool = False


@dataclass(frozen=True, slots=True)
class FormFrame:
    """A fabric, a window, an extra, or the job: what stands in one frame of the page."""

    name: str
    title: str
    kind: str
    parts: tuple[FieldGroup, ...]
    heading: str = ""
    faults: tuple[str, ...] = ()
    bolts: tuple[FormFrame, ...] = ()
    hangs: str = ""
    kinds: Field | None = None
    aside: tuple[Field, ...] = ()


@dataclass(frozen=True, slots=True)
class Form:
    """The whole form."""

    job: FormFrame
    fabrics: tuple[FormFrame, ...]
    windows: tuple[FormFrame, ...]
    extras: tuple[FormFrame, ...]
    unit: Unit
    summary: tuple[tuple[str, str], ...] = ()
    told: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    missing: tuple[str, ...] = ()

    def fields(self) -> Iterator[Field | Box | Rows]:
        """Everything that may have a fault or a length, however deep it stands."""
        blocks = [self.job, *self.fabrics, *self.windows, *self.extras]
        blocks += [bolt for fabric in self.fabrics for bolt in fabric.bolts]
        for fabric in self.fabrics:
            yield from fabric.aside
        for block in blocks:
            for part in block.parts:
                for one in part.fields:
                    yield from _within(one)


def _within(one: Field | Box | Rows) -> Iterator[Field | Box | Rows]:
    yield one
    inner = one.fields if isinstance(one, Box) else one.rows if isinstance(one, Rows) else ()
    for item in inner:
        yield from _within(item)
