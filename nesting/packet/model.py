"""What a packet is made of, before it becomes a page: sections of text, tables, drawings and labels.

HTML and PDF are two settings of the same blocks, so both say the same.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import date
from typing import Literal

from nesting.drawing.trace import Drawing
from nesting.units import Unit

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
    """A list; ``numbered`` where the order matters, ``ticked`` with a box before each."""

    items: tuple[str, ...]
    numbered: bool = False
    ticked: bool = False


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
    under
        For each row a text below it, across the table; empty: none.
    bare
        Without its caption on the page, where a heading or a paragraph just above says the same.
    """

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    align: str
    weights: tuple[float, ...]
    foot: tuple[tuple[str, ...], ...] = ()
    under: tuple[str, ...] = ()
    bare: bool = False


@dataclass(frozen=True, slots=True)
class Picture:
    """A drawing, with what a person who cannot see it is told."""

    drawing: Drawing
    alt: str
    caption: str = ""


@dataclass(frozen=True, slots=True)
class Beside:
    """A table and a picture side by side; ``share`` is the table's part of the width."""

    table: Table
    picture: Picture
    share: float = 0.55


@dataclass(frozen=True, slots=True)
class Label:
    """What is pinned on one cut piece.

    ``number`` is its place in the cut list, ``copy`` counts equal pieces: ``2 of 4``. Identical small pieces
    share a label: ``pieces`` says how many, ``number`` all their cuts.
    """

    number: str
    name: str
    size: str
    lines: tuple[str, ...]
    letter: str
    top: str
    copy: str
    piece: str
    pieces: int = 1


@dataclass(frozen=True, slots=True)
class LabelSheet:
    """All labels: one for each piece that is cut, identical small ones together."""

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


@dataclass(frozen=True, slots=True)
class Cautions:
    """What can hurt somebody or spoil the fabric, each with a word in bold before it; framed on the page."""

    items: tuple[tuple[str, str], ...]


Block = Paragraph | SectionHeading | Bullets | Table | Picture | Beside | LabelSheet | MakingSteps | Cautions

#: A sheet for the table, a sheet for a window, the labels; the appendix is a file of its own.
Part = Literal["table", "window", "labels", "appendix"]


@dataclass(frozen=True, slots=True)
class Section:
    """A sheet of the packet, which begins on a new page, or a part of its appendix.

    Raises
    ------
    ValueError
        A window's sheet without its cautions.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    part: Part = "appendix"

    def __post_init__(self) -> None:
        if self.part == "window" and not any(isinstance(block, Cautions) for block in self.blocks):
            raise ValueError(f"{self.title}: no window's sheet goes without its cautions")


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
        Each fabric with its bolt, and a place for its lot.
    sections
        In the order in which they are needed: sheets for the table, sheets for the windows, labels, appendix.
    labels
        For the sheet of labels.
    """

    title: str
    units: Unit
    made: date
    fabrics: tuple[str, ...]
    sections: tuple[Section, ...]
    labels: tuple[Label, ...]

    @property
    def sheets(self) -> tuple[Section, ...]:
        """What is worked from: everything but the appendix."""
        return tuple(section for section in self.sections if section.part != "appendix")

    @property
    def appendix(self) -> tuple[Section, ...]:
        """What is looked up: sums, questions, offers, long tables."""
        return tuple(section for section in self.sections if section.part == "appendix")
