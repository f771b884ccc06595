"""Paper, fabric and chalk: the colors, hatches and strokes of every drawing.

Tints are light enough for ink on top; each role also has a hatch of its own, so that a print in
black and white still tells them apart.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from nesting.pieces.piece import Role

PAPER: Final = "#fbf6ea"
FABRIC: Final = "#d8ccb2"
FABRIC_WEAVE: Final = "#b3a37f"
SELVAGE: Final = "#8f7f5f"
INK: Final = "#26211c"
FADED: Final = "#5d5348"
CHALK: Final = "#2f5573"
RUST: Final = "#8a3623"
REPEAT: Final = "#94751f"
FLAW: Final = "#7a2418"
FLAWED: Final = "#f1c9bd"

#: Stroke of all hatches, in points; thin, so that text beside it stays the darker.
HATCH_WIDTH: Final = 0.45


@dataclass(frozen=True, slots=True)
class RoleFill:
    """How pieces of one role are filled: tint, hatch, and the color of the hatch."""

    tint: str
    hatch: str
    thread: str


LOOKS: Final[dict[Role, RoleFill]] = {
    "panel": RoleFill("#fffdf7", "", "#ffffff"),
    "facing": RoleFill("#dfeaf2", "///", "#8da5b7"),
    "tab": RoleFill("#f7ddcb", "...", "#b58a6c"),
    "lining": RoleFill("#edf0de", "\\\\\\", "#a3ab82"),
    "interlining": RoleFill("#e9e1ef", "++", "#a797b5"),
    "band": RoleFill("#f4e6b6", "|||", "#b39f55"),
    "tieback": RoleFill("#dcece3", "---", "#88ad98"),
    "extra": RoleFill("#f5e1e4", "oo", "#bd959b"),
}
