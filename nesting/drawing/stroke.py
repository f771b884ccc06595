"""One set of matplotlib settings for every drawing, whatever the reader's own settings are."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any, Final

import matplotlib
from matplotlib.axes import Axes
from matplotlib.lines import Line2D

from nesting.drawing.lettering import FAMILY
from nesting.drawing.palette import HATCH_WIDTH, INK, PAPER

# Typed as Any: the stubs of some matplotlib releases list the settings by name, others do not.
_SETTINGS: Final[Any] = {
    "font.family": [FAMILY],
    "text.usetex": False,
    "text.parse_math": False,
    # Without hinting a text is as wide on every screen as on paper, so that what was measured fits.
    "text.hinting": "no_hinting",
    "text.color": INK,
    "hatch.linewidth": HATCH_WIDTH,
    "axes.facecolor": PAPER,
    "axes.edgecolor": INK,
    "axes.linewidth": 0.8,
    "lines.solid_capstyle": "butt",
    "lines.dash_capstyle": "butt",
    "figure.constrained_layout.use": False,
    "figure.autolayout": False,
    "savefig.bbox": None,
    "savefig.facecolor": "auto",
    "path.simplify": True,
    "path.sketch": None,
    "pdf.fonttype": 42,
    "pdf.compression": 6,
    "svg.fonttype": "path",
    # With a salt of our own the ids inside an SVG depend on the drawing alone.
    "svg.hashsalt": "nesting",
}


def ruled(
    ax: Axes,
    start: tuple[float, float],
    end: tuple[float, float],
    *,
    color: str = INK,
    width: float = 0.7,
    dashes: tuple[float, ...] = (),
) -> None:
    """A line between two places of a drawing, above what is filled."""
    line = Line2D((start[0], end[0]), (start[1], end[1]), color=color, linewidth=width, zorder=4)
    if dashes:
        line.set_linestyle((0, dashes))
    ax.add_artist(line)


def strokes() -> AbstractContextManager[None]:
    """The settings while drawing and saving."""
    return matplotlib.rc_context(_SETTINGS)
