"""First answers while a job is typed: what nobody waits for is given up, what is shown was checked."""

from __future__ import annotations

import asyncio
import os
import signal
import threading
import time
from pathlib import Path

import pytest

from nesting.files import checked_document, job_table, read_job
from nesting.planning.effort import Effort
from nesting.planning.planner import plan
from nesting.web.clerk import BusyError, Clerk, nothing_told
from nesting.web.first import _Best, first_of
from nesting.web.wire import Message, Outlet
from nesting.web.workings import sums_of
from tests.benchmarks.first_answers import job_of, processor_time
from tests.web_page import patient

SAMPLES = Path(__file__).parents[1] / "samples"
TABLE = job_table((SAMPLES / "reading-nook.toml").read_text("utf-8"))


def of_width(width: int, windows: int = 2) -> dict[str, object]:
    table = dict(job_table(job_of(windows, 0)))
    table["fabric"] = {"face": {"bolt": [{"width": width}]}}
    return table


def test_sums_that_the_same_form_asks_for_anew_are_given_up() -> None:
    """Forty windows of narrow fabric take seconds; the next figure typed makes them worthless."""

    async def typed() -> tuple[object, Message, Message]:
        clerk = Clerk()
        try:
            await clerk.warm()
            long = asyncio.create_task(clerk.sums(of_width(5, 40), "mine"))
            while clerk._form != "mine":
                await asyncio.sleep(0.01)
            await asyncio.sleep(0.2)
            short = await clerk.sums(of_width(54), "mine")
            gone = (await asyncio.gather(long, return_exceptions=True))[0]
            # It is not taken for known, and its process answers on.
            return gone, short, await clerk.sums(of_width(5))
        finally:
            await clerk.close()

    with patient():
        gone, short, again = asyncio.run(typed())
    assert isinstance(gone, BusyError)
    assert short == sums_of(of_width(54))
    assert again["count"] == sums_of(of_width(5))["count"]


def test_sums_of_another_form_are_waited_for() -> None:
    async def typed() -> list[Message]:
        clerk = Clerk()
        try:
            await clerk.warm()
            wide = {"units": "in", **of_width(54, 12)}
            return await asyncio.gather(clerk.sums(wide, "one"), clerk.sums(of_width(54), "other"))
        finally:
            await clerk.close()

    with patient():
        first, second = asyncio.run(typed())
    assert first["count"] > second["count"] > 0


class Pipe(Outlet):
    """The side of a process, in this one."""

    def __init__(self) -> None:
        self.sent: list[Message] = []

    def send(self, message: Message) -> None:
        self.sent.append(message)


@pytest.mark.skipif(not hasattr(signal, "SIGUSR1"), reason="there are no such signals here")
def test_a_word_to_hurry_ends_what_is_worked_on_and_nothing_else() -> None:
    pipe, before = Pipe(), signal.getsignal(signal.SIGUSR1)
    try:
        threading.Timer(0.2, os.kill, (os.getpid(), signal.SIGUSR1)).start()
        pipe.answered({}, lambda _: {"slept": time.sleep(900)})
        # One that comes too late finds nothing to end.
        os.kill(os.getpid(), signal.SIGUSR1)
        pipe.answered({"said": 1}, dict)
        os.kill(os.getpid(), signal.SIGUSR1)
    finally:
        signal.signal(signal.SIGUSR1, before)
    assert pipe.sent == [{"ended": True}, {"said": 1}]


def test_a_first_layout_is_given_up_for_a_later_one() -> None:
    best = _Best()
    assert first_of(best, TABLE, 0, hurried=lambda: True)["ended"]
    assert best.plan_of(TABLE) is None
    told = first_of(best, TABLE, 0)
    assert told["lines"]
    assert "ended" not in told


@pytest.mark.parametrize("name", ["reading-nook", "dining-room", "three-window-house"])
def test_layouts_alone_are_as_sound_as_with_all_that_is_planned_beside_them(name: str) -> None:
    """The judge looks at them anew, and the document passes; nothing is said that was not planned."""
    job = read_job(SAMPLES / f"{name}.toml")
    made = plan(job, effort=Effort(work=0.2, workers=1, layouts_only=True))
    assert checked_document(made)["sewing"]
    assert made.seams == ()
    assert made.questions == ()
    assert not [one.text for one in made.advice if one.kind == "offer" and "fullness" in one.text]
    for layout in made.layouts:
        assert layout.buy is not None
        assert layout.length is not None
        assert layout.length >= layout.bound.length
    assert {piece.id for piece in made.pieces} == {
        laid.piece.id for layout in made.layouts for laid in layout.placements
    }


def test_what_takes_too_long_and_what_waits_have_the_shape_of_sums() -> None:
    assert set(nothing_told("")) == set(sums_of(TABLE))


def test_processor_time_is_counted() -> None:
    before, end = processor_time(os.getpid()), time.process_time() + 0.3
    while time.process_time() < end:
        pass
    assert processor_time(os.getpid()) >= before + 0.2
