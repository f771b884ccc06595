"""Streams and exit codes: the answer on standard output, remarks beside it, how a command ends."""

from __future__ import annotations

import io
import os
import sys
from typing import TYPE_CHECKING, NoReturn

from nesting.errors import CheckError, DoesNotFitError, NestingError, NothingFoundError

if TYPE_CHECKING:
    from nesting.plan import Plan

OWN_FAULT, BAD_USAGE, IMPOSSIBLE, NOTHING_FOUND, INTERRUPTED = 1, 2, 3, 4, 130


def speak_unicode() -> None:
    """Arrows and currency signs must come through whatever the locale: as UTF-8 into pipes and files."""
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(encoding=None if stream.isatty() else "utf-8", errors="replace")


def exit_code(error: NestingError) -> int:
    """The exit code of an error's kind."""
    if isinstance(error, CheckError):
        return OWN_FAULT
    if isinstance(error, DoesNotFitError):
        return IMPOSSIBLE
    return NOTHING_FOUND if isinstance(error, NothingFoundError) else BAD_USAGE


def end(message: str, code: int) -> NoReturn:
    """Leave with one readable message."""
    print(f"nesting: {message}", file=sys.stderr)
    sys.exit(code)


def end_if_short(plan: Plan) -> None:
    """Leave as of something impossible where the lengths at hand hold less than was ordered."""
    if short := short_of(plan):
        end(short, IMPOSSIBLE)


def short_of(plan: Plan) -> str:
    """What the lengths at hand do not suffice for, line by line; empty where they do."""
    from nesting.shortage import shortage_words, shortages

    listed = "\n".join(f"  - {shortage_words(one, plan.job)}" for one in shortages(plan))
    return f"the lengths at hand do not suffice; left out:\n{listed}" if listed else ""


def say(text: str) -> None:
    """A remark for the person, beside the answer."""
    print(text, file=sys.stderr)


def answer(renderable: object) -> None:
    """The answer itself: a table on a terminal's width, plain text as it is."""
    text = renderable if isinstance(renderable, str) else _set(renderable)
    try:
        sys.stdout.write(text)
        sys.stdout.flush()
    except BrokenPipeError:
        # The reader went away; what it has read is right. Nothing is left to be written at exit either.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())


def _set(renderable: object) -> str:
    """A table as text, as wide as the terminal, or for a pipe as wide as a printed page."""
    from rich.console import Console

    page = io.StringIO()
    terminal = sys.stdout.isatty()
    width = Console(file=sys.stdout).width if terminal else 140
    console = Console(
        file=page, width=width, force_terminal=terminal, highlight=False, markup=False, emoji=False
    )
    console.print(renderable)
    return "".join(f"{line.rstrip()}\n" for line in page.getvalue().splitlines())
