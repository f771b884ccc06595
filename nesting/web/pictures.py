"""Our own line drawings for the choices of the form: headings, matches of a print, nap and its smooth way.

Plain SVG in the color of the text around it, so that it serves light and dark alike.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Final

from markupsafe import Markup

from nesting.headings import HEADINGS, USUAL
from nesting.headings.look import Drape, Ring, RodBar, Stroke

_WIDE: Final = 96
_HIGH: Final = 72


def picture(kind: str, value: str) -> Markup:
    """The drawing of one choice; empty where there is none."""
    made = _PICTURES.get(kind)
    return Markup("") if made is None else _framed(kind, value)


@lru_cache(maxsize=64)
def _framed(kind: str, value: str) -> Markup:
    inner = _PICTURES[kind](value)
    return Markup(
        f'<svg class="pic" viewBox="0 0 {_WIDE} {_HIGH}" width="{_WIDE}" height="{_HIGH}" aria-hidden="true" '
        f'focusable="false" fill="none" stroke="currentColor" stroke-width="1.5" stroke-linecap="round">'
        f"{inner}</svg>"
    )


def _line(x: float, y: float, x2: float, y2: float, more: str = "") -> str:
    return f'<path d="M{x:g} {y:g}L{x2:g} {y2:g}"{more}/>'


def _rod(y: float, more: str = "") -> str:
    ends = "".join(f'<circle cx="{x}" cy="{y:g}" r="3.5" fill="currentColor"/>' for x in (7, 89))
    return f'<path d="M7 {y:g}H89" stroke-width="3"{more}/>{ends}'


def _fabric(top: float, folds: int = 7) -> str:
    """A hanging panel with its folds and a wavy hem."""
    left, right, low = 16.0, 80.0, 64.0
    step = (right - left) / folds
    hem = f"M{left:g} {top:g}V{low:g}"
    hem += "".join(f"q{step / 2:g} 4 {step:g} 0" for _ in range(folds))
    hem += f"V{top:g}"
    inner = "".join(
        _line(left + n * step, top + 7, left + n * step - 1, low - 4, ' stroke-width="0.8" opacity="0.65"')
        for n in range(1, folds)
    )
    return f'<path d="{hem}" class="fabric"/>{inner}'


def _heading(name: str) -> str:
    return "".join(_shown(one) for one in HEADINGS.get(name, HEADINGS[USUAL]).picture)


def _shown(one: RodBar | Drape | Ring | Stroke) -> str:
    if isinstance(one, RodBar):
        return _rod(one.y, "" if one.strength == 1 else f' opacity="{one.strength:g}"')
    if isinstance(one, Drape):
        return _fabric(one.top, one.folds)
    width = "" if one.width is None else f' stroke-width="{one.width:g}"'
    if isinstance(one, Ring):
        return f'<circle cx="{one.x:g}" cy="{one.y:g}" r="{one.radius:g}"{width}/>'
    dash = f' stroke-dasharray="{one.dash}"' if one.dash else ""
    fabric = ' class="fabric"' if one.fabric else ""
    return f'<path d="{one.path}"{fabric}{dash}{width}/>'


def _leaf(x: float, y: float) -> str:
    return (
        f'<path d="M{x:g} {y + 6:g}q-6 -6 0 -12q6 6 0 12z" class="motif"/>'
        f'<path d="M{x:g} {y + 6:g}v-8" stroke-width="0.8"/>'
    )


def _pattern(drop: str) -> str:
    """Three columns of a pattern, each so much higher than the one to its left."""
    frame = (
        '<path d="M12 4V68M84 4V68" stroke-width="2"/><path d="M12 4H84M12 68H84" stroke-dasharray="3 3"/>'
    )
    if drop == "plain":
        return frame + "".join(
            _line(12, y, 84, y, ' stroke-width="0.5" opacity="0.55"') for y in range(10, 68, 6)
        )
    step = {"straight": 0.0, "1/3": 1 / 3}.get(drop, 0.5)
    repeat, marks = 24.0, []
    for column, x in enumerate((24.0, 48.0, 72.0)):
        up = (column * step * repeat) % repeat
        for n in range(4):
            y = 62 - n * repeat - up + (repeat if up > 14 else 0)
            if 10 <= y <= 61:
                marks.append(_leaf(x, y))
    joins = "".join(_line(x, 4, x, 68, ' stroke-width="0.5" stroke-dasharray="1.5 2.5"') for x in (36, 60))
    rise = 62 - step * repeat
    line = f'<path d="M24 62L48 {rise:g}" stroke-width="1" stroke-dasharray="3 2" class="chalk"/>'
    return frame + joins + "".join(marks) + line


def _nap(value: str) -> str:
    strokes = {"one-way": ("up", "up", "up"), "two-way": ("up", "down", "up")}.get(value, ("", "", ""))
    return _panel() + "".join(_arrow(x, way) for x, way in zip((30, 48, 66), strokes, strict=True))


def _smooth(value: str) -> str:
    return _panel() + "".join(_arrow(x, value or "up") for x in (30, 48, 66)) + _hand(value or "up")


def _panel() -> str:
    return '<path d="M16 6H80V66H16z" class="fabric"/><path d="M16 60H80" stroke-dasharray="3 2"/>'


def _arrow(x: float, way: str) -> str:
    if not way:
        return "".join(f'<path d="M{x - 2:g} {y}h4" stroke-width="1"/>' for y in (20, 32, 44))
    tip, tail, back = (16, 50, 6) if way == "up" else (50, 16, -6)
    return f'<path d="M{x:g} {tail}V{tip}m-4 {back}l4 {-back}l4 {back}"/>'


def _hand(way: str) -> str:
    y = 22 if way == "up" else 44
    return f'<path d="M{40} {y}q8 -6 16 0" class="chalk" stroke-width="2.2"/>'


def _kind(value: str) -> str:
    if value == "print":
        return _pattern("straight")
    return _nap("one-way" if value == "pile" else "none")


_PICTURES: Final[dict[str, Callable[[str], str]]] = {
    "kind": _kind,
    "window.heading": _heading,
    "repeat.drop": _pattern,
    "fabric.nap": _nap,
    "fabric.arrow": _smooth,
}
