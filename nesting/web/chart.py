"""Best length and proven least over the time of a search, as a small chart that needs no library."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Final

from markupsafe import Markup

Point = tuple[float, float | None, float]

_WIDE: Final = 520.0
_HIGH: Final = 190.0
_LEFT: Final = 58.0
_RIGHT: Final = 14.0
_TOP: Final = 14.0
_LOW: Final = 28.0


def chart(points: Sequence[Point], unit: str, name: str) -> Markup:
    """The chart of one fabric's search; empty where there is nothing to draw yet, or no times are known.

    Parameters
    ----------
    points
        Seconds, best length or None, proven least.
    unit
        Of the lengths.
    name
        What is searched for, for readers of the screen.
    """
    found = [length for _, length, _ in points if length is not None]
    if not found or not points[-1][0]:
        return Markup("")
    scale = _Axis(points, found)
    best = [(at, length) for at, length, _ in points if length is not None]
    least = [(at, bound) for at, _, bound in points]
    alt = (
        f"{name}: best length {found[-1]:g} {unit}, proven least {least[-1][1]:g} {unit} after "
        f"{points[-1][0]:.1f} seconds"
    )
    gap = f"{scale.steps(best)}{scale.back(least)}Z"
    parts = [
        Markup('<path class="gap" d="{}"/>').format(gap),
        Markup('<path class="axis" d="M{0} {1}V{2}H{3}"/>').format(
            _n(_LEFT), _n(_TOP), _n(_HIGH - _LOW), _n(_WIDE - _RIGHT)
        ),
        Markup('<path class="least" d="{}"/>').format(scale.steps(least)),
        Markup('<path class="best" d="{}"/>').format(scale.steps(best)),
    ]
    for value in dict.fromkeys((scale.high, found[-1], scale.low)):
        y = scale.y(value)
        parts.append(
            Markup('<text x="{}" y="{}" text-anchor="end">{}</text>').format(
                _n(_LEFT - 5), _n(y + 4), f"{value:g}"
            )
        )
    parts.append(
        Markup('<text x="{}" y="{}" text-anchor="end">{:.1f} s</text>').format(
            _n(_WIDE - _RIGHT), _n(_HIGH - 9), scale.end
        )
    )
    parts.append(Markup('<text x="{}" y="{}">{}, {}</text>').format(_n(_LEFT), _n(_HIGH - 9), name, unit))
    return Markup('<svg class="chart" viewBox="0 0 {} {}" role="img" aria-label="{}">{}</svg>').format(
        _n(_WIDE), _n(_HIGH), alt, Markup("").join(parts)
    )


class _Axis:
    """Seconds and lengths to places in the chart; the lower end shows the first bound that is of use."""

    def __init__(self, points: Sequence[Point], found: Sequence[float]) -> None:
        self.end = max(points[-1][0], 0.1)
        self.high = max(found)
        self.low = max(min(min(found), points[-1][2]) - 0.15 * self.high, 0.0)
        self.low = round(min(self.low, 0.92 * self.high))

    def x(self, seconds: float) -> float:
        """Across."""
        return _LEFT + (_WIDE - _LEFT - _RIGHT) * min(1.0, seconds / self.end)

    def y(self, length: float) -> float:
        """Down."""
        part = (min(max(length, self.low), self.high) - self.low) / max(1e-9, self.high - self.low)
        return _HIGH - _LOW - (_HIGH - _LOW - _TOP) * part

    def steps(self, points: Sequence[tuple[float, float]]) -> str:
        """A line that holds each value until the next."""
        first = points[0]
        path = f"M{_n(self.x(first[0]))} {_n(self.y(first[1]))}"
        path += "".join(f"H{_n(self.x(at))}V{_n(self.y(value))}" for at, value in points[1:])
        return f"{path}H{_n(self.x(self.end))}"

    def back(self, points: Sequence[tuple[float, float]]) -> str:
        """The same line from its end to its beginning."""
        path = f"V{_n(self.y(points[-1][1]))}"
        values = [value for _, value in points]
        for (at, _), before in zip(reversed(points[1:]), reversed(values[:-1]), strict=True):
            path += f"H{_n(self.x(at))}V{_n(self.y(before))}"
        return path


def _n(value: float) -> str:
    return f"{value:.1f}".rstrip("0").rstrip(".")
