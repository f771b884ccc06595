"""What each heading comes to, worked out by hand, and what its printed steps must say.

A heading without an entry here is skipped where its sums are needed, and `test_headings` fails for it by
name. Common practice, no source. Inches, on a rod 1 3/8 thick.
"""

from __future__ import annotations

from dataclasses import dataclass

import pytest

from nesting.headings import HEADINGS


@dataclass(frozen=True)
class ByHand:
    """One heading.

    ``fullness``, and ``ends``: return and half the overlap of a pair, where nothing is said. ``above``: the
    top edge above what it hangs from (top of the rod, hook's eye, clip); ``top``: cut beyond the finished
    length; ``cover``: how far it comes down the back. ``printed``: sizes that its steps must say.
    """

    fullness: str
    above: str
    top: str
    cover: str
    printed: tuple[str, ...]
    ends: str = "0"


def by_hand(name: str) -> ByHand:
    """The sums of a heading; the test is skipped where there are none."""
    if name not in SUMS:
        pytest.skip(f"no sums by hand for a {name} heading: add them to tests/heading_sums.py")
    return SUMS[name]


def hung(name: str, drop: str) -> str:
    """What a heading needs beside ``rod_height`` in a job: hooks in rings their drop."""
    return f"ring_drop = {drop}\n" if HEADINGS[name].hangs_from[0] == "track" else ""


SUMS = {
    # Seam 1/2, and 1.375 x (3.1416 / 4 - 1 / 2) = 0.392 taken up over the rod, up to 7/16.
    "back-tab": ByHand(
        "3/2", "3/4", "15/16", "4",
        ("press it flat: 2 in wide", "each 2 3/4 in long", "facing 4 in deep at the back"),
    ),
    # Gap 2 + 1 3/8 below. Half the round 2.16 + 2 x (2 + 11/16) = 7.53, up to 7 5/8.
    "tab-top": ByHand(
        "3/2", "-3 3/8", "1/2", "4",
        ("press it flat: 2 in wide", "facing 4 in deep at the back"),
    ),
    # 1.2 x 2.16 = 2.59, up to 2 5/8; heading 1: 1 + 2 5/8 + 1/2 turned + 7/16 taken up.
    "rod-pocket": ByHand(
        "2", "1", "4 9/16", "3 5/8",
        ("titch 1 in and again 3 5/8 in below the top edge", "2 5/8 in deep"),
    ),
    # Return 3 1/2 and half an overlap of 4.
    "pinch-pleat": ByHand(
        "5/2", "1/2", "8", "4",
        ("ay the buckram, 4 in deep", "fold the 4 in over it, then fold both 4 in"), ends="11/2",
    ),
    "grommet": ByHand("7/4", "1", "8", "4", ("ay the stiffener, 4 in deep",)),
    # At the clip, which hangs 1 3/4 + 1 3/8 below the rod's top.
    "clip-ring": ByHand("3/2", "0", "4", "2", ("the upper edge 2 in to the back, then 2 in again",)),
    "pencil-pleat": ByHand(
        "9/4", "1/2", "1 1/2", "1 1/2",
        ("old the upper edge 1 1/2 in to the back", "3 in deep"), ends="11/2",
    ),
}  # fmt: skip
