"""The command line with a record beside it: ``python -m tests.fuzz.seen RECORD COMMAND...``.

The record is a file of lines: ``layout SECONDS LENGTH`` for each layout that a search told of, and whatever
is logged as a warning or worse. All else is the command as it is.
"""

from __future__ import annotations

import logging
import sys
import time
from pathlib import Path


def main() -> None:
    """Run the command."""
    began = time.monotonic()
    path = Path(sys.argv.pop(1))
    logging.basicConfig(filename=path, encoding="utf-8", level=logging.WARNING)
    from nesting.commands import main as command
    from nesting.packing.race import Herald
    from nesting.packing.result import Incumbent

    plain = Herald.tell

    def tell(self: Herald, now: Incumbent) -> None:
        if now.length is not None:
            with path.open("a", encoding="utf-8") as record:
                record.write(f"layout {time.monotonic() - began:.2f} {now.length}\n")
        plain(self, now)

    Herald.tell = tell  # type: ignore[method-assign]
    command()


if __name__ == "__main__":
    main()
