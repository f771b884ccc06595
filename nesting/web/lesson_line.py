"""The page's side of the handouts: one made at a time, elsewhere, and remembered for the day."""

from __future__ import annotations

import asyncio
from datetime import date

from nesting.web.caps import LESSON_SECONDS
from nesting.web.wire import Line, Message


class Lessons:
    """Has handouts made elsewhere, one at a time; each is made once a day."""

    def __init__(self) -> None:
        self._made: dict[tuple[str, str], tuple[date, Message]] = {}
        self._turn = asyncio.Lock()

    async def of(self, heading: str, units: str, day: date) -> Message | None:
        """The handout as ``html`` and ``pdf``; None where it could not be made in time."""
        async with self._turn:
            known = self._made.get((heading, units))
            if known is not None and known[0] == day:
                return known[1]
            answer = await self._ask({"heading": heading, "units": units, "day": day})
            if answer is not None:
                self._made[heading, units] = (day, answer)
            return answer

    async def _ask(self, question: Message) -> Message | None:
        line = await Line.open("nesting.web.lesson_maker")
        try:
            async with asyncio.timeout(LESSON_SECONDS):
                await line.send(question)
                return await line.receive()
        except TimeoutError:
            return None
        finally:
            await asyncio.shield(line.close())
