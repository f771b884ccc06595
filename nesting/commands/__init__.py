"""The command line: `nesting plan`, `compare`, `pieces`, `check`, `draw`, `start`, `schema`."""

from nesting.commands.app import main

__all__ = ["main"]
