"""The command line: `nesting plan`, `compare`, `check`, `draw`, `packet`, `batch`, `serve` and more."""

import gc
import sys

__all__ = ["main"]


def main() -> None:
    """Run the command line; the page, and a plan, start without what only the other commands need."""
    # What a plan is made of lives as long as the command: to go through it again and again for what may be
    # forgotten takes a third of the time of a large one.
    gc.set_threshold(200_000, 20, 100)
    if sys.argv[1:2] == ["serve"]:
        from nesting.commands.serve import main as run
    elif sys.argv[1:2] == ["plan"]:
        from nesting.commands.app import main as run
    else:
        from nesting.commands.every import main as run
    run()
