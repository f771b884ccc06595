"""Markers as files: PNG and SVG in one picture, PDF in pages along the bolt.

Nothing in them depends on the day or on chance: the same plan gives the same bytes.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final, Literal

from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure

from nesting.drawing.frame import ABOVE, BELOW, Frame, ratio_of, scale_of, sheet_axes
from nesting.drawing.legend import Entry, Setting, draw_legend, entries, pages, set_entries
from nesting.drawing.lettering import write
from nesting.drawing.marker import best_scale, draw_foot, draw_row, marker_figure, new_sheet
from nesting.drawing.pieces import shows
from nesting.drawing.rows import legible, number_pieces
from nesting.drawing.stroke import strokes
from nesting.drawing.title import draw_title, signs_height, title_height
from nesting.plan import ClothLayout, Plan

Sheet = Literal["a4", "letter"]

#: Width and height of the sheets lying on their side, in points.
SHEETS: Final[dict[Sheet, tuple[float, float]]] = {"a4": (841.89, 595.28), "letter": (792.0, 612.0)}
_MARGIN: Final = 24.0
_ELSEWHERE: Final = "The numbers are explained on the last pages of this bolt."
_BETWEEN: Final = 6.0
_LARGEST: Final = 9.0
# Points of a page kept for its legend, tried from the first; a legend that fits in none of them goes
# to pages of its own.
_LEGEND_ROOMS: Final = (34.0, 46.0, 65.0, 90.0)


@dataclass(frozen=True, slots=True)
class _Page:
    """One page: a stretch of the bolt with its legend, or (frame None) legend only.

    ``complete`` is false where the page has no room for the legend of its own pieces.
    """

    layout: ClothLayout
    frame: Frame | None
    keys: Mapping[str, int]
    legend: Setting | None
    complete: bool = True


def marker_pdf(
    plan: Plan, layouts: Sequence[ClothLayout] | None = None, *, paper: Sheet | None = None
) -> bytes:
    """A PDF with the markers page by page along each bolt.

    Parameters
    ----------
    plan
        The plan.
    layouts
        Which of the plan's layouts; default: all.
    paper
        Default: Letter for jobs in inches, A4 for metric ones.
    """
    sheet = SHEETS[paper or ("letter" if plan.job.units == "in" else "a4")]
    buffer = io.BytesIO()
    with strokes():
        laid_out = [
            page
            for layout in (plan.layouts if layouts is None else layouts)
            for page in _pages(plan, layout, sheet)
        ]
        info = {"Title": plan.job.title, "Creator": "nesting", "Producer": "nesting", "CreationDate": None}
        with PdfPages(buffer, metadata=info) as pdf:
            for number, page in enumerate(laid_out, start=1):
                pdf.savefig(_draw_page(plan, page, sheet, f"page {number} of {len(laid_out)}"))
    return buffer.getvalue()


def page_figures(plan: Plan, layout: ClothLayout, *, paper: Sheet = "a4") -> Iterator[Figure]:
    """The pages of one layout as figures, numbered by themselves."""
    with strokes():
        laid_out = _pages(plan, layout, SHEETS[paper])
        figures = [
            _draw_page(plan, page, SHEETS[paper], f"page {number} of {len(laid_out)}")
            for number, page in enumerate(laid_out, start=1)
        ]
    yield from figures


def _pages(plan: Plan, layout: ClothLayout, sheet: tuple[float, float]) -> list[_Page]:
    unit = plan.job.units
    inner, tall = sheet[0] - 2 * _MARGIN, sheet[1] - 2 * _MARGIN
    head = title_height(plan, layout, inner, "page 100 of 100") + _BETWEEN
    foot = signs_height(layout, inner) + _BETWEEN
    cloth = max(layout.bolt.width, layout.usable)
    room = tall - head - foot - ABOVE - BELOW
    for spare in (*_LEGEND_ROOMS, 0.0):
        ratio = max(_LARGEST, ratio_of((room - spare) / cloth))
        frames, _ = best_scale(layout, unit, inner, (ratio,))
        keys = number_pieces(layout, unit, frames)
        listed = entries(layout, unit, keys)
        left = room - scale_of(ratio) * cloth - _BETWEEN
        done = [
            _Page(layout, frame, keys, *_own_legend(layout, frame, listed, inner, left)) for frame in frames
        ]
        if legible(layout, unit, frames) and all(page.complete for page in done):
            return done
    return done + [_Page(layout, None, keys, setting) for setting in pages(listed, inner, tall - head)]


def _own_legend(
    layout: ClothLayout, frame: Frame, listed: Sequence[Entry], width: float, room: float
) -> tuple[Setting | None, bool]:
    """The legend of the pieces on one page, where it fits, and whether none of it is missing."""
    here = {laid.piece.id for laid in layout.placements if shows(laid, frame)}
    own = [entry for entry in listed if entry.piece in here]
    setting = set_entries(own, width, tallest=room) if own else None
    return setting, setting is not None or not own


def _draw_page(plan: Plan, page: _Page, sheet: tuple[float, float], number: str) -> Figure:
    figure = new_sheet(*sheet)
    inner = sheet[0] - 2 * _MARGIN
    head = title_height(plan, page.layout, inner, number)
    draw_title(sheet_axes(figure, _MARGIN, _MARGIN, inner, head), plan, page.layout, inner, number)
    top = _MARGIN + head + _BETWEEN
    if page.frame is not None:
        unit = plan.job.units

        top = draw_row(figure, page.layout, unit, page.frame, page.keys, (_MARGIN, top)) + _BETWEEN
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


def marker_png(plan: Plan, layout: ClothLayout, dpi: int = 150) -> bytes:
    """The whole bolt in one picture, as PNG bytes."""
    return figure_png(marker_figure(plan, layout), dpi)


def marker_svg(plan: Plan, layout: ClothLayout) -> bytes:
    """The whole bolt in one picture, as SVG bytes."""
    return figure_svg(marker_figure(plan, layout))
