"""The page's side of what is worked out elsewhere: one process, one question at a time, remembered."""

from __future__ import annotations

import asyncio
import contextlib
import hashlib
import pickle
from collections import OrderedDict
from collections.abc import Callable, Mapping
from typing import Any, Final

from nesting.web.caps import FIRST_SECONDS, READING_SECONDS, SUMS_SECONDS
from nesting.web.wire import Line, Message

_REMEMBERED: Final = 128
#: Seconds that a question waits for its turn; then it is put off, and the script asks again.
_TURN_SECONDS: Final = 0.15
#: Seconds to start a process of its own the first time, on a slow machine.
_START_SECONDS: Final = 60.0
#: A process that was ended from outside is started anew so many times, less one.
_TRIES: Final = 2
_TOO_LONG: Final = (
    "The sums of this job take too long. Look for a number that is far too large or too small, such as a "
    "spacing of a hair's breadth."
)


class BusyError(Exception):
    """So many questions wait already that this one would take too long."""


class Clerk:
    """Has the sums of jobs worked out elsewhere; the same job is worked out once.

    Parameters
    ----------
    module
        What the process runs.
    """

    def __init__(self, module: str = "nesting.web.workings") -> None:
        self._module = module
        self._line: Line | None = None
        self._turn = asyncio.Lock()
        self._known: OrderedDict[bytes, Message] = OrderedDict()
        #: Whether what is asked now may be given up for something more urgent.
        self._spare = False
        #: Of the sums that are worked out now: which form they are of.
        self._form = ""

    async def sums(self, table: Mapping[str, Any], form: str = "") -> Message:
        """The sums of a job; see `nesting.web.workings.sums_of`.

        Where the same ``form`` asks once more, with something else typed, the sums that it asked for before
        are given up.

        Raises
        ------
        BusyError
            Too many wait, or these were given up.
        """
        key = hashlib.sha256(pickle.dumps(table)).digest()
        if key in self._known:
            self._known.move_to_end(key)
            return self._known[key]
        if form and form == self._form and self._line is not None:
            self._line.hurry()
        # Somebody may have asked the same meanwhile.
        question = {"kind": "sums", "table": dict(table)}
        answer = await self._asked(
            question, SUMS_SECONDS, _TURN_SECONDS, lambda: self._known.get(key), form=form
        )
        answer = answer or nothing_told(_TOO_LONG)
        if "ended" in answer:
            raise BusyError
        self._remember(key, answer)
        return answer

    def _remember(self, key: bytes, answer: Message) -> None:
        self._known[key] = answer
        if len(self._known) > _REMEMBERED:
            self._known.popitem(last=False)

    async def opened(
        self, job: str | None, listed: tuple[str, str] | None
    ) -> tuple[Any, tuple[str, ...], str | None]:
        """The draft of what was uploaded, None where it cannot be read, notes, and the plan if it is one.

        Raises
        ------
        BusyError
            Too many wait.
        """
        question = {"kind": "open", "job": job, "list": listed}
        answer = await self._asked(question, READING_SECONDS, READING_SECONDS)
        if answer is None:
            told = "This file takes too long to read. Is it a job file, such as garden-room.toml?"
            return None, (told,), None
        return answer["draft"], answer["notes"], answer.get("plan")

    async def first(self, table: Mapping[str, Any], turn: int) -> Message:
        """A first layout of a job; see `nesting.web.first.first_of`. It is searched longer each ``turn``.

        It is given up for another one that is asked for meanwhile, and then not remembered.

        Raises
        ------
        BusyError
            Too many wait.
        """
        key = _digest(turn, table)
        if key in self._known:
            self._known.move_to_end(key)
            return self._known[key]
        await self._hurry()
        question = {"table": dict(table), "turn": turn}
        answer = await self._asked(
            question, FIRST_SECONDS, FIRST_SECONDS, lambda: self._known.get(key), spare=True
        )
        answer = answer or {"lines": [], "markers": [], "cost": "", "less": "", "proven": True, "stuck": ""}
        if "ended" not in answer:
            self._remember(key, answer)
        return answer

    def weighed_before(self, table: Mapping[str, Any], key: str) -> Message | None:
        """What `weighed` answers, where that is known."""
        return self._known.get(_digest(key, table))

    async def weighed(self, table: Mapping[str, Any], key: str) -> Message:
        """What a job takes as its alternative of that key makes it; see `nesting.web.figures.weighed`.

        It is given up for a first layout that is asked for meanwhile, and then not remembered.

        Raises
        ------
        BusyError
            Too many wait.
        """
        digest = _digest(key, table)
        if digest in self._known:
            return self._known[digest]
        question = {"table": dict(table), "way": key}
        answer = await self._asked(
            question, FIRST_SECONDS, FIRST_SECONDS, lambda: self._known.get(digest), spare=True
        )
        answer = answer or {"figures": None}
        if "ended" not in answer:
            self._remember(digest, answer)
        return answer

    async def _hurry(self) -> None:
        """Have what may be given up given up."""
        if self._spare and self._line is not None:
            self._spare = False
            await self._line.send({"hurry": True})

    async def taken(self, table: Mapping[str, Any], key: str) -> tuple[dict[str, Any] | None, str]:
        """The table of a job as its alternative of that key makes it, None where it has none, and its title.

        Raises
        ------
        BusyError
            Too many wait.
        """
        question = {"kind": "take", "table": dict(table), "key": key}
        answer = await self._asked(question, SUMS_SECONDS, READING_SECONDS)
        return (None, "") if answer is None else (answer["table"], answer["title"])

    async def amended(self, base: str, table: Mapping[str, Any]) -> str:
        """A long job file with the changes of a table in it.

        Raises
        ------
        BusyError
            Too many wait, or it takes too long.
        """
        question = {"kind": "amend", "base": base, "table": dict(table)}
        answer = await self._asked(question, READING_SECONDS, READING_SECONDS)
        if answer is None:
            raise BusyError
        return str(answer["text"])

    async def _asked(
        self,
        question: Message,
        seconds: float,
        turn: float,
        known: Callable[[], Message | None] = lambda: None,
        *,
        spare: bool = False,
        form: str = "",
    ) -> Message | None:
        """The answer to a question once it is its turn; None where it takes too long.

        ``spare``: it may be given up for something more urgent; ``form``: for another of the same form.
        """
        try:
            async with asyncio.timeout(turn):
                await self._turn.acquire()
        except TimeoutError:
            raise BusyError from None
        try:
            answer, slow, self._spare, self._form = known(), False, spare, form
            for _ in range(_TRIES):
                if answer is None and not slow:
                    answer, slow = await self._ask(question, seconds)
            return answer
        finally:
            self._spare, self._form = False, ""
            self._turn.release()

    async def _ask(self, question: Message, seconds: float) -> tuple[Message | None, bool]:
        """The answer, and whether it took too long; without either the process was ended from outside."""
        fresh = self._line is None or not self._line.alive
        line = await Line.open(self._module) if fresh else self._line
        assert line is not None
        self._line = line
        answer, slow = None, False
        try:
            # A question is handed over within the same time: a process that stands still takes nothing.
            async with asyncio.timeout(seconds + (_START_SECONDS if fresh else 0.0)):
                await line.send(question)
                answer = await line.receive()
        except TimeoutError:
            slow = True
        finally:
            if answer is None:
                # Given up, or nobody waits any more: its answer must not be taken for the next one's.
                self._line = None
                await asyncio.shield(line.close())
        return answer, slow

    async def warm(self) -> None:
        """Start the process before it is needed."""
        question = {"kind": "warm", "table": {}, "turn": 0}
        with contextlib.suppress(BusyError, OSError):
            await self._asked(question, FIRST_SECONDS, FIRST_SECONDS)

    async def close(self) -> None:
        """End the process."""
        if self._line is not None:
            await self._line.close()


def _digest(what: int | str, table: Mapping[str, Any]) -> bytes:
    return hashlib.sha256(pickle.dumps((what, table))).digest()


def nothing_told(stuck: str) -> Message:
    """Sums of which nothing is told but why there are none."""
    return {
        "faults": [], "wrong": 0, "stuck": stuck, "groups": [], "rules": [], "advice": [], "sundries": [],
        "count": 0, "asked": 0, "open": {}, "ways": [],
    }  # fmt: skip
