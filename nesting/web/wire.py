"""How the page talks with the processes that calculate for it: frames over pipes, limits, a low priority."""

from __future__ import annotations

import asyncio
import contextlib
import ctypes
import os
import pickle
import select
import signal
import struct
import sys
from collections.abc import AsyncIterator, Callable
from typing import Any, BinaryIO, Final

from nesting.web.caps import SENDING_SECONDS

Message = dict[str, Any]
_HEAD: Final = struct.Struct(">Q")
#: Longer frames are no message of ours.
_LONGEST: Final = 512 * 1024**2
#: Tells a process that nobody waits for its answer any more; None where there are no such signals.
_HURRY: Final[signal.Signals | None] = getattr(signal, "SIGUSR1", None)
#: PR_SET_PDEATHSIG of prctl(2).
_DEATH_OF_PARENT: Final = 1
#: Seconds between two looks at whether a process is there, and for what it still said before it ended.
_LOOK: Final = 0.05
_LAST_WORDS: Final = 1.0


def framed(message: Message) -> bytes:
    """A message as it goes through a pipe."""
    body = pickle.dumps(message, protocol=pickle.HIGHEST_PROTOCOL)
    return _HEAD.pack(len(body)) + body


class HurriedError(BaseException):
    """What is worked on is given up; no handler of ordinary faults takes it for one."""


class Outlet:
    """In a calculating process: its side of the wire.

    Standard output belongs to the wire alone: whatever a library prints goes to standard error.
    """

    def __init__(self) -> None:
        self._out: BinaryIO = os.fdopen(os.dup(1), "wb")
        os.dup2(2, 1)
        self._in: BinaryIO = os.fdopen(os.dup(0), "rb")

    def answered(self, asked: Message, answer: Callable[[Message], Message]) -> None:
        """Send the answer to a question, or that it was given up, as `Line.hurry` can ask meanwhile."""
        working = True

        def give_up(*_: object) -> None:
            nonlocal working
            if working:
                working = False
                raise HurriedError

        if _HURRY is not None:
            signal.signal(_HURRY, give_up)
        try:
            made = answer(asked)
            working = False
        except HurriedError:
            made = {"ended": True}
        self.send(made)

    def send(self, message: Message) -> None:
        """Hand a message to the page; the process ends where nobody listens any more."""
        try:
            self._out.write(framed(message))
            self._out.flush()
        except OSError:
            os._exit(1)

    def waiting(self) -> bool:
        """Whether the page has said something more already; never where pipes cannot be asked."""
        try:
            return bool(select.select([self._in], [], [], 0)[0])
        except (OSError, ValueError):
            return False

    def receive(self) -> Message | None:
        """The next message of the page; None once the page is gone."""
        head = self._in.read(_HEAD.size)
        if len(head) < _HEAD.size:
            return None
        body = self._in.read(_HEAD.unpack(head)[0])
        message: Message = pickle.loads(body)
        return message


def keep_low(nice: int, memory: int, seconds: int | None) -> None:
    """Give this process a low priority and limits of memory (bytes) and computing time (seconds)."""
    with contextlib.suppress(OSError, AttributeError):
        os.nice(nice)
    try:
        import resource
    except ImportError:
        # Only Unix has limits; elsewhere the page's own clock ends what takes too long.
        return
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_AS, (memory, memory))
    with contextlib.suppress(ValueError, OSError):
        resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    if seconds is not None:
        with contextlib.suppress(ValueError, OSError):
            resource.setrlimit(resource.RLIMIT_CPU, (seconds, seconds + 5))


def end_with_page() -> None:
    """Have this process end with the page even while it stands still and cannot hear of that; Linux only."""
    with contextlib.suppress(OSError, AttributeError, TypeError):
        ctypes.CDLL(None).prctl(_DEATH_OF_PARENT, signal.SIGKILL)


class Line:
    """In the page: the wire to one calculating process, started here and ended by `close`."""

    def __init__(self, process: asyncio.subprocess.Process) -> None:
        self._process = process
        self._ready = False

    @classmethod
    async def open(cls, module: str) -> Line:
        """Start ``python -m module``."""
        process = await asyncio.create_subprocess_exec(
            sys.executable,
            "-m",
            module,
            stdin=asyncio.subprocess.PIPE,
            stdout=asyncio.subprocess.PIPE,
            env=os.environ | {"OPENBLAS_NUM_THREADS": "1", "PYTHONUNBUFFERED": "1", "MPLBACKEND": "Agg"},
            start_new_session=True,
        )
        return cls(process)

    @property
    def pid(self) -> int:
        """Of the process."""
        return self._process.pid

    @property
    def alive(self) -> bool:
        """Whether it runs."""
        return self._process.returncode is None

    async def send(self, message: Message) -> None:
        """Hand it a message; in vain where it is gone, or takes nothing for too long."""
        stdin = self._process.stdin
        if stdin is None or stdin.is_closing():
            return
        with contextlib.suppress(ConnectionError, BrokenPipeError, TimeoutError):
            stdin.write(framed(message))
            async with asyncio.timeout(SENDING_SECONDS):
                await stdin.drain()

    def hurry(self) -> None:
        """Have it give up what it works on, which it then says; one that never answered is left alone."""
        if self._ready and self.alive and _HURRY is not None:
            with contextlib.suppress(ProcessLookupError):
                os.kill(self._process.pid, _HURRY)

    def stand(self) -> None:
        """Have it stand still with all that it has started, until `go_on`; in vain where that cannot be."""
        self._say(getattr(signal, "SIGSTOP", None))

    def go_on(self) -> None:
        """Have it go on."""
        self._say(getattr(signal, "SIGCONT", None))

    def _say(self, word: signal.Signals | None) -> None:
        if word is not None and self.alive and hasattr(os, "killpg"):
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self._process.pid, word)

    async def receive(self) -> Message | None:
        """Its next message; None once it has ended.

        The end of a pipe alone is not waited for: what the process has started itself may hold it open.
        """
        reading = asyncio.ensure_future(self._read())
        gone = asyncio.ensure_future(self._gone())
        try:
            await asyncio.wait({reading, gone}, return_when=asyncio.FIRST_COMPLETED)
            if not reading.done():
                await asyncio.wait({reading}, timeout=_LAST_WORDS)
            self._ready = self._ready or reading.done()
            return reading.result() if reading.done() else None
        finally:
            reading.cancel()
            gone.cancel()

    async def _read(self) -> Message | None:
        stdout = self._process.stdout
        assert stdout is not None
        try:
            (length,) = _HEAD.unpack(await stdout.readexactly(_HEAD.size))
            if length > _LONGEST:
                return None
            message: Message = pickle.loads(await stdout.readexactly(length))
        except (asyncio.IncompleteReadError, ConnectionError, pickle.UnpicklingError, EOFError):
            return None
        return message

    async def _gone(self) -> None:
        """Until the process has ended, whatever holds its pipes."""
        while self._process.returncode is None:
            await asyncio.sleep(_LOOK)

    async def messages(self) -> AsyncIterator[Message]:
        """All it says until it ends."""
        while (message := await self.receive()) is not None:
            yield message

    async def close(self) -> int:
        """End it if it has not ended; returns its exit code, negative for a signal."""
        if hasattr(os, "killpg"):
            # With all that it has started: it is the head of a session of its own. Its own `kill` would ask
            # after it first, and thereby bury it before the loop has heard how it died.
            with contextlib.suppress(ProcessLookupError, PermissionError):
                os.killpg(self._process.pid, signal.SIGKILL)
        elif self._process.returncode is None:
            with contextlib.suppress(ProcessLookupError):
                self._process.kill()
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(SENDING_SECONDS):
                await self._gone()
        # Its pipes, which what it has started may hold open for ever.
        self._process._transport.close()  # type: ignore[attr-defined]
        return -signal.SIGTERM if self._process.returncode is None else self._process.returncode
