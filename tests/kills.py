"""A command killed while it writes, again and again: afterwards one complete set, and nobody's byte lost.

    python -m tests.kills --count 200

kills that many whole `plan -o` in each of four situations (a folder with an older plan, `.` beside the job
file, a folder that is a link, a folder with a cut list changed by hand), two in five of them at any moment
of the run, the others while files are staged and moved. After each a command reads the folder, and then

- every file of the manifest has the digest that stands there, and all are of one run;
- no file of the older plan is left, no `.part`, nothing staged, no journal;
- every file of somebody else has its old bytes under its old name.

A child is forked from a process that has everything loaded, so that a run is what a run is, but for the start
of Python; and the files it writes are drawn once for all runs of a situation, since three quarters of a run
are spent on drawing, in which no folder is touched. With `--draw` each run draws its own.
"""

from __future__ import annotations

import argparse
import contextlib
import json
import os
import pickle
import random
import shutil
import signal
import sys
import tempfile
import threading
import time
from collections.abc import Callable, Mapping
from pathlib import Path

from nesting.commands import output
from nesting.files import digest_of, write_set
from nesting.plan.plan import Plan

ROOT = Path(__file__).parents[1]
HIDDEN = ".nesting"
SITUATIONS = ("older plan", "beside the job", "a link", "changed by hand")
#: What a system call that changes a folder is called by Python's audit.
CHANGES = ("open", "os.rename", "os.link", "os.remove", "os.mkdir", "os.rmdir", "shutil.rmtree")
#: What draws the files of a plan, whatever stands in its place for a while.
DRAWING = output.plan_files


def forked(work: Callable[[], None]) -> int:
    """The status of a child that does the work; it never comes back into the caller."""
    child = os.fork()
    if not child:
        with contextlib.suppress(BaseException):
            work()
            os._exit(0)
        os._exit(1)
    return os.waitpid(child, 0)[1]


def killed_at(step: int, work: Callable[[], None]) -> bool:
    """Whether a process that does the work is killed as it sets about its change of a folder of that number.

    It then has made all changes before, and none after.
    """

    def dying() -> None:
        left = step

        def count(event: str, arguments: object) -> None:
            nonlocal left
            if event in CHANGES:
                left -= 1
                if left == 0:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(count)
        work()

    status = forked(dying)
    assert os.WIFSIGNALED(status) or os.waitstatus_to_exitcode(status) == 0
    return os.WIFSIGNALED(status)


def contents(folder: Path) -> dict[str, bytes]:
    """All files in a folder but those of the hidden one."""
    return {
        str(path.relative_to(folder)): path.read_bytes()
        for path in folder.rglob("*")
        if path.is_file() and HIDDEN not in path.parts
    }


def sets_in(folder: Path) -> dict[str, dict[str, str]]:
    """The digests of the files of each set, as the manifest has them."""
    path = folder / HIDDEN / "manifest.json"
    if not path.exists():
        return {}
    return {name: one["files"] for name, one in json.loads(path.read_text("utf-8"))["sets"].items()}


def require_whole(folder: Path, foreign: Mapping[str, bytes]) -> None:
    """Nothing is half done, and every file of others (by name) is as it was: see the head of this module."""
    found, sets = contents(folder), sets_in(folder)
    # What somebody has changed since is theirs, though the older set names it.
    ours = {n: digest for files in sets.values() for n, digest in files.items() if n not in foreign}
    for name, data in foreign.items():
        assert found.get(name) == data, f"{name} was lost"
    for name, digest in ours.items():
        assert digest_of(found[name]) == digest, f"{name} is not of the set"
    assert found.keys() == ours.keys() | foreign.keys(), found.keys() ^ (ours.keys() | foreign.keys())
    left = {path.name for path in (folder / HIDDEN).glob("*")} - {"lock", "manifest.json"}
    assert not left, f"left behind: {left}"


def _run(words: list[str]) -> None:
    """One command, its words thrown away."""
    with Path(os.devnull).open("w") as nothing:
        os.dup2(nothing.fileno(), 1)
        os.dup2(nothing.fileno(), 2)
    os.environ["MPLBACKEND"] = "Agg"
    sys.argv = ["nesting", *words]
    from nesting.commands import main

    main()


def _killed_after(words: list[str], folder: Path, draw: random.Random, whole: float) -> bool:
    """Whether a command was killed in time: at any moment, while it stages files, or while it moves them."""
    child = os.fork()
    if not child:
        try:
            _run(words)
        except SystemExit as ended:
            os._exit(ended.code if isinstance(ended.code, int) else 1)
        finally:
            os._exit(1)
    awaited, seconds = draw.choice(
        (("", whole), ("", whole), ("new", 0.1), ("journal.json", 0.01), ("journal.json", 0.02))
    )
    over = time.monotonic() + 60
    while not (folder / HIDDEN / awaited).exists() and time.monotonic() < over:
        if os.waitpid(child, os.WNOHANG)[0]:
            return False
        time.sleep(0.0002)
    time.sleep(draw.random() * seconds)
    with contextlib.suppress(ProcessLookupError):
        os.kill(child, signal.SIGKILL)
    return os.WIFSIGNALED(os.waitpid(child, 0)[1])


class Situation:
    """One folder before a kill: an older plan with a fabric more, and files of others."""

    def __init__(self, name: str, under: Path, *, draw: bool) -> None:
        self.folder = under / "out"
        self.foreign: dict[str, bytes] = {}
        self.job = under / "job.toml"
        text = (ROOT / "samples" / "reading-nook.toml").read_text("utf-8")
        plain = text.replace(', fabric = "lining"', "")
        assert plain != text
        if name == "beside the job":
            self.folder, self.job = under, under / "job.toml"
        if name == "a link":
            (under / "elsewhere").mkdir()
            self.folder.symlink_to(under / "elsewhere", target_is_directory=True)
        self.job.write_text(text, "utf-8")
        words = ["plan", str(self.job), "--work-limit", "0.05", "--workers", "1", "-o", str(self.folder)]
        self.words = words
        assert forked(lambda: _ended(words)) == 0
        self.job.write_text(plain, "utf-8")
        self.whole = _drawn(words, draw=draw)
        if name == "beside the job":
            self.foreign["job.toml"] = self.job.read_bytes()
        if name == "changed by hand":
            changed = self.folder / "cut-list.csv"
            changed.write_bytes(changed.read_bytes() + b"mine\n")
            self.foreign["cut-list.csv"] = changed.read_bytes()
        note = self.folder / "note.txt"
        note.write_text("mine", "utf-8")
        self.foreign["note.txt"] = b"mine"


def _ended(words: list[str]) -> None:
    try:
        _run(words)
    except SystemExit as ended:
        if ended.code not in (0, None):
            raise


def _drawn(words: list[str], *, draw: bool) -> float:
    """Seconds of a run into another folder; unless each is to ``draw``, all later ones write its files."""
    output.plan_files = DRAWING
    with tempfile.TemporaryDirectory() as aside:
        kept = Path(aside) / "files"

        def keeping(plan: Plan, paper: output.Paper) -> dict[str, bytes]:
            files = DRAWING(plan, paper)
            kept.write_bytes(pickle.dumps(files))
            return files

        def run() -> float:
            began = time.monotonic()
            assert forked(lambda: _ended([*words[:-1], f"{aside}/out"])) == 0
            return time.monotonic() - began

        if draw:
            return run()
        output.plan_files = keeping
        run()
        files: dict[str, bytes] = pickle.loads(kept.read_bytes())

        def again(plan: Plan, paper: output.Paper) -> dict[str, bytes]:
            return files

        output.plan_files = again
        return run()


def main() -> None:
    """Kill and look, and say how often."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--count", type=int, default=200, help="kills in each situation")
    parser.add_argument("--seed", type=int, default=0)
    parser.add_argument("--only", choices=SITUATIONS, help="one situation")
    parser.add_argument("--draw", action="store_true", help="each run draws its own files")
    asked = parser.parse_args()
    # Loaded once, for all children.
    import nesting.commands.every
    import nesting.drawing.page
    import nesting.packet
    import nesting.planning.planner  # noqa: F401

    assert threading.active_count() == 1
    for name in SITUATIONS if asked.only is None else (asked.only,):
        draw, kills, amid, older = random.Random(f"{asked.seed} {name}"), 0, 0, 0
        with tempfile.TemporaryDirectory() as start:
            first = Situation(name, Path(start), draw=asked.draw)
            while kills < asked.count:
                with tempfile.TemporaryDirectory() as again:
                    under = Path(again)
                    shutil.copytree(start, under, symlinks=True, dirs_exist_ok=True)
                    folder = under / first.folder.relative_to(start)
                    if folder.is_symlink():
                        folder.unlink()
                        folder.symlink_to(under / "elsewhere", target_is_directory=True)
                    before = sets_in(folder)
                    words = [word.replace(start, again) for word in first.words]
                    if not _killed_after(words, folder, draw, first.whole):
                        continue
                    kills += 1
                    amid += (folder / HIDDEN / "journal.json").exists()
                    plan = next(path for path in sorted(folder.glob("plan*.json")))
                    assert forked(lambda read=plan: _ended(["check", str(read)])) == 0
                    # What was staged without a journal goes when the next set is written.
                    write_set(folder, {"last.txt": b"x"}, name="test")
                    require_whole(folder, first.foreign)
                    now = sets_in(folder)
                    now.pop("test")
                    older += now == before
                    if now != before:
                        assert not any("lining" in file for file in now["plan"]), "an old marker stayed"
        print(f"{name}: {kills} kills, {amid} with a journal, {older} before it; all whole")


if __name__ == "__main__":
    main()
