"""Bounds by counting: area, the tallest part, parts that cannot stand side by side."""

from __future__ import annotations

from typing import ClassVar

from nesting.packing.bounds.lower_bound import LowerBound
from nesting.packing.certificates import RowWeights
from nesting.packing.certificates.weighing import KindWeight
from nesting.packing.reduce import Core
from nesting.packing.result import Bound, Certificate
from nesting.packing.turn import Turn, Weights


def area(core: Core) -> Bound:
    """Least length whose fabric is as large as all parts together.

    Never above the optimum: parts do not overlap and lie inside the strip. Flaws are not counted, so
    the bound holds whatever they spoil.
    """
    total = sum(kind.area * kind.copies for kind in core.kinds)
    lines = (
        KindWeight(index, turned, width)
        for index, kind in enumerate(core.kinds)
        for width, _, turned in kind.ways
    )
    return Bound(-(-total // core.width), "area", RowWeights.of(core, lines))


def tallest(core: Core) -> Bound:
    """The length of the longest part, laid the way it takes least.

    Never above the optimum: every part lies inside the layout.
    """
    if not core.kinds:
        return Bound(0, "tallest part", RowWeights.of(core, ()))
    index = max(range(len(core.kinds)), key=lambda i: core.kinds[i].least_length)
    kind = core.kinds[index]
    lines = (KindWeight(index, turned, 1, copies=1) for _, _, turned in kind.ways)
    return Bound(kind.least_length, "tallest part", RowWeights.of(core, lines))


def wide_stack(core: Core) -> Bound:
    """The lengths of all parts wider than half the strip, one above the other.

    Never above the optimum: two such parts share no row, so their rows are apart. Only parts that are
    wider than half the strip whichever way they lie are counted.
    """
    wide = [(i, k) for i, k in enumerate(core.kinds) if 2 * k.least_width > core.width]
    total = sum(kind.least_length * kind.copies for _, kind in wide)
    lines = (KindWeight(index, turned, 1) for index, kind in wide for _, _, turned in kind.ways)
    return Bound(total, "pieces too wide to lie side by side", RowWeights.of(core, lines))


class Area(LowerBound):
    """By `area`."""

    name: ClassVar[str] = "area"
    certificate: ClassVar[type[Certificate] | None] = RowWeights
    instant: ClassVar[bool] = True

    @classmethod
    def weights(cls, core: Core) -> Weights:
        """Widths, of which a row holds the strip's."""
        return {(i, t): width for i, kind in enumerate(core.kinds) for width, _, t in kind.ways}, core.width

    def raised(self, turn: Turn) -> Bound:
        """At once."""
        return area(self.core)


class TallestPart(LowerBound):
    """By `tallest`."""

    name: ClassVar[str] = "tallest part"
    certificate: ClassVar[type[Certificate] | None] = RowWeights
    instant: ClassVar[bool] = True

    def raised(self, turn: Turn) -> Bound:
        """At once."""
        return tallest(self.core)


class WideParts(LowerBound):
    """By `wide_stack`."""

    name: ClassVar[str] = "pieces too wide to lie side by side"
    certificate: ClassVar[type[Certificate] | None] = RowWeights
    instant: ClassVar[bool] = True

    @classmethod
    def weights(cls, core: Core) -> Weights:
        """One each, of which a row holds one."""
        wide = [(i, kind) for i, kind in enumerate(core.kinds) if 2 * kind.least_width > core.width]
        return {(i, turned): 1 for i, kind in wide for _, _, turned in kind.ways}, 1

    def raised(self, turn: Turn) -> Bound:
        """At once."""
        return wide_stack(self.core)
