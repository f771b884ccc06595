"""Strokes of a step's picture: fabric with its two sides told apart, folds, stitches, arrows, sizes.

Coordinates are points from the top left corner, downwards. The right side of a fabric is tinted, its wrong
side white and hatched, so that both stay apart in black and white; a fold to come is dashed, a stitch dotted,
chalk dashed and dotted.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace
from typing import Final, Literal

from nesting.drawing.lettering import text_width
from nesting.drawing.palette import FADED, INK
from nesting.drawing.trace import Drawing, Hatch, Outline, Words

Spot = tuple[float, float]
#: Which side of which fabric is seen: of the work, or of what is laid on it.
Seen = Literal["right", "wrong", "layer", "layer wrong", "tape", "paper"]
Stroke = Literal["edge", "fold", "stitch", "chalk", "thin", "cut"]

#: Size of all words, in points.
SIZE: Final = 9.0
_FILLS: Final[dict[Seen, tuple[str, Hatch | None]]] = {
    "right": ("#dbd4c3", None),
    "wrong": ("#ffffff", Hatch("//", "#948c7e")),
    "layer": ("#f0ede4", Hatch("..", "#8c8577")),
    "layer wrong": ("#ffffff", Hatch("\\\\", "#948c7e")),
    "tape": ("#ffffff", Hatch("|||", "#6f675b")),
    "paper": ("#ffffff", None),
}
_STROKES: Final[dict[Stroke, tuple[float, tuple[float, ...], str]]] = {
    "edge": (0.9, (), INK),
    "fold": (0.8, (4.0, 2.0), INK),
    "stitch": (1.1, (1.1, 2.0), INK),
    "chalk": (0.8, (5.0, 1.5, 1.2, 1.5), INK),
    "thin": (0.5, (), FADED),
    "cut": (1.2, (7.0, 2.5), INK),
}
_HEAD: Final = 4.2
#: Between pictures one below the other.
_APART: Final = 4.0


class StepPen:
    """Draws on a sheet of so many points; `drawing` is what stands on it."""

    def __init__(self, width: float, height: float) -> None:
        self.width, self.height = width, height
        self._marks: list[Outline | Words] = []

    def drawing(self) -> Drawing:
        """The sheet as it is now."""
        return Drawing(self.width, self.height, tuple(self._marks))

    def fabric(self, corners: Sequence[Spot], seen: Seen, name: str = "") -> None:
        """A piece of fabric without its outline, so that edges can be drawn as what they are."""
        tint, hatch = _FILLS[seen]
        self._marks.append(Outline(_way(corners, closed=True), fill=tint, hatch=hatch, width=0.0, name=name))

    def box(self, left: float, top: float, right: float, bottom: float, seen: Seen, name: str = "") -> None:
        """A rectangle of fabric with its outline."""
        corners = ((left, top), (right, top), (right, bottom), (left, bottom))
        self.fabric(corners, seen, name)
        self.line((*corners, corners[0]))

    def line(self, spots: Sequence[Spot], stroke: Stroke = "edge", name: str = "") -> None:
        """A line through these spots."""
        width, dash, color = _STROKES[stroke]
        self._marks.append(Outline(_way(spots, closed=False), color, width, dash, name=name))

    def ring(self, center: Spot, radius: float, *, filled: bool = False) -> None:
        """A circle."""
        around = [
            (
                center[0] + radius * math.cos(step * math.pi / 12),
                center[1] + radius * math.sin(step * math.pi / 12),
            )
            for step in range(24)
        ]
        self._marks.append(Outline(_way(around, closed=True), INK, 0.9, fill=INK if filled else "#ffffff"))

    def words(
        self, x: float, y: float, text: str, *, at: Literal["left", "center", "right"] = "center"
    ) -> None:
        """Words about a spot, on a clear ground so that hatching does not run through them."""
        wide = text_width(text, SIZE)
        left = {"left": x, "center": x - wide / 2, "right": x - wide}[at]
        left = min(max(left, 0.5), self.width - wide - 0.5)
        low = min(max(y + 0.36 * SIZE, 0.8 * SIZE), self.height - 0.22 * SIZE)
        ground = (
            (left - 1, low - 0.8 * SIZE),
            (left + wide + 1, low - 0.8 * SIZE),
            (left + wide + 1, low + 0.2 * SIZE),
            (left - 1, low + 0.2 * SIZE),
        )
        self._marks.append(Outline(_way(ground, closed=True), fill="#ffffff", width=0.0))
        self._marks.append(Words(round(left, 2), round(low, 2), text, SIZE, color=INK, room=round(wide, 2)))

    def size(self, start: Spot, end: Spot, text: str, *, aside: float = 0.0) -> None:
        """A size between two spots: a bar at each end and the words, if any, in its middle or ``aside``."""
        level = abs(end[0] - start[0]) >= abs(end[1] - start[1])
        self.line((start, end), "thin")
        for x, y in (start, end):
            bar = ((x, y - 2.5), (x, y + 2.5)) if level else ((x - 2.5, y), (x + 2.5, y))
            self.line(bar, "thin")
        x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
        if not text:
            return
        if level:
            self.words(x, y + aside, text)
        elif aside:
            self.words(x + aside, y, text, at="left" if aside > 0 else "right")
        else:
            self.words(x, y, text)

    def arrow(self, start: Spot, end: Spot, bulge: float = 0.0) -> None:
        """An arrow from spot to spot, bent to its left by ``bulge`` points."""
        run = math.hypot(end[0] - start[0], end[1] - start[1]) or 1.0
        across = ((end[1] - start[1]) / run, -(end[0] - start[0]) / run)
        bend = (
            (start[0] + end[0]) / 2 + across[0] * bulge * 2,
            (start[1] + end[1]) / 2 + across[1] * bulge * 2,
        )
        verbs = (("M", _round(start)), ("Q", (*_round(bend), *_round(end))))
        self._marks.append(Outline(verbs, INK, 0.9))
        back = math.hypot(end[0] - bend[0], end[1] - bend[1]) or 1.0
        ahead = ((end[0] - bend[0]) / back, (end[1] - bend[1]) / back)
        head = (
            end,
            (end[0] - ahead[0] * _HEAD - ahead[1] * 1.9, end[1] - ahead[1] * _HEAD + ahead[0] * 1.9),
            (end[0] - ahead[0] * _HEAD + ahead[1] * 1.9, end[1] - ahead[1] * _HEAD - ahead[0] * 1.9),
        )
        self._marks.append(Outline(_way(head, closed=True), fill=INK, width=0.0))

    def zigzag(self, start: Spot, end: Spot, *, deep: float = 3.0, step: float = 4.0) -> None:
        """A row of overcasting from spot to spot."""
        run = math.hypot(end[0] - start[0], end[1] - start[1]) or 1.0
        along = ((end[0] - start[0]) / run, (end[1] - start[1]) / run)
        count = max(2, round(run / step))
        spots = []
        for number in range(count + 1):
            out = deep if number % 2 else 0.0
            far = run * number / count
            spots.append(
                (
                    start[0] + along[0] * far + along[1] * out,
                    start[1] + along[1] * far - along[0] * out,
                )
            )
        self._marks.append(Outline(_way(spots, closed=False), INK, 0.7))

    def torn(self, start: Spot, end: Spot) -> None:
        """A broken edge: the work goes on beyond it."""
        middle = ((start[0] + end[0]) / 2, (start[1] + end[1]) / 2)
        run = math.hypot(end[0] - start[0], end[1] - start[1]) or 1.0
        along = ((end[0] - start[0]) / run, (end[1] - start[1]) / run)
        kink = [
            (middle[0] + along[0] * far + along[1] * out, middle[1] + along[1] * far - along[0] * out)
            for far, out in ((-4.0, 0.0), (-1.5, 3.2), (1.5, -3.2), (4.0, 0.0))
        ]
        self.line((start, *kink, end), "thin")

    def gap(self, start: Spot, end: Spot, wide: float = 5.0) -> None:
        """A stretch left out of the middle of a work: a white strip between two broken lines."""
        level = abs(end[0] - start[0]) >= abs(end[1] - start[1])
        aside = (0.0, wide / 2) if level else (wide / 2, 0.0)
        one = (start[0] - aside[0], start[1] - aside[1]), (end[0] - aside[0], end[1] - aside[1])
        other = (start[0] + aside[0], start[1] + aside[1]), (end[0] + aside[0], end[1] + aside[1])
        corners = (
            _out(one[0], one[1], 1),
            _out(one[1], one[0], 1),
            _out(other[1], other[0], 1),
            _out(other[0], other[1], 1),
        )
        self._marks.append(Outline(_way(corners, closed=True), fill="#ffffff", width=0.0))
        self.torn(*one)
        self.torn(*other)


def _out(spot: Spot, other: Spot, by: float) -> Spot:
    """The spot moved away from the other one."""
    run = math.hypot(spot[0] - other[0], spot[1] - other[1]) or 1.0
    return spot[0] + (spot[0] - other[0]) / run * by, spot[1] + (spot[1] - other[1]) / run * by


def _round(spot: Spot) -> tuple[float, float]:
    return round(spot[0], 2), round(spot[1], 2)


def _way(spots: Sequence[Spot], *, closed: bool) -> tuple[tuple[str, tuple[float, ...]], ...]:
    verbs = [("M" if number == 0 else "L", _round(spot)) for number, spot in enumerate(spots)]
    return (*verbs, ("Z", ())) if closed else tuple(verbs)


def stacked(parts: Sequence[Drawing]) -> Drawing:
    """Pictures one below the other."""
    marks, down = list[Outline | Words](), 0.0
    for part in parts:
        marks += [_moved(mark, down) for mark in part.marks]
        down += part.height + _APART
    return Drawing(max(part.width for part in parts), down - _APART, tuple(marks))


def _moved(mark: Outline | Words, down: float) -> Outline | Words:
    if isinstance(mark, Words):
        return replace(mark, y=round(mark.y + down, 2))
    verbs = tuple(
        (letter, tuple(value + down if at % 2 else value for at, value in enumerate(points)))
        for letter, points in mark.verbs
    )
    return replace(mark, verbs=verbs)
