"""How any command is run: what it is called with, and how it ends."""

from __future__ import annotations

import gc
import os
import time

import typer

from nesting.commands.streams import INTERRUPTED, OWN_FAULT, end, exit_code, say, speak_unicode
from nesting.errors import NestingError


def new_app() -> typer.Typer:
    """An empty set of commands, in the manner of all of ours."""
    return typer.Typer(
        name="nesting",
        help="Cutting plans for drapes: what to cut, how to lay it on the bolt, how little to buy, proof.",
        no_args_is_help=True,
        add_completion=False,
        pretty_exceptions_enable=False,
        rich_markup_mode=None,
    )


def run(app: typer.Typer) -> None:
    """Run a set of commands; every fault leaves one readable message and the exit code of its kind."""
    started = time.monotonic()
    speak_unicode()
    try:
        app(standalone_mode=True, obj=started)
    except NestingError as error:
        for line in error.asked:
            say(f"question: {line}")
        end(str(error), exit_code(error))
    except (KeyboardInterrupt, typer.Abort):
        end("interrupted", INTERRUPTED)
    except Exception as error:
        if os.environ.get("NESTING_TRACEBACK"):
            raise
        end(
            f"a fault of this program, not of your job: {type(error).__name__}: {error}\n"
            "set NESTING_TRACEBACK=1, run it again, and report what it says",
            OWN_FAULT,
        )
    finally:
        # The process ends here: what it holds need not be gone through once more.
        gc.freeze()
