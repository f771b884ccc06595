"""What a window needs beside fabric and beside what its heading asks for. Common practice, no source."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Final

from nesting.headings import FinishedPanel, Heading, Making
from nesting.pieces.piece import Sundry
from nesting.units import round_up

#: Thread for so many times the length of hems and seams.
THREAD: Final = 3


def notions(style: Heading, making: Making, panels: tuple[FinishedPanel, ...]) -> Iterator[Sundry]:
    """Everything to buy for all ``count`` windows that is not cut from fabric, the heading's own first."""
    yield from style.sundries(making, panels)
    yield from _weights(making, panels)
    yield from _for_tiebacks(making)
    yield _thread(making, panels)


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


def _thread(making: Making, panels: tuple[FinishedPanel, ...]) -> Sundry:
    layers = 1 + (making.window.lining is not None)
    length = sum(
        THREAD * layers * (2 * panel.flat + (2 + len(panel.seams)) * panel.length) for panel in panels
    )
    note = f"about {THREAD} times the length of hems and seams"
    total = round_up(length * making.window.count, making.grid)
    return Sundry("thread", length=total, window=making.window.name, note=note)
