"""The command line: `nesting plan`, `compare`, `pieces`, `check`, `draw`, `batch`, `start`, `schema`."""

from nesting.commands import batch as _batch  # noqa: F401 - adds its command
from nesting.commands.app import main

__all__ = ["main"]
