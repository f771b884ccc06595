"""A traced drawing as SVG, either to stand in a page or as a file of its own."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from html import escape
from typing import Final

from nesting.drawing.lettering import FAMILY
from nesting.drawing.trace import HATCH_STROKE, TILE, Box, Drawing, Hatch, Outline, Verbs, Words

_FONTS: Final = f"'{FAMILY}', Verdana, sans-serif"


@dataclass(frozen=True, slots=True)
class Link:
    """Where a click on an outline leads.

    Attributes
    ----------
    href
        The address.
    label
        What it is called by a reader of the screen.
    about
        Carried as ``data-about``, for whoever wants to find what belongs together.
    """

    href: str
    label: str
    about: str = ""

    @property
    def opening(self) -> str:
        """The tag that opens it."""
        return (
            f'<a href="{escape(self.href)}" aria-label="{escape(self.label)}" '
            f'data-about="{escape(self.about)}">'
        )


def svg(
    drawing: Drawing,
    *,
    alt: str,
    prefix: str,
    size: tuple[str, str] | None = None,
    hatches: dict[Hatch, str] | None = None,
    links: Mapping[str, Link] | None = None,
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
    links
        By the name of an outline, where a click on it leads; without any the drawing is one picture.
    """
    names: dict[Hatch, str] = {} if hatches is None else hatches
    boxes: dict[Box, str] = {}
    shapes: dict[Verbs, str] = {}
    for mark in drawing.marks:
        if isinstance(mark, Outline) and mark.hatch is not None:
            names.setdefault(mark.hatch, f"{prefix}-h{len(names)}")
            shapes.setdefault(mark.verbs, f"{prefix}-s{len(shapes)}")
        if isinstance(mark, Outline) and mark.clip is not None:
            boxes.setdefault(mark.clip, f"{prefix}-c{len(boxes)}")
    width, height = size or (f"{_n(drawing.width)}pt", f"{_n(drawing.height)}pt")
    role = "img" if links is None else "group"
    head = (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{width}" height="{height}" '
        f'viewBox="0 0 {_n(drawing.width)} {_n(drawing.height)}" role="{role}" aria-label="{escape(alt)}" '
        f'font-family="{escape(_FONTS)}">'
    )
    parts = [head, f"<title>{escape(alt)}</title>"]
    defs = [_clip(_box(box), name) for box, name in boxes.items()]
    defs += [_clip(verbs, name) for verbs, name in shapes.items()]
    if hatches is None:
        defs += [_tile(hatch, name) for hatch, name in names.items()]
    if defs:
        parts.append(f"<defs>{''.join(defs)}</defs>")
    for mark in drawing.marks:
        if isinstance(mark, Words):
            parts.append(_words(mark))
        else:
            outline = _outline(mark, names, shapes, "" if mark.clip is None else boxes[mark.clip])
            link = (links or {}).get(mark.name)
            parts += outline if link is None else (link.opening, *outline, "</a>")
    return "\n".join([*parts, "</svg>"])


def patterns(hatches: dict[Hatch, str]) -> str:
    """An ``<svg>`` without room of its own that holds the hatches of a whole page."""
    held = "".join(_tile(hatch, name) for hatch, name in hatches.items())
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0" aria-hidden="true" '
        f'style="position:absolute"><defs>{held}</defs></svg>'
    )


def _clip(verbs: Verbs, name: str) -> str:
    return f'<clipPath id="{name}"><path d="{path_data(verbs)}"/></clipPath>'


def _box(box: Box) -> Verbs:
    x, y, right, bottom = box
    return (("M", (x, y)), ("L", (right, y)), ("L", (right, bottom)), ("L", (x, bottom)), ("Z", ()))


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def path_data(verbs: Verbs) -> str:
    """The ``d`` of an SVG path."""
    return "".join(letter + " ".join(_n(value) for value in points) for letter, points in verbs)


def _tile(hatch: Hatch, name: str) -> str:
    """One square of a hatch. It is no ``<pattern>``, which browsers print as a picture of many megabytes."""
    return (
        f'<path id="{name}" d="{path_data(hatch.verbs)}" fill="none" stroke="{hatch.color}" '
        f'stroke-width="{HATCH_STROKE}"/>'
    )


def _outline(mark: Outline, names: dict[Hatch, str], shapes: dict[Verbs, str], clip: str) -> Iterator[str]:
    data, cut = path_data(mark.verbs), f' clip-path="url(#{clip})"' if clip else ""
    stroke = ""
    if mark.stroke is not None:
        stroke = f' stroke="{mark.stroke}" stroke-width="{_n(mark.width)}"'
        if mark.dash:
            stroke += f' stroke-dasharray="{" ".join(_n(dash) for dash in mark.dash)}"'
    if mark.hatch is None:
        yield f'<path d="{data}" fill="{mark.fill or "none"}"{stroke}{cut}/>'
        return
    if mark.fill is not None:
        yield f'<path d="{data}" fill="{mark.fill}"{cut}/>'
    squares = "".join(_squares(mark.verbs, names[mark.hatch]))
    yield f'<g{cut}><g clip-path="url(#{shapes[mark.verbs]})">{squares}</g></g>'
    if stroke:
        yield f'<path d="{data}" fill="none"{stroke}{cut}/>'


def _squares(verbs: Verbs, name: str) -> Iterator[str]:
    """The squares of a hatch that cover a shape, counted from the corner of the drawing."""
    xs = [x for _, points in verbs for x in points[0::2]]
    ys = [y for _, points in verbs for y in points[1::2]]
    for column in range(int(min(xs) // TILE), int(max(xs) // TILE) + 1):
        for row in range(int(min(ys) // TILE), int(max(ys) // TILE) + 1):
            yield f'<use href="#{name}" x="{_n(column * TILE)}" y="{_n(row * TILE)}"/>'


def _words(mark: Words) -> str:
    bold = ' font-weight="bold"' if mark.bold else ""
    turn = f' transform="rotate({_n(-mark.turn)} {_n(mark.x)} {_n(mark.y)})"' if mark.turn else ""
    # The length holds a text to its room where another font stands in for ours.
    room = f' textLength="{_n(mark.room)}" lengthAdjust="spacingAndGlyphs"' if mark.room else ""
    return (
        f'<text x="{_n(mark.x)}" y="{_n(mark.y)}" font-size="{_n(mark.size)}"{bold} fill="{mark.color}"'
        f"{room}{turn}>{escape(mark.text)}</text>"
    )
