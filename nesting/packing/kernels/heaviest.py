"""The heaviest row of a strip when parts have their places across."""

from __future__ import annotations

from nesting.packing.kernels.numbers import Ints


def heaviest_row(W: int, wide: Ints, worth: Ints, may: Ints, best: Ints, took: Ints) -> int:
    """The most that parts side by side in one row may be worth, each at a place allowed.

    ``may[i * (W + 1) + x]`` tells whether bar i may begin at x. A bar may be used again at another place.
    ``best`` and ``took`` have W + 1 entries: what the first x steps of the row are worth at most, and the bar
    that ends there, -1 for none.
    """
    bars = len(wide)
    for x in range(W + 1):
        best[x], took[x] = 0, -1
    for x in range(W + 1):
        if x > 0 and best[x - 1] > best[x]:
            best[x], took[x] = best[x - 1], -1
        for i in range(bars):
            end = x + wide[i]
            if end <= W and may[i * (W + 1) + x] != 0 and best[x] + worth[i] > best[end]:
                best[end], took[end] = best[x] + worth[i], i
    return best[W]
