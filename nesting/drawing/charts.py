"""Charts: what each bolt width needs, and how layout and proof met over time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure

from nesting.drawing.frame import POINTS_PER_INCH
from nesting.drawing.lettering import plain, text_width, wrapped, write
from nesting.drawing.marker import new_sheet
from nesting.drawing.palette import CHALK, FABRIC, FADED, INK, PAPER, RUST
from nesting.drawing.stroke import strokes
from nesting.drawing.title import money
from nesting.plan.comparison import Comparison, Option
from nesting.plan.plan import FabricLayout
from nesting.units import Unit, format_length, format_quantity, unit_ticks

_SIZE: Final = 8.5
_SMALL: Final = 7.0
_BEST: Final = "#dfeaf2"


def draw_comparison(ax: Axes, comparison: Comparison) -> Axes:
    """The Axes with a bar for each bolt: what is bought, its cost, and the proven least beside it.

    The least fabric bought, by width times length, is tinted and hatched: not always the shortest bar.
    The mark of the proven least includes the allowances, so that it compares with what is bought. A bolt
    that cannot be used says why.
    """
    job = comparison.job
    unit = job.sold_in
    longest = max((_bought(option, unit) for option in comparison.options), default=0.0) or 1.0
    several = len({option.fabric.key for option in comparison.options}) > 1
    for row, option in enumerate(comparison.options):
        ax.text(
            -0.01,
            row,
            plain(_bolt_words(option, job.units, several)),
            transform=ax.get_yaxis_transform(),
            ha="right",
            va="center",
            fontsize=_SIZE,
            color=INK,
            parse_math=False,
            gid=f"bolt:{row}",
        )
        if option.layout is None or option.layout.buy is None:
            _write_reason(ax, _why(option), row, longest)
        else:
            _draw_bar(ax, option.layout, row, comparison.honors(option), (job.currency, longest))
    ax.set_xlim(0, longest * 1.02)
    ax.set_ylim(len(comparison.options) - 0.4, -0.75)
    _dress(ax)
    ax.set_yticks([])
    words = f"bought, {unit}; the upright line is the proven least with allowances"
    if any("least fabric" in comparison.honors(option) for option in comparison.options):
        words += "; least fabric: width × length"
    ax.set_xlabel(words, fontsize=_SMALL)
    return ax


def _bought(option: Option, unit: str) -> float:
    if option.layout is None or option.layout.buy is None:
        return 0.0
    return option.layout.buy.total / unit_ticks(unit)


def _write_reason(ax: Axes, reason: str, row: int, longest: float) -> None:
    """Why there is no bar, in as many lines as it takes."""
    sheet = ax.figure
    room = ax.get_position(original=True).width * sheet.bbox.width * POINTS_PER_INCH / sheet.dpi * 0.96
    lines = wrapped(reason, _SIZE, room)
    for number, line in enumerate(lines):
        y = row + (number - (len(lines) - 1) / 2) * 0.28
        write(ax, longest * 0.01, y, line, _SIZE, color=RUST, ha="left", gid=f"reason:{row}:{number}")


def _bolt_words(option: Option, unit: Unit, several: bool) -> str:
    words = format_length(option.bolt.width, unit)
    if several:
        words = f"{option.fabric.title}, {words}"
    if option.layout is not None and option.layout.railroaded:
        words += ", turned sideways"
    return words if option.offered else f"{words} (not on offer)"


def _why(option: Option) -> str:
    if option.reason:
        return option.reason
    return "no layout found" if option.layout is None else "nothing to buy: fabric on hand"


def _draw_bar(
    ax: Axes, layout: FabricLayout, row: int, honors: Sequence[str], setting: tuple[str, float]
) -> None:
    buy = layout.buy
    assert buy is not None
    currency, longest = setting
    one, best = unit_ticks(buy.unit), "least fabric" in honors
    (bar,) = ax.barh(
        row,
        buy.total / one,
        height=0.42,
        color=_BEST if best else FABRIC,
        edgecolor=INK,
        linewidth=0.9,
        hatch="//" if best else "",
    )
    bar.set_gid(f"bar:{row}")
    allowances = buy.needed - buy.length
    if layout.bound.length:
        least = (layout.bound.length + allowances) / one
        (mark,) = ax.plot((least, least), (row - 0.32, row + 0.32), color=RUST, linewidth=2.2)
        mark.set_gid(f"least:{row}")
    words = [format_quantity(buy.total, buy.unit), money(buy, currency), *honors]
    if layout.length == layout.bound.length:
        words.append("proven shortest layout")
    text = "  ·  ".join(word for word in words if word)
    write(ax, longest * 0.005, row - 0.42, text, _SIZE, bold=best, ha="left", gid=f"bought:{row}")


def draw_progress(ax: Axes, layout: FabricLayout, unit: Unit) -> Axes:
    """The Axes with the layout's length and the proven least over the time of the search.

    Parameters
    ----------
    ax
        Where to draw.
    layout
        Its ``incumbents`` are drawn; without any the chart says so.
    unit
        Unit of the lengths.
    """
    seen, one = layout.incumbents, unit_ticks(unit)
    _dress(ax)
    if not seen:
        ax.set_xticks([])
        ax.set_yticks([])
        ax.text(
            0.5,
            0.5,
            "no steps were recorded",
            transform=ax.transAxes,
            ha="center",
            va="center",
            fontsize=_SIZE,
            color=FADED,
            parse_math=False,
        )
        return ax
    end = max(layout.seconds, *(step.seconds for step in seen))
    found = [(step.seconds, step.length / one) for step in seen if step.length is not None]
    bounds = [(step.seconds, step.bound / one) for step in seen]
    _steps(ax, found, end, CHALK, "-", "length")
    _steps(ax, bounds, end, RUST, "--", "bound")
    ax.legend(
        list(ax.lines),
        ["shortest layout so far", "proven least so far"][-len(ax.lines) :],
        fontsize=_SMALL,
        frameon=False,
        loc="best",
    )
    ax.set_xlim(0, end * 1.02 or 1)
    ax.set_xlabel("seconds of search", fontsize=_SMALL)
    ax.set_ylabel(f"length, {unit}", fontsize=_SMALL)
    return ax


def _steps(
    ax: Axes, points: Sequence[tuple[float, float]], end: float, color: str, style: str, gid: str
) -> None:
    if not points:
        return
    times = [*(second for second, _ in points), end]
    lengths = [*(length for _, length in points), points[-1][1]]
    (line,) = ax.step(times, lengths, where="post", color=color, linestyle=style, linewidth=1.6)
    line.set_gid(gid)


def _dress(ax: Axes) -> None:
    ax.set_facecolor(PAPER)
    ax.tick_params(labelsize=_SMALL, colors=INK)
    for side in ("top", "right"):
        ax.spines[side].set_visible(False)


def comparison_figure(comparison: Comparison) -> Figure:
    """The comparison as a picture of its own, as high as its bolts need."""
    several = len({option.fabric.key for option in comparison.options}) > 1
    names = [_bolt_words(option, comparison.job.units, several) for option in comparison.options]
    left = max((text_width(name, _SIZE) for name in names), default=0.0) + 34
    width, height = left + 470.0, 46.0 * max(1, len(names)) + 52.0
    with strokes():
        figure = new_sheet(width, height)
        ax = figure.add_axes((left / width, 40 / height, 440 / width, (height - 52) / height))
        draw_comparison(ax, comparison)
    return figure


def progress_figure(layout: FabricLayout, unit: Unit) -> Figure:
    """The progress of the search as a picture of its own."""
    with strokes():
        figure = new_sheet(500, 300)
        draw_progress(figure.add_axes((0.12, 0.15, 0.84, 0.8)), layout, unit)
    return figure
