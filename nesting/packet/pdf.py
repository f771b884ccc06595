"""The packet as PDF: the same blocks as the HTML page, on A4 or Letter."""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterator
from typing import Any, Final

from reportlab.lib.utils import simpleSplit
from reportlab.pdfgen.canvas import Canvas
from reportlab.platypus import (
    BaseDocTemplate,
    CondPageBreak,
    Flowable,
    Frame,
    KeepTogether,
    NextPageTemplate,
    PageBreak,
    PageTemplate,
    Spacer,
)
from reportlab.platypus import Paragraph as Text

from nesting.drawing.lettering import plain, shortened
from nesting.drawing.page import SHEETS
from nesting.drawing.trace import Drawing
from nesting.packet.markers import FOOT, HEAD
from nesting.packet.model import (
    Block,
    Bullets,
    LabelSheet,
    MakingSteps,
    Packet,
    Paper,
    Paragraph,
    Picture,
    Section,
    SectionHeading,
    Sheet,
    Table,
)
from nesting.packet.pdf_drawing import BOLD, PLAIN, place, register_fonts
from nesting.packet.pdf_steps import steps_grid
from nesting.packet.pdf_styles import FADED, INK, RULE, STYLES, markup
from nesting.packet.pdf_table import grid

_SIDE: Final = 40.0
_BOTTOM: Final = 44.0
_HEAD_LINE: Final = 9.0
_MOST_LINES: Final = 4


class _Pages(Canvas):
    """Counts its pages, so that each can say of how many it is one."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._kept: list[dict[str, Any]] = []

    def showPage(self) -> None:  # noqa: N802
        """Keep the page until the last one is known."""
        self._kept.append(dict(self.__dict__))
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        """Number the pages and write them."""
        for number, state in enumerate(self._kept, 1):
            self.__dict__.update(state)
            self.setFont(PLAIN, 7.5)
            self.setFillColor(FADED)
            width: float = self.__dict__["_pagesize"][0]
            self.drawRightString(width - _SIDE, 18, f"page {number} of {len(self._kept)}")
            super().showPage()
        super().save()


class _Figure(Flowable):
    """A drawing in the run of the text, made smaller where it is wider than the page."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self._drawing = drawing
        self._scale = 1.0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Its size on the page."""
        self._scale = min(1.0, aW / self._drawing.width, 640 / self._drawing.height)
        self.width, self.height = self._drawing.width * self._scale, self._drawing.height * self._scale
        return self.width, self.height

    def draw(self) -> None:
        """Set it."""
        place(self.canv, self._drawing, 0, 0, self._scale)


class _Whole(Flowable):
    """A drawing that fills its page; title and bolt with its lot stand above it."""

    def __init__(self, drawing: Drawing, words: str, page: float) -> None:
        super().__init__()
        self._drawing, self._words, self._top = drawing, words, page - 22 - FOOT

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """The whole frame."""
        self.width, self.height = self._drawing.width, self._drawing.height
        return self.width, self.height

    def draw(self) -> None:
        """Set it."""
        place(self.canv, self._drawing, 0, 0)
        self.canv.setFillColor(INK)
        self.canv.setFont(PLAIN, 7.5)
        self.canv.drawString(24, self._top, shortened(self._words, 7.5, self.width - 48))


class _Mark(Flowable):
    """A line in the outline of the document."""

    def __init__(self, key: str, title: str) -> None:
        super().__init__()
        self._key, self._title = key, title
        self.width = self.height = 0

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Takes no room."""
        return 0, 0

    def draw(self) -> None:
        """Name this place."""
        self.canv.bookmarkPage(self._key)
        self.canv.addOutlineEntry(self._title, self._key, 0)


def packet_pdf(packet: Packet, *, paper: Paper) -> bytes:
    """The packet as PDF bytes; the same packet gives the same bytes."""
    register_fonts()
    wide, high = SHEETS[paper]
    buffer = io.BytesIO()
    head = _Head(packet, high)
    document = BaseDocTemplate(
        buffer,
        pagesize=(high, wide),
        title=packet.title,
        author="",
        creator="nesting",
        producer="nesting",
        invariant=1,
    )
    upright = Frame(_SIDE, _BOTTOM, high - 2 * _SIDE, wide - _BOTTOM - head.height, 0, 0, 0, 0, id="upright")
    sideways = Frame(0, FOOT, wide, high - HEAD - FOOT, 0, 0, 0, 0, id="sideways")
    document.addPageTemplates(
        [
            PageTemplate(
                "upright", [upright], onPage=head.upright, onPageEnd=head.foot, pagesize=(high, wide)
            ),
            # A marker page names its own bolt; its paper is drawn last, so its foot comes after it.
            PageTemplate("sideways", [sideways], onPageEnd=head.foot, pagesize=(wide, high)),
        ]
    )
    document.build(list(_story(packet, high - 2 * _SIDE, high)), canvasmaker=_Pages)
    return buffer.getvalue()


class _Head:
    """What stands on every page: title, date, and each bolt with its lot."""

    def __init__(self, packet: Packet, width: float) -> None:
        self._packet = packet
        self._title = shortened(packet.title, 8.5, width * 0.9 - 2 * _SIDE, bold=True)
        self._fabrics = simpleSplit(plain("; ".join(packet.fabrics)), PLAIN, 7, width - 2 * _SIDE)[
            :_MOST_LINES
        ]
        self.height = 34 + _HEAD_LINE * (1 + len(self._fabrics))

    def upright(self, canvas: Canvas, document: BaseDocTemplate) -> None:
        """On a page of text."""
        width, height = document.pageTemplate.pagesize
        canvas.setFillColor(INK)
        canvas.setFont(BOLD, 8.5)
        canvas.drawString(_SIDE, height - 28, self._title)
        canvas.setFont(PLAIN, 7)
        for number, line in enumerate(self._fabrics, 1):
            canvas.drawString(_SIDE, height - 28 - number * _HEAD_LINE, line)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.6)
        low = height - 32 - len(self._fabrics) * _HEAD_LINE
        canvas.line(_SIDE, low, width - _SIDE, low)

    def foot(self, canvas: Canvas, document: BaseDocTemplate) -> None:
        """The day, on every page."""
        canvas.setFillColor(FADED)
        canvas.setFont(PLAIN, 7.5)
        canvas.drawString(_SIDE, 18, self._packet.made.isoformat())


def _story(packet: Packet, width: float, high: float) -> Iterator[Flowable]:
    sideways = False
    sections = [s for s in packet.sections if not any(isinstance(block, LabelSheet) for block in s.blocks)]
    for number, section in enumerate(sections):
        sheets = any(isinstance(block, Sheet) for block in section.blocks)
        if number:
            if sheets != sideways:
                yield NextPageTemplate("sideways" if sheets else "upright")
            yield PageBreak()
        sideways = sheets
        yield _Mark(section.key, plain(section.title))
        if not sheets:
            yield from _title(section, first=number == 0)
        before = False
        blocks = iter(itertools.zip_longest(section.blocks, section.blocks[1:]))
        for block, after in blocks:
            if isinstance(block, SectionHeading) and isinstance(after, Picture):
                # A heading never stands alone at the foot of a page.
                next(blocks)
                yield KeepTogether([Text(markup(block.text), STYLES["heading"]), *_picture(after)])
                continue
            if not isinstance(block, Sheet):
                yield from _block(block, width)
                continue
            if before:
                yield PageBreak()
            before = True
            words = f"{packet.title}   ·   {section.title.removeprefix('Marker: ')}"
            yield _Whole(block.drawing, words, high)


def _title(section: Section, *, first: bool) -> Iterator[Flowable]:
    yield Text(markup(section.title), STYLES["title" if first else "section"])


def _block(block: Block, width: float) -> Iterator[Flowable]:
    if isinstance(block, Paragraph):
        lead = f"<b>{markup(block.lead)}</b> " if block.lead else ""
        style = {"plain": "text", "note": "note", "warning": "warning"}[block.kind]
        sign = "▲ " if block.kind == "warning" else ""
        yield Text(f"{sign}{lead}{markup(block.text)}", STYLES[style])
    elif isinstance(block, SectionHeading):
        yield CondPageBreak(130)
        yield Text(markup(block.text), STYLES["heading"])
    elif isinstance(block, Bullets):
        for number, item in enumerate(block.items, 1):
            sign = f"{number}." if block.numbered else "•"
            yield Text(markup(item), STYLES["item"], bulletText=sign)
        yield Spacer(1, 3)
    elif isinstance(block, Table):
        yield from _table(block, width)
    elif isinstance(block, MakingSteps):
        yield steps_grid(block, width)
        yield Spacer(1, 6)
    elif isinstance(block, Picture):
        yield KeepTogether(list(_picture(block)))


def _picture(block: Picture) -> Iterator[Flowable]:
    yield _Figure(block.drawing)
    if block.caption:
        yield Text(markup(block.caption), STYLES["under"])


def _table(block: Table, width: float) -> Iterator[Flowable]:
    yield CondPageBreak(90)
    yield Text(markup(block.caption), STYLES["caption"])
    yield grid(block, width)
    yield Spacer(1, 6)
