"""The jobs of one user, kept on disk: a file each in a folder of theirs, a bounded number, the latest first.

A file is called by the digest of the name under which a page keeps its job, so that no name of a request
ever opens one. It holds the form as it was posted: what was typed is kept as it was typed, sound or not.
Writers of several servers take turns (`nesting.locking`), and each file is written whole or not at all.
"""

from __future__ import annotations

import contextlib
import hashlib
import json
import os
import re
import secrets
import stat
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, Final
from urllib.parse import parse_qsl

import platformdirs

from nesting.errors import OutputError
from nesting.files import write_bytes
from nesting.locking import HeldError, locked
from nesting.web.caps import (
    LEAST_JOBS,
    MOST_IN_FILE,
    MOST_JOBS,
    MOST_LISTED_LETTERS,
    MOST_ON_SHELF,
    MOST_REMOVED,
    SHELF_SECONDS,
)

_FORM: Final = "nesting-kept/1"
_ID: Final = re.compile(r"[0-9a-f]{64}")
_FILE: Final = re.compile(rf"{_ID.pattern}\.json")
#: Milliseconds since 1970 at the end of the year 9999: no file tells of a later time.
_NEVER: Final = 253_402_300_799_999


class ShelfError(Exception):
    """A job could not be kept, or not be put away; the message says why."""


@dataclass(frozen=True, slots=True)
class Writer:
    """Who hands a job in.

    Attributes
    ----------
    name
        Of the tab of a browser; empty of a page without script.
    seen
        The version it last saw; empty where it saw none.
    """

    name: str = ""
    seen: str = ""


@dataclass(frozen=True, slots=True)
class KeptJob:
    """A job on the shelf.

    Attributes
    ----------
    name
        Under which pages keep it.
    entries
        The form as it was posted.
    title, windows, fabric, heading
        What the list shows of it: its title, how many windows, the first fabric, the first heading.
    when, removed
        Milliseconds since 1970: of its last change, and of its removal; 0 where it stands on the list.
    typed
        The same of its last change by the clock of whoever typed it, which may be another; 0 without one.
    writer
        Who wrote it last.
    """

    name: str
    entries: str
    title: str = ""
    windows: int = 0
    fabric: str = ""
    heading: str = ""
    when: int = 0
    removed: int = 0
    writer: Writer = Writer()
    typed: int = 0

    @property
    def id(self) -> str:
        """By which it is asked for."""
        return digest_of(self.name)

    @property
    def version(self) -> str:
        """Changes with what is typed in it."""
        return version_of(self.entries)

    @property
    def pairs(self) -> list[tuple[str, str]]:
        """The entries of its form."""
        return parse_qsl(self.entries, keep_blank_values=True)


def digest_of(name: str) -> str:
    """The id of a job by its name."""
    return hashlib.sha256(f"nesting job {name}".encode()).hexdigest()


def version_of(entries: str) -> str:
    """The version of a job by its form."""
    return hashlib.sha256(entries.encode()).hexdigest()[:16]


def users_folder() -> Path:
    """Where the jobs of this user are kept."""
    return platformdirs.user_data_path("nesting", appauthor=False) / "jobs"


class Shelf:
    """Keeps jobs in a folder.

    Parameters
    ----------
    folder
        Made when the first job is kept, for this user alone.
    most, most_removed
        Jobs that are kept, and removed ones that can be brought back; the oldest go first.
    """

    def __init__(self, folder: Path, most: int = MOST_JOBS, most_removed: int = MOST_REMOVED) -> None:
        self.folder = folder
        self._most, self._most_removed = most, most_removed
        self._read: dict[str, tuple[tuple[int, int, int], KeptJob]] = {}

    def jobs(self) -> tuple[KeptJob, ...]:
        """Those on the list, the latest first."""
        return tuple(sorted((job for job in self._all() if not job.removed), key=_latest))

    def removed(self) -> tuple[KeptJob, ...]:
        """Those that were removed, the last one first."""
        return tuple(sorted((job for job in self._all() if job.removed), key=_latest))

    def find(self, wanted: str) -> KeptJob | None:
        """The job of an id, removed or not, however many others there are; an id is a digest and no path."""
        return self._at(wanted) if _ID.fullmatch(wanted) else None

    def keep(self, job: KeptJob) -> KeptJob:
        """Keep a job as it was handed in; where the time of its change is not told, or to come, it is now.

        It is later than what is kept already, whatever the clock says: one that was set back loses nothing.

        Returns
        -------
        KeptJob
            As it is kept: under another name where somebody else has changed the one of its name meanwhile,
            so that neither is lost.

        Raises
        ------
        ShelfError
            It could not be kept; what was kept before is untouched.
        """
        with self._alone():
            before = self._of(job.name)
            if before is not None and not _goes_on(before, job):
                job = replace(job, name=secrets.token_hex(12))
            elif before is not None and before.writer.name == job.writer.name != "":
                if 0 < job.when < before.typed and not before.removed:
                    # Overtaken on its way by what was typed later.
                    return before
            elif before is not None and before.version == job.version and not before.removed:
                return before
            told = job.when
            when = self._later_than_all(min(told or _now(), _now()))
            job = replace(job, when=when, removed=0, typed=min(told, _NEVER))
            self._write(job)
            self._make_room()
            return job

    def remove(self, wanted: str) -> KeptJob | None:
        """Take a job off the list; it can be brought back. None where there is none of that id.

        Raises
        ------
        ShelfError
            It could not be removed.
        """
        return self._put(wanted, removed=True)

    def bring_back(self, wanted: str) -> KeptJob | None:
        """Put a removed job back on the list; None where there is none of that id.

        Raises
        ------
        ShelfError
            It could not be brought back.
        """
        return self._put(wanted, removed=False)

    def forget(self, wanted: str) -> None:
        """Delete a job that was removed, for good.

        Raises
        ------
        ShelfError
            It could not be deleted.
        """
        with self._alone():
            found = self.find(wanted)
            if found is not None and found.removed:
                self._path(found).unlink(missing_ok=True)

    def _put(self, wanted: str, *, removed: bool) -> KeptJob | None:
        with self._alone():
            found = self.find(wanted)
            if found is None or bool(found.removed) == removed:
                return found
            found = replace(found, removed=self._later_than_all(_now()) if removed else 0)
            self._write(found)
            self._make_room()
            return found

    def _alone(self) -> _OneWriter:
        return _OneWriter(self.folder)

    def _write(self, job: KeptJob) -> None:
        data = json.dumps(_told(job), ensure_ascii=False).encode()
        if len(data) > MOST_IN_FILE:
            raise ShelfError("it is too large")
        try:
            write_bytes(self._path(job), data, private=True)
        except OutputError as error:
            raise ShelfError(_reason(error.__cause__)) from error

    def _make_room(self) -> None:
        """The oldest beyond the number and the bytes there is room for go, removed ones first."""
        goes = [*self.removed()[self._most_removed :], *self.jobs()[self._most :]]
        room = MOST_ON_SHELF
        for number, job in enumerate((*self.jobs()[: self._most], *self.removed()[: self._most_removed])):
            room -= len(job.entries)
            if room < 0 and number >= LEAST_JOBS:
                goes.append(job)
        for job in goes:
            self._path(job).unlink(missing_ok=True)

    def _later_than_all(self, when: int) -> int:
        """The time; where the clock was set back, the next after all that are kept."""
        now = _now()
        ahead = max(
            (time for job in self._all() for time in (job.when, job.removed) if time > now), default=0
        )
        return when if not ahead else min(ahead + 1, _NEVER)

    def _path(self, job: KeptJob) -> Path:
        return self.folder / f"{job.id}.json"

    def _of(self, name: str) -> KeptJob | None:
        return self._at(digest_of(name))

    def _at(self, id: str) -> KeptJob | None:
        read = self._one(self.folder / f"{id}.json")
        return None if read is None else read[1]

    def _all(self) -> list[KeptJob]:
        """Whatever in the folder is a kept job; nothing where there is no folder."""
        found = dict[str, tuple[tuple[int, int, int], KeptJob]]()
        try:
            with os.scandir(self.folder) as entries:
                named = [entry for entry in entries if _FILE.fullmatch(entry.name)]
        except OSError:
            return []
        most = 4 * (self._most + self._most_removed)
        if len(named) > most:
            # Somebody put others there: the latest are ours.
            named.sort(key=_written, reverse=True)
        for name in (entry.name for entry in named[:most]):
            read = self._one(self.folder / name)
            if read is not None:
                found[name] = read
        self._read = found
        return [job for _, job in found.values()]

    def _one(self, path: Path) -> tuple[tuple[int, int, int], KeptJob] | None:
        """A file's stamp and its job, read again only where it has changed; None where it is none of ours."""
        try:
            # Not through a link, and not waiting for the other end of a pipe.
            handle = os.open(path, os.O_RDONLY | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))
        except OSError:
            return None
        try:
            said = os.fstat(handle)
            stamp = (said.st_ino, said.st_mtime_ns, said.st_size)
            known = self._read.get(path.name)
            if known is not None and known[0] == stamp:
                return known
            if not stat.S_ISREG(said.st_mode) or said.st_size > MOST_IN_FILE:
                return None
            with os.fdopen(handle, "rb", closefd=False) as file:
                job = _job_of(json.loads(file.read(MOST_IN_FILE)))
        except (OSError, ValueError, RecursionError, TypeError, KeyError):
            return None
        finally:
            os.close(handle)
        return (stamp, job) if job.id == path.stem else None


class _OneWriter:
    """The folder, made if need be, for one writer at a time; what a killed one left is cleared away."""

    def __init__(self, folder: Path) -> None:
        self._folder = folder
        self._lock: Any = None

    def __enter__(self) -> None:
        try:
            self._folder.mkdir(parents=True, exist_ok=True)
            self._folder.chmod(0o700)
            self._lock = locked(self._folder / "lock", SHELF_SECONDS)
            self._lock.__enter__()
            for left in self._folder.glob(".*.part"):
                # One that cannot be taken away is in nobody's way.
                with contextlib.suppress(OSError):
                    left.unlink()
        except HeldError:
            raise ShelfError("another nesting is writing there") from None
        except OSError as error:
            raise ShelfError(_reason(error)) from error

    def __exit__(self, *what: object) -> None:
        self._lock.__exit__(*what)
        if isinstance(what[1], OSError):
            raise ShelfError(_reason(what[1])) from what[1]


def _written(entry: os.DirEntry[str]) -> int:
    try:
        return entry.stat(follow_symlinks=False).st_mtime_ns
    except OSError:
        return 0


def _goes_on(before: KeptJob, job: KeptJob) -> bool:
    """Whether a job is a later state of one that is kept, and not one that somebody else changed as well."""
    mine = before.writer.name == job.writer.name != ""
    return mine or before.version in (job.writer.seen, job.version)


def _reason(error: BaseException | None) -> str:
    told = getattr(error, "strerror", None) or str(error)
    return str(told)[:1].lower() + str(told)[1:]


def _now() -> int:
    return int(time.time() * 1000)


def _latest(job: KeptJob) -> tuple[int, str]:
    return -(job.removed or job.when), job.name


def _told(job: KeptJob) -> dict[str, Any]:
    return {
        "schema": _FORM,
        "name": job.name,
        "title": job.title[:MOST_LISTED_LETTERS],
        "windows": job.windows,
        "fabric": job.fabric[:MOST_LISTED_LETTERS],
        "heading": job.heading[:MOST_LISTED_LETTERS],
        "when": job.when,
        "removed": job.removed,
        "typed": job.typed,
        "writer": job.writer.name,
        "entries": job.entries,
    }


def _job_of(told: Any) -> KeptJob:
    """The job of a file's table.

    Raises
    ------
    ValueError, TypeError, KeyError
        It is none.
    """
    texts = [told[key] for key in ("name", "entries", "title", "fabric", "heading", "writer")]
    numbers = [*(told[key] for key in ("windows", "when", "removed")), told.get("typed", told["when"])]
    sound = all(isinstance(text, str) for text in texts) and all(
        type(number) is int and 0 <= number <= _NEVER for number in numbers
    )
    if told["schema"] != _FORM or not sound:
        raise ValueError("no kept job")
    name, entries, title, fabric, heading, writer = texts
    windows, when, removed, typed = numbers
    return KeptJob(name, entries, title, windows, fabric, heading, when, removed, Writer(writer), typed)
