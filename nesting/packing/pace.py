"""How many changes a search tries before it looks up."""

from __future__ import annotations

from nesting.packing.race import Host

#: Seconds, or units of work, between two looks at the clock and the observer.
BREATH = 0.03
#: More changes than this are never tried in one go.
MOST = 100_000


class Pace:
    """As many changes as take a breath; by work, not by the clock, where a layout must be repeatable."""

    def __init__(self) -> None:
        self._rounds = 1

    def rounds(self, host: Host, work: float) -> int:
        """How many changes to try next; ``work`` is that of one."""
        if host.budget.work is not None:
            return max(1, int(BREATH / work))
        return self._rounds

    def took(self, seconds: float) -> None:
        """Adapt to what the last ones took."""
        if seconds < BREATH / 2:
            self._rounds = min(self._rounds * 2, MOST)
        elif seconds > 2 * BREATH:
            self._rounds = max(1, self._rounds // 2)
