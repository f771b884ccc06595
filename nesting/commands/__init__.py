"""The command line: `nesting plan`, `compare`, `pieces`, `check`, `draw`, `packet`, `batch` and more."""

from nesting.commands import batch as _batch  # noqa: F401 - adds its command
from nesting.commands import packet as _packet  # noqa: F401 - adds its command
from nesting.commands import serve as _serve  # noqa: F401 - adds its command
from nesting.commands.app import main

__all__ = ["main"]
