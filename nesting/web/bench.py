"""The workbench: solves wait in line, one is searched at a time, finished ones stay for a while.

What comes after a plan, small changes that would save fabric and the printing, steps back for those that wait
for their first layout: it stands still while they are searched, and goes on where it stood.

Leaving a page, or locking the phone that shows it, ends nothing: the search goes on for the time it was
given, and its plan stays with the last `caps.MOST_KEPT`. Only where others wait does a search that nobody has
looked at for `caps.PATIENCE` seconds stop early; its best layout is kept, checked and printed like any other.
One that waits unseen gives up its place only to somebody who would be turned away. What does end a solve with
nothing to show: the button that gives it up, far more time or memory than it was given, and the end of the
server.
"""

from __future__ import annotations

import asyncio
import contextlib
import logging
import secrets
import time
from collections import OrderedDict
from dataclasses import dataclass, field
from typing import Any, Literal

from nesting.web.caps import (
    GRACE,
    MOST_KEPT,
    MOST_POINTS,
    MOST_STANDING,
    MOST_WAITING,
    PATIENCE,
    SOLVE_SLACK,
)
from nesting.web.table_progress import AtTable
from nesting.web.wire import Line, Message

_LOG = logging.getLogger(__name__)

State = Literal["waiting", "running", "done", "failed", "ended"]


@dataclass(slots=True)
class Solve:
    """One thing that is asked of the solver, and what has come of it.

    Attributes
    ----------
    token
        Its address, which nobody can guess.
    order
        What the solving process is told.
    draft
        The job file it began from, for going back to the form.
    state
        ``waiting`` in line, ``running``, ``done``, ``failed``, or ``ended`` with nothing to show.
    seen
        When a page last asked after it.
    table
        Its steps at the table and how far they are; None until there is a plan.
    version
        Counts what is new, so that a page need not be told the same twice.
    markers
        For each fabric the markers of its best layout so far, how much less it takes than the one before,
        and the ``version`` at which it came.
    printing, standing
        Whether something is still to come of it, and whether that waits until others are searched.
    owner
        The browser that asked for it; its plans are listed for nobody else.
    begun
        When it was asked for, in seconds of the epoch.
    before, taken
        The solve whose advice was taken, and that advice; empty for others.
    """

    token: str
    order: Message
    draft: str
    state: State = "waiting"
    seen: float = field(default_factory=time.monotonic)
    version: int = 0
    news: Message = field(default_factory=dict)
    course: dict[str, list[tuple[float, float | None, float]]] = field(default_factory=dict)
    markers: dict[str, Message] = field(default_factory=dict)
    view: Message | None = None
    files: dict[str, tuple[str, bytes]] = field(default_factory=dict)
    what_if: list[Message] | None = None
    table: AtTable | None = None
    printing: bool = True
    standing: bool = False
    failure: str = ""
    stopped: bool = False
    line: Line | None = None
    owner: str = ""
    begun: float = field(default_factory=time.time)
    before: str = ""
    taken: str = ""

    @property
    def kind(self) -> str:
        """``plan``, ``compare``, or ``opened`` of a plan that was sent here."""
        return str(self.order["kind"])

    @property
    def title(self) -> str:
        """Of the job."""
        said = self.order["table"].get("title")
        return said if isinstance(said, str) and said else "Drapes"

    @property
    def windows(self) -> int:
        """How many the job has, by which its packet takes longer."""
        return len(self.order["table"].get("window", ()))

    @property
    def over(self) -> bool:
        """Whether there is something to show, or never will be."""
        return self.state in ("done", "failed", "ended")

    @property
    def unseen(self) -> bool:
        """Whether nobody has looked at it for a while."""
        return time.monotonic() - self.seen > PATIENCE


class FullError(Exception):
    """So many solves wait already that one more is turned away."""


class SolveQueue:
    """Takes solves, works on one after the other, and keeps what came of them for a while."""

    def __init__(self) -> None:
        self._waiting: list[Solve] = []
        self._known: OrderedDict[str, Solve] = OrderedDict()
        self._running: Solve | None = None
        #: Those with a plan of which something is still to come, and who listens to each.
        self._printing: dict[str, tuple[Solve, asyncio.Task[None]]] = {}
        self._work: asyncio.Task[None] | None = None
        self._woken = asyncio.Event()

    def start(self) -> None:
        """Begin to work."""
        self._work = asyncio.create_task(self._forever())

    async def close(self) -> None:
        """End what runs, and work no more."""
        if self._work is not None:
            self._work.cancel()
            with contextlib.suppress(asyncio.CancelledError):
                await self._work
        printing = tuple(self._printing.values())
        for _, followed in printing:
            followed.cancel()
        await asyncio.gather(*(followed for _, followed in printing), return_exceptions=True)
        if self._running is not None and self._running.line is not None:
            await self._running.line.close()

    @property
    def free(self) -> bool:
        """Whether nothing is worked on and nothing waits."""
        return self._running is None and not self._waiting and not self._printing

    def add(self, order: Message, draft: str, owner: str = "") -> Solve:
        """A new solve at the end of the line, for the browser ``owner``.

        Raises
        ------
        FullError
            The line is too long.
        """
        if len(self._waiting) >= MOST_WAITING and not self._make_room():
            raise FullError
        solve = Solve(secrets.token_urlsafe(18), order, draft, owner=owner)
        self._known[solve.token] = solve
        self._waiting.append(solve)
        self._forget()
        self._woken.set()
        return solve

    def find(self, token: str) -> Solve | None:
        """The solve of that address; a page that asks for it is taken to look at it."""
        solve = self._known.get(token)
        if solve is not None:
            solve.seen = time.monotonic()
            self._known.move_to_end(token)
        return solve

    def _make_room(self) -> bool:
        """Let go the first that waits and that nobody looks at any more."""
        for solve in self._waiting:
            if solve.unseen:
                self._waiting.remove(solve)
                solve.state = "ended"
                solve.failure = (
                    "This solve waited while nobody looked at it, and its place was needed. Your job is "
                    "untouched: plan it again."
                )
                solve.version += 1
                return True
        return False

    def of_owner(self, owner: str) -> list[Solve]:
        """What a browser has asked for and is still known, the latest first; not what it gave up."""
        mine = [solve for solve in self._known.values() if owner and solve.owner == owner]
        shown = [solve for solve in mine if not solve.over or solve.view is not None]
        return sorted(shown, key=lambda solve: -solve.begun)

    def place(self, solve: Solve) -> int:
        """How many are before it; 0 while it is worked on."""
        if solve not in self._waiting:
            return 0
        return self._waiting.index(solve) + (self._running is not None)

    async def enough(self, solve: Solve) -> None:
        """Stop all searching; the best layout is kept."""
        solve.stopped = True
        if solve.line is not None:
            await solve.line.send({"wish": "enough"})

    def leave(self, solve: Solve) -> None:
        """Its page was left: unless it is looked at again soon, others that wait go before its search."""
        solve.seen = time.monotonic() - PATIENCE + GRACE

    async def end(self, solve: Solve) -> None:
        """End it at once, with nothing to show unless its plan is there already."""
        if solve in self._waiting:
            self._waiting.remove(solve)
        if not solve.over:
            # Said first: whoever reads its line finds that it was no failure.
            solve.state, solve.failure = "ended", "This solve was ended before it had a plan."
            solve.version += 1
        if solve.line is not None:
            await solve.line.close()

    def _forget(self) -> None:
        old = [solve for solve in self._known.values() if solve.over]
        for solve in old[: max(0, len(old) - MOST_KEPT)]:
            del self._known[solve.token]

    async def _forever(self) -> None:
        while True:
            try:
                await self._next()
            except Exception:
                # Whatever it was, those that wait are worked on.
                _LOG.exception("the line of solves stumbled")
                await asyncio.sleep(0.1)

    async def _next(self) -> None:
        """Search the first that waits, else print what is still to come of others, the smallest first."""
        printing = min(self._printing.values(), key=lambda each: each[0].windows, default=None)
        if self._waiting and len(self._printing) < MOST_STANDING:
            await self._search(self._waiting.pop(0))
            return
        if printing is not None:
            await self._go_on(*printing)
            return
        self._woken.clear()
        await self._wait(1.0)

    async def _wait(self, seconds: float) -> None:
        """Until somebody new is in line, or something was printed; no longer than that."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._woken.wait()

    async def _search(self, solve: Solve) -> None:
        """One solve to its plan; what comes after it is left for later."""
        for other, _ in self._printing.values():
            self._stand(other)
        self._running = solve
        try:
            await self._run(solve)
        except Exception:
            _LOG.exception("a solve could not be run")
            self._fail(solve, "The solver could not be started.")
        finally:
            self._running = None
            self._forget()

    def _stand(self, solve: Solve) -> None:
        """What is still to come of it waits."""
        if not solve.standing:
            solve.standing = True
            solve.version += 1
            if solve.line is not None:
                solve.line.stand()

    async def _go_on(self, solve: Solve, followed: asyncio.Task[None]) -> None:
        """Print what is still to come of it, until that is done or somebody else waits for a first layout."""
        if solve.standing:
            solve.standing = False
            solve.version += 1
            if solve.line is not None:
                solve.line.go_on()
        if solve.line is not None:
            await solve.line.send({"wish": "print"})
        while not followed.done():
            self._woken.clear()
            if self._waiting and len(self._printing) < MOST_STANDING:
                return
            await self._wait(1.0)

    async def _run(self, solve: Solve) -> None:
        solve.state = "running"
        solve.version += 1
        solve.line = await Line.open("nesting.web.solving")
        planned = asyncio.Event()
        followed = asyncio.create_task(self._follow(solve, solve.line, planned))
        try:
            await solve.line.send(solve.order)
            if solve.stopped:
                await self.enough(solve)
            await planned.wait()
        finally:
            if not planned.is_set():
                followed.cancel()
                await asyncio.gather(followed, return_exceptions=True)
        if not followed.done():
            self._printing[solve.token] = (solve, followed)

    async def _follow(self, solve: Solve, line: Line, planned: asyncio.Event) -> None:
        """Take all that the process of a solve says; ``planned`` once nobody has to wait for it any more."""
        watch = asyncio.create_task(self._watch(solve))
        try:
            async for news in line.messages():
                _take(solve, news)
                if news["kind"] == "over":
                    break
                if solve.over:
                    planned.set()
        finally:
            watch.cancel()
            code = await line.close()
            self._printing.pop(solve.token, None)
            solve.line, solve.printing, solve.standing = None, False, False
            if not solve.over:
                self._fail(solve, _why_ended(code))
            solve.version += 1
            planned.set()
            self._woken.set()

    def _fail(self, solve: Solve, why: str) -> None:
        solve.state, solve.failure = "failed", why
        solve.version += 1

    async def _watch(self, solve: Solve) -> None:
        """Stops the search that nobody looks at where others wait, ends what takes far longer than given."""
        given = solve.order["seconds"] if solve.order["work"] is None else 4 * solve.order["work"] + 60
        begun = time.monotonic()
        end = begun + given + SOLVE_SLACK
        while True:
            await asyncio.sleep(0.5)
            now = time.monotonic()
            if solve.standing:
                end += now - begun
            begun = now
            if solve.unseen and self._waiting and not solve.stopped and not solve.over:
                # Its best layout is kept; what else was looked for is not looked for any longer.
                await self.enough(solve)
            if time.monotonic() > end and not solve.over:
                solve.failure, solve.state = "This solve took far longer than it was given.", "failed"
            if (solve.state in ("ended", "failed") or time.monotonic() > end) and solve.line is not None:
                await solve.line.close()
                return


def _take(solve: Solve, news: Message) -> None:
    """Lay what a solving process says to the rest."""
    kind = news["kind"]
    if kind == "news":
        solve.news = news
        points = solve.course.setdefault(news["fabric"], [])
        points.append(news["point"])
        if len(points) > MOST_POINTS:
            del points[1:-1:2]
    elif kind == "marker":
        solve.markers[news["fabric"]] = {
            "views": news["views"], "less": news["less"], "version": solve.version + 1,
        }  # fmt: skip
    elif kind == "file":
        solve.files[news["name"]] = (news["media"], news["data"])
    elif kind == "what_if":
        solve.what_if = news["found"]
    elif kind == "table":
        solve.table = AtTable(news["table"], news["plan"])
    elif kind in ("plan", "compare"):
        solve.view, solve.state = news["view"], "done"
        solve.markers = {}
    elif kind == "failed":
        solve.state, solve.failure = "failed", news["text"]
    solve.version += 1


def _why_ended(code: int) -> str:
    _LOG.info("a solver ended with code %s", code)
    # Below 0 by a signal; 255 where nobody can say, for somebody else has buried it.
    if code < 0 or code in (137, 152, 255):
        return (
            "The solver was ended by this machine, most likely for want of memory or time. Your job is "
            "untouched: go back to it, and take fewer windows at a time or search a shorter while."
        )
    return "The solver ended without an answer. Your job is untouched: go back to it and try again."


def order_of(kind: str, table: dict[str, Any], search: Any, widths: tuple[int, ...] = ()) -> Message:
    """What a solving process is told.

    Parameters
    ----------
    kind
        ``plan`` or ``compare``.
    table
        The job.
    search
        Seconds, seed and work, as typed and found sound, and where the browser keeps the job.
    widths
        Further widths to compare, in ticks.
    """
    work = float(search.work) if search.work else None
    return {
        "kind": kind,
        "table": table,
        "seconds": float(search.seconds),
        "seed": int(search.seed),
        "work": work,
        "kept": search.kept,
        "seen": search.seen,
        # A budget of work gives the same plan everywhere only with one thread.
        "workers": None if work is None else 1,
        "widths": widths,
    }
