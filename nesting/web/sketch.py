"""The window drawn beside its fields: every dimension is on it, and the one being typed is picked out.

Not to scale, so that half an inch of clearance is as easy to find as a rod of seven feet. Each dimension is a
group of the class ``dim-KEY``; the style sheet shows the one whose field has the cursor.
"""

from __future__ import annotations

from typing import Final

from markupsafe import Markup

from nesting.headings import HEADINGS, USUAL
from nesting.headings.look import Sits

_L: Final = 78.0
_R: Final = 262.0
_ROD: Final = 46.0
_FLOOR: Final = 218.0
_HEM: Final = 206.0


def sketch(name: str, heading: str = USUAL, hangs: str = "rod") -> Markup:
    """The drawing for the window of that name, by its heading and what it hangs from."""
    carrier = "track" if hangs == "track" else "rod with rings" if hangs == "rings" else "rod"
    alt = f"{name}: {carrier}, drape, sill and floor, seen from the room, with its dimensions. Not to scale."
    eye = _ROD + {"rings": 18, "track": 12}.get(hangs, 0)
    sits = HEADINGS.get(heading, HEADINGS[USUAL]).sits
    top = _top_edge(sits, hangs, eye)
    parts = (
        _wall(),
        _drape(top),
        _hangers(sits, hangs, top, eye),
        _rod(knobs=hangs != "track"),
        *(_dimension(key, shape, at) for key, shape, at in _dimensions(top, eye)),
    )
    body = Markup("").join(Markup(part) for part in parts)
    return Markup(
        '<svg class="sketch" viewBox="0 0 340 236" role="img" aria-label="{}" fill="none" '
        'stroke="currentColor" stroke-width="1.3" stroke-linecap="round">{}</svg>'
    ).format(alt, body)


def _top_edge(sits: Sits, hangs: str, eye: float) -> float:
    """How far down the sheet the fabric begins: above the rod, below it, or by the eye of a ring or track."""
    if hangs == "rod":
        return _ROD + 18 if sits == "below" else _ROD - 10
    return eye if sits == "at" else eye - 5


def _hangers(sits: Sits, hangs: str, top: float, eye: float) -> str:
    """Loops, rings with their eyes, or hooks below a track."""
    places = [left + n * 11.5 for left in (_L - 4, _R - 42) for n in (0.5, 2, 3.5)]
    if hangs == "rings":
        half = (eye - _ROD - 4) / 2
        rings = "".join(f'<circle cx="{x:g}" cy="{_ROD + half - 2:g}" r="{half + 1:g}"/>' for x in places)
        return rings + "".join(f'<circle cx="{x:g}" cy="{eye - 2:g}" r="2"/>' for x in places)
    if hangs == "track":
        return "".join(
            f'<path d="M{x:g} {_ROD}V{eye - 4:g}"/><circle cx="{x:g}" cy="{eye - 2:g}" r="2"/>'
            for x in places
        )
    if sits == "below":
        return "".join(f'<path d="M{x - 3:g} {top}V{_ROD - 3}h6V{top}"/>' for x in places)
    return ""


def _wall() -> str:
    return (
        '<path class="glass" d="M104 66H236V164H104z"/><path d="M170 66V164M104 115H236" stroke-width="0.7"/>'
        '<path d="M98 164H242V169H98z"/>'
        f'<path d="M20 {_FLOOR}H320" stroke-width="2"/>'
    )


def _drape(top: float) -> str:
    panels = []
    for left, right in ((_L - 4, _L + 42), (_R - 42, _R + 4)):
        step = (right - left) / 4
        folds = "".join(
            f'<path d="M{left + n * step:g} {top + 10}V{_HEM - 5}" stroke-width="0.6"/>' for n in (1, 2, 3)
        )
        panels.append(
            f'<path class="fabric" d="M{left:g} {top}H{right:g}V{_HEM}H{left:g}z"/>{folds}'
            f'<path d="M{left:g} {_HEM - 14}H{right:g}" stroke-dasharray="3 2" stroke-width="0.8"/>'
        )
    return "".join(panels)


def _rod(*, knobs: bool) -> str:
    bar = f'<path d="M{_L - 10} {_ROD}H{_R + 10}" stroke-width="5"/>'
    if not knobs:
        return bar
    return (
        f'{bar}<circle cx="{_L - 14}" cy="{_ROD}" r="5" class="knob"/>'
        f'<circle cx="{_R + 14}" cy="{_ROD}" r="5" class="knob"/>'
    )


def _across(x: float, x2: float, y: float) -> str:
    return f'<path d="M{x:g} {y:g}H{x2:g}M{x:g} {y - 5:g}v10M{x2:g} {y - 5:g}v10"/>'


def _down(x: float, y: float, y2: float) -> str:
    return f'<path d="M{x:g} {y:g}V{y2:g}M{x - 5:g} {y:g}h10M{x - 5:g} {y2:g}h10"/>'


def _dimension(key: str, shape: str, at: tuple[float, float, str]) -> str:
    x, y, words = at
    return (
        f'<g class="dim dim-{key}">{shape}'
        f'<text x="{x:g}" y="{y:g}" text-anchor="middle" stroke="none" fill="currentColor">{words}</text></g>'
    )


def _dimensions(top: float, eye: float) -> tuple[tuple[str, str, tuple[float, float, str]], ...]:
    """Key, shape and words of every dimension."""
    return (
        ("rod", _across(_L, _R, 20), (170, 14, "rod")),
        ("rod_diameter", _down(170, _ROD - 3, _ROD + 3), (170, 62, "thickest part of the rod")),
        ("finished_length", _down(52, top, _HEM), (58, 230, "finished length")),
        ("rod_height", _down(300, _ROD - 2.5, _FLOOR), (276, 230, "floor to top of rod")),
        ("ring_drop", _down(140, _ROD - 2.5, eye), (190, 82, "top of rod to eye or clip")),
        ("eye_height", _down(300, eye, _FLOOR), (276, 230, "floor to hook's hole")),
        ("clearance", _down(140, _HEM, _FLOOR), (170, 200, "above the floor")),
        ("returns", f'<path d="M{_L - 4} {_ROD}l-22 -14M{_R + 4} {_ROD}l22 -14"/>', (44, 24, "return")),
        ("overlap", _across(160, 180, 76), (170, 92, "overlap")),
        ("bottom_hem", _down(128, _HEM - 14, _HEM), (166, 188, "bottom hem")),
        ("side_hem", _across(_L - 4, _L + 4, 130), (82, 148, "side hem")),
        ("heading_depth", _down(128, top, top + 14), (170, 34, "heading")),
        ("flat_width", _across(_L - 4, _L + 42, 104), (98, 98, "laid flat")),
        ("fullness", _across(_L - 4, _L + 42, 104), (98, 98, "folds")),
        ("covers", _across(_L, _L + 42, 28), (99, 24, "covers")),
        ("lining_cover", _down(66, top, top + 12), (100, 72, "lining starts")),
    )
