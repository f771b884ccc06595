"""A finished panel on its rod, drawn: what it is measured from and to."""

from __future__ import annotations

from nesting.drawing.operations.edge_views import WIDE
from nesting.drawing.operations.pen import StepPen
from nesting.drawing.trace import Drawing
from nesting.instructions import Telling, ToldStep, hung_length
from nesting.sewing import Work


def hang_view(step: ToldStep, telling: Telling) -> Drawing | None:
    """The first panel that something carries, hung, with its length as it hangs; None where there is none."""
    panel = next((work for work in step.table if work.carriers), None)
    return None if panel is None else _hung(panel, telling)


def _hung(panel: Work, telling: Telling) -> Drawing:
    pen, length = StepPen(WIDE, 84.0), hung_length(panel, telling)
    kind, top, left, right = panel.carriers[0].kind, 16.0, 34.0, 94.0
    top = {"tab": 20.0, "clip": 22.0, "hook": 18.0}.get(kind, 8.0)
    pen.fabric(((left, top), (right, top), (right, 78), (left, 78)), "right")
    pen.line(((left, top), (right, top), (right, 78), (left, 78), (left, top)))
    for x in (left + 18, left + 32, left + 46):
        pen.line(((x, top + 14), (x, 76)), "thin")
    across = ((20.0, 8.0), (108.0, 8.0)), ((20.0, 13.0), (108.0, 13.0))
    if kind in ("loop", "pocket"):
        across = ((20.0, 12.0), (108.0, 12.0)), ((20.0, 17.0), (108.0, 17.0))
        for line in across:
            pen.line((line[0], (left, line[0][1])))
            pen.line(((right, line[0][1]), line[1]))
            pen.line(((left, line[0][1]), (right, line[0][1])), "fold")
    else:
        for line in across:
            pen.line(line)
    for x in (left, left + 25, right - 10):
        if kind == "tab":
            pen.box(x, 6, x + 10, top, "right")
        elif kind in ("clip", "hook"):
            pen.ring((x + 5, 11), 5.5)
            pen.line(((x + 5, 16), (x + 5, top + 3)))
        elif kind == "ring":
            pen.ring((x + 5, top + 5), 4.0)
    pen.gap((left - 1, 50), (right + 1, 50))
    pen.size((right + 9, top), (right + 9, 78), "")
    pen.words(right + 12, 62, telling.bare(length), at="left")
    return pen.drawing()
