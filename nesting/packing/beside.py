"""Work in a thread of its own while the thread that asked for it goes on listening."""

from __future__ import annotations

import threading
import time
from collections.abc import Callable
from typing import TypeVar

_T = TypeVar("_T")
#: Seconds between two pulses.
BEAT = 0.05
#: Seconds that work which is asked to end is waited for.
PATIENCE = 0.2


def beside(work: Callable[[], _T], pulse: Callable[[], None], end: Callable[[], None] | None = None) -> _T:
    """What ``work`` returns, or raises; meanwhile ``pulse`` is called some twenty times a second.

    Parameters
    ----------
    work
        Must let go of the interpreter again and again, and share nothing with ``pulse``.
    pulse
        What it raises is raised here.
    end
        Makes the work end soon; called where this thread has to leave, again and again, for work that has
        hardly begun may not hear it. It is not waited for any longer than `PATIENCE`: the rest of the work
        goes on by itself, so nobody may use what it works on any more. None: nothing can end it.
    """
    answer: list[_T] = []
    failure: list[BaseException] = []

    def run() -> None:
        try:
            answer.append(work())
        except BaseException as error:  # handed on below, in the thread that asked
            failure.append(error)

    # No daemon: a thread left alone must not be cut off inside a library when the process ends.
    thread = threading.Thread(target=run)
    try:
        thread.start()
        while thread.is_alive():
            thread.join(BEAT)
            pulse()
    except BaseException:
        if end is not None:
            _ended(thread, end)
        raise
    if failure:
        raise failure[0]
    return answer[0]


def _ended(thread: threading.Thread, end: Callable[[], None]) -> None:
    """Ask the work of a thread to end, and wait for it a little."""
    patience = time.monotonic() + PATIENCE
    while thread.is_alive() and time.monotonic() < patience:
        end()
        thread.join(BEAT)
