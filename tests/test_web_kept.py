"""Jobs kept on disk: what is kept, how many, by whom, what a request can reach, what happens without room."""

from __future__ import annotations

import errno
import json
import multiprocessing
import os
import signal
import stat
import subprocess
import sys
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from nesting.web import caps, shelf
from nesting.web.server import users_folder
from nesting.web.shelf import KeptJob, Shelf, ShelfError, Writer, digest_of
from tests.web_forms import entries_of
from tests.web_page import HANGS, OURS, SMALL, a_page, begun, opened, sent, waited


def job(name: str, text: str = "", when: int = 0, writer: str = "", seen: str = "") -> KeptJob:
    return KeptJob(name, f"title={text or name}", title=text or name, when=when, writer=Writer(writer, seen))


def titles(kept: Shelf) -> list[str]:
    return [one.title for one in kept.jobs()]


@pytest.fixture
def kept(tmp_path: Path) -> Shelf:
    return Shelf(tmp_path / "data" / "jobs", most=25, most_removed=3)


@pytest.fixture
def page(kept: Shelf) -> Iterator[TestClient]:
    with a_page(shelf=kept) as client:
        yield client


def handed_in(page: TestClient, text: str = SMALL, kept: str = "abc", **more: str) -> dict[str, str]:
    """What is answered to a job that the script hands in."""
    answer = sent(page, "/keep", {**opened(page, text), "kept": kept}, **{"writer": "tab", **more})
    assert answer.status_code == 200, answer.text
    found: dict[str, str] = answer.json()
    return found


def test_a_job_comes_back_as_it_was_typed_with_what_is_no_number(page: TestClient, kept: Shelf) -> None:
    handed_in(page, window__0__rod="84 1/", fabric__face__name="Blué <linen>")
    (one,) = kept.jobs()
    shown = page.get("/").text
    assert f'href="/kept/{one.id}"' in shown
    assert "1 window, Blué &lt;linen&gt;" in shown
    assert "<linen>" not in shown
    answer = page.get(f"/kept/{one.id}")
    entries = entries_of(answer.text)
    assert entries["window.0.rod"] == "84 1/"
    assert entries["kept"] == "abc"
    assert 'data-opened="' in answer.text
    saved = page.get(f"/kept/{one.id}/file")
    assert "attachment" in saved.headers["content-disposition"]
    assert 'rod = "84 1/"' in saved.text
    # The same file on the page of somebody else is the same job.
    assert entries_of(
        page.post("/job/open", files={"file": ("x.toml", saved.content)}, headers=OURS).text
    )["window.0.rod"] == "84 1/"  # fmt: skip


def test_what_is_removed_comes_back(page: TestClient, kept: Shelf) -> None:
    handed_in(page)
    (one,) = kept.jobs()
    answer = page.post(f"/kept/{one.id}/remove", headers=OURS)
    assert "Small was removed" in answer.text
    assert titles(kept) == []
    assert page.get(f"/kept/{one.id}").status_code == 404
    answer = page.post(f"/kept/{one.id}/back", headers=OURS)
    assert "Small is back" in answer.text
    assert page.get(f"/kept/{one.id}").status_code == 200
    # What is on the list is not deleted for good, only what was removed before.
    page.post(f"/kept/{one.id}/forget", headers=OURS)
    assert titles(kept) == ["Small"]
    page.post(f"/kept/{one.id}/remove", headers=OURS)
    page.post(f"/kept/{one.id}/forget", headers=OURS)
    assert (kept.jobs(), kept.removed()) == ((), ())
    assert [path.name for path in kept.folder.iterdir()] == ["lock"]


@pytest.mark.nightly
def test_without_script_each_button_keeps_the_job_as_it_is_then(page: TestClient, kept: Shelf) -> None:
    entries = {**opened(page, SMALL), "keep": "yes"}
    entries = entries_of(sent(page, "/job", entries, do="add:window", window__0__rod="3o").text)
    (one,) = kept.jobs()
    assert (one.windows, one.name, one.version) == (2, entries["kept"], entries["seen"])
    assert entries_of(page.get(f"/kept/{one.id}").text)["window.0.rod"] == "3o"
    entries = entries_of(sent(page, "/job", entries, do="remove:window.1", window__0__rod="30").text)
    assert [each.windows for each in kept.jobs()] == [1]
    # Through a plan and back it is the same job.
    address = begun(page, "/plan", entries, work="0.2")
    waited(page, address)
    entries = entries_of(page.get(f"{address}/job").text)
    sent(page, "/job", entries, do="update", title="Later")
    assert titles(kept) == ["Later"]
    # Two pages with the same job: neither takes the place of the other.
    sent(page, "/job", entries, do="update", title="Beside")
    assert sorted(titles(kept)) == ["Beside", "Later"]


def test_a_job_that_was_only_looked_at_is_not_kept(page: TestClient, kept: Shelf) -> None:
    entries = opened(page, SMALL)
    for address in ("/live", "/job", "/job/save"):
        assert sent(page, address, {**entries, "keep": "yes"}).status_code == 200
    page.get("/job/new")
    page.get("/job/sample/reading-nook")
    assert not kept.folder.exists()


def test_what_is_typed_aside_is_kept_without_script(page: TestClient, kept: Shelf) -> None:
    entries = {**opened(page, SMALL), "keep": "yes", "window.0.bottom_hem.turn": "5"}
    sent(page, "/job", {**entries, "window.0.bottom_hem.selvage": "yes"}, do="update")
    (one,) = kept.jobs()
    entries = entries_of(page.get(f"/kept/{one.id}").text)
    assert entries["window.0.bottom_hem.turn"] == "5"
    assert entries["window.0.bottom_hem.selvage"] == "yes"


def test_never_fewer_than_the_last_twenty() -> None:
    assert caps.MOST_JOBS >= 20
    assert shelf.LEAST_JOBS >= 20


def test_the_oldest_go_first(kept: Shelf) -> None:
    for number in range(40):
        kept.keep(job(f"job{number}", when=1000 + number))
    assert titles(kept) == [f"job{number}" for number in range(39, 14, -1)]
    kept.keep(job("job15", "again", when=5000))
    assert titles(kept)[:2] == ["again", "job39"]
    for one in kept.jobs()[:5]:
        kept.remove(one.id)
    assert len(kept.jobs()) == 20
    assert len(kept.removed()) == 3
    assert len(list(kept.folder.glob("*.json"))) == 23


def test_bytes_are_bounded_but_the_last_twenty_stay(kept: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(shelf, "MOST_ON_SHELF", 1000)
    for number in range(25):
        kept.keep(KeptJob(f"job{number}", "x" * 100, title=f"job{number}", when=1000 + number))
    assert titles(kept) == [f"job{number}" for number in range(24, 4, -1)]


def test_a_file_is_for_its_owner_alone(kept: Shelf) -> None:
    before = os.umask(0)
    try:
        kept.keep(job("abc"))
    finally:
        os.umask(before)
    (path,) = kept.folder.glob("*.json")
    assert stat.S_IMODE(path.stat().st_mode) == 0o600
    assert stat.S_IMODE(kept.folder.stat().st_mode) == 0o700
    assert path.stem == digest_of("abc")


def test_two_writers_of_one_job_lose_nothing(kept: Shelf) -> None:
    first = kept.keep(job("abc", "first", when=10, writer="one"))
    # The tab goes on, whatever it has seen; what comes late changes nothing.
    assert kept.keep(job("abc", "second", when=30, writer="one")).name == "abc"
    assert kept.keep(job("abc", "late", when=20, writer="one")).title == "second"
    # Another that began from the first state gets a name of its own; one that saw the last goes on with it.
    other = kept.keep(job("abc", "other", when=40, writer="two", seen=first.version))
    assert other.name != "abc"
    now = next(one for one in kept.jobs() if one.name == "abc")
    assert kept.keep(job("abc", "third", when=50, writer="two", seen=now.version)).name == "abc"
    assert titles(kept) == ["third", "other"]


def test_a_clock_that_is_ahead_is_not_believed(kept: Shelf) -> None:
    made = kept.keep(job("abc", when=2**50))
    assert made.when <= time.time() * 1000 + 1


def test_a_clock_that_was_set_back_loses_nothing(kept: Shelf, monkeypatch: pytest.MonkeyPatch) -> None:
    day, now = 24 * 3600 * 1000, int(time.time() * 1000)
    for number in range(25):
        kept.keep(job(f"job{number}", when=now + number, writer="tab"))
    monkeypatch.setattr(shelf, "_now", lambda: now - day)
    # The tab goes on by a clock that only moves forward, and a new job takes the place of the oldest.
    assert kept.keep(job("job24", "changed", when=now + 60, writer="tab")).title == "changed"
    assert kept.keep(job("new", when=now - day, writer="other")).name == "new"
    assert kept.keep(job("new", "newer", when=now - day + 5, writer="other")).title == "newer"
    assert titles(kept)[:2] == ["newer", "changed"]
    assert "job0" not in titles(kept)
    # Removed ones come back, as many as ever, though those before were removed later.
    for number in (3, 4, 5, 6):
        kept.remove(digest_of(f"job{number}"))
    assert [one.title for one in kept.removed()] == ["job6", "job5", "job4"]
    monkeypatch.setattr(shelf, "_now", lambda: now - 2 * day)
    kept.remove(digest_of("job7"))
    assert [one.title for one in kept.removed()] == ["job7", "job6", "job5"]


def test_a_time_that_never_comes_is_none_of_a_file(kept: Shelf) -> None:
    kept.keep(job("abc"))
    path = kept.folder / f"{digest_of('abc')}.json"
    path.write_text(json.dumps(json.loads(path.read_text()) | {"when": 2**53 - 1}))
    assert titles(kept) == []
    path.write_text(json.dumps(json.loads(path.read_text()) | {"when": 253_402_300_799_999}))
    assert kept.keep(job("def")).name == "def"
    assert sorted(titles(kept)) == ["abc", "def"]


@pytest.mark.nightly
def test_ten_thousand_other_files_hide_no_job(kept: Shelf) -> None:
    kept.keep(job("before", when=10, writer="tab"))
    for number in range(10_000):
        path = kept.folder / f"{digest_of(f'other {number}')}.json"
        path.write_bytes(b"{}")
        os.utime(path, (10**9, 10**9))
    (kept.folder / ".folder.part").mkdir()
    kept.keep(job("after"))
    assert titles(kept) == ["after", "before"]
    # Somebody else's change of the first does not write over it.
    assert kept.keep(job("before", "other", writer="two")).name != "before"
    assert kept.find(digest_of("before")) is not None


@pytest.mark.parametrize(
    "name",
    [
        "../../etc/passwd",
        "..%2f..%2fetc%2fpasswd",
        "%2e%2e",
        "lock",
        "x" * 4000,
        "a%00b",
        "..\\..",
        "C:con",
        "*",
    ],
)
def test_no_name_of_a_request_opens_a_file(page: TestClient, kept: Shelf, name: str) -> None:
    handed_in(page)
    beside = kept.folder.parent / "passwd"
    beside.write_text("secret")
    for address in (f"/kept/{name}", f"/kept/{name}/file"):
        answer = page.get(address)
        assert answer.status_code == 404
        assert "secret" not in answer.text
    for act in ("remove", "back", "forget"):
        answer = page.post(f"/kept/{name}/{act}", headers=OURS, follow_redirects=False)
        assert answer.status_code in (303, 404)
        assert answer.headers.get("location", "/?").startswith("/?")
    assert len(kept.jobs()) == 1
    assert beside.read_text() == "secret"
    # The name under which a form is kept is one of ours, or none.
    answer = sent(page, "/keep", {**opened(page, SMALL), "kept": name}, writer="tab")
    assert answer.status_code in (200, 422)
    assert {path.name for path in kept.folder.parent.iterdir()} == {"jobs", "passwd"}
    assert all(path.name == "lock" or len(path.stem) == 64 for path in kept.folder.iterdir())


def test_a_huge_or_odd_form_is_refused(page: TestClient, kept: Shelf) -> None:
    entries = {**opened(page, SMALL), "kept": "abc"}
    assert sent(page, "/keep", {**entries, "base": "A" * (caps.MOST_BYTES + 1)}).status_code == 413
    assert sent(page, "/keep", {**entries, "title": "x" * (caps.MOST_LETTERS + 1)}).status_code == 422
    assert sent(page, "/keep", {**entries, "base": "%%%"}).status_code == 422
    assert page.post("/keep", content=b"\xff\xfe", headers=OURS).status_code == 422
    assert titles(kept) == []
    for when in ("-1", "1e9", "9" * 400, "x"):
        sent(page, "/keep", {**entries, "when": when}, writer="tab")
        assert kept.jobs()[0].when <= time.time() * 1000 + 1


def test_other_pages_can_neither_write_nor_read(page: TestClient, kept: Shelf) -> None:
    entries = {**opened(page, SMALL), "kept": "abc"}
    foreign = {"origin": "http://evil.example"}
    assert page.post("/keep", data=entries, headers=foreign).status_code == 403
    handed_in(page)
    (one,) = kept.jobs()
    for act in ("remove", "back", "forget"):
        assert page.post(f"/kept/{one.id}/{act}", headers=foreign).status_code == 403
        assert page.get(f"/kept/{one.id}/{act}").status_code == 405
    headers = page.get(f"/kept/{one.id}/file", headers=foreign).headers
    assert headers["cross-origin-resource-policy"] == "same-origin"
    assert "access-control-allow-origin" not in headers
    assert page.get("/", headers={"host": "evil.example"}).status_code == 421


def test_a_full_disk_is_told_and_costs_nothing(
    page: TestClient, kept: Shelf, monkeypatch: pytest.MonkeyPatch
) -> None:
    handed_in(page)

    def full(handle: int) -> None:
        raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))

    with monkeypatch.context() as patch:
        patch.setattr(os, "fsync", full)
        told = handed_in(page, title="Changed", kept="abc")
        assert told["trouble"] == "no space left on device"
        entries = {**opened(page, SMALL), "keep": "yes"}
        told_page = sent(page, "/job", entries, title="Changed too").text
        assert "not kept on this computer: no space left on device" in told_page
        (one,) = kept.jobs()
        assert page.post(f"/kept/{one.id}/remove", headers=OURS).status_code == 503
    assert titles(kept) == ["Small"]
    assert {path.name for path in kept.folder.iterdir()} == {"lock", f"{one.id}.json"}
    assert handed_in(page, title="Changed")["kept"] == "abc"


@pytest.mark.parametrize("how", ["a file", "under a file"])
def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path, how: str) -> None:
    """As a read-only folder would be, which a test run by root can write to all the same."""
    (tmp_path / "jobs").write_text("in the way")
    folder = tmp_path / "jobs" if how == "a file" else tmp_path / "jobs" / "deeper"
    with a_page(shelf=Shelf(folder)) as page:
        assert handed_in(page)["trouble"] in ("file exists", "not a directory")
        assert page.get("/").status_code == 200
        assert page.get(f"/kept/{digest_of('abc')}").status_code == 404
    assert (tmp_path / "jobs").read_text() == "in the way"


@pytest.mark.skipif(os.name != "posix" or os.geteuid() == 0, reason="root writes to a read-only folder")
def test_a_read_only_folder_is_told(tmp_path: Path) -> None:
    tmp_path.chmod(0o500)
    try:
        with pytest.raises(ShelfError, match="permission denied"):
            Shelf(tmp_path / "jobs").keep(job("abc"))
    finally:
        tmp_path.chmod(0o700)


def test_whatever_else_lies_in_the_folder_is_left_alone(kept: Shelf, tmp_path: Path) -> None:
    kept.keep(job("abc"))
    sound = json.loads((kept.folder / f"{digest_of('abc')}.json").read_text())
    secret = tmp_path / "secret.json"
    secret.write_text(json.dumps({**sound, "name": "linked"}))
    (kept.folder / f"{digest_of('linked')}.json").symlink_to(secret)
    os.mkfifo(kept.folder / f"{digest_of('pipe')}.json")
    (kept.folder / f"{digest_of('folder')}.json").mkdir()
    odd = {
        "mine": b"mine",
        f"{digest_of('half')}.json": b'{"schema": "nesting-kept/1", "na',
        f"{digest_of('deep')}.json": b"[" * 100_000,
        f"{digest_of('list')}.json": b"[]",
        f"{digest_of('other')}.json": json.dumps(sound).encode(),
        f"{digest_of('number')}.json": json.dumps({**sound, "name": "number", "when": 1e99}).encode(),
        f"{digest_of('large')}.json": b" " * (2 * caps.MOST_BYTES + 1),
    }
    for name, data in odd.items():
        (kept.folder / name).write_bytes(data)
    kept.keep(job("def"))
    assert sorted(titles(kept)) == ["abc", "def"]
    for name, data in odd.items():
        assert (kept.folder / name).read_bytes() == data


def _keeps_writing(folder: Path, name: str, count: int) -> None:
    mine = Shelf(folder)
    for number in range(count):
        mine.keep(job(f"{name}{number}", writer=name))


def test_two_servers_at_once_keep_every_job(kept: Shelf) -> None:
    spawned = multiprocessing.get_context("spawn")
    both = [spawned.Process(target=_keeps_writing, args=(kept.folder, name, 20)) for name in ("a", "b")]
    for one in both:
        one.start()
    for one in both:
        one.join(HANGS)
        assert one.exitcode == 0
    assert len(Shelf(kept.folder).jobs()) == 40
    assert not list(kept.folder.glob(".*"))


def test_a_writer_that_is_killed_leaves_whole_files(kept: Shelf) -> None:
    """Killed at odd moments while it writes the same job over and over."""
    program = (
        "import itertools, sys; from pathlib import Path; from nesting.web.shelf import *\n"
        "kept = Shelf(Path(sys.argv[1])); print('on', flush=True)\n"
        "for n in itertools.count(): kept.keep(KeptJob('abc', f'title={n}&' + 'x' * 200_000, title=str(n), "
        "writer=Writer('one')))\n"
    )
    for number in range(6):
        run = subprocess.Popen(
            [sys.executable, "-c", program, str(kept.folder)], stdout=subprocess.PIPE, text=True
        )
        assert run.stdout is not None
        assert run.stdout.readline() == "on\n"
        time.sleep(0.02 + 0.013 * number)
        run.send_signal(signal.SIGKILL)
        run.wait(HANGS)
        run.stdout.close()
        found = [one.entries for one in kept.jobs() if one.name == "abc"]
        assert all(entries.endswith("x" * 200_000) for entries in found)
        assert len(found) == len(list(kept.folder.glob(f"{digest_of('abc')}.json")))
        kept.keep(job("def", str(number), writer="two"))
        assert not list(kept.folder.glob(".*"))
    assert len(kept.jobs()) == 2


def test_with_nothing_to_keep_them_in_no_address_is_there() -> None:
    with a_page() as page:
        entries = {**opened(page, SMALL), "kept": "abc", "keep": "yes"}
        assert sent(page, "/keep", entries).status_code == 404
        assert page.get(f"/kept/{digest_of('abc')}").status_code == 404
        assert page.post(f"/kept/{digest_of('abc')}/remove", headers=OURS).status_code == 404
        assert sent(page, "/job", entries).status_code == 200
        assert "in this browser only" in page.get("/").text


def test_the_folder_is_the_users_own(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    if sys.platform != "linux":
        pytest.skip("elsewhere it is another variable")
    # The variable is that of the XDG Base Directory Specification.
    monkeypatch.setenv("XDG_DATA_HOME", str(tmp_path))
    assert users_folder() == tmp_path / "nesting" / "jobs"
