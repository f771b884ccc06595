"""A packing by itself, for who works on the engine: strips side by side, parts where they lie.

``plot(problem, pack(problem), "packing.png")`` writes a picture.
"""

from __future__ import annotations

from os import PathLike
from pathlib import Path
from typing import Final

from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from nesting.drawing.lettering import write
from nesting.drawing.marker import new_sheet
from nesting.drawing.page import figure_png, figure_svg
from nesting.drawing.palette import CHALK, FABRIC, FLAW, FLAWED, INK, REPEAT, RUST
from nesting.errors import OutputError
from nesting.packing import Placement, Problem, Result

_WIDTH, _HEIGHT = 360.0, 560.0
_WORDS: Final = 7.0
#: Above so many parts their names would lie one over the other.
_MOST_NAMES: Final = 60


def plot(problem: Problem, result: Result, path: str | PathLike[str] | None = None) -> Figure:
    """The figure of a packing, an Axes for each strip that is used; written where a path is given.

    Parameters
    ----------
    problem, result
        What was packed, and what `nesting.packing.pack` made of it; without a layout the open strip is empty.
    path
        Ends in ``.png`` or ``.svg``.

    Raises
    ------
    OutputError
        The name ends in something else, or the file cannot be written.
    """
    strips = sorted({place.strip for place in result.placements}) or [0]
    figure = new_sheet(_WIDTH * len(strips), _HEIGHT)
    for ax, strip in zip(figure.subplots(1, len(strips), squeeze=False)[0], strips, strict=True):
        draw_packing(ax, problem, result, strip)
    if path is not None:
        _write(figure, Path(path))
    return figure


def draw_packing(ax: Axes, problem: Problem, result: Result, strip: int = 0) -> Axes:
    """The Axes with one strip: parts, flaws, repeats where their start is known, the length and its bound.

    x runs across from the left edge, y along from the squared end, both in the problem's numbers.
    """
    laid = [place for place in result.placements if place.strip == strip]
    bolt = problem.strips[strip]
    tops = [place.y + problem.parts[place.part].size(place.turned)[1] for place in laid]
    used = max(tops, default=0)
    full = bolt.length or max(used, result.length or 0, result.bound.length, 1)
    ax.add_patch(Rectangle((0, 0), bolt.width, full, fill=False, edgecolor=INK, gid="strip"))
    for number, flaw in enumerate(bolt.flaws):
        box = Rectangle((flaw.x, flaw.y), flaw.width, flaw.length, facecolor=FLAWED, edgecolor=FLAW)
        box.set_gid(f"flaw:{number}")
        ax.add_patch(box)
    for place in laid:
        _draw_part(ax, problem, place, named=len(laid) <= _MOST_NAMES)
    if bolt.repeat is not None and bolt.start is not None:
        for y in range(-bolt.start % bolt.repeat.length, full, bolt.repeat.length):
            ax.axhline(y, color=REPEAT, linewidth=0.6, linestyle=":", gid=f"repeat:{y}")
    if bolt.length is None:
        ax.axhline(result.bound.length, color=RUST, linewidth=1.0, linestyle="--", gid="bound")
    ax.set_xlim(0, bolt.width)
    ax.set_ylim(0, full * 1.02)
    ax.set_aspect("equal")
    ax.tick_params(labelsize=_WORDS)
    ax.locator_params(integer=True)
    ax.set_title(_words(result, strip, used, bolt.length), fontsize=_WORDS + 1)
    return ax


def _draw_part(ax: Axes, problem: Problem, place: Placement, *, named: bool) -> None:
    part = problem.parts[place.part]
    width, length = part.size(place.turned)
    box = Rectangle((place.x, place.y), width, length, facecolor=FABRIC, edgecolor=INK, linewidth=0.6)
    box.set_gid(f"part:{place.part}:{place.copy}")
    if part.match is not None:
        box.set_edgecolor(CHALK)
        box.set_linewidth(1.2)
    ax.add_patch(box)
    if named:
        write(
            ax,
            place.x + width / 2,
            place.y + length / 2,
            part.name,
            _WORDS,
            gid=f"name:{place.part}:{place.copy}",
        )


def _words(result: Result, strip: int, used: int, length: int | None) -> str:
    if length is not None:
        return f"strip {strip}: {used} of {length}"
    if result.length is None:
        return f"no layout; at least {result.bound.length}"
    return f"{result.length} long, at least {result.bound.length} ({result.bound.method})"


def _write(figure: Figure, path: Path) -> None:
    forms = {".png": figure_png, ".svg": figure_svg}
    if path.suffix.lower() not in forms:
        raise OutputError(f'{path}: "{path.suffix}": expected a name that ends in .png or .svg')
    try:
        path.write_bytes(forms[path.suffix.lower()](figure))
    except OSError as error:
        raise OutputError(f"{path}: cannot be written ({error.strerror})") from error
