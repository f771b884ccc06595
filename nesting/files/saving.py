"""Writes a file whole or not at all."""

from __future__ import annotations

import contextlib
import os
import secrets
from pathlib import Path

from nesting.errors import OutputError


def write_text(path: Path, text: str) -> None:
    """Put ``text`` into the file as UTF-8, replacing what was there; see `write_bytes`."""
    write_bytes(path, text.encode("utf-8"))


def write_bytes(path: Path, data: bytes) -> None:
    """Put ``data`` into the file, replacing what was there; folders on the way are made.

    A temporary file in the same folder takes its place only once it is complete, so a reader finds the
    old file or the new one, never half of it.

    Raises
    ------
    OutputError
        It could not be written; nothing was changed, and no temporary file is left.
    """
    part = path.parent / f".{path.name[:80]}.{secrets.token_hex(4)}.part"
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with part.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.replace(part, path)
    except (OSError, ValueError) as error:
        reason = getattr(error, "strerror", None) or str(error)
        raise OutputError(
            f"{path} could not be written ({reason}): choose a folder you may write to, with room to spare"
        ) from error
    finally:
        with contextlib.suppress(OSError, ValueError):
            part.unlink()
