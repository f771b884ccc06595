"""The page in this process, and what a browser would do with it."""

from __future__ import annotations

import time
import tomllib
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import pytest
from starlette.testclient import TestClient

from nesting.web import asking, clerk, guard, server
from nesting.web.bench import Solve, SolveQueue
from nesting.web.site import create_app
from tests.web_forms import entries_of

#: Seconds after which something is taken to hang; nothing is measured by it, and a busy machine has its time.
HANGS = 900
ADDRESS = "http://127.0.0.1:8642"
OURS = {"origin": ADDRESS}
#: Samples, and the measurement lists that some of them name.
SAMPLES = sorted((Path(__file__).parents[1] / "samples").glob("*.toml"))


def list_of(path: Path) -> Path | None:
    """The measurement list that a job file names."""
    name = tomllib.loads(path.read_text("utf-8")).get("windows")
    return None if name is None else path.with_name(name)


#: Small enough to be planned at once: one panel of plain fabric.
SMALL = """\
title = "Small"
units = "in"

[fabric.face]

[[fabric.face.bolt]]
width = 54

[[window]]
name = "One"
rod = 30
finished_length = 60
draw = "left"
heading = "clip-ring"
"""


#: Has a layout soon and no proof in any time that a test waits: 24 windows, no two alike, on a print whose
#: columns step, and many ways to join each. A gap of 18 % stays after 40 s on two cores.
ENDLESS = """\
title = "Long gallery"
units = "in"

[fabric.face]
nap = "one-way"
repeat = { length = 25.25, width = 27, drop = 0.5 }

[[fabric.face.bolt]]
width = 56
usable = 55
match = 54
""" + "".join(
    f"""
[[window]]
name = "Window {number}"
rod = {41 + 37 * number % 83}
finished_length = {71 + 23 * number % 47}
heading = "pinch-pleat"
"""
    for number in range(24)
)


#: A plain pair of panels that can be made in many ways, from two bolts.
TWO_BOLTS = """\
title = "Two bolts"
units = "in"
currency = "$"

[fabric.face]
name = "Linen"

[[fabric.face.bolt]]
width = 54
usable = 53
price = 20
sold_by = "1/8 yd"

[[fabric.face.bolt]]
width = 110
price = 30
sold_by = "1/8 yd"

[[window]]
name = "One"
rod = 72
finished_length = 90
heading = "clip-ring"
fullness = 1.5
"""


@contextmanager
def a_page(**more: Any) -> Iterator[TestClient]:
    """The page, started and ended."""
    with patient(), TestClient(create_app(**more), base_url=ADDRESS) as client:
        yield client


@contextmanager
def patient() -> Iterator[None]:
    """The page gives up nothing for being slow: whatever decides by the clock is a test's own to ask for."""
    with pytest.MonkeyPatch.context() as patch:
        for module, names in (
            (clerk, ("SUMS_SECONDS", "READING_SECONDS", "FIRST_SECONDS", "_TURN_SECONDS")),
            (asking, ("ASKING_SECONDS",)),
            (guard, ("BODY_SECONDS", "READER_SECONDS")),
            (server, ("HEAD_SECONDS",)),
        ):
            for name in names:
                patch.setattr(module, name, HANGS)
        yield


def bench_of(client: TestClient) -> SolveQueue:
    line: SolveQueue = client.app.state.bench  # type: ignore[attr-defined]
    return line


def opened(client: TestClient, text: str, listed: Path | None = None) -> dict[str, str]:
    """The form of a job file, as it would be sent back unchanged."""
    files = {"file": ("job.toml", text.encode())} | (
        {} if listed is None else {"list": (listed.name, listed.read_bytes())}
    )
    answer = client.post("/job/open", files=files, headers=OURS)
    assert answer.status_code == 200, answer.text
    return entries_of(answer.text)


def sent(client: TestClient, address: str, entries: Mapping[str, str], **changes: str) -> Any:
    """A form sent from our own page; names of fields with their points as double underscores."""
    typed = {name.replace("__", "."): text for name, text in changes.items()}
    return client.post(address, data={**entries, **typed}, headers=OURS, follow_redirects=False)


def begun(client: TestClient, address: str, entries: Mapping[str, str], **changes: str) -> str:
    """The address of a solve that was just asked for."""
    answer = sent(client, address, entries, **changes)
    assert answer.status_code == 303, answer.text
    return str(answer.headers["location"])


def solve_at(client: TestClient, address: str) -> Solve:
    found = bench_of(client).find(address.rpartition("/")[2])
    assert found is not None
    return found


def idle(client: TestClient) -> None:
    """Wait until nothing that was asked for before is still worked on."""
    line, end = bench_of(client), time.monotonic() + HANGS
    while not line.free:
        assert time.monotonic() < end, "the bench is never free"
        time.sleep(0.05)


def waited(client: TestClient, address: str, until: str = "over", seconds: float = HANGS) -> Solve:
    """The solve once it is ``over``, ``running``, has ``printed`` everything or a file of that name.

    It asks as a page would.
    """
    end = time.monotonic() + seconds
    while time.monotonic() < end:
        told = client.get(f"{address}/now").json()
        solve = solve_at(client, address)
        known = {"over": told["over"], "running": solve.line is not None, "printed": not solve.printing}
        # One that never comes is not waited for beyond all that does.
        if known.get(until, until in solve.files or known["printed"]):
            return solve
        time.sleep(0.05)
    raise AssertionError(f"not {until} after {seconds} s")
