"""The line of solves: nobody who waits for a first layout waits for another's packet."""

from __future__ import annotations

import asyncio
from collections.abc import AsyncIterator, Callable, Coroutine
from typing import Any

import pytest

import nesting.web.bench as bench_module
from nesting.web.bench import Solve, SolveQueue, order_of
from nesting.web.told_job import SearchSettings
from tests.web_page import ENDLESS, HANGS, OURS, SMALL, a_page, begun, opened, waited

Message = dict[str, Any]
PLAN: Message = {"kind": "plan", "view": {}}
FILE: Message = {"kind": "file", "name": "packet.html", "media": "text/html", "data": b"x"}
OVER: Message = {"kind": "over"}


class _Line:
    """A process that says what a test has it say, and notes what it is told."""

    opened: list[_Line]

    def __init__(self) -> None:
        self.told: list[str] = []
        self._says: asyncio.Queue[Message] = asyncio.Queue()

    @classmethod
    async def open(cls, module: str) -> _Line:
        assert module == "nesting.web.solving"
        cls.opened.append(cls())
        return cls.opened[-1]

    def say(self, *messages: Message) -> None:
        for message in messages:
            self._says.put_nowait(message)

    async def send(self, message: Message) -> None:
        self.told.append(str(message.get("wish", "order")))

    def stand(self) -> None:
        self.told.append("stand")

    def go_on(self) -> None:
        self.told.append("go on")

    async def messages(self) -> AsyncIterator[Message]:
        while True:
            yield await self._says.get()

    async def close(self) -> int:
        return 0


async def _until(holds: Callable[[], bool]) -> None:
    async with asyncio.timeout(HANGS):
        while not holds():
            await asyncio.sleep(0)


def _asked(bench: SolveQueue, windows: int) -> Solve:
    return bench.add(order_of("plan", {"window": [{}] * windows}, SearchSettings()), "")


def _run(work: Callable[[SolveQueue, list[_Line]], Coroutine[Any, Any, None]]) -> None:
    """A line of solves whose processes are those of a test."""

    async def run() -> None:
        _Line.opened = []
        bench = SolveQueue()
        bench.start()
        await work(bench, _Line.opened)
        await bench.close()

    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(bench_module, "Line", _Line)
        asyncio.run(run())


def test_printing_waits_for_those_that_wait_and_goes_on_afterwards() -> None:
    async def work(bench: SolveQueue, lines: list[_Line]) -> None:
        first, second = _asked(bench, 24), _asked(bench, 1)
        await _until(lambda: len(lines) == 1)
        assert bench.place(second) == 1
        lines[0].say(PLAN)
        await _until(lambda: len(lines) == 2)
        assert (first.state, first.printing, first.standing) == ("done", True, True)
        assert lines[0].told == ["order", "stand"]
        lines[1].say(PLAN)
        # The small one is printed first, whoever was there first.
        await _until(lambda: "print" in lines[1].told)
        assert "print" not in lines[0].told
        assert first.standing
        lines[1].say(FILE, OVER)
        await _until(lambda: "print" in lines[0].told)
        assert lines[0].told == ["order", "stand", "go on", "print"]
        assert (second.printing, list(second.files)) == (False, ["packet.html"])
        assert (first.printing, first.standing) == (True, False)
        lines[0].say(FILE, OVER)
        await _until(lambda: bench.free)
        assert (first.printing, list(first.files)) == (False, ["packet.html"])

    _run(work)


def test_printing_that_has_begun_stands_still_for_one_who_comes() -> None:
    async def work(bench: SolveQueue, lines: list[_Line]) -> None:
        first = _asked(bench, 24)
        await _until(lambda: len(lines) == 1)
        lines[0].say(PLAN)
        await _until(lambda: "print" in lines[0].told)
        assert "stand" not in lines[0].told
        second = _asked(bench, 30)
        await _until(lambda: len(lines) == 2)
        assert first.standing
        assert second.state == "running"
        # What it had said by then is kept.
        lines[0].say(FILE)
        await _until(lambda: bool(first.files))
        lines[1].say({"kind": "failed", "text": "no"}, OVER)
        await _until(lambda: not first.standing)
        assert lines[0].told == ["order", "print", "stand", "go on", "print"]
        lines[0].say(OVER)
        await _until(lambda: bench.free)
        assert (first.state, second.state) == ("done", "failed")

    _run(work)


def test_so_many_stand_still_and_no_more(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(bench_module, "MOST_STANDING", 2)

    async def work(bench: SolveQueue, lines: list[_Line]) -> None:
        solves = [_asked(bench, windows) for windows in (3, 2, 1)]
        for number in range(2):
            await _until(lambda number=number: len(lines) == number + 1)  # type: ignore[misc]
            lines[number].say(PLAN)
        await _until(lambda: "print" in lines[1].told)
        assert [solve.state for solve in solves] == ["done", "done", "waiting"]
        lines[1].say(OVER)
        await _until(lambda: len(lines) == 3)
        assert [solve.standing for solve in solves] == [True, False, False]
        assert "print" not in lines[0].told

    _run(work)


@pytest.mark.nightly
def test_the_next_in_line_is_planned_while_a_long_packet_stands_still() -> None:
    with a_page() as page:
        long = begun(page, "/plan", opened(page, ENDLESS), seconds="600")
        while not waited(page, long, "running").markers:
            page.get(f"{long}/now")
        short = begun(page, "/plan", opened(page, SMALL), seconds="5")
        page.post(f"{long}/enough", headers=OURS)
        solve = waited(page, long)
        assert solve.line is not None
        waited(page, short, "running")
        assert solve.printing
        assert "packet.html" not in solve.files
        # Until the short one is printed, which takes some seconds, the long one has nothing to do.
        assert solve.standing
        said = page.get(long).text
        assert "Others wait for their first layout." in said
        assert "printed after them" in page.get(f"{long}/file/packet.html").text
        assert waited(page, short, "printed").files["packet.html"]
        # It goes on where it stood; its packet, which takes far longer, is not waited for.
        assert waited(page, long, "cut-list.csv").files["cut-list.csv"]
        assert not solve.standing
