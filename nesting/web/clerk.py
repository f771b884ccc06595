"""The page's side of the sums: one process that stays, one question at a time, answers remembered."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Mapping
from typing import Any, Final

from nesting.web.limits import SUMS_SECONDS
from nesting.web.wire import Line, Message

_REMEMBERED: Final = 128
#: Seconds that a question waits for its turn; then it is put off, and the script asks again.
_TURN_SECONDS: Final = 0.15
#: Seconds to start a process of its own the first time, on a slow machine.
_START_SECONDS: Final = 60.0


class BusyError(Exception):
    """So many questions wait already that this one would take too long."""


class Clerk:
    """Has the sums of jobs worked out elsewhere; the same job is worked out once."""

    def __init__(self) -> None:
        self._line: Line | None = None
        self._turn = asyncio.Lock()
        self._known: OrderedDict[bytes, Message] = OrderedDict()

    async def sums(self, table: Mapping[str, Any]) -> Message:
        """The sums of a job; see `nesting.web.sums.sums_of`.

        Raises
        ------
        BusyError
            Too many wait.
        """
        key = hashlib.sha256(pickle.dumps(table)).digest()
        if key in self._known:
            self._known.move_to_end(key)
            return self._known[key]
        try:
            await asyncio.wait_for(self._turn.acquire(), _TURN_SECONDS)
        except TimeoutError:
            raise BusyError from None
        try:
            # Somebody may have asked the same meanwhile.
            answer = self._known.get(key) or await self._ask(table)
        finally:
            self._turn.release()
        self._known[key] = answer
        if len(self._known) > _REMEMBERED:
            self._known.popitem(last=False)
        return answer

    async def _ask(self, table: Mapping[str, Any]) -> Message:
        fresh = self._line is None or not self._line.alive
        line = await Line.open("nesting.web.sums") if fresh else self._line
        assert line is not None
        self._line = line
        done = False
        try:
            await line.send({"table": dict(table)})
            answer = await asyncio.wait_for(line.receive(), SUMS_SECONDS + (_START_SECONDS if fresh else 0.0))
            done = answer is not None
        except TimeoutError:
            answer = None
        finally:
            if not done:
                # Given up, or nobody waits any more: its answer must not be taken for the next one's.
                self._line = None
                await asyncio.shield(line.close())
        return answer or _given_up()

    async def warm(self) -> None:
        """Start the process before it is needed."""
        with contextlib.suppress(BusyError, OSError):
            await self.sums({})

    async def close(self) -> None:
        """End the process."""
        if self._line is not None:
            await self._line.close()


def _given_up() -> Message:
    stuck = (
        "The sums of this job take too long. Look for a number that is far too large or too small, such as a "
        "spacing of a hair's breadth."
    )
    return {
        "faults": [], "stuck": stuck, "groups": [], "advice": [], "sundries": [], "count": 0, "asked": 0,
    }  # fmt: skip
