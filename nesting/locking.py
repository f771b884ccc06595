"""One at a time, whichever process it is: files that are locked."""

from __future__ import annotations

import contextlib
import math
import sys
import time
from collections.abc import Iterator
from pathlib import Path
from typing import IO, Final

_LOOK: Final = 0.02


class HeldError(Exception):
    """Another process holds a lock for longer than it is waited for."""


if sys.platform == "win32":
    import msvcrt

    def _taken(file: IO[bytes]) -> bool:
        """Whether the lock is ours now."""
        file.seek(0)
        try:
            msvcrt.locking(file.fileno(), msvcrt.LK_NBLCK, 1)
        except OSError:
            return False
        return True

else:
    import fcntl

    def _taken(file: IO[bytes]) -> bool:
        """Whether the lock is ours now; a file system without locks has one writer at a time by itself."""
        try:
            fcntl.flock(file, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return False
        except OSError:
            return True
        return True


@contextlib.contextmanager
def locked(path: Path, patience: float = math.inf, look: float = _LOOK) -> Iterator[None]:
    """Hold the lock of a file; the system lets go of it when a process ends in any way.

    Parameters
    ----------
    path
        The lock file, made if need be and left behind: removing it would let two writers hold two locks.
    patience
        Seconds to wait for whoever holds it.
    look
        Seconds between two looks.

    Raises
    ------
    HeldError
        Somebody held it for longer than that.
    """
    with path.open("ab") as file:
        until = time.monotonic() + patience
        while not _taken(file):
            if time.monotonic() > until:
                raise HeldError(f"{path} is held by another process")
            time.sleep(look)
        yield
