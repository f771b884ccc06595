"""Writes a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from collections.abc import Callable
from pathlib import Path

from nesting.errors import OutputError


def write_text(path: Path, text: str) -> None:
    """Put ``text`` into the file as UTF-8, replacing what was there; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"))


def write_new(path: Path, data: bytes) -> None:
    """Put ``data`` into a file that is not there yet; see `write_bytes`.

    Raises
    ------
    FileExistsError
        Something is there.
    OutputError
        It could not be written.
    """
    try:
        _write(path, data, move_to_free)
    except OutputError as error:
        if isinstance(error.__cause__, FileExistsError) and os.path.lexists(path):
            raise error.__cause__ from None
        raise


def write_bytes(path: Path, data: bytes, *, private: bool = False) -> None:
    """Put ``data`` into the file, replacing what was there; folders on the way are made.

    A temporary file in the same folder takes its place only once it is complete, so a reader finds the
    old file or the new one, never half of it. ``private``: nobody but its owner may read or write it.

    Raises
    ------
    OutputError
        It could not be written; nothing was changed, and no temporary file is left.
    """
    _write(path, data, os.replace, 0o600 if private else 0o666)


def move_to_free(from_path: Path, path: Path) -> None:
    """Move a file to a name that is free; whatever appears there in the meantime is not written over.

    Raises
    ------
    FileExistsError
        Something is there.
    """
    try:
        os.link(from_path, path)
    except FileExistsError:
        raise
    except OSError:
        # A file system without links.
        if os.path.lexists(path):
            raise FileExistsError(path) from None
        os.rename(from_path, path)
    else:
        from_path.unlink()


def _write(path: Path, data: bytes, move: Callable[[Path, Path], None], mode: int = 0o666) -> None:
    part = path.parent / f".{path.name[:80]}.{secrets.token_hex(4)}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with open(part, "xb", opener=lambda name, flags: os.open(name, flags, mode)) as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        move(part, path)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(
            f"{path} could not be written ({reason}): choose a folder you may write to, with room to spare"
        ) from error
    finally:
        with contextlib.suppress(OSError, ValueError):
            part.unlink()
