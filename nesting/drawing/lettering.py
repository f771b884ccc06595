"""Text on drawings: measured before it is written, and always written as it stands.

Nothing a person typed is read as markup or mathematics. Sizes are in points, 1/72 in on paper.
"""

from __future__ import annotations

import itertools
from functools import lru_cache
from typing import Final, Literal

from matplotlib.axes import Axes
from matplotlib.font_manager import FontProperties, findfont, get_font
from matplotlib.path import Path
from matplotlib.text import Text
from matplotlib.textpath import text_to_path
from matplotlib.transforms import IdentityTransform, TransformedPath

from nesting.drawing.palette import INK

FAMILY: Final = "DejaVu Sans"

#: No text on any drawing is smaller than this, in points at print size.
SMALLEST: Final = 6.5
#: No text on a printed page is smaller than this, in points; drawings are enlarged for it, by `ENLARGED`.
READABLE: Final = 9.0
ENLARGED: Final = READABLE / SMALLEST

#: From one line to the next, as a multiple of the size; at least the height of a line with descenders.
PITCH: Final = 1.22

_REFERENCE: Final = 10.0
_NO_CLIP: Final = TransformedPath(Path.unit_rectangle(), IdentityTransform())
# Screen renderers snap glyphs to pixels: a measured text may come out this much wider.
_SNAPPED: Final = 1.03


#: Up to the Latin letters a text is as wide as its letters in turn; in other scripts letters change shape.
_LAST_ADDED_UP: Final = 0x24F


@lru_cache(maxsize=4)
def _font(bold: bool) -> FontProperties:
    return FontProperties(family=FAMILY, weight="bold" if bold else "normal", size=_REFERENCE)


@lru_cache(maxsize=1)
def _glyphs() -> frozenset[int]:
    return frozenset(get_font(findfont(_font(False))).get_charmap())


@lru_cache(maxsize=4096)
def plain(text: str) -> str:
    """The text on one line, in characters the font has; others become ``?``."""
    spaced = " ".join("".join(c if c.isprintable() else " " for c in text).split())
    return "".join(c if ord(c) in _glyphs() else "?" for c in spaced)


def adds_up(text: str) -> bool:
    """Whether the text takes as much room as its letters in turn."""
    return all(ord(character) <= _LAST_ADDED_UP for character in text)


@lru_cache(maxsize=16384)
def _reference_width(typed: str, bold: bool) -> float:
    text = plain(typed)
    if not text:
        return 0.0
    if not adds_up(text):
        return _measured(text, bold)
    # Letter by letter with its kerning to the next: most texts differ in their figures alone.
    steps = sum(_measured(a + b, bold) - _measured(b, bold) for a, b in itertools.pairwise(text))
    return steps + _measured(text[-1], bold)


@lru_cache(maxsize=16384)
def _measured(text: str, bold: bool) -> float:
    width, _, _ = text_to_path.get_text_width_height_descent(text, _font(bold), ismath=False)
    return float(width)


def natural_width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide the text is set, in points, with nothing to spare."""
    return _reference_width(text, bold) * size / _REFERENCE


def text_width(text: str, size: float, *, bold: bool = False) -> float:
    """How wide the text comes out, in points, with a little to spare."""
    return _reference_width(text, bold) * size / _REFERENCE * _SNAPPED


def shortened(text: str, size: float, room: float, *, bold: bool = False) -> str:
    """The text, or its beginning and an ellipsis, no wider than ``room`` points; empty if nothing fits."""
    text = plain(text)
    if text_width(text, size, bold=bold) <= room:
        return text
    for end in range(len(text) - 1, 0, -1):
        short = text[:end].rstrip(" ,.-") + "…"
        if text_width(short, size, bold=bold) <= room:
            return short
    return ""


def wrapped(text: str, size: float, room: float, *, bold: bool = False) -> tuple[str, ...]:
    """The whole text on as many lines as it needs, none wider than ``room`` points.

    Breaks between words; a word wider than ``room`` is broken where it must be.
    """
    lines, line = list[str](), ""
    for word in plain(text).split():
        longer = f"{line} {word}" if line else word
        if text_width(longer, size, bold=bold) <= room:
            line = longer
            continue
        if line:
            lines.append(line)
        line = word
        while text_width(line, size, bold=bold) > room and len(line) > 1:
            end = next(
                (n for n in range(len(line) - 1, 1, -1) if text_width(line[:n], size, bold=bold) <= room), 1
            )
            lines.append(line[:end])
            line = line[end:]
    return (*lines, line) if line else tuple(lines)


def in_two(text: str) -> tuple[str, ...]:
    """The text broken in two lines as equal as its words allow; one line for a single word."""
    words = plain(text).split()
    breaks = [(" ".join(words[:n]), " ".join(words[n:])) for n in range(1, len(words))]
    if not breaks:
        return (plain(text),)
    return min(breaks, key=lambda pair: max(len(pair[0]), len(pair[1])))


def write(
    ax: Axes,
    x: float,
    y: float,
    text: str,
    size: float,
    *,
    bold: bool = False,
    color: str = INK,
    ha: Literal["left", "center", "right"] = "center",
    va: Literal["top", "center", "bottom", "baseline"] = "center",
    rotation: float = 0,
    gid: str | None = None,
) -> Text:
    """Text at a place in data coordinates, never read as markup."""
    written = ax.text(
        x,
        y,
        plain(text),
        fontsize=size,
        fontfamily=FAMILY,
        fontweight="bold" if bold else "normal",
        color=color,
        ha=ha,
        va=va,
        rotation=rotation,
        zorder=6,
        parse_math=False,
        usetex=False,
        clip_on=False,
        # Told none, each text would work out that of its axes, and not use it either.
        clip_path=_NO_CLIP,
    )
    written.set_gid(gid)
    return written
