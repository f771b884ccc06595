"""The drawing of a lesson: the window to measure, and beside it the panel to cut, with one set of letters."""

from __future__ import annotations

from typing import Final

from matplotlib.figure import Figure

from nesting.drawing import lettered_panel
from nesting.drawing.frame import sheet_axes
from nesting.drawing.lettered_panel import LetteredPanel, draw_lettered_panel
from nesting.drawing.marker import new_sheet
from nesting.drawing.stroke import strokes
from nesting.drawing.window import HEIGHT, WindowLook, draw_window, sketch_height

#: What stays empty at the left of the window's sketch.
_MARGIN: Final = 22.0


def lesson_sketch(window: WindowLook, panel: LetteredPanel) -> Figure:
    """Both side by side; ``window`` is best not drawn wide."""
    high = max(sketch_height(window), lettered_panel.HEIGHT)
    across = window.width - _MARGIN
    with strokes():
        figure = new_sheet(across + lettered_panel.WIDTH, high)
        up = high - HEIGHT
        draw_window(sheet_axes(figure, -_MARGIN, up, window.width, HEIGHT), window)
        low = high - lettered_panel.HEIGHT
        axes = sheet_axes(figure, across, low, lettered_panel.WIDTH, lettered_panel.HEIGHT)
        draw_lettered_panel(axes, panel)
    return figure
