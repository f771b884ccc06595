"""When work that workers do should end before it is done: at a Ctrl-C, or once no worker is left."""

from __future__ import annotations

import contextlib
import signal
import time
from collections.abc import Callable, Iterator
from types import FrameType

#: Seconds between two looks at whether anybody is there.
LOOK = 0.5


class Ending:
    """Whether an end is wanted; asked again and again by whoever collects what the workers made.

    Parameters
    ----------
    present
        Whether any worker is there; None where that need not be asked.
    patience
        Seconds in which no worker was there and nothing came back, after which nothing is expected any more.

    Attributes
    ----------
    interrupted
        By Ctrl-C.
    deserted
        No worker was there for that long.
    """

    def __init__(self, present: Callable[[], bool] | None, patience: float) -> None:
        self.interrupted = self.deserted = False
        self._present, self._patience = present, patience
        self._alive = self._looked = time.monotonic()

    def wanted(self) -> bool:
        """Whether to stop now."""
        now = time.monotonic()
        if self._present is not None and not self.interrupted and now - self._looked >= LOOK:
            self._looked = now
            if self._present():
                self._alive = now
            elif now - self._alive >= self._patience:
                self.deserted = True
        return self.interrupted or self.deserted

    def came_back(self) -> None:
        """Something did: the wait begins anew."""
        self._alive = time.monotonic()


@contextlib.contextmanager
def ending_once(present: Callable[[], bool] | None, patience: float) -> Iterator[Ending]:
    """An ending that the first Ctrl-C brings about; the second interrupts as usual."""
    ending, before = Ending(present, patience), signal.getsignal(signal.SIGINT)

    def first(number: int, frame: FrameType | None) -> None:
        ending.interrupted = True
        signal.signal(signal.SIGINT, before)

    signal.signal(signal.SIGINT, first)
    try:
        yield ending
    finally:
        signal.signal(signal.SIGINT, before)
