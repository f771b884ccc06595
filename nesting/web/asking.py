"""What each answer to a job's questions would cost, for the fields they are about.

The work runs in a process of its own, ``python -m nesting.web.asking``, while the page goes on; here is also
the page's side of it.
"""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Iterable, Mapping
from typing import Any, Final

from nesting.plan.question import Answer, Question, amount_of
from nesting.web.caps import ASKING_SECONDS, NICE_SUMS, SUMS_MEMORY
from nesting.web.draft import name_of
from nesting.web.wire import Line, Message, Outlet, keep_low

_REMEMBERED: Final = 64
#: Seconds of search for all answers together: amounts beside a field, not a plan.
_SEARCH: Final = 4.0


class Answers:
    """Has amounts worked out, one job at a time; the same job once."""

    def __init__(self) -> None:
        self._known: OrderedDict[bytes, Message] = OrderedDict()
        self._work: asyncio.Task[None] | None = None

    def of(self, table: Mapping[str, Any]) -> Message | None:
        """The questions of a job by field, with amounts; None while they are worked out."""
        key = hashlib.sha256(pickle.dumps(table)).digest()
        if key in self._known:
            self._known.move_to_end(key)
            return self._known[key]
        if self._work is None or self._work.done():
            self._work = asyncio.create_task(self._ask(key, dict(table)))
        return None

    async def _ask(self, key: bytes, table: dict[str, Any]) -> None:
        answer: Message | None = None
        with contextlib.suppress(OSError, TimeoutError):
            line = await Line.open("nesting.web.asking")
            try:
                await line.send({"table": table})
                async with asyncio.timeout(ASKING_SECONDS):
                    answer = await line.receive()
            finally:
                await asyncio.shield(line.close())
        # What could not be worked out in that time is not asked for again.
        self._known[key] = answer or {}
        while len(self._known) > _REMEMBERED:
            self._known.popitem(last=False)

    async def close(self) -> None:
        """End what is worked on."""
        if self._work is not None:
            self._work.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._work


def by_field(questions: Iterable[Question], currency: str) -> dict[str, tuple[str, ...]]:
    """The lines that stand at each field: what is asked, each answer, what to look at."""
    found: dict[str, tuple[str, ...]] = {}
    for each in questions:
        name = _field_of(each)
        lines = (each.text, *(_line(answer, currency) for answer in each.answers), each.check)
        found[name] = (*found.get(name, ()), *lines)
    return found


def _field_of(question: Question) -> str:
    if question.about == "drop_from":
        return name_of(("fabric", question.fabric, "repeat", "drop_from"))
    return name_of(("fabric", question.fabric, "bolt", question.bolt or 0, "match"))


def _line(answer: Answer, currency: str) -> str:
    amount = "" if answer.buy is None else f": {amount_of(answer.buy, currency)}"
    enter = "" if answer.planned else f" ({answer.enter})"
    return f"{'Planned' if answer.planned else 'Or'}: {answer.text}{amount}{enter}"


def main() -> None:
    """Answer one job."""
    from nesting.errors import NestingError
    from nesting.files import read_job_table
    from nesting.planning.answers import answered
    from nesting.planning.planner import Effort

    keep_low(NICE_SUMS, SUMS_MEMORY, None)
    wire = Outlet()
    asked = wire.receive()
    if asked is None:
        return
    try:
        job = read_job_table(asked["table"])
        found = by_field(answered(job, Effort(seconds=_SEARCH, workers=1)), job.currency)
    except (NestingError, ArithmeticError, MemoryError, RecursionError, ValueError):
        found = {}
    wire.send({"asked": found})


if __name__ == "__main__":
    main()
