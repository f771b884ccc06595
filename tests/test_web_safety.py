"""What the page refuses: foreign hosts and pages, too much, too slow, and anything that would run."""

from __future__ import annotations

import asyncio
import os
import re
import signal
import socket
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from html.parser import HTMLParser
from pathlib import Path

import pytest
import uvicorn
from starlette.testclient import TestClient

from nesting.commands.every import app as commands
from nesting.errors import OutputError
from nesting.web import caps, guard, server
from nesting.web.bench import SolveQueue, _why_ended
from nesting.web.clerk import BusyError, Clerk
from nesting.web.draft import packed
from nesting.web.guard import POLICY
from nesting.web.remembered import Memory
from nesting.web.rendering import STATIC
from nesting.web.server import PatientProtocol, address_of, bound_socket, is_loopback
from nesting.web.site import LOOPBACK, create_app
from nesting.web.wire import Line
from tests.web_forms import entries_of
from tests.web_page import ADDRESS, HANGS, OURS, SMALL, a_page, begun, bench_of, opened, sent, waited

POSTS = (
    "/job",
    "/job/open",
    "/job/save",
    "/keep",
    "/kept/x/remove",
    "/kept/x/back",
    "/kept/x/forget",
    "/live",
    "/first",
    "/weigh",
    "/plan",
    "/compare",
    "/solve/x/enough",
    "/solve/x/leave",
    "/solve/x/take",
    "/solve/x/end",
    "/solve/x/table",
    "/solve/x/table/wrong",
    "/solve/x/table/leave",
)
#: A name that would run if it were not escaped everywhere.
MARKUP = """"><script>alert(1)</script><img src=x onerror=alert(1)>'{{7*7}}"""


@pytest.fixture(scope="module")
def page() -> Iterator[TestClient]:
    with a_page() as client:
        yield client


@pytest.mark.parametrize("host", ["127.0.0.1", "127.0.0.1:8642", "localhost:8642", "[::1]:8642", "LOCALHOST"])
def test_the_page_knows_its_own_names(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize(
    "host",
    [
        "evil.example",
        "127.0.0.1.evil.example",
        "localhost.evil.example:8642",
        "",
        "127.0.0.1:x",
        "192.168.0.7",
        "[::1",
    ],
)
def test_any_other_name_is_refused(page: TestClient, host: str) -> None:
    answer = page.get("/", headers={"host": host})
    assert answer.status_code == 421
    assert "nesting serve" in answer.text


def test_a_page_on_all_addresses_answers_to_addresses_and_not_to_names() -> None:
    with a_page(any_address=True) as page:
        assert page.get("/", headers={"host": "192.168.0.7:8642"}).status_code == 200
        assert page.get("/", headers={"host": "evil.example"}).status_code == 421


@pytest.mark.parametrize("address", POSTS)
def test_posts_come_from_our_own_page_only(page: TestClient, address: str) -> None:
    for headers in (
        {},
        {"origin": "null"},
        {"origin": "http://evil.example"},
        {"origin": "http://127.0.0.1:9999"},
        {"origin": "https://127.0.0.1:8642"},
        {"origin": f"{ADDRESS}.evil.example"},
        {"referer": "http://evil.example/127.0.0.1:8642"},
        {"sec-fetch-site": "cross-site"},
    ):
        assert page.post(address, data={}, headers=headers).status_code == 403
    for headers in (
        {"origin": ADDRESS},
        {"referer": f"{ADDRESS}/job/new"},
        {"sec-fetch-site": "same-origin"},
    ):
        assert page.post(address, data={}, headers=headers).status_code != 403


def test_nothing_changes_by_looking(page: TestClient) -> None:
    for address in POSTS:
        assert page.get(address).status_code in (404, 405)
    for method in ("PUT", "DELETE", "PATCH", "TRACE", "OPTIONS"):
        assert page.request(method, "/", headers=OURS).status_code == 405


def test_every_answer_says_what_may_run(page: TestClient) -> None:
    for address in (
        "/",
        "/job/new",
        "/nothing",
        "/static/page.js",
        "/static/page.css",
        "/solve/x/now",
        "/lesson/x",
    ):
        headers = page.get(address).headers
        assert headers["content-security-policy"] == POLICY
        assert headers["x-content-type-options"] == "nosniff"
    assert "unsafe" not in POLICY
    assert page.get("/", headers={"host": "evil.example"}).headers["content-security-policy"] == POLICY


class _Running(HTMLParser):
    """Whatever in a page could run or be styled in place."""

    def __init__(self) -> None:
        super().__init__()
        self.found: list[str] = []

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        said = dict(attrs)
        ours = tuple(f"/static/{path.name}?" for path in STATIC.glob("*.js"))
        if tag == "script" and not (said.get("src") or "").startswith(ours):
            self.found.append("a script of its own")
        self.found += [name for name in said if name.startswith("on") or name == "style"]
        if tag in ("style", "iframe", "object", "embed", "base"):
            self.found.append(tag)
        for name in ("href", "src", "action", "formaction"):
            value = said.get(name)
            if value is not None and not value.startswith(("/", "#")):
                self.found.append(f"{name}={value}")


def assert_nothing_runs(text: str) -> None:
    reader = _Running()
    reader.feed(text)
    assert reader.found == []


def test_something_that_runs_would_be_seen() -> None:
    reader = _Running()
    reader.feed('<script>1</script><p onclick="1" style="x"><a href="javascript:1">')
    assert reader.found == ["a script of its own", "onclick", "style", "href=javascript:1"]


def test_markup_in_every_name_stays_text(page: TestClient) -> None:
    quoted = "'''" if "'''" not in MARKUP else '"""'
    name = f"{quoted}{MARKUP}{quoted}"
    text = (
        SMALL.replace('"Small"', name)
        .replace('"One"', name)
        .replace("[fabric.face]", f"[fabric.face]\nname = {name}")
    )
    text += f"[[extra]]\nname = {name.replace('7*7', '8*8')}\nwidth = 5\nlength = 5\n"
    entries = opened(page, text)
    assert_nothing_runs(sent(page, "/job", entries, do="update").text)
    live = sent(page, "/live", entries, window__0__rod=MARKUP).json()
    for html in live["regions"].values():
        assert_nothing_runs(html)
    for _ in range(caps.MOST_ALTERNATIVES + 1):
        weighed = sent(page, "/weigh", entries).json()
        assert_nothing_runs(weighed["regions"]["strip"])
        if not weighed["more"]:
            break
    assert_nothing_runs(sent(page, "/job", entries, do="weigh").text)
    address = begun(page, "/plan", entries, work="0.1")
    assert_nothing_runs(page.get(address).text)
    # Compared meanwhile; what is printed of the plan comes after that.
    compared = begun(page, "/compare", entries, work="0.1")
    solve = waited(page, address, "packet.html")
    assert solve.state == "done", solve.failure
    shown = page.get(address).text
    assert_nothing_runs(shown)
    assert "<script>alert" not in shown
    assert ">49<" not in shown
    for path in ("/table", "/table?at=9", "/table/wrong"):
        assert_nothing_runs(page.get(f"{address}{path}").text)
    for step in page.get(f"{address}/table/steps").json()["steps"]:
        assert_nothing_runs(step["view"])
    assert "<script>alert" not in page.get(f"{address}/file/packet.html?view=page").text
    told = page.get(f"{address}/file/plan.json").headers["content-disposition"]
    assert re.fullmatch(r"attachment; filename=\"[\w.-]+\"; filename\*=UTF-8''[\w.%-]+", told)
    waited(page, compared)
    assert_nothing_runs(page.get(compared).text)
    assert sent(page, "/job/save", entries).text == text


def test_a_body_that_is_too_large_is_refused(page: TestClient) -> None:
    large = b"x" * (caps.MOST_BYTES + 1)
    assert page.post("/job", content=large, headers=OURS).status_code == 413

    def pieces() -> Iterator[bytes]:
        for _ in range(100):
            yield large[:65536]

    form = {"content-type": "application/x-www-form-urlencoded", **OURS}
    assert page.post("/job", content=pieces(), headers=form).status_code == 413
    assert page.post("/job", content=b"", headers={"content-length": "x", **OURS}).status_code in (400, 413)
    assert page.get("/").status_code == 200


@pytest.mark.parametrize(
    "data",
    [
        {f"f{number}": "" for number in range(caps.MOST_FIELDS + 1)},
        {"title": "x" * (caps.MOST_LETTERS + 1)},
        {"x" * (caps.MOST_IN_NAME + 1): ""},
    ],
    ids=["fields", "letters", "name"],
)
def test_too_many_or_too_long_entries_are_refused(page: TestClient, data: dict[str, str]) -> None:
    assert page.post("/live", data=data, headers=OURS).status_code == 422


@pytest.mark.parametrize(
    ("more", "place"),
    [
        ("count = 501\n", "window.0.count"),
        ("count = 1000000000\n", "window.0.count"),
        ("tab = { count = 1000000000 }\n", "window.0.tab.count"),
        ("[[window.band]]\nwidth = 1\n" * (caps.MOST_ROWS["band"] + 1), "window.0.band"),
        ("[[extra]]\nwidth = 1\nlength = 1\n" * (caps.MOST_ROWS["extra"] + 1), "extra"),
        ("[[window]]\nrod = 1\nfinished_length = 9\n" * caps.MOST_ROWS["window"], "window"),
    ],
)
def test_jobs_beyond_the_page_are_told_of_the_command_line(page: TestClient, more: str, place: str) -> None:
    entries = opened(page, SMALL + more)
    told = sent(page, "/live", entries).json()
    assert "command line" in told["regions"]["summary"]
    assert f"#f-{place}" in told["regions"]["summary"]
    assert sent(page, "/plan", entries).status_code == 422
    assert sent(page, "/job/save", entries).text == SMALL + more


@pytest.mark.parametrize(
    "more",
    [
        "rod = '99 m'\nheading = 'back-tab'\ntab = { spacing = '0.02 mm', width = '0.02 mm' }\n",
        "rod = '0.0125 mm'\n",
        "rod = '99 m'\nheading = 'pinch-pleat'\npleat = { space = '0.02 mm' }\n",
        "fullness = 0.000001\n",
        "rod_diameter = '49 cm'\nheading = 'grommet'\nring = { size = '99 cm', count = 500 }\n",
    ],
)
def test_odd_sizes_cost_the_page_little(page: TestClient, more: str, monkeypatch: pytest.MonkeyPatch) -> None:
    """Whatever such a job comes to, the answer comes soon and the next one is as quick as ever."""
    text = SMALL.replace('heading = "clip-ring"\n', "").replace(
        "rod = 30\n", "" if "rod =" in more else "rod = 30\n"
    )
    with monkeypatch.context() as patch:
        patch.setattr("nesting.web.clerk.SUMS_SECONDS", caps.SUMS_SECONDS)
        answer = sent(page, "/live", opened(page, text + more))
    assert answer.status_code == 200
    assert answer.json()["status"]
    assert "ready to plan" in sent(page, "/live", opened(page, SMALL)).json()["status"]


def refused_upload(page: TestClient, text: str, name: str = "job.toml") -> str:
    """The page that says why a file is not opened; it is short, and the next file opens."""
    answer = page.post("/job/open", files={"file": (name, text.encode())}, headers=OURS)
    assert answer.status_code == 422
    assert len(answer.content) < 100_000
    opened(page, SMALL)
    return answer.text


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("a" + ".a" * 11_500 + " = 1\n", "tables within tables"),
        ("a = " + "[" * 5_000 + "]" * 5_000 + "\n", "tables within tables"),
        ("".join(f"key{number} = 1\n" for number in range(30_000)), "entries in this file"),
        ("[[window]]\n" * 500, "rows of window"),
        ('units = "in"\nrod = 0x' + "f" * 20_000, "a number too large to use"),
    ],
    ids=["dotted", "brackets", "keys", "rows", "hexadecimal"],
)
def test_files_that_say_too_much_are_refused_at_once(page: TestClient, text: str, said: str) -> None:
    assert said in refused_upload(page, text)
    # Nor does a form get by with it.
    base = {**opened(page, SMALL), "base": packed(text)}
    for address in ("/job", "/live", "/first", "/weigh", "/plan", "/compare", "/job/save"):
        assert sent(page, address, base).status_code == 422
    way_back = {**opened(page, SMALL), "before": packed(text)}
    assert sent(page, "/job", way_back, do="back").status_code == 422


def test_a_list_of_thousands_of_windows_is_refused(page: TestClient) -> None:
    """13 kB of a measurement list once made a page of 44 MB."""
    text = "rod,finished_length\n" + "1,9\n" * 3_250
    assert "rows of window" in refused_upload(page, text, "windows.csv")


def test_of_many_faults_the_first_are_shown(page: TestClient) -> None:
    more = "".join(f"key{number} = 1\n" for number in range(300))
    entries = opened(page, SMALL + more)
    told = sent(page, "/live", entries).json()
    assert told["status"] == "300 things need putting right"
    assert told["regions"]["summary"].count("<li>") == caps.MOST_FAULTS
    assert f"The first {caps.MOST_FAULTS} are shown" in told["regions"]["summary"]
    notes = page.post(
        "/job/open",
        files={"file": ("list.csv", "rod," + ",".join(f"x{n}" for n in range(300)) + "\n84\n")},
        headers=OURS,
    )
    assert notes.text.count('class="note"') <= caps.MOST_FAULTS + 1


@pytest.mark.parametrize(
    "wish", ["add:²", "copy:window.²", "remove:window.99999999999999999999", "add:window.²"]
)
def test_a_wish_that_makes_no_sense_changes_nothing(page: TestClient, wish: str) -> None:
    entries = opened(page, SMALL)
    answer = sent(page, "/job", entries, do=wish)
    assert answer.status_code == 200
    assert entries_of(answer.text)["base"] == entries["base"]


def test_what_dies_is_started_anew(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """The process of the sums is killed between two questions, and while it is asked one."""
    entries = opened(page, SMALL)
    clerk = page.app.state.clerk  # type: ignore[attr-defined]
    for number in (31, 32):
        assert clerk._line is not None
        os.kill(clerk._line.pid, signal.SIGKILL)
        told = sent(page, "/live", entries, window__0__rod=str(number)).json()
        assert "ready to plan" in told["status"]
    os.kill(clerk._line.pid, signal.SIGSTOP)
    with monkeypatch.context() as patch:
        patch.setattr("nesting.web.clerk.SUMS_SECONDS", 0.5)
        told = sent(page, "/live", entries, window__0__rod="33").json()
    assert "take too long" in told["regions"]["sums"]
    assert "ready to plan" in sent(page, "/live", entries, window__0__rod="34").json()["status"]


@pytest.mark.parametrize("held", [False, True], ids=["alone", "pipe held open"])
def test_a_process_killed_in_mid_answer_is_waited_for_no_longer(held: bool, tmp_path: Path) -> None:
    """It has said half of a message, and what it started may still hold its side of the pipe."""
    child = "import subprocess,sys; subprocess.Popen(['sleep','60'], start_new_session=True);" if held else ""
    module = tmp_path / "half_said.py"
    module.write_text(
        "import os, signal, struct, time\n"
        f"{child}\n"
        "os.write(1, struct.pack('>Q', 1000) + b'half')\n"
        "time.sleep(0.3)\n"
        "os.kill(os.getpid(), signal.SIGKILL)\n"
    )

    async def heard() -> tuple[object, int]:
        line = await Line.open("half_said")
        answer = await line.receive()
        return answer, await line.close()

    async def in_time() -> tuple[object, int]:
        return await asyncio.wait_for(heard(), HANGS)

    before = os.environ.get("PYTHONPATH", "")
    os.environ["PYTHONPATH"] = str(tmp_path)
    try:
        assert asyncio.run(in_time()) == (None, -signal.SIGKILL)
    finally:
        os.environ["PYTHONPATH"] = before


def test_a_solver_that_was_killed_is_no_code() -> None:
    for code in (-9, -15, -24, 137, 255):
        assert "ended by this machine" in _why_ended(code)
    assert not re.search(r"\d", _why_ended(1) + _why_ended(255))


def test_the_line_of_solves_goes_on_after_a_stumble(
    page: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    async def stumbling(self: SolveQueue) -> None:
        monkeypatch.undo()
        raise RuntimeError

    monkeypatch.setattr(SolveQueue, "_next", stumbling)
    solve = waited(page, begun(page, "/plan", opened(page, SMALL), seconds="1"))
    assert solve.state == "done"


def test_answers_are_made_once_and_memory_is_bounded(page: TestClient) -> None:
    memory = Memory(most=10)
    for number in range(9):
        memory.keep(bytes([number]), b"123", None)
    assert [memory.find(bytes([number])) is not None for number in range(9)] == [False] * 6 + [True] * 3
    memory.keep(b"large", b"x" * 11, None)
    assert memory.find(b"large") is None
    first, second = page.get("/job/new?units=cm"), page.get("/job/new?units=cm")
    assert first.content == second.content
    assert first.headers["content-type"] == second.headers["content-type"]
    assert second.headers["content-security-policy"] == POLICY
    entries = opened(page, SMALL)
    one = sent(page, "/live", entries, window__0__rod="31").json()
    two = sent(page, "/live", entries, window__0__rod="32").json()
    assert one["regions"]["sums"] != two["regions"]["sums"]


def test_sums_that_must_wait_are_put_off_and_not_remembered(
    page: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    entries = opened(page, SMALL)

    async def busy(self: Clerk, table: object, form: str = "") -> None:
        raise BusyError

    with monkeypatch.context() as patch:
        patch.setattr(Clerk, "sums", busy)
        told = sent(page, "/live", entries, window__0__rod="37")
        assert told.json()["busy"]
        assert told.headers["retry-after"] == "1"
        assert "Many sums wait" in sent(page, "/job", entries, window__0__rod="37").text
    again = sent(page, "/live", entries, window__0__rod="37").json()
    assert not again["busy"]
    assert "ready to plan" in again["status"]


def test_no_path_of_a_request_reaches_a_file(page: TestClient) -> None:
    for address in (
        "/static/../app.py",
        "/static/%2e%2e/app.py",
        "/static/..%2fapp.py",
        "/static//etc/passwd",
        "/job/sample/..%2f..%2fpyproject",
        "/job/sample/%00",
    ):
        assert page.get(address).status_code == 404


@pytest.mark.parametrize("name", ["/etc/passwd", "../samples/reading-nook.toml", "windows.csv"])
def test_no_list_is_read_by_its_name(page: TestClient, name: str) -> None:
    """A job file may name a measurement list beside it; a job that was sent has nothing beside it."""
    entries = opened(page, SMALL.replace("[fabric.face]", f'windows = "{name}"\n\n[fabric.face]', 1))
    told = sent(page, "/live", entries).json()
    assert "a job read from a file" in told["told"]["windows"]["faults"][0]
    assert sent(page, "/plan", entries).status_code == 422


def test_an_upload_stays_in_memory(page: TestClient, monkeypatch: pytest.MonkeyPatch) -> None:
    """A file as large as the page takes never rolls over to disk."""
    import tempfile

    def never(self: object) -> None:
        raise AssertionError("an upload went to disk")

    monkeypatch.setattr(tempfile.SpooledTemporaryFile, "rollover", never)
    text = SMALL + "# " + "x" * (caps.MOST_BYTES - len(SMALL) - 2000)
    answer = page.post("/job/open", files={"file": ("job.toml", text.encode())}, headers=OURS)
    assert answer.status_code == 200


def test_a_fault_of_ours_is_told_as_ours(monkeypatch: pytest.MonkeyPatch) -> None:
    with TestClient(create_app(), base_url=ADDRESS, raise_server_exceptions=False) as page:
        monkeypatch.setattr("nesting.web.start.samples", lambda: 1 / 0)
        answer = page.get("/")
        assert answer.status_code == 500
        assert "A fault of this program" in answer.text
        assert "ZeroDivisionError" in answer.text
        assert "Traceback" not in answer.text


@contextmanager
def a_server() -> Iterator[int]:
    """The page on a port of its own, as `nesting serve` runs it; gives the port."""
    listening = bound_socket("127.0.0.1", 0)
    config = uvicorn.Config(
        create_app(LOOPBACK),
        http=PatientProtocol,
        ws="none",
        loop="asyncio",
        log_config=None,
        access_log=False,
    )
    running = uvicorn.Server(config)
    thread = threading.Thread(target=running.run, kwargs={"sockets": [listening]}, daemon=True)
    thread.start()
    while not running.started:
        time.sleep(0.02)
    try:
        yield listening.getsockname()[1]
    finally:
        running.should_exit = True
        thread.join(timeout=HANGS)


def _drip(port: int, text: bytes, seconds: float) -> tuple[bytes, float]:
    """Send a text a byte at a time until the page has had enough; what it says, and when."""
    started = time.monotonic()
    with socket.create_connection(("127.0.0.1", port)) as wire:
        wire.settimeout(0.05)
        said = b""
        for number in range(len(text)):
            if time.monotonic() - started > seconds:
                break
            try:
                wire.sendall(text[number : number + 1])
                said = wire.recv(65536)
                return said, time.monotonic() - started
            except TimeoutError:
                continue
            except ConnectionError:
                return said, time.monotonic() - started
    return b"still listening", time.monotonic() - started


def test_a_head_that_drips_is_cut_off_and_others_are_served(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 0.6)
    with a_server() as port:
        answers = []

        def others() -> None:
            # On a busy machine this may be too slow itself; a page that is held up never answers.
            end = time.monotonic() + HANGS
            while not answers and time.monotonic() < end:
                with suppress(OSError), socket.create_connection(("127.0.0.1", port)) as wire:
                    wire.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
                    answers.extend(filter(None, [wire.recv(64)]))

        beside = threading.Thread(target=others)
        beside.start()
        said, _ = _drip(port, b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: " + b"y" * 20_000, HANGS)
        beside.join()
        assert said == b""
        assert answers[0].startswith(b"HTTP/1.1 200")


def test_a_body_that_drips_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guard, "BODY_SECONDS", 0.6)
    with a_server() as port:
        head = (
            f"POST /live HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nOrigin: http://127.0.0.1:{port}\r\n"
            "Content-Type: application/x-www-form-urlencoded\r\nContent-Length: 4000\r\n\r\n"
        )
        with socket.create_connection(("127.0.0.1", port)) as wire:
            wire.sendall(head.encode())
            wire.settimeout(HANGS)
            said = wire.recv(65536)
        assert said.startswith(b"HTTP/1.1 408")


def test_a_second_request_may_take_its_time_on_an_open_connection(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(server, "HEAD_SECONDS", 1.0)
    request = b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\n\r\n"
    with a_server() as port, socket.create_connection(("127.0.0.1", port)) as wire:
        wire.settimeout(HANGS)
        for _ in range(2):
            wire.sendall(request)
            said = b""
            while b"</html>" not in said:
                said += wire.recv(65536)
            assert said.startswith(b"HTTP/1.1 200")
            time.sleep(1.3)


def test_addresses() -> None:
    assert is_loopback("127.0.0.1")
    assert is_loopback("::1")
    assert is_loopback("localhost")
    assert not is_loopback("0.0.0.0")
    assert not is_loopback("example")
    with bound_socket("127.0.0.1", 0) as taken:
        port = taken.getsockname()[1]
        assert address_of(taken) == f"http://127.0.0.1:{port}/"
        taken.listen()
        with pytest.raises(OutputError, match=f"port {port} .* --port {port + 1}"):
            bound_socket("127.0.0.1", port)
    with pytest.raises(OutputError):
        bound_socket("203.0.113.1", 0)


def test_the_command_serves_warns_and_ends() -> None:
    """On all addresses it warns; a taken port is told in words; Ctrl-C ends it."""
    run = subprocess.Popen(
        [sys.executable, "-m", "tests.serve", "--port", "0", "--host", "0.0.0.0", "--keep"],
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
    )
    assert run.stdout is not None
    address = run.stdout.readline().strip()
    assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
    port = int(address.rstrip("/").rpartition(":")[2])
    end = time.monotonic() + HANGS
    while True:
        try:
            with socket.create_connection(("127.0.0.1", port)) as wire:
                wire.sendall(b"GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n\r\n")
                assert wire.recv(64).startswith(b"HTTP/1.1 200")
            break
        except OSError:
            assert time.monotonic() < end
            time.sleep(0.1)
    run.send_signal(2)
    _, told = run.communicate(timeout=HANGS)
    assert "warning: 0.0.0.0 can be reached by other machines" in told
    assert "Traceback" not in told
    assert run.returncode in (0, 130)


def test_the_page_is_a_command() -> None:
    assert "serve" in {command.name or command.callback.__name__ for command in commands.registered_commands}  # type: ignore[union-attr]


def test_the_bench_is_free_at_the_end(page: TestClient) -> None:
    """Nothing of all this has left a solve behind."""
    end = time.monotonic() + HANGS
    while not bench_of(page).free and time.monotonic() < end:
        time.sleep(0.1)
    assert bench_of(page).free
