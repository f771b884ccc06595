"""How many changes a search tries before it looks up, and how long it may go on."""

from __future__ import annotations

from nesting.packing.turn import Host

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


class Credits:
    """What part of its time a search is given: half of it each time that it brings nothing.

    Parameters
    ----------
    least
        The part that is always left.
    """

    def __init__(self, least: float) -> None:
        self._least = least
        self._shares: dict[object, float] = {}

    def share(self, name: object) -> float:
        """The part of its time that a search is given now; all at first."""
        return self._shares.get(name, 1.0)

    def tell(self, name: object, *, gained: bool) -> None:
        """Whether it has brought anything."""
        self._shares[name] = 1.0 if gained else max(self._least, self.share(name) / 2)
