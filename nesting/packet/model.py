"""What a packet is made of, before it becomes a page: sections of text, tables, drawings and labels.

HTML and PDF are two settings of the same blocks, so both say the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from nesting.drawing.trace import Drawing
from nesting.units import Unit

Paper = Literal["a4", "letter"]

#: Stands in a cell where the maker ticks something off.
TICK_BOX = "☐"
#: Stands in a cell where the maker writes a number.
BLANK = "______"


@dataclass(frozen=True, slots=True)
class Paragraph:
    """Running text; ``lead`` stands in bold before it; a ``warning`` wants a decision."""

    text: str
    lead: str = ""
    kind: Literal["plain", "note", "warning"] = "plain"


@dataclass(frozen=True, slots=True)
class SectionHeading:
    """A heading inside a section."""

    text: str


@dataclass(frozen=True, slots=True)
class Bullets:
    """A list; ``numbered`` where the order matters."""

    items: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Table:
    """Rows under heads.

    Attributes
    ----------
    caption
        What the table tells.
    head, rows, foot
        Cells as text; ``foot`` holds sums.
    align
        A letter for each column: ``l``, ``r`` or ``c``.
    weights
        How the columns share the width.
    small
        Set in small type, for tables of many columns.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str
    weights: tuple[float, ...]
    foot: tuple[tuple[str, ...], ...] = ()
    small: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, with what a person who cannot see it is told."""

    drawing: Drawing
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Sheet:
    """A drawing that has a page lying on its side to itself."""

    drawing: Drawing
    alt: str


@dataclass(frozen=True, slots=True)
class Label:
    """What is pinned on one cut piece.

    ``number`` is its place in the cut list, ``copy`` counts equal pieces: ``2 of 4``.
    """

    number: str
    name: str
    size: str
    lines: tuple[str, ...]
    letter: str
    top: str
    copy: str
    piece: str


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """All labels, one for each piece that is cut."""

    labels: tuple[Label, ...]


@dataclass(frozen=True, slots=True)
class MakingStep:
    """One step of sewing: what is done, a small drawing of it, and what is measured before the next one.

    Attributes
    ----------
    text
        What is done.
    drawing
        About 45 mm wide and 30 mm high, its words at least 9 points high; None: the text does without.
    alt
        What a person who cannot see the drawing is told; needed where there is one.
    measure
        What must be read on the tape when the step is done: ``60 1/2 in across, lying flat``; empty: nothing.
    """

    text: str
    drawing: Drawing | None = None
    alt: str = ""
    measure: str = ""


@dataclass(frozen=True, slots=True)
class MakingSteps:
    """Steps in their order, numbered, each with its drawing at its side, two abreast."""

    items: tuple[MakingStep, ...]


Block = Paragraph | SectionHeading | Bullets | Table | Picture | Sheet | LabelSheet | MakingSteps


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the packet that begins on a new page."""

    key: str
    title: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True)
class Packet:
    """Everything that is printed for one plan.

    Attributes
    ----------
    title, units
        Of the job.
    made
        The day printed on every page.
    fabrics
        Each fabric with its bolt, and a place for its lot, for every page.
    sections
        In the order in which they are needed.
    labels
        For the sheet of labels.
    """

    title: str
    units: Unit
    made: date
    fabrics: tuple[str, ...]
    sections: tuple[Section, ...]
    labels: tuple[Label, ...]
