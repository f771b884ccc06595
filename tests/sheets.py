"""Reading figures back: where texts, pieces and rows of a drawing come out, in points of the sheet."""

from __future__ import annotations

from functools import cache

import numpy as np
import plans
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure
from matplotlib.text import Text

from nesting.drawing.marker import marker_figure
from nesting.drawing.page import page_figures
from nesting.drawing.pieces import tag
from nesting.drawing.stroke import strokes
from nesting.plan.plan import FabricLayout, Laid, Plan

FIXTURES = ("back_tab", "half_drop", "sheer", "on_hand", "long_bolt")
#: Directions of TOP on the page (right, up): the fabric is turned so that its length runs to the right.
ON_PAGE = {"up": (1, 0), "down": (-1, 0), "left": (0, 1), "right": (0, -1)}


@cache
def plan(name: str) -> Plan:
    return getattr(plans, name)()


@cache
def figures(name: str) -> tuple[Figure, ...]:
    """The picture of the whole bolt and the pages along it."""
    one = plan(name)
    return (marker_figure(one, one.layouts[0]), *page_figures(one, one.layouts[0]))


def with_gid(figure: Figure, start: str) -> list[tuple[Axes, object]]:
    return [
        (ax, artist)
        for ax in figure.axes
        for artist in ax.get_children()
        if (artist.get_gid() or "").startswith(start)
    ]


def texts(figure: Figure) -> list[tuple[Text, np.ndarray]]:
    """Every written text with left, bottom, right and top, in points of the sheet."""
    if not isinstance(figure.canvas, FigureCanvasAgg):
        FigureCanvasAgg(figure)
    with strokes():
        renderer = figure.canvas.get_renderer()
        return [
            (text, text.get_window_extent(renderer).extents * 72 / figure.dpi)
            for text in figure.findobj(Text)
            if text.get_text() and text.get_visible()
        ]


def box_of(ax: Axes, laid: Laid) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of the shown part of a piece, in points of the sheet."""
    (low, high) = (max(laid.y, ax.row[0]), min(laid.y + laid.length, ax.row[1]))
    corners = ax.transData.transform([(low, laid.x + laid.width), (high, laid.x)]) * 72 / ax.figure.dpi
    return (*corners[0], *corners[1])


def rows_of(figure: Figure) -> list[Axes]:
    """The Axes with fabric on them, each with its stretch as ``row``."""
    found = []
    for ax, spine in with_gid(figure, "ruler:"):
        start, end = (int(part) for part in spine.get_gid().split(":")[1:])
        ax.row = (start, end)
        ax.apply_aspect()
        found.append(ax)
    return found


def shown_in(ax: Axes, layout: FabricLayout) -> list[Laid]:
    return [one for one in layout.placements if one.y < ax.row[1] and one.y + one.length > ax.row[0]]


def artist(ax: Axes, gid: str) -> object:
    (only,) = [one for one in ax.get_children() if one.get_gid() == gid]
    return only


def assert_arrow_points(ax: Axes, laid: Laid) -> None:
    """The arrow narrows to a single point in the direction of TOP, and lies within its piece."""
    arrow = artist(ax, f"arrow:{tag(laid)}")
    points = ax.transData.transform(arrow.get_xy()[:-1]) * 72 / ax.figure.dpi
    ahead = points @ np.array(ON_PAGE[laid.arrow])
    assert np.isclose(ahead, ahead.max()).sum() == 1
    assert np.isclose(ahead, ahead.min()).sum() == 2
    left, bottom, right, top = box_of(ax, laid)
    assert left <= points[:, 0].min()
    assert points[:, 0].max() <= right
    assert bottom <= points[:, 1].min()
    assert points[:, 1].max() <= top


def assert_apart(found: list[tuple[Text, np.ndarray]]) -> None:
    boxes = np.array([box for _, box in found])
    # A twentieth of a point is less than the thinnest stroke.
    low = np.maximum(boxes[:, None, :2], boxes[None, :, :2])
    high = np.minimum(boxes[:, None, 2:], boxes[None, :, 2:])
    meet = ((high - low) > 0.05).all(axis=2)
    pairs = [(found[a][0].get_text(), found[b][0].get_text()) for a, b in np.argwhere(np.triu(meet, 1))]
    assert not pairs
