"""The command line: `nesting plan`, `compare`, `check`, `draw`, `packet`, `batch`, `serve` and more."""

import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line; the page starts without what only the other commands need."""
    if sys.argv[1:2] == ["serve"]:
        from nesting.commands.serve import main as run
    else:
        from nesting.commands.every import main as run
    run()
