"""The files of one plan in a folder: all of the new ones or all of the old ones, and nobody else's.

A hidden folder `.nesting` beside the files holds a manifest of their names and digests. Only a file that the
manifest names and whose digest still agrees is ours; every other one is left as it is, and a new file that
would take its place gets a name of its own. A set is staged whole, then a journal says what is to be moved
and removed, then it is done: before the journal the old set stands, after it whoever comes next (the next
writer or reader) does the rest.
"""

from __future__ import annotations

import contextlib
import hashlib
import os
import shutil
import stat
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Final

from nesting.errors import OutputError
from nesting.files.journal import (
    FileSet,
    Journal,
    Manifest,
    is_plain,
    journal_of,
    journal_text,
    manifest_of,
    manifest_text,
)
from nesting.files.saving import move_to_free, write_text
from nesting.locking import HeldError, locked

HIDDEN: Final = ".nesting"
_MANIFEST, _JOURNAL, _LOCK, _STAGED = "manifest.json", "journal.json", "lock", "new"
#: Seconds to wait for another writer: a set of files is moved into place in far less than one.
PATIENCE: Final = 60.0
#: The set that the others are made from: of another plan than this one none may lie beside it.
PLAN: Final = "plan"


@dataclass(frozen=True, slots=True)
class KeptFile:
    """A file that was in the way and is not ours, or no longer; the new one beside it, if there is one."""

    path: Path
    instead: Path | None


@dataclass(frozen=True, slots=True)
class Written:
    """What became of a folder: the new files, those of earlier sets removed, those of others kept.

    ``ours`` holds the names of all files that are ours now, of other sets too.
    """

    paths: tuple[Path, ...]
    removed: tuple[Path, ...]
    kept: tuple[KeptFile, ...]
    ours: frozenset[str]


def digest_of(data: bytes) -> str:
    """The digest by which a file is known again: SHA-256 in hexadecimal."""
    return hashlib.sha256(data).hexdigest()


def write_set(folder: Path, files: Mapping[str, bytes], *, name: str, plan: str = "") -> Written:
    """Make these files the set of this name in the folder, which is made if need be.

    Parameters
    ----------
    folder
        Where; a link to a folder is followed, other files in it are left alone.
    files
        The content of each file by its name; all of them are in place, or none.
    name
        Which set: a later one of the same name takes its place, and files it no longer has are removed.
    plan
        The digest of the plan these files show, where they show one: files of another plan are removed.

    Raises
    ------
    OutputError
        The folder cannot be written to (nothing was changed), somebody else keeps writing to it, or it
        holds a plan other than the one these files are of.
    """
    with _told(folder):
        hidden = folder / HIDDEN
        if hidden.is_symlink():
            raise ValueError(f"{hidden} leads elsewhere")
        hidden.mkdir(parents=True, exist_ok=True)
        with locked(hidden / _LOCK, PATIENCE):
            _finish(folder)
            manifest = _manifest(folder)
            stays, goes = _parted(folder, manifest, name, plan)
            entries = {wanted: digest_of(data) for wanted, data in files.items()}
            removals = {old: digest for old, digest in goes.items() if old not in files}
            journal = Journal(name, plan, entries, _ours(folder, manifest), removals, stays)
            _stage(hidden, files)
            write_text(hidden / _JOURNAL, journal_text(journal))
            return _carried_out(folder, journal)


def finish(folder: Path) -> None:
    """Do the rest of what a writer was about when it was killed; nothing where nothing is left to do.

    Raises
    ------
    OutputError
        There is something left, and it cannot be done.
    """
    if not os.path.lexists(folder / HIDDEN / _JOURNAL):
        return
    with _told(folder), locked(folder / HIDDEN / _LOCK, PATIENCE):
        _finish(folder)


@contextlib.contextmanager
def _told(folder: Path) -> Iterator[None]:
    """Faults of the system in our words."""
    try:
        yield
    except HeldError:
        raise OutputError(
            f"{folder} is being written to by another nesting: wait until it is done, or name another folder "
            "after -o"
        ) from None
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(
            f"{folder} could not be written to ({reason}): choose a folder you may write to, "
            "with room to spare"
        ) from error


def _finish(folder: Path) -> None:
    """Roll a journal on, or clear away what was staged without one."""
    hidden = folder / HIDDEN
    journal = journal_of(_text(hidden / _JOURNAL))
    if journal is not None:
        _carried_out(folder, journal)
        return
    _clear(hidden)


def _clear(hidden: Path) -> None:
    """Remove all that writers need for a while, the journal last of it."""
    shutil.rmtree(hidden / _STAGED, ignore_errors=True)
    for left in (*hidden.glob(".*.part"), hidden / _JOURNAL):
        left.unlink(missing_ok=True)


def _text(path: Path) -> str:
    try:
        return path.read_text("utf-8")
    except (FileNotFoundError, UnicodeDecodeError):
        return ""


def _manifest(folder: Path) -> Manifest:
    return manifest_of(_text(folder / HIDDEN / _MANIFEST))


def _ours(folder: Path, manifest: Manifest) -> dict[str, str]:
    """Digests of the files that the manifest names and nobody has touched."""
    return {
        name: digest
        for one in manifest.values()
        for name, digest in one.files.items()
        if _digest(folder / name) == digest
    }


def _parted(folder: Path, manifest: Manifest, name: str, plan: str) -> tuple[Manifest, dict[str, str]]:
    """The sets that stay beside the new one, and the files that do not.

    Raises
    ------
    OutputError
        The folder holds another plan, and the new set is not a plan itself.
    """
    stays, goes = dict[str, FileSet](), dict[str, str]()
    for other, one in manifest.items():
        if other == name or (plan and one.plan and one.plan != plan):
            if other == PLAN != name and any(os.path.lexists(folder / file) for file in one.files):
                raise OutputError(
                    f"{folder} holds the files of another plan, and they are not mixed: "
                    "name another folder after -o"
                )
            goes |= one.files
        else:
            stays[other] = one
    return stays, goes


def _stage(hidden: Path, files: Mapping[str, bytes]) -> None:
    """All files written whole, where nobody looks; gone again where there is no room for all."""
    staged = hidden / _STAGED
    if wrong := [name for name in files if not is_plain(name)]:
        raise ValueError(f"{wrong[0]} is no plain file name")
    try:
        staged.mkdir()
        for name, data in files.items():
            with (staged / name).open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        _settle(staged)
    except BaseException:
        shutil.rmtree(staged, ignore_errors=True)
        raise


def _carried_out(folder: Path, journal: Journal) -> Written:
    """What a journal says, done once however often it is begun."""
    hidden = folder / HIDDEN
    paths, kept = dict[str, str](), list[KeptFile]()
    for name, digest in journal.entries.items():
        placed = _placed(folder, journal, name)
        paths[placed] = digest
        if placed != name:
            kept.append(KeptFile(folder / name, folder / placed))
    removed = []
    for name, digest in journal.removals.items():
        found = _digest(folder / name)
        if name in paths or found is None:
            continue
        if found == digest:
            (folder / name).unlink()
            removed.append(folder / name)
        elif all(one.path != folder / name for one in kept):
            kept.append(KeptFile(folder / name, None))
    _settle(folder)
    stays = {
        other: replace(one, files={n: d for n, d in one.files.items() if n not in paths})
        for other, one in journal.stays.items()
    }
    manifest = stays | {journal.name: FileSet(journal.plan, paths)}
    write_text(hidden / _MANIFEST, manifest_text(manifest))
    _clear(hidden)
    ours = frozenset(name for one in manifest.values() for name in one.files)
    return Written(tuple(folder / name for name in paths), tuple(removed), tuple(kept), ours)


def _placed(folder: Path, journal: Journal, wanted: str) -> str:
    """The name under which a staged file is now: its own, or the next one that nobody else's file has."""
    staged, digest = folder / HIDDEN / _STAGED / wanted, journal.entries[wanted]
    to_move = _digest(staged) == digest
    for name in _names(wanted):
        if name != wanted and name in journal.entries:
            continue
        target = folder / name
        found = _digest(target)
        if found == digest:
            # Moved before a kill, or the same as it was.
            staged.unlink(missing_ok=True)
            return name
        if not to_move:
            if found is None:
                # It was moved, and somebody has changed it since: theirs now.
                return wanted
        elif found is None:
            with contextlib.suppress(FileExistsError):
                move_to_free(staged, target)
                return name
        elif found and found == journal.ours.get(name):
            os.replace(staged, target)
            return name
    raise AssertionError("names never end")


def _names(name: str) -> Iterator[str]:
    """A name, and the ones to take where it is somebody else's: ``cut-list.csv``, ``cut-list-2.csv``."""
    yield name
    stem, dot, ending = name.rpartition(".")
    number = 1
    while True:
        number += 1
        yield f"{stem}-{number}{dot}{ending}"


def _digest(path: Path) -> str | None:
    """The digest of a plain file; empty for anything else, None where nothing is."""
    try:
        if not stat.S_ISREG(path.lstat().st_mode):
            return ""
        with path.open("rb") as file:
            return hashlib.file_digest(file, "sha256").hexdigest()
    except FileNotFoundError:
        return None


def _settle(folder: Path) -> None:
    """Have the names in a folder on the disk too, where a system can do that."""
    with contextlib.suppress(OSError):
        number = os.open(folder, os.O_RDONLY)
        try:
            os.fsync(number)
        finally:
            os.close(number)
