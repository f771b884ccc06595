"""What a window needs beside fabric and beside what its heading asks for. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import Final

from nesting.headings import FinishedPanel, Heading, Making
from nesting.instructions.line import listed
from nesting.pieces.piece import Piece, Role, Sundry
from nesting.units import round_up

#: Thread for so many times the length of hems and seams. A lockstitch (stitch type 301 of ISO 4915) has two
#: threads, each a little longer than its seam, so about 2 1/2 times in all; the rest is ends and second
#: tries. Common practice, no source.
THREAD: Final = 3
#: What is sewn on or beside the panels, and what several are called; each counts all around its cut edge.
_AROUND: Final[Mapping[Role, str]] = {
    "facing": "facings",
    "tab": "tabs",
    "band": "bands",
    "tieback": "tie-backs",
}


def notions(
    style: Heading, making: Making, panels: tuple[FinishedPanel, ...], pieces: Iterable[Piece]
) -> Iterator[Sundry]:
    """Everything to buy for all ``count`` windows that is not cut from fabric, the heading's own first.

    ``pieces`` are all that are cut for these windows.
    """
    yield from style.sundries(making, panels)
    yield from _weights(making, panels)
    yield from _for_tiebacks(making)
    yield _thread(making, panels, tuple(pieces))


def _weights(making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
    """One in each lower corner; a selvage left as it is has no corner to hold one."""
    if making.bottom_hem.allowance:
        note = "one in each lower corner, 2 a panel"
        yield Sundry(
            "weights", count=2 * len(panels) * making.window.count, window=making.window.name, note=note
        )


def _for_tiebacks(making: Making) -> Iterator[Sundry]:
    """A ring at each end, and a hook in the wall for both."""
    window = making.window
    count = sum(tieback.count for tieback in window.tiebacks) * window.count
    if count:
        yield Sundry("rings for tie-backs", count=2 * count, window=window.name, note="one at each end")
        yield Sundry("wall hooks for tie-backs", count=count, window=window.name, note="one for each")


def _thread(making: Making, panels: tuple[FinishedPanel, ...], pieces: tuple[Piece, ...]) -> Sundry:
    """For hems and seams of panels and linings, and for all that goes with them."""
    layers = 1 + (making.window.lining is not None)
    hems = sum(layers * (2 * panel.flat + (2 + len(panel.seams)) * panel.length) for panel in panels)
    small = [piece for piece in pieces if piece.role in _AROUND]
    around = sum(2 * (piece.width + piece.length) * piece.copies for piece in small)
    roles = dict.fromkeys(_AROUND[piece.role] for piece in small)
    note = f"about {THREAD} times the length of hems and seams"
    if roles:
        note += f", and of the edges of {listed(tuple(roles))}"
    total = round_up(THREAD * (hems * making.window.count + around), making.grid)
    return Sundry("thread", length=total, window=making.window.name, note=note)
