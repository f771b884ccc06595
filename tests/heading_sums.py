"""What each heading comes to, worked out by hand, and how its top is read from the printed steps.

A heading without an entry here is skipped where its sums are needed, and `test_headings` fails for it by
name. Common practice, no source. Inches, on a rod 1 3/8 thick.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from typing import TYPE_CHECKING

import pytest

from nesting.headings import HEADINGS

if TYPE_CHECKING:
    from seamstress import Steps

Take = tuple[Fraction, Fraction]


@dataclass(frozen=True)
class ByHand:
    """One heading.

    ``fullness``, and ``ends``: return and half the overlap of a pair, where nothing is said. ``above``: the
    top edge above what it hangs from (top of the rod, hook's eye, clip); ``top``: cut beyond the finished
    length; ``cover``: how far it comes down the back. ``take`` reads the last two from the steps.
    ``printed``: sizes that its steps must say.
    """

    fullness: str
    above: str
    top: str
    cover: str
    take: Callable[[Steps], Take]
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


def _faced(steps: Steps) -> Take:
    (seam,) = steps.read("and sew # from the edge, on the top line")
    (deep,) = steps.read("From there it reaches # down")
    return seam, deep


def _pocket(steps: Steps) -> Take:
    turn, deep = steps.read("turn the raw edge under #, fold the top .* so that # lies below the fold")
    first, last = steps.read("Stitch # below the fold and again # below it")
    (pocket,) = steps.read("the pocket is # deep")
    assert last == deep
    assert last - first == pocket
    return turn + deep, deep


def _cuff(steps: Steps) -> Take:
    deep, upper = steps.read("Buckram, # deep.*lower edge along the top line. Fold the upper # over it")
    (inside,) = steps.read("and # of fabric is in the cuff")
    assert inside == deep + upper
    return inside, deep


def _header(steps: Steps) -> Take:
    deep, turn = steps.read("cut the stiffener # deep.*fold the top down # twice over it")
    return 2 * turn, deep


def _hem(steps: Steps) -> Take:
    taken = steps.turned("Top hem: # turned")
    return taken, taken / 2


def _under_tape(steps: Steps) -> Take:
    (turn,) = steps.read("Top: fold # to the back on the top line")
    return turn, turn


SUMS = {
    # Seam 1/2, and 1.375 x (3.1416 / 4 - 1 / 2) = 0.392 taken up over the rod, up to 7/16.
    "back-tab": ByHand(
        "3/2", "3/4", "15/16", "4", _faced,
        ("press: 2 in wide", "it is a loop 2 3/4 in long", "reaches 4 in down"),
    ),
    # Gap 2 + 1 3/8 below. Half the round 2.16 + 2 x (2 + 11/16) = 7.53, up to 7 5/8.
    "tab-top": ByHand(
        "3/2", "-3 3/8", "1/2", "4", _faced,
        ("press: 2 in wide", "Each is a loop 7 5/8 in long between the seams"),
    ),
    # 1.2 x 2.16 = 2.59, up to 2 5/8; heading 1: 1 + 2 5/8 + 1/2 turned + 7/16 taken up.
    "rod-pocket": ByHand(
        "2", "1", "4 9/16", "3 5/8", _pocket,
        ("Stitch 1 in below the fold and again 3 5/8 in below it", "2 5/8 in deep"),
    ),
    # Return 3 1/2 and half an overlap of 4.
    "pinch-pleat": ByHand(
        "5/2", "1/2", "8", "4", _cuff,
        ("Buckram, 4 in deep", "8 in of fabric is in the cuff"), ends="11/2",
    ),
    "grommet": ByHand("7/4", "1", "8", "4", _header, ("4 in deep",)),
    # At the clip, which hangs 1 3/4 + 1 3/8 below the rod's top.
    "clip-ring": ByHand("3/2", "0", "4", "2", _hem, ("Top hem: 2 in turned twice",)),
    "pencil-pleat": ByHand(
        "9/4", "1/2", "1 1/2", "1 1/2", _under_tape,
        ("fold 1 1/2 in to the back", "3 in deep"), ends="11/2",
    ),
}  # fmt: skip
