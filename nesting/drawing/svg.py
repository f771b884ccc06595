"""A traced drawing as SVG, either to stand in a page or as a file of its own."""

from __future__ import annotations

from collections.abc import Iterator
from html import escape
from typing import Final

from nesting.drawing.lettering import FAMILY
from nesting.drawing.trace import HATCH_STROKE, TILE, Box, Drawing, Hatch, Outline, Verbs, Words

_FONTS: Final = f"'{FAMILY}', Verdana, sans-serif"


def svg(
    drawing: Drawing,
    *,
    alt: str,
    prefix: str,
    size: tuple[str, str] | None = None,
    hatches: dict[Hatch, str] | None = None,
) -> str:
    """The drawing as an ``<svg>`` element.

    Parameters
    ----------
    drawing
        What to show.
    alt
        What a person who cannot see it is told.
    prefix
        Begins all ids inside, so that several drawings can stand in one page.
    size
        Width and height with their units (``"1371.6mm"``); default: as wide as the page allows.
    hatches
        Names of hatches that the page holds for all its drawings, added to as needed; see `patterns`.
        Default: the drawing holds its own.
    """
    names: dict[Hatch, str] = {} if hatches is None else hatches
    boxes: dict[Box, str] = {}
    for mark in drawing.marks:
        if isinstance(mark, Outline) and mark.hatch is not None and mark.hatch not in names:
            names[mark.hatch] = f"{prefix}-h{len(names)}"
        if isinstance(mark, Outline) and mark.clip is not None and mark.clip not in boxes:
            boxes[mark.clip] = f"{prefix}-c{len(boxes)}"
    width, height = size or (f"{_n(drawing.width)}pt", f"{_n(drawing.height)}pt")
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" role="img" aria-label="{escape(alt)}" '
        f'font-family="{escape(_FONTS)}">'
    )
    parts = [head, f"<title>{escape(alt)}</title>"]
    defs = [_clip(box, name) for box, name in boxes.items()]
    if hatches is None:
        defs += [_pattern(hatch, name) for hatch, name in names.items()]
    if defs:
        parts.append(f"<defs>{''.join(defs)}</defs>")
    for mark in drawing.marks:
        if isinstance(mark, Words):
            parts.append(_words(mark))
        else:
            parts += _outline(mark, names, "" if mark.clip is None else boxes[mark.clip])
    return "\n".join([*parts, "</svg>"])


def patterns(hatches: dict[Hatch, str]) -> str:
    """An ``<svg>`` without room of its own that holds the hatches of a whole page."""
    held = "".join(_pattern(hatch, name) for hatch, name in hatches.items())
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0" aria-hidden="true" '
        f'style="position:absolute"><defs>{held}</defs></svg>'
    )


def _clip(box: Box, name: str) -> str:
    x, y, right, bottom = box
    rect = f'<rect x="{_n(x)}" y="{_n(y)}" width="{_n(right - x)}" height="{_n(bottom - y)}"/>'
    return f'<clipPath id="{name}">{rect}</clipPath>'


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def path_data(verbs: Verbs) -> str:
    """The ``d`` of an SVG path."""
    return "".join(letter + " ".join(_n(value) for value in points) for letter, points in verbs)


def _pattern(hatch: Hatch, name: str) -> str:
    return (
        f'<pattern id="{name}" patternUnits="userSpaceOnUse" width="{_n(TILE)}" height="{_n(TILE)}">'
        f'<path d="{path_data(hatch.verbs)}" fill="none" stroke="{hatch.colour}" '
        f'stroke-width="{HATCH_STROKE}"/></pattern>'
    )


def _outline(mark: Outline, names: dict[Hatch, str], clip: str) -> Iterator[str]:
    data, cut = path_data(mark.verbs), f' clip-path="url(#{clip})"' if clip else ""
    if mark.fill is not None and mark.hatch is not None:
        yield f'<path d="{data}" fill="{mark.fill}"{cut}/>'
    fill = mark.fill or "none"
    if mark.hatch is not None:
        fill = f"url(#{names[mark.hatch]})"
    stroke = ""
    if mark.stroke is not None:
        stroke = f' stroke="{mark.stroke}" stroke-width="{_n(mark.width)}"'
        if mark.dash:
            stroke += f' stroke-dasharray="{" ".join(_n(dash) for dash in mark.dash)}"'
    yield f'<path d="{data}" fill="{fill}"{stroke}{cut}/>'


def _words(mark: Words) -> str:
    bold = ' font-weight="bold"' if mark.bold else ""
    turn = f' transform="rotate({_n(-mark.turn)} {_n(mark.x)} {_n(mark.y)})"' if mark.turn else ""
    # The length holds a text to its room where another font stands in for ours.
    room = f' textLength="{_n(mark.room)}" lengthAdjust="spacingAndGlyphs"' if mark.room else ""
    return (
        f'<text x="{_n(mark.x)}" y="{_n(mark.y)}" font-size="{_n(mark.size)}"{bold} fill="{mark.colour}"'
        f"{room}{turn}>{escape(mark.text)}</text>"
    )
