"""Who gets in from the network: with a fresh code, once; and what everybody else is told."""

from __future__ import annotations

import os
import pty
import re
import select
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from http.client import HTTPConnection
from io import BytesIO
from pathlib import Path

import numpy
import pytest
import zxingcpp
from PIL import Image
from starlette.testclient import TestClient

from nesting.errors import OutputError
from nesting.web import phone
from nesting.web.caps import MOST_GUESSES
from nesting.web.phone import Pairing, code_as_svg, code_in_blocks, is_local, local_address
from nesting.web.shelf import Shelf
from nesting.web.site import LOOPBACK, create_app
from tests.browser import a_browser
from tests.test_web_safety import POSTS, assert_nothing_runs
from tests.web_forms import entries_of
from tests.web_page import HANGS, OURS, patient

HOME, NETWORK = "http://127.0.0.1:8642", "http://192.168.0.7:8642"
#: Where requests come from.
AT_HOME, PHONE = ("127.0.0.1", 40000), ("192.168.0.23", 50123)
FROM_PHONE = {"origin": NETWORK}
PAGES = (
    "/",
    "/job/new",
    "/job/sample/reading-nook",
    "/solve/x/now",
    "/lesson/back-tab",
    "/phone",
    "/nothing",
)
STATIC = ("/static/page.css", "/static/page.js", "/static/mark.svg")


class Served:
    """A page for phones, seen from this machine and from devices on the network."""

    def __init__(self, shelf: Shelf | None = None) -> None:
        self.said: list[str] = []
        self.started: TestClient | None = None
        self.pairing = Pairing(f"{NETWORK}/", f"{HOME}/", self.said.append)
        self.app = create_app(LOOPBACK | {"192.168.0.7"}, pairing=self.pairing, shelf=shelf)

    def device(self, client: tuple[str, int] = PHONE, address: str = NETWORK) -> TestClient:
        made = TestClient(self.app, base_url=address, client=client)
        # All in one loop, as they are in the server.
        made.portal = self.started.portal if self.started else None
        return made

    @contextmanager
    def running(self) -> Iterator[Served]:
        with patient(), self.device(AT_HOME, HOME) as self.started:
            yield self

    def admitted(self) -> TestClient:
        made = self.device()
        assert made.get(self.pairing.new_code()).status_code == 200
        return made


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    with Served().running() as made:
        yield made


def refused(answer: object) -> bool:
    """With a page that says how to get in, and nothing else of ours."""
    told = answer.text  # type: ignore[attr-defined]
    assert "press Enter" in told
    assert f"{HOME}/phone" in told
    assert "samples" not in told
    assert_nothing_runs(told)
    return bool(answer.status_code == 403)  # type: ignore[attr-defined]


def test_without_a_code_nothing_at_all_is_served(served: Served) -> None:
    stranger = served.device()
    for address in (*PAGES, *STATIC):
        assert refused(stranger.get(address)), address
    for address in POSTS:
        assert refused(stranger.post(address, data={}, headers=FROM_PHONE)), address
    assert stranger.head("/").status_code == 403


def test_this_machine_needs_no_code(served: Served) -> None:
    home = served.device(AT_HOME, HOME)
    assert home.get("/").status_code == 200
    assert home.get(STATIC[0]).status_code == 200
    assert home.post("/live", data={}, headers=OURS).status_code != 403


def test_a_device_sees_no_job_that_is_kept_on_this_machine(tmp_path: Path) -> None:
    with Served(Shelf(tmp_path)).running() as both:
        home, phone = both.device(AT_HOME, HOME), both.admitted()
        entries = entries_of(home.get("/job/new").text) | {"kept": "abc", "title": "At home"}
        assert home.post("/keep", data=entries, headers=OURS).json()["kept"] == "abc"
        (job,) = Shelf(tmp_path).jobs()
        assert "At home" in home.get("/").text
        assert "At home" not in phone.get("/").text
        for address in (f"/kept/{job.id}", f"/kept/{job.id}/file"):
            assert phone.get(address).status_code == 404
        assert phone.post(f"/kept/{job.id}/remove", headers=FROM_PHONE).status_code == 404
        assert phone.post("/keep", data=entries, headers=FROM_PHONE).status_code == 404
        # Nor is it sent the page that was made for this machine.
        for asked, keeps in ((home, True), (phone, False), (home, True)):
            assert ("data-shelf" in asked.get("/job/new").text) is keeps
        assert [one.title for one in Shelf(tmp_path).jobs()] == ["At home"]


def test_a_code_lets_one_device_in_and_no_second(served: Served) -> None:
    code = served.pairing.new_code()
    first, second = served.device(), served.device(("192.168.0.24", 50000))
    answer = first.get(code)
    assert answer.status_code == 200
    assert 'content="0; url=/"' in answer.text
    cookie = answer.headers["set-cookie"].lower()
    assert {"httponly", "samesite=strict", "path=/"} <= {part.strip() for part in cookie.split(";")}
    assert "max-age" not in cookie
    assert served.said[-1].startswith("The device at 192.168.0.23 may use the page now")
    assert all(first.get(address).status_code == 200 for address in ("/", "/job/new", *STATIC))
    assert first.post("/live", data={}, headers=FROM_PHONE).status_code != 403
    told = second.get(code)
    assert refused(told)
    assert "used up or wrong" in told.text
    assert "set-cookie" not in told.headers
    assert refused(second.get("/"))
    # The device that is in may come by its code again, and needs no further one.
    assert first.get(code).status_code == 200
    assert "set-cookie" not in first.get(code).headers


def test_a_new_code_ends_the_one_before_and_nobodys_stay(served: Served) -> None:
    inside, old, new = served.admitted(), served.pairing.new_code(), served.pairing.new_code()
    assert old != new
    stranger = served.device()
    assert refused(stranger.get(old))
    assert "newer one is waiting" in stranger.get(old).text
    assert stranger.get(new).status_code == 200
    assert inside.get("/").status_code == 200


def test_a_code_is_long_and_made_of_letters_that_can_be_typed() -> None:
    made = Pairing(f"{NETWORK}/", f"{HOME}/")
    codes = {made.new_code().removeprefix(f"{NETWORK}/phone/") for _ in range(50)}
    assert len(codes) == 50
    for code in codes:
        assert re.fullmatch("[2-9a-hjkmnp-z]+", code)
        assert 31 ** len(code) >= 2**128


@pytest.mark.parametrize("code", ["x", "", "%00", "%ff", "../phone", "é" * 30, "2" * 26, "x" * 4000])
def test_a_wrong_code_opens_nothing(served: Served, code: str) -> None:
    right = served.pairing.new_code()
    stranger = served.device()
    assert refused(stranger.get(f"/phone/{code}"))
    assert refused(stranger.get(f"{right[:-1]}"))
    assert refused(stranger.get(f"{right}2"))
    assert "set-cookie" not in stranger.get("/phone/x").headers
    # Letter case does not matter to whoever types it.
    assert stranger.get(f"{NETWORK}/phone/{right.rpartition('/')[2].upper()}").status_code == 200


def test_after_many_guesses_the_code_is_withdrawn_and_that_is_told(served: Served) -> None:
    inside, right, thief = served.admitted(), served.pairing.new_code(), served.device(("192.168.0.66", 1))
    for number in range(MOST_GUESSES):
        assert refused(thief.get(f"/phone/guess{number}"))
    assert "wrong codes were sent, the last from 192.168.0.66" in served.said[-1]
    assert refused(thief.get(right))
    assert refused(served.device().get(right))
    assert inside.get("/").status_code == 200
    # One fewer does no harm, and a new code counts anew.
    right = served.pairing.new_code()
    for number in range(MOST_GUESSES - 1):
        thief.get(f"/phone/guess{number}")
    assert served.device().get(right).status_code == 200


@pytest.mark.parametrize("header", [{"sec-purpose": "prefetch;prerender"}, {"purpose": "prefetch"}])
def test_looking_ahead_uses_no_code_up(served: Served, header: dict[str, str]) -> None:
    code = served.pairing.new_code()
    assert served.device().get(code, headers=header).status_code == 403
    assert served.device().head(code).status_code == 403
    assert served.device().post(code, headers=FROM_PHONE).status_code == 403
    assert served.device().get(code).status_code == 200


def test_the_code_does_not_travel_on(served: Served) -> None:
    """No Referer of the page with the code in its address, and no store of it."""
    answer = served.device().get(served.pairing.new_code())
    assert answer.headers["referrer-policy"] == "no-referrer"
    assert answer.headers["cache-control"] == "no-store"
    assert "phone/" not in answer.text
    code = served.pairing.new_code()
    # In a Referer it opens nothing either.
    assert refused(served.device().get("/", headers={"referer": code}))
    assert served.device().get("/job/new").headers["referrer-policy"] == "same-origin"


def test_a_cookie_of_another_run_is_worth_nothing(served: Served) -> None:
    with Served().running() as other:
        there = other.admitted()
        assert there.get("/").status_code == 200
    name, value = next(iter(there.cookies.items()))
    stranger = served.device()
    for sent in (f"{name}={value}", f"{name}=", f"{name}={value[:-1]}", f"a=b; {name}=\x7f", f"={value}"):
        assert refused(stranger.get("/", headers={"cookie": sent}))
    # It is let in by a fresh code all the same, and one cookie more does no harm.
    assert stranger.get(served.pairing.new_code(), headers={"cookie": f"{name}={value}"}).status_code == 200
    mine = f"{name}={stranger.cookies[name]}"
    for sent in (mine, f"other=1; {mine}", f"bad[]=1; {mine}", f"{name}=old; {mine}"):
        assert served.device().get("/", headers={"cookie": sent}).status_code == 200


@pytest.mark.parametrize("host", ["evil.example", "192.168.0.7.evil.example", "192.168.0.8:8642", "", "[::"])
def test_the_address_on_the_network_is_the_only_further_name(served: Served, host: str) -> None:
    """A foreign name that points here (DNS rebinding) is refused, whoever asks."""
    inside = served.admitted()
    assert inside.get("/", headers={"host": host}).status_code == 421
    assert served.device().get(served.pairing.new_code(), headers={"host": host}).status_code == 421
    assert served.pairing.waits


@pytest.mark.parametrize("host", sorted(LOOPBACK - {"::1"}))
def test_calling_it_by_its_own_name_from_outside_needs_a_code_too(served: Served, host: str) -> None:
    assert refused(served.device().get("/", headers={"host": f"{host}:8642"}))


def test_forwarded_headers_make_nobody_be_at_home(served: Served) -> None:
    for header in ("x-forwarded-for", "forwarded", "x-real-ip"):
        assert refused(served.device().get("/", headers={header: "127.0.0.1"}))


@pytest.mark.parametrize("address", [*POSTS, "/phone"])
def test_posts_of_other_pages_are_refused_with_the_cookie_too(served: Served, address: str) -> None:
    inside = served.admitted()
    for headers in (
        {},
        {"origin": "http://evil.example"},
        {"origin": HOME},
        {"origin": "http://192.168.0.7"},
    ):
        assert inside.post(address, data={}, headers=headers).status_code == 403
    home = served.device(AT_HOME, HOME)
    assert home.post(address, data={}, headers={"origin": NETWORK}).status_code == 403


def test_a_new_code_is_made_on_this_machine_only(served: Served) -> None:
    inside, home = served.admitted(), served.device(AT_HOME, HOME)
    assert inside.get("/phone").status_code == 404
    assert inside.post("/phone", headers=FROM_PHONE).status_code == 404
    before = served.pairing.new_code()
    # Looking changes nothing.
    assert "phone/" not in home.get("/phone").text.replace("<form", "")
    assert served.device().get(before).status_code == 200
    told = home.post("/phone", headers=OURS)
    assert_nothing_runs(told.text)
    (code,) = re.findall(rf"<b>({NETWORK}/phone/\w+)</b>", told.text)
    assert "not encrypted" in told.text
    assert served.device().get(code).status_code == 200


def test_without_phone_there_is_no_such_page() -> None:
    app = create_app()
    with patient(), TestClient(app, base_url=HOME, client=("127.0.0.1", 1)) as home:
        assert home.get("/phone").status_code == 404
        assert home.post("/phone", headers=OURS).status_code == 404


def test_a_code_in_the_terminal_is_read_by_a_scanner() -> None:
    """By a reader that has nothing to do with what drew it (zxing-cpp)."""
    address = Pairing("http://192.168.100.200:65535/", f"{HOME}/").new_code()
    lines = code_in_blocks(address).splitlines()
    halves = {"█": (255, 255), "▀": (255, 0), "▄": (0, 255), " ": (0, 0)}
    pixels = [[halves[sign][half] for sign in line] for line in lines for half in (0, 1)]
    drawn = numpy.kron(numpy.array(pixels, dtype=numpy.uint8), numpy.ones((6, 6), dtype=numpy.uint8))
    assert [found.text for found in zxingcpp.read_barcodes(drawn)] == [address]
    assert max(map(len, lines)) <= 49
    assert len(lines) <= 25


def test_a_code_on_the_page_is_read_by_a_scanner() -> None:
    address = Pairing(f"{NETWORK}/", f"{HOME}/").new_code()
    with a_browser() as browser:
        tab = browser.new_page(viewport={"width": 360, "height": 500})
        tab.set_content(f"<body>{code_as_svg(address)}")
        shot = tab.screenshot()
    found = zxingcpp.read_barcodes(Image.open(BytesIO(shot)))
    assert [each.text for each in found] == [address]


def test_finding_the_address_sends_nothing(monkeypatch: pytest.MonkeyPatch) -> None:
    """Only sockets of datagrams, and nothing is ever given to them to send."""
    opened: list[tuple[object, ...]] = []

    class Quiet(socket.socket):
        def __init__(self, *args: object, **more: object) -> None:
            opened.append(args)
            super().__init__(*args, **more)  # type: ignore[arg-type]

        def sendto(self, *args: object) -> int:
            raise AssertionError("something is sent")

        send = sendall = sendmsg = sendto  # type: ignore[assignment]

    monkeypatch.setattr(socket, "socket", Quiet)
    with suppress(OutputError):
        assert is_local(local_address())
    assert opened
    assert set(opened) == {(socket.AF_INET, socket.SOCK_DGRAM)}


def test_an_address_of_the_internet_is_none_of_a_local_network(monkeypatch: pytest.MonkeyPatch) -> None:
    for address in ("192.168.0.7", "10.1.2.3", "172.16.0.9", "100.64.0.3", "169.254.7.7"):
        assert is_local(address)
    for address in ("8.8.8.8", "127.0.0.1", "0.0.0.0", "224.0.0.1", "home", "2001:4860::1"):
        assert not is_local(address)
    monkeypatch.setattr(phone, "is_local", lambda host: False)
    with pytest.raises(OutputError, match="--phone --host"):
        local_address()


def command(*arguments: str, **more: object) -> subprocess.Popen[str]:
    line = [sys.executable, "-m", "tests.serve", "--port", "0", "--phone", *arguments]
    return subprocess.Popen(line, text=True, stderr=subprocess.PIPE, **more)  # type: ignore[call-overload,no-any-return]


@pytest.mark.parametrize("host", ["0.0.0.0", "8.8.8.8", "home"])
def test_the_command_wants_one_address_of_the_network(host: str) -> None:
    run = command("--host", host, stdout=subprocess.PIPE)
    said, told = run.communicate(timeout=HANGS)
    assert run.returncode == 2
    assert said == ""
    assert f"--host {host}" in told
    assert "192.168.0.7" in told


@contextmanager
def on_a_terminal(host: str) -> Iterator[tuple[subprocess.Popen[str], int]]:
    """The command with a terminal of its own; gives the process and our end of the terminal."""
    ours, theirs = pty.openpty()
    # Even where a header of a proxy would be believed from anywhere.
    env = {**os.environ, "FORWARDED_ALLOW_IPS": "*"}
    run = command("--host", host, stdin=theirs, stdout=theirs, start_new_session=True, env=env)
    os.close(theirs)
    try:
        yield run, ours
    finally:
        run.kill()
        run.wait()
        os.close(ours)


def read_until(terminal: int, pattern: str) -> re.Match[str]:
    seen, end = "", time.monotonic() + HANGS
    while time.monotonic() < end:
        if select.select([terminal], [], [], 0.2)[0]:
            seen += os.read(terminal, 65536).decode("utf-8", "replace").replace("\r", "")
        found = re.search(pattern, seen)
        if found:
            return found
    raise AssertionError(f"{pattern} does not come: {seen}")


def asked(address: str, path: str, cookie: str = "", **headers: str) -> tuple[int, dict[str, str]]:
    """The status of an answer and its headers; waits for the page to be there."""
    host, _, port = address.removeprefix("http://").partition(":")
    end = time.monotonic() + HANGS
    while True:
        wire = HTTPConnection(host, int(port), timeout=HANGS)
        try:
            wire.request("GET", path, headers=headers | ({"cookie": cookie} if cookie else {}))
            answer = wire.getresponse()
            return answer.status, {name.lower(): value for name, value in answer.getheaders()}
        except ConnectionError:
            assert time.monotonic() < end
            time.sleep(0.1)
        finally:
            wire.close()


def test_the_command_lets_a_phone_in_and_gives_new_codes() -> None:
    """The whole way, over real sockets: loopback without, the network with a code; Enter gives another."""
    try:
        here = local_address()
    except OutputError:
        pytest.skip("this machine is on no network, so there is none to serve")
    code = rf"(http://{re.escape(here)}:\d+)(/phone/\w{{26}})\n"
    with on_a_terminal(here) as (run, terminal):
        home = read_until(terminal, r"(http://127\.0\.0\.1:\d+)/\n")[1]
        network, path = read_until(terminal, code).groups()
        assert network.rpartition(":")[2] == home.rpartition(":")[2]
        assert read_until(terminal, "[█▀▄]{37,}")
        assert asked(home, "/")[0] == 200
        assert asked(network, "/")[0] == 403
        assert asked(network, "/static/page.css")[0] == 403
        assert asked(network, "/", **{"x-forwarded-for": "127.0.0.1"})[0] == 403
        status, headers = asked(network, path)
        assert status == 200
        cookie = headers["set-cookie"].partition(";")[0]
        assert asked(network, "/", cookie)[0] == 200
        assert asked(network, path)[0] == 403
        os.write(terminal, b"\n")
        again = read_until(terminal, code)[2]
        assert again != path
        assert asked(network, again)[0] == 200
        assert asked(network, "/", cookie)[0] == 200
        run.send_signal(signal.SIGINT)
        _, told = run.communicate(timeout=HANGS)
    assert "is not encrypted" in told
    assert f"The device at {here} may use the page now" in told
    assert "Traceback" not in told
    assert "Fatal" not in told
    assert run.returncode in (0, 130)
