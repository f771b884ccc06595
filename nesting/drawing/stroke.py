"""One set of matplotlib settings for every drawing, whatever the reader's own settings are."""

from __future__ import annotations

from contextlib import AbstractContextManager
from typing import Any, Final

import matplotlib

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


def strokes() -> AbstractContextManager[None]:
    """The settings while drawing and saving."""
    return matplotlib.rc_context(_SETTINGS)
