"""The marker for the screen: one strip with every piece a link to its card, drawn without a drawing library.

The bolt runs from the squared end at the left, its left selvage along the top, as on paper. Lengths inside
are ticks over `TICKS`, so that one picture serves every size: `static/plan.js` writes words and ruler anew at
each, and without it they stand as they are for a picture some thousand points wide.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from html import escape
from typing import Final

from nesting.drawing.fabric_strip import repeat_lines
from nesting.drawing.frame import Frame, selvage
from nesting.drawing.pieces import hem_ends, tag
from nesting.drawing.wording import drop_words, run_words, size_words
from nesting.plan.numbering import Numbering
from nesting.plan.pattern import start_line
from nesting.plan.plan import FabricLayout, Laid
from nesting.units import METER, YARD, Unit, format_length, unit_ticks

#: Ticks for one length of the picture.
TICKS: Final = 200
#: Points the picture is wide where no script measures it.
_USUAL: Final = 1000.0
#: Points of the ruler above the fabric and of the margin on the other sides.
_RULER, _ROUND = 30.0, 10.0
#: Size of type in points, height of a line, and the width of a letter as a part of its size.
_NUMBER, _TINY, _SMALL, _LINE, _LETTER = 16.0, 11.0, 12.0, 16.0, 0.58
#: Points an arrow takes along and across, and parts of that size it may have.
_ARROW: Final = (30.0, 12.0)
_ARROW_SIZES: Final = (1.0, 0.6)
#: Quarter turns of an arrow that points to the right.
_TURNS: Final = {"up": 0, "right": 90, "down": 180, "left": 270}
#: Steps of the ruler in inches, centimeters or millimeters, and the long unit they add up to.
_STEPS: Final[dict[Unit, tuple[int, ...]]] = {
    "in": (1, 3, 6, 12, 36, 72, 180, 360),
    "cm": (1, 5, 10, 20, 50, 100, 200, 500, 1000),
    "mm": (10, 50, 100, 200, 500, 1000, 2000, 5000, 10000),
}


def card_id(name: str, number: str) -> str:
    """Where the card of a cut is found on the page."""
    return f"card-{name}-{number}"


def marker_svg(layout: FabricLayout, numbers: Numbering, name: str, unit: Unit) -> str:
    """The layout as an ``<svg>`` element; whatever was typed is escaped.

    Parameters
    ----------
    layout, numbers
        What lies where, and what it is called.
    name
        Of the layout on its page: it is in the addresses of the cards.
    unit
        Of ruler and sizes.
    """
    return "".join(_BoltOnScreen(layout, numbers, name, unit).parts())


def _n(value: float) -> str:
    return f"{value:.2f}".rstrip("0").rstrip(".")


def _len(ticks: float) -> str:
    return _n(ticks / TICKS)


@dataclass(frozen=True, slots=True)
class _BoltOnScreen:
    """One layout while it is drawn."""

    layout: FabricLayout
    numbers: Numbering
    name: str
    unit: Unit

    @property
    def end(self) -> int:
        """Where the fabric that is drawn ends, in ticks."""
        return max(self.layout.length or 0, 1)

    @property
    def edge(self) -> float:
        """Of the selvage."""
        return selvage(self.layout)

    @property
    def scale(self) -> float:
        """Points for a tick where no script measures the picture."""
        return _USUAL / (self.end + self.layout.squaring)

    @property
    def long_unit(self) -> tuple[int, str]:
        """To which the steps of the ruler add up: its ticks and its name."""
        return (YARD, "yd") if self.unit == "in" else (METER, "m")

    def parts(self) -> Iterator[str]:
        """The picture, piece by piece."""
        layout = self.layout
        above, round_ = _RULER / self.scale, _ROUND / self.scale
        left, top = -layout.squaring - round_, -self.edge - above
        wide = self.end + layout.squaring + 2 * round_
        high = layout.usable + 2 * self.edge + above + round_
        major, called = self.long_unit
        title = (
            f"Marker of {self.numbers.fabric(layout)}, {format_length(layout.length or 0, self.unit)} long"
        )
        steps = " ".join(str(step) for step in _STEPS[self.unit])
        data = {
            "start": _len(-layout.squaring),
            "end": _len(self.end),
            "top": _len(-self.edge),
            "low": _len(layout.usable + self.edge),
            "one": _n(unit_ticks(self.unit) / TICKS),
            "steps": steps,
            "major": str(major // unit_ticks(self.unit)),
            "called": called,
            "unit": self.unit,
        }
        told = " ".join(f'data-{key}="{value}"' for key, value in data.items())
        yield (
            f'<svg xmlns="http://www.w3.org/2000/svg" class="laid" role="group" aria-label="{escape(title)}" '
            f'viewBox="{_len(left)} {_len(top)} {_len(wide)} {_len(high)}" {told}>'
        )
        yield from self._fabric()
        laid_out = sorted(layout.placements, key=lambda laid: (laid.y, laid.x))
        for laid in laid_out:
            yield from self._piece(laid)
        yield from self._lines()
        for laid in laid_out:
            yield from self._words(laid, self.numbers.of(laid))
        yield '<g class="rule" aria-hidden="true">'
        yield from self._ruler()
        yield "</g></svg>"

    def _box(self, kind: str, x: float, y: float, wide: float, high: float) -> str:
        return (
            f'<rect class="{kind}" x="{_len(x)}" y="{_len(y)}" width="{_len(wide)}" height="{_len(high)}"/>'
        )

    def _fabric(self) -> Iterator[str]:
        """Fabric, selvages, squaring, flaws."""
        layout = self.layout
        yield '<g aria-hidden="true">'
        yield self._box("ground", 0, 0, self.end, layout.usable)
        whole = self.end + layout.squaring
        for at in (-self.edge, layout.usable):
            if self.edge:
                yield self._box("selvage", -layout.squaring, at, whole, self.edge)
        if layout.squaring:
            yield self._box("squaring", -layout.squaring, 0, layout.squaring, layout.usable)
        yield "</g>"

    def _lines(self) -> Iterator[str]:
        """Lines of the repeat, and flaws, over the pieces; what is under a hand stays the piece."""
        layout = self.layout
        yield '<g class="over" aria-hidden="true">'
        frame = Frame(0, self.end, 1.0)
        drawn = "".join(
            f"M{_len(x)} {_len(y)}L{_len(right)} {_len(low)}"
            for (x, y), (right, low) in repeat_lines(layout, frame)
        )
        if drawn:
            yield f'<path class="repeat" d="{drawn}"/>'
        for flaw in layout.flaws:
            if flaw.y < self.end:
                yield self._box("flaw", flaw.y, flaw.x, min(flaw.length, self.end - flaw.y), flaw.width)
        if layout.hem_edge is not None:
            at = 0 if layout.hem_edge == "left" else layout.usable
            yield f'<path class="hem-edge" d="M0 {_len(at)}H{_len(self.end)}"/>'
        yield "</g>"

    def _piece(self, laid: Laid) -> Iterator[str]:
        number = self.numbers.of(laid)
        told = f"{number}: {laid.piece.name}, {size_words(laid, self.unit)}, {run_words(laid, self.unit)}"
        yield (
            f'<a class="piece p-{laid.piece.role}" href="#{escape(card_id(self.name, number))}" '
            f'aria-label="{escape(told)}" data-key="{escape(tag(laid))}" '
            f'data-about="{escape(laid.piece.window or "")}">'
        )
        yield self._box("cloth", laid.y, laid.x, laid.length, laid.width)
        ends = hem_ends(laid)
        if ends is not None:
            (x, y), (right, low) = ends
            yield f'<path class="hem" d="M{_len(x)} {_len(y)}L{_len(right)} {_len(low)}"/>'
        line = start_line(self.layout, laid)
        if line is not None and laid.y <= line <= laid.y + laid.length:
            yield f'<path class="start" d="M{_len(line)} {_len(laid.x)}v{_len(laid.width)}"/>'
        yield "</a>"

    def _words(self, laid: Laid, number: str) -> Iterator[str]:
        """Number, name, size and arrow, as far as there is room in the picture of usual size."""
        name, size = laid.piece.name, size_words(laid, self.unit)
        if laid.letter:
            size = f"{size}, {drop_words(laid)}"
        box = (laid.length * self.scale, laid.width * self.scale)
        fit = fitted(*box, number, name, size, upright=laid.arrow in ("left", "right"))
        middle = (laid.y + laid.length / 2, laid.x + laid.width / 2)
        turned = " rotate(-90)" if fit.turned else ""
        arrow = _TURNS[laid.arrow]
        measures = " ".join(_len(ticks) for ticks in (laid.y, laid.x, laid.length, laid.width))
        yield (
            f'<g class="words" aria-hidden="true" data-box="{measures}" '
            f'data-arrow="{arrow}" transform="translate({_len(middle[0])} {_len(middle[1])}){turned} '
            f'scale({_n(1 / (self.scale * TICKS))})">'
        )
        x, y = fit.number or (0.0, 0.0)
        tiny, off = " tiny" if fit.tiny else "", "" if fit.number else " off"
        yield f'<text class="no{tiny}{off}" x="{_n(x)}" y="{_n(y)}">{escape(number)}</text>'
        for kind, text, base in (("nm", name, fit.name), ("sz", size, fit.size)):
            off = " off" if base is None else ""
            yield f'<text class="{kind}{off}" y="{_n(base or 0.0)}">{escape(text)}</text>'
        x, y, scale = fit.arrow or (0.0, 0.0, 1.0)
        off, turn = "" if fit.arrow else " off", arrow + 90 * fit.turned
        yield (
            f'<path class="ar{off}" transform="translate({_n(x)} {_n(y)}) rotate({turn}) scale({_n(scale)})" '
            'd="M-13 0H9M4 -5L13 0L4 5Z"/></g>'
        )

    def _ruler(self) -> Iterator[str]:
        one, steps = unit_ticks(self.unit), _STEPS[self.unit]
        major, called = self.long_unit
        step = next((step for step in steps if step * one * self.scale >= 42), steps[-1])
        base, point = -self.edge - 2 / self.scale, 1 / self.scale
        yield f'<path class="spine" d="M0 {_len(base)}H{_len(self.end)}"/>'
        for number in range(self.end // (step * one) + 1):
            at = number * step * one
            whole = at % major == 0 and number
            text = f"{at // major} {called}" if whole else str(number * step) if number else f"0 {self.unit}"
            tall = 9 if at % major == 0 else 6
            yield f'<path class="tick" d="M{_len(at)} {_len(base)}v{_len(-tall * point)}"/>'
            yield (
                f'<text class="{"whole" if whole else "mark"}" transform="translate({_len(at)} '
                f'{_len(base - 12 * point)}) scale({_n(1 / (self.scale * TICKS))})">{text}</text>'
            )


@dataclass(frozen=True, slots=True)
class Fit:
    """What is written in a box: places from its middle, in points; None where there is no room.

    ``turned``: it is written upwards. ``tiny``: the number in small type. ``name``, ``size``: the base of
    their line; ``arrow``: its middle and how large it is.
    """

    turned: bool = False
    tiny: bool = False
    number: tuple[float, float] | None = None
    name: float | None = None
    size: float | None = None
    arrow: tuple[float, float, float] | None = None


def fitted(wide: float, high: float, number: str, name: str, size: str, *, upright: bool = False) -> Fit:
    """What there is room for in a box of so many points: the number first, then size, name and arrow.

    ``upright``: the arrow lies across the bolt.
    """
    turned = high > 1.3 * wide and wide < _LETTER * _SMALL * len(size) + 6
    room, deep = (high, wide) if turned else (wide, high)
    tiny = deep < _NUMBER - 0.5 or room < _LETTER * _NUMBER * len(number) + 4
    type_ = _TINY if tiny else _NUMBER
    digits = _LETTER * type_ * len(number)
    if room < digits + 3 or deep < type_ - 0.5:
        return Fit()
    lines, left = list[str](), deep - type_ - 2
    for line, text in (("size", size), ("name", name)):
        if left >= _LINE and room >= _LETTER * _SMALL * len(text) + 6:
            lines.append(line)
            left -= _LINE
    below, beside, along, across, scale = False, False, 0.0, 0.0, 0.0
    for scale in _ARROW_SIZES:
        along, across = (scale * part for part in (_ARROW if turned == upright else _ARROW[::-1]))
        below = left >= across + 2 and room >= along
        beside = not below and room >= digits + along + 10 and deep >= across
        if below or beside:
            break
    at = -(type_ + _LINE * len(lines) + (across + 2 if below else 0)) / 2
    first = at + 0.8 * type_
    places, at = dict[str, float](), at + type_
    for line in ("name", "size"):
        if line in lines:
            places[line] = at + 0.78 * _LINE
            at += _LINE
    arrow = (0.0, at + 2 + across / 2, scale) if below else None
    aside = 0.0
    if beside:
        aside = -(along + 6) / 2
        arrow = (aside + digits / 2 + 6 + along / 2, first - 0.35 * type_, scale)
    return Fit(turned, tiny, (aside, first), places.get("name"), places.get("size"), arrow)
