"""A handout as plain text, for the terminal and for reading aloud: everything but its pictures."""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from typing import Final

from nesting.packet.model import (
    BLANK,
    Beside,
    Block,
    Bullets,
    MakingSteps,
    Packet,
    Paragraph,
    SectionHeading,
    Table,
)

#: Columns of a line.
WIDTH: Final = 96


def packet_text(packet: Packet) -> str:
    """The sections one after the other; a row of a table is a line, blanks are lines to write on."""
    lines = list[str]()
    for section in packet.sections:
        lines += ["", section.title.upper(), ""]
        lines += (line for block in section.blocks for line in _said(block))
    return "\n".join(lines).strip("\n") + "\n"


def _said(block: Block) -> Iterator[str]:
    if isinstance(block, Paragraph):
        yield from textwrap.wrap(f"{block.lead} {block.text}".strip(), WIDTH)
    elif isinstance(block, SectionHeading):
        yield from ("", block.text)
    elif isinstance(block, Bullets):
        for number, item in enumerate(block.items, 1):
            sign = f"{number}. " if block.numbered else "- "
            yield from textwrap.wrap(item, WIDTH, initial_indent=sign, subsequent_indent=" " * len(sign))
    elif isinstance(block, Table):
        yield from _table(block)
    elif isinstance(block, Beside):
        yield from _table(block.table)
    elif isinstance(block, MakingSteps):
        for number, step in enumerate(block.items, 1):
            text = f"{step.text} Measure: {step.measure}" if step.measure else step.text
            yield from textwrap.wrap(text, WIDTH, initial_indent=f"{number}. ", subsequent_indent="   ")


def _table(block: Table) -> Iterator[str]:
    rows = (block.head, *block.rows, *block.foot)
    widths = [max(len(row[at]) for row in rows) for at in range(len(block.head))]
    yield from ("", block.caption)
    for row in rows:
        cells = (
            (text if text != BLANK else "_" * len(BLANK)).ljust(wide)
            for text, wide in zip(row, widths, strict=True)
        )
        yield "  ".join(cells).rstrip()
