"""The packet as PDF, its sheets and its appendix: the same blocks as the HTML page, on A4 or Letter."""

from __future__ import annotations

import io
import itertools
from collections.abc import Iterable, Iterator
from dataclasses import replace
from typing import Any, Final

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
from reportlab.platypus import Table as Grid

from nesting.drawing.lettering import plain, shortened
from nesting.drawing.trace import Drawing
from nesting.packet.model import (
    TICK_BOX,
    Beside,
    Block,
    Bullets,
    Cautions,
    LabelSheet,
    MakingSteps,
    Packet,
    Paragraph,
    Picture,
    Section,
    SectionHeading,
    Table,
)
from nesting.packet.pdf_drawing import BOLD, PLAIN, place, register_fonts
from nesting.packet.pdf_labels import LabelPage, label_pages
from nesting.packet.pdf_steps import steps_flowable
from nesting.packet.pdf_styles import FADED, INK, RULE, SIZE, STYLES, markup
from nesting.packet.pdf_table import grid
from nesting.packet.room import BOTTOM, HEAD, SIDE, TOP, page_size
from nesting.plan.paper import Paper, paper_for

#: Between the two columns of the cautions, and inside their frame.
_GUTTER: Final = 12.0
_FRAME: Final = 5.0
#: No table is longer.
_ENDLESS: Final = 1e6
#: So many rows of a table end it together, if they are no higher than this, in points: a quarter of a page.
_ENDING: Final = 3
_HIGHEST: Final = 190.0
#: What a heading takes, with the room above it.
_LINE: Final = 30.0


class _Pages(Canvas):
    """Counts its pages, so that each can say of how many it is one."""

    def __init__(self, *args: Any, **more: Any) -> None:
        super().__init__(*args, **more)
        self._kept: list[dict[str, Any]] = []
        self._marks: list[tuple[str, str]] = []

    def showPage(self) -> None:  # noqa: N802
        """Keep the page until the last one is known."""
        self._kept.append(dict(self.__dict__))
        self._marks = []
        self._startPage()  # type: ignore[attr-defined]

    def save(self) -> None:
        """Number the pages and write them."""
        for number, state in enumerate(self._kept, 1):
            self.__dict__.update(state)
            self.setFont(PLAIN, SIZE)
            self.setFillColor(FADED)
            width, height = self.__dict__["_pagesize"]
            said = f"{self.__dict__['_dated']}   ·   page {number} of {len(self._kept)}"
            self.drawRightString(width - SIDE, height - TOP - SIZE, said)
            for key, title in self._marks:
                self.bookmarkPage(key)
                self.addOutlineEntry(title, key, 0)
            super().showPage()
        super().save()


class _Figure(Flowable):
    """A drawing in the run of the text; drawings are made for the page's width and never made smaller."""

    def __init__(self, drawing: Drawing) -> None:
        super().__init__()
        self._drawing = drawing

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Its size on the page."""
        self.width, self.height = self._drawing.width, self._drawing.height
        return self.width, self.height

    def draw(self) -> None:
        """Set it."""
        place(self.canv, self._drawing, 0, 0)


class _RoomBelow(Spacer):
    """Room below a block, less at the foot of a page: it never turns to an empty one."""

    def __init__(self, height: float) -> None:
        super().__init__(1, height)

    def wrap(self, aW: float, aH: float) -> tuple[float, float]:  # noqa: N803
        """Its room, as far as there is any."""
        return self.width, max(0.0, min(self.height, aH))


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
        self.canv.__dict__["_marks"].append((self._key, self._title))


def packet_pdf(packet: Packet, *, paper: Paper | None = None) -> bytes:
    """The sheets that are worked from as PDF bytes: tables, windows, labels; each begins on a new page.

    The same packet gives the same bytes. ``paper``: default: that of the packet's units.
    """
    return _document(packet, packet.sheets, paper or paper_for(packet.units), apart=True)


def appendix_pdf(packet: Packet, *, paper: Paper | None = None) -> bytes:
    """The appendix as PDF bytes: sums, questions, offers, long tables; as `packet_pdf`."""
    return _document(packet, packet.appendix, paper or paper_for(packet.units), apart=False)


def _document(packet: Packet, sections: Iterable[Section], paper: Paper, *, apart: bool) -> bytes:
    register_fonts()
    wide, high = page_size(paper)
    buffer = io.BytesIO()
    document = BaseDocTemplate(
        buffer,
        pagesize=(wide, high),
        title=packet.title if apart else f"{packet.title}: appendix",
        author="",
        creator="nesting",
        producer="nesting",
        invariant=1,
    )
    room = Frame(SIDE, BOTTOM, wide - 2 * SIDE, high - BOTTOM - TOP - HEAD, 0, 0, 0, 0, id="room")
    whole = Frame(0, 0, wide, high, 0, 0, 0, 0, id="whole")
    head = _Head(packet, wide, "" if apart else "appendix")
    document.addPageTemplates(
        [
            PageTemplate("text", [room], onPage=head.draw, pagesize=(wide, high)),
            PageTemplate("labels", [whole], onPage=head.draw, pagesize=(wide, high)),
        ]
    )
    story = [*_story(packet, sections, wide - 2 * SIDE, paper, apart=apart)]
    document.build(story or [Spacer(1, 1)], canvasmaker=_Pages)
    return buffer.getvalue()


class _Head:
    """What stands on every page: the job, its day, and the number of the page."""

    def __init__(self, packet: Packet, width: float, more: str) -> None:
        room = width - 2 * SIDE - 170
        title = f"{packet.title}: {more}" if more else packet.title
        self._made, self._title = packet.made.isoformat(), shortened(title, SIZE, room, bold=True)

    def draw(self, canvas: Canvas, document: BaseDocTemplate) -> None:
        """The title and a rule; day and number follow when all pages are counted."""
        width, height = document.pageTemplate.pagesize
        canvas.__dict__["_dated"] = self._made
        canvas.setFillColor(INK)
        canvas.setFont(BOLD, SIZE)
        canvas.drawString(SIDE, height - TOP - SIZE, self._title)
        canvas.setStrokeColor(RULE)
        canvas.setLineWidth(0.6)
        canvas.line(SIDE, height - TOP - SIZE - 4, width - SIDE, height - TOP - SIZE - 4)


def _story(
    packet: Packet, sections: Iterable[Section], width: float, paper: Paper, *, apart: bool
) -> Iterator[Flowable]:
    for number, section in enumerate(sections):
        sheet = next((block for block in section.blocks if isinstance(block, LabelSheet)), None)
        if number and (apart or sheet is not None):
            if sheet is not None:
                yield NextPageTemplate("labels")
            yield PageBreak()
        elif number:
            yield CondPageBreak(150)
        yield _Mark(section.key, plain(section.title))
        if sheet is not None:
            said = next((block.text for block in section.blocks if isinstance(block, Paragraph)), "")
            pages = label_pages(sheet.labels, paper)
            yield from itertools.chain.from_iterable(
                zip((LabelPage(page, paper, said) for page in pages), _breaks(len(pages)), strict=True)
            )
            yield NextPageTemplate("text")
            continue
        yield Text(markup(section.title), STYLES["section"])
        yield from _blocks(section.blocks, width)


def _breaks(pages: int) -> Iterator[Flowable]:
    """A break after each page but the last."""
    yield from (PageBreak() for _ in range(pages - 1))
    yield Spacer(0, 0)


def _blocks(blocks: tuple[Block, ...], width: float) -> Iterator[Flowable]:
    following = iter(itertools.zip_longest(blocks, blocks[1:]))
    for block, after in following:
        if isinstance(block, SectionHeading) and isinstance(after, Picture):
            # A heading never stands alone at the foot of a page.
            next(following)
            yield KeepTogether([Text(markup(block.text), STYLES["heading"]), *_picture(after)])
            continue
        if isinstance(block, SectionHeading):
            below = _beginning(after, width) + 4 * _FRAME if isinstance(after, Table) else 0
            yield CondPageBreak(max(110, _LINE + below))
        yield from _block(block, width)


def _block(block: Block, width: float) -> Iterator[Flowable]:
    if isinstance(block, Paragraph):
        lead = f"<b>{markup(block.lead)}</b> " if block.lead else ""
        style = {"plain": "text", "note": "note", "warning": "warning"}[block.kind]
        sign = "▲ " if block.kind == "warning" else ""
        yield Text(f"{sign}{lead}{markup(block.text)}", STYLES[style])
    elif isinstance(block, SectionHeading):
        yield Text(markup(block.text), STYLES["heading"])
    elif isinstance(block, Bullets):
        yield from _bullets(block)
    elif isinstance(block, Table):
        yield from _table(block, width)
    elif isinstance(block, MakingSteps):
        yield steps_flowable(block)
        yield _RoomBelow(4)
    elif isinstance(block, Beside):
        yield _beside(block, width)
    elif isinstance(block, Cautions):
        yield _cautions(block, width)
    elif isinstance(block, Picture):
        yield KeepTogether(list(_picture(block)))


def _bullets(block: Bullets) -> Iterator[Flowable]:
    for number, item in enumerate(block.items, 1):
        sign = f"{number}." if block.numbered else "•"
        if block.ticked:
            sign = f"{TICK_BOX} {number}." if block.numbered else TICK_BOX
        yield Text(markup(item), STYLES["ticked" if block.ticked else "item"], bulletText=sign)
    yield _RoomBelow(2)


def _picture(block: Picture) -> Iterator[Flowable]:
    yield _Figure(block.drawing)
    if block.caption:
        yield Text(markup(block.caption), STYLES["under"])


def _table(block: Table, width: float) -> Iterator[Flowable]:
    yield CondPageBreak(max(60, _beginning(block, width) + 2 * _FRAME))
    yield from _caption(block)
    yield grid(block, width, together=_together(block, width))
    yield _RoomBelow(4)


def _caption(block: Table) -> Iterator[Flowable]:
    if not block.bare:
        yield Text(markup(block.caption), STYLES["caption"])


def _beginning(block: Table, width: float) -> float:
    """How high a caption is with the first row of what it speaks of: no page parts the two."""
    first = block
    if len(block.rows) > _together(block, width):
        first = replace(block, rows=block.rows[:1], under=block.under[:1], foot=())
    return sum(each.wrap(width, _ENDLESS)[1] for each in (*_caption(block), grid(first, width)))


def _together(block: Table, width: float) -> int:
    """How many rows end a table on one page: no page is turned for a single one, if they are not too high."""
    last = replace(block, rows=block.rows[-_ENDING:], under=block.under[-_ENDING:])
    return _ENDING if grid(last, width).wrap(width, _ENDLESS)[1] <= _HIGHEST else 1


def _beside(block: Beside, width: float) -> Flowable:
    """Table and picture, each in its part of the width."""
    left = width * block.share
    cells = [[[*_table(block.table, left - _GUTTER)][1:], [*_picture(block.picture)]]]
    style = [("VALIGN", (0, 0), (-1, -1), "TOP"), *((f"{side}PADDING", (0, 0), (-1, -1), 0) for side in _ALL)]
    return Grid(cells, colWidths=[left, width - left], style=style, hAlign="LEFT")


_ALL: Final = ("LEFT", "RIGHT", "TOP", "BOTTOM")


def _cautions(block: Cautions, width: float) -> Flowable:
    """In a frame, in two columns about as long, on one page."""
    said = [Text(f"<b>{markup(lead)}</b> {markup(text)}", STYLES["caution"]) for lead, text in block.items]
    column = (width - _GUTTER - 2 * _FRAME) / 2
    heights = [text.wrap(column, 1e6)[1] + STYLES["caution"].spaceAfter for text in said]
    half = next(n for n in range(len(said) + 1) if sum(heights[:n]) >= sum(heights) / 2)
    style: list[tuple[Any, ...]] = [
        ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ("SPAN", (0, 0), (-1, 0)),
        ("BOX", (0, 0), (-1, -1), 1.2, INK),
        ("NOSPLIT", (0, 0), (-1, -1)),
        ("LEFTPADDING", (0, 0), (-1, -1), _FRAME),
        ("RIGHTPADDING", (0, 0), (-1, -1), _GUTTER / 2),
        ("TOPPADDING", (0, 0), (-1, -1), 2),
        ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
    ]
    title = Text("▲ Cautions", STYLES["caption"])
    return Grid([[title, ""], [said[:half], said[half:]]], colWidths=[width / 2] * 2, style=style)
