"""A folder of files is one set: the new one or the old one, ours alone, whatever happens meanwhile."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import threading
from collections.abc import Callable
from pathlib import Path

import pytest

from nesting.errors import OutputError
from nesting.files import digest_of, file_set, finish, write_set
from nesting.locking import locked
from tests.kills import HIDDEN, contents, killed_at, require_whole, sets_in
from tests.seeds import some

OLD = {"plan.json": b"old", "cut-list.csv": b"old cuts", "marker-lining.png": b"old lining"}
NEW = {"plan.json": b"new", "cut-list.csv": b"new cuts", "labels.pdf": b"new labels"}


def written(folder: Path, files: dict[str, bytes], name: str = "plan", plan: str | None = None) -> list[str]:
    """The names of what is removed or kept, after a set was written."""
    of = digest_of(files["plan.json"]) if plan is None else plan
    made = write_set(folder, files, name=name, plan=of)
    return [path.name for path in (*made.removed, *(one.path for one in made.kept))]


def test_a_new_set_takes_the_place_of_the_old_one(tmp_path: Path) -> None:
    assert written(tmp_path, OLD) == []
    assert written(tmp_path, NEW) == ["marker-lining.png"]
    assert contents(tmp_path) == NEW
    assert sets_in(tmp_path)["plan"] == {name: digest_of(data) for name, data in NEW.items()}
    assert sorted(os.listdir(tmp_path / HIDDEN)) == ["lock", "manifest.json"]


def test_what_somebody_else_made_or_changed_is_kept_and_named(tmp_path: Path) -> None:
    (tmp_path / "labels.pdf").write_bytes(b"somebody's")
    (tmp_path / "notes.txt").write_bytes(b"notes")
    written(tmp_path, OLD)
    (tmp_path / "cut-list.csv").write_bytes(b"changed")
    (tmp_path / "marker-lining.png").write_bytes(b"painted on")
    assert written(tmp_path, NEW) == ["cut-list.csv", "labels.pdf", "marker-lining.png"]
    foreign = {
        "cut-list.csv": b"changed",
        "labels.pdf": b"somebody's",
        "marker-lining.png": b"painted on",
        "notes.txt": b"notes",
    }
    ours = {"plan.json": b"new", "cut-list-2.csv": b"new cuts", "labels-2.pdf": b"new labels"}
    assert contents(tmp_path) == foreign | ours
    require_whole(tmp_path, foreign)
    # Once more: the numbered ones are ours, and go when their names are free again.
    (tmp_path / "cut-list.csv").unlink()
    assert written(tmp_path, NEW | {"plan.json": b"third"}) == ["cut-list-2.csv", "labels.pdf"]
    assert contents(tmp_path)["cut-list.csv"] == b"new cuts"
    assert "cut-list-2.csv" not in contents(tmp_path)


def test_links_and_folders_in_the_way_are_somebody_elses(tmp_path: Path) -> None:
    out, far = tmp_path / "out", tmp_path / "far.json"
    far.write_bytes(b"far")
    (out / "labels.pdf").mkdir(parents=True)
    (out / "plan.json").symlink_to(far)
    assert written(out, NEW) == ["plan.json", "labels.pdf"]
    assert far.read_bytes() == b"far"
    assert (out / "plan-2.json").read_bytes() == b"new"


def test_the_numbered_name_is_no_other_of_the_set(tmp_path: Path) -> None:
    """A marker of the fabric "face 2" is called as a second marker of "face" would be."""
    (tmp_path / "marker-face.png").write_bytes(b"mine")
    files = {"plan.json": b"p", "marker-face.png": b"one", "marker-face-2.png": b"two"}
    written(tmp_path, files)
    found = contents(tmp_path)
    assert (found["marker-face-2.png"], found["marker-face-3.png"]) == (b"two", b"one")


def test_sets_of_one_plan_lie_side_by_side_and_go_with_it(tmp_path: Path) -> None:
    written(tmp_path, OLD)
    plan = digest_of(b"old")
    written(tmp_path, {"packet.pdf": b"p", "marker-face-full-size.pdf": b"f"}, "packet", plan)
    write_set(tmp_path, {"comparison.csv": b"c"}, name="comparison")
    written(tmp_path, {"packet.pdf": b"q"}, "packet", plan)
    assert contents(tmp_path) == OLD | {"packet.pdf": b"q", "comparison.csv": b"c"}
    with pytest.raises(OutputError, match="files of another plan"):
        written(tmp_path, {"packet.pdf": b"r"}, "packet", digest_of(b"other"))
    written(tmp_path, NEW)
    assert contents(tmp_path) == NEW | {"comparison.csv": b"c"}


def test_a_manifest_from_elsewhere_reaches_nothing_outside(tmp_path: Path) -> None:
    out, outside = tmp_path / "out", tmp_path / "precious"
    outside.write_bytes(b"x")
    (out / HIDDEN).mkdir(parents=True)
    for name in ("../precious", str(outside), ".nesting/lock"):
        files = {name: digest_of(b"x")}
        manifest = {"schema": "nesting-files/1", "sets": {"plan": {"plan": "", "files": files}}}
        (out / HIDDEN / "manifest.json").write_text(json.dumps(manifest))
        written(out, NEW)
    assert outside.read_bytes() == b"x"


def test_a_full_disk_changes_nothing(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    written(tmp_path, OLD)

    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(os, "fsync", full)
    with pytest.raises(OutputError, match=r"could not be written to \(No space left"):
        written(tmp_path, NEW)
    assert contents(tmp_path) == OLD
    assert sorted(os.listdir(tmp_path / HIDDEN)) == ["lock", "manifest.json"]


def older(folder: Path) -> dict[str, bytes]:
    return {}


def beside_the_job(folder: Path) -> dict[str, bytes]:
    (folder / "job.toml").write_bytes(b"job")
    return {"job.toml": b"job"}


def changed_by_hand(folder: Path) -> dict[str, bytes]:
    (folder / "cut-list.csv").write_bytes(b"changed")
    return {"cut-list.csv": b"changed"}


def in_the_way(folder: Path) -> dict[str, bytes]:
    (folder / "labels.pdf").write_bytes(b"somebody's")
    (folder / "marker-lining.png").write_bytes(b"painted on")
    return {"labels.pdf": b"somebody's", "marker-lining.png": b"painted on"}


@pytest.mark.skipif(not hasattr(os, "fork"), reason="processes are forked")
@pytest.mark.parametrize(
    ("situation", "linked"),
    some(
        [
            (older, True),
            (older, False),
            (beside_the_job, False),
            (changed_by_hand, False),
            (in_the_way, False),
        ],
        1,
    ),
)
def test_a_kill_at_any_step_leaves_one_whole_set(
    tmp_path: Path, situation: Callable[[Path], dict[str, bytes]], linked: bool
) -> None:
    """Killed at every change of the folder in turn, and again while the next one mends it."""
    kept, finished = 0, 0
    for step in range(1, 200):
        folder = tmp_path / f"at-{step}"
        if linked:
            (tmp_path / f"far-{step}").mkdir()
            folder.symlink_to(tmp_path / f"far-{step}", target_is_directory=True)
        written(folder, OLD)
        foreign = situation(folder)
        if not killed_at(step, lambda where=folder: written(where, NEW)):
            break
        begun = (folder / HIDDEN / "journal.json").exists()
        killed_at(1 + step % 7, lambda where=folder: finish(where))
        finish(folder)
        found = set(contents(folder).values()) - set(foreign.values())
        expected = set((NEW if begun else OLD).values())
        if begun:
            assert found == expected, step
            require_whole(folder, foreign)
        else:
            assert found <= expected, step
        finished += begun
        kept += not begun
        if step % 4 == 0:
            # Whatever was left staged goes with the next set.
            written(folder, NEW)
            require_whole(folder, foreign)
    else:
        pytest.fail("never came to its end")
    assert kept > 5
    assert finished > 5


def test_two_writers_never_mix(tmp_path: Path) -> None:
    sets = [{f"{name}.txt": f"{run}".encode() for name in "abcdef"} for run in range(8)]
    faults = list[BaseException]()

    def write(files: dict[str, bytes]) -> None:
        try:
            for _ in range(5):
                write_set(tmp_path, files, name="plan")
        except BaseException as error:
            faults.append(error)

    threads = [threading.Thread(target=write, args=(files,)) for files in sets]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert not faults
    assert contents(tmp_path) in sets
    require_whole(tmp_path, {})


def test_a_writer_that_never_ends_is_named(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(file_set, "PATIENCE", 0.1)
    path = tmp_path / "out" / HIDDEN / "lock"
    path.parent.mkdir(parents=True)
    with (
        locked(path),
        pytest.raises(OutputError, match="out is being written to by another nesting"),
    ):
        write_set(tmp_path / "out", {"a.txt": b"a"}, name="test")
    assert contents(tmp_path) == {}


def test_the_next_reader_finishes(tmp_path: Path) -> None:
    """Of all commands that read a file of the folder: here one that checks its plan."""
    sample = Path(__file__).parents[1] / "samples" / "reading-nook.toml"
    plan = subprocess.run(
        [sys.executable, "cli.py", "plan", str(sample), "--work-limit", "0.05", "--format", "json"],
        cwd=sample.parents[1],
        capture_output=True,
        check=True,
    ).stdout
    written(tmp_path, OLD)
    files = {"plan.json": plan, "cut-list.csv": b"new cuts"}
    for step in range(1, 100):
        killed_at(step, lambda: written(tmp_path, files))
        if (tmp_path / HIDDEN / "journal.json").exists():
            break
    assert contents(tmp_path) == OLD
    run = subprocess.run(
        [sys.executable, "cli.py", "check", str(tmp_path / "plan.json")],
        cwd=sample.parents[1],
        capture_output=True,
        text=True,
        check=False,
    )
    assert run.returncode == 0, run.stderr
    assert contents(tmp_path) == files
    require_whole(tmp_path, {})
