"""Bounds by counting: area, the tallest part, parts that cannot stand side by side."""

from __future__ import annotations

from nesting.packing.reduce import Core
from nesting.packing.result import Bound


def area(core: Core) -> Bound:
    """Least length whose cloth is as large as all parts together.

    Never above the optimum: parts do not overlap and lie inside the strip. Flaws are not counted, so
    the bound holds whatever they spoil.
    """
    total = sum(kind.area * kind.copies for kind in core.kinds)
    return Bound(-(-total // core.width), "area", {"rule": "area", "strip_width": core.width, "area": total})


def tallest(core: Core) -> Bound:
    """The length of the longest part, laid the way it takes least.

    Never above the optimum: every part lies inside the layout.
    """
    return Bound(max((kind.least_length for kind in core.kinds), default=0), "tallest part")


def wide_stack(core: Core) -> Bound:
    """The lengths of all parts wider than half the strip, one above the other.

    Never above the optimum: two such parts share no row, so their rows are apart. Only parts that are
    wider than half the strip whichever way they lie are counted.
    """
    total = sum(k.least_length * k.copies for k in core.kinds if 2 * k.least_width > core.width)
    return Bound(total, "wide parts one above the other")
