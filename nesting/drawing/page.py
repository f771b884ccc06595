"""Markers as files: PNG and SVG in one picture, and as pages along the bolt.

Nothing in them depends on the day or on chance: the same plan gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from matplotlib.figure import Figure

from nesting.drawing.folds import draw_folds
from nesting.drawing.frame import ABOVE, BELOW, BESIDE, Frame, ratio_of, scale_of, sheet_axes
from nesting.drawing.legend import LegendLine, Setting, draw_legend, entries, pages, set_entries
from nesting.drawing.lettering import write
from nesting.drawing.marker import draw_foot, draw_row, marker_figure, new_sheet, numbers_on
from nesting.drawing.pieces import shows
from nesting.drawing.rows import cut_in_two, fold, legible, to_explain
from nesting.drawing.stroke import strokes
from nesting.drawing.title import draw_title, signs_height, title_height
from nesting.plan.numbering import numbering
from nesting.plan.paper import Paper
from nesting.plan.plan import FabricLayout, Plan
from nesting.plan.pulls import pulls

#: Width and height of the sheets lying on their side, in points.
SHEETS: Final[dict[Paper, tuple[float, float]]] = {"a4": (841.89, 595.28), "letter": (792.0, 612.0)}
_MARGIN: Final = 24.0
_ELSEWHERE: Final = "The numbers are explained on the last pages of this bolt."
_BETWEEN: Final = 6.0
_LARGEST: Final = 9.0
# Parts of the largest scale the sheet allows, tried from the first: a smaller drawing leaves room for the
# legend of its pieces, and may end its pages between pieces. Without such a scale, legible numbers come
# first, then a legend on the page itself.
_SMALLER: Final = (1.0, 0.95, 0.9, 0.85, 0.8, 0.75, 0.7)
_COARSE: Final = (1.0, 0.85, 0.7)
_LEAST_ROOM: Final = 100.0
# Rows on a page, tried in turn where a bolt takes many pages.
_ROWS: Final = (1, 2, 3)


@dataclass(frozen=True, slots=True)
class _Page:
    """One page: stretches of the bolt with their legend, or (without frames) legend only.

    ``complete`` is false where the page has no room for the legend of its own pieces.
    """

    layout: FabricLayout
    frames: tuple[Frame, ...]
    numbers: Mapping[str, str]
    legend: Setting | None
    complete: bool = True


def marker_pages(plan: Plan, layouts: Sequence[FabricLayout], paper: Paper) -> Iterator[Figure]:
    """The pages of several bolts as figures, numbered through all of them."""
    sheet = SHEETS[paper]
    with strokes():
        laid_out = [page for layout in layouts for page in _pages(plan, layout, sheet)]
    for number, page in enumerate(laid_out, start=1):
        with strokes():
            figure = _draw_page(plan, page, sheet, f"page {number} of {len(laid_out)}")
        yield figure


def page_figures(
    plan: Plan,
    layout: FabricLayout,
    *,
    paper: Paper = "a4",
    room: tuple[float, float] | None = None,
    called: str = "page",
    most: int | None = None,
) -> Iterator[Figure]:
    """The pages of one layout as figures, numbered by themselves.

    Parameters
    ----------
    plan, layout, paper
        What is drawn, and on what.
    room
        Width and height in points where a page is not the whole sheet.
    called
        What a page is called in its corner.
    most
        A bolt of more pages gets two or three rows on each, if every piece can still be told.
    """
    sheet = room or SHEETS[paper]
    with strokes():
        laid_out = _pages(plan, layout, sheet) if most is None else _fewer(plan, layout, sheet, most)
    for number, page in enumerate(laid_out, start=1):
        with strokes():
            figure = _draw_page(plan, page, sheet, f"{called} {number} of {len(laid_out)}")
        yield figure


def _fewer(plan: Plan, layout: FabricLayout, sheet: tuple[float, float], most: int) -> list[_Page]:
    """Pages of so many rows that there are at most so many, or of as many rows as can be read."""
    best: list[_Page] | None = None
    # A bolt this many times as long as a page is tall will not do with one row, and need not be tried so.
    long = (layout.length or 0) > 2 * most * max(layout.full_width, layout.usable)
    for rows in _ROWS[1:] if long else _ROWS:
        pages = _pages(plan, layout, sheet, rows, _COARSE if long else _SMALLER)
        frames = [frame for page in pages for frame in page.frames]
        numbers = pages[0].numbers
        if rows > 1 and not legible(layout, plan.job.units, frames, numbers):
            break
        best = pages if best is None else min(best, pages, key=len)
        if len(best) <= most:
            break
    return best or _pages(plan, layout, sheet, parts=_COARSE)


def _pages(
    plan: Plan,
    layout: FabricLayout,
    sheet: tuple[float, float],
    rows: int = 1,
    parts: Sequence[float] | None = None,
) -> list[_Page]:
    unit = plan.job.units
    inner, tall = sheet[0] - 2 * _MARGIN, sheet[1] - 2 * _MARGIN
    head = title_height(plan, layout, inner, "page 100 of 100") + _BETWEEN
    foot = signs_height(layout, inner) + _BETWEEN
    fabric = max(layout.full_width, layout.usable)
    room = max(_LEAST_ROOM, (tall - head - foot + _BETWEEN) / rows - _BETWEEN - ABOVE - BELOW)
    largest = max(_LARGEST, ratio_of(room / fabric))
    choices, numbers = [], numbers_on(layout, numbering(plan.layouts))
    for part in parts or _SMALLER:
        scale = scale_of(largest / part)
        frames = fold(layout, max(1, int((inner - 2 * BESIDE) / scale)), scale)
        listed = entries(layout, unit, to_explain(layout, unit, frames, numbers), numbers)
        left = rows * (room - scale * fabric) - _BETWEEN
        shares = [frames[at : at + rows] for at in range(0, len(frames), rows)]
        done = [
            _Page(layout, share, numbers, *_own_legend(layout, share, listed, inner, left))
            for share in shares
        ]
        complete = all(page.complete for page in done)
        if not complete:
            done += [_Page(layout, (), numbers, setting) for setting in pages(listed, inner, tall - head)]
        merit = (legible(layout, unit, frames, numbers), complete, not cut_in_two(layout, frames))
        if all(merit):
            return done
        choices.append((merit, done))
    return max(choices, key=lambda choice: choice[0])[1]


def _own_legend(
    layout: FabricLayout, frames: Sequence[Frame], listed: Sequence[LegendLine], width: float, room: float
) -> tuple[Setting | None, bool]:
    """The legend of the pieces on one page, where it fits, and whether none of it is missing."""
    here = {laid.piece.id for laid in layout.placements for frame in frames if shows(laid, frame)}
    own = [entry for entry in listed if entry.piece in here]
    setting = set_entries(own, width, tallest=room) if own else None
    return setting, setting is not None or not own


def _draw_page(plan: Plan, page: _Page, sheet: tuple[float, float], number: str) -> Figure:
    figure = new_sheet(*sheet)
    inner = sheet[0] - 2 * _MARGIN
    head = title_height(plan, page.layout, inner, number)
    draw_title(sheet_axes(figure, _MARGIN, _MARGIN, inner, head), plan, page.layout, inner, number)
    top = _MARGIN + head + _BETWEEN
    for frame in page.frames:
        unit = plan.job.units
        top = draw_row(figure, page.layout, unit, frame, page.numbers, (_MARGIN, top)) + _BETWEEN
    if plan.job.table is not None:
        draw_folds(figure, page.layout, pulls(page.layout, plan.job.table.length), plan.job.units)
    if page.frames:
        draw_foot(figure, page.layout, page.legend, (_MARGIN, top), inner)
        if not page.complete:
            below = sheet_axes(figure, _MARGIN, sheet[1] - _MARGIN, inner, _MARGIN / 2)
            write(below, 0, _MARGIN / 4, _ELSEWHERE, 7.0, ha="left", gid="legend-elsewhere")
    elif page.legend is not None:
        draw_legend(sheet_axes(figure, _MARGIN, top, inner, page.legend.height), page.legend)
    return figure


def figure_png(figure: Figure, dpi: int = 150) -> bytes:
    """The figure as PNG bytes."""
    buffer = io.BytesIO()
    with strokes():
        figure.savefig(buffer, format="png", dpi=dpi, metadata={"Software": "nesting"})
    return buffer.getvalue()


def figure_svg(figure: Figure) -> bytes:
    """The figure as SVG bytes."""
    buffer = io.BytesIO()
    with strokes():
        figure.savefig(buffer, format="svg", metadata={"Creator": "nesting", "Date": None})
    return buffer.getvalue()


def marker_pictures(plan: Plan, layout: FabricLayout) -> tuple[bytes, bytes]:
    """The whole bolt in one picture, drawn once: as PNG bytes, and as SVG bytes."""
    figure = marker_figure(plan, layout)
    return figure_png(figure), figure_svg(figure)


def marker_png(plan: Plan, layout: FabricLayout, dpi: int = 150) -> bytes:
    """The whole bolt in one picture, as PNG bytes."""
    return figure_png(marker_figure(plan, layout), dpi)


def marker_svg(plan: Plan, layout: FabricLayout) -> bytes:
    """The whole bolt in one picture, as SVG bytes."""
    return figure_svg(marker_figure(plan, layout))
