"""What stands in a file that somebody names: an ordinary one, of bounded size, and a whole set beside it."""

from __future__ import annotations

import errno
import os
import stat
from pathlib import Path

from nesting.files.file_set import finish


def content_of(path: Path, most: int) -> bytes:
    """The first bytes of a file, one more than ``most`` where it has more than that.

    A writer that was killed in the file's folder is finished first, so that what is read belongs together.

    Raises
    ------
    OSError
        It cannot be read, or it is a pipe or a device, which might never end or never begin.
    OutputError
        What a killed writer left in its folder cannot be finished.
    """
    finish(path.parent)
    # Without a writer a pipe would not even open.
    number = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
    with open(number, "rb") as file:
        mode = os.fstat(number).st_mode
        if stat.S_ISDIR(mode):
            raise IsADirectoryError(errno.EISDIR, "a folder stands here")
        if not stat.S_ISREG(mode):
            raise OSError(errno.EINVAL, "a pipe or a device, not an ordinary file")
        return file.read(most + 1)
