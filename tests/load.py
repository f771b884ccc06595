"""Many at once on the page, some of them rude: how long the others wait. Run ``python -m tests.load``.

Starts `nesting serve` on a port of its own, keeps so many connections busy for so long, each with one request
after the other, and beside them a client that sends a byte a second, one with a body of 100 MB, one with
a job of 10^9 tabs, one with markup in every name, and a solve. All stays on this machine and ends by itself.
"""

from __future__ import annotations

import argparse
import asyncio
import contextlib
import os
import random
import re
import statistics
import subprocess
import sys
import time
from collections import Counter
from pathlib import Path
from urllib.parse import urlencode

from tests.web_forms import entries_of

ROOT = Path(__file__).parents[1]
BARE = """
import sys, uvicorn
from starlette.applications import Starlette
from starlette.responses import PlainTextResponse
from starlette.routing import Route
async def page(request): return PlainTextResponse("hello")
uvicorn.run(Starlette(routes=[Route("/", page)]), port=int(sys.argv[1]), log_config=None)
"""


class Client:
    """One connection that asks one thing after the other."""

    def __init__(self, port: int) -> None:
        self._port = port
        self._wire: tuple[asyncio.StreamReader, asyncio.StreamWriter] | None = None

    async def ask(self, method: str, path: str, body: bytes = b"") -> tuple[int, bytes]:
        """Status and body of an answer."""
        if self._wire is None:
            self._wire = await asyncio.open_connection("127.0.0.1", self._port)
        reader, writer = self._wire
        head = f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{self._port}\r\n"
        if method == "POST":
            head += f"Origin: http://127.0.0.1:{self._port}\r\nContent-Length: {len(body)}\r\n"
            head += "Content-Type: application/x-www-form-urlencoded\r\n"
        writer.write(head.encode() + b"\r\n" + body)
        await writer.drain()
        answer = await reader.readuntil(b"\r\n\r\n")
        status = int(answer.split(b" ", 2)[1])
        size = re.search(rb"content-length: (\d+)", answer, re.IGNORECASE)
        text = await reader.readexactly(int(size[1])) if size else b""
        if b"connection: close" in answer.lower():
            writer.close()
            self._wire = None
        return status, text


async def get(port: int, path: str) -> str:
    return (await Client(port).ask("GET", path))[1].decode()


async def busy(
    port: int, end: float, forms: list[dict[str, str]], number: int, waits: list, seen: Counter
) -> None:
    """One of many, each a maker with a job of their own: looks, types, adds, saves."""
    client, dice = Client(port), random.Random(number)
    while time.monotonic() < end:
        form = dict(dice.choice(forms))
        kind = dice.choices(
            ("start", "style", "sample", "live", "typed", "job", "save"), (3, 3, 2, 4, 2, 1, 1)
        )[0]
        if kind == "typed":
            # What nobody typed before: these sums are worked out anew.
            form["window.0.rod"] = f"{40 + dice.randrange(60)} {dice.randrange(1, 16)}/16"
        body = urlencode(form | {"do": "add:window"}).encode()
        asks = {
            "start": ("GET", "/"),
            "style": ("GET", "/static/page.css"),
            "sample": ("GET", "/job/sample/dining-room"),
            "live": ("POST", "/live", body),
            "typed": ("POST", "/live", body),
            "job": ("POST", "/job", body),
            "save": ("POST", "/job/save", body),
        }
        started = time.monotonic()
        try:
            status, text = await client.ask(*asks[kind])
            if b'"busy":true' in text.replace(b" ", b"") or b"Many sums wait" in text:
                kind += ", put off"
        except (OSError, asyncio.IncompleteReadError):
            status, client = 0, Client(port)
        waits.append((kind, time.monotonic() - started))
        seen[(kind, status)] += 1


async def drip(port: int, end: float) -> str:
    """A byte a second, until it is cut off."""
    started = time.monotonic()
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    with contextlib.suppress(OSError):
        for sign in b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"y" * 600:
            if time.monotonic() > end:
                return "never cut off"
            writer.write(bytes([sign]))
            await writer.drain()
            with contextlib.suppress(TimeoutError):
                said = await asyncio.wait_for(reader.read(1), 1.0)
                return f"cut off after {time.monotonic() - started:.0f} s" if not said else "answered"
    return f"cut off after {time.monotonic() - started:.0f} s"


async def flood(port: int) -> str:
    """A body of 100 MB."""
    reader, writer = await asyncio.open_connection("127.0.0.1", port)
    size = 100 * 1024 * 1024
    head = f"POST /live HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
    writer.write(f"{head}Content-Length: {size}\r\n\r\n".encode())
    with contextlib.suppress(OSError):
        for _ in range(size // 65536):
            writer.write(b"x" * 65536)
            await writer.drain()
            with contextlib.suppress(TimeoutError):
                said = await asyncio.wait_for(reader.read(200), 0.001)
                return said.split(b"\r\n")[0].decode() or "closed"
    return "closed"


def memory(pid: int) -> int:
    """MiB of a process and its children."""
    pids, total = [str(pid)], 0
    while pids:
        one = pids.pop()
        with contextlib.suppress(OSError):
            pids += Path(f"/proc/{one}/task/{one}/children").read_text().split()
            held = re.search(r"VmRSS:\s+(\d+)", Path(f"/proc/{one}/status").read_text())
            total += int(held[1]) if held else 0
    return total // 1024


async def rude(port: int, end: float, small: dict[str, str]) -> dict[str, str]:
    """The rude ones, again and again; what each was told last."""
    told: dict[str, str] = {}
    markup = "<script>alert(1)</script>\"'"
    named = {
        name: (markup if name.endswith(("name", "title", "room")) else text) for name, text in small.items()
    }

    async def again(what: str, body: dict[str, str]) -> None:
        while time.monotonic() < end:
            status, text = await Client(port).ask("POST", "/live", urlencode(body).encode())
            ran = b"<script>alert" in text
            told[what] = f"{status}, {'NOT escaped' if ran else 'nothing of it runs'}: {text[12:80].decode()}"
            await asyncio.sleep(1)

    async def floods() -> None:
        while time.monotonic() < end:
            told["100 MB"] = await flood(port)
            await asyncio.sleep(2)

    async def drips() -> None:
        told["a byte a second"] = await drip(port, end)

    await asyncio.gather(
        drips(),
        floods(),
        again("10^9 tabs", small | {"window.0.tab.count": str(10**9)}),
        again("markup", named),
    )
    return told


async def solve(port: int, end: float, form: dict[str, str]) -> str:
    """One solve after the other, looked at as a page would."""
    done = 0
    while time.monotonic() < end:
        client = Client(port)
        reader, writer = await asyncio.open_connection("127.0.0.1", port)
        body = urlencode(form | {"seconds": "10"}).encode()
        head = f"POST /plan HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
        head += f"Content-Type: application/x-www-form-urlencoded\r\nContent-Length: {len(body)}\r\n\r\n"
        writer.write(head.encode() + body)
        answer = (await reader.readuntil(b"\r\n\r\n")).decode()
        place = re.search(r"location: (\S+)", answer, re.IGNORECASE)
        if place is None:
            return f"not begun: {answer[:40]}"
        while time.monotonic() < end:
            _, text = await client.ask("GET", f"{place[1]}/now")
            if b'"over":true' in text:
                done += 1
                break
            await asyncio.sleep(0.6)
    return f"{done} done"


def started(command: list[str], port: int, expect: bytes) -> tuple[subprocess.Popen, float]:
    """A server, and the seconds until its first page was there."""
    began = time.monotonic()
    running = subprocess.Popen(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, cwd=ROOT)
    import socket

    while True:
        try:
            with socket.create_connection(("127.0.0.1", port)) as wire:
                wire.sendall(
                    f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n\r\n".encode()
                )
                said = b""
                while expect not in said:
                    more = wire.recv(65536)
                    if not more:
                        break
                    said += more
            if expect in said:
                return running, time.monotonic() - began
        except OSError:
            time.sleep(0.005)


def first_pages(times: int) -> None:
    """Start to first page, ours and a bare Starlette application's, in turn."""
    ours, bare = [], []
    for turn in range(times):
        for command, expect, found in (
            ([sys.executable, "-c", BARE, str(8700 + turn)], b"hello", bare),
            ([sys.executable, "-m", "tests.serve", "--port", str(8800 + turn)], b"</html>", ours),
        ):
            running, seconds = started(command, int(command[-1]), expect)
            found.append(seconds)
            running.terminate()
            running.wait(20)
    one, two = statistics.median(ours), statistics.median(bare)
    print(
        f"start to first page, median of {times}: {one:.2f} s; bare Starlette {two:.2f} s ({one / two:.2f}x)"
    )


async def keystrokes(port: int, times: int) -> None:
    """The sums of twelve windows after one keystroke, nobody else there."""
    page = await get(port, "/job/sample/three-window-house")
    form = entries_of(page)
    client = Client(port)
    for number in range(9):
        status, text = await client.ask("POST", "/job", urlencode(form | {"do": "copy:window.0"}).encode())
        form = entries_of(text.decode())
        assert status == 200, number
    found = []
    for number in range(times):
        body = urlencode(form | {"window.0.rod": f"{50 + number} 1/4"}).encode()
        began = time.monotonic()
        status, text = await client.ask("POST", "/live", body)
        found.append(time.monotonic() - began)
        assert status == 200
        assert b"ready to plan" in text
    ours, worst = (1000 * value for value in (statistics.median(found), max(found)))
    print(f"sums of 12 windows, median of {times}: {ours:.0f} ms, worst {worst:.0f} ms")


async def crowd(port: int, pid: int, count: int, seconds: float) -> None:
    forms = [
        entries_of(await get(port, f"/job/sample/{path.stem}"))
        for path in sorted((ROOT / "samples").glob("*.toml"))
    ]
    small = entries_of(await get(port, "/job/sample/reading-nook"))
    waits: list[tuple[str, float]] = []
    seen: Counter[tuple[str, int]] = Counter()
    most, end = memory(pid), time.monotonic() + seconds

    async def weigh() -> None:
        nonlocal most
        while time.monotonic() < end:
            most = max(most, memory(pid))
            await asyncio.sleep(1)

    many = [busy(port, end, forms, number, waits, seen) for number in range(count)]
    told, solved, *_ = await asyncio.gather(rude(port, end, small), solve(port, end, small), weigh(), *many)
    print(f"{count} at a time for {seconds:g} s: {len(waits)} requests")
    for kind in ("all", *sorted({kind for kind, _ in waits})):
        of_kind = sorted(wait for name, wait in waits if kind in ("all", name))
        places = {share: of_kind[min(len(of_kind) - 1, int(share * len(of_kind)))] for share in (0.5, 0.99)}
        line = f"  {kind:7} {len(of_kind):6}  median {places[0.5]:.3f} s  99th {places[0.99]:.3f} s"
        print(f"{line}  worst {of_kind[-1]:.3f} s")
    print(f"  answers by kind and status: {dict(sorted(seen.items()))}")
    print(f"  most memory of page, sums and solver together: {most} MiB; solves beside: {solved}")
    for what, words in told.items():
        print(f"  {what}: {words}")
    status, text = await Client(port).ask("GET", "/job/sample/dining-room")
    print(f"  afterwards: {status}, {len(text)} bytes, {memory(pid)} MiB")


def main() -> None:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--seconds", type=float, default=60)
    asked.add_argument("--count", type=int, default=200)
    asked.add_argument("--starts", type=int, default=7)
    asked.add_argument("--port", type=int, default=8690)
    said = asked.parse_args()
    print(f"{os.cpu_count()} cores, Python {sys.version.split()[0]}, load before {os.getloadavg()[0]:.1f}")
    first_pages(said.starts)
    running, _ = started(
        [sys.executable, "-m", "tests.serve", "--port", str(said.port)], said.port, b"</html>"
    )
    try:
        asyncio.run(keystrokes(said.port, 50))
        asyncio.run(crowd(said.port, running.pid, said.count, said.seconds))
    finally:
        running.terminate()
        running.wait(20)


if __name__ == "__main__":
    main()
