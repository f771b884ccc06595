"""How long to search: one budget, shared out over the cloths of a job."""

from __future__ import annotations

import math
import time
from collections.abc import Callable
from dataclasses import dataclass

from nesting.laying import Lay
from nesting.packing import Incumbent, Result, Stop, pack

Listener = Callable[[str, Incumbent], object]
"""Told the cloth and each better layout or bound; returning False asks for an end."""


@dataclass(slots=True)
class Effort:
    """How long to search, shared out over the cloths that are still to come.

    Attributes
    ----------
    seconds
        For everything.
    work
        Instead of seconds: a budget that does not depend on the clock.
    workers, seed
        As for `nesting.packing.pack`.
    listener
        Told of progress.
    """

    seconds: float = 10.0
    work: float | None = None
    workers: int | None = None
    seed: int = 0
    listener: Listener | None = None
    interrupted: bool = False
    _end: float = 0.0
    _left: float = 1

    def start(self, problems: float) -> None:
        """Begin; so many problems are to share the time."""
        self._end = time.monotonic() + self.seconds
        self._left = max(1, problems)

    def pack(self, lay: Lay, weight: float = 1, *, most: float = math.inf, quiet: bool = False) -> Result:
        """One problem with its share; after an interrupt only the first layouts are made.

        Parameters
        ----------
        lay
            The problem.
        weight
            How much of a usual share it is given.
        most
            No more seconds, or units of work, than this.
        quiet
            Tell nobody of its layouts.
        """
        part = weight / max(weight, self._left)
        share = min(most, max(0.0, self._end - time.monotonic()) * part)
        work = None if self.work is None else min(most, self.work * part)
        self._left = max(0.0, self._left - weight)
        if self.interrupted:
            share, work = 0.0, None if self.work is None else 0.0
        listener = None if quiet else self.listener

        def told(incumbent: Incumbent) -> object:
            wish = None if listener is None else listener(lay.cloth.title, incumbent)
            # An end is not granted before there is something to keep: a first layout comes at once.
            return None if incumbent.length is None else wish

        result = pack(
            lay.problem,
            time_limit=share,
            workers=self.workers,
            seed=self.seed,
            work_limit=work,
            on_progress=None if self.interrupted else told,
        )
        if self.work is not None and work is not None:
            self.work -= work
        self.interrupted = self.interrupted or result.stop is Stop.INTERRUPTED
        return result
