"""The room on a page of the packet, in points: paper, margins, head."""

from __future__ import annotations

from typing import Final

from nesting.drawing.page import SHEETS
from nesting.plan.paper import Paper

#: Margins at both sides, above the head of the page, and below the text.
SIDE: Final = 27.0
TOP: Final = 20.0
BOTTOM: Final = 20.0
#: What the head takes: one line and a rule.
HEAD: Final = 19.0
#: In a table, beside a text, and between figures and the words after them.
PAD: Final = 2.5
APART: Final = 9.0


def page_size(paper: Paper) -> tuple[float, float]:
    """Width and height of a page that stands upright."""
    high, wide = SHEETS[paper]
    return wide, high


def page_room(paper: Paper) -> float:
    """Between the margins."""
    return page_size(paper)[0] - 2 * SIDE
