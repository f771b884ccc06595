"""What each stage of the order of work brought."""

from __future__ import annotations

import threading

from nesting.packing.result import StageReport


class Reports:
    """Sums for each stage by its name, in the order in which they first had a turn; threads may share it."""

    def __init__(self) -> None:
        self._lock = threading.Lock()
        self._sums: dict[str, tuple[int, float, int, int]] = {}

    def add(self, name: str, seconds: float, layouts: int, bounds: int) -> None:
        """One turn: how long it was, how many shorter layouts and higher bounds it brought."""
        with self._lock:
            before = self._sums.get(name, (0, 0.0, 0, 0))
            turns, so_far, had_layouts, had_bounds = before
            self._sums[name] = turns + 1, so_far + seconds, had_layouts + layouts, had_bounds + bounds

    def told(self) -> tuple[StageReport, ...]:
        """A report for each stage."""
        with self._lock:
            return tuple(
                StageReport(name, turns, round(seconds, 3), layouts, bounds)
                for name, (turns, seconds, layouts, bounds) in self._sums.items()
            )
