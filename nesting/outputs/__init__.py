"""Files made of a plan, each an `Output` in a module of this folder; a new one is entered in `OUTPUTS`."""

from __future__ import annotations

import re
from typing import Final

from nesting.outputs.drawn import FULL_SIZE_PDF, FULL_SIZE_SVG, MARKER_PDF, MARKER_PNG, MARKER_SVG
from nesting.outputs.lists import CUT_LIST, LABELS, PIECES, PLAN
from nesting.outputs.output_kind import Output, OutputEach, Place, Ready
from nesting.outputs.printed import APPENDIX_PDF, LABELS_PDF, PACKET_HTML, PACKET_PDF

__all__ = [
    "OUTPUTS",
    "Output",
    "OutputEach",
    "Place",
    "Ready",
    "files_for",
    "is_like_ours",
    "of_page",
]

#: In the order in which they are made, the quickest first.
OUTPUTS: Final[tuple[Output | OutputEach, ...]] = (
    CUT_LIST,
    PIECES,
    LABELS,
    PLAN,
    PACKET_PDF,
    PACKET_HTML,
    APPENDIX_PDF,
    MARKER_PNG,
    MARKER_SVG,
    MARKER_PDF,
    LABELS_PDF,
    FULL_SIZE_SVG,
    FULL_SIZE_PDF,
)
#: Names of files that show a plan, as a command leaves them in a folder.
_LIKE_OURS: Final = re.compile("|".join(each.like for each in OUTPUTS if each.places - {"page"}))


def files_for(place: Place, ready: Ready, *, pages: bool = True) -> dict[str, bytes]:
    """What is offered at a place, by file name; without ``pages`` only lists."""
    offered = (each for each in OUTPUTS if place in each.places and (pages or not each.pages))
    return dict(made for each in offered for made in each.files(ready))


def of_page() -> tuple[Output, ...]:
    """What the page of a plan offers, in the order in which it is made."""
    return tuple(each for each in OUTPUTS if isinstance(each, Output) and "page" in each.places)


def is_like_ours(name: str) -> bool:
    """Whether a file of that name may show a plan."""
    return _LIKE_OURS.fullmatch(name) is not None
