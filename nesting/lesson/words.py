"""What a class is told beside its numbers: letters, needles, tools, and words of the trade.

Common practice, no source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from typing import Final

#: What a letter stands for, where the words of a sum say too little for somebody who never made one.
MEANINGS: Final = {
    "rod": "thickness of the rod",
    "panels": "panels at the window: a pair",
    "fullness": "fullness: flat fabric over rod",
    "side hem": "side hem, each of its two turns",
    "bottom hem": "bottom hem, each of its two turns",
    "usable width": "usable width of the bolt, a full width",
    "full width": "usable width of the bolt, a full width",
    "seam": "seam allowance, on each side of a seam",
    "top seam": "seam at the top",
    "top hem": "top hem, each of its two turns",
    "header": "header, each of its two turns",
    "buckram cuff": "buckram cuff, wrapped twice",
    "half the rod's circumference": "half around the rod: 3.1416 × B ÷ 2",
    "half the rod": "half the thickness of the rod",
    "heading": "heading above the rod",
    "ease": "ease, so that the rod slides",
    "tab": "width of a tab, finished",
    "finished facing": "depth of the facing, finished",
    "outer center from the edge": "first and last center, from the edge",
    "outer ring from the edge": "first and last ring, from the edge",
    "spacing": "spacing to aim at",
    "clear gap to aim at": "clear gap to aim at",
    "tab and gap to aim at": "tab and gap together: b + j",
    "space to aim at": "space to aim at between pleats",
    "flat at the left edge": "flat at the outer edge: the return C",
    "flat at the right edge": "flat at the leading edge",
    "hooks apart": "most from hook to hook",
    "take-up over the rod": "what the rod takes up",
    "gap below the rod": "gap between rod and fabric",
    "half the overlap": "half the overlap",
}

#: Fabric; needle; stitch; iron and handling.
NEEDLES: Final = (
    ("plain", "80/12", "2.5 to 3 mm", "medium iron with steam, from the wrong side"),
    ("sheer", "60/8 or 70/10", "2 to 2.5 mm", "cool, dry iron; French seams, because everything shows"),
    ("print", "80/12", "2.5 mm", "from the wrong side; match at the seam line, not at the cut edge"),
    ("pile", "90/14", "3 to 3.5 mm", "steam from the wrong side, never press; sew with the nap"),
    ("heavy", "100/16", "3.5 mm", "steam, then let it cool flat; grade thick seams"),
)

TOOLS: Final = (
    "tape measure, square, chalk, rust-free pins, shears, hand needles, sewing machine, iron and press "
    "cloth, and the rod, rings or track to try it on"
)

#: In short; a packet has the whole list.
SAFETY: Final = (
    "close a rotary cutter after each cut, and never leave a hot iron; no cords or loops where children "
    "play; fabric 3 ft (0.9 m) from heaters and stoves; brackets and anchors for the weight, and two people "
    "to hang a heavy pair. Local codes and licensed practice decide."
)

#: What is looked for in a handout, and what it means. British words stand in brackets.
GLOSSARY: Final = (
    ("bar-tack", r"bar-tack", "stitches across each other that hold a strained end"),
    ("baste", r"bast(e|ed|ing)\b", "sew with long stitches, taken out later (British: tack)"),
    ("blind stitch", r"blind[- ]stitch", "one that hardly shows in front"),
    ("buckram", r"buckram", "stiff woven strip that holds pleats upright"),
    ("drapes", r"drapes?\b", "long, full panels at a window (British: curtains)"),
    ("dressed width", r"dressed width", "what a pleated panel covers when it hangs"),
    ("facing", r"facing", "a strip that finishes an edge at the back"),
    ("fullness", r"fullness", "how many times wider the flat fabric is than the rod it covers"),
    ("glider", r"gliders?\b", "what runs in a track and holds a hook"),
    ("grade", r"\bgrade\b", "trim the layers of a seam to different widths, so that it lies flat"),
    ("grommet", r"grommet", "a metal ring set in a hole (British: eyelet)"),
    ("leading edge", r"leading edge", "the edge of a panel that meets the other panel"),
    ("level", r"\blevel(ed)?\b", "mark the hem at one height on the hanging drape"),
    ("miter", r"miter", "fold a corner to a slanting seam (British: mitre)"),
    ("overcast", r"overcast|zigzag", "stitch over a raw edge, so that it cannot fray"),
    ("part-width", r"part-width", "what a panel needs beside full widths"),
    ("return", r"\breturn\b", "the part of a panel that turns back to the wall"),
    ("selvage", r"selvages?\b", "the woven edge of the bolt (British: selvedge)"),
    ("squared end", r"squared end", "the end of the fabric, cut straight across"),
    ("stiffener", r"stiffener", "a layer that stiffens the top from within (also: interfacing)"),
    ("understitch", r"understitch", "stitch a facing to its seam allowances"),
    ("width", r"\bwidths\b", "a length of fabric as wide as the bolt"),
)


def used_words(texts: Iterable[str]) -> tuple[tuple[str, str], ...]:
    """The words of the glossary that stand in these texts, with their meanings."""
    whole = "\n".join(texts).lower()
    return tuple((word, told) for word, pattern, told in GLOSSARY if re.search(pattern, whole))
