"""A search told line by line."""

from __future__ import annotations

from collections.abc import Callable

from nesting.packing.result import Incumbent, Observer, Result

Log = Callable[[str], object]
"""Given a line of text; what it returns does not matter."""


def logged(log: Log, observer: Observer | None) -> Observer:
    """An observer that logs each better layout or bound, and asks the other one."""

    def told(now: Incumbent) -> object:
        if now.method:
            length = "none" if now.length is None else str(now.length)
            log(f"{now.seconds:9.3f} s  length {length}  bound {now.bound}  {now.method}")
        return None if observer is None else observer(now)

    return told


def log_end(log: Log, result: Result) -> None:
    """How it ended, and what each stage brought."""
    log(f"{result.seconds:9.3f} s  {result.status}, {result.stop}")
    for stage in result.statistics:
        log(
            f"{stage.seconds:9.3f} s  {stage.name}: {stage.turns} turns, {stage.layouts} shorter layouts, "
            f"{stage.bounds} higher bounds"
        )
